"""A chain of stages as edits of a rig's file: in place of the stages that stand on the line, with what starts them up.

Stages that are there keep their names and are changed where they have to be; those left over go, and with them the
steps, readings, waivers and circuits that name them.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from lineshaft.check.finding import Edit
from lineshaft.repair.chain import Chain, Pole, Stage
from lineshaft.repair.edits.entries import add_names, drop_entries, edit
from lineshaft.repair.edits.parts import add_parts, add_steps, name_text, set_inlet, set_key
from lineshaft.repair.machine_line import Line
from lineshaft.schema.model.catalogue import Item
from lineshaft.schema.model.rig import Part
from lineshaft.schema.text.span import Route
from lineshaft.solve.solved_rig import SolvedRig


class LineEdits(NamedTuple):
    """The edits, and whether a commissioning list has to be written beside them, since there is none to add to."""

    edits: tuple[Edit, ...]
    needs_list: bool


@dataclass(slots=True)
class _Laying:
    """A line while it is laid, from above: ``driver`` is its end so far.

    ``drivers`` are what drives the parts that stay, ``stages`` the names of all stages, ``new`` the parts to write.
    """

    rig: SolvedRig
    machine: Part
    driver: str
    reusable: list[int]
    taken: set[str]
    drivers: dict[int, str] = field(default_factory=dict)
    stages: dict[str, Stage] = field(default_factory=dict)
    reused: dict[int, Stage] = field(default_factory=dict)
    new: list[tuple[str, Mapping[str, str]]] = field(default_factory=list)

    def keep(self, number: int) -> None:
        """Go on through a part that is there."""
        self.drivers[number] = self.driver
        self.driver = self.rig.parts[number].name

    def stage(self, stage: Stage) -> None:
        """Go on through a stage: one that is there, changed, or a new one."""
        if self.reusable:
            number = self.reusable.pop(0)
            self.reused[number] = stage
            self.keep(number)
        else:
            keys = {"item": stage.item, "ratio": stage.ratio.text, "set": stage.direction}
            self.write(self.free("stage"), {**keys, **_graded(stage), "driven-by": self.driver})
        self.stages[self.driver] = stage

    def side_by_side(self, chain: Chain) -> None:
        """Go on through a run of stages in several lines."""
        branching = chain.branching
        assert branching is not None
        ways = [chr(ord("a") + way) for way in range(branching.ways)]
        shares = ", ".join(f"{way}: 1" for way in ways)
        self.write(self.free("divide"), {**_pole(branching.splitter, self.driver), "shares": f"{{{shares}}}"})
        divided, ends = self.driver, []
        for way in ways:
            self.driver = f"{divided}.{way}"
            for stage in chain.stages[chain.first : chain.last]:
                self.stage(stage)
            ends.append(self.driver)
        self.write(self.free("gather"), _pole(branching.combiner, f"[{', '.join(ends)}]"))

    def write(self, name: str, keys: Mapping[str, str]) -> None:
        """Go on through a new part."""
        self.new.append((name, keys))
        self.driver = name

    def free(self, ending: str) -> str:
        """A name that no part has."""
        stem = f"{self.machine.name[:50]}-{ending}"
        numbered = (f"{stem}-{number}" for number in range(2, 1_000_000))
        name = stem if stem not in self.taken else next(name for name in numbered if name not in self.taken)
        self.taken.add(name)
        return name


def _graded(version: Stage | Pole) -> dict[str, str]:
    return {"grade": version.grade} if version.grade else {}


def _pole(pole: Pole, driver: str) -> dict[str, str]:
    return {"item": pole.item, **_graded(pole), "driven-by": driver}


def line_edits(rig: SolvedRig, line: Line, chain: Chain, behind: int) -> LineEdits:
    """Put a chain into a line, behind so many of its fixed parts."""
    laid = _laid(rig, line, chain, behind)
    edits: list[Edit] = []
    if laid.new:
        edits += add_parts(laid.machine, laid.new)
    for number, driver in laid.drivers.items():
        if driver != _driver_of(rig.parts[number]):
            edits.append(set_inlet(rig.parts[number], 0, driver))
    for number, stage in laid.reused.items():
        edits += _changed(rig.parts[number], stage)
    fed, feeds = _feeds(laid, line)
    edits += feeds
    edits += _without(laid, line)
    entries = list(_entries(laid, fed))
    added = add_steps(rig.rig.tree, 0, entries) if entries else None
    if added is not None:
        edits.append(added)
    return LineEdits(tuple(edits), bool(entries) and added is None)


def _laid(rig: SolvedRig, line: Line, chain: Chain, behind: int) -> _Laying:
    driver = _driver_of(rig.parts[line.top])
    laid = _Laying(rig, rig.parts[line.machine], driver, list(line.stages), set(rig.rig.index))
    for number in line.fixed[:behind]:
        laid.keep(number)
    for at, stage in enumerate(chain.stages):
        if chain.branching is not None and at == chain.first:
            laid.side_by_side(chain)
        if chain.branching is None or not chain.first <= at < chain.last:
            laid.stage(stage)
    for number in (*line.fixed[behind:], line.machine):
        laid.keep(number)
    return laid


def _driver_of(part: Part) -> str:
    """What drives a part, as its file names it: a part, a splitter's outlet, the outlet of a blueprint."""
    written = _written(part).get("driven-by")
    return str(written[0] if isinstance(written, list) else written)


def _changed(part: Part, stage: Stage) -> Iterator[Edit]:
    """The settings of a stage that is there, where they become others."""
    if part.item.name != stage.item:
        yield set_key(part, "item", stage.item)
    if part.ratio is None or part.ratio.value != stage.ratio.value:
        yield set_key(part, "ratio", stage.ratio.text)
    if part.direction != stage.direction:
        yield set_key(part, "set", stage.direction)
    written = _written(part)
    if stage.grade and written.get("grade") != stage.grade:
        yield set_key(part, "grade", stage.grade)
    elif not stage.grade and "grade" in written:
        yield from drop_entries(part.tree, part.route, ["grade"])


def _written(part: Part) -> Mapping[str, object]:
    data: object = part.tree.data
    for step in part.route:
        data = data[step]  # type: ignore[index]
    return data if isinstance(data, dict) else {}


def _gone(laid: _Laying, line: Line) -> list[int]:
    return [number for number in line.stages if number not in laid.reused]


def _lubricant(laid: _Laying, stage: Stage) -> str | None:
    need = laid.rig.catalogue.items[stage.item].lubricant
    return None if need is None else need.kind


def _feeds(laid: _Laying, line: Line) -> tuple[set[str], list[Edit]]:
    """Which stages a circuit of the line feeds from now on, and the edits of the circuits' lists."""
    rig, tree = laid.rig, laid.rig.rig.tree
    fed: set[str] = set()
    edits: list[Edit] = []
    for circuit in rig.rig.circuits:
        mine = [number for number in circuit.feeds if number in line.stages]
        if not mine:
            continue
        oiled = [n for n, stage in laid.stages.items() if _lubricant(laid, stage) == circuit.lubricant and n not in fed]
        fed.update(oiled)
        known = {rig.parts[number].name for number in circuit.feeds}
        added = [name for name in oiled if name not in known]
        route: Route = ("lubrication", circuit.name, "feeds")
        dropped = [at for at, n in enumerate(circuit.feeds) if n in mine and rig.parts[n].name not in oiled]
        if len(dropped) == len(circuit.feeds) and not added:
            edits += drop_entries(tree, route[:-2], [circuit.name])
            continue
        both = min(len(added), len(dropped))
        edits += [edit(tree, *tree.slice((*route, at)), name) for at, name in zip(dropped, added, strict=False)]
        edits += drop_entries(tree, route, dropped[both:])
        if added[both:]:
            edits.append(add_names(tree, route, added[both:]))
    return fed, edits


def _without(laid: _Laying, line: Line) -> Iterator[Edit]:
    """Without the stages left over and all that names them; steps of changed stages are written anew."""
    rig, tree = laid.rig, laid.rig.rig.tree
    gone = _gone(laid, line)
    names = {rig.parts[number].name for number in gone}
    anew = {number for number, stage in laid.reused.items() if _is_other(rig.parts[number], stage)}
    steps = [
        step.route[-1]
        for step in rig.rig.steps
        if step.part in gone or (step.part in anew and step.kind in ("set", "fill"))
    ]
    readings = [r.route[-1] for r in rig.rig.readings if r.part in gone]
    waivers = [w.route[-1] for w in rig.rig.waivers if w.part in names]
    yield from drop_entries(tree, ("parts",), [rig.parts[number].name for number in gone])
    for section, keys in (("commissioning", steps), ("readings", readings), ("waivers", waivers)):
        if keys:
            yield from drop_entries(tree, (section,), keys)


def _is_other(part: Part, stage: Stage) -> bool:
    return part.item.name != stage.item or part.direction != stage.direction


def _entries(laid: _Laying, fed: set[str]) -> Iterator[str]:
    """The steps that new and changed stages need before the start: lubricant, then direction."""
    parts = laid.rig.parts
    same = {parts[number].name for number, stage in laid.reused.items() if not _is_other(parts[number], stage)}
    items: Mapping[str, Item] = laid.rig.catalogue.items
    anew = [(name, stage) for name, stage in laid.stages.items() if name not in same]
    for name, stage in anew:
        need = items[stage.item].lubricant
        if need is not None and name not in fed:
            yield f"fill: {{part: {name_text(name)}, with: {_litres(need.holds)} L}}"
    for name, stage in anew:
        if items[stage.item].delivered != stage.direction:
            yield f"set: {{part: {name_text(name)}, to: {stage.direction}}}"


def _litres(holds: float) -> str:
    return repr(holds).removesuffix(".0")
