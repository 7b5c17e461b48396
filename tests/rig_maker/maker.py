"""A whole rig for a seed: trains, grades, machines, circuits and steps, as text and as plan."""

from copy import deepcopy
from random import Random
from typing import Any

from rig_maker.grades import fit_grade
from rig_maker.machines import fit_machine
from rig_maker.plan import EDITION, GeneratedRig, PlannedPart
from rig_maker.render import render
from rig_maker.running import before_start, circuits_of, starts
from rig_maker.stock import LUBRICANTS, movers, written_items
from rig_maker.trains import Train

_DISTINCT = 200  # parts up to which no train repeats
_PATTERNS = 24  # different trains in a larger rig
_LINES = 6  # a part, on average, in a larger rig
GREEDY = "great-mill"
"""A machine in every generated catalogue that needs more than anything in the rig gives."""


def make_rig(seed: int, parts: int, *, catalogue: str = "generated.catalogue.yaml") -> GeneratedRig:
    """A clean rig with exactly ``parts`` parts (2 or more), the same for the same seed and number.

    Up to 200 parts every train is its own; above, 24 trains repeat under other names and labels bring the
    text to six lines a part.
    """
    shop = _Shop(Random(f"{seed}/{parts}"))
    return shop.rig(f"Generated {seed}", parts, catalogue)


def make_fleet(seed: int, rigs: int, parts: int, *, catalogue: str = "fleet.catalogue.yaml") -> list[GeneratedRig]:
    """So many clean rigs of so many parts, all different, that share one catalogue: the last rig's text of it."""
    shop = _Shop(Random(f"{seed}/{rigs}/{parts}"))
    return [shop.rig(f"Fleet {seed} number {n}", parts, catalogue) for n in range(rigs)]


class _Finished:
    """A train with its circuits and the steps before it is started."""

    def __init__(
        self, parts: list[PlannedPart], circuits: dict[str, Any], steps: list[dict[str, Any]]
    ) -> None:
        self.parts, self.circuits, self.steps = parts, circuits, steps

    def renamed(self, old: str, new: str, level: int) -> "_Finished":
        """The same train with another prefix to its names, and on another level."""

        def other(name: str) -> str:
            return new + name.removeprefix(old)

        parts = []
        for part in self.parts:
            driven_by = tuple((other(name), outlet) for name, outlet in part.driven_by)
            twin = PlannedPart(other(part.name), part.kind, part.item, driven_by)
            for slot in PlannedPart.__slots__[4:]:
                setattr(twin, slot, getattr(part, slot))
            if "at" in part.settings:
                x, _, z = part.settings["at"]
                twin.settings = {**part.settings, "at": [x, level, z]}
            parts.append(twin)
        circuits = deepcopy({other(name): circuit for name, circuit in self.circuits.items()})
        for circuit in circuits.values():
            circuit["feeds"] = [other(name) for name in circuit["feeds"]]
            if "supplied-by" in circuit:
                circuit["supplied-by"] = other(circuit["supplied-by"])
        steps = deepcopy(self.steps)
        for step in steps:
            for key, value in step.items():
                if isinstance(value, dict):
                    value["part"] = other(value["part"])
                else:
                    step[key] = other(value)
        return _Finished(parts, circuits, steps)


class _Shop:
    """Makes trains and keeps the catalogue that they need."""

    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.movers = movers(rng)
        self.grades: dict[str, dict[str, str]] = {}
        self.machines: dict[str, dict[str, Any]] = {}

    def rig(self, name: str, parts: int, catalogue: str) -> GeneratedRig:
        """A rig of so many parts, and the catalogue as it is with what this rig and those before it need."""
        trains = self.all_trains(parts)
        data: dict[str, Any] = {"rig": 1, "name": name, "catalogue": catalogue, "edition": EDITION}
        data["parts"] = _written_parts(
            [part for train in trains for part in train.parts], self.rng, parts <= _DISTINCT
        )
        circuits = {name: circuit for train in trains for name, circuit in train.circuits.items()}
        if circuits:
            data["lubrication"] = circuits
        steps = [step for train in trains for step in train.steps]
        if parts <= _DISTINCT:
            self.rng.shuffle(steps)
        data["commissioning"] = steps + [step for train in trains for step in starts(train.parts)]
        if parts > _DISTINCT:
            _pad(data, parts * _LINES)
        plan = tuple(part for train in trains for part in train.parts)
        return GeneratedRig(render(data), render(self.catalogue()), plan, data, catalogue)

    def all_trains(self, parts: int) -> list[_Finished]:
        """Trains with so many parts together."""
        if parts <= _DISTINCT:
            return [self._train(n, size) for n, size in enumerate(self._sizes(parts))]
        patterns = [self._train(n, self.rng.randint(8, 32)) for n in range(_PATTERNS)]
        found: list[_Finished] = []
        left = parts
        while left:
            n = len(found)
            pattern = patterns[n % _PATTERNS]
            if left - len(pattern.parts) < 2 and left != len(pattern.parts):
                found.append(self._train(n, left))
                break
            found.append(pattern if n < _PATTERNS else pattern.renamed(f"t{n % _PATTERNS}-", f"t{n}-", n))
            left -= len(pattern.parts)
        return found

    def _sizes(self, parts: int) -> list[int]:
        sizes = []
        while parts > 70 or (parts > 8 and self.rng.random() < 0.5):
            size = self.rng.randint(4, min(60, parts - 4))
            sizes.append(size)
            parts -= size
        return [*sizes, parts]

    def _train(self, level: int, size: int) -> _Finished:
        prefix = f"t{level}-"
        train = Train(self.rng, prefix)
        train.grow(self.rng.choice(self.movers), size)
        for part in train.parts:
            if part.kind == "driven-machine":
                fit_machine(part, len(self.machines), self.rng, self.machines)
            elif part.kind != "prime-mover":
                fit_grade(part, self.grades)
        circuits = circuits_of(train.parts, prefix, self.machines, self.rng)
        if self.rng.random() < 0.4:
            _place(train.parts, level)
        return _Finished(train.parts, circuits, before_start(train.parts, circuits, self.rng))

    def catalogue(self) -> dict[str, Any]:
        """The catalogue, with the grades and machines that were asked for."""
        items: dict[str, Any] = {mover.item: mover.written for mover in self.movers}
        for name, item in written_items().items():
            items[name] = {**item, "grades": list(self.grades)} if self.grades else item
        greedy = {"kind": "driven-machine", "needs": {"torque": "1e12 N*m"}}
        return {
            "catalogue": 1,
            "name": "Generated",
            "edition": EDITION,
            "lubricants": list(LUBRICANTS),
            "grades": self.grades,
            "items": {**items, **self.machines, GREEDY: greedy},
        }


def _place(parts: list[PlannedPart], level: int) -> None:
    """Places for the first line of a train: one apart, and round a corner at each right-angle drive."""
    x = z = 0
    along = True
    last = None
    for part in parts:
        if part.kind == "combiner" or (last is not None and part.driven_by != ((last.name, None),)):
            return
        part.settings["at"] = [x, level, z]
        if part.kind == "splitter":
            return
        if part.kind == "right-angle":
            along = not along
        x, z = (x + 1, z) if along else (x, z + 1)
        last = part


def _written_parts(plan: list[PlannedPart], rng: Random, small: bool) -> dict[str, Any]:
    order = list(plan)
    way = rng.choice(("driving", "backwards", "mixed")) if small else "driving"
    if way == "backwards":
        order.reverse()
    elif way == "mixed":
        rng.shuffle(order)
    found = {part.name: _written(part) for part in order}
    if small:
        for name, data in found.items():
            if rng.random() < 0.3:
                data["label"] = f"marked {name}"
    return found


def _written(part: PlannedPart) -> dict[str, Any]:
    data: dict[str, Any] = {"item": part.item}
    if part.driven_by:
        sources = [name if outlet is None else f"{name}.{outlet}" for name, outlet in part.driven_by]
        data["driven-by"] = sources if part.kind == "combiner" else sources[0]
    if part.grade is not None:
        data["grade"] = part.grade
    if part.ratio is not None:
        data["ratio"], data["set"] = part.ratio_text, part.direction
    if part.shares:
        data["shares"] = dict(part.shares)
    data.update(part.settings)
    return data


def _pad(data: dict[str, Any], lines: int) -> None:
    """Labels until the text has so many lines, or every part has one."""
    missing = lines - render(data).count("\n")
    for name, part in data["parts"].items():
        if missing <= 0:
            return
        part["label"] = f"marked {name}"
        missing -= 1
