"""Small rigs from any catalogue: a prime mover, something between, a machine; for a first file that is to hold."""

from collections.abc import Iterator
from itertools import islice, product

from lineshaft.schema.model.catalogue import Catalogue, HeadTable, Hydraulic, Item
from lineshaft.schema.text.scalar_text import scalar_text

_MOST = 300
"""Rigs that are tried; a catalogue of which none of so many holds gets a prime mover alone."""


def part_lines(catalogue: Catalogue) -> Iterator[tuple[str, ...]]:
    """The lines of `parts` and `commissioning`, rigs with a stage first; the last is a prime mover by itself."""
    items = catalogue.items.values()
    movers = [item for item in items if item.kind == "prime-mover"]
    machines = [item for item in items if item.kind == "driven-machine"]
    dry_stages = [item for item in items if item.kind == "gear-stage" and item.lubricant is None]
    ratios = [(item, offered.ratio.text) for item in dry_stages for offered in item.ratios]
    stages = [(item, ratio, way) for item, ratio in ratios for way in ("increase", "reduce")]
    between: list[tuple[Item, str, str] | None] = [*stages, None]
    tried = product(movers, machines, between)
    yield from (_lines(mover, machine, stage) for mover, machine, stage in islice(tried, _MOST))
    yield from (("parts:", f"  source: {_part(mover)}") for mover in movers)


def _lines(mover: Item, machine: Item, stage: tuple[Item, str, str] | None) -> tuple[str, ...]:
    start = "  - start: source"
    parts = "parts:                        # each with the item it is made of, and what drives it"
    head = (parts, f"  source: {_part(mover)}")
    if stage is None:
        return (*head, f"  machine: {_part(machine, ['driven-by: source'])}", "commissioning:", start)
    item, ratio, way = stage
    step = _part(item, [f"ratio: {ratio}", f"set: {way}", "driven-by: source"])
    begun = [] if way == item.delivered else [f"  - set: {{part: step, to: {way}}}"]
    machine_line = f"  machine: {_part(machine, ['driven-by: step'])}"
    commissioning = "commissioning:                # the start-up, in order"
    return (*head, f"  step: {step}", machine_line, commissioning, *begun, start)


def _part(item: Item, more: list[str] | None = None) -> str:
    said = [f"item: {scalar_text(item.name)}"]
    if item.chooses_grade:
        said.append(f"grade: {scalar_text(item.grades[0])}")
    match item.source:
        case HeadTable(points):
            said.append(f"head: {points[len(points) // 2][0]:.12g} m")
        case Hydraulic():
            said.append("head: 3 m")
        case _:
            pass
    return "{" + ", ".join([*said, *(more or [])]) + "}"
