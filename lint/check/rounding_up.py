"""Numbers as people are shown them, and no less: what is said to be enough has to be."""

import math

from lineshaft.check.finding import FIGURES
from lineshaft.solve.limits import EQUAL


def rounded_up(value: float) -> float:
    """The next number above a positive one that is shown as it is; the number itself where it is one."""
    step = 10.0 ** (math.floor(math.log10(value)) - FIGURES + 1)
    return math.ceil(value / step * (1 - EQUAL)) * step
