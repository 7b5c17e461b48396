"""What a change asks of the start-up: directions set and lubricant filled before the start, places on circuits."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from lineshaft.check.finding import Edit
from lineshaft.repair.edits.commissioning_block import added_list
from lineshaft.repair.edits.entries import drop_entries, edit, without_entries, without_entry
from lineshaft.repair.edits.parts import add_items, add_steps
from lineshaft.schema.model.catalogue import Direction, Item
from lineshaft.schema.quantities.quantity import litres_text
from lineshaft.schema.read.fields import listing
from lineshaft.schema.text.scalar_text import scalar_text
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree
from lineshaft.solve.limits import over
from lineshaft.solve.solved_rig import SolvedRig

_NOT_WRITTEN: tuple[None] = (None,)


class Turned(NamedTuple):
    """A part after a change: name, item, direction; its index (none: new); the part whose circuit it may share."""

    name: str
    item: Item
    direction: Direction | None
    number: int | None
    like: int | None


def start_edits(rig: SolvedRig, turned: Iterable[Turned], gone: set[int]) -> Iterator[Edit | None]:
    """The edits to commissioning and lubrication; none among them where one cannot be written."""
    fills: list[str] = []
    sets: list[str] = []
    feeds: dict[int, list[str]] = {}
    told: set[int] = set()
    dry: set[int] = set()
    for part in turned:
        if part.number is not None:
            told.add(part.number)
            if part.item.lubricant is None or _is_fed_another(rig, part.number, part.item.lubricant.kind):
                dry.add(part.number)
            yield from _retold(rig, part)
        _oil(rig, part, fills, feeds)
        if part.item.is_stage and part.direction not in (None, part.item.delivered) and not _says(rig, "set", part):
            sets.append(f"set: {{part: {scalar_text(part.name)}, to: {part.direction}}}")
    yield from fed(rig, feeds, gone | dry)
    yield from dropped_steps(rig, gone)
    entries = [*fills, *sets]
    # A blueprint brings the steps of its own parts with it, and starts nothing.
    if entries and (rig.rig.has_commissioning or rig.rig.tree.at(("commissioning",))):
        yield add_steps(rig.rig.tree, 0, entries)
    elif entries:
        yield _new_list(rig, [*entries, *_other_sets(rig, told | gone)])


def _other_sets(rig: SolvedRig, told: set[int]) -> Iterator[str]:
    """The stages that stay as they are: with a list they have to be set by it as well."""
    for number, part in enumerate(rig.parts):
        if number not in told and part.item.is_stage and part.direction not in (None, part.item.delivered):
            yield f"set: {{part: {scalar_text(part.name)}, to: {part.direction}}}"


def _new_list(rig: SolvedRig, entries: list[str]) -> Edit:
    """A list where there was none: what the change needs, then in a rig every prime mover started."""
    movers = (part.name for part in rig.parts if part.item.kind == "prime-mover")
    starts = [] if rig.rig.placed.alone else [f"start: {scalar_text(name)}" for name in movers]
    splice = added_list(rig.rig.tree, [*entries, *starts])
    return edit(rig.rig.tree, splice.start, splice.end, splice.text.replace("\r\n", "\n"))


def _says(rig: SolvedRig, kind: str, part: Turned) -> bool:
    return part.number is not None and any(s.kind == kind and s.part == part.number for s in rig.rig.steps)


def _is_fed_another(rig: SolvedRig, number: int, lubricant: str) -> bool:
    """Whether a part is on a circuit of another lubricant than it takes now."""
    return any(number in circuit.feeds and circuit.lubricant != lubricant for circuit in rig.rig.circuits)


def _oil(rig: SolvedRig, part: Turned, fills: list[str], feeds: dict[int, list[str]]) -> None:
    """A place on the circuit of the part it is like, where that carries its lubricant; else a fill."""
    need = part.item.lubricant
    if need is None or _says(rig, "fill", part):
        return
    circuits = enumerate(rig.rig.circuits)
    fed = next((n for n, c in circuits if part.like in c.feeds and c.lubricant == need.kind), None)
    if fed is None:
        fills.append(f"fill: {{part: {scalar_text(part.name)}, with: {litres_text(need.holds)}}}")
    elif part.number is None:
        feeds.setdefault(fed, []).append(part.name)


def _retold(rig: SolvedRig, part: Turned) -> Iterator[Edit | None]:
    """Steps that say something else of a part that changed: its direction, a fill that its new item does not hold."""
    filled = 0.0
    holds = part.item.lubricant.holds if part.item.lubricant is not None else 0.0
    for step in rig.rig.steps:
        if step.part != part.number or step.tree is not rig.rig.tree:
            continue
        if step.kind == "set" and part.direction is not None and step.to != part.direction:
            yield Edit(step.tree.source.shown, step.tree.span((*step.route, "set", "to")), part.direction)
        if step.kind == "fill":
            filled += step.amount
            if holds == 0:
                yield without_entry(step.tree, step.route)
            elif over(filled, holds):
                room = max(0.0, holds - (filled - step.amount))
                span = step.tree.span((*step.route, "fill", "with"))
                yield Edit(step.tree.source.shown, span, litres_text(room))


def fed(rig: SolvedRig, feeds: dict[int, list[str]], out: set[int]) -> Iterator[Edit | None]:
    """What circuits feed from now on: new names in the places of parts that take nothing any more, the rest behind."""
    tree = rig.rig.tree
    for number, circuit in enumerate(rig.rig.circuits):
        added = [scalar_text(name) for name in feeds.get(number, ())]
        names = [rig.parts[part].name for part in circuit.feeds if part in out]
        if not added and not names:
            continue
        route: Route = (*circuit.route, "feeds")
        written = listing(tree.at(route))
        free = [written.index(name) for name in names if name in written]
        both = min(len(added), len(free))
        for at, name in zip(free, added, strict=False):
            yield edit(tree, *tree.slice((*route, at)), name)
        if free[both:] and len(free) == len(written) and not both:
            # A circuit that feeds nothing goes, and with the last one the section.
            yield from drop_entries(tree, circuit.route[:-1], [circuit.name]) or _NOT_WRITTEN
        else:
            yield from _without(tree, route, free[both:])
        if added[both:]:
            yield from add_items(tree, route, added[both:]) or _NOT_WRITTEN


def dropped_steps(rig: SolvedRig, gone: set[int]) -> Iterator[Edit | None]:
    """The steps of parts that go, all that go from one list at once."""
    steps = [step.route[-1] for step in rig.rig.steps if step.part in gone]
    yield from _without(rig.rig.tree, ("commissioning",), steps)


def _without(tree: Tree, holder: Route, keys: list[str | int] | list[int]) -> Iterator[Edit | None]:
    """Entries out of a list; none among the edits where their text cannot be told apart, or none would be left."""
    if keys:
        yield from without_entries(tree, holder, keys) or _NOT_WRITTEN
