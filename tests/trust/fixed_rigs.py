"""The fixed rigs that every version judges: a seed is a works of some files, clean or with faults of many kinds.

They come from the one generator. What is changed in them are figures and names, never what the program would say of
them: nothing of lineshaft is in here.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from random import Random
from typing import Any, NamedTuple

import yaml
from rig_maker import FAULTS, GeneratedRig, break_one, make_rig
from rig_maker.as_built import places_of, written
from rig_maker.cut import cut_up
from rig_maker.render import render

Data = dict[str, Any]


class FixedRig(NamedTuple):
    """A works: its files by name, the rig's and the policy's name among them, and the parts in the order of the plan.

    The place of a part in ``parts`` is what a record calls it; where it stands in a blueprint, its whole name is there.
    """

    files: dict[str, str]
    parts: tuple[str, ...]

    @property
    def rig(self) -> str:
        """The name of the rig's file."""
        return "fixed.rig.yaml"

    @property
    def policy(self) -> str | None:
        """The name of the policy's file, where there is one."""
        return POLICY if POLICY in self.files else None


POLICY = "lineshaft.policy.yaml"


def fixed_rig(seed: int) -> FixedRig:
    """The works of a seed, the same for the same seed."""
    rng = Random(f"fixed/{seed}")
    made = make_rig(seed, rng.randint(5, 24))
    data: Data = yaml.load(made.text, yaml.CSafeLoader)
    catalogue: Data = yaml.load(made.catalogue_text, yaml.CSafeLoader)
    for _ in range(rng.choice((0, 1, 1, 2, 3))):
        data = _broken(made, data, rng)
    for change in rng.sample(_CHANGES, rng.choice((0, 1, 1, 2))):
        change(made, data, catalogue, rng)
    files, moved = {}, dict[str, str]()
    if rng.random() < 0.35 and isinstance(data.get("parts"), dict):
        text, files, moved = cut_up(data, rng)
        files = {name: _promising(inner, rng) for name, inner in files.items()}
    else:
        text = render(data)
    if rng.random() < 0.3:
        text += _readings(made, moved, rng)
    if rng.random() < 0.2:
        text += _waivers([moved.get(name, name) for name in made.data["parts"]], rng)
    files |= {"fixed.rig.yaml": text, made.catalogue: render(catalogue)}
    if rng.random() < 0.5:
        files[POLICY] = _policy(made, rng)
    return FixedRig(files, tuple(moved.get(part.name, part.name) for part in made.plan))


def whole_and_cut(seed: int) -> tuple[FixedRig, FixedRig]:
    """One works with parts over their limits and margins, in one file and cut into blueprints; parts in one order."""
    rng = Random(f"cut/{seed}")
    made = make_rig(seed, rng.randint(6, 24))
    data: Data = yaml.load(made.text, yaml.CSafeLoader)
    catalogue: Data = yaml.load(made.catalogue_text, yaml.CSafeLoader)
    for change in (_stronger_mover, _weaker_grades, _other_settings):
        change(made, data, catalogue, rng)
    shared = {made.catalogue: render(catalogue), POLICY: _policy(made, rng)}
    cut = cut_up(data, rng)
    names = tuple(part.name for part in made.plan)
    whole = FixedRig({"fixed.rig.yaml": render(data), **shared}, names)
    return whole, FixedRig(
        {"fixed.rig.yaml": cut.text, **cut.blueprints, **shared}, tuple(cut.moved.get(name, name) for name in names)
    )


def _broken(made: GeneratedRig, data: Data, rng: Random) -> Data:
    """The data with one more fault of the generator's kinds, where the rig has a place for it."""
    kind = rng.choice(sorted(FAULTS))
    try:
        broken = break_one(replace(made, data=data), kind, rng.randrange(1 << 30))
    except (KeyError, StopIteration):  # an earlier fault took away what this one changes
        return data
    if broken is None:
        return data
    changed: Data = yaml.load(broken.text, yaml.CSafeLoader)
    return changed


def _stronger_mover(made: GeneratedRig, data: Data, catalogue: Data, rng: Random) -> None:
    """All prime movers of plain output give other torque, so that limits and needs are missed far below."""
    factor = rng.uniform(0.3, 6.0)
    for item in catalogue["items"].values():
        torque = item.get("output", {}).get("torque") if isinstance(item.get("output"), dict) else None
        if isinstance(torque, str):
            number, unit = torque.split()
            item["output"]["torque"] = f"{float(number) * factor:.4g} {unit}"


def _weaker_grades(made: GeneratedRig, data: Data, catalogue: Data, rng: Random) -> None:
    """One grade stands a fraction of what it stood."""
    name = rng.choice(sorted(catalogue["grades"]))
    for key, limit in catalogue["grades"][name].items():
        number, unit = str(limit).split()
        catalogue["grades"][name][key] = f"{float(number) * rng.uniform(0.1, 1.1):.4g} {unit}"


def _other_settings(made: GeneratedRig, data: Data, catalogue: Data, rng: Random) -> None:
    """Some stages turn the other way round, some shares are swapped."""
    for entry in data["parts"].values():
        if rng.random() < 0.3 and "set" in entry:
            entry["set"] = {"reduce": "increase", "increase": "reduce"}[entry["set"]]
        if rng.random() < 0.3 and isinstance(entry.get("shares"), dict):
            names = list(entry["shares"])
            entry["shares"] = dict(zip(names, reversed(entry["shares"].values()), strict=True))


def _steps_mixed(made: GeneratedRig, data: Data, catalogue: Data, rng: Random) -> None:
    """The start-up list in another order, perhaps without a step."""
    steps = data.get("commissioning", [])
    rng.shuffle(steps)
    if len(steps) > 1 and rng.random() < 0.5:
        steps.pop()


def _rewired(made: GeneratedRig, data: Data, catalogue: Data, rng: Random) -> None:
    """A part is driven by what drives another, or by another: loops, shared outlets, what nothing drives."""
    driven = [name for name, entry in data["parts"].items() if isinstance(entry.get("driven-by"), str)]
    if len(driven) > 1:
        one, other = rng.sample(driven, 2)
        data["parts"][one]["driven-by"] = rng.choice((other, data["parts"][other]["driven-by"]))


def _filled_otherwise(made: GeneratedRig, data: Data, catalogue: Data, rng: Random) -> None:
    """Fills of other volumes."""
    for step in data.get("commissioning", []):
        if "fill" in step and "with" in step["fill"] and rng.random() < 0.5:
            number, unit = str(step["fill"]["with"]).split()
            step["fill"]["with"] = f"{float(number) * rng.uniform(0.1, 6.0):.4g} {unit}"


def _moved_away(made: GeneratedRig, data: Data, catalogue: Data, rng: Random) -> None:
    """Parts stand elsewhere, and the rig is of another edition."""
    data["edition"] = "6"
    for entry in data["parts"].values():
        if "at" in entry and rng.random() < 0.3:
            entry["at"] = [position + rng.randint(0, 3) for position in entry["at"]]


_CHANGES: tuple[Callable[[GeneratedRig, Data, Data, Random], None], ...] = (
    _stronger_mover,
    _weaker_grades,
    _other_settings,
    _steps_mixed,
    _rewired,
    _filled_otherwise,
    _moved_away,
)
_WAIVABLE = ("torque-over-limit", "speed-over-limit", "machine-underdriven", "lubricant-missing", "loose-end")


def _waivers(names: Sequence[str], rng: Random) -> str:
    """Waivers for some parts: in force, past their day, or about nothing."""
    lines = ["waivers:"]
    for name in rng.sample(list(names), min(3, len(names))):
        rule, until = rng.choice(_WAIVABLE), rng.choice(("2020-03-31", "2999-12-31"))
        bound = f"up-to: {rng.uniform(1.1, 5.0):.2f}, " if rule.endswith("-limit") else ""
        lines.append(f"  - {{rule: {rule}, part: {name}, {bound}reason: proof-loaded, until: {until}}}")
    return "\n".join(lines) + "\n"


def _readings(made: GeneratedRig, moved: dict[str, str], rng: Random) -> str:
    """Readings at three parts, up to a third off what the generator reckoned; the findings hold what was computed."""
    where = [(part, outlet) for part, outlet in places_of(made.plan, rng, 3) if part not in moved]
    plan = {part.name: part for part in made.plan}
    read = [
        (max(plan[part].torque, 1.0) * rng.uniform(0.7, 1.3), max(plan[part].speed, 0.1) * rng.uniform(0.7, 1.3))
        for part, _ in where
    ]
    return written(where, read) if where else ""


def _promising(blueprint: str, rng: Random) -> str:
    """A blueprint whose inlets promise what some rigs keep to and others do not."""
    if rng.random() < 0.5:
        return blueprint
    return blueprint.replace("1e12 N*m", f"{rng.uniform(300, 90_000):.4g} N*m")


def _policy(made: GeneratedRig, rng: Random) -> str:
    """House rules under which margins, grades, budgets and levels speak."""
    lines = ["policy: 1"]
    factors = ", application-factors: iso-6336" if rng.random() < 0.5 else ""
    lines.append(f"margins: {{torque: {rng.uniform(1.0, 3.0):.2f}, speed: {rng.uniform(1.0, 3.0):.2f}{factors}}}")
    if rng.random() < 0.3:
        lines.append(f"budget: {{parts: {rng.randint(3, 30)}}}")
    grades = sorted({part.grade for part in made.plan if part.grade})
    if grades and rng.random() < 0.3:
        lines.append(f"grades: {{forbidden: [{rng.choice(grades)}]}}")
    if rng.random() < 0.3:
        lines.append("levels: {machine-surplus: off, loose-end: error, margin-thin: note}")
    if rng.random() < 0.5:
        lines.append(f"run-dry-after: {rng.choice(('1 h', '40 min', '300 h'))}")
    return "\n".join(lines) + "\n"
