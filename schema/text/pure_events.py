"""Events of a YAML text by the parser of ``ruamel.yaml`` that is written in Python.

It knows YAML 1.2 where libyaml stops at a `:` or `?` in flow text, and reads everything where there is no libyaml.
What the two see otherwise is made alike here: where empty values stand, that a document begins with its directives, and
that a lone surrogate is no character.
Its time grows with the length of a text alone, about 20 s for a mebibyte at worst.
"""

import re
from collections.abc import Callable
from typing import Any, Final

from ruamel.yaml.error import YAMLError
from ruamel.yaml.events import CollectionEndEvent, CollectionStartEvent, DocumentStartEvent, ScalarEvent

from lineshaft.schema.text.yaml_pass import StopReadingError

_TO_ITS_COLON: Final = re.compile(r"(?:[ \t\r\n]++|#[^\n]*+)*+:")
_TO_THE_NEXT: Final = re.compile(r"(?:[ \t\r\n]++|#[^\n]*+)*+")
_DIRECTIVE: Final = re.compile(r"^%", re.MULTILINE)
_FLOW_MARKS: Final = frozenset(",[]{}")
_NO_VALUE: Final = "`:` stands right before {mark}; write a space after it, or put the text in quotes"


class _Mark:
    """A place in the text."""

    __slots__ = ("index",)

    def __init__(self, index: int) -> None:
        self.index = index


def pure_events(text: str) -> Callable[[], Any]:
    """A function that gives the next event. It raises YAMLError and StopReadingError, and nothing else."""
    from ruamel.yaml import YAML  # takes long to load, and is seldom asked

    events = YAML(typ="safe", pure=True).parse(text)
    before = 0  # where the event before ended
    flow: list[bool] = []  # of each container that is open, whether it has brackets

    def next_event() -> Any:
        nonlocal before
        try:
            event = next(events)
        except (YAMLError, StopIteration):
            raise
        except (ArithmeticError, AssertionError, AttributeError, LookupError, TypeError, ValueError) as error:
            message = f"not YAML: what comes next cannot be read ({type(error).__name__})"
            raise StopReadingError(before, before, message) from error
        if isinstance(event, ScalarEvent):
            _made_alike(event, text, before, in_block=not flow or not flow[-1])
        elif isinstance(event, CollectionStartEvent):
            flow.append(bool(event.flow_style))
        elif isinstance(event, CollectionEndEvent):
            flow.pop()
        elif isinstance(event, DocumentStartEvent) and (event.version or event.tags):
            first = _DIRECTIVE.search(text, before, event.start_mark.index)
            event.start_mark = _Mark(first.start()) if first else event.start_mark
        before = event.end_mark.index
        return event

    return next_event


def _made_alike(event: Any, text: str, before: int, *, in_block: bool) -> None:
    start, end, value = event.start_mark.index, event.end_mark.index, event.value
    if event.style == '"':
        if any("\ud800" <= c <= "\udfff" for c in value):
            raise StopReadingError(start, end, "not YAML: an escape for half a character; write the whole one")
    elif event.style is None:
        if not value and start == end:
            found = _TO_ITS_COLON.match(text, before) if in_block else _TO_THE_NEXT.match(text, start)
            if found is not None:
                event.start_mark = event.end_mark = _Mark(found.end())
        elif value.endswith(":") and text[end : end + 1] in _FLOW_MARKS:
            # YAML 1.2.2, production 130: a `:` belongs to plain text only where more of it follows.
            raise StopReadingError(end - 1, end, _NO_VALUE.format(mark=f"`{text[end]}`"))
