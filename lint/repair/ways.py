"""The ways to change one part: another grade or item, direction, ratio, share; a stage in front of it.

Each proposes moves that nobody has proved; a move names what it adds, so that a search can go from cheap to dear
without solving anything.
"""

from collections.abc import Iterator
from typing import NamedTuple

from lineshaft.judge.finding import Edit
from lineshaft.repair.part_edits import add_parts, add_steps, set_inlet, set_key, without_key
from lineshaft.schema.catalogue import Direction, Item, OfferedRatio
from lineshaft.schema.rig import Part
from lineshaft.solve.solved_rig import SolvedRig


class Move(NamedTuple):
    """One change of a rig: words for it, its edits, the parts it touches and how many it adds."""

    title: str
    edits: tuple[Edit, ...]
    parts: tuple[int, ...]
    added: tuple[tuple[Item, OfferedRatio | None], ...] = ()


def regrade(rig: SolvedRig, number: int) -> Iterator[Move]:
    """The part in another grade of its item, or as another item that takes its place with the same settings."""
    part = rig.parts[number]
    if part.item.chooses_grade:
        for name in part.item.grades:
            if part.grade is None or name != part.grade.name:
                yield Move(f"make {part.name} in {name}", (set_key(part, "grade", name),), (number,))
    for item in rig.catalogue.items.values():
        if item.name == part.item.name or not _takes_place_of(item, part):
            continue
        edits = [set_key(part, "item", item.name)]
        if part.item.chooses_grade and not item.chooses_grade:
            dropped = without_key(part, "grade")
            if dropped is None:
                continue
            edits.append(dropped)
        grades = item.grades if item.chooses_grade else ("",)
        for grade in grades:
            chosen = [*edits, set_key(part, "grade", grade)] if grade else edits
            steps = _first_steps(rig, number, item, part.direction or "reduce")
            of = f" in {grade}" if grade else ""
            yield Move(f"take {item.name}{of} for {part.name}", (*chosen, *steps), (number,))


def _takes_place_of(item: Item, part: Part) -> bool:
    old = part.item
    if item.kind != old.kind or item.kind in ("prime-mover", "driven-machine"):
        return False
    if part.ratio is not None:
        return any(offer.ratio.value == part.ratio.value for offer in item.ratios)
    if item.is_stage:
        return False
    return item.outlets == old.outlets and item.inlets == old.inlets


def reverse(rig: SolvedRig, number: int) -> Iterator[Move]:
    """The stage set the other way round, in the part and in the list's steps."""
    part = rig.parts[number]
    if part.direction is None:
        return
    other: Direction = "reduce" if part.direction == "increase" else "increase"
    edits = [set_key(part, "set", other), *_retell_steps(rig, number, other)]
    yield Move(f"set {part.name} to {other}", tuple(edits), (number,))


def _retell_steps(rig: SolvedRig, number: int, to: Direction) -> Iterator[Edit]:
    told = False
    for step in rig.rig.steps:
        if step.part == number and step.kind == "set":
            told = True
            route = (*step.route, "set", "to")
            yield Edit(step.tree.source.shown, step.tree.span(route), to)
    if not told and rig.parts[number].item.delivered != to:
        added = add_steps(rig.rig.tree, 0, (f"set: {{part: {rig.parts[number].name}, to: {to}}}",))
        if added is not None:
            yield added


def _first_steps(rig: SolvedRig, number: int, item: Item, direction: Direction) -> tuple[Edit, ...]:
    """Steps that an item in a part's place needs and the list does not have: its direction, its lubricant."""
    name = rig.parts[number].name
    said = {(step.kind, step.part) for step in rig.rig.steps}
    entries = []
    need = item.lubricant
    fed = any(number in circuit.feeds for circuit in rig.rig.circuits)
    if need is not None and not fed and ("fill", number) not in said:
        entries.append(f"fill: {{part: {name}, with: {need.holds:g} L}}")
    if item.is_stage and item.delivered != direction and ("set", number) not in said:
        entries.append(f"set: {{part: {name}, to: {direction}}}")
    added = add_steps(rig.rig.tree, 0, entries) if entries else None
    return () if added is None else (added,)


def regear(rig: SolvedRig, number: int) -> Iterator[Move]:
    """The stage in another ratio, of its own item or of another that takes its place."""
    part = rig.parts[number]
    if part.ratio is None:
        return
    for item in rig.catalogue.items.values():
        own = item.name == part.item.name
        if item.kind != part.item.kind or (item.chooses_grade and not own):
            continue
        for offer in item.ratios:
            if offer.ratio.value == part.ratio.value:
                continue
            edits = [set_key(part, "ratio", offer.ratio.text)]
            if not own:
                edits += [set_key(part, "item", item.name), *_ungraded(part)]
                edits += _first_steps(rig, number, item, part.direction or "reduce")
            title = f"gear {part.name} {offer.ratio.text} : 1" + ("" if own else f", as {item.name}")
            yield Move(title, tuple(edits), (number,))


def _ungraded(part: Part) -> tuple[Edit, ...]:
    dropped = without_key(part, "grade")
    return () if dropped is None else (dropped,)


def reshare(rig: SolvedRig, number: int) -> Iterator[Move]:
    """Other shares at a splitter that its item offers, in every order of its outlets."""
    part = rig.parts[number]
    for offered in part.item.shares or ():
        for row in sorted(set(_orders(offered))):
            if len(row) != len(part.outlets) or row == part.shares:
                continue
            words = ", ".join(f"{name}: {weight:g}" for name, weight in zip(part.outlets, row, strict=True))
            yield Move(f"share {part.name} {{{words}}}", (set_key(part, "shares", f"{{{words}}}"),), (number,))


def _orders(row: tuple[float, ...]) -> Iterator[tuple[float, ...]]:
    from itertools import islice, permutations

    return islice(permutations(row), 720)


def insert_stage(rig: SolvedRig, number: int, inlet: int = 0) -> Iterator[Move]:
    """A stage between a part and what drives one of its inlets, in every item, ratio and direction of the catalogue."""
    part = rig.parts[number]
    if inlet >= len(part.inlets):
        return
    source, outlet = part.inlets[inlet]
    above = rig.parts[source]
    driver = f"{above.name}.{above.outlets[outlet]}" if above.outlets else above.name
    name = _free_name(rig, f"{part.name}-stage")
    directions: tuple[Direction, ...] = ("reduce", "increase")
    for item in rig.catalogue.items.values():
        if not item.is_stage:
            continue
        for offer in item.ratios:
            for direction in directions:
                yield _stage(rig, number, (item, offer, direction), (name, driver), inlet)


def _stage(
    rig: SolvedRig, number: int, kind: tuple[Item, OfferedRatio, Direction], names: tuple[str, str], inlet: int
) -> Move:
    item, offer, direction = kind
    name, driver = names
    part = rig.parts[number]
    keys = {"item": item.name, "ratio": offer.ratio.text, "set": direction}
    if item.chooses_grade:
        keys["grade"] = item.grades[-1]
    keys["driven-by"] = driver
    edits = [add_parts(part, [(name, keys)]), set_inlet(part, inlet, name)]
    entries = []
    if item.lubricant is not None:
        entries.append(f"fill: {{part: {name}, with: {item.lubricant.holds:g} L}}")
    if item.delivered != direction:
        entries.append(f"set: {{part: {name}, to: {direction}}}")
    steps = add_steps(rig.rig.tree, 0, entries) if entries else None
    if steps is not None:
        edits.append(steps)
    verb = "reducing" if direction == "reduce" else "increasing"
    title = f"put {item.name} {offer.ratio.text} : 1, {verb}, before {part.name}"
    return Move(title, tuple(edits), (number,), ((item, offer),))


def _free_name(rig: SolvedRig, wanted: str) -> str:
    stem = wanted[:60]
    if stem not in rig.rig.index:
        return stem
    return next(f"{stem}-{n}" for n in range(2, 10_000) if f"{stem}-{n}" not in rig.rig.index)
