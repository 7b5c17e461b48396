"""A machine sized: the cheapest lines that give it what it needs, in place of the stages that stand on its line.

The lines are those of the one engine, by the rig's whole bill, and each is proved on the edited rig before it counts.
"""

import math
from fractions import Fraction
from typing import NamedTuple

from lineshaft.check.finding import Edit, Measure, power, speed, torque
from lineshaft.check.finding_diff import against
from lineshaft.check.judged_finding import JudgedFinding, Repair
from lineshaft.repair.line.demand import Demand
from lineshaft.repair.line.effort import Effort, Outcome
from lineshaft.repair.line.segment import MOST_LINES, MOST_STAGES
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.proof.edited_rig import EditedRig
from lineshaft.repair.proof.effect import repair_of
from lineshaft.repair.strategies.goal import Goal, demand_below
from lineshaft.repair.strategies.line_design import Design, Kept, SideBySide, Stage
from lineshaft.repair.strategies.line_draft import draft_of
from lineshaft.repair.strategies.line_remade import LineRemade, ShownRepair
from lineshaft.repair.strategies.prices import prices_of
from lineshaft.repair.strategies.proposal import Pending
from lineshaft.repair.strategies.segments import Line, is_changeable, line_into, lines_to
from lineshaft.repair.strategies.strength import strength_of
from lineshaft.repair.strategies.wishes import Wish
from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import over, worst_share
from lineshaft.solve.machine_output import time_of_unit
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.work_rate import speed_for_time

MOST_SHOWN = 8
MOST_FAILED = 60
MOST_EFFORT = 100_000
"""Bounds of one sizing: chains shown, chains whose proof failed, steps of the search."""
_SHORT = frozenset({"machine-underdriven", "target-missed"})


class Wanted(NamedTuple):
    """The least torque [N*m], speed [rad/s] and power [W] that a machine has to get."""

    torque: float = 0.0
    speed: float = 0.0
    power: float = 0.0


class ChainStage(NamedTuple):
    """A stage of a chain, and in how many lines side by side it stands."""

    stage: Stage
    lines: int

    @property
    def words(self) -> str:
        """For example `iron-stage 96/16 : 1 increasing`."""
        make, offer = self.stage.make, self.stage.offer
        verb = "increasing" if self.stage.direction == "increase" else "reducing"
        grade = f" in {make.grade}" if make.grade else ""
        return f"{make.item.name}{grade} {offer.ratio.text} : 1 {verb}"


class Chain(NamedTuple):
    """The stages of a line in order from what arrives."""

    stages: tuple[ChainStage, ...]
    words: str
    lines: int = 1  # side by side at most

    @property
    def gain(self) -> Fraction:
        """Speed out for speed in, exactly."""
        gains = (
            s.stage.offer.ratio.value if s.stage.direction == "increase" else 1 / s.stage.offer.ratio.value
            for s in self.stages
        )
        return math.prod(gains, start=Fraction(1))


class MachineGets(NamedTuple):
    """What arrives at the machine by the solved rig [N*m, rad/s], and how long a unit of work takes it [s]."""

    torque: float
    speed: float
    time: float | None

    def left_over(self, wanted: Wanted) -> tuple[Measure, Measure, Measure]:
        """Torque, speed and power beyond what is wanted; the wanted torque at the wanted speed takes power too."""
        needed = max(wanted.power, wanted.torque * wanted.speed)
        return (
            torque(_beyond(self.torque, wanted.torque)),
            speed(_beyond(self.speed, wanted.speed)),
            power(_beyond(self.torque * self.speed, needed)),
        )


def _beyond(value: float, wanted: float) -> float:
    return value - wanted if over(value, wanted) else 0.0


class Sized(NamedTuple):
    """A proved chain: what it is, the edits and their effect, the rig with it and what its machine gets.

    ``share`` is the largest share of a limit on the way to it.
    """

    chain: Chain
    repair: Repair
    edited_rig: EditedRig
    machine: MachineGets
    share: float


class Sizing(NamedTuple):
    """What was found for a machine: its line, what it wants, the chains; those that failed, and why.

    ``demand`` is what has to arrive at the line's end, ``wish`` what of it reaches the machine and does there: behind
    the line may stand what a placed blueprint is made of. ``failed`` names the first finding that a chain brought;
    ``outcome`` is how the search ended.
    """

    machine: int
    line: Line
    demand: Demand
    wish: Wish
    wanted: Wanted
    most: int
    found: tuple[Sized, ...]
    failed: tuple[tuple[Chain, JudgedFinding | None], ...]
    outcome: Outcome

    @property
    def complete(self) -> bool:
        """Whether there is nothing beyond what was found."""
        return self.outcome in ("none", "no-further")


def wanted_by(part: Part) -> Wanted | None:
    """What a machine needs, with the speed that its target takes; none where no speed is enough."""
    needs, fast = part.item.needs, part.item.needs.speed or 0.0
    if part.target is not None and part.item.work is not None:
        needed = speed_for_time(part.item.work, part.target)
        if needed is None:
            return None
        fast = max(fast, needed)
    return Wanted(needs.torque or 0.0, fast, needs.power or 0.0)


def line_for(rig: SolvedRig, machine: int) -> Line | None:
    """The line that a machine is sized by: that into it, or, within a placed blueprint, the nearest above of the rig.

    None where nothing arrives at it, or nothing above it is the rig's to change.
    """
    line = line_into(rig, machine, 0)
    if line is None or is_changeable(rig, line):
        return line
    return next(lines_to(rig, machine), None)


def size(context: RepairContext, machine: int, wanted: Wanted, most: int = MOST_STAGES) -> Sizing:
    """The chains for a machine that is driven and gets something, cheapest first.

    Each is better than those before it in worth, in parts or in the machine's rate.
    """
    rig = context.rig
    line = line_for(rig, machine)
    assert line is not None and line.end is not None
    strength = strength_of(rig, machine, context.book.rule("margin-thin") is not None)
    goal = Goal(machine, machine=True, whole=True)
    demand, wishes = demand_below(rig, line.end, goal, strength, waste=False)
    prices = prices_of(rig.parts, rig.catalogue)
    shown: list[ShownRepair] = []
    remade = LineRemade(rig, line, goal, demand, strength, prices, Effort(MOST_EFFORT), MOST_LINES, most, shown)
    found: list[Sized] = []
    failed: list[tuple[Chain, JudgedFinding | None]] = []
    stopped = False
    for design in remade.designs():
        if isinstance(design, Pending):
            continue
        sized, finding = _proved(context, machine, line, design)
        if sized is None:
            failed.append((_chain(rig, design), finding))
        else:
            found.append(sized)
            shown.append(ShownRepair(sized.repair, sized.edited_rig.rig))
        if len(found) == MOST_SHOWN or len(failed) == MOST_FAILED:
            stopped = True
            break
    outcome: Outcome = remade.outcome
    if stopped:
        outcome = "no-further-within-bound" if found else "none-within-bound"
    wish = next(wish for wish in wishes if wish.number == machine)
    return Sizing(machine, line, demand, wish, wanted, most, tuple(found), tuple(failed), outcome)


def _chain(rig: SolvedRig, design: Design) -> Chain:
    stages: list[ChainStage] = []
    words: list[str] = []
    lines = 1
    for slot in design.slots:
        if isinstance(slot, Stage):
            stages.append(ChainStage(slot, 1))
            words.append(stages[-1].words)
        elif isinstance(slot, SideBySide):
            lines = max(lines, slot.lines)
            each = []
            for element in slot.elements:
                if isinstance(element, Stage):
                    stages.append(ChainStage(element, slot.lines))
                    each.append(stages[-1].words)
                else:
                    each.append(_kept(rig, element))
            words.append(f"{slot.lines} lines side by side (each {', then '.join(each)})")
        elif slot.make is not None:
            words.append(_kept(rig, slot))
    return Chain(tuple(stages), ", then ".join(words) or "no stage", lines)


def _kept(rig: SolvedRig, kept: Kept) -> str:
    """A part that stays, or what takes its place."""
    if kept.make is None:
        return rig.parts[kept.part].item.name
    return kept.make.item.name + (f" in {kept.make.grade}" if kept.make.grade else "")


def _proved(
    context: RepairContext, machine: int, line: Line, design: Design
) -> tuple[Sized | None, JudgedFinding | None]:
    """A design in the rig, judged by every rule; or the first finding that speaks against it.

    What holds on the lines that it touches is proved once more on the whole text.
    """
    rig = context.rig
    name = rig.parts[machine].name
    drafted = draft_of(rig, line, design)
    edits: tuple[Edit, ...] | None = ()
    if drafted is not None:
        drafted.draft.sweeps = True
        edits = drafted.draft.edits()
    edited_rig: EditedRig | None = EditedRig(rig.rig.tree.source.text, context.book, rig, rig)
    for proof in (context.edited_rig, context.whole_edited_rig):
        edited_rig = None if edits is None else proof(edits) if edits else edited_rig
        if edited_rig is None:
            return None, None
        finding = _speaking_against(context, name, edited_rig)
        if finding is not None:
            return None, finding
    assert edited_rig is not None and edits is not None
    chain = _chain(rig, design)
    repair = repair_of(chain.words, edits, rig, edited_rig.rig)
    return Sized(chain, repair, edited_rig, _gets(edited_rig.rig, name), _share(edited_rig.rig, name)), None


def _share(rig: SolvedRig, machine: str) -> float:
    """The largest share of a torque or speed limit on the way to a machine."""
    chain = rig.chain(rig.rig.index[machine])[1:-1]
    return max((worst_share(rig.parts[number], number, rig.flows) or 0.0 for number in chain), default=0.0)


def _gets(rig: SolvedRig, machine: str) -> MachineGets:
    number = rig.rig.index[machine]
    arrives, turns = rig.flows.torque_in[number], rig.flows.speed_in[number]
    return MachineGets(arrives, turns, time_of_unit(rig.parts[number], arrives, turns))


def _speaking_against(context: RepairContext, machine: str, edited_rig: EditedRig) -> JudgedFinding | None:
    """The first finding of an edited rig that leaves the machine short, or is new or worse; notes do not count."""
    heard = [finding for finding in edited_rig.findings if finding.level != "note"]
    known = [found for found in context.findings if found.home[1] != machine or found.rule not in _SHORT]
    return next(against(known, heard), None)
