"""A catalogue item for each machine of a plan: it needs a little less than arrives and may carry more."""

import math
from random import Random
from typing import Any

from rig_maker.plan import PlannedPart
from rig_maker.stock import LUBRICANTS

_TRADES = ("frame-saw", "fulling-mill", "millstone", "trip-hammer", "bilge-pump", "seed-press")


def _near(value: float, unit: str) -> str:
    return f"{value:.6g} {unit}"


def fit_machine(part: PlannedPart, number: int, rng: Random, items: dict[str, dict[str, Any]]) -> None:
    """Give a machine its own item, and a target that it meets."""
    trade = rng.choice(_TRADES)
    part.item = f"{trade}-{number}"
    torque, speed = part.torque_in, part.speed_in
    item: dict[str, Any] = {"kind": "driven-machine"}
    # More than two thirds of the torque: the smallest stage, 1.5 : 1, could not turn the rest into speed.
    needs = {"torque": _near(torque * rng.uniform(0.72, 0.97), "N*m")}
    if rng.random() < 0.5:
        needs["speed"] = _near(speed * rng.uniform(0.5, 0.97), "rad/s")
    if rng.random() < 0.5:
        needs["power"] = _near(torque * speed * rng.uniform(0.6, 0.97), "W")
    item["needs"] = needs
    if rng.random() < 0.7:
        part.torque_limit = float(f"{torque * rng.uniform(1.05, 3):.6g}")
        part.speed_limit = float(f"{speed * rng.uniform(1.05, 3):.6g}")
        limits = {"torque": f"{part.torque_limit!r} N*m", "speed": f"{part.speed_limit!r} rad/s"}
        item["limits"] = limits
    if trade == "seed-press" or rng.random() < 0.6:
        _give_work(part, item, rng, trade)
    items[part.item] = item


def _give_work(part: PlannedPart, item: dict[str, Any], rng: Random, trade: str) -> None:
    speed = part.speed_in
    slow, fast = float(f"{speed / rng.uniform(1.5, 4):.4g}"), float(f"{speed * rng.uniform(1.5, 4):.4g}")
    long, short = float(rng.randint(20, 60)), float(rng.randint(2, 19))
    between = rng.choice(("linear", "log-speed"))
    times = [[f"{slow!r} rad/s", f"{long} s"], [f"{fast!r} rad/s", f"{short} s"]]
    item["work"] = {"unit": "batch", "times": times, "between": between}
    way = (speed - slow) / (fast - slow) if between == "linear" else math.log(speed / slow) / math.log(fast / slow)
    if rng.random() < 0.8:
        part.settings["target"] = {"time": _near((long + way * (short - long)) * rng.uniform(1.02, 2), "s")}
    if trade == "seed-press":
        item["makes"] = {"lubricant": rng.choice(LUBRICANTS), "amount": "30 mL"}
