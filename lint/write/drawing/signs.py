"""Signs of findings: a triangle for an error, a diamond for a warning, a ring for a note; and their strips in cards."""

from collections.abc import Mapping
from xml.etree import ElementTree as ET

from lineshaft.write.drawing.cards import SIGN_LINE, WIDTH, PlacedMark
from lineshaft.write.drawing.ink import coordinate, write_text
from lineshaft.write.drawing.marks import MarkKind

SIGNS: Mapping[MarkKind, str] = {
    "error": "M8 1L15.5 14.5H.5ZM8 5.5V10M8 12V12.6",
    "warning": "M8 .5L15.5 8L8 15.5L.5 8ZM8 4.5V9M8 11V11.6",
    "note": "M8 1A7 7 0 1 1 7.9 1ZM8 7V12M8 4.2V4.8",
    "waived": "M2 2H14V14H2ZM2 14L14 2",
    "snag": "M2 2H14V14H2ZM5 8H11",
}
"""Paths of 16 by 16 px, drawn without filling."""


def write_sign(group: ET.Element, kind: MarkKind, left: float, top: float, style: str = "") -> None:
    """A sign with its corner at ``left``, ``top``."""
    place = f"translate({coordinate(left)} {coordinate(top)})"
    ET.SubElement(group, "path", {"class": f"sign {style or kind}", "transform": place, "d": SIGNS[kind]})


def write_mark(card: ET.Element, placed: PlacedMark) -> None:
    """A finding in its card: sign, number, decisive words; a link where a reader is led to it."""
    mark = placed.mark
    into = card if mark.target is None else ET.SubElement(card, "a", {"href": f"#{mark.target}", "tabindex": "-1"})
    size = {"width": coordinate(WIDTH - 4), "height": coordinate(placed.height - 3), "rx": "2"}
    ET.SubElement(into, "rect", {"class": f"mark {mark.kind}", "x": "2", "y": coordinate(placed.top), **size})
    words = f"mark-words {mark.kind}"
    base = placed.top + 15
    write_sign(into, mark.kind, 8, placed.top + 2.5, f"on {mark.kind}")
    write_text(into, 28, base, mark.tag, f"{words} strong")
    for number, line in enumerate(placed.lines):
        style = f"{words} strong" if mark.kind == "error" else words
        write_text(into, placed.left, base + SIGN_LINE * number, line.replace("\u00a0", " "), style)
