"""Text to located tree: one pass over the events of the C parser of ``ruamel.yaml``, bounded before it builds.

YAML 1.2 in one document, the core schema, keys as text. Not allowed: tags other than the core ones, merge keys,
repeated keys, keys that are not text. One parser decides: without its C parser the reader refuses to work.
"""

import re
from array import array
from dataclasses import dataclass, field
from typing import Any, NamedTuple, cast

from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
    StreamEndEvent,
)

from lineshaft.schema.faults import Fault, Related, in_text
from lineshaft.schema.scalars import plain_scalar, tagged_scalar
from lineshaft.schema.span import TOP
from lineshaft.schema.text import SourceText
from lineshaft.schema.tree import Plain, Tree

try:
    from _ruamel_yaml import CParser
except ImportError:  # pragma: no cover - depends on the platform
    CParser = None


# YAML 1.2, production 1, c-printable, turned round
# (compiled only when a text has one: such wide ranges take milliseconds)
_NOT_PRINTABLE = "[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"


class Bounds(NamedTuple):
    """What a file may cost: nodes written, nesting, aliases, and nodes when every alias is written out."""

    nodes: int = 2_000_000
    depth: int = 64
    aliases: int = 1_000


class MissingParserError(RuntimeError):
    """The platform lacks the C parser; said once, at start, with what to install."""


class _StopReadingError(Exception):
    """Raised inside this module only, to leave the loop with one fault."""

    def __init__(self, start: int, end: int, message: str) -> None:
        super().__init__(message)
        self.start, self.end, self.message = start, end, message


@dataclass(slots=True)
class _Reading:
    """What one pass has gathered so far."""

    source: SourceText
    bounds: Bounds
    swap: dict[int, str]
    starts: "array[int]" = field(default_factory=lambda: array("I"))
    ends: "array[int]" = field(default_factory=lambda: array("I"))
    sizes: "array[int]" = field(default_factory=lambda: array("I"))
    anchors: dict[str, tuple[Plain, int]] = field(default_factory=dict)
    open_anchors: dict[str, int] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    aliases: int = 0
    extra: int = 0  # nodes that aliases add when written out


def read_yaml(source: SourceText, bounds: Bounds) -> Tree | tuple[Fault, ...]:
    """The tree of ``source``, or what is wrong with it as ``not-yaml`` faults (at least one)."""
    if CParser is None:  # pragma: no cover - depends on the platform
        raise MissingParserError("install ruamel.yaml[oldlibyaml]: the C parser of ruamel.yaml is missing")
    text, swap = _without_foreign_breaks(source.text)
    reading = _Reading(source, bounds, swap)
    try:
        data = _read(reading, text)
    except _StopReadingError as stop:
        return (*reading.faults, in_text("not-yaml", source, stop.start, stop.end, stop.message))
    except MarkedYAMLError as error:
        return (*reading.faults, _worded(source, error))
    except YAMLError as error:
        return (_unreadable(source, error),)
    if reading.faults:
        return tuple(reading.faults)
    return Tree(source, data, reading.starts, reading.ends, reading.sizes)


def _without_foreign_breaks(text: str) -> tuple[str, dict[int, str]]:
    """YAML 1.2 has no line break at NEL, LS and PS, the parser has: hide them behind unused characters."""
    foreign = [c for c in "\x85\u2028\u2029" if c in text]
    if not foreign:
        return text, {}
    unused = (chr(code) for code in range(0xE000, 0xF8FF) if chr(code) not in text)
    there = {ord(c): next(unused) for c in foreign}
    return text.translate(there), {ord(hidden): chr(c) for c, hidden in there.items()}


def _worded(source: SourceText, error: MarkedYAMLError) -> Fault:
    mark = error.problem_mark or error.context_mark
    at = min(mark.index, len(source.text)) if mark is not None else 0
    problem = str(error.problem or error.context or "not YAML")
    context = f" {error.context}" if error.context and error.problem else ""
    hint = ""
    if "cannot start any token" in problem and source.text[at : at + 1] == "\t":
        hint = "; indent with spaces, not with a tab"
    return in_text("not-yaml", source, at, at, f"not YAML: {problem}{context}{hint}")


def _unreadable(source: SourceText, error: YAMLError) -> Fault:
    found = re.search(_NOT_PRINTABLE, source.text)
    if found is None:
        return Fault("not-yaml", source.shown, TOP, (), f"not YAML: {type(error).__name__}")
    what = f"the character U+{ord(found.group()):04X} may not stand in YAML"
    message = f"{what}; remove it, or write it as an escape in double quotes"
    return in_text("not-yaml", source, found.start(), found.end(), message)


def _read(reading: _Reading, text: str) -> Plain:
    next_event = CParser(text).get_event
    starts, ends, sizes = reading.starts, reading.ends, reading.sizes
    add_start, add_end, add_size = starts.append, ends.append, sizes.append
    most = reading.bounds.nodes
    known: dict[str, Plain] = {}
    stack: list[tuple[dict[str, Plain] | list[Plain] | None, str | None, int, int, str | None, int]] = []
    holder: dict[str, Plain] | list[Plain] | None = None
    pairs = False  # holder is a mapping
    key: str | None = None
    node, last, anchor, extra = -1, -1, None, 0
    root: Plain = None
    value: Any
    documents = 0
    while True:
        event = next_event()
        kind = event.__class__
        if kind is ScalarEvent:
            last = len(starts)
            if last >= most:
                raise _StopReadingError(event.start_mark.index, event.end_mark.index, _too_many(most))
            add_start(event.start_mark.index)
            add_end(event.end_mark.index)
            add_size(1)
            value = event.value
            if pairs and key is None:
                key = _key(reading, event, holder, node)
                continue
            if event.ctag is not None or reading.swap:
                value = _unusual(reading, event)
            elif event.style == "":
                try:
                    value = known[value]
                except KeyError:
                    value = known[value] = plain_scalar(value)
            if event.anchor is not None:
                reading.anchors[event.anchor] = (value, 1)
        elif kind is MappingStartEvent or kind is SequenceStartEvent:
            if pairs and key is None:
                raise _StopReadingError(event.start_mark.index, event.end_mark.index, _KEY_TEXT)
            _opening(reading, event, len(stack), kind is MappingStartEvent)
            stack.append((holder, key, node, last, anchor, extra))
            node = last = len(starts)
            anchor, extra = event.anchor, reading.extra
            add_start(event.start_mark.index)
            add_end(event.end_mark.index)
            add_size(1)
            key = None
            pairs = kind is MappingStartEvent
            holder = {} if pairs else []
            continue
        elif kind is MappingEndEvent or kind is SequenceEndEvent:
            value = holder
            # A block ends where the next token starts; its text ends with its last child.
            flow = event.end_mark.index > event.start_mark.index
            ends[node] = event.end_mark.index if flow else max(ends[last], ends[node])
            sizes[node] = len(starts) - node
            if anchor is not None:
                del reading.open_anchors[anchor]
                reading.anchors[anchor] = (value, sizes[node] + reading.extra - extra)
            closed = node
            holder, key, node, last, anchor, extra = stack.pop()
            pairs = holder.__class__ is dict
            last = closed
        elif kind is AliasEvent:
            value = _alias(reading, event, pairs and key is None)
            last = len(starts)
            add_start(event.start_mark.index)
            add_end(event.end_mark.index)
            add_size(1)
        elif kind is DocumentStartEvent:
            documents += 1
            _document(event, documents)
            continue
        elif kind is StreamEndEvent:
            if not starts:
                add_start(0)
                add_end(0)
                add_size(1)
            return root
        else:
            continue
        if pairs:
            holder[key] = value  # type: ignore[index,call-overload]
            key = None
        elif holder is None:
            root = value
        else:
            holder.append(value)  # type: ignore[union-attr]


_KEY_TEXT = "a key must be plain text on one line"


def _too_many(most: int) -> str:
    return f"more than {most:,} nodes; split the file, or raise --max-nodes"


def _document(event: DocumentStartEvent, documents: int) -> None:
    start, end = event.start_mark.index, event.end_mark.index
    if documents > 1:
        raise _StopReadingError(start, end, "a second document starts here; put it in a file of its own")
    if event.version is not None and tuple(event.version) != (1, 2):
        raise _StopReadingError(start, end, "the file asks for another YAML version; rig files are YAML 1.2")


def _opening(reading: _Reading, event: MappingStartEvent, depth: int, is_mapping: bool) -> None:
    start, end = event.start_mark.index, max(event.end_mark.index, event.start_mark.index + 1)
    if depth >= reading.bounds.depth:
        message = f"nested more than {reading.bounds.depth} deep; a rig file needs four levels"
        raise _StopReadingError(start, end, message)
    if len(reading.starts) >= reading.bounds.nodes:
        raise _StopReadingError(start, end, _too_many(reading.bounds.nodes))
    if event.ctag is not None and str(event.tag) != f"tag:yaml.org,2002:{'map' if is_mapping else 'seq'}":
        raise _StopReadingError(start, end, _foreign_tag(str(event.tag)))
    if event.anchor is not None:
        reading.open_anchors[event.anchor] = start


def _foreign_tag(tag: str) -> str:
    shown = tag if len(tag) <= 40 else tag[:39] + "…"
    return f"the tag {shown} is not allowed; write the value without it"


def _key(reading: _Reading, event: ScalarEvent, holder: object, node: int) -> str:
    start, end = event.start_mark.index, event.end_mark.index
    if event.ctag is not None and str(event.tag) != "tag:yaml.org,2002:str":
        raise _StopReadingError(start, end, _foreign_tag(str(event.tag)))
    name = str(event.value).translate(reading.swap) if reading.swap else str(event.value)
    if name == "<<" and event.style == "":
        message = "merge keys are not YAML 1.2; write the keys out"
        raise _StopReadingError(start, end, message)
    if event.anchor is not None:
        reading.anchors[event.anchor] = (name, 1)
    if isinstance(holder, dict) and name in holder and len(reading.faults) < 100:
        source = reading.source
        first = _key_node(reading, list(holder).index(name), node)
        at = source.span(reading.starts[first], reading.ends[first])
        shown = name if len(name) <= 60 else name[:59] + "…"
        message = f"the key {shown!r} is here a second time; the first is on line {at.start.line}"
        fault = in_text("not-yaml", source, start, end, message)
        related = (Related(source.shown, at, "the first one"),)
        reading.faults.append(Fault("not-yaml", fault.file, fault.span, (), message, None, related))
    return name


def _key_node(reading: _Reading, number: int, node: int) -> int:
    at = node + 1
    for _ in range(number):
        at += 1 + reading.sizes[at + 1]
    return at


def _unusual(reading: _Reading, event: ScalarEvent) -> Plain:
    """A scalar with a tag, or in a text with hidden characters."""
    text = str(event.value).translate(reading.swap) if reading.swap else str(event.value)
    if event.ctag is None:
        return plain_scalar(text) if event.style == "" else text
    resolved = tagged_scalar(str(event.tag), text)
    if resolved is NotImplemented:
        raise _StopReadingError(event.start_mark.index, event.end_mark.index, _foreign_tag(str(event.tag)))
    return cast(Plain, resolved)


def _alias(reading: _Reading, event: AliasEvent, as_key: bool) -> Plain:
    start, end = event.start_mark.index, event.end_mark.index
    if as_key:
        raise _StopReadingError(start, end, _KEY_TEXT)
    opened = reading.open_anchors.get(event.anchor)
    if opened is not None:
        raise _StopReadingError(opened, opened, f"the anchor {event.anchor!r} holds an alias of itself")
    if event.anchor not in reading.anchors:
        raise _StopReadingError(start, end, f"no anchor {event.anchor!r} stands above this alias")
    reading.aliases += 1
    if reading.aliases > reading.bounds.aliases:
        raise _StopReadingError(start, end, f"more than {reading.bounds.aliases:,} aliases; write the values out")
    value, size = reading.anchors[event.anchor]
    reading.extra += size
    if reading.extra + len(reading.starts) > reading.bounds.nodes:
        message = f"the aliases stand for more than {reading.bounds.nodes:,} nodes; write the values out"
        raise _StopReadingError(start, end, message)
    return value
