"""A rig to be looked at beside its text: its drawing as SVG, and the rig with its blueprints' parts in place."""

from typing import NamedTuple

from lineshaft.api import Judgement, SolvedRig
from lineshaft.language_server.figures import hint_words
from lineshaft.report_model.schematic import schematic
from lineshaft.schema.model.rig import Part
from lineshaft.schema.text.scalar_text import flow_text, scalar_text
from lineshaft.write.drawing.page import svg_page
from lineshaft.write.escape import visible
from lineshaft.write.shown_units import Units, figures


class Drawn(NamedTuple):
    """A drawing, and of each part in it the name, by which its card is known, with the line (from 0) that places it."""

    svg: str
    lines: dict[str, int]


def drawing(judgement: Judgement, units: Units) -> Drawn | None:
    """The drawing of a rig or blueprint; none where there is nothing that could be drawn."""
    found = judgement.inspected
    if found is None or not found.rig.parts:
        return None
    svg = svg_page(schematic(found.rig), judgement.findings, units, judgement.day).decode()
    lines = {}
    for number, part in enumerate(found.rig.parts):
        tree, route = (part.uses[0].tree, part.uses[0].route) if part.uses else (part.tree, part.route)
        if tree.source.shown == judgement.file:
            lines[found.rig.parts[number].name] = tree.key_span(route).start.line - 1
    return Drawn(svg, lines)


def expanded(judgement: Judgement, units: Units) -> str | None:
    """A rig with the parts of its blueprints in place, as YAML with figures behind; none where it cannot be solved."""
    found = judgement.inspected
    if found is None or not found.rig.parts:
        return None
    rig = found.rig
    lines = [
        "# To be read only: the rig with the parts of its blueprints in their places, and what each carries.",
        "rig: 1",
        f"name: {scalar_text(rig.rig.name)}" if rig.rig.name else "",
        f"catalogue: {scalar_text(rig.catalogue.tree.source.shown)}",
        "parts:",
        *(_row(rig, number, units) for number in range(len(rig.parts))),
    ]
    return "\n".join(line for line in lines if line) + "\n"


def _row(rig: SolvedRig, number: int, units: Units) -> str:
    part = rig.parts[number]
    fields = [f"item: {flow_text(part.item.name)}"]
    if part.grade is not None and part.item.chooses_grade:
        fields.append(f"grade: {flow_text(part.grade.name)}")
    if part.ratio is not None:
        fields.append(f"ratio: {part.ratio.text}")
    if part.direction is not None:
        fields.append(f"set: {part.direction}")
    if part.outlets:
        shares = ", ".join(f"{name}: {figures(s)}" for name, s in zip(part.outlets, part.shares, strict=False))
        fields.append(f"shares: {{{shares}}}")
    drivers = [_outlet(rig.parts[source], outlet) for source, outlet in part.inlets]
    if drivers:
        fields.append(f"driven-by: {drivers[0] if len(drivers) == 1 else '[' + ', '.join(drivers) + ']'}")
    return f"  {part.name}: {{{', '.join(fields)}}}  # {visible(hint_words(rig, number, units))}"


def _outlet(part: Part, outlet: int) -> str:
    return f"{part.name}.{part.outlets[outlet]}" if part.outlets else part.name
