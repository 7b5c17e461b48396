"""What each rule says: level, part, line, words with their values in SI, why, what to try, what it offers.

The cases stand in `what_rules_say.txt`. Their values are reckoned by hand in the sentence that heads each. The words
are the program's own; what is asserted is that they stand beside the right values, and that nothing else is said.
"""

from pathlib import Path
from typing import NamedTuple

import pytest

from lineshaft.api import Finding, Fix, Measure, NoFix, Offer, SearchFor, SolvedRig, Text
from lineshaft.check.rulebook import open_rulebook
from lineshaft.testing import findings_of, rig_from_text

BOOK = open_rulebook()


class Case(NamedTuple):
    """One rule on one rig: the parts and what is below them, the policy, the lines that it says."""

    rule: str
    why: str
    parts: str
    policy: str
    says: list[str]


def _read() -> tuple[str, list[Case]]:
    """The catalogue, and the cases."""
    first, *blocks = Path(__file__).with_name("what_rules_say.txt").read_text("utf-8").split("\n== ")
    cases = []
    for block in blocks:
        rig, _, says = block.partition("-- says\n")
        head, _, body = rig.partition("\n")
        rule, _, why = head.partition(": ")
        parts, _, policy = body.partition("-- policy\n")
        cases.append(Case(rule, why, parts, policy, says.strip("\n").splitlines()))
    return first.removeprefix("catalogue\n"), cases


CATALOGUE, CASES = _read()


def _value(measure: Measure) -> str:
    value = measure.value
    if isinstance(value, str):
        return value
    return ", ".join(f"{each:.9g}" for each in (value if isinstance(value, tuple) else (value,)))


def _words(text: Text) -> str:
    """Words, with values in brackets."""
    return "".join(
        each if isinstance(each, str) else f"<{f'{_value(each)} {each.unit}'.removesuffix(' 1')}>" for each in text
    )


def _offered(offer: Offer) -> str:
    match offer:
        case SearchFor():
            return f"{offer.way}({', '.join(offer.parts)})"
        case Fix():
            return f"{offer.title}: {', '.join(edit.text for edit in offer.edits)}"
        case NoFix():
            return f"no: {offer.reason}"


def _said(rig: SolvedRig, finding: Finding) -> list[str]:
    rule = BOOK.rule(finding.rule)
    assert rule is not None
    said = [f"{finding.level} {finding.part} line {finding.span.start.line}: {_words(finding.message)}"]
    if finding.values:
        said.append("  values: " + ", ".join(f"{name} {_value(value)}" for name, value in finding.values))
    said += [f"  since: {cause.part} {_words(cause.message)}" for cause in finding.because]
    if finding.suggestion:
        said.append(f"  try: {_words(finding.suggestion)}")
    return said + [f"  offer: {_offered(offer)}" for offer in (rule.repairs(rig, finding) if rule.repairs else ())]


def test_the_part_that_breaks_is_told_with_what_it_carries_itself() -> None:
    """By 3 : 1 down 2,700 N·m at 8/3 rad/s reach the shaft, where the wheel gives 900 at 8. Plain rods are not told."""
    parts = """\
  w: {item: wheel}
  q: {item: rod, driven-by: w}
  s: {item: stage, ratio: 3, set: increase, driven-by: q}
  p: {item: rod, driven-by: s}
  r: {item: weak, driven-by: p}
  m: {item: mill, driven-by: r}
"""
    rule = BOOK.rule("direction-before-commissioning")
    assert rule is not None
    text = f"rig: 1\ncatalogue: works.catalogue.yaml\nparts:\n{parts}"
    (finding,) = findings_of(rule, text, files={"works.catalogue.yaml": CATALOGUE})
    told = [(cause.part, *(value.value for _, value in cause.values)) for cause in finding.because]
    pushed = (2700.0, pytest.approx(8 / 3))
    assert told == [("w", 900.0, 8.0), ("s", *pushed), ("r", *pushed)]


@pytest.mark.parametrize("case", CASES, ids=[f"{case.rule}: {case.why}" for case in CASES])
def test_a_rule_says_what_by_hand_is_so(case: Case) -> None:
    """Each finding of one rule in one rig, whole."""
    text = f"rig: 1\ncatalogue: works.catalogue.yaml\nparts:\n{case.parts}"
    files, policy = {"works.catalogue.yaml": CATALOGUE}, case.policy or None
    rule = BOOK.rule(case.rule)
    assert rule is not None
    rig = rig_from_text(text, files=files, policy=policy)
    found = findings_of(rule, text, files=files, policy=policy)
    assert [line for finding in found for line in _said(rig, finding)] == case.says
