"""The start-up as a film: a small drawing a step, what turns filled, what begins to turn ringed, what breaks marked."""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple
from xml.etree import ElementTree as ET

from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.report_model.record import Checklist, CheckStep
from lineshaft.report_model.schematic_record import Schematic
from lineshaft.write.drawing.geometry import Box, Placed, Points, Size
from lineshaft.write.drawing.ink import coordinate, write_text
from lineshaft.write.drawing.marks import nodes_by_name, tag
from lineshaft.write.drawing.picture_words import FIGURES, pictured
from lineshaft.write.drawing.placing import placed
from lineshaft.write.drawing.signs import write_sign
from lineshaft.write.drawing.text_width import shortened, text_width, wrapped
from lineshaft.write.escape import xml_text
from lineshaft.write.shown_units import Units, figures

MOST_FRAMES = 60
"""Steps that are shown; what comes after is counted."""
_NAMED = 12  # parts up to which each has its name
_CARD, _DOT = Size(104.0, 28.0), Size(30.0, 20.0)
_SMALL = 0.62  # a rig without names is drawn smaller
_TEXT = 12.0
_PAD = 14.0
_HEAD = 44.0
_LINE = 16.0
_LEAST = 190.0


class Frame(NamedTuple):
    """One step: what it does, its findings' tags, the parts (indices) that turn, begin to turn and break,
    and the one that is acted on.
    """

    number: int
    title: str
    tags: tuple[str, ...]
    turning: frozenset[int]
    fresh: frozenset[int]
    broken: Mapping[int, float]
    acts: int | None
    caption: str


class Film(NamedTuple):
    """The frames, and where the parts stand in each; ``left_out`` counts steps past the last frame."""

    frames: tuple[Frame, ...]
    names: tuple[str, ...]
    links: tuple[tuple[int, int], ...]
    places: Placed
    scale: float
    left_out: int

    @property
    def size(self) -> Size:
        """Width and height of a frame [px]."""
        wide = max(_LEAST, self.places.width * self.scale + 2 * _PAD)
        lines = max((len(_caption(frame, wide)) for frame in self.frames), default=1)
        return Size(wide, _HEAD + self.places.height * self.scale + 2 * _PAD + _LINE * lines)


def film_of(
    schematic: Schematic, checklist: Checklist, findings: Sequence[JudgedFinding], units: Units, most: int = MOST_FRAMES
) -> Film:
    """The film of a start-up; no frames where there is no list and no safe one."""
    numbers = nodes_by_name(schematic)
    small = len(schematic.nodes) > _NAMED
    links = tuple((link.source, link.target) for link in schematic.links)
    size = _DOT if small else _CARD
    places = placed([size] * len(schematic.nodes), links, [Size(0.0, 0.0)] * len(links))
    frames = tuple(_frames(checklist.steps[:most], numbers, {} if checklist.proposed else _tags(findings), units))
    names = () if small else tuple(node.name for node in schematic.nodes)
    return Film(frames, names, links, places, _SMALL if small else 1.0, len(checklist.steps) - len(frames))


def _tags(findings: Sequence[JudgedFinding]) -> Mapping[int, list[str]]:
    """The findings at each step of the list, by the step's number."""
    found: dict[int, list[str]] = {}
    for number, finding in enumerate(findings, 1):
        if finding.route[:1] == ("commissioning",) and len(finding.route) > 1 and isinstance(finding.route[1], int):
            found.setdefault(finding.route[1] + 1, []).append(tag(finding.level, number))
    return found


def _frames(
    steps: Sequence[CheckStep], numbers: Mapping[str, int], tags: Mapping[int, list[str]], units: Units
) -> Iterator[Frame]:
    turning: set[int] = set()
    for step in steps:
        fresh = {numbers[name] for name in step.turns if name in numbers}
        turning -= {numbers[name] for name in step.stops if name in numbers}
        turning |= fresh
        broken = {numbers[name]: times for name, times in reversed(step.broken) if name in numbers}
        found = tags.get(step.number, ())
        title = f"{step.number}. {pictured(step.does, units)}" + (f": {', '.join(found)}" if found else "")
        turns, begins, acts = frozenset(turning), frozenset(fresh), numbers.get(step.part)
        yield Frame(step.number, title, tuple(found), turns, begins, broken, acts, _said(step))


def _said(step: CheckStep) -> str:
    if step.broken:
        name, times = step.broken[0]
        more = f", and {len(step.broken) - 1} more" if len(step.broken) > 1 else ""
        return f"breaks: {name} at {figures(times, FIGURES)} times its limit{more}"
    if step.worst is not None and step.turning:
        return f"{step.turning} turn; at most {figures(step.share * 100, FIGURES)}\u00a0% of a limit, at {step.worst}"
    return f"{step.turning} turn" if step.turning else "nothing turns"


def write_frame(page: ET.Element, film: Film, frame: Frame) -> None:
    """One frame, its corner at 0, 0."""
    size = film.size
    look = "card broken" if frame.broken else "card"
    edge = {"width": coordinate(size.width), "height": coordinate(size.height), "rx": "4"}
    ET.SubElement(page, "rect", {"class": look, **edge})
    x = 10.0
    if frame.broken or frame.tags:
        write_sign(page, "error", x, 9, "alarm")
        x += 22
    for number, line in enumerate(wrapped(xml_text(frame.title), size.width - x - 8, 13, 2, bold=True)):
        write_text(page, x, 22 + 17 * number, line.replace("\u00a0", " "), "strong")
    middle = (size.width - film.places.width * film.scale) / 2
    place = f"translate({coordinate(middle)} {coordinate(_HEAD + _PAD)})"
    group = ET.SubElement(page, "g", {"transform": f"{place} scale({film.scale:g})"})
    for number, (source, target) in enumerate(film.links):
        turns = source in frame.turning and target in frame.turning
        look = "film-line turns" if turns else "film-line"
        ET.SubElement(group, "path", {"class": look, "d": _straight(film.places.lines[number])})
    for part, box in enumerate(film.places.boxes):
        _write_part(group, film, frame, part, box)
    base = size.height - 10
    lines = _caption(frame, size.width)
    for number, line in enumerate(lines):
        style = "over" if frame.broken else "soft"
        write_text(page, 10, base - _LINE * (len(lines) - 1 - number), line.replace("\u00a0", " "), style)


def _caption(frame: Frame, width: float) -> list[str]:
    return wrapped(xml_text(frame.caption), width - 20, _TEXT, 3, bold=bool(frame.broken)) or [""]


def _write_part(group: ET.Element, film: Film, frame: Frame, part: int, box: Box) -> None:
    turns, breaks = part in frame.turning, part in frame.broken
    acts = " acts" if part == frame.acts else ""
    look = "film-part" + (" breaks" if breaks else " turns" if turns else "") + acts
    size = {"x": coordinate(box.left), "y": coordinate(box.top), "width": coordinate(box.width)}
    ET.SubElement(group, "rect", {"class": look, **size, "height": coordinate(box.height), "rx": "3"})
    if part in frame.fresh and not breaks:
        ring = {"x": coordinate(box.left - 4), "y": coordinate(box.top - 4), "width": coordinate(box.width + 8)}
        ET.SubElement(group, "rect", {"class": "film-ring", **ring, "height": coordinate(box.height + 8), "rx": "6"})
    if film.names:
        times = f" {figures(frame.broken[part], FIGURES)}×" if breaks else ""
        room = box.width - 12 - text_width(times, _TEXT, bold=True)
        name = shortened(xml_text(film.names[part]), room, _TEXT, bold=True)
        style = "film-name" + (" on" if turns or breaks else "")
        write_text(group, box.left + 6, box.top + 18, name + times, style)
    elif breaks:
        cross = f"M{coordinate(box.left)} {coordinate(box.top)}l{coordinate(box.width)} {coordinate(box.height)}"
        cross += f"m0 -{coordinate(box.height)}l-{coordinate(box.width)} {coordinate(box.height)}"
        ET.SubElement(group, "path", {"class": "film-cross", "d": cross})


def _straight(points: Points) -> str:
    return "M" + "L".join(f"{coordinate(x)} {coordinate(y)}" for x, y in points)
