"""What becomes of a rig's waivers: which findings they cover, and which are past their day, overtaken or idle.

A waiver that is in doubt covers nothing. It covers the findings of its rule about its part, or, where it names no part,
those about the rig's file as a whole; each only as far as its `up-to`, and only until its day.
"""

from collections.abc import Collection, Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING, Literal, NamedTuple

from lineshaft.check.finding import Finding
from lineshaft.schema.model.running import Waiver
from lineshaft.solve.solved_rig import SolvedRig

if TYPE_CHECKING:  # most rigs have no waiver
    from lineshaft.check.judged_finding import Waived

Outcome = Literal["holds", "expired", "beyond", "gone", "no rule", "unjudged"]


class JudgedWaiver(NamedTuple):
    """A waiver and what became of it; ``beyond`` are the findings that are worse than it allows.

    `unjudged`: its rule is off or crashed, or a part of the rig has no solution, so that nobody knows.
    """

    waiver: Waiver
    outcome: Outcome
    beyond: tuple[Finding, ...] = ()


class Rules(NamedTuple):
    """The ids of the rules that ran, and of those that are known but did not (off, broken, crashed)."""

    ran: Collection[str]
    silent: Collection[str]


def waived_by(rig: SolvedRig, findings: Iterable[Finding], today: date) -> "list[Waived | None]":
    """For each of the findings the waiver of the rig that covers it on that day, if any does."""
    offered: dict[tuple[str, str | None], list[Waiver]] = {}
    for waiver in rig.rig.waivers:
        if today <= waiver.until:
            offered.setdefault((waiver.rule, waiver.part), []).append(waiver)
    return [_covering(rig, finding, offered.get((finding.rule, finding.part), ())) for finding in findings]


def _covering(rig: SolvedRig, finding: Finding, offered: Iterable[Waiver]) -> "Waived | None":
    from lineshaft.check.judged_finding import Waived

    for waiver in offered:
        if _concerns(rig, waiver, finding) and covers(waiver, finding):
            value = bound_value(finding) if waiver.up_to is not None else None
            return Waived(waiver.reason, waiver.until.isoformat(), waiver.up_to, value)
    return None


def _concerns(rig: SolvedRig, waiver: Waiver, finding: Finding) -> bool:
    """Whether a finding of a waiver's rule and part is one that it speaks of: without a part, of the rig's own file."""
    return waiver.part is not None or finding.file == rig.file


def covers(waiver: Waiver, finding: Finding) -> bool:
    """Whether a finding is no worse than a waiver of its rule and part allows."""
    from lineshaft.check.severity_measure import against_limit, worse  # most rigs have no waiver

    measured = against_limit(finding)
    if waiver.up_to is None:
        return measured is None
    if measured is None:
        # A stage that turns the wrong way and breaks nothing is within any bound; elsewhere there is nothing to bound.
        return finding.rule == "direction-before-commissioning"
    return not worse(measured, measured.of, waiver.up_to, tolerance=0)


def bound_value(finding: Finding) -> float | None:
    """The value of a finding that a waiver bounds; none where it has no such value."""
    from lineshaft.check.severity_measure import against_limit

    measured = against_limit(finding)
    return None if measured is None else measured.value


def judged_waivers(
    rig: SolvedRig, findings: Sequence[Finding], rules: Rules, today: date
) -> tuple[JudgedWaiver, ...]:
    """Each waiver of a rig with what became of it, given all findings on the rig."""
    present: dict[tuple[str, str | None], list[Finding]] = {}
    for finding in findings:
        present.setdefault((finding.rule, finding.part), []).append(finding)
    return tuple(
        _judged(rig, waiver, present.get((waiver.rule, waiver.part), ()), rules, today) for waiver in rig.rig.waivers
    )


def _judged(
    rig: SolvedRig, waiver: Waiver, findings: Iterable[Finding], rules: Rules, today: date
) -> JudgedWaiver:
    if waiver.until < today:
        return JudgedWaiver(waiver, "expired")
    if waiver.rule not in rules.ran:
        return JudgedWaiver(waiver, "unjudged" if waiver.rule in rules.silent else "no rule")
    concerned = [finding for finding in findings if _concerns(rig, waiver, finding)]
    beyond = tuple(finding for finding in concerned if not covers(waiver, finding))
    if beyond:
        return JudgedWaiver(waiver, "beyond", beyond)
    if concerned:
        return JudgedWaiver(waiver, "holds")
    return JudgedWaiver(waiver, "gone" if rig.parts and not rig.unsolved else "unjudged")
