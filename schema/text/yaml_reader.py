"""Text to located tree: one pass over the events of a parser of ``ruamel.yaml``, bounded before it builds.

YAML 1.2 in one document, the core schema, keys as text. Not allowed: tags other than the core ones, merge keys,
repeated keys, keys that are not text, a tab after `:`, a `:` right before `}`. libyaml reads; where it stops at a `:`
or `?` in flow text that YAML 1.2.2 allows, and where it is not installed, the parser written in Python does.
"""

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final

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

from lineshaft.schema.text.faults import in_text
from lineshaft.schema.text.scalars import plain_scalar
from lineshaft.schema.text.span import TOP
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Plain, Tree
from lineshaft.schema.text.yaml_pass import (
    KEY_TEXT,
    Bounds,
    Reading,
    StopReadingError,
    alias_value,
    document_start,
    has_tab_after_colon,
    mapping_key,
    opening,
    too_many,
    unusual_scalar,
)

if TYPE_CHECKING:  # most files have none
    from lineshaft.schema.text.fault import Fault

try:
    from _ruamel_yaml import CParser
except ImportError:  # pragma: no cover - depends on the platform
    CParser = None

MOST_READ_AGAIN: Final = 256 * 1024
"""Characters of a text that is read once more where libyaml stopped."""
_ESCAPE: Final = (
    "a backslash in double quotes begins an escape, and there is none like this; put the text in single quotes"
)
_FLOW_PROBLEMS: Final = ("found unexpected ':'", "did not find expected ',' or", "did not find expected node content")

# YAML 1.2, production 1, c-printable, turned round
# (compiled only when a text has one: such wide ranges take milliseconds)
_NOT_PRINTABLE = "[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"


def read_yaml(source: SourceText, bounds: Bounds) -> Tree | tuple["Fault", ...]:
    """The tree of ``source``, or what is wrong with it as ``not-yaml`` faults (at least one)."""
    return _read_by(CParser, source, bounds)


def _read_by(parser: Any, source: SourceText, bounds: Bounds) -> Tree | tuple["Fault", ...]:
    """What one parser makes of a text: libyaml's, or (none) the one written in Python."""
    text, swap = _without_foreign_breaks(source.text)
    reading = Reading(source, bounds, swap, has_tab_after_colon(text))
    try:
        mark = f"\n{text}".find("\n\ufeff") if "\ufeff" in text else -1
        if mark >= 0:  # in YAML 1.2.2 (5.2) a mark of its own begins a document, which parsers see in two ways
            raise StopReadingError(mark, mark + 1, "a byte order mark stands here inside the file; remove it")
        data = _read(reading, _events(parser, text))
    except StopReadingError as stop:
        found = in_text("not-yaml", source, stop.start, stop.end, stop.message)
        return (*reading.faults, found._replace(slip=stop.slip))
    except MarkedYAMLError as error:
        if parser is not None and _stopped_in_flow(error, text) and len(text) <= MOST_READ_AGAIN:
            return _read_by(None, source, bounds)
        return (*reading.faults, _worded(source, error))
    except YAMLError as error:
        return (_unreadable(source, error),)
    if reading.faults:
        return tuple(reading.faults)
    return Tree(source, data, reading.starts, reading.ends, reading.sizes)


def _events(parser: Any, text: str) -> Callable[[], Any]:
    if parser is not None:
        return parser(text).get_event  # type: ignore[no-any-return]
    from lineshaft.schema.text.pure_events import pure_events

    return pure_events(text)


def _stopped_in_flow(error: MarkedYAMLError, text: str) -> bool:
    """Whether libyaml stopped at a `:` or `?` inside brackets."""
    mark = error.problem_mark
    if mark is None or text[mark.index : mark.index + 1] not in (":", "?"):
        return False
    return any(words in str(error.problem) for words in _FLOW_PROBLEMS)


def _without_foreign_breaks(text: str) -> tuple[str, dict[int, str]]:
    """YAML 1.2 has no line break at NEL, LS and PS, the parser has: hide them behind unused characters."""
    foreign = [c for c in "\x85\u2028\u2029" if c in text]
    if not foreign:
        return text, {}
    digits = text.lower()  # an escape in the text may stand for an unused character too
    unused = (chr(c) for c in range(0xE000, 0xF8FF) if chr(c) not in text and f"{c:x}" not in digits)
    there = {ord(c): next(unused) for c in foreign}
    return text.translate(there), {ord(hidden): chr(c) for c, hidden in there.items()}


def _worded(source: SourceText, error: MarkedYAMLError) -> "Fault":
    mark = error.problem_mark or error.context_mark
    at = min(mark.index, len(source.text)) if mark is not None else 0
    from lineshaft.schema.text.slips import first_slip  # only where a file is faulty

    slip = first_slip(source.text, at)
    if slip is not None:
        return in_text("not-yaml", source, slip.start, slip.end, slip.message)._replace(slip=True)
    problem = str(error.problem or error.context or "not YAML")
    context = f" {error.context}" if error.context and error.problem else ""
    hint = ""
    if "cannot start any token" in problem and source.text[at : at + 1] == "\t":
        hint = "; indent with spaces, not with a tab"
    elif "unknown escape" in problem:
        at -= source.text[at - 1] == "\\"  # one of the parsers stops behind it
        return in_text("not-yaml", source, at, at + 1, _ESCAPE)
    elif _stopped_in_flow(error, source.text):
        hint = "; inside brackets put text with `:` or `?` in quotes"
    return in_text("not-yaml", source, at, at, f"not YAML: {problem}{context}{hint}")


def _unreadable(source: SourceText, error: YAMLError) -> "Fault":
    found = re.search(_NOT_PRINTABLE, source.text)
    if found is None:  # pragma: no cover - a libyaml that refuses what YAML allows
        from lineshaft.schema.text.fault import Fault

        return Fault("not-yaml", source.shown, TOP, (), f"not YAML: {type(error).__name__}")
    what = f"the character U+{ord(found.group()):04X} may not stand in YAML"
    message = f"{what}; remove it, or write it as an escape in double quotes"
    return in_text("not-yaml", source, found.start(), found.end(), message)


def _read(reading: Reading, next_event: Callable[[], Any]) -> Plain:
    starts, ends, sizes = reading.starts, reading.ends, reading.sizes
    add_start, add_end, add_size = starts.append, ends.append, sizes.append
    most = reading.bounds.nodes
    text = reading.source.text
    known: dict[str, Plain] = {}
    names = reading.names
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
            start, end, last = event.start_mark.index, event.end_mark.index, len(starts)
            if last >= most:
                raise StopReadingError(start, end, too_many(most))
            add_start(start)
            add_end(end)
            add_size(1)
            value = event.value
            if pairs and key is None:
                key = names.get(value)
                # A key that was found sound before is so again, unless something about this one is out of the way.
                odd = event.ctag is not None or event.anchor is not None or start == end or text[start - 1] == "?"
                if key is None or odd or key in holder or reading.tabs:  # type: ignore[operator]
                    key = mapping_key(reading, event, holder, node)
                continue
            if event.ctag is not None or reading.swap:
                value = unusual_scalar(reading, event)
            elif not event.style:
                try:
                    value = known[value]
                except KeyError:
                    value = known[value] = plain_scalar(names.get(value, value))
            if event.anchor is not None:
                reading.anchors[event.anchor] = (value, 1)
        elif kind is MappingStartEvent or kind is SequenceStartEvent:
            if pairs and key is None:
                raise StopReadingError(event.start_mark.index, event.end_mark.index, KEY_TEXT)
            opening(reading, event, len(stack), kind is MappingStartEvent)
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
                # Gone already where a node inside bears the same name.
                reading.open_anchors.pop(anchor, None)
                reading.anchors[anchor] = (value, sizes[node] + reading.extra - extra)
            closed = node
            holder, key, node, last, anchor, extra = stack.pop()
            pairs = holder.__class__ is dict
            last = closed
        elif kind is AliasEvent:
            value = alias_value(reading, event, pairs and key is None)
            last = len(starts)
            add_start(event.start_mark.index)
            add_end(event.end_mark.index)
            add_size(1)
        elif kind is DocumentStartEvent:
            documents += 1
            document_start(event, documents)
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
