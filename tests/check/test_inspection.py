"""A rule that misbehaves is a finding of its own, and the others go on."""

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

from lineshaft.check.checker import Checker
from lineshaft.check.finding import Finding
from lineshaft.check.inspection import findings_of, inspect_rig
from lineshaft.check.rule import Rule
from lineshaft.check.rulebook import Rulebook, open_rulebook
from lineshaft.solve.solved_rig import SolvedRig

RIG = Path(__file__).resolve().parents[2] / "sample_rigs" / "overloaded-step.rig.yaml"


def raises(rig: SolvedRig) -> Iterable[Finding]:
    """Divides by nothing."""
    raise ZeroDivisionError


def leaves(rig: SolvedRig) -> Iterable[Finding]:
    """Ends the program."""
    raise SystemExit(0)


def rubbish(rig: SolvedRig) -> Iterable[Any]:
    """Gives what is no finding."""
    return ["something"]


def meddles(rig: SolvedRig) -> Iterable[Finding]:
    """Changes the rig it is shown."""
    rig.flows.solved = b""  # type: ignore[misc]
    return ()


def halfway(rig: SolvedRig) -> Iterable[Any]:
    """Finds something, and then divides by nothing: what it said before is not told either."""
    good = open_rulebook().rule("torque-over-limit")
    assert good is not None
    yield from good.check(rig)
    raise ZeroDivisionError


@pytest.mark.parametrize("check", [raises, leaves, rubbish, meddles, halfway])
def test_a_bad_rule_is_reported_and_the_others_go_on(check: Any) -> None:
    """`rule-crashed` names it; the torque over its limit is found all the same."""
    rig = Checker(RIG.parent, Rulebook(())).solved(RIG)
    good = open_rulebook().rule("torque-over-limit")
    assert good is not None
    found = inspect_rig(rig, Rulebook((Rule("bad-rule", "note", check), good)))
    assert sorted(f.rule for f in found) == ["rule-crashed", "torque-over-limit"]
    crashed = next(f for f in found if f.rule == "rule-crashed")
    assert "bad-rule" in str(crashed.message[0])
    assert crashed.level == "error"


def test_a_solved_rig_is_read_only() -> None:
    """Neither its columns nor its tables can be written to."""
    rig = Checker(RIG.parent, Rulebook(())).solved(RIG)
    with pytest.raises(AttributeError):
        rig.file = "other"  # type: ignore[misc]
    with pytest.raises(TypeError):
        rig.flows.torque_in[0] = 1.0  # type: ignore[index]
    with pytest.raises(TypeError):
        rig.rig.index["x"] = 1  # type: ignore[index]


def test_a_finding_is_made_then_judged_then_repaired_each_a_value_of_its_own() -> None:
    """A rule's finding holds no verdict, a judged one no repair; what is shown of a check has all three."""
    rig = Checker(RIG.parent, Rulebook(())).solved(RIG)
    rule = open_rulebook().rule("torque-over-limit")
    assert rule is not None
    (made,) = findings_of(rule, rig)
    (judged,) = inspect_rig(rig, Rulebook((rule,)))
    (shown,) = Checker(RIG.parent, Rulebook((rule,)), repairs=True).report(RIG, "rig").findings
    assert [hasattr(made, name) for name in ("rule", "home", "passes", "repairs")] == [True, True, False, False]
    assert [hasattr(judged, name) for name in ("rule", "home", "passes", "repairs")] == [True, True, True, False]
    assert [hasattr(shown, name) for name in ("rule", "home", "passes", "repairs")] == [True, True, True, True]
    assert (made.message, made.span) == (judged.message, judged.span) == (shown.message, shown.span)
    assert shown.fingerprint == judged.fingerprint != ""
    assert shown.repairs
