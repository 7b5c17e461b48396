"""The judged list: what turns after each step, and the part that then carries the largest share of its limit."""

from collections.abc import Iterator
from typing import NamedTuple

from lineshaft.schema.model.rig import Step
from lineshaft.solve.drivetrain import Drivetrain
from lineshaft.solve.start_up import Breach, StartUp, before_first_step


class StepState(NamedTuple):
    """The state after one step. ``turns`` and ``stops`` are the parts that begin and cease to turn.

    ``turning`` counts all that turn; ``worst`` is the part with the largest share of its limit, none at rest.
    ``over`` are the parts over a limit that the step changed, worst first.
    """

    step: Step | None
    turns: tuple[int, ...]
    stops: tuple[int, ...]
    turning: int
    worst: int | None
    share: float
    over: tuple[Breach, ...]


def step_states(train: Drivetrain) -> Iterator[StepState]:
    """One state a step; without a list the single state in which all starts at once as delivered."""
    start_up = before_first_step(train)
    turning, worst, share = 0, None, 0.0
    for passage in start_up.passages():
        if passage.changed:
            worst, share = _worst(start_up)
            turning = sum(start_up.turning)
        over = tuple(sorted(passage.over, key=lambda b: (-round(b.times_limit, 9), b.part)))
        yield StepState(passage.step, passage.turns, passage.stops, turning, worst, share, over)


def _worst(start_up: StartUp) -> tuple[int | None, float]:
    """The part with the largest share of a limit, the first in the file of several, and that share."""
    columns = start_up.columns
    worst, largest = None, 0.0
    for n, part in enumerate(start_up.train.parts):
        if not start_up.turning[n]:
            continue
        share = 0.0
        if part.torque_limit is not None:
            share = max(columns.torque_in[n], columns.torque_out[n]) / part.torque_limit
        if part.speed_limit is not None:
            share = max(share, max(columns.speed_in[n], columns.speed_out[n]) / part.speed_limit)
        if share > largest:
            worst, largest = n, share
    return worst, largest
