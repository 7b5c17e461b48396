"""A machine sized: the cheapest chains of catalogue stages that give it what it needs, each proved on the edited rig.

Chains come from the search by a worth that counts fractions of batches, and are put in order by the whole rig's bill;
since that is never less, the first one left over is the cheapest.
"""

import heapq
import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from functools import partial
from typing import NamedTuple

from lineshaft.bill_of_materials import bill, goods_of, worth_each
from lineshaft.check.finding import Edit, Finding, Measure, Repair, power, speed, torque
from lineshaft.check.finding_diff import against
from lineshaft.repair.chain import Branching, Chain, Stage, Supply, Wanted
from lineshaft.repair.chain_search import MOST_STAGES, chains
from lineshaft.repair.edits.commissioning_block import block_splice
from lineshaft.repair.edits.entries import edit
from lineshaft.repair.line_edits import line_edits
from lineshaft.repair.machine_line import Line, Place, arriving, line_to, passage_of, places
from lineshaft.repair.proof.context import EditedRig, RepairContext
from lineshaft.repair.proof.effect import repair_of
from lineshaft.repair.stage_offers import branchings_of, stages_of
from lineshaft.schema.model.catalogue import Catalogue
from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import EQUAL, over
from lineshaft.solve.machine_output import time_of_unit
from lineshaft.solve.safe_list import SafeList, safe_list
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.work_rate import time_of_work

MOST_SHOWN = 8
MOST_FAILED = 60
MOST_LOOKED_AT = 1000
"""Bounds of one sizing: chains shown, chains whose proof failed, chains looked at once there is one to show."""
_SHORT = frozenset({"machine-underdriven", "target-missed"})


class Offers(NamedTuple):
    """What a line may be made of, and the most stages in line."""

    stages: tuple[Stage, ...]
    branchings: tuple[Branching, ...]
    most: int = MOST_STAGES


class MachineGets(NamedTuple):
    """What arrives at the machine by the solved rig [N*m, rad/s], and how long a unit of work takes it [s].

    The time is endless where the machine stalls, none where it has no work table.
    """

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
    """A proved chain: what it is, the edits and their effect, the rig with it and what its machine gets."""

    chain: Chain
    repair: Repair
    edited_rig: EditedRig
    machine: MachineGets


class Sizing(NamedTuple):
    """What was found for a machine: what arrives at its line, what it wants, the chains; those that failed, and why.

    ``failed`` names the first finding that a chain brought; ``all_tried`` is false where the proofs ran out.
    """

    line: Line
    supply: Supply
    wanted: Wanted
    offers: Offers
    places: tuple[Place, ...]
    found: tuple[Sized, ...]
    failed: tuple[tuple[Chain, Finding | None], ...]
    all_tried: bool


class _Choice(NamedTuple):
    """A chain at a place, by the worth of the whole rig with it."""

    worth: float
    parts: int
    words: str
    place: int
    chain: Chain


def size(context: RepairContext, machine: int, wanted: Wanted, most: int = MOST_STAGES) -> Sizing:
    """The chains for a machine that is driven and gets something, cheapest first.

    Each that is kept has fewer parts than all cheaper ones, or makes the machine work faster, or is another way.
    """
    rig = context.rig
    line = line_to(rig, machine)
    offers = Offers(stages_of(rig.catalogue, context.policy), branchings_of(rig.catalogue, context.policy), most)
    spots = tuple(places(rig, line, wanted))
    found: list[Sized] = []
    failed: list[tuple[Chain, Finding | None]] = []
    all_tried = True
    looked_at = 0
    for choice in _by_bill(context, line, offers, spots, found):
        looked_at += 1
        if len(found) == MOST_SHOWN or len(failed) == MOST_FAILED or (found and looked_at > MOST_LOOKED_AT):
            all_tried = False
            break
        if choice is None or _has_better(choice.chain, found, rig, line):
            continue
        sized, against = _proved(context, line, choice.chain, spots[choice.place].behind)
        if sized is None:
            failed.append((choice.chain, against))
        else:
            found.append(sized)
    return Sizing(line, arriving(rig, line), wanted, offers, spots, tuple(found), tuple(failed), all_tried)


def _still_asked(gains: tuple[Fraction, ...], found: Sequence[Sized], rig: SolvedRig, line: Line) -> bool:
    """Whether chains with some gains may be worth to be shown: as many parts as gains are the fewest they can have."""
    made = math.prod(gains, start=Fraction(1))
    known = [sized.chain for sized in found]
    better = [k for k in known if k.parts <= len(gains) and not _is_faster(made, k.gain, rig, line)]
    return not better or _is_another_way(gains, better)


def _has_better(chain: Chain, found: Sequence[Sized], rig: SolvedRig, line: Line) -> bool:
    """Whether a cheaper chain has no more parts and makes the machine work as fast.

    The first in several lines is another way even so, where it gears in one direction and not merely adds stages.
    """
    known = [sized.chain for sized in found]
    better = [k for k in known if k.parts <= chain.parts and not _is_faster(chain.gain, k.gain, rig, line)]
    if chain.ways == 1 or any(k.ways == chain.ways for k in known):
        return bool(better)
    return bool(better) and not _is_another_way(tuple(stage.gain for stage in chain.stages), better)


def _is_another_way(gains: tuple[Fraction, ...], better: Iterable[Chain]) -> bool:
    if min(gains, default=Fraction(1)) < 1 < max(gains, default=Fraction(1)):
        return False
    every = Counter(gains)
    return not any(Counter(stage.gain for stage in known.stages) < every for known in better)


def _is_faster(gain: Fraction, known: Fraction, rig: SolvedRig, line: Line) -> bool:
    """Whether the machine works faster behind one overall gain than behind another."""
    work = rig.parts[line.machine].item.work
    if work is None or gain == known:
        return False
    unchained = arriving(rig, line).speed * passage_of(rig, line.fixed).speed
    times = [time_of_work(work, unchained * float(each)) or math.inf for each in (gain, known)]
    return times[0] < times[1] * (1 - EQUAL)


def _by_bill(
    context: RepairContext, line: Line, offers: Offers, spots: tuple[Place, ...], found: Sequence[Sized]
) -> Iterator[_Choice | None]:
    """All chains at all places in the order of what the whole rig is worth with them.

    None stands for a chain that is passed over, since one in ``found``, which may grow meanwhile, is better.
    """
    rig = context.rig
    rest = [part for number, part in enumerate(rig.parts) if number not in line.stages]
    floor = math.fsum(worth_each(goods_of(part), rig.catalogue) for part in rest)
    asked = partial(_still_asked, found=found, rig=rig, line=line)
    streams = [_at(number, spot, offers, asked) for number, spot in enumerate(spots)]
    waiting: list[_Choice] = []
    for choice in heapq.merge(*streams, key=lambda choice: choice[:3]):
        while waiting and waiting[0][:3] <= (choice.worth + floor, choice.parts, choice.words):
            yield heapq.heappop(waiting)
        if _has_better(choice.chain, found, rig, line):
            yield None
            continue
        worth = bill([*rest, *_parts_of(choice.chain, rig.catalogue, rest[0])], rig.catalogue).worth
        heapq.heappush(waiting, choice._replace(worth=worth))
    while waiting:
        yield heapq.heappop(waiting)


def _at(number: int, spot: Place, offers: Offers, asked: Callable[[tuple[Fraction, ...]], bool]) -> Iterator[_Choice]:
    for chain in chains(offers.stages, spot.supply, spot.wanted, offers.branchings, offers.most, asked):
        yield _Choice(chain.worth, chain.parts, chain.words, number, chain)


def _parts_of(chain: Chain, catalogue: Catalogue, like: Part) -> Iterator[Part]:
    """The parts of a chain as far as a bill looks at them."""
    for at, stage in enumerate(chain.stages):
        inside = chain.branching is not None and chain.first <= at < chain.last
        for _ in range(chain.ways if inside else 1):
            yield Part("", catalogue.items[stage.item], like.tree, ratio=stage.ratio)
    if chain.branching is not None:
        for pole in (chain.branching.splitter, chain.branching.combiner):
            yield Part("", catalogue.items[pole.item], like.tree)


def _proved(context: RepairContext, line: Line, chain: Chain, behind: int) -> tuple[Sized | None, Finding | None]:
    """The chain in the rig, judged by every rule; or the first finding that speaks against it.

    What holds on the lines that it touches is proved once more on the whole text.
    """
    rig = context.rig
    machine = rig.parts[line.machine].name
    edits, needs_list = line_edits(rig, line, chain, behind)
    edited_rig: EditedRig | None = EditedRig(rig.rig.tree.source.text, context.book, rig, rig)
    if needs_list and (draft := context.edited_rig(edits)) is not None:
        edits = (*edits, *_list_of_steps(context, draft))
    for proof in (context.edited_rig, context.whole_edited_rig):
        edited_rig = proof(edits) if edits else edited_rig
        if edited_rig is None:
            return None, None
        finding = _speaking_against(context, machine, edited_rig)
        if finding is not None:
            return None, finding
    assert edited_rig is not None
    return Sized(
        chain, repair_of(chain.words, edits, rig, edited_rig.rig), edited_rig, _gets(edited_rig.rig, machine)
    ), None


def _list_of_steps(context: RepairContext, edited_rig: EditedRig) -> Iterator[Edit]:
    """A commissioning list for a rig that has none, where there is a safe one."""
    listed = safe_list(edited_rig.rig.train, edited_rig.rig.flows)
    if isinstance(listed, SafeList):
        tree = context.rig.rig.tree
        splice = block_splice(tree, listed.steps, edited_rig.rig.parts)
        yield edit(tree, splice.start, splice.end, splice.text.replace("\r\n", "\n"))


def _gets(rig: SolvedRig, machine: str) -> MachineGets:
    number = rig.rig.index[machine]
    torque_in, turns = rig.flows.torque_in[number], rig.flows.speed_in[number]
    return MachineGets(torque_in, turns, time_of_unit(rig.parts[number], torque_in, turns))


def _speaking_against(context: RepairContext, machine: str, edited_rig: EditedRig) -> Finding | None:
    """The first finding of a trial that leaves the machine short, or is new or worse; notes do not count."""
    heard = [finding for finding in edited_rig.findings if finding.level != "note"]
    for finding in heard:
        if finding.home[1] == machine and finding.rule in _SHORT:
            return finding
    return next(against(context.findings, heard), None)
