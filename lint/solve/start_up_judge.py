"""What a start-up passes through that it should not, as data, and the judge that compares its states: of few rigs."""

from collections.abc import Iterable, Sequence
from typing import Literal, NamedTuple

from lineshaft.schema.model.rig import Step
from lineshaft.solve.drivetrain import Drivetrain
from lineshaft.solve.limits import over, speed_carried, torque_carried
from lineshaft.solve.link import Link
from lineshaft.solve.start_up import Breach, Passage, StartUp, wrongly_set
from lineshaft.solve.steady_state import Flows


class WrongTurn(NamedTuple):
    """A stage that first turns under power with the wrong direction, in the state after ``step`` (none: no list).

    Torque [N*m] and speed [rad/s] leave the stage in that state; ``breach`` is the worst part that breaks because
    of it. ``chain`` leads to that part, or to the stage where nothing breaks.
    """

    stage: int
    step: Step | None
    torque_out: float
    speed_out: float
    breach: Breach | None
    chain: tuple[Link, ...]


class Overload(NamedTuple):
    """A state over a limit that the declared rig keeps to, after ``step``; ``wrong`` are stages above not as wanted."""

    step: Step
    breach: Breach
    chain: tuple[Link, ...]
    wrong: tuple[int, ...]


class DryTurn(NamedTuple):
    """A stage that turns without the lubricant it needs, first after ``step``.

    The step is none where there is no list, or where only the declared rig turns the stage.
    """

    stage: int
    step: Step | None


State = Literal["direction", "clutch", "prime mover"]


class Difference(NamedTuple):
    """Something that the list leaves in another state than the rig declares; a part that it couples stays coupled."""

    part: int
    what: State


class PassingLoad(NamedTuple):
    """The worst that a part carries on the way to work, where that is over its limit and more than as declared.

    It is so in the state after ``step``; without one in the rig as delivered, all started at once.
    """

    step: Step | None
    breach: Breach


class Judge:
    """Compares the states of one start-up with the declared one, and gathers what it finds.

    ``worst`` are the parts over a limit on the way, by number.
    """

    __slots__ = ("_seen", "declared", "dry_turns", "overloads", "train", "worst", "wrong_turns")

    def __init__(self, train: Drivetrain, declared: Flows) -> None:
        self.train, self.declared = train, declared
        self.wrong_turns: list[WrongTurn] = []
        self.overloads: list[Overload] = []
        self.dry_turns: list[DryTurn] = []
        self.worst: dict[int, PassingLoad] = {}
        self._seen: set[int] = set()

    def look(self, start_up: StartUp, passage: Passage, wrong: Sequence[int], dry: Iterable[int]) -> None:
        """Judge the state after a step, in which some stages first turn wrongly set and some dry."""
        self._keep_worst(passage)
        self.dry_turns += [DryTurn(stage, passage.step) for stage in dry]
        turned_wrong, blamed = self._wrong_turns(start_up, passage, wrong)
        self.wrong_turns += turned_wrong
        self._seen |= blamed
        if passage.over and passage.step is not None:
            self.overloads += self._overload(start_up, passage, passage.step)

    def _wrong_turns(
        self, start_up: StartUp, passage: Passage, stages: Sequence[int]
    ) -> tuple[list[WrongTurn], set[int]]:
        """The wrong turns of stages that first turn in one state, and all parts that break because of them."""
        worst: dict[int, Breach] = {}
        blamed: set[int] = set()
        for quantity, increasing in (("torque", False), ("speed", True)):
            alike = [stage for stage in stages if start_up.increasing[stage] == increasing]
            broken = [b for b in passage.over if b.quantity == quantity and over(b.carried, self._usual(b))]
            if not alike or not broken:
                continue
            below = start_up.downstream(*alike)
            at_or_below = _worst_at_or_below(self.train, below, broken)
            worst.update((stage, at_or_below[stage]) for stage in alike if stage in at_or_below)
            blamed |= {breach.part for breach in broken} & set(below)
        columns = start_up.columns
        turns = []
        for stage in stages:
            breach = worst.get(stage)
            chain = start_up.chain(stage if breach is None else breach.part)
            leaves = columns.torque_out[stage], columns.speed_out[stage]
            turns.append(WrongTurn(stage, passage.step, *leaves, breach, chain))
        return turns, blamed

    def _overload(self, start_up: StartUp, passage: Passage, step: Step) -> list[Overload]:
        """The worst of the parts that a step brings over a limit for the first time; all of them are seen by then."""
        new = [b for b in passage.over if b.part not in self._seen and not over(self._usual(b), b.limit)]
        worst = _worst(new)
        if worst is None:
            return []
        self._seen.update(b.part for b in new)
        chain = start_up.chain(worst.part)
        wrong = wrongly_set(start_up, (link.part for link in chain))
        return [Overload(step, worst, chain, tuple(wrong))]

    def _keep_worst(self, passage: Passage) -> None:
        """Take over what a state brings further over a limit than all before, and than the declared rig."""
        for breach in passage.over:
            known = self.worst.get(breach.part)
            if over(breach.carried, self._usual(breach)) and (
                known is None or breach.times_limit > known.breach.times_limit
            ):
                self.worst[breach.part] = PassingLoad(passage.step, breach)

    def _usual(self, breach: Breach) -> float:
        """What the part carries in the declared rig."""
        carried = torque_carried if breach.quantity == "torque" else speed_carried
        return carried(self.declared, breach.part)


def _worst(breaches: Sequence[Breach]) -> Breach | None:
    return min(breaches, key=_rank, default=None)


def _rank(breach: Breach) -> tuple[float, int]:
    """Smallest for the largest multiple of a limit, then for the first in the file."""
    return -round(breach.times_limit, 9), breach.part


def _worst_at_or_below(train: Drivetrain, below: Sequence[int], breaches: Sequence[Breach]) -> dict[int, Breach]:
    """For parts in driving order the worst of some breaches at them or below them, of at most one a part."""
    found = {breach.part: breach for breach in breaches}
    for number in reversed(below):
        if number in found:
            for source, _ in train.parts[number].inlets:
                found[source] = min(found[number], found.get(source, found[number]), key=_rank)
    return found
