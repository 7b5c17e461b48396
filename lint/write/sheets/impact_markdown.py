"""An impact as Markdown for a comment on a pull request: per rig what is new, what is mended, a table of what moves.

Whatever comes from a file stands in a code span, as in the comment that `check` writes.
"""

from collections.abc import Iterator, Sequence

from lineshaft.changes.impact import Comparison, RigImpact
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.write.markdown import MOST, code
from lineshaft.write.sheets.impact_words import (
    VERDICTS,
    blame_words,
    by_share,
    finding_words,
    most_moved,
    part_cells,
    rate_words,
    rating_words,
    value_words,
)
from lineshaft.write.shown_units import Units, words

_LONGEST = 400
_MOST_PARTS = 60


def impact_markdown(found: Comparison, units: Units) -> bytes:
    """The comment, UTF-8, of at most so many bytes as a comment holds."""
    lines: list[str] = []
    size = 0
    for number, block in enumerate(_blocks(found, units)):
        size += len(block.encode()) + 1
        if size > MOST:
            lines.append(f"{_count(found) - number} more sections are not shown.")
            break
        lines.append(block)
    return ("\n".join(lines).rstrip("\n") + "\n").encode()


def _count(found: Comparison) -> int:
    return 2 + sum(rig.verdict != "same" for rig in found.rigs)


def _blocks(found: Comparison, units: Units) -> Iterator[str]:
    yield f"## lineshaft: from {_cell(found.old.words)} to {_cell(found.new.words)}\n"
    whole = found.old.revision is not None
    if not whole:
        rows = [
            (rating.words, value_words(rating.old, rating.unit, units), value_words(rating.new, rating.unit, units))
            for rating in found.ratings[:_MOST_PARTS]
        ]
        yield _table(("rating", "was", "is"), rows) if rows else "No rating changed.\n"
    for rig in found.rigs:
        if rig.verdict != "same" or whole:
            yield "\n".join(_rig(rig, units, whole=whole))
    yield "\n".join(f"{_cell(notice)}\n" for notice in found.notices)


def _rig(rig: RigImpact, units: Units, *, whole: bool) -> Iterator[str]:
    yield f"### {_cell(rig.file)} {VERDICTS[rig.verdict][0]}\n"
    broken = [
        (*_about(each.finding), finding_words(each, units), blame_words(each, units))
        for each in (*rig.broken, *rig.worse)
    ]
    if broken:
        yield _table(("level", "rule", "part", "new or worse", "to blame"), broken)
    mended = [(*_about(finding), words(finding.message, units)) for finding in rig.mended if finding.level != "note"]
    if mended:
        yield _table(("level", "rule", "part", "mended"), mended)
    if not whole:
        moved = most_moved(rig, units)
        yield f"Moves: {_cell(moved)}\n" if moved else ""
        return
    for rating in rig.ratings[:_MOST_PARTS]:
        yield f"- {_cell(rating_words(rating, units))}"
    yield ""
    moves = rig.moves
    parts = [part_cells(move, units) for move in by_share(moves.parts)[:_MOST_PARTS]]
    if parts:
        yield _table(("part", "torque", "speed", "of limit"), parts)
    if len(moves.parts) > _MOST_PARTS:
        yield f"{len(moves.parts) - _MOST_PARTS} more parts move.\n"
    for line in (
        *(rate_words(move) for move in moves.machines),
        *(f"new part {name}" for name in moves.came[:_MOST_PARTS]),
        *(f"part {name} is gone" for name in moves.gone[:_MOST_PARTS]),
    ):
        yield f"- {_cell(line)}"
    yield "" if any(moves) else "Nothing moves.\n"


def _about(finding: JudgedFinding) -> tuple[str, str, str]:
    return finding.level, finding.rule, finding.home[1] or ""


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    lines = [f"| {' | '.join(head)} |", f"|{' --- |' * len(head)}"]
    lines += [f"| {' | '.join(_cell(cell) if cell else '' for cell in row)} |" for row in rows]
    return "\n".join(lines) + "\n"


def _cell(text: str) -> str:
    return code(text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…")
