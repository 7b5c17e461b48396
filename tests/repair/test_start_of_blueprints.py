"""A stage in a placed blueprint that turns the wrong way is mended by the rig's own list, or in the blueprint alone."""

from pathlib import Path

import pytest

from lineshaft.check.checker import Checker
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.rulebook import open_rulebook
from lineshaft.cli import run

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 30 N*m, speed: 3 rad/s}}
  stage: {kind: gear-stage, ratios: [5/2, 3]}
  rod: {kind: shaft, torque-limit: 70 N*m}
  mill: {kind: driven-machine}
"""
LEG = """blueprint: 1
catalogue: c.catalogue.yaml
inlets: {in: {torque-up-to: 30 N*m, speed-up-to: 3 rad/s}}
parts:
  s: {item: stage, ratio: 3, set: increase, driven-by: in}
  t: {item: rod, driven-by: s}
outlets: {out: t}
"""
RIG = """rig: 1
catalogue: c.catalogue.yaml
parts:
  w: {item: wheel}
  leg: {blueprint: leg.blueprint.yaml, driven-by: w}
  m: {item: mill, driven-by: leg.out}
"""


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A rig that places a leg whose stage is delivered the wrong way: 30 · 3 = 90 N·m on a rod of 70 N·m."""
    for name, text in {"c.catalogue": CATALOGUE, "leg.blueprint": LEG, "a.rig": RIG}.items():
        (tmp_path / f"{name}.yaml").write_text(text, "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path.resolve()


def found(yard: Path, *, repairs: bool = False) -> tuple[JudgedFinding, ...]:
    return Checker(yard, open_rulebook(), repairs=repairs).report(yard / "a.rig.yaml", "rig").findings


def test_a_rig_without_a_list_gets_one_that_sets_it(yard: Path) -> None:
    """The finding stands in the blueprint's file, the repair in the rig's; applied, nothing is left."""
    (finding,) = found(yard, repairs=True)
    assert (finding.rule, finding.file, finding.level) == (
        "direction-before-commissioning",
        "leg.blueprint.yaml",
        "error",
    )
    (repair,) = finding.repairs
    assert repair.effect == "setting"
    assert {edit.file for edit in repair.edits} == {"a.rig.yaml"}
    assert "set: {part: leg/s, to: increase}" in repair.edits[0].text
    assert run(["repair", "a.rig.yaml", "--apply", "1"]) == 0
    assert "set: {part: leg/s, to: increase}" in (yard / "a.rig.yaml").read_text("utf-8")
    assert found(yard) == ()


def test_a_rigs_own_list_gets_the_step_it_lacks(yard: Path) -> None:
    """The cheapest is one step in front of the start; the list as it was is kept."""
    (yard / "a.rig.yaml").write_text(RIG + "commissioning:\n  - start: w\n", "utf-8")
    told = [finding for finding in found(yard, repairs=True) if finding.level == "error"]
    assert told
    assert all(
        any("set leg/s to increase before the start" in repair.title for repair in finding.repairs) for finding in told
    )
    assert run(["repair", "a.rig.yaml", "--apply", "best"]) == 0
    assert "  - set: {part: leg/s, to: increase}\n  - start: w\n" in (yard / "a.rig.yaml").read_text("utf-8")
    assert found(yard) == ()


def test_a_blueprint_gets_a_list_that_starts_nothing(yard: Path) -> None:
    """Judged alone it is a warning; `repair` adds the one step, and the rig that uses it is mended by that too."""
    (finding,) = Checker(yard, open_rulebook()).report(yard / "leg.blueprint.yaml", "blueprint").findings
    assert (finding.rule, finding.level) == ("direction-before-commissioning", "warning")
    assert run(["repair", "leg.blueprint.yaml", "--apply", "1"]) == 0
    text = (yard / "leg.blueprint.yaml").read_text("utf-8")
    assert text == LEG + "commissioning:\n  - set: {part: s, to: increase}\n"
    assert found(yard) == ()


def test_a_blueprints_list_that_leaves_it_wrong_gets_the_last_word(yard: Path) -> None:
    """An error alone, since its list says otherwise; the step is added behind the one that is wrong."""
    (yard / "leg.blueprint.yaml").write_text(LEG + "commissioning:\n  - set: {part: s, to: reduce}\n", "utf-8")
    (finding,) = Checker(yard, open_rulebook()).report(yard / "leg.blueprint.yaml", "blueprint").findings
    assert (finding.level, finding.span.start.line) == ("error", 9)
    assert run(["repair", "leg.blueprint.yaml", "--apply", "1"]) == 0
    assert (yard / "leg.blueprint.yaml").read_text("utf-8").endswith("to: reduce}\n  - set: {part: s, to: increase}\n")
    assert found(yard) == ()


@pytest.mark.parametrize(
    ("below", "said"),
    [
        ("", "`set: {part: s, to: increase}` in a commissioning list here, or in the rig's by the name"),
        ("commissioning:\n  - start: w\n", "`set: {part: leg/s, to: increase}` before step 1"),
    ],
)
def test_a_suggestion_takes_the_names_of_the_file_it_is_for(yard: Path, below: str, said: str) -> None:
    """Told in the blueprint's file it is `s`, which the rig's list would not know; told at a step of that, `leg/s`."""
    (yard / "a.rig.yaml").write_text(RIG + below, "utf-8")
    told = [finding for finding in found(yard) if finding.rule == "direction-before-commissioning"]
    assert [str(finding.suggestion[0]).startswith(said) for finding in told] == [True]


TURNED = LEG.replace("set: increase", "set: $way").replace(
    "parts:", "takes: {way: {kind: direction, default: increase}}\nparts:"
)


@pytest.mark.parametrize(("leg", "more"), [(TURNED, ""), (LEG, "commissioning: []\n")])
def test_a_list_that_would_not_hold_for_every_use_is_not_offered(
    yard: Path, capsys: pytest.CaptureFixture[str], leg: str, more: str
) -> None:
    """A direction that each use may give is for the rigs to set; and an empty list has no step to come behind."""
    (yard / "leg.blueprint.yaml").write_text(leg + more, "utf-8")
    assert run(["repair", "leg.blueprint.yaml"]) == (1 if more else 0)  # an error against a list, else a warning
    shown = capsys.readouterr().out
    assert "direction-before-commissioning" in shown
    assert "no proved repair: no setting, step or part was found to mend it with" in shown
    assert "at the end of its list" not in shown
    assert "commissioning list that sets" not in shown
