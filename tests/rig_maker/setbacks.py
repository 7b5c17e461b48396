"""One fault that a repair may mend, put into a clean rig: the kinds that the share of repaired rigs is counted over."""

from collections.abc import Callable, Iterator
from copy import deepcopy
from random import Random
from typing import Any

from rig_maker.faults import break_one
from rig_maker.plan import GeneratedRig
from rig_maker.render import render
from rig_maker.stock import STAGE_OF

_OTHER = {"reduce": "increase", "increase": "reduce"}


def _seeded(kind: str) -> Callable[[GeneratedRig, int], Iterator[str]]:
    def texts(rig: GeneratedRig, seed: int) -> Iterator[str]:
        found = break_one(rig, kind, seed)
        if found is not None:
            yield found.text

    return texts


def _stages(rig: GeneratedRig, seed: int, kind: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """The stages outside branches in random order, each with a copy of the rig's data to be broken."""
    stages = [part.name for part in rig.plan if part.ratio is not None and not part.in_branch]
    Random(f"{seed}/{kind}").shuffle(stages)
    for name in stages:
        yield name, deepcopy(rig.data)


def _wrong_direction(rig: GeneratedRig, seed: int) -> Iterator[str]:
    """A stage that the rig declares and its list sets the wrong way round."""
    for name, data in _stages(rig, seed, "wrong-direction"):
        part = data["parts"][name]
        part["set"] = _OTHER[part["set"]]
        told = [s["set"] for s in data["commissioning"] if "set" in s and s["set"]["part"] == name]
        for step in told:
            step["to"] = part["set"]
        if not told and STAGE_OF[part["item"]].delivered != part["set"]:
            data["commissioning"].insert(0, {"set": {"part": name, "to": part["set"]}})
        yield render(data)


def _short_machine(rig: GeneratedRig, seed: int) -> Iterator[str]:
    """A stage in another ratio of its item, so that less torque reaches the machines below."""
    for name, data in _stages(rig, seed, "short-machine"):
        part = data["parts"][name]
        now = rig.by_name[name].ratio
        assert now is not None
        for text, ratio in STAGE_OF[part["item"]].ratios:
            if ratio != now and (ratio < now) == (part["set"] == "reduce"):
                part["ratio"] = text
                yield render(data)


SETBACKS: dict[str, Callable[[GeneratedRig, int], Iterator[str]]] = {
    "over-torque": _seeded("over-torque"),
    "over-speed": _seeded("over-speed"),
    "wrong-direction": _wrong_direction,
    "unsaid-direction": _seeded("wrong-direction"),
    "missing-lubricant": _seeded("missing-lubricant"),
    "short-machine": _short_machine,
}
"""By kind: a rig and a seed to texts with that fault; not each of them need break something."""
