"""The items that every generated catalogue has, and the prime movers, whose output is reckoned here by hand.

An item is what the catalogue says; beside it stands what the maker needs to know of it.
"""

import math
from dataclasses import dataclass
from fractions import Fraction
from random import Random
from typing import Any

LUBRICANTS = ("flax-oil", "lamp-oil")
GRAVITY = 9.80665  # m/s^2, standard (3rd CGPM, 1901)


@dataclass(frozen=True, slots=True)
class StageItem:
    """A stage: ratios as written and exact, direction as delivered, lubricant with use [L/s] and hold [L]."""

    name: str
    kind: str
    ratios: tuple[tuple[str | int | float, Fraction], ...]
    delivered: str
    efficiency: float
    lubricant: str | None
    written: dict[str, Any]
    uses: float = 0.0
    holds: float = 0.0


def _ratios(*written: str | int | float) -> tuple[tuple[str | int | float, Fraction], ...]:
    return tuple((text, Fraction(str(text))) for text in written)


# No ratio under 1.5: machines' needs are reckoned so that not even that turns surplus torque into speed.
STAGES = (
    StageItem(
        "spur-stage",
        "gear-stage",
        _ratios("75/15", 3, "45/18", 1.5),
        "reduce",
        0.98,
        "flax-oil",
        {
            "kind": "gear-stage",
            "ratios": {"75/15": {}, 3: {}, "45/18": {}, 1.5: {}},
            "efficiency": 0.98,
            "lubricant": {"kind": "flax-oil", "holds": "6 L", "uses": "0.2 mL/s"},
        },
        0.0002,
        6.0,
    ),
    StageItem(
        "dry-stage",
        "gear-stage",
        _ratios("9/5", 3.5),
        "reduce",
        1.0,
        None,
        {"kind": "gear-stage", "ratios": ["9/5", 3.5], "delivered": "reduce"},
    ),
    StageItem(
        "helical-stage",
        "gear-stage",
        _ratios("96/60", "70/30", "97/31"),
        "increase",
        0.97,
        "lamp-oil",
        {
            "kind": "gear-stage",
            "ratios": ["96/60", "70/30", "97/31"],
            "delivered": "increase",
            "efficiency": "97 %",
            "lubricant": {"kind": "lamp-oil", "holds": "4500 mL", "uses": "0.36 L/h"},
        },
        0.0001,
        4.5,
    ),
    StageItem(
        "bevel-stage",
        "right-angle",
        _ratios("44/19", "57/19", 1.5),
        "reduce",
        0.96,
        None,
        {"kind": "right-angle", "ratios": ["44/19", "57/19", 1.5], "efficiency": 0.96},
    ),
)
STAGE_OF = {stage.name: stage for stage in STAGES}

PLAIN: dict[str, tuple[str, float, dict[str, Any]]] = {
    "long-shaft": ("shaft", 0.995, {"kind": "shaft", "efficiency": "99.5 %"}),
    "short-shaft": ("shaft", 1.0, {"kind": "shaft"}),
    "bevel-drive": ("right-angle", 0.97, {"kind": "right-angle", "efficiency": 0.97}),
    "dog-clutch": ("clutch", 1.0, {"kind": "clutch"}),
    "cone-clutch": ("clutch", 0.99, {"kind": "clutch", "efficiency": 0.99}),
}

# By number of outlets: item, shares offered (none: any), efficiency.
DIVIDERS: dict[int, tuple[tuple[str, tuple[tuple[float, ...], ...] | None, float], ...]] = {
    2: (("divider-two", ((1, 1), (2, 3), (1, 6)), 1.0), ("divider-any", None, 0.99)),
    3: (("divider-three", ((1, 1, 1), (2, 3, 5)), 1.0), ("divider-any", None, 0.99)),
    4: (("divider-any", None, 0.99),),
}
GATHERERS = {2: ("gatherer-two", 1.0), 3: ("gatherer-three", 0.98), 4: ("gatherer-four", 1.0)}


def written_items() -> dict[str, dict[str, Any]]:
    """The stock items that come in grades, as a catalogue writes them."""
    found = {stage.name: dict(stage.written) for stage in STAGES}
    found.update({name: dict(written) for name, (_, _, written) in PLAIN.items()})
    found["divider-two"] = {"kind": "splitter", "outlets": 2, "shares": [[1, 1], [2, 3], [1, 6]]}
    found["divider-three"] = {"kind": "splitter", "outlets": 3, "shares": [[1, 1, 1], [2, 3, 5]]}
    found["divider-any"] = {"kind": "splitter", "shares": "any", "efficiency": "99 %"}
    found["gatherer-two"] = {"kind": "combiner", "inlets": 2}
    found["gatherer-three"] = {"kind": "combiner", "inlets": 3, "efficiency": 0.98}
    found["gatherer-four"] = {"kind": "combiner", "inlets": 4}
    return found


@dataclass(frozen=True, slots=True)
class Mover:
    """A prime mover: its item, what the catalogue says, its settings in the rig, output torque and speed."""

    item: str
    written: dict[str, Any]
    settings: dict[str, Any]
    output: tuple[float, float]


def movers(rng: Random) -> tuple[Mover, ...]:
    """One of each way to state a prime mover; the output by hand: P = T·ω, straight lines, P = ρ·g·Q·H·η."""
    return (_by_torque(rng), _by_power(rng), _by_table(rng), _by_water(rng))


def _by_torque(rng: Random) -> Mover:
    torque, speed = rng.randint(5, 180) / 10, rng.randint(2, 12)
    output = {"torque": f"{torque} kN*m", "speed": f"{speed} rad/s"}
    return Mover("tide-wheel", {"kind": "prime-mover", "output": output}, {}, (torque * 1000, float(speed)))


def _by_power(rng: Random) -> Mover:
    power, turns = rng.randint(10, 90), rng.randint(60, 300)
    speed = turns * 2 * math.pi / 60
    output = {"power": f"{power} kW", "speed": f"{turns} rpm"}
    return Mover("hot-bulb", {"kind": "prime-mover", "output": output}, {}, (power * 1000 / speed, speed))


def _by_table(rng: Random) -> Mover:
    low, high, head = rng.randint(500, 900), rng.randint(1000, 4000), rng.randint(20, 60) / 10
    points = [["2 m", f"{low} N*m", "3 rad/s"], ["6 m", f"{high} N*m", "8 rad/s"]]
    part = (head - 2) / 4
    written = {"kind": "prime-mover", "table": {"by": "head", "points": points}}
    output = (low + part * (high - low), 3 + part * 5)
    return Mover("weir-wheel", written, {"head": f"{head} m"}, output)


def _by_water(rng: Random) -> Mover:
    flow, head = rng.randint(5, 30) / 10, rng.randint(30, 90) / 10
    water = {"flow": f"{flow} m^3/s", "efficiency": "80 %", "speed": "10 rad/s"}
    power = 1000 * GRAVITY * flow * head * 0.8
    written = {"kind": "prime-mover", "hydraulic": water}
    return Mover("flume-runner", written, {"head": f"{head} m"}, (power / 10, 10.0))
