"""A schematic to SVG: frames, connections, cards and labels where the layout puts them."""

from collections.abc import Sequence
from typing import NamedTuple
from xml.etree import ElementTree as ET

from lineshaft.report_model.schematic_record import Node, Schematic
from lineshaft.write.drawing.bars import write_bar
from lineshaft.write.drawing.cards import TEXT_LEFT, Card, card
from lineshaft.write.drawing.connections import Label, label, scales_of, write_connection, write_label
from lineshaft.write.drawing.geometry import Box, Group, Placed, Points
from lineshaft.write.drawing.ink import coordinate, write_text
from lineshaft.write.drawing.marks import Marks
from lineshaft.write.drawing.placing import placed
from lineshaft.write.drawing.rings import closing
from lineshaft.write.drawing.signs import write_mark
from lineshaft.write.drawing.symbols import KIND_WORDS, SYMBOLS
from lineshaft.write.drawing.text_width import shortened
from lineshaft.write.escape import xml_text
from lineshaft.write.shown_units import Units

MARGIN = 18.0
TAB_WIDTH, TAB_HEIGHT = 112.0, 17.0
"""The title of a frame: most width, height [px]."""


class Drawing(NamedTuple):
    """A laid-out schematic: what stands where, before it is written."""

    schematic: Schematic
    marks: Marks
    cards: tuple[Card, ...]
    labels: tuple[Label, ...]
    places: Placed

    @property
    def width(self) -> float:
        """Width of the page [px]."""
        return self.places.width + 2 * MARGIN

    @property
    def height(self) -> float:
        """Height of the page [px]."""
        return self.places.height + 2 * MARGIN


def laid_out(schematic: Schematic, marks: Marks, units: Units = "si") -> Drawing:
    """A schematic laid out with the marks of its findings."""
    pairs = [(link.source, link.target) for link in schematic.links]
    rings = closing(len(schematic.nodes), pairs)
    cards = tuple(card(node, marks.at.get(number, ()), units) for number, node in enumerate(schematic.nodes))
    labels = tuple(
        label(link, schematic.nodes[link.source], units, ring=number in rings)
        for number, link in enumerate(schematic.links)
    )
    groups = [Group(frozenset(frame.nodes), frame.name.count("/") + 1) for frame in schematic.frames]
    places = placed([one.size for one in cards], pairs, [one.size for one in labels], groups)
    return Drawing(schematic, marks, cards, labels, places)


def body(drawing: Drawing, prefix: str = "part") -> ET.Element:
    """The group that holds the drawing; part number n has the id ``PREFIX-n``."""
    group = ET.Element("g", {"transform": f"translate({coordinate(MARGIN)} {coordinate(MARGIN)})"})
    for frame, points in zip(drawing.schematic.frames, drawing.places.frames, strict=True):
        _write_frame(group, frame.name, frame.file, points)
    scales, down = scales_of(drawing.schematic), drawing.places.down
    path = drawing.marks.path
    for number in sorted(range(len(drawing.places.lines)), key=lambda number: number in path):
        link, points = drawing.schematic.links[number], drawing.places.lines[number]
        write_connection(group, link, points, scales, down=down, path=number in path)
    for one, box in zip(drawing.labels, drawing.places.labels, strict=True):
        write_label(group, one, box, down=down)
    lit = {end for n in path for end in (drawing.schematic.links[n].source, drawing.schematic.links[n].target)}
    cards = zip(drawing.schematic.nodes, drawing.cards, drawing.places.boxes, strict=True)
    for number, (node, inside, box) in enumerate(cards):
        _write_card(group, node, inside, box, f"{prefix}-{number}", number in lit)
    return group


def tabs(points: Sequence[Points]) -> list[Box]:
    """Where the titles of frames stand."""
    return [Box(one[0][0], one[0][1] - TAB_HEIGHT, TAB_WIDTH, TAB_HEIGHT) for one in points if one]


def _write_frame(group: ET.Element, name: str, file: str, points: Points) -> None:
    if not points:
        return
    frame = ET.SubElement(group, "g", {"class": "frame"})
    ET.SubElement(frame, "title").text = f"{xml_text(name)}: {xml_text(file)}"
    outline = "M" + "L".join(f"{coordinate(x)} {coordinate(y)}" for x, y in points) + "Z"
    ET.SubElement(frame, "path", {"d": outline})
    (tab,) = tabs([points])
    write_text(frame, tab.left + 3, tab.top + 13, shortened(xml_text(name), TAB_WIDTH - 6, 12, bold=True), "strong")


def _write_card(group: ET.Element, node: Node, one: Card, box: Box, name: str, lit: bool) -> None:
    corner = f"translate({coordinate(box.left)} {coordinate(box.top)})"
    card = ET.SubElement(group, "g", {"id": name, "transform": corner})
    label = f", {xml_text(node.label)}" if node.label else ""
    ET.SubElement(card, "title").text = f"{xml_text(node.name)}: {KIND_WORDS[node.figure]}{label}"
    size = {"width": coordinate(box.width), "height": coordinate(box.height)}
    for behind in (2, 1) if node.alike > 1 or node.figure == "blueprint" else ():
        shift = {"x": coordinate(4.0 * behind), "y": coordinate(4.0 * behind)}
        ET.SubElement(card, "rect", {"class": "card", "rx": "4", **shift, **size})
    ET.SubElement(card, "rect", {"class": _look(node, one, lit), "rx": "4", **size})
    ET.SubElement(card, "path", {"class": "symbol", "transform": "translate(8 9)", "d": SYMBOLS[node.figure]})
    for line in one.lines:
        style = {"alike": "strong", "label": "label", "plain": "soft", "fact": "", "share": "over" if node.over else ""}
        write_text(card, TEXT_LEFT, line.base, line.text.replace("\u00a0", " "), style.get(line.style, line.style))
    if one.bar is not None and node.share is not None:
        write_bar(card, TEXT_LEFT, one.bar, node.share, one.times)
    for mark in one.marks:
        write_mark(card, mark)


def _look(node: Node, one: Card, lit: bool) -> str:
    broken = node.over or any(placed.mark.kind == "error" for placed in one.marks)
    words = ("card", "broken" if broken else "lit" if lit else "", "" if node.solved else "unsolved")
    return " ".join(filter(None, words))
