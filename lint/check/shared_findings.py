"""One fault of a blueprint in all the places where the blueprint stands, told once: as the worst of them.

A judged file keeps a finding for each use. Where all that a run found is told, a fault of a blueprint is told once.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

from lineshaft.check.finding import Cause, Text
from lineshaft.check.level import gravity
from lineshaft.check.severity_measure import rank, severity_measure

if TYPE_CHECKING:  # a clean check has none
    from lineshaft.check.judged_finding import JudgedFinding

_F = TypeVar("_F", bound="JudgedFinding")
MOST_SHOWN = 10
"""How many of the other uses a finding that is told once shows; the rest is counted."""


def each_once(findings: Iterable[_F]) -> list[_F]:
    """What one or more judged files found, each finding that stands in a blueprint's file once, as its worst use.

    What passes in one use is no worse than what does not pass in another: so the whole passes where every use does.
    """
    every = list(dict.fromkeys(findings))
    shared: dict[str, list[_F]] = {f.fingerprint: [] for f in every if f.placement is not None}
    if not shared:
        return every
    for finding in every:
        if finding.fingerprint in shared:
            shared[finding.fingerprint].append(finding)
    told = []
    for finding in every:
        group = shared.get(finding.fingerprint)
        if group is None:
            told.append(finding)
        elif group[0] is finding:
            told.append(_told_once(sorted(group, key=_place_of_use)))
    return told


def worst_use(uses: Iterable[_F]) -> _F:
    """Of one finding's uses the one that is told of; of equals the first."""
    return max(uses, key=lambda use: (not use.passes, gravity(use.level), rank(severity_measure(use))))


def _told_once(uses: list[_F]) -> _F:
    worst = worst_use(uses)
    rest = [use for use in uses if use is not worst]
    told = replace(worst, because=(*worst.because, *_others(rest)), uses=tuple(uses))
    return _with_repairs_named(told, rest)


def _with_repairs_named(told: _F, rest: Sequence[_F]) -> _F:
    """It with the repairs of the worst use; one that is not among those of every other use says which it is for."""
    from lineshaft.check.judged_finding import RepairedFinding

    if not isinstance(told, RepairedFinding) or not told.repairs:
        return told
    others = [{r.edits for r in use.repairs} for use in rest if isinstance(use, RepairedFinding) and not use.passes]
    repairs = tuple(
        repair
        if all(repair.edits in known for known in others)
        else repair._replace(title=f"{repair.title}, for {told.home[1]}")
        for repair in told.repairs
    )
    return replace(told, repairs=repairs)


def _place_of_use(finding: "JudgedFinding") -> tuple[str, int, int, str]:
    file, part = finding.home
    start = (finding.span if finding.placement is None else finding.placement.lines[0].span).start
    return file, start.line, start.column, part or ""


def _others(uses: "Iterable[JudgedFinding]") -> Iterator[Cause]:
    """The uses that are not told of, each with what it has, as causes at the lines that put them in place."""
    left = list(uses)
    for use in left[:MOST_SHOWN]:
        accepted = ", waived" if use.waived is not None else ", a snag" if use.snag is not None else ""
        yield _other(use, (f"has it too{accepted}: ", *use.message))
    if len(left) > MOST_SHOWN:
        count = len(left) - MOST_SHOWN - 1
        more = f", and so {'do' if count > 1 else 'does'} {count} more use{'s' if count > 1 else ''}" if count else ""
        yield _other(left[MOST_SHOWN], (f"has it too{more}",))


def _other(use: "JudgedFinding", message: Text) -> Cause:
    if use.placement is None:
        return Cause(use.file, use.span, use.part, ("by itself ", *message), use.values)
    return Cause(use.placement.file, use.placement.lines[0].span, use.placement.part, message, use.values)
