"""What becomes of a finding: judged by waivers and snag lists, then repaired. Only what is found loads this."""

from dataclasses import dataclass, fields
from typing import Any, Literal, NamedTuple

from lineshaft.check.finding import EFFECTS, Edit, Effect, Finding, Text

# How a machine fares: it turns and gets what it needs, it turns and is short of something, it stands, a finding above
# it leaves open what it gets, or there is no such machine.
MachineState = Literal["served", "short", "at-rest", "not-solved", "gone"]


class MachineChange(NamedTuple):
    """What a repair does to a machine: units of work an hour, and how it fares, before and after.

    There is no rate where it is neither served nor short, and none of a machine whose item has no work table.
    """

    part: str
    rate_before: float | None
    rate_after: float | None
    state_before: MachineState
    state_after: MachineState


class Repair(NamedTuple):
    """A proved repair: its effect, what it adds in worth, raw goods and parts, and what it does to machines.

    ``safe``: it changes settings only, or a misspelt name to the only one that it can mean, which is ``only_name``.
    """

    title: str
    effect: Effect
    worth: float
    bill: tuple[tuple[str, int], ...]
    machines: tuple[MachineChange, ...]
    edits: tuple[Edit, ...]
    parts_added: int = 0
    safe: bool = False
    only_name: bool = False

    @property
    def rank(self) -> tuple[float, int, int, str]:
        """What decides which of several is the first: worth, parts added, how far it reaches, and then its title."""
        return round(self.worth, 9), self.parts_added, EFFECTS.index(self.effect), self.title

    def within(self, up_to: Effect) -> bool:
        """Whether it reaches no further; up to a setting reaches what is safe."""
        return self.safe or (up_to != "setting" and EFFECTS.index(self.effect) <= EFFECTS.index(up_to))


class Waived(NamedTuple):
    """That a waiver covers a finding: why, until when, and how bad it may be."""

    reason: str
    until: str
    up_to: float | None
    value: float | None = None


class Snagged(NamedTuple):
    """That a snag list has a finding: which value says how bad it is, and how bad it was when recorded."""

    of: str | None
    value: float | None


@dataclass(frozen=True, slots=True)
class JudgedFinding(Finding):
    """A finding under the fingerprint that it is known by, with the waiver or the snag that covers it.

    Where one of a blueprint is told once for all its uses, as the worst of them, ``uses`` holds each of them; where
    those of one cause are told as one, they stand in ``alike``.
    """

    fingerprint: str = ""
    waived: Waived | None = None
    snag: Snagged | None = None
    uses: tuple["JudgedFinding", ...] = ()
    alike: tuple["JudgedFinding", ...] = ()

    @property
    def passes(self) -> bool:
        """Whether it counts for nothing, since it is waived or a recorded snag."""
        return self.waived is not None or self.snag is not None


@dataclass(frozen=True, slots=True)
class RepairedFinding(JudgedFinding):
    """A judged finding as it is shown: with the repairs that were proved, or why there is none.

    Findings of one ``group`` are mended by one repair. Where nobody looked for repairs it has nothing of these.
    """

    repairs: tuple[Repair, ...] = ()
    no_repair: str | None = None
    group: str | None = None

    @property
    def proved_suggestion(self) -> Text:
        """What to do against it: the best repair where one is proved, else what its rule suggests.

        For what shows repairs: whether they were looked for would else be seen in reports that show none.
        """
        return (self.repairs[0].title,) if self.repairs else self.suggestion


def judged(finding: Finding, fingerprint: str, waived: Waived | None = None) -> JudgedFinding:
    """A finding under its fingerprint, with what waives it."""
    return JudgedFinding(**_known(finding), fingerprint=fingerprint, waived=waived)


def repaired(
    finding: JudgedFinding,
    repairs: tuple[Repair, ...] = (),
    no_repair: str | None = None,
    group: str | None = None,
) -> RepairedFinding:
    """A judged finding with its repairs; with nothing else given, one for which nobody looked for any.

    Of one that has some already these take their place.
    """
    found = {"repairs": repairs, "no_repair": no_repair, "group": group}
    return RepairedFinding(**(_known(finding) | found))


def _known(finding: Finding) -> dict[str, Any]:
    """What is known of a finding so far, by its names."""
    return {field.name: getattr(finding, field.name) for field in fields(finding)}
