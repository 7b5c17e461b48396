"""One pass in driving order: torque and speed at every part, for any state of the rig.

The basis is supply: each running prime mover pushes its full output, and every part carries what can reach it.
"""

from typing import TYPE_CHECKING, NamedTuple

from lineshaft.schema.model.outlets import total_of
from lineshaft.schema.model.rig import Part
from lineshaft.schema.quantities.quantity import LEAST, MOST
from lineshaft.solve.drivetrain import Drivetrain
from lineshaft.solve.prime_mover import output_of

if TYPE_CHECKING:  # few rigs have one
    from lineshaft.solve.excess import Excess, Quantity

SPEEDS_AGREE = 1e-6
"""Relative difference up to which the inlets of a combiner turn at one speed."""


class Settings(NamedTuple):
    """What can be changed on a rig without rebuilding it, a byte a part.

    ``increasing``: the stage is set to increase. ``closed``: the part passes power on (a clutch is engaged).
    ``coupled``: the part is coupled to what drives it. ``running``: the prime mover runs.
    """

    increasing: bytes
    closed: bytes
    coupled: bytes
    running: bytes


class Flows(NamedTuple):
    """Torque [N*m] and speed [rad/s] of every part, by its index; zero where nothing turns.

    ``torque_in`` of a combiner is its largest inlet; ``torque_out`` of a splitter its largest outlet. ``passed`` is
    the torque that the part hands on in all. ``solved`` is 1 where the part was solved. ``mismatched`` are the
    combiners whose running inlets disagree, ``beyond`` the parts whose values leave what is reckoned with.
    """

    torque_in: tuple[float, ...]
    torque_out: tuple[float, ...]
    speed_in: tuple[float, ...]
    speed_out: tuple[float, ...]
    passed: tuple[float, ...]
    solved: bytes
    mismatched: tuple[int, ...]
    beyond: tuple["Excess", ...] = ()


def declared(train: Drivetrain) -> Settings:
    """The rig as it is declared: stages as set, all coupled, every prime mover running, clutches as engaged."""
    parts = train.parts
    ones = b"\1" * len(parts)
    increasing = bytes([part.direction == "increase" for part in parts])
    closed = bytes([part.engaged for part in parts])
    return Settings(increasing, closed, ones, ones)


def outlet_torque(part: Part, passed: float, outlet: int) -> float:
    """Torque [N*m] on one outlet: a splitter's share of what it passes, all of it elsewhere."""
    shares = part.shares
    return passed * shares[outlet] / total_of(shares) if shares else passed


class Columns(NamedTuple):
    """The columns of one pass, filled in driving order; zero and unsolved where nothing was filled."""

    torque_in: list[float]
    torque_out: list[float]
    speed_in: list[float]
    speed_out: list[float]
    passed: list[float]
    solved: bytearray
    mismatched: list[int]
    beyond: list["Excess"]

    def flows(self) -> Flows:
        """The columns as they are now, read-only."""
        return Flows(
            tuple(self.torque_in),
            tuple(self.torque_out),
            tuple(self.speed_in),
            tuple(self.speed_out),
            tuple(self.passed),
            bytes(self.solved),
            tuple(self.mismatched),
            tuple(self.beyond),
        )


def solve(train: Drivetrain, settings: Settings) -> Flows:
    """Torque and speed everywhere in one state of the rig.

    Laws: shaft and closed clutch T·η, ω; open clutch nothing; stage reducing T·i·η, ω/i, increasing T·η/i, ω·i;
    splitter T·w/Σw at ω; combiner ΣT at the common ω. A combiner whose inlets disagree, a part at which a value leaves
    what is reckoned with, and all below them are unsolved.
    """
    parts = train.parts
    count = len(parts)
    zeros = [0.0] * count
    columns = Columns(zeros, zeros[:], zeros[:], zeros[:], zeros[:], bytearray(count), [], [])
    solve_parts(train, settings, train.order, columns)
    return columns.flows()


def solve_parts(
    train: Drivetrain, settings: Settings, order: tuple[int, ...], columns: Columns
) -> None:
    """Fill the columns for the parts in ``order``; what drives them is filled already."""
    parts = train.parts
    t_in, t_out, w_in, w_out, passed = (
        columns.torque_in,
        columns.torque_out,
        columns.speed_in,
        columns.speed_out,
        columns.passed,
    )
    solved = columns.solved
    increasing, closed, coupled, running = settings
    for n in order:
        part = parts[n]
        item = part.item
        kind = item.kind
        torque = speed = 0.0
        if kind == "prime-mover":
            if running[n]:
                _give(part, n, columns)
            else:
                solved[n] = 1
            continue
        if kind == "combiner":
            if not _combine(train, settings, n, columns):
                continue
            torque, speed = passed[n], w_in[n]
        elif part.inlets and coupled[n]:
            source, outlet = part.inlets[0]
            if not solved[source]:
                continue
            shares = parts[source].shares
            torque = passed[source] * shares[outlet] / total_of(shares) if shares else passed[source]
            speed = w_out[source]
            t_in[n] = torque
            w_in[n] = speed
        elif part.inlets and not solved[part.inlets[0][0]]:
            continue
        solved[n] = 1
        if kind == "driven-machine":
            continue
        torque *= item.efficiency
        if part.ratio is not None:
            factor = part.ratio.factor
            if increasing[n]:
                torque /= factor
                speed *= factor
            else:
                torque *= factor
                speed /= factor
        elif not closed[n]:
            # An open clutch is turned but passes nothing, so nothing holds against the torque above it.
            t_in[n] = torque = speed = 0.0
        shares = part.shares
        far = shares or not (_LOW < torque < _HIGH and _LOW < speed < _HIGH)
        if far and torque > 0.0 and _leaves(n, torque, speed, _least_share(shares), columns):
            solved[n] = 0
            continue
        passed[n] = torque
        w_out[n] = speed
        t_out[n] = torque * max(shares) / total_of(shares) if shares else torque


_LOW, _HIGH = 1e-40, 1e40  # within these no product of two leaves what is reckoned with


def _give(part: Part, n: int, columns: Columns) -> None:
    """Fill what a running prime mover gives; where that leaves the bounds it is unsolved."""
    output = output_of(part)
    if output is not None:
        if _leaves(n, output.torque, output.speed, 1.0, columns):
            return
        columns.torque_out[n] = columns.passed[n] = output.torque
        columns.speed_out[n] = output.speed
    columns.solved[n] = 1


def _least_share(shares: tuple[float, ...]) -> float:
    """The part of the torque that the weakest outlet gets; one that gets none (in a fit of readings) does not count."""
    return min(share for share in shares if share > 0) / total_of(shares) if shares else 1.0


def _leaves(part: int, torque: float, speed: float, least_share: float, columns: Columns) -> bool:
    """Whether something leaves the bounds at a part's outlets, of which the weakest has ``least_share``; it is noted.

    What is noted is one value a part.
    """
    least = torque * least_share
    outlets: tuple[tuple[Quantity, float, float], ...] = (
        ("torque", least, torque),
        ("speed", speed, speed),
        ("power", least * speed, torque * speed),
    )
    for quantity, smallest, largest in outlets:
        if not (smallest >= LEAST and largest <= MOST):
            from lineshaft.solve.excess import Excess

            columns.beyond.append(Excess(part, quantity, largest if largest > MOST else smallest))
            return True
    return False


def _combine(train: Drivetrain, settings: Settings, n: int, columns: Columns) -> bool:
    """Fill the inlet side of a combiner; false where it cannot be solved."""
    part = train.parts[n]
    if not settings.coupled[n]:
        return True
    total = largest = fastest = 0.0
    slowest = float("inf")
    for source, outlet in part.inlets:
        if not columns.solved[source]:
            return False
        speed = columns.speed_out[source]
        if speed > 0:
            torque = outlet_torque(train.parts[source], columns.passed[source], outlet)
            total += torque
            largest = max(largest, torque)
            fastest = max(fastest, speed)
            slowest = min(slowest, speed)
    if fastest > 0 and slowest < fastest * (1 - SPEEDS_AGREE):
        columns.mismatched.append(n)
        return False
    columns.torque_in[n] = largest
    columns.speed_in[n] = fastest
    columns.passed[n] = total
    return True
