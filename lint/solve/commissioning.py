"""A rig's start-up judged: stages that first turn the wrong way round or dry, states over a limit, where it ends."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Literal, NamedTuple

from lineshaft.schema.model.rig import Step
from lineshaft.solve.drivetrain import Drivetrain
from lineshaft.solve.limits import over, speed_carried, torque_carried
from lineshaft.solve.lubrication import Oiling
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.start_up import Breach, Link, Passage, StartUp, before_first_step, wrongly_set
from lineshaft.solve.steady_state import Excess, Flows


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


class Difference(NamedTuple):
    """Something that the list leaves in another state than the rig declares; a part that it couples stays coupled."""

    part: int
    what: Literal["direction", "clutch", "prime mover"]


class PassingLoad(NamedTuple):
    """The worst that a part carries on the way to work, where that is over its limit and more than as declared.

    It is so in the state after ``step``; without one in the rig as delivered, all started at once.
    """

    step: Step | None
    breach: Breach


class Commissioning(NamedTuple):
    """What a start-up passes through that it should not, and the litres filled into each part by its end.

    ``worst`` are the parts over a limit on the way, by number; ``beyond`` those whose values leave what is reckoned
    with in some state, though not as declared.
    """

    wrong_turns: tuple[WrongTurn, ...] = ()
    overloads: tuple[Overload, ...] = ()
    dry_turns: tuple[DryTurn, ...] = ()
    differences: tuple[Difference, ...] = ()
    filled: Mapping[int, float] | None = None
    worst: Mapping[int, PassingLoad] = MappingProxyType({})
    beyond: tuple[Excess, ...] = ()


def commissioning_of(rig: SolvedRig) -> Commissioning:
    """The start-up of a solved rig, judged once however many rules ask.

    Empty where a step could not be read: what a list with a gap does is not known. A blueprint judged alone is started
    from its inlets, at the edge of their promises, all at once after its own steps: of that only the directions count,
    since how it is filled, coupled and started otherwise is for the rig's list and circuits.
    """
    return rig.once(_commissioning)


def _commissioning(rig: SolvedRig) -> Commissioning:
    gap = any(fault.route[:1] == ("commissioning",) for fault in rig.faults)
    gap = gap or any(lack.part is None for lack in rig.rig.placed.lacks)
    found = Commissioning() if gap or not rig.parts else judge_start_up(rig.train, rig.flows)
    return Commissioning(found.wrong_turns, beyond=found.beyond) if rig.rig.placed.alone else found


def judge_start_up(train: Drivetrain, declared: Flows) -> Commissioning:
    """Simulate a rig's start-up and judge every state against ``declared``, the flows of the rig as declared.

    A breach is put to a stage's direction where the stage is above the part, or is the part, and set so that the
    quantity grows: left reducing it raises torque, left increasing it raises speed.
    """
    judge = _Judge(train, declared)
    start_up = before_first_step(train)
    oiling = Oiling(train)
    wrong_turns: list[WrongTurn] = []
    overloads: list[Overload] = []
    dry: list[DryTurn] = []
    turned = bytearray(len(train.parts))
    seen: set[int] = set()
    worst: dict[int, PassingLoad] = {}
    known = {excess.part for excess in declared.beyond}
    beyond: dict[int, Excess] = {}
    for passage in start_up.passages():
        judge.keep_worst(passage, worst)
        for excess in start_up.columns.beyond if passage.changed else ():
            if excess.part not in known:
                beyond.setdefault(excess.part, excess)
        fresh = [n for n in passage.turns if not turned[n]]
        for n in fresh:
            turned[n] = 1
        turns_now = set(passage.turns)
        for n in oiling.dry(fresh, start_up, turns_now):
            dry.append(DryTurn(n, passage.step))
        turned_wrong, blamed = judge.wrong_turns(start_up, passage, wrongly_set(start_up, fresh))
        wrong_turns += turned_wrong
        seen |= blamed
        if passage.over and passage.step is not None:
            overloads += judge.overload(start_up, passage, passage.step, seen)
    dry += [DryTurn(n, None) for n in oiling.dry_as_declared(declared, turned, start_up.filled)]
    ends = _differences(start_up) if train.rig.has_commissioning else ()
    filled, left = dict(start_up.filled), tuple(beyond.values())
    return Commissioning(tuple(wrong_turns), tuple(overloads), tuple(dry), ends, filled, worst, left)


class _Judge(NamedTuple):
    """Compares passing states with the declared one."""

    train: Drivetrain
    declared: Flows

    def wrong_turns(
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

    def overload(self, start_up: StartUp, passage: Passage, step: Step, seen: set[int]) -> list[Overload]:
        """The worst of the parts that a step brings over a limit for the first time; ``seen`` grows by all of them."""
        new = [b for b in passage.over if b.part not in seen and not over(self._usual(b), b.limit)]
        worst = _worst(new)
        if worst is None:
            return []
        seen.update(b.part for b in new)
        chain = start_up.chain(worst.part)
        wrong = wrongly_set(start_up, (link.part for link in chain))
        return [Overload(step, worst, chain, tuple(wrong))]

    def keep_worst(self, passage: Passage, worst: dict[int, PassingLoad]) -> None:
        """Take over what a state brings further over a limit than all before, and than the declared rig."""
        for breach in passage.over:
            known = worst.get(breach.part)
            if over(breach.carried, self._usual(breach)) and (
                known is None or breach.times_limit > known.breach.times_limit
            ):
                worst[breach.part] = PassingLoad(passage.step, breach)

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


def _differences(start_up: StartUp) -> tuple[Difference, ...]:
    found = []
    for n, part in enumerate(start_up.train.parts):
        if part.ratio is not None and start_up.increasing[n] != (part.direction == "increase"):
            found.append(Difference(n, "direction"))
        if part.item.kind == "clutch" and start_up.closed[n] != part.engaged:
            found.append(Difference(n, "clutch"))
        if part.item.kind == "prime-mover" and not start_up.running[n]:
            found.append(Difference(n, "prime mover"))
    return tuple(found)
