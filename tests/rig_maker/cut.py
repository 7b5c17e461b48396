"""A rig cut into blueprints: the same rig in several files. No lineshaft inside."""

from random import Random
from typing import Any, NamedTuple

from rig_maker.render import render

Data = dict[str, Any]
_PROMISE = {"torque-up-to": "1e12 N*m", "speed-up-to": "1e12 rad/s"}


class CutRig(NamedTuple):
    """The rig's text, its blueprints' texts by file name, and the new name of each part that was moved."""

    text: str
    blueprints: dict[str, str]
    moved: dict[str, str]


def cut_up(data: Data, rng: Random) -> CutRig:
    """The rig with two blueprints, the second with the first inside it or beside it."""
    files: dict[str, str] = {}
    names = list(data["parts"])
    first = set(rng.sample(names, rng.randint(1, max(1, len(names) // 2))))
    data, blueprint, one = _cut(data, first, "b-one", rng)
    rest = [part for part in data["parts"] if part != "b-one"]
    second = set(rng.sample(rest, rng.randint(1, max(1, len(rest) - 1)))) if rest else set()
    if second and rng.random() < 0.5:
        second.add("b-one")
    other: dict[str, str] = {}
    if second and second != set(data["parts"]):
        data, outer, other = _cut(data, second, "b-two", rng)
        files["b-two.blueprint.yaml"] = render(outer)
    files["b-one.blueprint.yaml"] = render(blueprint)
    where = other.get("b-one", "b-one")
    moved = {part: f"{where}/{part}" for part in one} | {p: n for p, n in other.items() if p != "b-one"}
    for section in ("commissioning", "lubrication"):
        if section in data:
            data = {**data, section: _renamed(data[section], moved)}
    return CutRig(render(data), files, moved)


def _cut(data: Data, inside: set[str], name: str, rng: Random) -> tuple[Data, Data, dict[str, str]]:
    """The file with some of its parts moved into a blueprint, that blueprint, and the parts' new names.

    Each reference that crosses the cut becomes an inlet or an outlet; some ratios become parameters.
    """
    parts: Data = data["parts"]
    inlets: dict[str, str] = {}
    outlets: dict[str, str] = {}
    moved: Data = {}
    takes: Data = {}
    handed: Data = {}

    def within(reference: str) -> str:
        if reference.partition(".")[0] in inside:
            return reference
        return inlets.setdefault(reference, f"in{len(inlets)}")

    def without(reference: str) -> str:
        if reference.partition(".")[0] not in inside:
            return reference
        return f"{name}.{outlets.setdefault(reference, f'out{len(outlets)}')}"

    def redirected(entry: Data, turn: Any) -> Data:
        written = entry.get("driven-by")
        if isinstance(written, dict):
            return {**entry, "driven-by": {inlet: turn(source) for inlet, source in written.items()}}
        if isinstance(written, list):
            return {**entry, "driven-by": [turn(source) for source in written]}
        return dict(entry) if written is None else {**entry, "driven-by": turn(written)}

    kept: Data = {}
    for part, entry in parts.items():
        if part not in inside:
            kept[part] = redirected(entry, without)
            continue
        moved[part] = redirected(entry, within)
        if "ratio" in entry and rng.random() < 0.5:
            parameter = f"r{len(takes)}"
            takes[parameter] = {"kind": "ratio"} if rng.random() < 0.5 else {"kind": "ratio", "default": entry["ratio"]}
            if "default" not in takes[parameter]:
                handed[parameter] = entry["ratio"]
            moved[part]["ratio"] = f"${parameter}"
    line: Data = {"blueprint": f"{name}.blueprint.yaml"}
    if inlets:
        line["driven-by"] = {inlet: reference for reference, inlet in inlets.items()}
    if handed:
        line["with"] = handed
    blueprint: Data = {"blueprint": 1, "catalogue": data["catalogue"], "parts": moved}
    if takes:
        blueprint["takes"] = takes
    if inlets:
        blueprint["inlets"] = {inlet: dict(_PROMISE) for inlet in inlets.values()}
    if outlets:
        blueprint["outlets"] = {outlet: reference for reference, outlet in outlets.items()}
    return {**data, "parts": {**kept, name: line}}, blueprint, {part: f"{name}/{part}" for part in inside}


def _renamed(value: Any, names: dict[str, str]) -> Any:
    """Steps and circuits with the parts' new names."""
    if isinstance(value, dict):
        return {key: _renamed(inner, names) if key != "to" else inner for key, inner in value.items()}
    if isinstance(value, list):
        return [_renamed(inner, names) for inner in value]
    return names.get(value, value) if isinstance(value, str) else value
