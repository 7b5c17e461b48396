"""What stands in the box of a part: lines of text with their places, the bar of its load, its findings; its size."""

from collections.abc import Sequence
from typing import Literal, NamedTuple

from lineshaft.report_model.schematic_record import Node
from lineshaft.write.drawing.geometry import Size
from lineshaft.write.drawing.marks import Mark
from lineshaft.write.drawing.picture_words import FIGURES, pictured, shown
from lineshaft.write.drawing.text_width import text_width, wrapped
from lineshaft.write.escape import xml_text
from lineshaft.write.shown_units import Units, figures

SMALLEST = 12.0
"""No text is smaller [px]."""
PLAIN = 13.0
NAME = 15.0
TEXT_LEFT = 54.0
TEXT_WIDTH = 186.0
WIDTH = TEXT_LEFT + TEXT_WIDTH + 10.0
BAR = 9.0
"""Height [px] of the bar of a share."""
TRACK = 132.0
"""Length [px] of the bar; the limit stands at two thirds, and what is past the end is cut."""
AT_LIMIT = TRACK * 2 / 3
SIGN_LINE = 16.0
_MOST_MARKS = 5
_LINE = 16.0

Style = Literal["name", "alike", "label", "plain", "share", "fact"]


class Line(NamedTuple):
    """A line of text in a card: its base line [px] from the top."""

    text: str
    style: Style
    base: float


class PlacedMark(NamedTuple):
    """A mark in a card: top and height [px] of its strip, where its text begins [px], its lines."""

    mark: Mark
    top: float
    height: float
    left: float
    lines: tuple[str, ...]


class Card(NamedTuple):
    """The inside of a part's box; ``bar`` is the top of the bar, none where there is no share to show."""

    lines: tuple[Line, ...]
    bar: float | None
    times: str
    marks: tuple[PlacedMark, ...]
    size: Size


def card(node: Node, marks: Sequence[Mark], units: Units) -> Card:
    """The card of a part."""
    lines: list[Line] = []
    y = 23.0
    for text in wrapped(xml_text(node.name), TEXT_WIDTH, NAME, 4, bold=True):
        lines.append(Line(text, "name", y))
        y += 18
    rows: list[tuple[Style, str]] = []
    if node.news:
        rows += [("alike", text) for text in wrapped(xml_text(node.news.upper()), TEXT_WIDTH, SMALLEST, 1, bold=True)]
    if node.alike > 1:
        said = xml_text(f"× {node.alike} alike: {', '.join(node.stands_for)}")
        rows += [("alike", text) for text in wrapped(said, TEXT_WIDTH, SMALLEST, 3, bold=True)]
    if node.label and node.label.strip():
        rows += [("label", text) for text in wrapped(xml_text(node.label), TEXT_WIDTH, SMALLEST, 2)]
    rows += [("plain", text) for text in wrapped(_item(node, units), TEXT_WIDTH, SMALLEST, 4)]
    for fact in node.facts:
        rows += [("fact", text) for text in wrapped(pictured(fact.words, units), TEXT_WIDTH, SMALLEST, 2)]
    told = node.over and any(mark.pair and mark.kind == "error" for mark in marks)
    if not told:  # else the strip of the finding says it
        rows += [("share", text) for text in wrapped(xml_text(load_words(node, units)), TEXT_WIDTH, SMALLEST, 2)]
    for style, text in rows:
        lines.append(Line(text, style, y))
        y += _LINE
    bar = y - 7 if node.share is not None else None
    y += BAR + 3 if bar is not None else -4
    over = f"{figures(node.share, FIGURES)}×" if node.share is not None and node.over else ""
    placed, y = _marks(node, marks, y)
    return Card(tuple(lines), bar, over, placed, Size(WIDTH, max(62.0, y + (0 if placed else 4))))


def _item(node: Node, units: Units) -> str:
    said = xml_text(node.item)
    does = pictured(node.does, units)
    if does not in ("gives", "takes", "passes on"):
        said = f"{said}, {does}"
    return said


def load_words(node: Node, units: Units) -> str:
    """For example `75 % of 1.2 kN·m`, `OVER at step 2: 2.7 kN·m of 1.2 kN·m`, `no limit`, `not solved`."""
    if not node.solved:
        return "not solved"
    if node.share is None:
        return "no limit"
    if node.load is None:
        return share_words(node)
    carried, limit = (shown(one, units) for one in node.load)
    if node.over:
        when = f" {node.when}" if node.when else ""
        return f"OVER{when}: {carried} of {limit}"
    if node.turns:
        return f"{figures(node.share * 100, FIGURES)}\u00a0% of {limit}"
    told = any(fact.words[:1] == ("at rest",) for fact in node.facts)
    return f"limit {limit}" if told else f"at rest; limit {limit}"


def share_words(node: Node) -> str:
    """For example `75 % of torque limit`, `225 % of torque limit at step 2: OVER`, `no limit`, `not solved`."""
    if not node.solved:
        return "not solved"
    if node.share is None:
        return "no limit"
    over = ": OVER" if node.over else ""
    when = f" {node.when}" if node.when else ""
    return f"{figures(node.share * 100, FIGURES)} % of {node.quantity} limit{when}{over}"


def _marks(node: Node, marks: Sequence[Mark], top: float) -> tuple[tuple[PlacedMark, ...], float]:
    """Marks below the rest, each a strip as wide as the card; those past the first few are counted in the last."""
    placed: list[PlacedMark] = []
    top = round(top + 2, 2)
    for at, mark in enumerate(marks[:_MOST_MARKS]):
        more = len(marks) - _MOST_MARKS if at == _MOST_MARKS - 1 else 0
        about = f"{mark.about}: " if mark.about else ""
        when = f" {node.when}" if mark.pair and node.over and node.when else ""
        said = xml_text(f"{about}{mark.words}{when}") + (f", and {more} more" if more > 0 else "")
        if mark.kind in ("waived", "snag"):
            said = f"{mark.kind}: {said}"
        left = max(TEXT_LEFT, 28 + text_width(mark.tag, PLAIN, bold=True) + 6)
        room = WIDTH - left - 8
        lines = tuple(wrapped(said, room, PLAIN if mark.kind == "error" else SMALLEST, 4, bold=mark.kind == "error"))
        height = max(1, len(lines)) * SIGN_LINE + 8
        placed.append(PlacedMark(mark, top, height, left, lines))
        top = round(top + height, 2)
    return tuple(placed), top
