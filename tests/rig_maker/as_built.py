"""What stands instead of what a generated rig says: one or more deviations put in, and readings taken of the result.

Deviations change the plan, and the plan is solved by somebody else (``solve`` is handed in). No lineshaft inside.
"""

from collections.abc import Callable, Mapping, Sequence
from copy import copy
from fractions import Fraction
from random import Random
from typing import Any, NamedTuple, Protocol

import yaml

from rig_maker.plan import GeneratedRig, PlannedPart
from rig_maker.stock import DIVIDERS, GRAVITY, STAGE_OF

TOLERANCE = 0.02
NOISE = 0.01
"""Each number read is off by up to so much, evenly spread; well within the tolerance, which stays at its default."""
_VISIBLE = 0.05  # a deviation changes some number by at least so much, the others left as they are


class Ports(Protocol):
    """What the solver says of a part: torque and speed by inlet and by outlet."""

    @property
    def torque_in(self) -> tuple[float, ...]: ...
    @property
    def speed_in(self) -> tuple[float, ...]: ...
    @property
    def torque_out(self) -> tuple[float, ...]: ...
    @property
    def speed_out(self) -> tuple[float, ...]: ...


Place = tuple[str, str | None]
"""A part and, at a splitter, the outlet."""
Pairs = list[tuple[float, float]]
"""Torque and speed at each place."""
Solve = Callable[[Sequence[PlannedPart]], Mapping[str, Ports]]


class Seeded(NamedTuple):
    """One deviation: kind and part as an audit names them, and what stands: a ratio, shares of 1, or a number."""

    kind: str
    part: str
    ratio: Fraction | None = None
    shares: tuple[float, ...] = ()
    value: float = 1.0


class AsBuilt(NamedTuple):
    """A rig's text with readings, its catalogue, the deviations that the readings come from, and the readings."""

    text: str
    catalogue: str
    catalogue_text: str
    seeded: frozenset[Seeded]
    where: tuple[Place, ...]
    read: tuple[tuple[float, float], ...]


KINDS = (
    "other-way",
    "other-ratio",
    "other-shares",
    "clutch-open",
    "not-coupled",
    "weaker",
    "torque-lost",
)


def stand(
    generated: GeneratedRig, count: int, places: int, seed: int, solve: Solve, noise: float = NOISE
) -> AsBuilt | None:
    """The rig with so many deviations, each of which some reading shows, and readings at so many places.

    None where a hundred throws give no such build.
    """
    rng = Random(f"{seed}/standing")

    def off() -> float:
        return rng.uniform(-noise, noise)

    items = yaml.safe_load(generated.catalogue_text)["items"]
    where = places_of(generated.plan, rng, places)
    clean = _values(where, generated.plan, solve)
    for _ in range(100):
        seeded = [_throw(generated.plan, items, rng) for _ in range(count)]
        chosen = [one for one in seeded if one is not None]
        if len({one.part for one in chosen}) < count:
            continue
        values = built(where, generated.plan, items, chosen, solve)
        if values is None or clean is None or not _all_show(where, generated.plan, items, chosen, values, solve):
            continue
        read = tuple((torque * (1 + off()), speed * (1 + off())) for torque, speed in values)
        text = generated.text + written(where, read)
        return AsBuilt(text, generated.catalogue, generated.catalogue_text, frozenset(chosen), tuple(where), read)
    return None


def places_of(plan: Sequence[PlannedPart], rng: Random, count: int) -> list[Place]:
    """So many parts, each once, with an outlet at a splitter."""
    parts = rng.sample(list(plan), min(count, len(plan)))
    return [(part.name, rng.choice(part.shares)[0] if part.shares else None) for part in parts]


def written(where: Sequence[Place], read: Sequence[tuple[float, float]]) -> str:
    """The readings as a rig file has them."""
    lines = ["readings:"]
    for (name, outlet), (torque, speed) in zip(where, read, strict=True):
        at = name if outlet is None else f"{name}.{outlet}"
        lines.append(f"  - {{at: {at}, torque: {torque!r} N*m, speed: {speed!r} rad/s}}")
    return "\n".join(lines) + "\n"


def _all_show(
    where: list[Place],
    plan: Sequence[PlannedPart],
    items: Mapping[str, Any],
    seeded: list[Seeded],
    values: Pairs,
    solve: Solve,
) -> bool:
    """Whether leaving any one deviation out, or all, changes a number that is read by enough to be seen."""
    for left_out in (*([one] for one in seeded), seeded):
        others = built(where, plan, items, [one for one in seeded if one not in left_out], solve)
        if others is None:
            continue  # so the rig would lock: it is seen
        changes = (
            abs(a - b) / max(a, b)
            for pair, other in zip(values, others, strict=True)
            for a, b in zip(pair, other, strict=True)
            if max(a, b) > 0
        )
        if max(changes, default=0.0) < _VISIBLE:
            return False
    return True


def _throw(plan: Sequence[PlannedPart], items: Mapping[str, Any], rng: Random) -> Seeded | None:
    kind = rng.choice(KINDS)
    fits: dict[str, Callable[[PlannedPart], bool]] = {
        "other-way": lambda p: p.ratio is not None,
        "other-ratio": lambda p: p.ratio is not None,
        "other-shares": lambda p: bool(p.shares),
        "clutch-open": lambda p: p.kind == "clutch",
        "not-coupled": lambda p: bool(p.driven_by) and p.kind != "clutch",
        "weaker": lambda p: p.output is not None,
        "torque-lost": lambda p: p.kind in ("gear-stage", "right-angle"),
    }
    possible = [part for part in plan if fits[kind](part)]
    if not possible:
        return None
    part = rng.choice(possible)
    if kind == "other-ratio":
        others = [ratio for _, ratio in STAGE_OF[part.item].ratios if ratio != part.ratio]
        return Seeded(kind, part.name, ratio=rng.choice(others))
    if kind == "other-shares":
        return _other_shares(part, rng)
    if kind == "torque-lost":
        return Seeded(kind, part.name, value=rng.uniform(0.5, 0.9))
    if kind == "weaker":
        return _weaker(part, items, rng)
    return Seeded(kind, part.name)


def _other_shares(part: PlannedPart, rng: Random) -> Seeded | None:
    offered = next(shares for item, shares, _ in DIVIDERS[len(part.shares)] if item == part.item)
    if offered is None:
        weights = [float(rng.randint(1, 40)) / 4 for _ in part.shares]
        kind = "estimated-shares"
    else:
        weights = [float(weight) for weight in rng.choice(offered)]
        rng.shuffle(weights)
        kind = "other-shares"
    shares = tuple(weight / sum(weights) for weight in weights)
    total = sum(weight for _, weight in part.shares)
    same = all(abs(a - b / total) < 1e-9 for a, (_, b) in zip(shares, part.shares, strict=True))
    return None if same else Seeded(kind, part.name, shares=shares)


def _weaker(part: PlannedPart, items: Mapping[str, Any], rng: Random) -> Seeded | None:
    if "head" not in part.settings:
        return Seeded("lower-torque", part.name, value=rng.uniform(0.5, 0.9))
    head = float(part.settings["head"].split()[0]) * rng.uniform(0.5, 0.9)
    if "table" in items[part.item] and head < 2:
        return None
    return Seeded("lower-head", part.name, value=head)


def built(
    where: Sequence[Place],
    plan: Sequence[PlannedPart],
    items: Mapping[str, Any],
    seeded: Sequence[Seeded],
    solve: Solve,
) -> Pairs | None:
    """Torque and speed at each place of the rig with these deviations; none where a combiner would lock."""
    return _values(where, changed(plan, items, seeded), solve)


def changed(
    plan: Sequence[PlannedPart], items: Mapping[str, Any], seeded: Sequence[Seeded]
) -> list[PlannedPart]:
    """The plan of the rig with these deviations."""
    parts = {part.name: copy(part) for part in plan}
    for one in seeded:
        _change(parts[one.part], one, items)
    return _without_what_rests(list(parts.values()))


def _change(part: PlannedPart, one: Seeded, items: Mapping[str, Any]) -> None:
    match one.kind:
        case "other-way":
            part.direction = "increase" if part.direction == "reduce" else "reduce"
        case "other-ratio":
            part.ratio = one.ratio
        case "other-shares" | "estimated-shares":
            names = [name for name, _ in part.shares]
            part.shares = tuple(zip(names, one.shares, strict=True))
        case "clutch-open" | "not-coupled" | "stopped":
            part.driven_by, part.output = (), (0.0, 0.0)
        case "torque-lost":
            part.efficiency *= one.value
        case "lower-torque":
            assert part.output is not None
            part.output = (part.output[0] * one.value, part.output[1])
        case "lower-speed":
            assert part.output is not None
            part.output = (part.output[0], part.output[1] * one.value)
        case "lower-head":
            part.output = _output(items[part.item], one.value)


def _output(item: Mapping[str, Any], head: float) -> tuple[float, float]:
    """By hand: a straight line between the table's two points, or P = ρ·g·Q·H·η with what the stock's turbine has."""
    if "table" in item:
        (h0, t0, w0), (h1, t1, w1) = ([float(cell.split()[0]) for cell in row] for row in item["table"]["points"])
        part = (head - h0) / (h1 - h0)
        return t0 + part * (t1 - t0), w0 + part * (w1 - w0)
    flow = float(item["hydraulic"]["flow"].split()[0])
    return 1000 * GRAVITY * flow * head * 0.8 / 10, 10.0


def _without_what_rests(plan: list[PlannedPart]) -> list[PlannedPart]:
    """The plan in which what nothing drives gives nothing, and a combiner has its running inlets alone."""
    resting: set[str] = set()
    for part in plan:
        if part.output == (0.0, 0.0):
            resting.add(part.name)
        elif part.driven_by:
            running = tuple(inlet for inlet in part.driven_by if inlet[0] not in resting)
            if running != part.driven_by:
                part.driven_by = running
                if not running:
                    part.output = (0.0, 0.0)
                    resting.add(part.name)
    return plan


def _values(where: Sequence[Place], plan: Sequence[PlannedPart], solve: Solve) -> Pairs | None:
    """Torque and speed at each place; none where a combiner's inlets turn at different speeds."""
    ports = solve(plan)
    by_name = {part.name: part for part in plan}
    for part in plan:
        speeds = ports[part.name].speed_in
        if speeds and max(speeds) > min(speeds) * (1 + 1e-9):
            return None
    found = []
    for name, outlet in where:
        part, port = by_name[name], ports[name]
        if part.kind == "driven-machine":
            found.append((port.torque_in[0], port.speed_in[0]) if port.torque_in else (0.0, 0.0))
        else:
            number = [way for way, _ in part.shares].index(outlet) if outlet is not None else 0
            found.append((port.torque_out[number], port.speed_out[number]))
    return found
