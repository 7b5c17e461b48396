"""An impact as text: the ratings that changed, then the rigs, those that newly break first."""

from collections import Counter
from collections.abc import Iterator, Mapping

from lineshaft.changes.impact import Broken, Comparison, RigImpact
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.write.page import ENDLESS, Page
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

_IN, _FURTHER = " " * 3, " " * 6
_MOST_RATINGS = 40
_MOST_PARTS = 30


def impact_sheet(found: Comparison, units: Units, page: Page = ENDLESS) -> str:
    """The whole sheet. With few rigs, as for a change of one file, all that moves in them is shown part by part."""
    whole = found.old.revision is not None
    pieces = [*_ratings(found, units, page)]
    told = [rig for rig in found.rigs if whole or rig.verdict not in ("moves", "same")]
    pieces += ["".join(_rig(rig, units, page, whole=whole)) for rig in told]
    moving = [rig for rig in found.rigs if rig.verdict == "moves" and not whole]
    if moving:
        pieces.append("".join(_headed(f"{rig.file}: {most_moved(rig, units)}", "moves", page) for rig in moving))
    pieces += [page.paragraph(notice, "", "  ") for notice in found.notices]
    pieces.append(page.paragraph(_counted(found), "", "  "))
    return "\n".join(pieces)


_TONES: Mapping[str, str] = {"breaks": "error", "worse": "error", "mended": "strong", "moves": "note", "same": "faint"}
"""The ink of each verdict on a rig."""


def _headed(text: str, verdict: str, page: Page) -> str:
    """A line about a rig behind the verdict on it."""
    word = verdict.upper()
    shown = page.paragraph(f"{word}  {text}", "", "  ")
    return shown.replace(word, page.ink(word, _TONES[verdict]), 1)


def _ratings(found: Comparison, units: Units, page: Page) -> Iterator[str]:
    if found.old.revision is not None:
        yield page.paragraph(f"Since {found.old.revision}")
        return
    head = f"{found.old.file} ({found.old.words}) to {found.new.file} ({found.new.words}): "
    many = len(found.ratings)
    yield page.paragraph(f"{head}{many} rating{'s' if many != 1 else ''} changed", "", "  ")
    if found.ratings:
        rows = [
            [rating.words, value_words(rating.old, rating.unit, units), value_words(rating.new, rating.unit, units)]
            for rating in found.ratings[:_MOST_RATINGS]
        ]
        more = f"and {many - _MOST_RATINGS} more\n" if many > _MOST_RATINGS else ""
        yield table(("rating", "was", "is"), rows, frozenset({1, 2}), page) + more


def _rig(rig: RigImpact, units: Units, page: Page, *, whole: bool) -> Iterator[str]:
    name = f"  “{rig.name}”" if rig.name else ""
    yield _headed(f"{rig.file}{name}", rig.verdict, page)
    for broken in (*rig.broken, *rig.worse):
        yield from _broken(broken, units, page)
    for finding in (finding for finding in rig.mended if finding.level != "note"):
        yield page.paragraph(f"mended: {_about(finding)}: {words(finding.message, units)}", _IN, _FURTHER)
    if not whole:
        moved = most_moved(rig, units)
        if moved:
            yield page.paragraph(f"moves: {moved}", _IN, _FURTHER)
        return
    for rating in rig.ratings[:_MOST_RATINGS]:
        yield page.paragraph(rating_words(rating, units), _IN, _FURTHER)
    yield from _moves(rig, units, page)


def _broken(broken: Broken, units: Units, page: Page) -> Iterator[str]:
    finding = broken.finding
    start = finding.span.start
    file = "" if finding.placement is None else f"{finding.file} "
    said = "new" if broken.was is None else "worse"
    level = finding.level.upper()
    head = f"{level}  {_about(finding)}  at {file}line {start.line}, column {start.column} ({said})"
    yield page.paragraph(head, _IN, _FURTHER).replace(level, page.ink(level, finding.level), 1)
    yield page.paragraph(f"{finding_words(broken, units)}.", _FURTHER)
    blame = blame_words(broken, units)
    if blame:
        yield page.paragraph(f"to blame: {blame}", _FURTHER)


def _moves(rig: RigImpact, units: Units, page: Page) -> Iterator[str]:
    moves = rig.moves
    if not any(moves):
        yield f"{_IN}nothing moves\n"
        return
    rows = [part_cells(move, units) for move in by_share(moves.parts)[:_MOST_PARTS]]
    if rows:
        yield table(("part", "torque", "speed", "of limit"), rows, frozenset({1, 2, 3}), page)
    if len(moves.parts) > _MOST_PARTS:
        yield f"and {len(moves.parts) - _MOST_PARTS} more parts\n"
    for move in moves.machines:
        yield page.paragraph(rate_words(move), _IN, _FURTHER)
    for names, verb in ((moves.came, "new"), (moves.gone, "gone")):
        if names:
            yield page.paragraph(f"{verb}: {', '.join(names)}", _IN, _FURTHER)


def _about(finding: JudgedFinding) -> str:
    part = f"  part {finding.home[1]}" if finding.home[1] else ""
    return f"{finding.rule}{part}"


def _counted(found: Comparison) -> str:
    many = Counter(rig.verdict for rig in found.rigs)
    said = ", ".join(f"{many[key]} {told[many[key] > 1]}" for key, told in VERDICTS.items() if many[key])
    rigs = len(found.rigs)
    return f"Compared {rigs} rig{'s' if rigs != 1 else ''}{': ' if said else ''}{said}."
