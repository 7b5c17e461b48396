"""What has to arrive at the end of a segment, as plain data."""

from collections.abc import Callable
from typing import NamedTuple

from lineshaft.repair.line.segment import ENDLESS
from lineshaft.solve.limits import over, short


class Need(NamedTuple):
    """A machine's need: its torque is ``by``·T + ``plus``, its speed ``turns``·ω; least torque, speed and power."""

    by: float = 1.0
    plus: float = 0.0
    turns: float = 1.0
    torque: float = 0.0
    speed: float = 0.0
    power: float = 0.0


def _anything(torque: float, speed: float) -> bool:
    return True


class Demand(NamedTuple):
    """Torque [N*m] and speed [rad/s] at the end between a least and a most, and the needs of every machine below.

    ``accepts`` is asked about what meets all that. ``useful`` is the speed above which no machine works faster; none
    where a slower speed may be the faster one.
    """

    torque: tuple[float, float] = (0.0, ENDLESS)
    speed: tuple[float, float] = (0.0, ENDLESS)
    needs: tuple[Need, ...] = ()
    accepts: Callable[[float, float], bool] = _anything
    useful: float | None = ENDLESS

    def met(self, torque: float, speed: float) -> bool:
        """Whether a torque and speed at the end will do."""
        (least, most), (slowest, fastest) = self.torque, self.speed
        if over(torque, most) or short(torque, least) or over(speed, fastest) or short(speed, slowest):
            return False
        for need in self.needs:
            has, turns = need.by * torque + need.plus, need.turns * speed
            if short(has, need.torque) or short(turns, need.speed) or short(has * turns, need.power):
                return False
        return self.accepts(torque, speed)

    def least_torque(self, speed: float) -> float:
        """The least torque at the end that will do at a speed; endless where none will."""
        found = self.torque[0]
        for need in self.needs:
            turns = need.turns * speed
            if short(turns, need.speed) or (need.power > 0 and not turns):
                return ENDLESS
            wanted = max(need.torque, need.power / turns) if turns else need.torque
            if short(need.plus, wanted):
                found = max(found, (wanted - need.plus) / need.by if need.by > 0 else ENDLESS)
        return found

    @property
    def least_power(self) -> float:
        """The least power [W] at the end, as far as one need asks for it by itself."""
        asked = [n.power / (n.by * n.turns) for n in self.needs if n.plus == 0 and n.by > 0 and n.turns > 0]
        return max(asked, default=0.0)
