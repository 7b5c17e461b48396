"""Grades whose limits are five times apart in torque and in speed, and for each part the step that holds it."""

import math

from rig_maker.plan import PlannedPart

_FIRST, _STEP = 0.9, 5.0
_CLEAR = 1.02  # how far a limit stays from what the part carries, either side


def _rung(value: float) -> int:
    """The lowest rung at or above a value."""
    rung = math.ceil(math.log(value / _FIRST, _STEP))
    while _limit(rung) < value:
        rung += 1
    return rung


def _limit(rung: int) -> float:
    """0.9, 4.5, 22.5, 112.5, …"""
    return _FIRST * _STEP**rung


def _name(torque: int, speed: int) -> str:
    return f"grade-t{torque}-w{speed}".replace("-t-", "-tm").replace("-w-", "-wm")


def _limits(torque: int, speed: int) -> dict[str, str]:
    return {"torque-limit": f"{_limit(torque)!r} N*m", "speed-limit": f"{_limit(speed)!r} rad/s"}


def fit_grade(part: PlannedPart, grades: dict[str, dict[str, str]]) -> None:
    """Give a part the grade that just holds it (one rung more in a branch), and note two that just fail."""
    spare = 1 if part.in_branch else 0
    torque = _rung(part.torque * _CLEAR) + spare
    speed = _rung(part.speed * _CLEAR) + spare
    weak_torque = _rung(part.torque / _CLEAR) - 1
    weak_speed = _rung(part.speed / _CLEAR) - 1
    part.grade = _name(torque, speed)
    part.torque_limit, part.speed_limit = _limit(torque), _limit(speed)
    part.weak_torque = (_name(weak_torque, speed), _limit(weak_torque))
    part.weak_speed = (_name(torque, weak_speed), _limit(weak_speed))
    for rungs in ((torque, speed), (weak_torque, speed), (torque, weak_speed)):
        grades.setdefault(_name(*rungs), _limits(*rungs))
