"""The search of lines: cheapest paths with labels, best first; complete within its bounds, which are counted steps."""

import heapq
from collections.abc import Iterator
from itertools import count

from lineshaft.repair.line.bounds import Bounds, Shown
from lineshaft.repair.line.demand import Demand
from lineshaft.repair.line.design import CloseSlot, Found, KeptSlot, Nothing, Slot, StageSlot
from lineshaft.repair.line.effort import Effort, Outcome
from lineshaft.repair.line.gains import NEVER
from lineshaft.repair.line.labels import DOWNWARD, UPWARD, Label, Labels, State
from lineshaft.repair.line.prepared import Prepared
from lineshaft.repair.line.prices import cost_units
from lineshaft.repair.line.segment import Segment, Stock
from lineshaft.repair.line.steps import Steps
from lineshaft.solve.limits import over, short

_TURN = 128
"""Steps after which a search that found nothing lets others have their turn."""


class _Tail:
    """How a design goes on from a state: joined with every other way to that state it makes another design."""

    __slots__ = ("first", "parts", "slots", "stages", "ways", "weight")

    def __init__(self, way: list[Label], at: int, beyond: "_Tail | None", kept_clear: tuple[bool, ...]) -> None:
        here, end = way[at], way[-1]
        slots = [label.slot for label in way[at + 1 :] if label.slot is not None]
        self.slots: tuple[Slot, ...] = (*slots, *(() if beyond is None else beyond.slots))
        self.weight: int = end.weight - here.weight + (0 if beyond is None else beyond.weight)
        self.parts: int = end.parts - here.parts + (0 if beyond is None else beyond.parts)
        self.stages: int = end.stages - here.stages + (0 if beyond is None else beyond.stages)
        self.ways = 0
        for slot in self.slots:
            if isinstance(slot, StageSlot):
                self.ways |= UPWARD if slot.stage.direction == "increase" else DOWNWARD
        self.first: StageSlot | None = None
        for slot in self.slots:
            if isinstance(slot, StageSlot):
                self.first = slot
            if not (isinstance(slot, KeptSlot) and kept_clear[slot.at]):
                break


class Search:
    """The designs of one segment for a demand, by weight."""

    def __init__(self, segment: Segment, demand: Demand, stock: Stock | Prepared, effort: Effort) -> None:
        self._segment, self._demand, self._effort = segment, demand, effort
        ready = stock if isinstance(stock, Prepared) else Prepared(stock, segment.stages)
        self._trees = ready.trees
        self._steps = Steps(segment, ready.gains, ready.groups, ready.trees)
        self._bounds = Bounds(self._steps, ready.reach, demand)
        self._steps.least = max(self._steps.least, min(self._bounds.least_torque, self._steps.most))
        self._labels = Labels()
        self._tails: dict[State, dict[tuple[Slot, ...], _Tail]] = {}
        self._queue: list[tuple[int, int, Label, _Tail | int | None]] = []
        self._numbers = count()
        self._clear = tuple(kept.clear for kept in segment.kept)
        self._known = segment.torque[0] == segment.torque[1]
        self._found = False
        self._stopped = False

    @property
    def outcome(self) -> Outcome:
        """How the search ended; asked for once its designs are at their end."""
        if self._stopped or self._trees.capped:
            return "no-further-within-bound" if self._found else "none-within-bound"
        return "no-further" if self._found else "none"

    @property
    def least(self) -> int:
        """No design weighs less; ``NEVER`` where there is none."""
        return self._bounds.to_come(self._steps.start())

    def show(self, cost: int, parts: int, speed: float | None) -> None:
        """Ask from now on only for what beats a design in cost (units of weight), in parts, or in speed [rad/s].

        Without a speed no end is too slow; of a straight segment what gears up and down again is not asked for all the
        same.
        """
        self._bounds.shown.append(Shown(cost, parts, speed))

    def designs(self) -> Iterator[Found | Nothing]:
        """Every design that holds and does, lightest first; between them how far the search is."""
        start = self._steps.start()
        self._labels.open[start.state] = [start]
        heapq.heappush(self._queue, (start.weight, -next(self._numbers), start, None))
        yield Nothing(start.weight)
        reached, waited = 0, -1  # the start is the first to come out
        while self._queue:
            weight, _, label, tail = heapq.heappop(self._queue)
            if label.dead and tail is None:
                continue
            waited += 1
            if cost_units(weight) > reached or waited > _TURN:
                reached, waited = cost_units(weight), 0
                yield Nothing(weight)
            if isinstance(tail, _Tail):
                speed, ways = self._end_speed(label, tail), label.ways | tail.ways if self._segment.straight else 0
                if self._bounds.asked_for(weight, label.parts + tail.parts, speed, ways):
                    self._found = True
                    yield self._joined(label, tail)
                    self._vary(label, tail)
                continue
            least = self._bounds.to_come(label)
            if least >= NEVER:
                continue
            if tail is not None:
                may_go_on = self._open(label, tail, least)
            else:
                found = self._finished(label)
                if found is not None:
                    self._found = True
                    yield found
                    self._vary(label, None)
                label.expanded = True
                may_go_on = self._expand(label, least)
            if not may_go_on:
                self._stopped = True
                return

    def _expand(self, label: Label, least: int) -> bool:
        """Every step on from a label; false where the effort does not do.

        Lines side by side wait until nothing lighter can come: their trees are many, and weigh something.
        """
        steps, state, work = self._steps, label.state, self._trees.work
        at = steps.carried(label)
        if self._segment.ended and state.passed == len(self._segment.kept):
            return self._effort.spend()
        if state.phase == 0:
            self._open_later(label, 2, least)
        if label.stages < self._segment.stages:
            for group in steps.groups:
                # What a stage above gives, one below must not give back.
                if group.gain != -label.last or label.last == 0:
                    for child in steps.with_stage(label, group, at):
                        self._admit(child)
                self._effort.left -= 1
        if state.phase == 2:
            for child in steps.closed(label, at):
                self._admit(child)
        if state.passed < len(self._segment.kept):
            for child in steps.past(label, at):
                self._admit(child)
        return self._effort.spend(1 + self._trees.work - work)

    def _open_later(self, label: Label, lines: int, least: int) -> None:
        """Put so many lines side by side from a label on into the queue, where they may be that many."""
        weight = self._trees.lightest(lines) if lines <= self._segment.lines else NEVER
        if weight < NEVER:
            heapq.heappush(self._queue, (label.weight + least + weight, -next(self._numbers), label, lines))

    def _open(self, label: Label, lines: int, least: int) -> bool:
        """So many lines side by side from a label on, and later one more; false where the effort does not do."""
        work = self._trees.work
        for child in self._steps.opened(label, self._steps.carried(label), lines):
            self._admit(child)
        self._open_later(label, lines + 1, least)
        return self._effort.spend(1 + self._trees.work - work)

    def _admit(self, label: Label) -> None:
        self._effort.left -= 1
        if self._labels.does_without(label):
            for parked in self._labels.park(label):
                self._join(parked)
            return
        least = self._bounds.to_come(label)
        if least < NEVER:
            for parked in self._labels.admit(label):
                self._join(parked)
            heapq.heappush(self._queue, (label.weight + least, -next(self._numbers), label, None))

    def _finished(self, label: Label) -> Found | None:
        """The design that ends here, where the segment is laid and its end gets what it has to."""
        state = label.state
        if state.passed < len(self._segment.kept) or state.phase in (1, 2):
            return None
        at, demand = self._steps.carried(label), self._demand
        least, most = self._segment.torque
        if self._known:
            if not demand.met(least * at.torque, at.speed):
                return None
        else:
            if over(at.speed, demand.speed[1]) or short(at.speed, demand.speed[0]):
                return None
            least = max(least, demand.least_torque(at.speed) / at.torque)
            most = min(most, label.most, demand.torque[1] / at.torque)
            if over(least, most):
                return None
        slots = tuple(step.slot for step in label.way() if step.slot is not None)
        return Found(slots, label.weight, (least, most), at.torque, at.speed)

    def _end_speed(self, label: Label, tail: _Tail) -> float:
        gain = self._steps.gains.value(label.state.gain)
        for slot in tail.slots:
            if isinstance(slot, StageSlot):
                gain *= float(slot.stage.gain)
        return self._segment.speed * gain * self._steps.turns[-1]

    def _vary(self, head: Label, tail: _Tail | None) -> None:
        """Look for the other ways to each state on a design's way: at or before its last deviation."""
        if not self._known:
            return
        way = head.way()
        for at in range(len(way) - 1, 0, -1):
            label = way[at]
            if not label.varied:
                label.varied = True
                for other in self._steps.others(label):
                    other.varied = True  # all of a kind are looked up together, once
                    self._effort.left -= 1
                    for parked in self._labels.park(other):
                        self._join(parked)
            if at < len(way) - 1 or tail is None:
                beyond = _Tail(way, at, tail, self._clear)
                known = self._tails.setdefault(label.state, {})
                if beyond.slots in known:
                    continue  # two labels of one state go on alike
                known[beyond.slots] = beyond
                for parked in self._labels.parked.get(label.state, ()):
                    self._join_with(parked, beyond)

    def _join(self, parked: Label) -> None:
        for tail in self._tails.get(parked.state, {}).values():
            self._join_with(parked, tail)

    def _join_with(self, parked: Label, tail: _Tail) -> None:
        self._effort.left -= 1
        first = tail.first
        if parked.last and first is not None and self._steps.gains.packed(first.stage.gain) == -parked.last:
            return
        if parked.stages + tail.stages <= self._segment.stages:
            heapq.heappush(self._queue, (parked.weight + tail.weight, -next(self._numbers), parked, tail))

    def _joined(self, head: Label, tail: _Tail) -> Found:
        slots = (*(step.slot for step in head.way() if step.slot is not None), *tail.slots)
        end = self._segment.torque
        pass_on, speed = self._through(slots)
        return Found(slots, head.weight + tail.weight, end, pass_on, speed)

    def _through(self, slots: tuple[Slot, ...]) -> tuple[float, float]:
        """What leaves the segment for each N·m at its head, and its speed."""
        torque, turned = 1.0, 1.0
        for slot in slots:
            if isinstance(slot, StageSlot):
                gain = float(slot.stage.gain)
                torque, turned = torque * slot.stage.make.efficiency / gain, turned * gain
            elif isinstance(slot, KeptSlot):
                gain = float(self._segment.kept[slot.at].turning)
                torque, turned = torque * slot.make.efficiency / gain, turned * gain
            elif isinstance(slot, CloseSlot):
                torque *= slot.tree.leaves[0]
        return torque, self._segment.speed * turned
