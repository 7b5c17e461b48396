"""Two verdicts on one rig compared: which findings are the same, which are new, and which are worse than they were."""

from collections.abc import Iterable, Iterator

from lineshaft.check.finding import Finding, value_of
from lineshaft.check.fingerprint import subject_of
from lineshaft.solve.limits import EQUAL, short

_WORSE_WHEN_MORE = ("times_limit", "ratio_needed", "time", "parts", "worth")
_WORSE_WHEN_LESS = ("margin", "runs_dry_after")
_WORSE_WHEN_SHORT = ("torque", "speed", "power")
"""Values that are worse when less, as long as they are less than needed."""
_OF_THE_BUILD_AS_IT_STANDS = "reading-disagrees"
"""A repair changes the build, so readings taken before it say nothing against it."""
_OF_A_RUNNING_MACHINE, _OF_A_STALLED_ONE = ("target-missed", "machine-surplus"), "machine-underdriven"
"""A machine that stalls makes nothing: one that a repair makes run, slower than its target or than it could, was never
any better."""
Subject = tuple[str, str, str]
"""What a finding is about: rule, judged file, and part by its name there, or the names on the way to its place."""


def none_against(before: Iterable[Finding], after: Iterable[Finding]) -> bool:
    """Whether no finding is new, or worse than it was."""
    return next(against(before, after), None) is None


def against(before: Iterable[Finding], after: Iterable[Finding]) -> Iterator[Finding]:
    """What speaks against a trial: each finding after it that is new, or worse than it was."""
    known: dict[Subject, list[Finding]] = {}
    for finding in before:
        known.setdefault(same(finding), []).append(finding)
    for finding in after:
        if finding.rule == _OF_THE_BUILD_AS_IT_STANDS:
            continue
        alike = known.get(same(finding))
        if not alike:
            ran_not = finding.rule in _OF_A_RUNNING_MACHINE and (_OF_A_STALLED_ONE, *same(finding)[1:]) in known
            if not ran_not:
                yield finding
            continue
        # Of several on one part each stands for the one at its own place, or else for any one.
        was = next((f for f in alike if f.route == finding.route), alike[0])
        alike.remove(was)
        if _worse(was, finding):
            yield finding


def same(finding: Finding) -> Subject:
    """What a finding is about: it is the same one at whatever step or setting of the part it shows."""
    file, rule, part, at = subject_of(finding)
    return rule, file, part or "" if finding.part else f"{part or ''} {at}"


def identity(finding: Finding) -> tuple[str, str, str, str]:
    """What a finding is about, and the step or setting at which it shows, by names."""
    return (*same(finding), subject_of(finding).at)


def _worse(was: Finding, now: Finding) -> bool:
    ranks = ("note", "warning", "error")
    if ranks.index(now.level) > ranks.index(was.level):
        return True
    signs = [*((name, 1) for name in _WORSE_WHEN_MORE), *((name, -1) for name in _WORSE_WHEN_LESS)]
    for name in _WORSE_WHEN_SHORT:
        needed, value = value_of(now, f"{name}_needed"), value_of(now, name)
        if needed is not None and value is not None and short(value, needed):
            signs.append((name, -1))
    for name, sign in signs:
        old, new = value_of(was, name), value_of(now, name)
        if old is not None and new is not None and sign * (new - old) > EQUAL * abs(old):
            return True
    return False
