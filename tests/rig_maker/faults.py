"""One fault put into a clean rig, and what a check has to say of it: one rule at one part, no other error."""

from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass
from random import Random
from typing import Any, NamedTuple

from rig_maker.flows import carried_with
from rig_maker.maker import GREEDY
from rig_maker.plan import GeneratedRig, PlannedPart
from rig_maker.render import render
from rig_maker.stock import STAGE_OF


class Broken(NamedTuple):
    """The faulty text, the rule that must fire, and the part it must name."""

    text: str
    rule: str
    part: str


@dataclass(frozen=True, slots=True)
class _Bench:
    """A clean rig, its data to be broken, and the dice."""

    rig: GeneratedRig
    data: dict[str, Any]
    rng: Random

    def part(self, fits: Callable[[PlannedPart], bool]) -> PlannedPart | None:
        """One of the parts that a fault can be put into; none where there is no such part."""
        found = [part for part in self.rig.plan if fits(part)]
        return self.rng.choice(found) if found else None

    def presses(self) -> set[str]:
        """The machines that supply a circuit."""
        circuits = self.data.get("lubrication", {}).values()
        return {circuit["supplied-by"] for circuit in circuits if "supplied-by" in circuit}

    def drop(self, kind: str, part: str) -> None:
        """Leave out a part's commissioning step."""
        steps = self.data["commissioning"]
        self.data["commissioning"] = [
            s for s in steps if not (isinstance(s.get(kind), dict) and s[kind]["part"] == part)
        ]

    def has(self, kind: str, part: str) -> bool:
        """Whether a part has such a step."""
        return any(
            isinstance(s.get(kind), dict) and s[kind]["part"] == part for s in self.data["commissioning"]
        )


_Found = tuple[str, str] | None


def _over_torque(bench: _Bench) -> _Found:
    part = bench.part(lambda p: p.weak_torque is not None)
    if part is None or part.weak_torque is None:
        return None
    bench.data["parts"][part.name]["grade"] = part.weak_torque[0]
    return "torque-over-limit", part.name


def _over_speed(bench: _Bench) -> _Found:
    part = bench.part(lambda p: p.weak_speed is not None)
    if part is None or part.weak_speed is None:
        return None
    bench.data["parts"][part.name]["grade"] = part.weak_speed[0]
    return "speed-over-limit", part.name


def _wrong_direction(bench: _Bench) -> _Found:
    """A stage left as delivered where that breaks something; in no branch, which would lock a combiner."""

    def breaks(part: PlannedPart) -> bool:
        if not bench.has("set", part.name) or part.in_branch or part.movers > 1:
            return False
        carried = carried_with(bench.rig.plan, part.name)
        return any(
            (p.torque_limit and carried[p.name][0] > p.torque_limit * 1.01)
            or (p.speed_limit and carried[p.name][1] > p.speed_limit * 1.01)
            for p in bench.rig.plan
        )

    part = bench.part(breaks)
    if part is None:
        return None
    bench.drop("set", part.name)
    return "direction-before-commissioning", part.name


def _missing_lubricant(bench: _Bench) -> _Found:
    part = bench.part(lambda p: bench.has("fill", p.name))
    if part is None:
        return None
    bench.drop("fill", part.name)
    return "lubricant-missing", part.name


def _short_machine(bench: _Bench) -> _Found:
    presses = bench.presses()
    part = bench.part(lambda p: p.kind == "driven-machine" and p.name not in presses)
    if part is None:
        return None
    bench.data["parts"][part.name]["item"] = GREEDY
    bench.data["parts"][part.name].pop("target", None)
    return "machine-underdriven", part.name


def _unknown_item(bench: _Bench) -> _Found:
    presses = bench.presses()
    plain = ("shaft", "clutch", "driven-machine", "combiner")
    part = bench.part(lambda p: p.kind in plain and p.name not in presses)
    if part is None:
        return None
    bench.data["parts"][part.name]["item"] += "s"
    return "unknown-reference", part.name


def _unknown_driver(bench: _Bench) -> _Found:
    part = bench.part(lambda p: len(p.driven_by) == 1)
    if part is None:
        return None
    bench.data["parts"][part.name]["driven-by"] = "nobody-here"
    return "unknown-reference", part.name


def _bad_quantity(bench: _Bench) -> _Found:
    def has_quantity(part: PlannedPart) -> bool:
        return part.ratio is not None or bool(part.shares or {"target", "head"} & set(part.settings))

    part = bench.part(has_quantity)
    if part is None:
        return None
    written = bench.data["parts"][part.name]
    if part.ratio is not None:
        written["ratio"] = bench.rng.choice((0.4, "12/48", "4 s"))
    elif part.shares:
        written["shares"]["way0"] = bench.rng.choice((0, -1, "1 kg"))
    elif "head" in part.settings:
        written["head"] = bench.rng.choice(("4", "4 kg", "-4 m", "4,5 m"))
    else:
        written["target"]["time"] = bench.rng.choice((30, "30 m", "-30 s", ".nan"))
    return "bad-quantity", part.name


def _not_offered(bench: _Bench) -> _Found:
    part = bench.part(lambda p: p.ratio is not None or p.item == "divider-three")
    if part is None:
        return None
    if part.ratio is not None:
        bench.data["parts"][part.name]["ratio"] = "113/31"
    else:
        bench.data["parts"][part.name]["shares"] = {"way0": 1, "way1": 1, "way2": 9}
    return "not-offered", part.name


def _mismatch(bench: _Bench) -> _Found:
    """Another ratio of the same item in one branch, near enough that the branch itself still holds."""
    plan = bench.rig.plan
    choices = []
    for part in plan:
        if not part.in_branch or part.ratio is None:
            continue
        for text, ratio in STAGE_OF[part.item].ratios:
            change = ratio / part.ratio
            if change != 1 and 1 / 3 < change < 3:
                choices.append((part, text))
    if not choices:
        return None
    part, text = bench.rng.choice(choices)
    bench.data["parts"][part.name]["ratio"] = text
    return "combiner-mismatch", _gatherer_below(plan, part.name)


def _gatherer_below(plan: tuple[PlannedPart, ...], name: str) -> str:
    while True:
        below = next(part for part in plan if any(source == name for source, _ in part.driven_by))
        if below.kind == "combiner":
            return below.name
        name = below.name


def _shared_outlet(bench: _Bench) -> _Found:
    """A machine moved onto a shaft that drives something already."""
    machine = bench.part(lambda p: p.kind == "driven-machine")
    if machine is None:
        return None
    above = machine.driven_by[0][0]
    shaft = bench.part(lambda p: p.kind in ("shaft", "clutch") and p.name != above)
    if shaft is None:
        return None
    # Last in the file, so that the machine is the second and the outlet's own user stays solved.
    moved = bench.data["parts"].pop(machine.name)
    bench.data["parts"][machine.name] = {**moved, "driven-by": shaft.name}
    return "shared-outlet", machine.name


def _loose_end(bench: _Bench) -> _Found:
    """A machine taken out; the part that drove it is left with an open end."""
    presses = bench.presses()
    part = bench.part(lambda p: p.kind == "driven-machine" and p.name not in presses)
    if part is None:
        return None
    del bench.data["parts"][part.name]
    return "loose-end", part.driven_by[0][0]


FAULTS: dict[str, Callable[[_Bench], _Found]] = {
    "over-torque": _over_torque,
    "over-speed": _over_speed,
    "wrong-direction": _wrong_direction,
    "missing-lubricant": _missing_lubricant,
    "short-machine": _short_machine,
    "unknown-item": _unknown_item,
    "unknown-driver": _unknown_driver,
    "bad-quantity": _bad_quantity,
    "not-offered": _not_offered,
    "combiner-mismatch": _mismatch,
    "shared-outlet": _shared_outlet,
    "loose-end": _loose_end,
}
"""The kinds of fault by name."""


def break_one(generated: GeneratedRig, kind: str, seed: int) -> Broken | None:
    """The rig with one fault of a kind, or none where the rig has no place for it.

    All kinds are errors but `loose-end`, which is a warning and stands alone.
    """
    bench = _Bench(generated, deepcopy(generated.data), Random(f"{seed}/{kind}"))
    found = FAULTS[kind](bench)
    return None if found is None else Broken(render(bench.data), *found)
