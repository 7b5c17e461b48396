"""Trains grown at random from a prime mover to machines, torque and speed reckoned as they grow."""

from dataclasses import dataclass, field
from random import Random

from rig_maker.plan import PlannedPart
from rig_maker.stock import DIVIDERS, GATHERERS, PLAIN, STAGES, Mover, StageItem

_TAME = (0.3, 2000.0)  # rad/s: no further stage once a line turns slower or faster
_MOST_STAGES = 3  # in a row without a splitter or combiner between


@dataclass(slots=True)
class _Line:
    """Where a line ends: part, outlet, torque and speed there; direction since the last splitter or combiner.

    One direction in a row, so that no two stages undo each other.
    """

    part: str
    outlet: str | None
    torque: float
    speed: float
    direction: str
    stages: int = 0


@dataclass(slots=True)
class Train:
    """The parts of one train, in driving order; ``grow`` makes exactly as many as were asked for."""

    rng: Random
    prefix: str
    parts: list[PlannedPart] = field(default_factory=list)
    movers: int = 1

    def grow(self, mover: Mover, size: int) -> None:
        """Fill the train with ``size`` parts, 2 or more."""
        rng = self.rng
        if size >= 8 and rng.random() < 0.25:
            count = rng.choice((2, 2, 3))
            starts = [self._start(mover) for _ in range(count)]
            self.movers = count
            line = self._gather([self._line_from(start) for start in starts])
            self._extend(line, size - count - 1)
        else:
            self._extend(self._line_from(self._start(mover)), size - 1)
        for part in self.parts:
            part.movers = self.movers

    def _name(self, stem: str) -> str:
        return f"{self.prefix}{stem}-{len(self.parts)}"

    def _start(self, mover: Mover) -> PlannedPart:
        torque, speed = mover.output
        part = PlannedPart(self._name("wheel"), "prime-mover", mover.item, output=mover.output)
        part.settings = dict(mover.settings)
        part.torque_out = part.passed = torque
        part.speed_out = speed
        self.parts.append(part)
        return part

    def _line_from(self, part: PlannedPart, outlet: str | None = None, share: float = 1.0) -> _Line:
        speed = part.speed_out
        toss = self.rng.choice(("reduce", "increase"))
        direction = "reduce" if speed > 60 else "increase" if speed < 5 else toss
        return _Line(part.name, outlet, part.passed * share, speed, direction)

    def _extend(self, line: _Line, budget: int) -> None:
        rng = self.rng
        while budget > 1:
            ways = (
                ["plain"] * 4 + ["split"] * (3 if budget >= 3 else 0) + ["gather"] * (2 if budget >= 5 else 0)
            )
            if line.stages < _MOST_STAGES and _TAME[0] < line.speed < _TAME[1]:
                ways += ["stage"] * 5
            way = rng.choice(ways)
            if way == "split":
                self._split(line, budget)
                return
            if way == "gather":
                line, used = self._split_and_gather(line, budget)
                budget -= used
            else:
                self._add_stage(line, rng.choice(STAGES)) if way == "stage" else self._add_plain(line)
                budget -= 1
        self._add_machine(line)

    def _driven(self, line: _Line, stem: str, kind: str, item: str, efficiency: float) -> PlannedPart:
        part = PlannedPart(self._name(stem), kind, item, ((line.part, line.outlet),), efficiency=efficiency)
        part.torque_in, part.speed_in = line.torque, line.speed
        part.torque_out = part.passed = line.torque * efficiency
        part.speed_out = line.speed
        self.parts.append(part)
        return part

    def _move_on(self, line: _Line, part: PlannedPart) -> None:
        line.part, line.outlet, line.torque, line.speed = part.name, None, part.passed, part.speed_out

    def _add_plain(self, line: _Line) -> None:
        item = self.rng.choice(tuple(PLAIN))
        kind, efficiency, _ = PLAIN[item]
        part = self._driven(line, kind, kind, item, efficiency)
        if kind == "clutch" and self.rng.random() < 0.5:
            part.settings["engaged"] = True
        self._move_on(line, part)

    def _add_stage(
        self, line: _Line, item: StageItem, number: int | None = None, in_branch: bool = False
    ) -> None:
        choice = self.rng.randrange(len(item.ratios)) if number is None else number
        text, ratio = item.ratios[choice]
        part = self._driven(line, "stage", item.kind, item.name, item.efficiency)
        part.ratio, part.ratio_text, part.direction, part.in_branch = ratio, text, line.direction, in_branch
        if line.direction == "reduce":
            part.torque_out = part.passed = line.torque * item.efficiency * float(ratio)
            part.speed_out = line.speed / float(ratio)
        else:
            part.torque_out = part.passed = line.torque * item.efficiency / float(ratio)
            part.speed_out = line.speed * float(ratio)
        line.stages += 1
        self._move_on(line, part)

    def _add_machine(self, line: _Line) -> None:
        part = self._driven(line, "machine", "driven-machine", "", 1.0)
        part.torque_out = part.passed = part.speed_out = 0.0

    def _divide(self, line: _Line, count: int) -> tuple[PlannedPart, list[tuple[str, float]]]:
        """A splitter, with its outlets and the part of the torque that each gets."""
        rng = self.rng
        item, offered, efficiency = rng.choice(DIVIDERS[count])
        weights = [float(rng.randint(1, 40)) / 4 for _ in range(count)]
        if offered is not None:
            weights = [float(weight) for weight in rng.choice(offered)]
            rng.shuffle(weights)
        part = self._driven(line, "divide", "splitter", item, efficiency)
        part.shares = tuple((f"way{number}", weight) for number, weight in enumerate(weights))
        total = sum(weights)
        part.torque_out = part.passed * max(weights) / total
        if rng.random() < 0.4:
            part.settings["purpose"] = rng.choice(("distribute", "relieve-torque"))
        return part, [(name, weight / total) for name, weight in part.shares]

    def _split(self, line: _Line, budget: int) -> None:
        count = self.rng.randint(2, min(4, budget - 1))
        part, ways = self._divide(line, count)
        cuts = sorted(self.rng.sample(range(1, budget - 1), count - 1))
        sizes = [b - a for a, b in zip([0, *cuts], [*cuts, budget - 1], strict=True)]
        for (outlet, share), size in zip(ways, sizes, strict=True):
            self._extend(self._line_from(part, outlet, share), size)

    def _split_and_gather(self, line: _Line, budget: int) -> tuple[_Line, int]:
        """A splitter, like stages side by side (their order may differ), a combiner; the parts it took."""
        rng = self.rng
        count = rng.randint(2, min(4, budget - 3))
        depth = rng.randint(1, min(2, (budget - 3) // count))
        if not _TAME[0] < line.speed < _TAME[1]:
            depth = 0
        part, ways = self._divide(line, count)
        fresh = self._line_from(part)
        stages = [(item, rng.randrange(len(item.ratios))) for item in rng.choices(STAGES, k=depth)]
        ends = []
        for outlet, share in ways:
            branch = _Line(part.name, outlet, part.passed * share, part.speed_out, fresh.direction)
            for item, number in rng.sample(stages, depth):
                self._add_stage(branch, item, number, in_branch=True)
            ends.append(branch)
        return self._gather(ends), 2 + count * depth

    def _gather(self, ends: list[_Line]) -> _Line:
        item, efficiency = GATHERERS[len(ends)]
        inlets = tuple((end.part, end.outlet) for end in ends)
        part = PlannedPart(self._name("gather"), "combiner", item, inlets, efficiency=efficiency)
        part.torque_in = max(end.torque for end in ends)
        part.torque_out = part.passed = sum(end.torque for end in ends) * efficiency
        part.speed_in = part.speed_out = max(end.speed for end in ends)
        self.parts.append(part)
        return self._line_from(part)
