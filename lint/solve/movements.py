"""What moves between two solutions of one rig: torque, speed and share of limit at its parts, rates of its machines."""

from typing import NamedTuple

from lineshaft.solve.limits import EQUAL, worst_share
from lineshaft.solve.machine_output import hourly_rate
from lineshaft.solve.solved_rig import SolvedRig


class Pair(NamedTuple):
    """A value before and after; none where there is none, since the part is not there, not solved or has no limit."""

    old: float | None
    new: float | None

    @property
    def moves(self) -> bool:
        """Whether the two differ by more than never counts."""
        if self.old is None or self.new is None:
            return self.old is not self.new
        return abs(self.new - self.old) > EQUAL * max(abs(self.old), abs(self.new))


class PartMove(NamedTuple):
    """What leaves a part (what arrives at a machine): torque [N*m], speed [rad/s]; and its share of a limit."""

    part: str
    torque: Pair
    speed: Pair
    share: Pair


class MachineMove(NamedTuple):
    """The units of work that a machine does in an hour."""

    part: str
    unit: str
    rate: Pair


class Moves(NamedTuple):
    """The parts and machines of which something moves, and the parts that are only in one of the two, by name."""

    parts: tuple[PartMove, ...]
    machines: tuple[MachineMove, ...]
    came: tuple[str, ...]
    gone: tuple[str, ...]


def rate(rig: SolvedRig, number: int) -> float | None:
    """A machine's units of work an hour; 0 where it stalls, none at rest or without a work table."""
    return hourly_rate(rig.parts[number], number, rig.flows)


def movements(before: SolvedRig, after: SolvedRig) -> Moves:
    """What moves, part by part in the order of the rig as it is after."""
    old, new = before.rig.index, after.rig.index
    both = [name for name in new if name in old]
    parts = (_part(before, after, name) for name in both)
    machines = (_machine(before, after, name) for name in both if after.parts[new[name]].item.work is not None)
    return Moves(
        tuple(move for move in parts if any(pair.moves for pair in move[1:])),
        tuple(move for move in machines if move.rate.moves),
        tuple(name for name in new if name not in old),
        tuple(name for name in old if name not in new),
    )


def _part(before: SolvedRig, after: SolvedRig, name: str) -> PartMove:
    was, now = _values(before, name), _values(after, name)
    return PartMove(name, *(Pair(one, other) for one, other in zip(was, now, strict=True)))


def _values(rig: SolvedRig, name: str) -> tuple[float | None, float | None, float | None]:
    number = rig.rig.index[name]
    part, flows = rig.parts[number], rig.flows
    if not flows.solved[number]:
        return None, None, None
    share = worst_share(part, number, flows)
    if part.item.kind == "driven-machine":
        return flows.torque_in[number], flows.speed_in[number], share
    return flows.torque_out[number], flows.speed_out[number], share


def _machine(before: SolvedRig, after: SolvedRig, name: str) -> MachineMove:
    was, now = before.rig.index[name], after.rig.index[name]
    work = after.parts[now].item.work
    return MachineMove(name, work.unit if work is not None else "", Pair(rate(before, was), rate(after, now)))
