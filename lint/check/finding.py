"""Findings, causes, fixes and edits as plain data, for rules to make and writers to show.

A message is a row of words and measures; writers choose the units in which a measure is shown.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple, get_args

from lineshaft.check.level import Level
from lineshaft.schema.text.span import TOP, Route, Span
from lineshaft.schema.text.use import Use

Effect = Literal["setting", "substitution", "redesign"]
EFFECTS: Final = get_args(Effect)
"""How far a repair reaches, the least first."""
Place = tuple[str, Span, Route]
"""File as shown, span, route."""


class Measure(NamedTuple):
    """A value in SI with its unit: `N*m`, `rad/s`, `W`, `s`, `L`, `L/s`, `m`, or `1` for a plain number."""

    value: float | str | tuple[float, ...]
    unit: str


FIGURES = 4
"""Significant figures that people are shown."""
Text = tuple["str | Measure", ...]
Values = tuple[tuple[str, Measure], ...]


def torque(value: float) -> Measure:
    """A torque [N*m]."""
    return Measure(value, "N*m")


def speed(value: float) -> Measure:
    """An angular speed [rad/s]."""
    return Measure(value, "rad/s")


def power(value: float) -> Measure:
    """A power [W]."""
    return Measure(value, "W")


def times(value: float) -> Measure:
    """A plain number: a ratio, a share, a multiple."""
    return Measure(value, "1")


def seconds(value: float) -> Measure:
    """A time [s]."""
    return Measure(value, "s")


def litres(value: float) -> Measure:
    """A volume [L]."""
    return Measure(value, "L")


class Cause(NamedTuple):
    """One link of the chain that leads to a finding, at its part's key."""

    file: str
    span: Span
    part: str | None
    message: Text
    values: Values = ()


class Edit(NamedTuple):
    """Text that takes the place of a span in a file."""

    file: str
    span: Span
    text: str




class Placement(NamedTuple):
    """Where a blueprint stands: the judged file, the part's whole name there, and the lines that put it in place.

    The part is `leg-b/stock`, or `leg-b` for what is about the blueprint's file; the first line stands in that file.
    """

    file: str
    part: str
    lines: tuple[Cause, ...]


class SharedCause(NamedTuple):
    """One cause of several findings of a rule: words that go before the names of their parts, and what mends it.

    What such a finding says begins with its verb, since its part is named before.
    """

    words: str
    mend: str


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong with a rig, or worth knowing of it, as a rule makes it.

    What stands in a blueprint's file is told in that file's names and has a ``placement``, one finding for each. Those
    that one cause makes have it as ``shared``. ``severity`` tells worse from better where no value that is told does:
    it is for comparing the same finding before and after. What is made of it is a value of its own
    (`judged_finding.py`): a `JudgedFinding`, then a `RepairedFinding`.
    """

    rule: str
    level: Level
    file: str
    span: Span
    route: Route
    part: str | None
    message: Text
    values: Values = ()
    because: tuple[Cause, ...] = ()
    suggestion: Text = ()
    placement: Placement | None = None
    shared: SharedCause | None = None
    severity: float | None = None

    @property
    def home(self) -> tuple[str, str | None]:
        """The judged file in which it was found, and the name of its part there: by these a use is known."""
        return (self.file, self.part) if self.placement is None else self.placement[:2]


class Reported(NamedTuple):
    """What a rule has to say, before it has the rule's id; without ``level`` it has the rule's level too.

    ``uses`` are the lines that put a blueprint in place, where reading it there has shown a fault.
    """

    place: Place
    part: str | None
    message: Text
    values: Values = ()
    because: tuple[Cause, ...] = ()
    suggestion: Text = ()
    level: Level | None = None
    uses: tuple[Use, ...] = ()
    shared: SharedCause | None = None
    severity: float | None = None

    def finding(self, rule: str, level: Level) -> Finding:
        """It as a finding of a rule; ``level`` is the rule's."""
        file, span, route = self.place
        level = self.level or level
        said = (self.part, self.message, self.values, self.because, self.suggestion)
        return Finding(rule, level, file, span, route, *said, shared=self.shared, severity=self.severity)


def report(
    place: Place,
    part: str | None,
    message: Sequence["str | Measure"],
    values: Sequence[tuple[str, Measure]] = (),
    because: Sequence[Cause] = (),
    suggestion: Sequence["str | Measure"] = (),
    *,
    level: Level | None = None,
    shared: SharedCause | None = None,
    severity: float | None = None,
) -> Reported:
    """What a rule says of a place, and of a part by its name; the engine stamps the rule's id and level on it.

    ``message`` and ``suggestion`` are rows of words and measures, ``values`` what is told to programs by name,
    ``because`` the chain of causes. Another level than the rule's own is given with ``level``. Findings of one file
    with one ``shared`` cause are told as one. ``severity`` rises with how bad it is, where that is no value to tell.
    """
    said = (tuple(message), tuple(values), tuple(because), tuple(suggestion))
    return Reported(place, part, *said, level, shared=shared, severity=severity)


def top_of(file: str) -> Place:
    """The place of what concerns a file as a whole."""
    return file, TOP, ()


def value_of(finding: Finding, name: str) -> float | None:
    """A finding's numeric value by its name."""
    for key, measure in finding.values:
        if key == name and isinstance(measure.value, int | float):
            return float(measure.value)
    return None
