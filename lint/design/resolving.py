"""A plan with its torques known: whole shares, the splitters' and combiners' grades, what all of it is made of."""

from collections.abc import Iterator
from typing import NamedTuple

from lineshaft.design.feeding import Fed, Plan
from lineshaft.design.options import Divided, Laid, Option, ToMachine
from lineshaft.design.wish import Wish
from lineshaft.repair.line.segment import End
from lineshaft.repair.line.trees import weakest
from lineshaft.repair.strategies.line_design import SideBySide, Slot, Stage, slots_of
from lineshaft.repair.strategies.share_options import Row, whole_shares
from lineshaft.schema.model.catalogue import Catalogue, Direction, Item
from lineshaft.schema.model.stock import ItemKey
from lineshaft.stock_bill import Finished


class Branching(NamedTuple):
    """A splitter or combiner: its item and grade."""

    item: Item
    grade: str | None


class MachineLine(NamedTuple):
    """A line to a machine (index)."""

    slots: tuple[Slot, ...]
    machine: int


class SplitLine(NamedTuple):
    """A line to a splitter with shares, and what each of its outlets leads to."""

    slots: tuple[Slot, ...]
    splitter: Branching
    shares: Row
    below: "tuple[Resolved, ...]"


Resolved = MachineLine | SplitLine


class FedLine(NamedTuple):
    """Lines of outlets (numbers of the wish's sources), and what they lead to; ``combiners`` gather them in order."""

    lines: tuple[tuple[int, tuple[Slot, ...]], ...]
    combiners: tuple[Branching, ...]
    below: Resolved


class Layout(NamedTuple):
    """A whole design, ready to be written."""

    feeds: tuple[FedLine, ...]
    rates: tuple[tuple[int, float], ...]

    @property
    def detour(self) -> bool:
        """Whether a line gears up and down again."""
        return any(len({way for slot in line for way in _ways(slot)}) > 1 for line in self._lines())

    def _lines(self) -> Iterator[tuple[Slot, ...]]:
        for feed in self.feeds:
            yield from (slots for _, slots in feed.lines)
            yield from _lines_below(feed.below)

    def items(self) -> Iterator[Finished]:
        """What it adds, part by part."""
        for feed in self.feeds:
            for _, slots in feed.lines:
                yield from _items(slots)
            yield from map(_item, feed.combiners)
            yield from _items_below(feed.below)


def _lines_below(below: Resolved) -> Iterator[tuple[Slot, ...]]:
    yield below.slots
    if isinstance(below, SplitLine):
        for one in below.below:
            yield from _lines_below(one)


def _ways(slot: Slot) -> Iterator[Direction]:
    elements = slot.elements if isinstance(slot, SideBySide) else (slot,)
    yield from (element.direction for element in elements if isinstance(element, Stage))


def _item(made: Branching) -> Finished:
    return Finished(ItemKey(made.item.name, None, made.grade), made.item.made_of, None, made.grade)


def _items(slots: tuple[Slot, ...]) -> Iterator[Finished]:
    for slot in slots:
        if isinstance(slot, SideBySide):
            stages = [_stage(element) for element in slot.elements if isinstance(element, Stage)]
            yield from stages * slot.lines
            for tree in (*slot.divide.parts, *slot.gather.parts):
                yield _item(Branching(tree.end.item, tree.end.grade))
        elif isinstance(slot, Stage):
            yield _stage(slot)


def _stage(stage: Stage) -> Finished:
    key = ItemKey(stage.make.item.name, stage.offer.ratio.value, stage.make.grade)
    return Finished(key, stage.offer.made_of, stage.offer.ratio.text, stage.make.grade)


def _items_below(below: Resolved) -> Iterator[Finished]:
    yield from _items(below.slots)
    if isinstance(below, SplitLine):
        yield _item(below.splitter)
        for one in below.below:
            yield from _items_below(one)


def resolved(plan: Plan, wish: Wish, catalogue: Catalogue) -> Layout | None:
    """A plan with all torques; none where no whole shares do."""
    feeds = []
    for fed in plan.feeds:
        below = _below(fed.option, fed.torque, fed.speed, catalogue)
        if below is None:
            return None
        feeds.append(_fed(fed, wish, catalogue, below))
    rates = tuple(sorted(rate for fed in plan.feeds for rate in fed.option.rates))
    return Layout(tuple(feeds), rates)


def _fed(fed: Fed, wish: Wish, catalogue: Catalogue, below: Resolved) -> FedLine:
    found = fed.gathered
    if found is None:
        return FedLine(((fed.source, ()),), (), below)
    torques = [wish.sources[number].torque for number in found.sources]
    pairs = zip(found.sources, found.lines, torques, strict=True)
    lines = tuple((number, _slots(line, torque, catalogue)) for number, line, torque in pairs)
    sums = [torque * line.found.passes for line, torque in zip(found.lines, torques, strict=True)]
    combiners = []
    if len(found.ends) == 1:
        whole = sum(sums) * found.ends[0].efficiency
        combiners.append(_branching(found.ends[0], max(whole, *sums), found.speed, catalogue))
    else:
        so_far = sums[0]
        for end, torque in zip(found.ends, sums[1:], strict=True):
            out = (so_far + torque) * end.efficiency
            combiners.append(_branching(end, max(so_far, torque, out), found.speed, catalogue))
            so_far = out
    return FedLine(lines, tuple(combiners), below)


def _below(option: Option, torque: float, speed: float, catalogue: Catalogue) -> Resolved | None:
    node = option.node
    if isinstance(node, ToMachine):
        return MachineLine(_slots(node.laid, torque, catalogue), node.machine)
    return _split(node, torque, speed, catalogue)


def _split(node: Divided, torque: float, speed: float, catalogue: Catalogue) -> SplitLine | None:
    slots: tuple[Slot, ...] = ()
    if node.laid.found.slots:
        slots = _slots(node.laid, torque, catalogue)
        torque, speed = torque * node.laid.found.passes, node.laid.found.speed
    passed = torque * node.end.efficiency
    row = node.row
    if row is None:
        row = whole_shares(node.below, passed, (1.0,) * len(node.below))
        if row is None:
            return None
    below = []
    for option, share in zip(node.below, row, strict=True):
        found = _below(option, passed * share / sum(row), speed, catalogue)
        if found is None:
            return None
        below.append(found)
    return SplitLine(slots, _branching(node.end, torque, speed, catalogue), row, tuple(below))


def _slots(laid: Laid, torque: float, catalogue: Catalogue) -> tuple[Slot, ...]:
    return slots_of(laid.segment, laid.found, catalogue, torque)


def _branching(end: End, torque: float, speed: float, catalogue: Catalogue) -> Branching:
    made = weakest(end.makes, torque, speed) or max(end.makes, key=lambda make: make.torque)
    return Branching(catalogue.items[made.item], made.grade)
