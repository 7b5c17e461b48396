"""One step on from a label: a stage put in, a part that stays passed, lines side by side opened or gathered again.

Each element is judged as it is put in: what it carries for each N·m at the head follows from the state alone.
"""

import math
from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from lineshaft.repair.line.design import CloseSlot, KeptSlot, OpenSlot, Slot, StageSlot
from lineshaft.repair.line.gains import Gains
from lineshaft.repair.line.labels import DOWNWARD, UNDIVIDED, UPWARD, Label, Phase, State
from lineshaft.repair.line.prices import WORD
from lineshaft.repair.line.segment import ENDLESS, Make, Segment, Stage
from lineshaft.repair.line.trees import Profile, Tree, Trees
from lineshaft.schema.model.catalogue import Direction
from lineshaft.solve.limits import EQUAL, over

LOSSES = 1e9
"""Losses are told apart to a part in so many."""


class Group(NamedTuple):
    """Stages of one gain and efficiency, lightest first: packed gain, factor, efficiency, slots, greatest limits."""

    gain: int
    factor: float
    efficiency: float
    slots: tuple[StageSlot, ...]
    torque: float
    speed: float


class Carried(NamedTuple):
    """Where a label stands: undivided torque for each N·m at the head, speed [rad/s], largest share, lines."""

    torque: float
    speed: float
    share: float
    lines: int


class Steps:
    """The steps of one segment."""

    def __init__(self, segment: Segment, gains: Gains, groups: tuple[Group, ...], trees: Trees) -> None:
        self.segment, self.gains, self.groups, self.trees = segment, gains, groups, trees
        turn = Fraction(1)
        self.turns = [1.0]
        for kept in segment.kept:
            turn *= kept.turning
            self.turns.append(float(turn))
        self.least, self.most = segment.torque
        undone = segment.undone
        self._undone = frozenset(group.gain for group in groups if undone and group.slots[0].stage.gain in undone)
        self._losses: dict[float, int] = {}

    def start(self) -> Label:
        """Nothing laid yet."""
        return Label(State(0, 0, 0, 0, UNDIVIDED, 0), 0, 0, 0, ENDLESS, 1.0, 0, None, None)

    def carried(self, label: Label) -> Carried:
        """What leaves a label's way."""
        state = label.state
        turned = self.gains.value(state.gain) * self.turns[state.passed]
        open_ = state.phase in (1, 2)
        share, lines = (max(state.profile), len(state.profile)) if open_ else (1.0, 1)
        return Carried(label.pass_on / turned, self.segment.speed * turned, share, lines)

    def with_stage(self, label: Label, group: Group, at: Carried) -> Iterator[Label]:
        """A stage of a group: the lightest that bears all that may come, and lighter ones that bear some of it.

        Where lines side by side are open and not needed yet, the lightest that needs them besides.
        """
        factor, efficiency = group.factor, group.efficiency
        load = max(at.torque, at.torque * efficiency / factor)
        turns = max(at.speed, at.speed * factor) / (1 + EQUAL)
        per_limit = (1 + EQUAL) / (load * at.share)
        if group.torque * per_limit < self.least or group.speed < turns:
            return
        enough, open_ = min(self.most, label.most), label.state.phase == 1
        best = {False: 0.0, True: 0.0}
        for slot in group.slots:
            make = slot.stage.make
            bears = make.torque * per_limit
            if turns > make.speed or bears < self.least or make.once & label.state.used:
                continue
            needed = bears * at.share < enough
            if make.once == 0:
                so_far = best[needed and open_]
                if bears <= so_far or so_far >= enough:
                    continue
                best[needed and open_] = bears
            yield self._staged(label, group, slot, at, bears, needed)
            if bears >= enough and not open_ and make.once == 0:
                return

    def _staged(
        self, label: Label, group: Group, slot: StageSlot, at: Carried, bears: float, needed: bool
    ) -> Label:
        state, lines, make = label.state, at.lines, slot.stage.make
        pass_on = label.pass_on * group.efficiency
        phase: Phase = 2 if state.phase == 1 and needed else state.phase
        gain = self.gains.times(state.gain, group.gain)
        new = State(state.passed, gain, self._loss(pass_on), phase, state.profile, state.used | make.once)
        gaps = self.segment.gaps
        weight = label.weight + lines * make.weight + (WORD * gaps[state.passed] if gaps else 0)
        last = 0 if group.gain in self._undone else group.gain
        return Label(
            new, weight, label.parts + lines, label.stages + 1, min(label.most, bears), pass_on, last, label,
            slot, label.ways | self._way(group),
        )  # fmt: skip

    def _way(self, group: Group) -> int:
        """Which way a group gears, where that matters."""
        if not self.segment.straight:
            return 0
        return UPWARD if group.factor > 1 else DOWNWARD

    def past(self, label: Label, at: Carried) -> Iterator[Label]:
        """The next part that stays: as it is where that bears what comes, else in makes that do, by efficiency."""
        kept = self.segment.kept[label.state.passed]
        turning = float(kept.turning)
        turns = max(at.speed, at.speed * turning)
        enough = min(self.most, label.most)
        best: dict[tuple[float, bool], float] = {}
        for make in kept.makes:
            bears = _kept_bears(make, at, turning)
            needed = bears * at.share < enough
            key = (make.efficiency, needed and label.state.phase == 1)
            so_far = best.get(key, 0.0)
            if over(turns, make.speed) or bears < self.least or bears <= so_far or so_far >= enough:
                continue
            if at.lines > 1 and make.copy is None:
                continue
            best[key] = bears
            yield self._kept(label, make, at, bears, needed)
            if make.part is not None and bears >= enough:
                return

    def _kept(self, label: Label, make: Make, at: Carried, bears: float, needed: bool) -> Label:
        state, more = label.state, at.lines - 1
        kept = self.segment.kept[state.passed]
        pass_on = label.pass_on * make.efficiency
        phase: Phase = 2 if state.phase == 1 and needed else state.phase
        new = State(state.passed + 1, state.gain, self._loss(pass_on), phase, state.profile, state.used)
        weight = label.weight + make.weight + more * (make.copy or 0)
        last = label.last if kept.clear else self._gain_of(kept.turning)
        most = min(label.most, bears)
        slot = KeptSlot(state.passed, make)
        return Label(new, weight, label.parts + more, label.stages, most, pass_on, last, label, slot, label.ways)

    def _gain_of(self, turning: Fraction) -> int:
        """The gain of a part that stays, which a stage below may not undo; 0 where it may, or no stage has the like."""
        if turning in self.segment.undone:
            return 0
        return next((group.gain for group in self.groups if group.slots[0].stage.gain == turning), 0)

    def _loss(self, pass_on: float) -> int:
        """The logarithm of what is passed on, rounded."""
        found = self._losses.get(pass_on)
        if found is None:
            found = self._losses[pass_on] = round(math.log(pass_on) * LOSSES) if pass_on else 0
        return found

    def opened(self, label: Label, at: Carried, lines: int) -> Iterator[Label]:
        """So many lines side by side from here on."""
        for tree, bears in self._bearing(self.trees.divided(lines, self.trees.speed_class(at.speed)), label, at.torque):
            state = label.state._replace(phase=1, profile=tree.leaves)
            yield self._divided(label, state, tree, bears, OpenSlot(lines, tree), label.pass_on)

    def closed(self, label: Label, at: Carried) -> Iterator[Label]:
        """The lines side by side gathered again."""
        trees = self.trees.gathered(label.state.profile, self.trees.speed_class(at.speed))
        for tree, bears in self._bearing(trees, label, at.torque):
            pass_on = label.pass_on * tree.leaves[0]
            state = label.state._replace(phase=3, profile=UNDIVIDED, loss=self._loss(pass_on))
            yield self._divided(label, state, tree, bears, CloseSlot(tree), pass_on)

    def _divided(
        self, label: Label, state: State, tree: Tree, bears: float, slot: Slot, pass_on: float
    ) -> Label:
        weight, parts = label.weight + tree.weight, label.parts + tree.parts
        most = min(label.most, bears)
        return Label(state, weight, parts, label.stages, most, pass_on, 0, label, slot, label.ways)

    def _bearing(self, trees: tuple[Tree, ...], label: Label, torque: float) -> Iterator[tuple[Tree, float]]:
        """Of each profile the lightest trees that bear what may come, or some of it; heavier ones of fewer parts."""
        best: dict[Profile, list[tuple[float, int]]] = {}
        enough = min(self.most, label.most)
        for tree in trees:
            bears, lighter = _bears(tree.torque, torque), best.setdefault(tree.leaves, [])
            if bears >= self.least and not any(b >= min(bears, enough) and n <= tree.parts for b, n in lighter):
                lighter.append((bears, tree.parts))
                yield tree, bears

    def others(self, label: Label) -> Iterator[Label]:
        """A label's last step in the other makes that lead to the same state: other goods, items or grades."""
        above, slot = label.above, label.slot
        if above is None or slot is None:
            return
        at = self.carried(above)
        if isinstance(slot, StageSlot):
            found = self._other_stages(above, slot, at)
        elif isinstance(slot, KeptSlot):
            if slot.make.part is not None:
                return
            found = self._other_makes(above, slot, at)
        else:
            found = self._other_trees(above, slot, at)
        yield from (other for other in found if other.state == label.state)

    def _other_stages(self, above: Label, slot: StageSlot, at: Carried) -> Iterator[Label]:
        group = next(g for g in self.groups if slot in g.slots)
        load = max(at.torque, at.torque * group.efficiency / group.factor)
        turns = max(at.speed, at.speed * group.factor)
        for other in group.slots:
            make = other.stage.make
            bears = _bears(make.torque, load * at.share)
            if other is not slot and bears >= self.least and not over(turns, make.speed):
                yield self._staged(above, group, other, at, bears, bears * at.share < self.least)

    def _other_makes(self, above: Label, slot: KeptSlot, at: Carried) -> Iterator[Label]:
        kept = self.segment.kept[slot.at]
        turning = float(kept.turning)
        for make in kept.makes:
            bears = _kept_bears(make, at, turning)
            stands = bears >= self.least and not over(max(at.speed, at.speed * turning), make.speed)
            if make is not slot.make and make.part is None and stands and (at.lines == 1 or make.copy is not None):
                yield self._kept(above, make, at, bears, bears * at.share < self.least)

    def _other_trees(self, above: Label, slot: OpenSlot | CloseSlot, at: Carried) -> Iterator[Label]:
        speed = self.trees.speed_class(at.speed)
        if isinstance(slot, OpenSlot):
            trees = self.trees.divided(slot.lines, speed)
        else:
            trees = self.trees.gathered(above.state.profile, speed)
        for tree in trees:
            bears = _bears(tree.torque, at.torque)
            if tree is slot.tree or bears < self.least:
                continue
            if isinstance(slot, OpenSlot):
                state = above.state._replace(phase=1, profile=tree.leaves)
                yield self._divided(above, state, tree, bears, OpenSlot(slot.lines, tree), above.pass_on)
            else:
                pass_on = above.pass_on * tree.leaves[0]
                state = above.state._replace(phase=3, profile=UNDIVIDED, loss=self._loss(pass_on))
                yield self._divided(above, state, tree, bears, CloseSlot(tree), pass_on)


def _kept_bears(make: Make, at: Carried, turning: float) -> float:
    """The most torque at the head [N*m] with which a part that stays holds, at its inlet and its outlet."""
    return _bears(make.torque, max(at.torque, at.torque * make.efficiency / turning) * at.share)


def _bears(limit: float, load: float) -> float:
    """The most torque at the head [N*m] that a limit allows, by the load for each N*m there; endless without a load."""
    return limit * (1 + EQUAL) / load if load else ENDLESS


def grouped(stages: tuple[Stage, ...], gains: Gains) -> tuple[Group, ...]:
    """Stages by gain and efficiency, in each the lightest first and of those the weakest; 1 : 1 changes nothing."""
    found: dict[tuple[int, float], list[Stage]] = {}
    packed: dict[tuple[tuple[int, int], Direction], int] = {}  # a fraction is slow to look up
    for stage in stages:
        if stage.ratio.changes:
            key = stage.ratio.terms, stage.direction
            if key not in packed:
                packed[key] = gains.packed(stage.gain)
            found.setdefault((packed[key], stage.make.efficiency), []).append(stage)
    groups = []
    for (gain, efficiency), alike in sorted(found.items(), key=lambda pair: (gains.value(pair[0][0]), pair[0][1])):
        alike.sort(key=_lightness)
        limits = max(stage.make.torque for stage in alike), max(stage.make.speed for stage in alike)
        groups.append(Group(gain, gains.value(gain), efficiency, tuple(map(StageSlot, alike)), *limits))
    return tuple(groups)


def _lightness(stage: Stage) -> tuple[bool, int, float, float, str]:
    """What can be had once comes first, since all of it is tried."""
    make = stage.make
    return make.once == 0, make.weight, make.torque, make.speed, make.item
