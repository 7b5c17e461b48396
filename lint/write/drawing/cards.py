"""What stands in the box of a part and beside a connection: lines of text with their places, and how large it gets."""

from collections.abc import Sequence
from typing import Literal, NamedTuple

from lineshaft.check.finding import power, speed, torque
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.report_model.record import Link, Node
from lineshaft.write.drawing.layers import Size
from lineshaft.write.drawing.text_width import shortened, text_width, wrapped
from lineshaft.write.escape import xml_text
from lineshaft.write.shown_units import Units, figures, measure, words

SMALLEST = 12.0
"""No text is smaller [px]."""
NAME = 14.0
TEXT_LEFT = 56.0
TEXT_WIDTH = 174.0
WIDTH = TEXT_LEFT + TEXT_WIDTH + 8.0
BAR = 8.0
"""Height [px] of the bar of a share; its length for the limit is two thirds of ``TEXT_WIDTH``."""
AT_LIMIT = TEXT_WIDTH * 2 / 3
_MARK = 18.0
_MOST_MARKS = 6
_LINE = 16.0
_OUTLET = 120.0

Style = Literal["name", "label", "plain", "share"]
MarkKind = Literal["error", "warning", "note", "waived", "snag"]


class Mark(NamedTuple):
    """A finding at a part: its number in the list, its level or why it passes, and where a reader finds it."""

    number: int
    kind: MarkKind
    target: str | None = None


class Line(NamedTuple):
    """A line of text in a card: its base line [px] from the top."""

    text: str
    style: Style
    base: float


class PlacedMark(NamedTuple):
    """A mark in a card: left and top [px], width [px], its words."""

    mark: Mark
    left: float
    top: float
    width: float
    words: str


class Card(NamedTuple):
    """The inside of a part's box; ``bar`` is the top of the bar, none where there is no share to show."""

    lines: tuple[Line, ...]
    bar: float | None
    marks: tuple[PlacedMark, ...]
    size: Size


def card(node: Node, marks: Sequence[Mark], units: Units) -> Card:
    """The card of a part."""
    lines: list[Line] = []
    y = 22.0
    for text in wrapped(xml_text(node.name), TEXT_WIDTH, NAME, 5, bold=True):
        lines.append(Line(text, "name", y))
        y += 17
    rows: list[tuple[Style, str]] = [("label", text) for text in _label(node)]
    rows += [("plain", text) for text in wrapped(xml_text(node.item), TEXT_WIDTH, SMALLEST, 2)]
    rows += [("plain", text) for text in wrapped(xml_text(words(node.does, units)), TEXT_WIDTH, SMALLEST, 4)]
    rows += [("share", text) for text in wrapped(share_words(node), TEXT_WIDTH, SMALLEST, 2)]
    for style, text in rows:
        lines.append(Line(text, style, y))
        y += _LINE
    bar = y - 8 if node.share is not None else None
    y += BAR if bar is not None else -4
    placed, y = _marks(marks, y)
    return Card(tuple(lines), bar, placed, Size(WIDTH, max(60.0, y + 4)))


def share_words(node: Node) -> str:
    """For example `75 % of torque limit`, `187.5 % of torque limit at step 2: OVER`, `no limit`, `not solved`."""
    if not node.solved:
        return "not solved"
    if node.share is None:
        return "no limit"
    over = ": OVER" if node.over else ""
    when = f" {node.when}" if node.when else ""
    return f"{figures(node.share * 100)} % of {node.quantity} limit{when}{over}"


def mark_words(mark: Mark) -> str:
    """For example `1 error`, `2 waived`."""
    return f"{mark.number} {mark.kind}"


def mark_kind(finding: JudgedFinding) -> MarkKind:
    """The level of a finding that counts; `waived` or `snag` for one that does not."""
    if finding.waived is not None:
        return "waived"
    return "snag" if finding.snag is not None else finding.level


def _label(node: Node) -> list[str]:
    if not node.label or not node.label.strip():
        return []
    return wrapped(xml_text(node.label), TEXT_WIDTH, SMALLEST, 2)


def _marks(marks: Sequence[Mark], top: float) -> tuple[tuple[PlacedMark, ...], float]:
    """Marks in rows below the rest, and where the card goes on; those past the first few are counted in the last."""
    left = TEXT_LEFT
    placed: list[PlacedMark] = []
    for at, mark in enumerate(marks[:_MOST_MARKS]):
        more = len(marks) - _MOST_MARKS if at == _MOST_MARKS - 1 else 0
        text = mark_words(mark) + (f" and {more} more" if more > 0 else "")
        width = round(text_width(text, SMALLEST, bold=True) + 12, 2)
        if placed and left + width > TEXT_LEFT + TEXT_WIDTH:
            left, top = TEXT_LEFT, top + _MARK + 4
        placed.append(PlacedMark(mark, round(left, 2), top, width, text))
        left += width + 6
    return tuple(placed), top + _MARK + 4 if placed else top


class Label(NamedTuple):
    """What stands at a connection: the outlet where it is one of several, then torque, speed, power."""

    lines: tuple[str, ...]
    size: Size


def label(link: Link, source: Node, units: Units, *, ring: bool) -> Label:
    """The label of a connection; of one that closes a ring, where it comes from."""
    lines = _carried(link, units)
    if link.outlet is not None:
        lines = [shortened(xml_text(link.outlet), _OUTLET, SMALLEST), *lines]
    if ring:
        lines = [shortened(f"from {xml_text(source.name)}", _OUTLET, SMALLEST), "closes a ring"]
    width = max(text_width(line, SMALLEST) for line in lines)
    return Label(tuple(lines), Size(round(width, 2), 4 * _LINE))


def _carried(link: Link, units: Units) -> list[str]:
    if not link.solved:
        return ["not solved"]
    if link.torque == 0 and link.speed == 0:
        return ["at rest"]
    return [
        measure(torque(link.torque), units),
        measure(speed(link.speed), units),
        measure(power(link.torque * link.speed), units),
    ]
