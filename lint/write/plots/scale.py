"""A scale from values to pixels, with round marks."""

import math
from typing import NamedTuple


class Scale(NamedTuple):
    """Values from ``low`` to ``high`` on pixels from ``start`` to ``end``."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """The pixel of a value; outside the scale its nearest end."""
        share = (value - self.low) / (self.high - self.low)
        return self.start + min(max(share, 0.0), 1.0) * (self.end - self.start)


def marks(low: float, high: float, most: int) -> list[float]:
    """At most about ``most`` round values within a range: steps of 1, 2 or 5 times a power of ten."""
    if not high > low:
        return [low]
    rough = (high - low) / most
    power = math.floor(math.log10(rough))
    # Whole steps are counted, and divided where the power is negative: 3 * 0.1 is no 0.3.
    factor = next((f for f in (1, 2, 5) if f * 10.0**power >= rough * (1 - 1e-9)), 10)
    first, last = math.ceil(low / (factor * 10.0**power) - 1e-9), math.floor(high / (factor * 10.0**power) + 1e-9)
    steps = range(first, last + 1)
    return [n * factor * 10.0**power if power >= 0 else n * factor / 10.0**-power for n in steps]
