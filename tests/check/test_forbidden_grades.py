"""A forbidden grade: the other one is suggested where it stands what the part carries, and as far as that is known."""

import pytest

from lineshaft.api import Fix, Rule
from lineshaft.rules import budget_exceeded
from lineshaft.rules.grade_forbidden import RULE, repairs
from lineshaft.schema.model.policy import HOUSE_DEFAULTS, Budget, Policy
from lineshaft.solve.solved_rig import solve_rig
from lineshaft.testing import findings_of, rig_from_text

# The catalogue of `lineshaft.testing`: the wheel gives 900 N·m; pine stands 1500, larch 5000.
RIG = """\
rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  slow: {item: stage, grade: larch, ratio: RATIO, set: reduce, driven-by: SOURCE}
  press: {item: press, driven-by: slow}
"""
POLICY = "policy: 1\ngrades: {forbidden: [larch]}\n"


@pytest.mark.parametrize(
    ("ratio", "source", "suggestion", "offered"),
    [
        (  # 2250 N·m
            "5/2",
            "wheel",
            "stage comes in no other grade that is allowed and stands it; take another item",
            [],
        ),
        (
            "3",
            "gone",
            "grade pine is allowed; whether it stands what it carries is not known here",
            ["make slow in pine"],
        ),
    ],
)
def test_what_is_not_known_is_not_claimed(ratio: str, source: str, suggestion: str, offered: list[str]) -> None:
    """Behind a name that is not there nothing is solved: the other grade is not refused for that, nor praised."""
    text = RIG.replace("RATIO", ratio).replace("SOURCE", source)
    (finding,) = findings_of(RULE, text, policy=POLICY)
    assert (finding.part, finding.suggestion) == ("slow", (suggestion,))
    rig = rig_from_text(text, policy=POLICY)
    assert [offer.title for offer in repairs(rig, finding) if isinstance(offer, Fix)] == offered


@pytest.mark.parametrize(
    ("rule", "policy"),
    [
        (RULE, HOUSE_DEFAULTS._replace(forbidden_grades=("larch",))),
        (budget_exceeded.RULE, HOUSE_DEFAULTS._replace(budget=Budget(parts=2))),
    ],
)
def test_a_policy_that_is_no_file_has_no_line_to_show(rule: Rule, policy: Policy) -> None:
    """One that a program made: what it forbids is told all the same, of three parts and of one in larch."""
    read = rig_from_text(RIG.replace("RATIO", "3").replace("SOURCE", "wheel"))
    (said,) = rule.check(solve_rig(read.rig, read.file, policy))
    assert said.because == ()
