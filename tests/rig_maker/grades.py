"""A ladder of grades, four times apart in torque and in speed, and for each part the step that holds it."""

import math

from rig_maker.plan import PlannedPart

_STEP = 4.0
_CLEAR = 1.02  # how far a limit stays from what the part carries, either side


def _rung(value: float) -> int:
    """The lowest rung at or above a value."""
    rung = math.ceil(math.log(value, _STEP))
    while _STEP**rung < value:
        rung += 1
    return rung


def _name(torque: int, speed: int) -> str:
    return f"grade-t{torque}-w{speed}".replace("-t-", "-tm").replace("-w-", "-wm")


def _limits(torque: int, speed: int) -> dict[str, str]:
    return {"torque-limit": f"{_STEP**torque!r} N*m", "speed-limit": f"{_STEP**speed!r} rad/s"}


def fit_grade(part: PlannedPart, grades: dict[str, dict[str, str]]) -> None:
    """Give a part the grade that just holds it (one rung more in a branch), and note two that just fail."""
    spare = 1 if part.in_branch else 0
    torque = _rung(part.torque * _CLEAR) + spare
    speed = _rung(part.speed * _CLEAR) + spare
    weak_torque = _rung(part.torque / _CLEAR) - 1
    weak_speed = _rung(part.speed / _CLEAR) - 1
    part.grade = _name(torque, speed)
    part.torque_limit, part.speed_limit = _STEP**torque, _STEP**speed
    part.weak_torque = (_name(weak_torque, speed), _STEP**weak_torque)
    part.weak_speed = (_name(torque, weak_speed), _STEP**weak_speed)
    for rungs in ((torque, speed), (weak_torque, speed), (torque, weak_speed)):
        grades.setdefault(_name(*rungs), _limits(*rungs))
