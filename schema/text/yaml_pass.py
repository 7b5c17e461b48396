"""What one pass over a file's events keeps and refuses: bounds, anchors, keys, tags, documents."""

import re
from array import array
from typing import TYPE_CHECKING, Final, NamedTuple, cast

from ruamel.yaml.events import AliasEvent, DocumentStartEvent, MappingStartEvent, ScalarEvent

from lineshaft.schema.text.faults import in_text
from lineshaft.schema.text.scalars import plain_scalar, tagged_scalar
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Plain

if TYPE_CHECKING:  # most files have none
    from lineshaft.schema.text.fault import Fault

_TAB_AFTER_COLON: Final = r"(?:[ \t\r\n]++|#[^\n]*+)*+: *\t"  # compiled only where a text has such tabs


class Bounds(NamedTuple):
    """What a file may cost: nodes written, nesting, aliases, and nodes when every alias is written out."""

    nodes: int = 2_000_000
    depth: int = 64
    aliases: int = 1_000


class StopReadingError(Exception):
    """Raised and caught while one text is read, to leave the loop with one fault."""

    def __init__(self, start: int, end: int, message: str, *, slip: bool = False) -> None:
        super().__init__(message)
        self.start, self.end, self.message, self.slip = start, end, message, slip


class Reading:
    """What one pass has gathered so far; with ``tabs`` the text may have a tab after the `:` of a key."""

    def __init__(self, source: SourceText, bounds: Bounds, swap: dict[int, str], tabs: bool = False) -> None:
        self.source, self.bounds, self.swap, self.tabs = source, bounds, swap, tabs
        self.starts, self.ends, self.sizes = array("I"), array("I"), array("I")
        self.anchors: dict[str, tuple[Plain, int]] = {}
        self.open_anchors: dict[str, int] = {}
        self.repeats: dict[int, list[int]] = {}  # by a mapping's node: which of its keys are repeated
        self.names: dict[str, str] = {}  # sound keys by their text, each kept once
        self.faults: list[Fault] = []
        self.aliases = self.extra = 0  # nodes that aliases add when written out


KEY_TEXT = "a key must be plain text on one line"


def too_many(most: int) -> str:
    """The words for a file of too many nodes."""
    return f"more than {most:,} nodes; split the file, or raise --max-nodes"


def document_start(event: DocumentStartEvent, documents: int) -> None:
    """Refuse a second document and another version of YAML."""
    start, end = event.start_mark.index, event.end_mark.index
    if documents > 1:
        raise StopReadingError(start, end, "a second document starts here; put it in a file of its own")
    if event.version is not None and tuple(event.version) != (1, 2):
        raise StopReadingError(start, end, "the file asks for another YAML version; rig files are YAML 1.2")


def opening(reading: Reading, event: MappingStartEvent, depth: int, is_mapping: bool) -> None:
    """Refuse a container that is nested too deep, one too many, or tagged; note its anchor."""
    start, end = event.start_mark.index, max(event.end_mark.index, event.start_mark.index + 1)
    if depth >= reading.bounds.depth:
        message = f"nested more than {reading.bounds.depth} deep; a rig file needs four levels"
        raise StopReadingError(start, end, message)
    if len(reading.starts) >= reading.bounds.nodes:
        raise StopReadingError(start, end, too_many(reading.bounds.nodes))
    if event.ctag is not None and str(event.tag) != f"tag:yaml.org,2002:{'map' if is_mapping else 'seq'}":
        raise StopReadingError(start, end, _foreign_tag(str(event.tag)))
    if event.anchor is not None:
        reading.open_anchors[event.anchor] = start


def _foreign_tag(tag: str) -> str:
    shown = tag if len(tag) <= 40 else tag[:39] + "…"
    return f"the tag {shown} is not allowed; write the value without it"


def mapping_key(reading: Reading, event: ScalarEvent, holder: object, node: int) -> str:
    """A key as text; a merge key is refused, a repeated key noted with both its lines."""
    start, end = event.start_mark.index, event.end_mark.index
    if start == end:
        raise StopReadingError(start, end, "there is no key before this `:`")
    _check_around(reading, start, end)
    if event.ctag is not None and str(event.tag) != "tag:yaml.org,2002:str":
        raise StopReadingError(start, end, _foreign_tag(str(event.tag)))
    name = str(event.value).translate(reading.swap) if reading.swap else str(event.value)
    if name == "<<" and not event.style:
        message = "merge keys are not YAML 1.2; write the keys out"
        raise StopReadingError(start, end, message)
    if event.anchor is not None:
        reading.anchors[event.anchor] = (name, 1)
    if isinstance(holder, dict) and name in holder and len(reading.faults) < 100:
        source = reading.source
        number, repeats = list(holder).index(name), reading.repeats.setdefault(node, [])
        for repeat in repeats:
            number += repeat <= number
        repeats.append(len(holder) + len(repeats))
        first = _key_node(reading, number, node)
        at = source.span(reading.starts[first], reading.ends[first])
        shown = name if len(name) <= 60 else name[:59] + "…"
        message = f"the key {shown!r} is here a second time; the first is on line {at.start.line}"
        fault = in_text("not-yaml", source, start, end, message)
        from lineshaft.schema.text.fault import Fault, Related

        related = (Related(source.shown, at, "the first one"),)
        reading.faults.append(Fault("not-yaml", fault.file, fault.span, (), message, None, related, slip=True))
    if name != "<<" and not reading.swap:
        reading.names[name] = name
    return name


def _check_around(reading: Reading, start: int, end: int) -> None:
    """Refuse what the parsers read otherwise than YAML 1.2.2, or than each other."""
    text = reading.source.text
    if start and text[start - 1] == "?":
        message = "`?` stands right before text, which parsers read in two ways; put it in quotes, or a space after it"
        raise StopReadingError(start - 1, start, message)
    if reading.tabs:
        tab = re.compile(_TAB_AFTER_COLON).match(text, end)
        if tab is not None:
            raise StopReadingError(tab.end() - 1, tab.end(), "a tab stands after `:`; write a space", slip=True)


def has_tab_after_colon(text: str) -> bool:
    """Whether a text has a tab after any `:`, be it that of a key or not."""
    return "\t" in text and re.search(":[ \t]*\t", text) is not None


def _key_node(reading: Reading, number: int, node: int) -> int:
    at = node + 1
    for _ in range(number):
        at += 1 + reading.sizes[at + 1]
    return at


def unusual_scalar(reading: Reading, event: ScalarEvent) -> Plain:
    """A scalar with a tag, or in a text with hidden characters."""
    text = str(event.value).translate(reading.swap) if reading.swap else str(event.value)
    if event.ctag is None:
        return plain_scalar(text) if not event.style else text
    resolved = tagged_scalar(str(event.tag), text)
    if resolved is NotImplemented:
        raise StopReadingError(event.start_mark.index, event.end_mark.index, _foreign_tag(str(event.tag)))
    return cast(Plain, resolved)


def alias_value(reading: Reading, event: AliasEvent, as_key: bool) -> Plain:
    """What an alias stands for; one that holds itself, or one too many, is refused."""
    start, end = event.start_mark.index, event.end_mark.index
    if as_key:
        raise StopReadingError(start, end, KEY_TEXT)
    opened = reading.open_anchors.get(event.anchor)
    if opened is not None:
        raise StopReadingError(opened, opened, f"the anchor {event.anchor!r} holds an alias of itself")
    if event.anchor not in reading.anchors:
        raise StopReadingError(start, end, f"no anchor {event.anchor!r} stands above this alias")
    reading.aliases += 1
    if reading.aliases > reading.bounds.aliases:
        raise StopReadingError(start, end, f"more than {reading.bounds.aliases:,} aliases; write the values out")
    value, size = reading.anchors[event.anchor]
    reading.extra += size
    if reading.extra + len(reading.starts) > reading.bounds.nodes:
        message = f"the aliases stand for more than {reading.bounds.nodes:,} nodes; write the values out"
        raise StopReadingError(start, end, message)
    return value
