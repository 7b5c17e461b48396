"""A rig's start-up judged: stages that first turn the wrong way round or dry, states over a limit, where it ends."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from lineshaft.solve.drivetrain import Drivetrain
from lineshaft.solve.lubrication import Oiling
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.start_up import StartUp, before_first_step, wrongly_set
from lineshaft.solve.steady_state import Flows

if TYPE_CHECKING:  # a sound start-up has none
    from lineshaft.solve.excess import Excess
    from lineshaft.solve.start_up_judge import Difference, DryTurn, Overload, PassingLoad, State, WrongTurn


class Commissioning(NamedTuple):
    """What a start-up passes through that it should not, and the litres filled into each part by its end.

    ``worst`` are the parts over a limit on the way, by number; ``beyond`` those whose values leave what is reckoned
    with in some state, though not as declared.
    """

    wrong_turns: tuple["WrongTurn", ...] = ()
    overloads: tuple["Overload", ...] = ()
    dry_turns: tuple["DryTurn", ...] = ()
    differences: tuple["Difference", ...] = ()
    filled: Mapping[int, float] | None = None
    worst: Mapping[int, "PassingLoad"] = MappingProxyType({})
    beyond: tuple["Excess", ...] = ()


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
    judge = None
    start_up = before_first_step(train)
    oiling = Oiling(train)
    turned = bytearray(len(train.parts))
    known = {excess.part for excess in declared.beyond}
    beyond: dict[int, Excess] = {}
    for passage in start_up.passages():
        for excess in start_up.columns.beyond if passage.changed else ():
            if excess.part not in known:
                beyond.setdefault(excess.part, excess)
        fresh = [n for n in passage.turns if not turned[n]]
        for n in fresh:
            turned[n] = 1
        dry, wrong = [*oiling.dry(fresh, start_up, set(passage.turns))], wrongly_set(start_up, fresh)
        if dry or wrong or passage.over:
            if judge is None:
                from lineshaft.solve.start_up_judge import Judge

                judge = Judge(train, declared)
            judge.look(start_up, passage, wrong, dry)
    never_oiled = [*oiling.dry_as_declared(declared, turned, start_up.filled)]
    ends = [*_differences(start_up)] if train.rig.has_commissioning else []
    filled, left = dict(start_up.filled), tuple(beyond.values())
    if judge is None and not never_oiled and not ends:
        return Commissioning(filled=filled, beyond=left)
    from lineshaft.solve.start_up_judge import Difference, DryTurn, Judge

    judge = judge or Judge(train, declared)
    dry_turns = (*judge.dry_turns, *(DryTurn(n, None) for n in never_oiled))
    differences = tuple(Difference(n, what) for n, what in ends)
    overloads = tuple(judge.overloads)
    return Commissioning(tuple(judge.wrong_turns), overloads, dry_turns, differences, filled, judge.worst, left)


def _differences(start_up: StartUp) -> "Iterator[tuple[int, State]]":
    """The parts that the list leaves in another state than the rig declares, and what is other in them."""
    for n, part in enumerate(start_up.train.parts):
        if part.ratio is not None and start_up.increasing[n] != (part.direction == "increase"):
            yield n, "direction"
        if part.item.kind == "clutch" and start_up.closed[n] != part.engaged:
            yield n, "clutch"
        if part.item.kind == "prime-mover" and not start_up.running[n]:
            yield n, "prime mover"
