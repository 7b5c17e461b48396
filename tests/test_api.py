"""What others may import: all of it there, light to load, and doing what the commands do."""

import ast
import json
import re
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from lineshaft import api, testing
from lineshaft.check.rulebook import open_rulebook
from lineshaft.cli import run

SAMPLES = Path(__file__).resolve().parents[1] / "sample_rigs"
DAY = date(2026, 11, 25)
# By hand: 900 N·m through 7 : 1 reducing is 6,300 N·m, and pine stands 1,500 N·m: 4.2 times.
RIG = """rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  step:  {item: stage, ratio: 7, grade: pine, set: reduce, driven-by: wheel}
  press: {item: press, driven-by: step}
commissioning:
  - set: {part: step, to: reduce}
  - start: wheel
"""
FILES = {"works.catalogue.yaml": testing.CATALOGUE}


@pytest.mark.parametrize("module", [api, testing], ids=["api", "testing"])
def test_every_stable_name_is_public_and_has_a_version(module: object) -> None:
    """Each is in `__all__`, is there, and says since when; versions look like versions."""
    names = module.__all__  # type: ignore[attr-defined]
    stable = module.STABLE_SINCE  # type: ignore[attr-defined]
    assert stable.keys() <= set(names)
    assert [name for name in names if not hasattr(module, name)] == []
    assert all(re.fullmatch(r"\d+\.\d+", version) for version in stable.values())


def test_importing_the_api_loads_nothing_else() -> None:
    """A rule that is loaded on every check must bring neither repairs nor writers, nor what only findings need."""
    ask = (
        "import sys, lineshaft.api;"
        "print([m for m in sys.modules if m.startswith('lineshaft.') and m != 'lineshaft.api'"
        " or m in ('click', 'jinja2', 'pint', 'jsonschema', 'importlib.metadata')])"
    )
    ran = subprocess.run([sys.executable, "-P", "-c", ask], capture_output=True, text=True, timeout=60, check=True)
    assert ran.stdout == "[]\n"


def test_a_type_checker_is_told_the_names_that_are_loaded_when_asked_for() -> None:
    """Two lists stand in the module, one for either; a name that is in one of them alone would be a trap."""
    (told,) = (node for node in ast.parse(Path(api.__file__).read_text("utf-8")).body if isinstance(node, ast.If))
    imports = [node for node in told.body if isinstance(node, ast.ImportFrom)]
    names = {alias.name: str(node.module) for node in imports for alias in node.names}
    assert {name: module for name, module in names.items() if name != "Checker"} == api._WHEN_ASKED


def test_a_text_is_judged_as_if_it_stood_in_a_file(tmp_path: Path) -> None:
    """With the catalogue given or on the disk; the policy above it holds."""
    (found,) = (f for f in api.check_text(RIG, files=FILES) if f.level == "error")
    assert (found.rule, found.part, found.file) == ("torque-over-limit", "step", "given.rig.yaml")
    assert dict(found.values)["times_limit"].value == pytest.approx(4.2)
    (tmp_path / "works.catalogue.yaml").write_text(testing.CATALOGUE, "utf-8")
    (tmp_path / "lineshaft.policy.yaml").write_text("policy: 1\nlevels: {torque-over-limit: warning}\n", "utf-8")
    levels = {f.rule: f.level for f in api.check_text(RIG, tmp_path / "not-there.rig.yaml")}
    assert levels["torque-over-limit"] == "warning"
    with pytest.raises(ValueError, match=r"'notes\.txt' is not named like a file that is judged"):
        api.check_text(RIG, "notes.txt")


def test_a_proved_repairs_edits_mend_the_text() -> None:
    """Applied to the text that was judged, the finding is gone; CRLF stays CRLF."""
    for text in (RIG, RIG.replace("\n", "\r\n")):
        (found,) = (f for f in api.check_text(text, files=FILES, repairs=True) if f.rule == "torque-over-limit")
        mended = api.apply_edits(text, found.repairs[0].edits)
        assert mended != text
        assert mended.count("\r\n") == (mended.count("\n") if "\r" in text else 0)
        assert "torque-over-limit" not in {f.rule for f in api.check_text(mended, files=FILES)}
    edit = found.repairs[0].edits[0]
    with pytest.raises(ValueError, match="overlap"):
        api.apply_edits(RIG, (edit._replace(span=edit.span._replace(end=edit.span.end._replace(line=9))), edit))


def test_a_folder_is_judged_as_the_command_does(capsys: pytest.CaptureFixture[str]) -> None:
    """The same findings in the same files, by rule, level, place and fingerprint."""
    run(["check", "--no-cache", "--no-repairs", "--write", "json=-", "--date", str(DAY), str(SAMPLES)])
    told = json.loads(capsys.readouterr().out)["findings"]
    expected = sorted((f["file"], f["rule"], f["level"], f["start"]["line"], f["fingerprint"]) for f in told)
    found = api.check_path(SAMPLES, day=DAY)
    assert sorted((f.file, f.rule, f.level, f.span.start.line, f.fingerprint) for f in found) == expected
    with pytest.raises(FileNotFoundError):
        api.check_path(SAMPLES / "nothing-here")


def test_a_rig_from_a_text_is_the_solved_rig() -> None:
    """900 N·m × 7 = 6,300 N·m at 8/7 rad/s; a text with a fault has no parts and says why."""
    rig = testing.rig_from_text(RIG)
    step = rig.rig.index["step"]
    assert rig.flows.torque_out[step] == pytest.approx(6300)
    assert rig.flows.speed_out[step] == pytest.approx(8 / 7)
    faulty = testing.rig_from_text(RIG.replace("item: press", "item: pres"))
    assert [fault.rule for fault in faulty.faults] == ["unknown-reference"]


def test_one_rules_findings_in_a_text() -> None:
    """A rule of ours; the policy given holds; what a rule raises is raised for its author to see."""
    margin = open_rulebook().rule("margin-thin")
    assert margin is not None
    rig = RIG.replace("ratio: 7", "ratio: 5/2").replace("grade: pine", "grade: larch")
    assert testing.findings_of(margin, rig) == ()
    # By hand: 5,000 / (900 × 5/2) = 2.22 for the stage; a margin of 3 is wanted.
    policy = "policy: 1\nmargins: {torque: 3}\n"
    (found,) = testing.findings_of(margin, rig, policy=policy)
    assert (found.part, found.level) == ("step", "warning")
    with pytest.raises(ValueError, match="of the policy"):
        testing.findings_of(margin, rig, policy="policy: 1\nmargin: 3\n")

    def broken(rig: api.SolvedRig) -> list[api.Reported]:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        testing.findings_of(api.Rule("broken", "note", broken), RIG)
