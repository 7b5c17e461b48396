"""A design beside the line as it stands: which of its stages are parts that stand there, and what is another.

Parts are kept where they can be: the fewest words of the file change.
"""

from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations, permutations
from typing import Literal, NamedTuple

from lineshaft.repair.strategies.draft import Draft
from lineshaft.repair.strategies.line_design import Design, Kept, SideBySide, Stage
from lineshaft.repair.strategies.segments import Line
from lineshaft.repair.strategies.strength import written_grade
from lineshaft.schema.model.catalogue import Direction
from lineshaft.schema.quantities.ratio import Ratio
from lineshaft.solve.solved_rig import SolvedRig

Kind = Literal["grade", "direction", "ratio", "order", "take-out", "break", "detour", "add", "side-by-side"]
"""What a repair of a line changes."""

LAST_STAYS = 4.0
"""What it counts for that an open end stays where it is: one that moves to another part is a new finding."""


class Place(NamedTuple):
    """Where a design has a stage: its number in driving order, the stage, how many parts that stay stand before it."""

    number: int
    stage: Stage
    gap: int
    lines: int


def places_of(design: Design) -> Iterator[Place]:
    """The stages of a design in driving order."""
    number = gap = 0
    for slot in design.slots:
        elements, lines = (slot.elements, slot.lines) if isinstance(slot, SideBySide) else ((slot,), 1)
        for element in elements:
            if isinstance(element, Kept):
                gap += 1
            else:
                yield Place(number, element, gap, lines)
                number += 1


def matched(rig: SolvedRig, line: Line, places: tuple[Place, ...]) -> dict[int, int]:
    """Which place each stage of the line goes to, so that the fewest words change."""
    fixed = {p.number: p.stage.part for p in places if p.stage.part is not None}
    open_places = [p for p in places if p.number not in fixed]
    free = [n for n in line.stages if n not in fixed.values()]
    pairs = [[(p.number, n) for n in free] for p in open_places]
    if len(free) <= len(open_places):
        pairs = [list(column) for column in zip(*pairs, strict=True)]
    # There are thousands of ways in a long line: of most a look into this table is enough.
    alike = [[_likeness(rig, line, places[number], old) for number, old in row] for row in pairs]
    at = {n: k for k, n in enumerate(line.parts)}
    located = {n for n in line.stages if rig.parts[n].at is not None}
    last = (places[-1].number, line.parts[-1]) if line.end is None and places else None
    best: dict[int, int] = fixed
    highest = float("-inf")
    for chosen in permutations(range(max(len(free), len(open_places))), len(pairs)):
        worth = sum([row[k] for row, k in zip(alike, chosen, strict=True)])
        if worth + LAST_STAYS <= highest:
            continue
        stays = {**fixed, **dict([row[k] for row, k in zip(pairs, chosen, strict=True)])}
        order = [stays[number] for number in sorted(stays)]
        turned = sum(1 for a, b in combinations(order, 2) if at[a] > at[b])
        worth -= turned * (3.5 if located.isdisjoint(order) else 100.0)
        if last is not None and stays.get(last[0]) == last[1]:
            worth += LAST_STAYS
        if worth > highest:
            best, highest = stays, worth
    return best


def _likeness(rig: SolvedRig, line: Line, place: Place, old: int) -> float:
    """How much of a stage of the line stays as it is written in a place of a design."""
    part, stage = rig.parts[old], place.stage
    assert part.ratio is not None
    likeness = 2.0 * (stage.make.item.name == part.item.name) + 2.0 * (stage.offer.ratio.terms == part.ratio.terms)
    likeness += (stage.direction == part.direction) + 0.5 * (stage.make.grade == written_grade(part))
    return likeness + 1.0 * (place.gap == _gap(line, old))


def _gap(line: Line, number: int) -> int:
    before = line.parts[: line.parts.index(number)]
    return sum(1 for n in before if n not in line.stages)


def staying(design: Design, stays: dict[int, int]) -> list[int]:
    """The parts of the line that stay, in the order in which they come to stand; of lines side by side the first's."""
    found: list[int] = []
    number = 0
    for slot in design.slots:
        for element in slot.elements if isinstance(slot, SideBySide) else (slot,):
            if isinstance(element, Kept):
                found.append(element.part)
                continue
            if number in stays:
                found.append(stays[number])
            number += 1
    return found


def kinds_of(
    rig: SolvedRig, line: Line, places: tuple[Place, ...], design: Design, draft: Draft
) -> frozenset[Kind]:
    """What a design changes; ratios and directions that come with stages more or fewer are not said besides."""
    kinds: set[Kind] = set()
    divided = any(isinstance(slot, SideBySide) for slot in design.slots)
    if design.remade or (not divided and any(key in ("item", "grade") for _, key in draft.settings)):
        kinds.add("grade")
    before = [_gear(rig.parts[n].ratio, rig.parts[n].direction) for n in line.stages]
    after = [_gear(p.stage.offer.ratio, p.stage.direction) for p in places]
    if divided:
        kinds.add("side-by-side")
        if before and not {way for _, way in after} <= {way for _, way in before}:
            kinds.add("detour")
    elif draft.fresh and _overall(before) != _overall(after):
        kinds.add("add")
    elif draft.fresh:
        kinds.add("break" if {way for _, way in after} <= {way for _, way in before} else "detour")
    if draft.gone:
        kinds.add("take-out")
    if sorted(before) == sorted(after):
        if before != after or (draft.inlets and not draft.fresh):
            kinds.add("order")
    elif len(before) == len(after):
        kinds.add("direction" if [r for r, _ in before] == [r for r, _ in after] else "ratio")
    return frozenset(kinds)


def _gear(ratio: Ratio | None, direction: Direction | None) -> tuple[Fraction, str]:
    return Fraction(1) if ratio is None else ratio.value, direction or ""


def _overall(gears: list[tuple[Fraction, str]]) -> Fraction:
    product = Fraction(1)
    for ratio, direction in gears:
        product *= ratio if direction == "increase" else 1 / ratio
    return product
