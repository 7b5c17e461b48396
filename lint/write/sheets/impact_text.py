"""An impact as text: the ratings that changed, then the rigs, those that newly break first."""

from collections import Counter
from collections.abc import Iterator

from lineshaft.changes.impact import Broken, Comparison, RigImpact
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.write.escape import harmless, visible
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
from lineshaft.write.table import table

_MOST_RATINGS = 40
_MOST_PARTS = 30


def impact_sheet(found: Comparison, units: Units) -> str:
    """The whole sheet. With few rigs, as for a change of one file, all that moves in them is shown part by part."""
    whole = found.old.revision is not None
    pieces = [*_ratings(found, units)]
    told = [rig for rig in found.rigs if whole or rig.verdict not in ("moves", "same")]
    pieces += ["".join(_rig(rig, units, whole=whole)) for rig in told]
    moving = [rig for rig in found.rigs if rig.verdict == "moves" and not whole]
    if moving:
        pieces.append("".join(_shown(f"MOVES  {rig.file}: {most_moved(rig, units)}") + "\n" for rig in moving))
    pieces += [f"{_shown(notice)}\n" for notice in found.notices]
    pieces.append(_counted(found))
    return "\n".join(pieces)


def _ratings(found: Comparison, units: Units) -> Iterator[str]:
    if found.old.revision is not None:
        yield _shown(f"Since {found.old.revision}") + "\n"
        return
    head = f"{found.old.file} ({found.old.words}) to {found.new.file} ({found.new.words}): "
    many = len(found.ratings)
    yield _shown(f"{head}{many} rating{'s' if many != 1 else ''} changed") + "\n"
    if found.ratings:
        rows = [
            [rating.words, value_words(rating.old, rating.unit, units), value_words(rating.new, rating.unit, units)]
            for rating in found.ratings[:_MOST_RATINGS]
        ]
        more = f"and {many - _MOST_RATINGS} more\n" if many > _MOST_RATINGS else ""
        yield table(("rating", "was", "is"), rows, frozenset({1, 2})) + more


def _rig(rig: RigImpact, units: Units, *, whole: bool) -> Iterator[str]:
    name = f"  “{rig.name}”" if rig.name else ""
    yield f"{rig.verdict.upper()}  {_shown(rig.file + name)}\n"
    for broken in (*rig.broken, *rig.worse):
        yield from _broken(broken, units)
    for finding in (finding for finding in rig.mended if finding.level != "note"):
        yield f"   mended: {_about(finding)}: {_shown(words(finding.message, units))}\n"
    if not whole:
        moved = most_moved(rig, units)
        if moved:
            yield f"   moves: {_shown(moved)}\n"
        return
    for rating in rig.ratings[:_MOST_RATINGS]:
        yield f"   {_shown(rating_words(rating, units))}\n"
    yield from _moves(rig, units)


def _broken(broken: Broken, units: Units) -> Iterator[str]:
    finding = broken.finding
    start = finding.span.start
    file = "" if finding.placement is None else f"{_shown(finding.file)} "
    said = "new" if broken.was is None else "worse"
    yield f"   {finding.level.upper()}  {_about(finding)}  at {file}line {start.line}, column {start.column} ({said})\n"
    yield f"      {_shown(finding_words(broken, units))}.\n"
    blame = blame_words(broken, units)
    if blame:
        yield f"      to blame: {_shown(blame)}\n"


def _moves(rig: RigImpact, units: Units) -> Iterator[str]:
    moves = rig.moves
    if not any(moves):
        yield "   nothing moves\n"
        return
    rows = [part_cells(move, units) for move in by_share(moves.parts)[:_MOST_PARTS]]
    if rows:
        yield table(("part", "torque", "speed", "of limit"), rows, frozenset({1, 2, 3}))
    if len(moves.parts) > _MOST_PARTS:
        yield f"and {len(moves.parts) - _MOST_PARTS} more parts\n"
    for move in moves.machines:
        yield f"   {_shown(rate_words(move))}\n"
    for names, verb in ((moves.came, "new"), (moves.gone, "gone")):
        if names:
            yield f"   {verb}: {_shown(', '.join(names))}\n"


def _about(finding: JudgedFinding) -> str:
    part = f"  part {finding.home[1]}" if finding.home[1] else ""
    return _shown(f"{finding.rule}{part}")


def _counted(found: Comparison) -> str:
    many = Counter(rig.verdict for rig in found.rigs)
    said = ", ".join(f"{many[key]} {told[many[key] > 1]}" for key, told in VERDICTS.items() if many[key])
    rigs = len(found.rigs)
    return f"Compared {rigs} rig{'s' if rigs != 1 else ''}{': ' if said else ''}{said}.\n"


def _shown(text: str) -> str:
    return harmless(visible(text))
