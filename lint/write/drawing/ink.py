"""The two things that everything drawn is made of: coordinates as text, and pieces of text."""

from xml.etree import ElementTree as ET


def coordinate(value: float) -> str:
    """A coordinate [px] with at most one decimal: the same bytes on every machine."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def write_text(group: ET.Element, x: float, y: float, text: str, style: str = "") -> ET.Element:
    """A line of text that begins at ``x`` on the base line ``y``; escaped by the serializer."""
    attributes = {"x": coordinate(x), "y": coordinate(y)}
    element = ET.SubElement(group, "text", {**attributes, "class": style} if style else attributes)
    element.text = text
    return element
