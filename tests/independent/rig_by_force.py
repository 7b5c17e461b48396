"""Little seeded rigs and every small edit of one, tried by force: no lineshaft inside.

A rig is a table of parts; an edit is a table of parts changed. What drives what is followed by hand: torque and speed
go down, a stage changes both, a splitter divides torque, a combiner adds it. What an edit costs is the whole bill,
batches rounded. Figures are our own.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import permutations
from random import Random
from typing import NamedTuple

EQUAL = 1 + 1e-9
MOST_WEIGHT = 12
"""Shares that a splitter with free ones is tried with: whole numbers up to so much together."""


class Item(NamedTuple):
    """An item: kind, limits by grade (or under ""), ratios with gears and iron, what else it is."""

    kind: str
    limits: Mapping[str, tuple[float, float]] = {"": (math.inf, math.inf)}
    ratios: Mapping[Fraction, tuple[int, int]] = {}
    goods: tuple[int, int] = (0, 0)
    ends: int = 1
    rows: tuple[tuple[int, ...], ...] | None = None
    efficiency: float = 1.0
    output: tuple[float, float] = (0.0, 0.0)
    needs: tuple[float, float] = (0.0, 0.0)


class Part(NamedTuple):
    """A part: name, item, drivers (part and outlet), and its settings."""

    name: str
    item: str
    above: tuple[tuple[str, str], ...] = ()
    grade: str = ""
    ratio: Fraction = Fraction(1)
    up: bool = True
    shares: tuple[tuple[str, int], ...] = ()


class LittleRig(NamedTuple):
    """A rig with its catalogue; three irons, worth 1 each, make a batch of so many gears."""

    items: Mapping[str, Item]
    parts: tuple[Part, ...]
    batch: int


class Edit(NamedTuple):
    """A rig edited: what changed, and where: the part whose line it is in, or the splitter whose shares it sets."""

    what: str
    where: str
    shares: bool
    rig: LittleRig


Fault = tuple[str, str]
Load = tuple[float, float]


def solved(rig: LittleRig) -> tuple[dict[str, tuple[Load, Load]], dict[str, float]]:
    """What enters and leaves each part (a splitter's: all of it); the combiners that lock, how many times apart.

    Parts stand in driving order. Nothing is known below a combiner that locks.
    """
    loads: dict[str, tuple[Load, Load]] = {}
    shares = {part.name: dict(part.shares) for part in rig.parts}
    locked: dict[str, float] = {}
    for part in rig.parts:
        item = rig.items[part.item]
        if not part.above:
            loads[part.name] = (item.output, item.output)
            continue
        if any(name not in loads for name, _ in part.above):
            continue
        enters = []
        for name, outlet in part.above:
            torque, speed = loads[name][1]
            if outlet:
                torque = torque * shares[name][outlet] / sum(shares[name].values())
            enters.append((torque, speed))
        speed = max(s for _, s in enters)
        if min(s for _, s in enters) < speed * (1 - 1e-6):
            locked[part.name] = speed / min(s for _, s in enters)
            continue
        torque = sum(t for t, _ in enters)
        factor = float(part.ratio if part.up else 1 / part.ratio)
        out = (torque * item.efficiency / factor, speed * factor)
        inward = max(t for t, _ in enters) if item.kind == "combiner" else torque
        loads[part.name] = ((inward, speed), out)
    return loads, locked


def faults(rig: LittleRig) -> dict[Fault, tuple[float, ...]]:
    """What is wrong, rule and part, and how bad: times a limit, or times short in torque and speed."""
    loads, locked = solved(rig)
    found: dict[Fault, tuple[float, ...]] = {("combiner-mismatch", name): (apart,) for name, apart in locked.items()}
    for part in rig.parts:
        if part.name not in loads:
            continue
        item = rig.items[part.item]
        enters, leaves = loads[part.name]
        torque, speed = item.limits[part.grade]
        out = leaves[0]
        if item.kind == "splitter":
            out = out * max(w for _, w in part.shares) / sum(w for _, w in part.shares)
        carried = max(enters[0], 0.0 if item.kind == "driven-machine" else out)
        if carried > torque * EQUAL:
            found["torque-over-limit", part.name] = (carried / torque,)
        if max(enters[1], leaves[1]) > speed * EQUAL:
            found["speed-over-limit", part.name] = (max(enters[1], leaves[1]) / speed,)
        if item.kind == "driven-machine":
            short = tuple(max(1.0, need / got) for need, got in zip(item.needs, enters, strict=True))
            if max(short) > EQUAL:
                found["machine-underdriven", part.name] = short
    return found


def mends(fault: Fault, before: Mapping[Fault, tuple[float, ...]], after: Mapping[Fault, tuple[float, ...]]) -> bool:
    """Whether a fault is gone, and none is new or worse."""
    return fault not in after and all(
        other in before and all(now <= was * EQUAL for now, was in zip(bad, before[other], strict=True))
        for other, bad in after.items()
    )


def holds_itself(edit: Edit, rig: LittleRig, after: Mapping[Fault, tuple[float, ...]]) -> bool:
    """Whether nothing that is put in, or made another, is over a limit."""
    own = {part._replace(above=(), shares=()) for part in rig.parts}
    other = {part.name for part in edit.rig.parts if part._replace(above=(), shares=()) not in own}
    return not any(rule.endswith("over-limit") and name in other for rule, name in after)


def worth(rig: LittleRig) -> int:
    """What the whole bill is worth."""
    gears = iron = 0
    for part in rig.parts:
        item = rig.items[part.item]
        some = item.ratios.get(part.ratio, item.goods) if item.kind == "gear-stage" else item.goods
        gears, iron = gears + some[0], iron + some[1]
    return iron + 3 * math.ceil(gears / rig.batch)


def edits(rig: LittleRig) -> Iterator[Edit]:
    """Every single edit: another item or grade, another ratio or direction, a stage more or less, other shares, two
    side by side of a shaft."""
    for at, part in enumerate(rig.parts):
        item = rig.items[part.item]
        if item.kind not in ("prime-mover", "driven-machine"):
            yield from _other_makes(rig, at)
        if item.kind == "gear-stage":
            yield _without(rig, at)
        if item.kind == "shaft":
            yield from _two_of(rig, at)
        if item.kind == "splitter":
            yield from _other_shares(rig, at)
        for inlet in range(len(part.above)):
            yield from _stages_above(rig, at, inlet)


def pairs(rig: LittleRig) -> Iterator[Edit]:
    """Every two edits in one line, or in a line and the shares of a splitter above it, or of two splitters in line."""
    line = lines(rig)
    above = splitters_above(rig)
    for first in edits(rig):
        for second in edits(first.rig):
            a, b = first.where, second.where
            if second.shares and not first.shares:
                continue  # shares come first
            near = a in above.get(b, {a}) if first.shares else line.get(a, a) == line.get(b, b)
            if near or b not in line:
                yield Edit(f"{first.what}; {second.what}", b, second.shares, second.rig)


def lines(rig: LittleRig) -> dict[str, str]:
    """The line that each part is in: named after its first part; a branching is in the line that leads to it."""
    named: dict[str, str] = {}
    kinds = {part.name: rig.items[part.item].kind for part in rig.parts}
    for part in rig.parts:
        above = part.above[0][0] if part.above else ""
        begins = len(part.above) != 1 or kinds[above] in ("splitter", "combiner", "prime-mover")
        named[part.name] = part.name if begins else named[above]
    return named


def splitters_above(rig: LittleRig) -> dict[str, set[str]]:
    """The splitters above each part."""
    found: dict[str, set[str]] = {}
    divides = {part.name for part in rig.parts if part.shares}
    for part in rig.parts:
        found[part.name] = set()
        for name, _ in part.above:
            found[part.name] |= found[name] | ({name} & divides)
    return found


def _put(rig: LittleRig, at: int, *parts: Part) -> LittleRig:
    return rig._replace(parts=(*rig.parts[:at], *parts, *rig.parts[at + 1 :]))


def _other_makes(rig: LittleRig, at: int) -> Iterator[Edit]:
    part = rig.parts[at]
    now = rig.items[part.item]
    for name, item in rig.items.items():
        if item.kind != now.kind or item.ends != now.ends:
            continue
        for grade in item.limits:
            if item.kind == "splitter" and not _offers(item, part.shares):
                continue
            for ratio in item.ratios or (Fraction(1),):
                for up in (True, False) if item.kind == "gear-stage" else (True,):
                    other = part._replace(item=name, grade=grade, ratio=ratio, up=up)
                    if other != part:
                        yield Edit(f"{part.name} {name} {grade} {ratio} {up}", part.name, False, _put(rig, at, other))


def _offers(item: Item, shares: Sequence[tuple[str, int]]) -> bool:
    weights = sorted(w / sum(v for _, v in shares) for _, w in shares)
    return item.rows is None or any(
        all(abs(a - b / sum(row)) < 1e-9 for a, b in zip(weights, sorted(row), strict=True)) for row in item.rows
    )


def _without(rig: LittleRig, at: int) -> Edit:
    part = rig.parts[at]
    parts = []
    for other in rig.parts:
        if other.name != part.name:
            above = tuple(part.above[0] if name == part.name else (name, out) for name, out in other.above)
            parts.append(other._replace(above=above))
    below = next((other.name for other in rig.parts if any(n == part.name for n, _ in other.above)), part.name)
    return Edit(f"without {part.name}", below, False, rig._replace(parts=tuple(parts)))


def _stages_above(rig: LittleRig, at: int, inlet: int) -> Iterator[Edit]:
    part = rig.parts[at]
    for name, item in rig.items.items():
        if item.kind != "gear-stage":
            continue
        fresh = f"new-{len(rig.parts)}"
        for grade in item.limits:
            for ratio in item.ratios:
                for up in (True, False):
                    stage = Part(fresh, name, (part.above[inlet],), grade, ratio, up)
                    above = tuple((fresh, "") if k == inlet else driver for k, driver in enumerate(part.above))
                    what = f"{name} {grade} {ratio} {'up' if up else 'down'} above {part.name}"
                    yield Edit(what, _line_of(rig, at, inlet), False, _put(rig, at, stage, part._replace(above=above)))


def _line_of(rig: LittleRig, at: int, inlet: int) -> str:
    """A combiner's inlet belongs to the line that leads to it."""
    part = rig.parts[at]
    if len(part.above) == 1:
        return part.name
    name, outlet = part.above[inlet]
    return part.name if outlet else name


def _two_of(rig: LittleRig, at: int) -> Iterator[Edit]:
    part = rig.parts[at]
    fork = next((n for n, i in rig.items.items() if i.kind == "splitter" and i.ends == 2 and _even(i)), None)
    joint = next((n for n, i in rig.items.items() if i.kind == "combiner" and i.ends == 2), None)
    if fork is None or joint is None:
        return
    leads_on = any(above == part.name for other in rig.parts for above, _ in other.above)
    for grade in rig.items[fork].limits:
        for other in rig.items[joint].limits:
            split = Part(f"{part.name}-split", fork, part.above, grade, shares=(("a", 1), ("b", 1)))
            one = part._replace(name=f"{part.name}-one", above=((split.name, "a"),))
            two = part._replace(name=f"{part.name}-two", above=((split.name, "b"),))
            # What hangs on the part hangs on the combiner by that name. An open end moves to it, and to another name.
            name = part.name if leads_on else f"{part.name}-gather"
            gather = Part(name, joint, ((one.name, ""), (two.name, "")), other)
            yield Edit(f"two of {part.name}", part.name, False, _put(rig, at, split, one, two, gather))


def _even(item: Item) -> bool:
    return item.rows is None or (1, 1) in item.rows


def _other_shares(rig: LittleRig, at: int) -> Iterator[Edit]:
    part = rig.parts[at]
    rows = rig.items[part.item].rows
    tried: Iterator[tuple[int, ...]] | set[tuple[int, ...]]
    if rows is None:
        tried = _weights(len(part.shares), MOST_WEIGHT)
    else:
        tried = {order for row in rows for order in permutations(row)}
    for row in tried:
        shares = tuple((name, weight) for (name, _), weight in zip(part.shares, row, strict=True))
        if shares != part.shares:
            yield Edit(f"{part.name} {row}", part.name, True, _put(rig, at, part._replace(shares=shares)))


def _weights(count: int, most: int) -> Iterator[tuple[int, ...]]:
    if count == 1:
        yield from ((n,) for n in range(1, most + 1))
        return
    for first in range(1, most - count + 2):
        yield from ((first, *rest) for rest in _weights(count - 1, most - first))


def catalogue_text(rig: LittleRig) -> str:
    """The catalogue as a file has it."""
    grades: dict[str, tuple[float, float]] = {}
    for item in rig.items.values():
        grades.update({name: limits for name, limits in item.limits.items() if name})
    rows = ["catalogue: 1", 'name: "Little"', 'edition: "1"', "grades:"]
    rows += [f"  {name}: {{torque-limit: {t!r} N*m, speed-limit: {s!r} rad/s}}" for name, (t, s) in grades.items()]
    rows.append("items:")
    for name, item in rig.items.items():
        said = [f"kind: {item.kind}"]
        if "" not in item.limits:
            said.append(f"grades: [{', '.join(item.limits)}]")
        elif item.kind == "driven-machine":
            torque, speed = item.limits[""]
            said.append(f"needs: {{torque: {item.needs[0]!r} N*m, speed: {item.needs[1]!r} rad/s}}")
            said.append(f"limits: {{torque: {torque!r} N*m, speed: {speed!r} rad/s}}")
        elif item.limits[""][0] < math.inf:
            torque, speed = item.limits[""]
            said.append(f"torque-limit: {torque!r} N*m, speed-limit: {speed!r} rad/s")
        if item.kind == "prime-mover":
            said.append(f"output: {{torque: {item.output[0]!r} N*m, speed: {item.output[1]!r} rad/s}}")
        if item.ratios:
            offered = ", ".join(f"{r}: {{{_made(goods)}}}" for r, goods in item.ratios.items())
            said.append(f"ratios: {{{offered}}}")
        elif item.goods != (0, 0):
            said.append(_made(item.goods))
        if item.kind == "splitter":
            rows_ = "any" if item.rows is None else str([list(row) for row in item.rows])
            said.append(f"outlets: {item.ends}, shares: {rows_}")
        if item.kind == "combiner":
            said.append(f"inlets: {item.ends}")
        if item.efficiency != 1:
            said.append(f"efficiency: {item.efficiency!r}")
        rows.append(f"  {name}: {{{', '.join(said)}}}")
    rows.append(f"components: {{gear: {{made-of: {{iron: 3}}, yields: {rig.batch}}}}}\nraw: {{iron: {{worth: 1}}}}\n")
    return "\n".join(rows)


def _made(goods: tuple[int, int]) -> str:
    some = {name: count for name, count in zip(("gear", "iron"), goods, strict=True) if count}
    return f"made-of: {{{', '.join(f'{name}: {count}' for name, count in some.items())}}}"


def rig_text(rig: LittleRig) -> str:
    """The rig as a file has it, with a start-up list that sets every stage before the start."""
    rows = ["rig: 1", 'name: "Little"', "catalogue: little.catalogue.yaml", 'edition: "1"', "parts:"]
    for part in rig.parts:
        item = rig.items[part.item]
        said = [f"item: {part.item}"]
        drivers = [f"{name}.{outlet}" if outlet else name for name, outlet in part.above]
        if drivers:
            said.append(f"driven-by: {drivers[0] if item.kind != 'combiner' else '[' + ', '.join(drivers) + ']'}")
        if part.grade:
            said.append(f"grade: {part.grade}")
        if item.kind == "gear-stage":
            said.append(f"ratio: {part.ratio}, set: {'increase' if part.up else 'reduce'}")
        if part.shares:
            said.append(f"shares: {{{', '.join(f'{name}: {weight}' for name, weight in part.shares)}}}")
        rows.append(f"  {part.name}: {{{', '.join(said)}}}")
    rows.append("commissioning:")
    stages = [part for part in rig.parts if rig.items[part.item].kind == "gear-stage"]
    rows += [f"  - set: {{part: {p.name}, to: {'increase' if p.up else 'reduce'}}}" for p in stages]
    rows += [f"  - start: {part.name}" for part in rig.parts if not part.above]
    return "\n".join([*rows, ""])


SHAPES = ("line", "open", "mismatch", "three", "two-in-line", "fork", "joint")


def little_rig(seed: int, shape: str | None = None) -> LittleRig:
    """A rig of a shape, of which some are held and most are not."""
    dice = Random(f"little rig {seed}")
    shape = shape or SHAPES[seed % len(SHAPES)]
    items = _items(dice)
    return LittleRig(items, tuple(_parts(dice, items, shape)), dice.choice((1, 5)))


def _items(dice: Random) -> dict[str, Item]:
    torque, speed = dice.choice((300.0, 450.0, 700.0, 900.0)), dice.choice((6.0, 9.0, 11.0))
    weak = (round(torque * dice.uniform(0.25, 0.9), 1), round(speed * dice.uniform(1.2, 7), 1))
    strong = (round(torque * dice.uniform(1.05, 5), 1), round(speed * dice.uniform(3, 19), 1))
    limits = {"pine": weak, "bronze": strong}
    open_ = (math.inf, math.inf)
    items = {
        "wheel": Item("prime-mover", {"": open_}, output=(torque, speed), goods=(0, 7)),
        "rod": Item("shaft", {"": weak}, goods=(0, dice.randint(1, 6))),
        "bar": Item("shaft", {"": strong}, goods=(dice.randint(0, 2), dice.randint(3, 9))),
        "fork": Item("splitter", limits, goods=(0, dice.randint(2, 9)), ends=2, rows=((1, 1), (2, 3))),
        "joint": Item("combiner", limits, goods=(0, dice.randint(2, 9)), ends=2),
    }
    if dice.random() < 0.6:
        items["yoke"] = Item("splitter", {"": strong}, goods=(1, dice.randint(2, 9)), ends=2)
        items["knot"] = Item("combiner", {"": strong}, goods=(1, dice.randint(2, 9)), ends=2)
    rows = dice.choice((None, ((1, 2, 3), (1, 1, 5))))
    items["trident"] = Item("splitter", {"": open_}, goods=(0, 5), ends=3, rows=rows)
    for number in range(dice.randint(1, 2)):
        ratios = dice.sample((Fraction(3, 2), Fraction(5, 2), Fraction(3), Fraction(7)), dice.randint(1, 2))
        made = {ratio: (dice.randint(0, 3), dice.randint(1, 9)) for ratio in sorted(ratios)}
        loss = dice.choice((1.0, 1.0, 0.97))
        items[f"step{number}"] = Item("gear-stage", limits if number else {"": strong}, made, efficiency=loss)
    for number in range(3):
        needs = (round(torque * dice.uniform(0.03, 0.7), 1), round(speed * dice.choice((0.4, 0.9, 1, 1.3, 2.4)), 2))
        most = (round(needs[0] * dice.uniform(1.2, 9), 1), round(needs[1] * dice.uniform(1.5, 20), 1))
        items[f"mill{number}"] = Item("driven-machine", {"": most}, goods=(0, 4), needs=needs)
    return items


def _parts(dice: Random, items: Mapping[str, Item], shape: str) -> Iterator[Part]:
    yield Part("w", "wheel")
    names = iter("abcdefghijk")
    stages = [name for name, item in items.items() if item.kind == "gear-stage"]

    def line(above: tuple[str, str], most: int) -> list[Part]:
        made = []
        for _ in range(dice.randint(0, most)):
            name = next(names)
            if dice.random() < 0.6:
                made.append(Part(name, dice.choice(("rod", "rod", "bar")), (above,)))
            else:
                item = dice.choice(stages)
                grade, ratio = dice.choice(list(items[item].limits)), dice.choice(list(items[item].ratios))
                made.append(Part(name, item, (above,), grade, ratio, dice.random() < 0.6))
            above = (name, "")
        return made

    def ended(above: tuple[str, str], made: list[Part], *last: Part) -> list[Part]:
        return [*made, *(part._replace(above=((made[-1].name, "") if made else above,)) for part in last)]

    def fork(name: str, above: tuple[str, str], item: str) -> Part:
        count, rows = items[item].ends, items[item].rows
        row = dice.sample(dice.choice(rows), count) if rows else [dice.randint(1, 7) for _ in range(count)]
        shares = tuple(zip(("x", "y", "z"), row, strict=False))
        return Part(name, item, (above,), dice.choice(list(items[item].limits)), shares=shares)

    twos = [name for name, item in items.items() if item.kind == "splitter" and item.ends == 2]
    joints = [name for name, item in items.items() if item.kind == "combiner"]
    if shape in ("line", "open"):
        made = line(("w", ""), 3) or [Part("a", "rod", (("w", ""),))]
        yield from made if shape == "open" else ended(("w", ""), made, Part("m", "mill0"))
        return
    if shape == "mismatch":
        yield Part("v", "wheel")
        sides = [line((name, ""), 2) for name in ("w", "v")]
        for side in sides:
            yield from side
        ends = tuple((side[-1].name if side else name, "") for side, name in zip(sides, ("w", "v"), strict=True))
        item = dice.choice(joints)
        yield Part("j", item, ends, dice.choice(list(items[item].limits)))
        yield from ended(("j", ""), line(("j", ""), 1), Part("m", "mill0"))
        return
    head = line(("w", ""), 1)
    yield from head
    top = (head[-1].name, "") if head else ("w", "")
    first = fork("s", top, "trident" if shape == "three" else dice.choice(twos))
    yield first
    if shape == "joint":
        item = dice.choice(joints)
        yield Part("one", "rod", (("s", "x"),))
        yield Part("two", "rod", (("s", "y"),))
        yield Part("j", item, (("one", ""), ("two", "")), dice.choice(list(items[item].limits)))
        yield from ended(("j", ""), line(("j", ""), 1), Part("m", "mill0"))
        return
    outs = [("s", name) for name, _ in first.shares]
    if shape == "two-in-line":
        second = fork("t", outs.pop(0), dice.choice(twos))
        yield second
        outs += [("t", name) for name, _ in second.shares]
    for number, out in enumerate(outs):
        yield from ended(out, line(out, 1), Part(f"m{number}", f"mill{number % 3}"))
