"""What is left of a file with faults of form, so that one run tells the other faults as well.

Whatever is faulty is left out, entry by entry, and its name remembered: what follows from its absence is no fault.
Text that is no YAML is blanked where it stands, which moves nothing else, and read again, a few times at most.
"""

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

from lineshaft.schema.text.fault import Fault
from lineshaft.schema.text.faults import at_key, at_value
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Plain, Tree
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.schema.text.yaml_reader import read_yaml
from lineshaft.schema.validation.conformity import misfits
from lineshaft.schema.validation.schemas import Kind
from lineshaft.schema.validation.slipped_keys import name_meant

MOST_READINGS: Final = 24
"""How often a text is read again without what is no YAML in it."""
MOST_PRUNINGS: Final = 8
MOST_CHARACTERS: Final = 1024 * 1024
"""Characters that are read again, all readings of a text together."""
_BLANKS: Final = " \t\u00a0\u2007\u202f"
_ENTRY: Final = re.compile(rf"""[{_BLANKS}]*(?:(-)(?:[ ]|$)|["']?([A-Za-z0-9_][A-Za-z0-9_./-]*))""")


class Remains(NamedTuple):
    """The tree without what is faulty; none where too little is left. Faults of form, and what was left out.

    ``gone`` are routes, ``names`` those of entries that lack something.
    """

    tree: Tree | None
    faults: tuple[Fault, ...]
    gone: tuple[Route, ...] = ()
    names: frozenset[str] = frozenset()

    def telling(self, found: Iterable[Fault], others: frozenset[str] = frozenset()) -> tuple[Fault, ...]:
        """Those of the faults that what is left has which do not follow from what is not; ``others`` are gone too."""
        names = self.names | others
        return tuple(fault for fault in found if not self._follows(fault, names))

    def _follows(self, fault: Fault, names: frozenset[str]) -> bool:
        tree, route = self.tree, fault.route
        if tree is None or fault.file != tree.source.shown:
            return False
        if any(route[: len(out)] == out or (len(route) > 1 and out[: len(route)] == route) for out in self.gone):
            return True
        if fault.rule == "not-schema":
            return False
        return _hangs_on(tree.data, fault, names) or _names_a_part_of_none(tree.data, fault)


def remains_of(source: SourceText, kind: Kind, bounds: Bounds) -> Remains:
    """What is left of a file that does not read or does not fit its schema."""
    tree, faults, lines = _readable(source, bounds)
    if tree is None:
        return Remains(None, faults)
    shape = tuple(
        (at_key if misfit.at_key else at_value)("not-schema", tree, misfit.route, misfit.message)
        for misfit in misfits(kind, tree.data)
    )
    faults += tuple(fault for fault in shape if fault.span.start.line not in lines)
    data, gone = _pruned(tree.data, kind)
    if data is None:
        return Remains(None, faults)
    found = {route[min(len(route), 2) - 1] for route in gone}
    names = {name_meant(name.strip(_BLANKS)) for name in found if isinstance(name, str)}
    return Remains(replace(tree, data=data, layout=tree.data), faults, gone, frozenset(names))


def _readable(source: SourceText, bounds: Bounds) -> tuple[Tree | None, tuple[Fault, ...], frozenset[int]]:
    """A text with lines blanked until it reads; every fault on the way, and the numbers of those lines."""
    text = source.text
    faults: list[Fault] = []
    blanked: set[int] = set()
    for _ in range(min(MOST_READINGS, 1 + MOST_CHARACTERS // (len(text) + 1))):
        found = read_yaml(SourceText(source.path, source.shown, text), bounds)
        if isinstance(found, Tree):
            return found, tuple(faults), frozenset(blanked)
        fresh = [fault for fault in found if fault.span.start.line not in blanked]
        faults += fresh
        lines = text.split("\n")
        if not fresh or not all(fault.slip for fault in fresh):
            break
        for fault in fresh:
            blanked |= _blank(lines, fault, blanked)
        text = "\n".join(lines)
    return None, tuple(faults), frozenset(blanked)


@dataclass(frozen=True, slots=True)
class _Section:
    """The lines of a text between two keys at the left margin, and the column at which the entries there begin."""

    first: int
    last: int
    column: int


def _section(lines: list[str], number: int) -> _Section:
    first = next((n for n in range(number - 1, -1, -1) if _column(lines[n]) == 0), -1) + 1
    last = next((n for n in range(number + 1, len(lines)) if _column(lines[n]) == 0), len(lines))
    columns = Counter(_column(lines[n]) for n in range(first, last) if _column(lines[n]) and _ENTRY.match(lines[n]))
    common = [column for column, many in columns.items() if many > 1]
    return _Section(first, last, min(common or columns, default=2))


def _column(line: str) -> int:
    """The column at which a line begins, from 0; -1 for an empty line or a comment."""
    words = line.lstrip(_BLANKS)
    return -1 if not words or words[0] == "#" else len(line) - len(words)


def _blank(lines: list[str], fault: Fault, before: set[int]) -> set[int]:
    """Blank the entry in which a fault stands, but its name; the numbers of its lines, from 1, as those ``before``."""
    number = fault.span.start.line - 1
    if fault.related and fault.span.start.column == _column(lines[number]) + 1:
        return _blanked(lines, number, _end(lines, number, _column(lines[number])), "")  # a name for the second time
    if _column(lines[number]) == 0:
        return _blanked(lines, number, number + 1, _name(lines[number]))
    section = _section(lines, number)
    at = _column(lines[number])
    beside = [_column(line) for line in (*lines[max(number - 1, 0) : number], *lines[number + 1 : number + 2])]
    if at > section.column + 1 and at in beside and _ENTRY.match(lines[number]):
        return _blanked(lines, number, number + 1, " " * at + _name(lines[number]))
    first = number
    above = lines[number - 1].rstrip() if number > section.first and number not in before else ""
    if lines[number].strip(" ")[:1] in _BLANKS and above.endswith(":"):
        first -= 1  # what a tab or the like stands before is the value of the line above
    while first > section.first and not -1 < _column(lines[first]) <= section.column + 1:
        first -= 1
    last = min(_end(lines, first, section.column + 1), section.last)
    return _blanked(lines, first, max(last, number + 1), " " * section.column + _name(lines[first]))


def _end(lines: list[str], first: int, column: int) -> int:
    """The line behind those that stand further right than a column, from the one behind ``first`` on."""
    return next((n for n in range(first + 1, len(lines)) if -1 < _column(lines[n]) <= column), len(lines))


def _name(line: str) -> str:
    found = _ENTRY.match(line)
    if found is None:
        return ""
    return "-" if found.group(1) else f"{found.group(2)}:"


def _blanked(lines: list[str], first: int, last: int, instead: str) -> set[int]:
    lines[first:last] = [instead, *("" for _ in range(first + 1, last))]
    return set(range(first + 1, last + 1))


def _pruned(data: Plain, kind: Kind) -> tuple[Plain, tuple[Route, ...]]:
    """Data without what does not fit, and the routes that were left out; no data where too little is left."""
    gone: list[Route] = []
    for _ in range(MOST_PRUNINGS):
        inner = [route for misfit in misfits(kind, data) for route in (misfit.route, *misfit.beside) if route]
        if not inner:
            return data if isinstance(data, dict) else None, tuple(gone)
        faulty = {route[:2] for route in inner}
        fresh: list[Route] = []
        for route in inner:
            if not any(route[: len(out)] == out for out in fresh):  # else it went with what it is a part of
                data, out = _stood_in_for(data, route, faulty) or _without(data, route)
                fresh.append(out)
        gone += fresh
    return None, tuple(gone)


def _stood_in_for(data: Plain, route: Route, faulty: set[Route]) -> tuple[Plain, Route] | None:
    """Data with a sound entry of the same list in place of the one that a route leads to; none where there is none.

    So the others keep their numbers; what is found wrong with the stand-in follows from what is gone.
    """
    section, *rest = route
    entries = data.get(str(section)) if isinstance(data, dict) else None
    if len(rest) != 1 or not isinstance(data, dict) or not isinstance(entries, list):
        return None
    numbered = enumerate(entries)
    sound = next((entry for n, entry in numbered if isinstance(entry, dict) and (section, n) not in faulty), None)
    if sound is None:
        return None
    return {**data, str(section): [sound if n == rest[0] else entry for n, entry in enumerate(entries)]}, route


def _without(data: Plain, route: Route) -> tuple[Plain, Route]:
    """Data without what a route leads to, or without the list whose entry it is; and the route that is gone."""
    step, rest = route[0], route[1:]
    if isinstance(data, dict) and step in data:
        name = str(step)
        if not rest:
            return {key: value for key, value in data.items() if key != name}, route
        inner, out = _without(data[name], rest)
        if not out:
            return {key: value for key, value in data.items() if key != name}, (step,)
        return {**data, name: inner}, (step, *out)
    if rest and isinstance(data, list) and isinstance(step, int) and isinstance(data[step], dict):
        inner, out = _without(data[step], rest)
        return [*data[:step], inner, *data[step + 1 :]], (step, *out)
    return data, ()


def _names_a_part_of_none(data: Plain, fault: Fault) -> bool:
    """Whether a fault is that a part is not there, where no parts are left at all."""
    route = fault.route
    of_running = route[:1] in (("commissioning",), ("readings",), ("waivers",), ("lubrication",))
    lacks_all = isinstance(data, dict) and not data.get("parts")
    return lacks_all and of_running and fault.rule == "unknown-reference" and route[-1:] != ("lubricant",)


def _hangs_on(data: Plain, fault: Fault, names: frozenset[str]) -> bool:
    """Whether a fault names what is left out, or is about a part whose item is."""
    route = fault.route
    here: Plain = data
    item: Plain = None
    for step in route:
        if isinstance(here, dict):
            item = here.get("item", item)
            here = here.get(str(step))
        else:
            here = here[step] if isinstance(here, list) and isinstance(step, int) and step < len(here) else None
    if isinstance(item, str) and item in names and (fault.rule == "not-offered" or route[-1:] == ("head",)):
        return True
    if fault.rule == "bad-quantity":
        return False
    written = [str(step) for step in route[-1:]] + ([here] if isinstance(here, str) else [])
    return any(name in names for text in written for name in (text, text.partition(".")[0], text.partition("/")[0]))
