"""The bar of a share: a stroke at the limit, hatched past it, and how many times the limit is reached."""

from xml.etree import ElementTree as ET

from lineshaft.write.drawing.cards import AT_LIMIT, BAR, TRACK
from lineshaft.write.drawing.ink import coordinate, write_text

_HATCH = 5.0


def write_bar(group: ET.Element, left: float, top: float, share: float, times: str = "") -> None:
    """A bar; past one and a half times the limit it is cut, which a jagged end shows."""
    x, y, at = coordinate(left), coordinate(top), left + AT_LIMIT
    inside = {"width": coordinate(min(share, 1.0) * AT_LIMIT), "height": coordinate(BAR)}
    ET.SubElement(group, "rect", {"class": "bar", "x": x, "y": y, **inside})
    end = left + min(share * AT_LIMIT, TRACK)
    cut = share * AT_LIMIT > TRACK
    jag = f"l4 {coordinate(BAR / 3)}l-8 {coordinate(BAR / 3)}l4 {coordinate(BAR / 3)}" if cut else f"v{coordinate(BAR)}"
    track = f"M{x} {y}h{coordinate(TRACK)}{jag}h-{coordinate(TRACK)}z"
    ET.SubElement(group, "path", {"class": "track", "d": track})
    if times:
        ET.SubElement(group, "path", {"class": "hatch", "d": _hatched(at, end, top)})
    limit = f"M{coordinate(at)} {coordinate(top - 3)}v{coordinate(BAR + 6)}"
    ET.SubElement(group, "path", {"class": "limit", "d": limit})
    if times:
        write_text(group, left + TRACK + 7, top + BAR, times, "times")


def _hatched(start: float, end: float, top: float) -> str:
    """Strokes that rise from left to right between two ends of a bar, clipped at both, and its edge."""
    strokes = []
    x = start - BAR
    while x < end:
        low, high = max(x, start), min(x + BAR, end)
        if high > low:
            strokes.append(
                f"M{coordinate(low)} {coordinate(top + BAR - (low - x))}L{coordinate(high)} "
                f"{coordinate(top + BAR - (high - x))}"
            )
        x += _HATCH
    edge = f"M{coordinate(start)} {coordinate(top)}H{coordinate(end)}V{coordinate(top + BAR)}H{coordinate(start)}"
    return "".join(strokes) + edge
