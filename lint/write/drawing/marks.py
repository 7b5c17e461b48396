"""Findings as a drawing shows them: a sign and number at each part at fault, the decisive pair, the path to it.

A finding stands at its own part, and where something else breaks because of it at that part too.
"""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Literal, NamedTuple

from lineshaft.check.finding import Measure, value_of
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.level import Level
from lineshaft.report_model.schematic_record import Schematic
from lineshaft.write.drawing.picture_words import pictured, shown
from lineshaft.write.shown_units import Units

MarkKind = Literal["error", "warning", "note", "waived", "snag"]
MOST_PATHS = 100
"""Errors whose path is drawn, the first of the list: where more is wrong, everything is."""
_BLANK = "\u00a0"
_LETTERS: Mapping[Level, str] = {"error": "E", "warning": "W", "note": "N"}
_PAIRS = (  # what is, what should be, the words before, between and behind
    ("torque", "torque_needed", "", " of ", " needed"),
    ("speed", "speed_needed", "", " of ", " needed"),
    ("power", "power_needed", "", " of ", " needed"),
    ("torque", "torque_up_to", "", " of ", " promised"),
    ("speed", "speed_up_to", "", " of ", " promised"),
    ("torque_read", "torque", "read ", " ≠ ", ""),
    ("speed_read", "speed", "read ", " ≠ ", ""),
    ("margin", "margin_wanted", "margin ", ", wanted ", ""),
    ("time", "time_wanted", "", ", wanted ", ""),
    ("charge", "holds", "", " of ", ""),
    ("parts", "parts_allowed", "", " of ", " parts"),
    ("worth", "worth_allowed", "worth ", " of ", ""),
)


class Mark(NamedTuple):
    """A finding at a part: its number in the list, level, why it passes if it does, words, and where a reader finds it.

    ``here`` tells that this is the part which breaks, not the one that the finding is about. ``pair`` tells that the
    words are what it carries of its limit. ``about`` is the part, where another one stands for it.
    """

    number: int
    level: Level
    kind: MarkKind
    words: str
    target: str | None = None
    here: bool = False
    pair: bool = False
    about: str = ""

    @property
    def tag(self) -> str:
        """For example `E1`, `W2`."""
        return tag(self.level, self.number)


class Marks(NamedTuple):
    """The marks at parts by index and at circuits by name, the gravest first; the links on a path to an error."""

    at: Mapping[int, Sequence[Mark]]
    path: frozenset[int] = frozenset()
    circuits: Mapping[str, Sequence[Mark]] = MappingProxyType({})


def tag(level: Level, number: int) -> str:
    """What finding ``number`` is called in pictures and lists: `E1`, an error; `W2`, a warning; `N3`, a note."""
    return f"{_LETTERS[level]}{number}"


def mark_kind(finding: JudgedFinding) -> MarkKind:
    """The level of a finding that counts; `waived` or `snag` for one that does not."""
    if finding.waived is not None:
        return "waived"
    return "snag" if finding.snag is not None else finding.level


def nodes_by_name(schematic: Schematic) -> dict[str, int]:
    """The node of each part; for a blueprint in place (`leg`) the first of its parts (`leg/step`)."""
    found = {node.name: number for number, node in enumerate(schematic.nodes)}
    for number, node in enumerate(schematic.nodes):
        for name in node.stands_for:
            found.setdefault(name, number)
        for at, sign in enumerate(node.name):
            if sign == "/":
                found.setdefault(node.name[:at], number)
    return found


def marked(
    schematic: Schematic, findings: Sequence[JudgedFinding], units: Units = "si", target: str | None = None
) -> Marks:
    """The marks of findings, numbered from 1 in the list's order; linked to ``TARGET-number``.

    Findings that are told as one have one number, at each of their parts.
    """
    marking = _Marking(schematic, units)
    for number, told_once in enumerate(findings, 1):
        where = None if target is None else f"{target}-{number}"
        mark = Mark(number, told_once.level, mark_kind(told_once), "", where)
        for finding in told_once.alike or (told_once,):
            marking.add(finding, mark)
    ordered = {node: sorted(found, key=_rank) for node, found in marking.at.items()}
    return Marks(ordered, frozenset(marking.path), marking.circuits)


class _Marking:
    """The marks as they come together."""

    def __init__(self, schematic: Schematic, units: Units) -> None:
        self.schematic, self.units = schematic, units
        self.numbers, self.ways = nodes_by_name(schematic), _Ways(schematic)
        self.at: dict[int, list[Mark]] = {}
        self.circuits: dict[str, list[Mark]] = {}
        self.path: set[int] = set()
        self.paths = 0

    def add(self, finding: JudgedFinding, mark: Mark) -> None:
        """Mark the part of a finding, the part that breaks because of it, its circuit and its path."""
        part = finding.home[1]
        home = None if part is None else self.numbers.get(part)
        breaks = _breaks(finding, self.numbers)
        pair, first = decisive(finding, self.units), first_clause(finding, self.units)
        counted = "times_limit" in dict(finding.values)
        if home is not None:
            about = part or "" if part != self.schematic.nodes[home].name else ""
            own = breaks in (None, home)
            self._put(home, mark._replace(words=pair if own else first, pair=counted and own, about=about))
        if breaks is not None and breaks != home:
            self._put(breaks, mark._replace(words=pair, here=True, pair=True))
        if finding.route[:1] == ("lubrication",) and len(finding.route) > 1:
            said = first if home is not None else pair
            self.circuits.setdefault(str(finding.route[1]), []).append(mark._replace(words=said))
        end = home if breaks is None else breaks
        if finding.level == "error" and not finding.passes and end is not None and self.paths < MOST_PATHS:
            self.paths += 1
            self.path |= self.ways.to(end, _causes(finding, self.numbers))

    def _put(self, node: int, mark: Mark) -> None:
        found = self.at.setdefault(node, [])
        if mark not in found:
            found.append(mark)


def decisive(finding: JudgedFinding, units: Units) -> str:
    """The pair that decides, for example `144 of 150 N·m needed`, `16 ≠ 8 rad/s`; else the message's first words."""
    values = dict(finding.values)
    if "limit" in values and "times_limit" in values:
        limit = values["limit"]
        carried = Measure(float(value_of(finding, "limit") or 0) * (value_of(finding, "times_limit") or 0), limit.unit)
        return _pair(carried, " of ", limit, units)
    if "speeds" in values and isinstance(values["speeds"].value, tuple):
        each = sorted({shown(Measure(one, "rad/s"), units) for one in values["speeds"].value if one > 0})
        return " ≠ ".join(each)
    if "runs_dry_after" in values:
        return f"dry after {shown(values['runs_dry_after'], units)}"
    found = []
    for has, wants, before, between, behind in _PAIRS:
        if has in values and wants in values and _apart(finding, has, wants):
            found.append(f"{before}{_pair(values[has], between, values[wants], units)}{behind}")
    return ", ".join(found) or first_clause(finding, units)


def first_clause(finding: JudgedFinding, units: Units) -> str:
    """The message up to its first colon or semicolon."""
    said = pictured(finding.message, units)
    ends = [at for sign in (": ", "; ") if (at := said.find(sign)) > 0]
    return said[: min(ends)] if ends else said


def _apart(finding: JudgedFinding, has: str, wants: str) -> bool:
    """Whether a pair tells something: of several only those that differ, promises only where they are passed."""
    one, other = value_of(finding, has), value_of(finding, wants)
    if one is None or other is None:
        return False
    return one > other if wants.endswith("_up_to") else one != other


def _pair(one: Measure, between: str, other: Measure, units: Units) -> str:
    """Two measures; the first without its unit where both have the same."""
    first, second = shown(one, units), shown(other, units)
    number, _, unit = first.rpartition(_BLANK)
    return f"{number if number and unit == second.rpartition(_BLANK)[2] else first}{between}{second}"


def _breaks(finding: JudgedFinding, numbers: Mapping[str, int]) -> int | None:
    """The part that is over its limit because of a finding: the chain of causes leads through its own part to that."""
    chain = [cause.part for cause in finding.because]
    if finding.part not in chain or "times_limit" not in dict(finding.values):
        return None
    last = chain[-1]
    return None if last is None else numbers.get(_placed(finding, last))


def _placed(finding: JudgedFinding, part: str) -> str:
    """The name in the judged rig of a part that is told in the names of a blueprint's file."""
    if finding.placement is None or finding.part is None:
        return part
    prefix = finding.placement.part.removesuffix(finding.part)
    return prefix + part


class _Ways:
    """The links into each part, to climb from a break to its sources."""

    def __init__(self, schematic: Schematic) -> None:
        self.into: dict[int, list[tuple[int, int]]] = {}
        for number, link in enumerate(schematic.links):
            self.into.setdefault(link.target, []).append((number, link.source))

    def to(self, end: int, causes: frozenset[int]) -> set[int]:
        """The links that lead to a part; where several lines meet, along those in which a cause stands."""
        found: set[int] = set()
        waiting = [end]
        for here in waiting:
            lines = self.into.get(here, [])
            told = [line for line in lines if len(lines) > 1 and not causes.isdisjoint(self._above(line[1]))]
            for number, source in told or lines:
                if number not in found:
                    found.add(number)
                    waiting.append(source)
        return found

    def _above(self, part: int) -> set[int]:
        met = {part}
        waiting = [part]
        for here in waiting:
            for _, source in self.into.get(here, ()):
                if source not in met:
                    met.add(source)
                    waiting.append(source)
        return met


def _causes(finding: JudgedFinding, numbers: Mapping[str, int]) -> frozenset[int]:
    names = (_placed(finding, cause.part) for cause in finding.because if cause.part is not None)
    return frozenset(numbers[name] for name in names if name in numbers)


def _rank(mark: Mark) -> tuple[int, int]:
    kinds = ("error", "warning", "note", "snag", "waived")
    return kinds.index(mark.kind), mark.number


def verdict_words(findings: Sequence[JudgedFinding]) -> tuple[bool, str]:
    """Whether a rig holds, and that in words: `Does not hold: 2 errors, 1 warning`."""
    open_ones = [finding.level for finding in findings if not finding.passes]
    counts = [(open_ones.count(level), level) for level in _LETTERS if level in open_ones]
    counted = ", ".join(f"{count} {level}{'s' if count > 1 else ''}" for count, level in counts)
    holds = "error" not in open_ones
    if holds:
        return True, f"Holds, with {counted}" if counted else "Holds"
    return False, f"Does not hold: {counted}"


def told(finding: JudgedFinding, units: Units) -> str:
    """A finding as the list below a drawing has it."""
    part = f" at {finding.home[1]}" if finding.part else ""
    return f"{finding.rule}{part}: {pictured(finding.message, units)}"
