"""Which findings are kept where an output holds only so many: by level, those that count first, else in order."""

from collections import Counter
from collections.abc import Iterable
from typing import TYPE_CHECKING, TypeVar

from lineshaft.check.finding import value_of
from lineshaft.check.level import LEVELS, gravity
from lineshaft.write.summary import Counts

if TYPE_CHECKING:  # a clean check has none
    from lineshaft.check.judged_finding import JudgedFinding

_F = TypeVar("_F", bound="JudgedFinding")


def rank(finding: "JudgedFinding") -> int:
    """Smallest for an error, then for a warning, for a note, for whatever is waived or a snag."""
    return 1 if finding.passes else -gravity(finding.level)


def kept_by_level(findings: tuple[_F, ...], most: int) -> tuple[_F, ...]:
    """At most so many findings, the worse levels first to be kept, in the order in which they came."""
    if len(findings) <= most:
        return findings
    chosen = sorted(range(len(findings)), key=lambda at: (rank(findings[at]), at))[:most]
    return tuple(findings[at] for at in sorted(chosen))


def worst_first(findings: Iterable[_F]) -> list[_F]:
    """By level, then by how many times over the limit, else in the order in which they came."""
    return sorted(findings, key=lambda finding: (rank(finding), -(value_of(finding, "times_limit") or 0.0)))


def counted(found: Counts) -> str:
    """The counts in words, for example `3 files, 14 parts: 1 error, 0 warnings, 2 notes, 1 waived`."""
    pieces = [
        _many(count, name)
        for count, name in ((found.errors, "error"), (found.warnings, "warning"), (found.notes, "note"))
    ]
    apart = [f"{found.waived} waived"] if found.waived else []
    apart += [_many(found.snags, "snag")] if found.snags else []
    unsolved = f" ({found.unsolved} not solved)" if found.unsolved else ""
    head = f"{_many(found.files, 'file')}, {_many(found.parts, 'part')}{unsolved}"
    return f"{head}: {', '.join([*pieces, *apart])}"


def counted_levels(findings: "Iterable[JudgedFinding]") -> str:
    """How many findings of each kind there are, for example `1 error, 2 warnings, 1 waived`; `no findings`."""
    kinds = Counter("waived" if f.waived else "snag" if f.snag else f.level for f in findings)
    pieces = [_many(kinds[kind], kind) for kind in (*LEVELS, "snag") if kinds[kind]]
    waived = [f"{kinds['waived']} waived"] if kinds["waived"] else []
    return ", ".join([*pieces, *waived]) or "no findings"


def shortened(text: str, most: int) -> str:
    """The text, or its beginning and an ellipsis, in at most so many characters."""
    return text if len(text) <= most else text[: most - 1] + "…"


def _many(count: int, name: str) -> str:
    return f"{count} {name}{'s' if count != 1 else ''}"
