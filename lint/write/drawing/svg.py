"""A schematic to SVG: cards, symbols, lines and labels where the layout puts them."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple
from xml.etree import ElementTree as ET

from lineshaft.report_model.record import Node, Schematic
from lineshaft.write.drawing.cards import (
    AT_LIMIT,
    BAR,
    TEXT_LEFT,
    TEXT_WIDTH,
    Card,
    Label,
    Mark,
    card,
    label,
)
from lineshaft.write.drawing.ink import coordinate, write_text
from lineshaft.write.drawing.layers import Box, Placed, placed
from lineshaft.write.drawing.rings import closing
from lineshaft.write.drawing.symbols import KIND_WORDS, SYMBOLS
from lineshaft.write.escape import xml_text
from lineshaft.write.shown_units import Units

MARGIN = 16.0


class Drawing(NamedTuple):
    """A laid-out schematic: what stands where, before it is written."""

    schematic: Schematic
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


def nodes_by_name(schematic: Schematic) -> dict[str, int]:
    """The node of each part; for a blueprint in place (`leg`) the first of its parts (`leg/step`)."""
    found = {node.name: number for number, node in enumerate(schematic.nodes)}
    for number, node in enumerate(schematic.nodes):
        for at, sign in enumerate(node.name):
            if sign == "/":
                found.setdefault(node.name[:at], number)
    return found


def laid_out(schematic: Schematic, marks: Mapping[str, Sequence[Mark]], units: Units = "si") -> Drawing:
    """A schematic laid out; ``marks`` are the findings at parts, by the part's name."""
    pairs = [(link.source, link.target) for link in schematic.links]
    rings = closing(len(schematic.nodes), pairs)
    at_node: dict[int, list[Mark]] = {}
    numbers = nodes_by_name(schematic)
    for part, found in marks.items():
        if part in numbers:
            at_node.setdefault(numbers[part], []).extend(found)
    cards = tuple(card(node, at_node.get(number, ()), units) for number, node in enumerate(schematic.nodes))
    labels = tuple(
        label(link, schematic.nodes[link.source], units, ring=number in rings)
        for number, link in enumerate(schematic.links)
    )
    sizes = [one.size for one in cards]
    return Drawing(schematic, cards, labels, placed(sizes, pairs, [one.size for one in labels]))


def body(drawing: Drawing, prefix: str = "part") -> ET.Element:
    """The group that holds the drawing; part number n has the id ``PREFIX-n``."""
    group = ET.Element("g", {"transform": f"translate({coordinate(MARGIN)} {coordinate(MARGIN)})"})
    for number, line in enumerate(drawing.places.lines):
        solved = drawing.schematic.links[number].solved
        points = " ".join(f"{coordinate(x)},{coordinate(y)}" for x, y in line)
        ET.SubElement(group, "polyline", {"class": "wire" if solved else "wire unsolved", "points": points})
    head = "l-4 -9h8z" if drawing.places.down else "l-9 -4v8z"
    ends = (line[-1] for line in drawing.places.lines)
    heads = "".join(f"M{coordinate(x)} {coordinate(y)}{head}" for x, y in ends)
    ET.SubElement(group, "path", {"class": "arrow", "d": heads})
    for one, box in zip(drawing.labels, drawing.places.labels, strict=True):
        _write_label(group, one, box, down=drawing.places.down)
    cards = zip(drawing.schematic.nodes, drawing.cards, drawing.places.boxes, strict=True)
    for number, (node, inside, box) in enumerate(cards):
        _write_card(group, node, inside, box, f"{prefix}-{number}")
    return group


def _write_label(group: ET.Element, one: Label, box: Box, *, down: bool) -> None:
    """Four lines at most; where the connection runs across, the first half above it and the rest below."""
    count = len(one.lines)
    upper = max(1, count // 2)
    for number, text in enumerate(one.lines):
        if down:
            base = box.middle - 8 * count + 12 + 16 * number
        elif number < upper:
            base = box.middle - 5 - 16 * (upper - 1 - number)
        else:
            base = box.middle + 14 + 16 * (number - upper)
        write_text(group, box.left, base, text, "soft")


def _write_card(group: ET.Element, node: Node, one: Card, box: Box, name: str) -> None:
    corner = f"translate({coordinate(box.left)} {coordinate(box.top)})"
    card = ET.SubElement(group, "g", {"id": name, "transform": corner})
    label = f", {xml_text(node.label)}" if node.label else ""
    ET.SubElement(card, "title").text = f"{xml_text(node.name)}: {KIND_WORDS[node.figure]}{label}"
    look = "card" + (" broken" if node.over else "") + ("" if node.solved else " unsolved")
    size = {"width": coordinate(box.width), "height": coordinate(box.height)}
    ET.SubElement(card, "rect", {"class": look, "rx": "4", **size})
    ET.SubElement(card, "path", {"class": "symbol", "transform": "translate(8 10)", "d": SYMBOLS[node.figure]})
    for line in one.lines:
        style = {"name": "name", "label": "label", "plain": "soft", "share": "over" if node.over else ""}[line.style]
        write_text(card, TEXT_LEFT, line.base, line.text, style)
    if one.bar is not None and node.share is not None:
        write_bar(card, TEXT_LEFT, one.bar, node.share)
    for mark in one.marks:
        _write_mark(card, mark.mark, mark.left, mark.top, mark.width, mark.words)


def write_bar(group: ET.Element, left: float, top: float, share: float) -> None:
    """A bar for a share of a limit: its length, against a stroke at the limit; past one and a half it is cut."""
    x, y, at = coordinate(left), coordinate(top), coordinate(left + AT_LIMIT)
    size = {"width": coordinate(min(share * AT_LIMIT, TEXT_WIDTH)), "height": coordinate(BAR)}
    ET.SubElement(group, "rect", {"class": "bar", "x": x, "y": y, **size})
    track = f"M{x} {y}h{coordinate(TEXT_WIDTH)}v{coordinate(BAR)}h-{coordinate(TEXT_WIDTH)}z"
    limit = f"M{at} {coordinate(top - 3)}v{coordinate(BAR + 6)}"
    ET.SubElement(group, "path", {"class": "track", "d": track})
    ET.SubElement(group, "path", {"class": "limit", "d": limit})


def _write_mark(card: ET.Element, mark: Mark, left: float, top: float, width: float, words: str) -> None:
    into = card if mark.target is None else ET.SubElement(card, "a", {"href": f"#{mark.target}"})
    size = {"width": coordinate(width), "height": "18", "rx": "3" if mark.kind == "error" else "9"}
    ET.SubElement(into, "rect", {"class": f"mark {mark.kind}", "x": coordinate(left), "y": coordinate(top), **size})
    write_text(into, left + 6, top + 13, words, f"mark-words {mark.kind}")
