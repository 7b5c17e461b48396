"""A rig as a list to build by, stretch by stretch from the prime movers outward, and then to fill and to start."""

from collections.abc import Iterator

from lineshaft.bill_of_materials import bill, goods_of, goods_of_all
from lineshaft.check.finding import Text, litres, times
from lineshaft.report_model.build_sheet_record import BuildPart, BuildSheet, StartStep, Stretch
from lineshaft.report_model.checklist import checklist
from lineshaft.report_model.record import CheckStep
from lineshaft.schema.model.rig import Part
from lineshaft.schema.model.running import Circuit
from lineshaft.solve.solved_rig import SolvedRig


def build_sheet(rig: SolvedRig) -> BuildSheet:
    """The sheet of a rig; batches are rounded once, over the whole rig."""
    found = bill(rig.parts, rig.catalogue)
    tanks = _tanks(rig)
    stretches = tuple(_stretch(rig, numbers, tanks) for numbers in _in_stretches(rig))
    start = checklist(rig)
    steps = tuple(StartStep(step.does, _breaks(step), step.fills) for step in start.steps)
    name, solved, cautions = rig.rig.name, all(rig.flows.solved), rig.policy.cautions
    return BuildSheet(rig.file, name, found.raw, found.making, stretches, steps, start.why_none, solved, cautions)


def _breaks(step: CheckStep) -> Text:
    """What a step breaks, the worst; nothing where it breaks nothing."""
    if not step.broken:
        return ()
    (name, worst), *others = step.broken
    more = f", and {len(others)} more past theirs" if others else ""
    return f"it takes {name} to ", times(worst), f" times its limit{more}"


def _in_stretches(rig: SolvedRig) -> list[list[int]]:
    """The parts by stretch: one begins at a prime mover, at an outlet of a splitter and behind a combiner's inlets.

    What power does not reach makes the last stretch.
    """
    stretches: list[list[int]] = []
    of: dict[int, list[int]] = {}
    for number in rig.train.order:
        inlets = rig.parts[number].inlets
        alone = len(inlets) == 1 and not rig.parts[inlets[0][0]].outlets
        if alone and inlets[0][0] in of:
            of[number] = of[inlets[0][0]]
        else:
            of[number] = []
            stretches.append(of[number])
        of[number].append(number)
    apart = [number for number in range(len(rig.parts)) if number not in of]
    return [*stretches, *([apart] if apart else [])]


def _stretch(rig: SolvedRig, numbers: list[int], tanks: dict[int, list[Circuit]]) -> Stretch:
    parts = [rig.parts[number] for number in numbers]
    filled = tuple(_tank(circuit) for number in numbers for circuit in tanks.get(number, ()))
    built = tuple(_part(rig, number) for number in numbers)
    return Stretch(_title(rig, parts[0], parts[-1]), built, tuple(sorted(goods_of_all(parts).items())), filled)


def _title(rig: SolvedRig, first: Part, last: Part) -> str:
    """From what drives the stretch to its last part."""
    above = _drivers(rig, first)
    start = " and ".join(above) if above else first.name
    return f"{start} to {last.name}" if above or last.name != first.name else first.name


def _drivers(rig: SolvedRig, part: Part) -> tuple[str, ...]:
    found = []
    for source, outlet in part.inlets:
        driver = rig.parts[source]
        found.append(f"{driver.name}.{driver.outlets[outlet]}" if driver.outlets else driver.name)
    return tuple(found)


def _part(rig: SolvedRig, number: int) -> BuildPart:
    part = rig.parts[number]
    goods = tuple(sorted(goods_of(part).items()))
    settings = tuple(_settings(part))
    return BuildPart(part.name, part.item.name, settings, _drivers(rig, part), goods, _oil(rig, number), part.at)


def _settings(part: Part) -> Iterator[str]:
    if part.grade is not None and part.item.chooses_grade:
        yield f"in {part.grade.name}"
    if part.ratio is not None:
        yield f"{part.ratio.text} : 1"
    if part.direction is not None:
        yield f"set to {part.direction}"
    if part.shares:
        shares = zip(part.outlets, part.shares, strict=True)
        yield "shares " + ", ".join(f"{name}: {weight:.12g}" for name, weight in shares)
    if part.head is not None:
        yield f"head {part.head:.12g} m"
    if part.item.kind == "clutch":
        yield "engaged" if part.engaged else "open"


def _oil(rig: SolvedRig, number: int) -> tuple[Text, ...]:
    """What a part is filled with, or each circuit that feeds it; nothing where it takes no lubricant."""
    need = rig.parts[number].item.lubricant
    if need is None:
        return ()
    filled = sum(step.amount for step in rig.rig.steps if step.kind == "fill" and step.part == number)
    fill: tuple[Text, ...] = (("fill with ", litres(filled), f" of {need.kind}"),) if filled > 0 else ()
    circuits = [c for c in rig.rig.circuits if number in c.feeds and c.lubricant == need.kind]
    found = (*fill, *((f"connect to the circuit {circuit.name} of {need.kind}",) for circuit in circuits))
    return found or ((f"it takes {need.kind}, up to ", litres(need.holds), ": the rig does not say from where"),)


def _tanks(rig: SolvedRig) -> dict[int, list[Circuit]]:
    """The circuits at the part of each that is built last, when all it feeds is there."""
    place = {number: at for at, number in enumerate(rig.train.order)}
    found: dict[int, list[Circuit]] = {}
    for circuit in rig.rig.circuits:
        if circuit.members:
            last = max(circuit.members, key=lambda number: place.get(number, len(place)))
            found.setdefault(last, []).append(circuit)
    return found


def _tank(circuit: Circuit) -> Text:
    held = litres(circuit.holds)
    return (
        f"circuit {circuit.name}: a tank of ",
        held,
        ", charged with ",
        litres(circuit.charge),
        f" of {circuit.lubricant}",
    )
