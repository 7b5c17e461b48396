"""`lineshaft commission`: what it says, what it exits with, and that it changes nothing but the list."""

from pathlib import Path

import pytest
from solve.started_rigs import CATALOGUE

from lineshaft.cli import run

pytestmark = pytest.mark.usefixtures("wide_page")

_HEAD = "rig: 1\nname: Trial\ncatalogue: shop.catalogue.yaml\n"
_PARTS = """\
parts:
  wheel: {item: wheel}
  step: {item: oiled, ratio: 5, set: increase, driven-by: wheel, at: [12, 64, -3]}
  mill: {item: mill, driven-by: step}
"""
_BLOCK = """\
commissioning:
  - fill: {part: step, with: 6 L}
  - set: {part: step, to: increase}
  - couple: step
  - start: wheel
"""
_FLOW = "{fill: {part: step, with: 6 L}}, {set: {part: step, to: increase}}, {couple: step}, {start: wheel}"


def _file(folder: Path, text: str) -> Path:
    (folder / "shop.catalogue.yaml").write_text(CATALOGUE, encoding="utf-8")
    path = folder / "trial.rig.yaml"
    path.write_bytes(text.encode("utf-8"))
    return path


@pytest.fixture(autouse=True)
def _there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_a_list_does_not_hold_where_the_declared_rig_is_over_a_limit(capsys: pytest.CaptureFixture[str]) -> None:
    """The list sets and starts as it should, but 900 · 5/2 = 2,250 N·m are 1.875 times the 1,200 of cast iron."""
    samples = Path(__file__).resolve().parents[2] / "sample_rigs"
    assert run(["commission", str(samples / "overloaded-step.rig.yaml")]) == 1
    out = capsys.readouterr().out
    assert "187.5 % at step: OVER" in out
    assert "The list holds" not in out
    assert "(torque-over-limit)" in out
    assert "No safe order exists" in out


def test_a_list_does_not_hold_where_a_policy_silences_the_limit(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What a policy turns off is still over its limit in a state: 3 kN·m of iron carry 900 · 4 = 3,600 N·m."""
    text = _HEAD + _PARTS.replace("increase", "reduce") + _BLOCK.replace("increase", "reduce")
    path = _file(tmp_path, text)
    (tmp_path / "lineshaft.policy.yaml").write_text("policy: 1\nlevels: {torque-over-limit: off}\n", "utf-8")
    assert run(["commission", path.name]) == 1
    assert "The list holds" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (_HEAD + _PARTS, _HEAD + _PARTS + _BLOCK),
        (_HEAD + _PARTS.rstrip("\n"), _HEAD + _PARTS + _BLOCK),
        (_HEAD + _PARTS + "# kept\n", _HEAD + _PARTS + _BLOCK + "# kept\n"),
        ((_HEAD + _PARTS).replace("\n", "\r\n"), (_HEAD + _PARTS + _BLOCK).replace("\n", "\r\n")),
        ("\ufeff" + _HEAD + _PARTS, "\ufeff" + _HEAD + _PARTS + _BLOCK),
        (_HEAD + "commissioning: []  # none yet\n" + _PARTS, f"{_HEAD}commissioning: [{_FLOW}]  # none yet\n{_PARTS}"),
        (_HEAD + "commissioning:\n- start: wheel\n" + _PARTS, _HEAD + _BLOCK.replace("  - ", "- ") + _PARTS),
    ],
    ids=["added", "no last line end", "comment behind", "CRLF", "byte order mark", "flow", "replaced"],
)
def test_write_changes_the_list_alone(tmp_path: Path, before: str, after: str) -> None:
    """The block is put in, every other byte stays, and a check then finds nothing against the list."""
    path = _file(tmp_path, before)
    assert run(["commission", path.name, "--apply"]) == 0
    assert path.read_bytes().decode("utf-8") == after
    assert run(["check", path.name]) == 0
    assert run(["commission", path.name]) == 0


def test_a_checklist_has_places_amounts_and_cautions(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without a list: exit 0, what to do and where, and two lines of cautions with the standards named."""
    path = _file(tmp_path, _HEAD + _PARTS)
    assert run(["commission", path.name]) == 0
    said = capsys.readouterr().out
    for words in ("fill step with 6 L of flax-oil", "12, 64, -3", "29 CFR 1910.147", "29 CFR 1910.219"):
        assert words in said
    assert "ISO 14120" in said
    assert "ISO 12100" in said
    assert path.read_text(encoding="utf-8") == _HEAD + _PARTS


def test_a_failing_list_exits_1_and_shows_the_state(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Started before it is set, the stage carries 5 kN·m of 3: 166.7 % at that step, and a safe list below."""
    steps = "commissioning:\n  - fill: {part: step, with: 2 L}\n  - start: wheel\n  - set: {part: step, to: increase}\n"
    path = _file(tmp_path, _HEAD + _PARTS + steps)
    assert run(["commission", path.name]) == 1
    said = capsys.readouterr().out
    assert "166.7 % at step: OVER" in said
    assert "a safe list of 5 steps" not in said
    assert "a safe list of 4 steps" in said


def test_no_safe_order_says_which_state_and_why(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Meant to reduce, the stage is over its limit in every order: exit 1, part, torque and limit; nothing written."""
    text = _HEAD + _PARTS.replace("set: increase", "set: reduce")
    path = _file(tmp_path, text)
    assert run(["commission", path.name, "--apply"]) == 1
    said = capsys.readouterr().out
    assert "step carries 5 kN·m, its limit is 3 kN·m" in said
    steps = [line.split() for line in said.splitlines() if line[:1].isdigit()]
    assert [step[1] for step in steps] == ["fill", "couple", "start"]  # it is delivered reducing, so nothing is set
    assert "166.7 % at step: OVER" in said
    assert path.read_text(encoding="utf-8") == text


def test_the_former_name_of_apply_still_writes_and_says_the_new_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Scripts that say --write go on for one version; what they should say stands on stderr."""
    path = _file(tmp_path, _HEAD + _PARTS)
    assert run(["commission", path.name, "--write"]) == 0
    assert path.read_text("utf-8") == _HEAD + _PARTS + _BLOCK
    assert "--write is called --apply" in capsys.readouterr().err


def test_diff_shows_the_list_and_changes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The lines of the list are there as added ones, and the file is as it was."""
    path = _file(tmp_path, _HEAD + _PARTS)
    assert run(["commission", path.name, "--apply", "--diff"]) == 0
    assert "".join(f"+{line}\n" for line in _BLOCK.splitlines()) in capsys.readouterr().out
    assert path.read_text("utf-8") == _HEAD + _PARTS
    assert run(["commission", path.name, "--diff"]) == 2
