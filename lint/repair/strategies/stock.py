"""What a catalogue offers for the lines of a rig: stages, splitters and combiners with limits and weights, and what may
take the place of a part that stays."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from lineshaft.bill_of_materials import goods_of
from lineshaft.repair.line.prepared import Prepared
from lineshaft.repair.line.prices import WORD
from lineshaft.repair.line.segment import End, Kept, Make, Segment, Stage, Stock
from lineshaft.repair.line.trees import Trees
from lineshaft.repair.strategies.goal import Goal, allowed
from lineshaft.repair.strategies.prices import Prices, Weights
from lineshaft.repair.strategies.segments import Line, most_stages
from lineshaft.repair.strategies.strength import Make as Version
from lineshaft.repair.strategies.strength import Strength, written_grade
from lineshaft.schema.model.catalogue import Direction, Goods, Item, OfferedRatio
from lineshaft.schema.model.rig import Part
from lineshaft.solve.solved_rig import SolvedRig

_NEW = 4
"""Words of a file that a new part counts for."""
_BOTH: tuple[Direction, ...] = ("increase", "reduce")


def prepared_for(
    rig: SolvedRig,
    line: Line,
    goal: Goal,
    strength: Strength,
    prices: Prices,
    stages: int | None = None,
    *,
    worded: bool = True,
) -> Prepared:
    """What may be put into a line, made ready for searches; the same for all that ask for the same.

    Not ``worded``: weights tell cost and parts only, not how much of the file changes; that is alike for most lines.
    """
    most = most_stages(line) if stages is None else stages
    own = tuple(_own(rig, line, goal, strength, prices))
    reserves = strength.torque_reserve, strength.speed_reserve
    old = [_Old.of(rig.parts[number]) for number in line.stages] if worded else []
    asked = (frozenset(old), *reserves, most, own)
    known = rig.once(_Stocks)
    if asked not in known.prepared:
        stock = offered(rig.catalogue.items.values(), strength, prices, old, own)
        if reserves not in known.trees:
            known.trees[reserves] = Trees(stock.splitters, stock.combiners)
        known.prepared[asked] = Prepared(stock, most, known.trees[reserves])
    return known.prepared[asked]


class _Old(NamedTuple):
    """What a stage that stands is like, as far as another in its place would have to be written otherwise."""

    item: str
    grade: str | None
    terms: tuple[int, int] | None
    direction: Direction | None

    @classmethod
    def of(cls, part: Part) -> "_Old":
        """What a part is like."""
        terms = None if part.ratio is None else part.ratio.terms
        return cls(part.item.name, written_grade(part), terms, part.direction)


class _Stocks:
    """What was made ready for searches in a rig, by the stages that stand, both reserves, the most stages, its own."""

    def __init__(self, _: SolvedRig) -> None:
        self.prepared: dict[tuple[frozenset[_Old], float, float, int, tuple[Stage, ...]], Prepared] = {}
        self.trees: dict[tuple[float, float], Trees] = {}


def offered(
    items: Collection[Item], strength: Strength, prices: Weights, old: Sequence[_Old] = (), own: tuple[Stage, ...] = ()
) -> Stock:
    """All that some items offer for lines, and a line's own stages as they are; ``old`` are the stages that stand."""
    stages = [
        Stage(_make(made, item, weight + WORD * _words(unlike, made)), offer.ratio, way)
        for item in items
        if item.kind == "gear-stage"
        for offer, weight in [(offer, prices.weight(offer.made_of, 1)) for offer in item.ratios]
        for way, unlike in [(way, _unlike(old, item, offer, way)) for way in _BOTH]
        for made in strength.makes(item)
    ]
    stages += own
    ends = {kind: tuple(_end(item, strength, prices) for item in items if item.kind == kind) for kind in _ENDS}
    return Stock(tuple(stages), ends["splitter"], ends["combiner"])


_ENDS = ("splitter", "combiner")


def _make(made: Version, item: Item, weight: int) -> Make:
    return Make(item.name, made.grade, made.torque, made.speed, item.efficiency, weight)


def _unlike(
    old: Iterable[_Old], new: Item, offer: OfferedRatio, direction: Direction
) -> Sequence[tuple[int, str | None]]:
    """How many words each other stage of the line would have to change to be such a one, but for the grade it has."""
    return [
        (2 * (item != new.name) + 2 * (terms != offer.ratio.terms) + 2 * (way != direction), grade)
        for item, grade, terms, way in old
    ]


def _words(unlike: Iterable[tuple[int, str | None]], make: Version) -> int:
    """The fewest words that one of the others changes to be of a make, its grade among them."""
    return min([words + (grade != make.grade) for words, grade in unlike], default=_NEW)


def _own(rig: SolvedRig, line: Line, goal: Goal, strength: Strength, prices: Prices) -> Iterator[Stage]:
    """The stages of a line that may stay as they are where the catalogue's own make would not do: once each."""
    for place, number in enumerate(line.stages):
        part = rig.parts[number]
        held = allowed(strength, number, goal)
        grade = written_grade(part)
        alike = [make for make in strength.makes(part.item) if make.grade == grade]
        if part.ratio is None or part.direction is None or not part.ratio.changes:
            continue
        if any(make.torque >= held.torque and make.speed >= held.speed for make in alike):
            continue
        weight = prices.weight(goods_of(part), 1)
        make = Make(part.item.name, grade, *held, part.item.efficiency, weight, number, 1 << place)
        yield Stage(make, part.ratio, part.direction)


def _end(item: Item, strength: Strength, prices: Weights) -> End:
    makes = tuple(_make(made, item, 0) for made in strength.makes(item))
    ends = item.outlets if item.kind == "splitter" else item.inlets
    return End(item.name, makes, item.efficiency, prices.weight(item.made_of, 1, _NEW), ends, item.shares)


def segment_for(
    rig: SolvedRig,
    line: Line,
    goal: Goal,
    strength: Strength,
    prices: Prices,
    lines: int,
    stages: int | None = None,
    end: Kept | None = None,
) -> Segment:
    """A line as a segment: what enters it and the parts that stay, with what it ends at where that may be another."""
    kept = [number for number in line.parts if number not in line.stages]
    most = most_stages(line) if stages is None else stages
    torque = (line.torque, line.torque)
    members = [kept_part(rig, number, goal, strength, prices) for number in kept]
    gaps, undone = _gaps(line, kept), _undone(rig, line)
    if end is not None:
        members.append(end)
    return Segment(torque, line.speed, tuple(members), most, lines, gaps, undone, ended=end is not None)


def _undone(rig: SolvedRig, line: Line) -> frozenset[Fraction]:
    """The gains that the line as it stands takes back with its next stage: that is no new fault of a design."""
    gains = [
        part.ratio.value if part.direction == "increase" else 1 / part.ratio.value
        for part in (rig.parts[number] for number in line.parts)
        if part.ratio is not None and part.ratio.value != 1
    ]
    return frozenset(above for above, below in pairwise(gains) if above * below == 1)


def _gaps(line: Line, kept: list[int]) -> tuple[int, ...]:
    """How far each gap is from where the line has its stages: at its end where it has none."""
    order = {number: place for place, number in enumerate(line.parts)}
    old = {sum(1 for number in kept if order[number] < order[stage]) for stage in line.stages} or {len(kept)}
    return tuple(min(abs(gap - place) for place in old) for gap in range(len(kept) + 1))


def kept_part(rig: SolvedRig, number: int, goal: Goal, strength: Strength, prices: Prices) -> Kept:
    """A part that stays: as it is, or in other makes that may take its place, lightest first."""
    part = rig.parts[number]
    own = goods_of(part)
    doubled = part.item.kind == "shaft" or (part.item.kind == "right-angle" and part.ratio is None)
    held = allowed(strength, number, goal)
    copy = prices.weight(own, 1, _NEW) if doubled else None
    makes = [Make(part.item.name, written_grade(part), *held, part.item.efficiency, 0, number, 0, copy)]
    for made, goods in substitutes(rig, number, strength):
        copy = prices.weight(goods, 1, _NEW) if doubled else None
        weight = prices.weight(goods, 0, 1 + (made.item.name != part.item.name), own)
        limits = (made.torque, made.speed, made.item.efficiency)
        makes.append(Make(made.item.name, made.grade, *limits, weight, None, 0, copy))
    makes[1:] = sorted(makes[1:], key=lambda make: (make.weight, make.torque, make.speed, make.item))
    turning = Fraction(1) if part.ratio is None else part.ratio.value
    clear = turning == 1
    return Kept(number, tuple(makes), 1 / turning if part.direction == "reduce" else turning, clear)


def substitutes(rig: SolvedRig, number: int, strength: Strength) -> tuple[tuple[Version, Goods], ...]:
    """Other grades of a part's item, and other items that take its place with the same settings, with their goods."""
    part = rig.parts[number]
    found: list[tuple[Version, Goods]] = []
    for item in rig.catalogue.items.values():
        if item.name != part.item.name and not takes_place_of(item, part):
            continue
        goods = item.made_of
        if part.ratio is not None:
            goods = next((o.made_of for o in item.ratios if o.ratio.terms == part.ratio.terms), goods)
        for make in strength.makes(item):
            if item.name != part.item.name or make.grade != written_grade(part):
                found.append((make, goods))
    return tuple(sorted(found, key=lambda pair: (pair[0].item.name != part.item.name, pair[0].torque, pair[0].speed)))


def takes_place_of(item: Item, part: Part) -> bool:
    """Whether an item may stand in a part's place with the same ratio, outlets, shares and inlets."""
    old = part.item
    if item.kind != old.kind or item.kind in ("prime-mover", "driven-machine"):
        return False
    if part.ratio is not None:
        return any(offer.ratio.terms == part.ratio.terms for offer in item.ratios)
    if item.is_stage:
        return False
    if item.kind == "splitter":
        return divides(item, part.shares)
    return item.kind != "combiner" or item.inlets in (None, len(part.inlets))


def divides(item: Item, weights: Iterable[float]) -> bool:
    """Whether a splitter's item offers some shares, in any order."""
    weights = tuple(weights)
    if item.outlets not in (None, len(weights)):
        return False
    if item.shares is None:
        return True
    ours = sorted(weight / sum(weights) for weight in weights)
    rows = (sorted(weight / sum(row) for weight in row) for row in item.shares if len(row) == len(weights))
    return any(all(abs(a - b) < 1e-9 for a, b in zip(ours, row, strict=True)) for row in rows)
