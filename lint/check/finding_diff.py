"""The findings on a rig in two states compared: which are the same, which are new, which are worse than they were."""

from collections.abc import Iterable, Iterator
from typing import Generic, TypeVar

from lineshaft.check.finding import Finding
from lineshaft.check.fingerprint import Subject, subject_of
from lineshaft.check.severity_measure import has_grown_worse
from lineshaft.solve.limits import over

_F = TypeVar("_F", bound=Finding)
_OF_THE_BUILD_AS_IT_STANDS = "reading-disagrees"
"""A repair changes the build, so readings taken before it say nothing against it."""
_OF_A_RUNNING_MACHINE, _OF_A_STALLED_ONE = ("target-missed", "machine-surplus"), "machine-underdriven"
"""A machine that stalls makes nothing: one that a repair makes run, slower than its target or than it could, was never
any better."""


class BySubject(Generic[_F]):
    """Findings by what they are about, in their order: for who compares them again and again."""

    __slots__ = ("_found",)

    def __init__(self, findings: Iterable[_F]) -> None:
        self._found: dict[Subject, list[_F]] = {}
        for finding in findings:
            self._found.setdefault(subject_of(finding, anywhere=True), []).append(finding)

    def __contains__(self, subject: Subject) -> bool:
        return subject in self._found

    def about(self, subject: Subject) -> tuple[_F, ...]:
        """Those about a subject (wherever on its part)."""
        return tuple(self._found.get(subject, ()))


def none_against(before: Iterable[Finding], after: Iterable[Finding]) -> bool:
    """Whether no finding is new, or worse than it was."""
    return next(against(before, after), None) is None


def against(before: Iterable[Finding], after: Iterable[_F]) -> Iterator[_F]:
    """What speaks against a change: each finding after it that is new, or worse than it was."""
    return against_known(BySubject(before), after)


def against_known(known: BySubject[Finding], after: Iterable[_F]) -> Iterator[_F]:
    """The same of findings before it that are sorted already."""
    left: dict[Subject, list[Finding]] = {}
    for finding in after:
        if finding.rule == _OF_THE_BUILD_AS_IT_STANDS:
            continue
        subject = subject_of(finding, anywhere=True)
        alike = left.get(subject)
        if alike is None:
            alike = left[subject] = list(known.about(subject))
        if not alike:
            stalled = subject._replace(rule=_OF_A_STALLED_ONE)
            if finding.rule not in _OF_A_RUNNING_MACHINE or stalled not in known:
                yield finding
            continue
        # Of several on one part each stands for the one at its own place, or else for any one.
        was = next((f for f in alike if f.route == finding.route), alike[0])
        alike.remove(was)
        if _is_worse(was, finding):
            yield finding


def _is_worse(was: Finding, now: Finding) -> bool:
    if was.severity is not None and now.severity is not None and now.level == was.level:
        return over(now.severity, was.severity)
    return has_grown_worse(was, now)
