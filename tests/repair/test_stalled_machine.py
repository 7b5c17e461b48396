"""Repairs of a machine that stalls: what it made before is nothing, so what it makes once it runs is no fault."""

from pathlib import Path

import pytest

from lineshaft.check.finding import Edit
from lineshaft.check.rulebook import open_rulebook
from lineshaft.cli import run
from lineshaft.repair.proof.context import RepairContext, mends, no_worse, open_repair_context
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository

CATALOGUE = """catalogue: 1
name: Trial
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  stage: {kind: gear-stage, delivered: increase, ratios: {3: {made-of: {}}, 9/5: {made-of: {}}}}
  divide: {kind: splitter, shares: any}
  saw:
    kind: driven-machine
    needs: {torque: 400 N*m}
    work: {unit: plank, times: [[6 rad/s, 60 s], [30 rad/s, 20 s]], between: linear}
"""
RIG = """rig: 1
name: Trial
catalogue: t.catalogue.yaml
parts:
  wheel: {item: wheel}
  step: {item: stage, ratio: 3, set: increase, driven-by: wheel}
  saw: {item: saw, driven-by: step, target: {time: 25 s}}
"""


@pytest.fixture
def context(tmp_path: Path) -> RepairContext:
    """The saw gets 900/3 = 300 N·m of 400 at 24 rad/s, where by its table a plank would take 30 s of the 25 wanted."""
    folder = tmp_path.resolve()
    (folder / ".git").mkdir()
    (folder / "t.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (folder / "t.rig.yaml").write_text(RIG, "utf-8")
    loader = Loader(Repository(folder, folder))
    return open_repair_context(loader, loader.rig(folder / "t.rig.yaml"), open_rulebook())


def test_a_target_missed_by_a_machine_that_a_repair_makes_run_is_not_new(context: RepairContext) -> None:
    """Geared 9/5 the saw gets 500 N·m at 14.4 rad/s: it runs, a plank in 60 − 40 · 8.4/24 = 46 s of the 25 wanted."""
    (starved,) = context.findings
    assert starved.rule == "machine-underdriven"
    source = context.rig.rig.tree
    ratio = Edit(context.rig.file, source.span(("parts", "step", "ratio")), "9/5")
    edited_rig = context.whole_edited_rig((ratio,))
    assert edited_rig is not None
    assert [finding.rule for finding in edited_rig.findings] == ["target-missed"]
    assert mends(context, starved, edited_rig)
    assert no_worse(context, edited_rig)


def test_a_target_that_a_running_machine_comes_to_miss_is_new(context: RepairContext) -> None:
    """The saw behind 9/5 takes 46 s of 50 wanted and holds; where 40 are wanted of it, it misses them."""
    fast = RIG.replace("25 s", "50 s").replace("ratio: 3", "ratio: 9/5")
    path = Path(context.loaded.path)
    path.write_text(fast, "utf-8")
    loader = Loader(Repository(path.parent, path.parent))
    holds = open_repair_context(loader, loader.rig(path), open_rulebook())
    assert holds.findings == ()
    span = holds.rig.rig.tree.span(("parts", "saw", "target", "time"))
    edited_rig = holds.whole_edited_rig((Edit(holds.rig.file, span, "40 s"),))
    assert edited_rig is not None
    assert not no_worse(holds, edited_rig)


def test_repair_sweep_and_report_say_that_it_stalls(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The starved sample saw makes nothing of its 144 N·m of 150; geared 5/2 it makes 80 planks an hour.

    By hand: 900/(5/2) · 0.96 / 2 = 172.8 N·m at 20 rad/s, where a plank takes 60 − 45 · ln 2/ln 8 = 45 s. Shares of
    0.3, 1 and 1.7 to the pump's 1 are 66.5, 144 and 181.3 N·m at 24 rad/s: 60 − 45 · ln 2.4/ln 8 = 41.05 s.
    """
    monkeypatch.chdir(Path(__file__).resolve().parents[2] / "sample_rigs")
    run(["repair", "starved-saw.rig.yaml"])
    assert "saw stalled → 80" in capsys.readouterr().out
    run(["check", "--no-cache", "starved-saw.rig.yaml", "--write", f"html={tmp_path / 'r.html'}"])
    assert "saw: stalled before, 80 an hour after" in capsys.readouterr().out
    page = (tmp_path / "r.html").read_text("utf-8")
    assert "saw: stalled before, 80 after" in page
    assert "Rate of saw: stalled at 24 rad/s" in page
    run(["sweep", "starved-saw.rig.yaml", "--over", "divide.saw=0.3..1.7", "--steps", "2"])
    out = capsys.readouterr().out
    rows = [line.split() for line in out.splitlines()]
    rates = {row[0]: row[-1] for row in rows if row and row[0] in ("0.3", "1", "1.7")}
    assert rates == {"0.3": "stalled", "1": "stalled", "1.7": "87.69"}
