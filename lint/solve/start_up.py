"""A rig on its way into work: its state after each commissioning step, solved only where the step changed something.

The state is the direction of each stage, what is coupled, each clutch, which prime movers run, and what was filled.
It begins with every stage as delivered, prime movers stopped, parts that have a `couple` step uncoupled, clutches
whose first step is `engage` open and those whose first step is `disengage` closed, all else as declared.
"""

from array import array
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Literal, NamedTuple, cast

from lineshaft.schema.model.rig import Part, Step
from lineshaft.solve.drivetrain import Drivetrain, reached
from lineshaft.solve.limits import EQUAL
from lineshaft.solve.steady_state import Columns, Flows, Settings, outlet_torque, solve_parts

if TYPE_CHECKING:  # chains are told of findings
    from lineshaft.solve.link import Link

Quantity = Literal["torque", "speed"]


class Breach(NamedTuple):
    """A part over a limit in one state: inlet, outlet and limit in N*m (torque) or rad/s (speed)."""

    part: int
    quantity: Quantity
    inlet: float
    outlet: float
    limit: float

    @property
    def carried(self) -> float:
        """What counts against the limit: the larger of inlet and outlet."""
        return max(self.inlet, self.outlet)

    @property
    def times_limit(self) -> float:
        """How many times its limit the part carries."""
        return self.carried / self.limit


class Passage(NamedTuple):
    """What one step did: ``turns`` are the parts that turn now and did not before, ``stops`` the reverse.

    ``over`` are the parts over a limit among those that the step changed, in driving order. ``changed`` says whether
    it changed any torque or speed. ``step`` is none where there is no list and everything starts at once as delivered.
    """

    step: Step | None
    turns: tuple[int, ...]
    stops: tuple[int, ...]
    over: tuple[Breach, ...]
    changed: bool = True


class StartUp:
    """The running state of a rig. Made anew for each simulation; :meth:`passages` moves it step by step.

    ``filled`` holds the litres filled into each part so far; ``turning`` is 1 where a part turns.
    """

    __slots__ = (
        *("_chains", "_links", "_ranks", "closed", "columns", "coupled"),
        *("filled", "increasing", "running", "train", "turning"),
    )

    def __init__(
        self,
        train: Drivetrain,
        increasing: bytearray,
        closed: bytearray,
        coupled: bytearray,
        running: bytearray,
        columns: Columns,
        turning: bytearray,
    ) -> None:
        self.train, self.columns = train, columns
        self.increasing, self.closed, self.coupled = increasing, closed, coupled
        self.running, self.turning = running, turning
        self.filled: dict[int, float] = {}
        self._ranks = array("l")
        self._links: dict[int, Link] = {}
        self._chains: dict[int, tuple[Link, ...]] = {}

    @property
    def settings(self) -> Settings:
        """The settings as the solver reads them; a view that moves on with the state."""
        return Settings(
            cast(bytes, self.increasing),
            cast(bytes, self.closed),
            cast(bytes, self.coupled),
            cast(bytes, self.running),
        )

    def flows(self) -> Flows:
        """Torque and speed everywhere, as they are now."""
        return self.columns.flows()

    def passages(self) -> Iterator[Passage]:
        """Every step of the rig's list in turn; the state is that after the step until the next one is asked for.

        Without a list there is one passage: all that is coupled is started at once, after the steps that placed
        blueprints bring with them (nothing turns yet).
        """
        if not self.train.rig.has_commissioning:
            for step in self.train.rig.steps:
                self._changed_by(step)
            self.running = bytearray(b"\1" * len(self.train.parts))
            self._forget_chains()
            yield self._solved(None, self.train.order)
            return
        for step in self.train.rig.steps:
            yield self._solved(step, self._changed_by(step))

    def downstream(self, *first: int) -> tuple[int, ...]:
        """Parts and all below them, in driving order."""
        ranks = self._ranks or self._traced_ranks()
        found = reached((part for part in first if ranks[part] >= 0), self.train.below)
        return tuple(sorted((number for number in found if ranks[number] >= 0), key=ranks.__getitem__))

    def chain(self, part: int) -> "tuple[Link, ...]":
        """From a prime mover down to a part, as things are; at a combiner along the inlet with the most torque.

        Chains of one state share their links: in a long line many begin alike. The same is given to all that ask.
        """
        found = self._chains.get(part)
        if found is None:
            known = self._links
            path = self.train.chain(part, self._torque_of)
            links = (known.get(n) or known.setdefault(n, self._link(n)) for n in path)
            found = self._chains[part] = tuple(links)
        return found

    def _forget_chains(self) -> None:
        self._links.clear()
        self._chains.clear()

    def _link(self, number: int) -> "Link":
        from lineshaft.solve.link import Link

        columns = self.columns
        return Link(number, columns.torque_out[number], columns.speed_out[number], self.increasing[number] == 1)

    def _torque_of(self, source: int, number: int) -> float:
        return outlet_torque(self.train.parts[source], self.columns.passed[source], number)

    def _traced_ranks(self) -> "array[int]":
        """The place of each part in the driving order; below zero where it has none."""
        self._ranks = array("l", [-1]) * len(self.train.parts)
        for rank, number in enumerate(self.train.order):
            self._ranks[number] = rank
        return self._ranks

    def _changed_by(self, step: Step) -> tuple[int, ...]:
        """Put a step into effect; the parts whose torque or speed it may change, in driving order."""
        part = step.part
        if step.kind == "fill":
            self.filled[part] = self.filled.get(part, 0.0) + step.amount
            return ()
        setting, value = {
            "set": (self.increasing, step.to == "increase"),
            "couple": (self.coupled, True),
            "engage": (self.closed, True),
            "disengage": (self.closed, False),
            "start": (self.running, True),
            "stop": (self.running, False),
        }[step.kind]
        if setting[part] == value:
            return ()
        setting[part] = value
        self._forget_chains()
        columns = self.columns
        if step.kind in ("start", "stop") or any(columns.speed_out[s] > 0 for s, _ in self.train.parts[part].inlets):
            return self.downstream(part)
        return ()

    def _solved(self, step: Step | None, changed: tuple[int, ...]) -> Passage:
        """Solve the changed parts again, and compare them with the state before and with their limits."""
        if not changed:
            return Passage(step, (), (), (), False)
        self._clear(changed)
        solve_parts(self.train, self.settings, changed, self.columns)
        parts, columns, turning = self.train.parts, self.columns, self.turning
        turns: list[int] = []
        stops: list[int] = []
        over: list[Breach] = []
        for n in changed:
            now = columns.speed_in[n] > 0 or columns.speed_out[n] > 0
            if now != turning[n]:
                turning[n] = now
                (turns if now else stops).append(n)
            if now:
                _judge(parts[n], n, columns, over)
        return Passage(step, tuple(turns), tuple(stops), tuple(over))

    def _clear(self, changed: tuple[int, ...]) -> None:
        columns = self.columns
        for n in changed:
            columns.torque_in[n] = columns.torque_out[n] = columns.speed_in[n] = columns.speed_out[n] = 0.0
            columns.passed[n] = 0.0
            columns.solved[n] = 0
        if columns.mismatched:
            again = set(changed)
            columns.mismatched[:] = [n for n in columns.mismatched if n not in again]
        columns.beyond.clear()  # whoever wants them looks after each step


def _judge(part: Part, n: int, columns: Columns, over: list[Breach]) -> None:
    """Add what is over a limit at one part."""
    limit = part.torque_limit
    if limit is not None:
        inlet, outlet = columns.torque_in[n], columns.torque_out[n]
        if (inlet if inlet > outlet else outlet) > limit * (1 + EQUAL):
            over.append(Breach(n, "torque", inlet, outlet, limit))
    limit = part.speed_limit
    if limit is not None:
        inlet, outlet = columns.speed_in[n], columns.speed_out[n]
        if (inlet if inlet > outlet else outlet) > limit * (1 + EQUAL):
            over.append(Breach(n, "speed", inlet, outlet, limit))


def before_first_step(train: Drivetrain) -> StartUp:
    """The rig as it stands before the first step of its list: nothing turns."""
    parts = train.parts
    count = len(parts)
    zeros = [0.0] * count
    columns = Columns(zeros, zeros[:], zeros[:], zeros[:], zeros[:], bytearray(count), [], [])
    for number in train.order:
        columns.solved[number] = 1
    coupled = bytearray(b"\1" * count)
    closed = bytearray(part.engaged for part in parts)
    for step in reversed(train.rig.steps):
        # From behind, so that the first step of a clutch has the last word.
        if step.kind == "couple":
            coupled[step.part] = 0
        elif step.kind in ("engage", "disengage"):
            closed[step.part] = step.kind == "disengage"
    increasing = bytearray(part.item.delivered == "increase" and part.ratio is not None for part in parts)
    return StartUp(train, increasing, closed, coupled, bytearray(count), columns, bytearray(count))


def wrongly_set(start_up: StartUp, numbers: Iterable[int]) -> list[int]:
    """The stages among ``numbers`` that do not have the direction the rig wants, as things are."""
    parts = start_up.train.parts
    increasing = start_up.increasing
    return [
        n
        for n in numbers
        if parts[n].ratio is not None and increasing[n] != (parts[n].direction == "increase")
    ]
