"""Findings of one rule in one file that one cause makes, told as one: as the worst of them, with all parts named.

A judged file keeps one for each part: by these it is waived, recorded as a snag and repaired. Where what was found is
told and counted, one start-up list that is missing is one finding.
"""

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from lineshaft.check.finding import Cause
from lineshaft.check.shared_findings import worst_use

if TYPE_CHECKING:  # a clean check has none
    from lineshaft.check.judged_finding import RepairedFinding

MOST_NAMED = 8
"""Parts that are named in the sentence; the rest is counted."""
MOST_SHOWN = 10
"""How many of the other findings stand among the causes, with their places; the rest is counted."""


def by_cause(findings: "Iterable[RepairedFinding]") -> "list[RepairedFinding]":
    """The findings, those with one cause as one, where the first of them stood; what passes is told apart."""
    every = list(findings)
    groups: dict[tuple[str, str, str, bool], list[RepairedFinding]] = {}
    for finding in every:
        if finding.shared is not None:
            key = (finding.file, finding.rule, finding.shared.words, finding.passes)
            groups.setdefault(key, []).append(finding)
    told = {id(group[0]): _told_once(group) for group in groups.values() if len(group) > 1}
    others = {id(finding) for group in groups.values() for finding in group[1:]}
    return [told.get(id(finding), finding) for finding in every if id(finding) not in others]


def _told_once(group: "list[RepairedFinding]") -> "RepairedFinding":
    worst = worst_use(group)
    assert worst.shared is not None
    names = [finding.part or "" for finding in group]
    shared = [repair for repair in worst.repairs if all(repair in finding.repairs for finding in group)]
    return replace(
        worst,
        message=(f"{worst.shared.words} {_named(names)}; {worst.part} ", *worst.message),
        because=(*worst.because, *_others(group, worst)),
        suggestion=(worst.shared.mend,),
        repairs=tuple(shared) or worst.repairs,
        uses=tuple(use for finding in group for use in finding.uses),
        alike=tuple(group),
    )


def _named(names: list[str]) -> str:
    if len(names) > MOST_NAMED:
        return f"{', '.join(names[:MOST_NAMED])} and {len(names) - MOST_NAMED:,} more"
    return f"{', '.join(names[:-1])} and {names[-1]}"


def _others(group: "list[RepairedFinding]", worst: "RepairedFinding") -> Iterable[Cause]:
    """What the others have, each at its place."""
    left = [finding for finding in group if finding is not worst]
    for finding in left[:MOST_SHOWN]:
        yield Cause(finding.file, finding.span, finding.part, ("has it too: ", *finding.message), finding.values)
    if len(left) > MOST_SHOWN:
        finding, count = left[MOST_SHOWN], len(left) - MOST_SHOWN - 1
        more = f", and so have {count:,} more" if count else ""
        yield Cause(finding.file, finding.span, finding.part, (f"has it too{more}",), finding.values)
