"""``lineshaft explain``: a rule's page and its samples, as a person at the terminal meets them."""

from pathlib import Path

import pytest

from lineshaft.cli import run
from lineshaft.commands.explain import sample

TWINS = Path(__file__).parents[1] / "rules"


def test_explain_prints_the_page_and_both_samples(capsys: pytest.CaptureFixture[str]) -> None:
    """The page's parts, then the files that the tests judge, indented by four spaces and otherwise as they are."""
    assert run(["explain", "torque-over-limit"]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("torque-over-limit (error)\n\nA part carries more torque than it may.\n")
    for part in ("What", "Why", "How to repair", "Source", "This breaks it", "Its twin holds"):
        assert f"\n{part}:" in shown
    breaks = (TWINS / "torque-over-limit" / "breaks.rig.yaml").read_text("utf-8")
    assert "".join(f"    {line}\n" for line in breaks.splitlines()) in shown
    assert shown.index("ratio: 5") < shown.index("ratio: 3")


def test_an_unknown_rule_is_exit_2_with_the_nearest_name(capsys: pytest.CaptureFixture[str]) -> None:
    """A slip of the pen: the name meant is offered, nothing goes to stdout."""
    assert run(["explain", "drive-lop"]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err == "lineshaft: there is no rule 'drive-lop'; did you mean drive-loop?\n"


def test_a_name_like_no_rule_points_to_the_list(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing near: the command that lists the rules is named; a path is a name like any other."""
    assert run(["explain", "../rules/drive-loop"]) == 2
    assert "`lineshaft rules` lists them all" in capsys.readouterr().err


def test_a_rule_without_samples_has_none() -> None:
    """A third party's rule has no twins here."""
    assert sample("nobody-has-this-rule", "breaks") is None
