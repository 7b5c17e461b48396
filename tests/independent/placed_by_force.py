"""Little rigs of which a part, and all that hangs below it, stands in a blueprint: no lineshaft inside.

The flat rig is what is solved and edited by force; here is what of it stands in the blueprint, what that promises to
stand, how both are written, and which edits are the rig's own: those that leave the blueprint as it is.
"""

import math
from collections.abc import Iterator
from random import Random
from typing import NamedTuple

from independent.rig_by_force import EQUAL, Edit, Fault, LittleRig, faults, little_rig, rig_text, solved

LEG = "leg"


class PlacedRig(NamedTuple):
    """A flat rig, the first of the parts that stand in the blueprint, all of them, and what it promises to stand."""

    rig: LittleRig
    root: str
    inside: frozenset[str]
    promise: tuple[float, float]


def placed_rig(seed: int) -> PlacedRig | None:
    """A little rig with a blueprint in it; none where no part of it has all that it needs below it."""
    rig = little_rig(seed)
    dice = Random(f"placed rig {seed}")
    roots = [(part.name, below(rig, part.name)) for part in rig.parts if len(part.above) == 1]
    closed = [(root, inside) for root, inside in roots if _is_closed(rig, inside) and _ends_in_machines(rig, inside)]
    if not closed:
        return None
    root, inside = dice.choice(closed)
    loads, _ = solved(rig)
    if root not in loads:
        return None
    torque, speed = loads[root][0]
    factors = dice.uniform(0.7, 6), dice.uniform(0.7, 9)
    return PlacedRig(rig, root, inside, (round(torque * factors[0], 1), round(speed * factors[1], 1)))


def below(rig: LittleRig, name: str) -> frozenset[str]:
    """A part and all that hangs below it; parts stand in driving order."""
    found = {name}
    for part in rig.parts:
        if any(driver in found for driver, _ in part.above):
            found.add(part.name)
    return frozenset(found)


def _is_closed(rig: LittleRig, inside: frozenset[str]) -> bool:
    drivers = [driver for part in rig.parts if part.name in inside for driver, _ in part.above]
    return sum(driver not in inside for driver in drivers) == 1


def _ends_in_machines(rig: LittleRig, inside: frozenset[str]) -> bool:
    """Whether nothing inside ends open: what a blueprint hands on is told otherwise."""
    drivers = {driver for part in rig.parts for driver in part.above}
    ends = [
        (part.name, outlet)
        for part in rig.parts
        if part.name in inside and rig.items[part.item].kind != "driven-machine"
        for outlet in ([name for name, _ in part.shares] or [""])
    ]
    return all(end in drivers for end in ends)


def placed_faults(placed: PlacedRig) -> dict[Fault, tuple[float, ...]]:
    """What is wrong with the flat rig, and how many times its promise the blueprint is fed."""
    found = faults(placed.rig)
    loads, _ = solved(placed.rig)
    if placed.root in loads:
        times = [has / most for has, most in zip(loads[placed.root][0], placed.promise, strict=True)]
        if max(times) > EQUAL:
            found["inlet-promise-broken", LEG] = tuple(max(1.0, each) for each in times)
    return found


def own_edits(placed: PlacedRig, made: Iterator[Edit]) -> Iterator[tuple[Edit, PlacedRig]]:
    """Of edits of the flat rig those that change nothing inside but what feeds it."""
    was = {part.name: part for part in placed.rig.parts if part.name in placed.inside}
    for edit in made:
        now = {part.name: part for part in edit.rig.parts if part.name in placed.inside}
        same = now.keys() == was.keys() and all(
            part == was[name]._replace(above=part.above if name == placed.root else was[name].above)
            for name, part in now.items()
        )
        if same:
            yield edit, placed._replace(rig=edit.rig)


def texts(placed: PlacedRig) -> tuple[str, str]:
    """The rig's file and the blueprint's."""
    rig, inside = placed.rig, placed.inside
    rows = rig_text(rig).splitlines()
    first = rows.index("parts:") + 1
    lines = dict(zip((part.name for part in rig.parts), rows[first:], strict=False))
    feed = next(part for part in rig.parts if part.name == placed.root).above[0]
    driver = f"{feed[0]}.{feed[1]}" if feed[1] else feed[0]
    leg = f"  {LEG}: {{blueprint: {LEG}.blueprint.yaml, driven-by: {driver}}}"
    own = [line for name, line in lines.items() if name not in inside]
    steps = rows[first + len(rig.parts) :]
    for name in inside:
        steps = [step.replace(f"{{part: {name},", f"{{part: {LEG}/{name},") for step in steps]
    torque, speed = placed.promise
    head = ["blueprint: 1", "catalogue: little.catalogue.yaml", 'edition: "1"', "inlets:"]
    head.append(f"  in: {{torque-up-to: {torque!r} N*m, speed-up-to: {speed!r} rad/s}}")
    fed = [
        line.replace(f"driven-by: {driver}", "driven-by: in") if name == placed.root else line
        for name, line in lines.items()
        if name in inside
    ]
    return "\n".join([*rows[:first], *own, leg, *steps, ""]), "\n".join([*head, "parts:", *fed, ""])


def whole_name(placed: PlacedRig, name: str) -> str:
    """A part's name in the rig that places it."""
    return f"{LEG}/{name}" if name in placed.inside else name


def line_of_feed(placed: PlacedRig) -> frozenset[str]:
    """The parts between the last branching above the blueprint and the first in it, that one with them."""
    parts = {part.name: part for part in placed.rig.parts}
    found = {placed.root}
    above = parts[placed.root].above[0][0]
    while placed.rig.items[parts[above].item].kind not in ("splitter", "combiner", "prime-mover"):
        found.add(above)
        above = parts[above].above[0][0]
    return frozenset(found)


def changes_only(line: frozenset[str], was: LittleRig, now: LittleRig) -> bool:
    """Whether what is another part, or gone, is in a line; new parts are where something is driven by them."""
    before = {part.name: part for part in was.parts}
    after = {part.name: part for part in now.parts}
    changed = {name for name, part in before.items() if after.get(name, part)._replace(above=part.above) != part}
    driven = {part.name for part in now.parts if any(name not in before for name, _ in part.above)}
    inside = line | {name for name in driven if set(_drivers(was, name)) & line or name in line}
    return changed <= line and (before.keys() - after.keys()) <= line and driven & before.keys() <= inside


def _drivers(rig: LittleRig, name: str) -> Iterator[str]:
    return (driver for part in rig.parts if part.name == name for driver, _ in part.above)


def cheapest(worths: list[float]) -> float:
    """The least, endless where there is none."""
    return min(worths, default=math.inf)
