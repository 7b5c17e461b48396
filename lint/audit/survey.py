"""The stretch of a rig that its disagreeing readings depend on, made ready for thousands of forward solves.

Only parts that lead to a reading or a combiner are kept, a train at a time: a deviation elsewhere changes nothing that
was read and locks nothing.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from lineshaft.audit.comparison import NO_READING, Measured, computed, disagree
from lineshaft.schema.model.rig import Part
from lineshaft.solve.drivetrain import Drivetrain, connect
from lineshaft.solve.steady_state import SPEEDS_AGREE, Columns, Settings, declared, solve, solve_parts

MOST_ORDERED = 2_000_000
"""So many part numbers at most are kept of the orders in which parts were solved."""
Values = list[float | None]
"""A value for each number that was read; none where its place is not solved."""


@dataclass(frozen=True, slots=True)
class Survey:
    """One train with its readings. Parts are numbered anew; ``numbers`` leads back to the rig's.

    ``reach`` is for each part the set of numbers read at or below it, ``below`` the set of parts; both as bits.
    The last of ``measured`` are the inlets of combiners but the first: the combiner's speed as written was "read", and
    the value is off by as much as the inlet is from the first that turns. Such a one would lock; what is below is
    solved all the same, as if the first one's speed went on, so that values are straight in whatever changes above.
    ``stretch`` is the lowest part that is in line with each part with nothing read and nothing divided between:
    torque lost anywhere on one stretch shows alike. ``expected`` are the values of the rig as written.
    """

    train: Drivetrain
    numbers: tuple[int, ...]
    measured: tuple[Measured, ...]
    reach: tuple[int, ...]
    below: tuple[int, ...]
    stretch: tuple[int, ...]
    settings: Settings
    solved: Columns
    expected: tuple[float | None, ...]
    _orders: dict[int, tuple[int, ...]] = field(default_factory=dict, repr=False)

    def values(self, changed: Mapping[int, Part]) -> Values:
        """The values with some parts replaced, from a forward solve of what lies at and below them."""
        bits = 0
        for number in changed:
            bits |= self.below[number]
        order = self._orders.get(bits)
        if order is None:
            order = tuple(n for n in self.train.order if bits >> n & 1)
            if len(self._orders) * len(self.train.parts) < MOST_ORDERED:
                self._orders[bits] = order
        parts = list(self.train.parts)
        for number, part in changed.items():
            parts[number] = part
        train = self.train._replace(rig=replace(self.train.rig, parts=tuple(parts)))
        columns = self.solved
        kept = [_row(columns, n) for n in order]
        for n in order:
            _put(columns, n, _REST)
        _solve_unlocked(train, _settings(self.settings, changed), order, columns)
        found = [
            _value(m, parts, columns) if bits >> m.part & 1 else value
            for m, value in zip(self.measured, self.expected, strict=True)
        ]
        for n, row in zip(order, kept, strict=True):
            _put(columns, n, row)
        columns.mismatched.clear()
        columns.beyond.clear()
        return found

    def wrong(self, values: Sequence[float | None]) -> int:
        """The numbers that disagree with values, or have none, as bits."""
        bits = 0
        for k, (m, value) in enumerate(zip(self.measured, values, strict=True)):
            if value is None or disagree(m.read, value, m.tolerance):
                bits |= 1 << k
        return bits


def _value(m: Measured, parts: Sequence[Part], columns: Columns) -> float | None:
    if m.reading == NO_READING:
        return _agreement(parts[m.part], m, columns)
    return computed(parts, columns, m.part, m.outlet, m.quantity)


def _agreement(combiner: Part, m: Measured, columns: Columns) -> float | None:
    """What was "read" where an inlet turns as fast as the first that turns, or rests; else off by the difference."""
    inlet = m.outlet
    if inlet >= len(combiner.inlets):
        return m.read  # it is not coupled
    if not all(columns.solved[source] for source, _ in combiner.inlets):
        return None
    speeds = [columns.speed_out[source] for source, _ in combiner.inlets]
    first = next((speed for speed in speeds if speed > 0), 0.0)
    return m.read + speeds[inlet] - first if speeds[inlet] > 0 else m.read


def _solve_unlocked(train: Drivetrain, settings: Settings, order: tuple[int, ...], columns: Columns) -> None:
    """Solve parts in order; a combiner whose inlets differ in speed hands on that of the first that turns."""
    solve_parts(train, settings, order, columns)
    while columns.mismatched:
        locked = min(columns.mismatched, key=order.index)
        columns.mismatched.clear()
        sources = [source for source, _ in train.parts[locked].inlets if columns.speed_out[source] > 0]
        speeds = [columns.speed_out[source] for source in sources]
        for source in sources:
            columns.speed_out[source] = speeds[0]
        solve_parts(train, settings, (locked,), columns)
        for source, speed in zip(sources, speeds, strict=True):
            columns.speed_out[source] = speed
        solve_parts(train, settings, order[order.index(locked) + 1 :], columns)


_Row = tuple[float, float, float, float, float, int]
_REST: _Row = (0.0, 0.0, 0.0, 0.0, 0.0, 0)


def _row(columns: Columns, n: int) -> _Row:
    c = columns
    return c.torque_in[n], c.torque_out[n], c.speed_in[n], c.speed_out[n], c.passed[n], c.solved[n]


def _put(columns: Columns, n: int, row: _Row) -> None:
    c = columns
    c.torque_in[n], c.torque_out[n], c.speed_in[n], c.speed_out[n], c.passed[n], c.solved[n] = row


def _settings(settings: Settings, changed: Mapping[int, Part]) -> Settings:
    increasing, closed = bytearray(settings.increasing), bytearray(settings.closed)
    for number, part in changed.items():
        increasing[number] = part.direction == "increase"
        closed[number] = part.engaged
    return Settings(bytes(increasing), bytes(closed), settings.coupled, settings.running)


def surveys(train: Drivetrain, measured: Sequence[Measured]) -> Iterator[Survey]:
    """A survey of each train in which a reading disagrees; readings at parts that are not solved are left out."""
    combiners = [n for n in train.order if train.parts[n].item.kind == "combiner"]
    turning = [
        Measured(NO_READING, n, inlet, "speed", 1.0, SPEEDS_AGREE)
        for n in combiners
        for inlet in range(1, len(train.parts[n].inlets))
    ]
    above = train.above(*(m.part for m in (*measured, *turning)))
    for group in train.components(above):
        found = _survey(train, group, [m for m in (*measured, *turning) if m.part in group])
        if found.wrong(found.expected):
            yield found


def _survey(train: Drivetrain, group: frozenset[int], measured: Sequence[Measured]) -> Survey:
    numbers = tuple(sorted(group))
    index = {number: n for n, number in enumerate(numbers)}
    parts = tuple(
        train.parts[number]._replace(inlets=tuple((index[s], outlet) for s, outlet in train.parts[number].inlets))
        for number in numbers
    )
    steps = tuple(step._replace(part=index[step.part]) for step in train.rig.steps if step.part in index)
    reduced = connect(replace(train.rig, parts=parts, steps=steps, readings=(), circuits=(), waivers=()))
    settings = declared(reduced)
    flows = solve(reduced, settings)
    columns = Columns(
        list(flows.torque_in),
        list(flows.torque_out),
        list(flows.speed_in),
        list(flows.speed_out),
        list(flows.passed),
        bytearray(flows.solved),
        [],
        [],
    )
    here = (m._replace(part=index[m.part]) for m in measured)
    own = tuple(_in_speeds(m, parts, columns) for m in here if flows.solved[m.part])
    expected = tuple(_value(m, parts, columns) for m in own)
    reach, below = _downwards(reduced, own)
    stretch = _stretches(reduced, {m.part for m in own})
    return Survey(reduced, numbers, own, reach, below, stretch, settings, columns, expected)


def _in_speeds(m: Measured, parts: Sequence[Part], columns: Columns) -> Measured:
    """A combiner's inlet with the combiner's speed as what was "read": differences count in parts of that."""
    if m.reading != NO_READING:
        return m
    fastest = max((columns.speed_out[source] for source, _ in parts[m.part].inlets), default=0.0)
    return m._replace(read=fastest or max(columns.speed_out, default=0.0) or 1.0)


def _downwards(train: Drivetrain, measured: Sequence[Measured]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    count = len(train.parts)
    reach, below = [0] * count, [1 << n for n in range(count)]
    for k, m in enumerate(measured):
        reach[m.part] |= 1 << k
    for number in reversed(train.order):
        for source, _ in train.parts[number].inlets:
            reach[source] |= reach[number]
            below[source] |= below[number]
    return tuple(reach), tuple(below)


def _stretches(train: Drivetrain, read: set[int]) -> tuple[int, ...]:
    """For each part the lowest one in line with it: at a reading, a splitter, above a combiner or at the end."""
    ends = list(range(len(train.parts)))
    for number in reversed(train.order):
        below = train.below(number)
        single = len(below) == 1 and not train.parts[number].outlets and number not in read
        if single and train.parts[below[0]].item.kind != "combiner":
            ends[number] = ends[below[0]]
    return tuple(ends)
