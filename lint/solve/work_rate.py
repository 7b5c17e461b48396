"""How fast a machine works at a speed, and what speed a wanted time takes."""

import itertools
import math

from lineshaft.schema.model.catalogue import Work


def time_of_work(work: Work, speed: float) -> float | None:
    """Time [s] for one unit of work at ``speed`` [rad/s]; none at rest.

    Straight in ω (linear) or in ln ω (log-speed) between the points; outside the table its nearest end holds.
    """
    if speed <= 0:
        return None
    times = work.times
    if speed <= times[0][0]:
        return times[0][1]
    for (w0, t0), (w1, t1) in itertools.pairwise(times):
        if speed == w1:
            return t1  # also where two speeds are so near that their ratio is 1
        if speed < w1:
            share = (speed - w0) / (w1 - w0) if work.between == "linear" else math.log(speed / w0) / math.log(w1 / w0)
            return t0 + share * (t1 - t0)
    return times[-1][1]


def speed_for_time(work: Work, time: float) -> float | None:
    """The least speed [rad/s] at which one unit takes at most ``time`` [s]; none where no speed is fast enough.

    0 where any speed is: below the table its first time holds.
    """
    times = work.times
    most = time * (1 + 1e-12)  # what rounding took from a time that a row names
    if times[0][1] <= most:
        return 0.0
    for (w0, t0), (w1, t1) in itertools.pairwise(times):
        if t1 <= most:
            share = min(1.0, (time - t0) / (t1 - t0))
            if work.between == "linear":
                return w0 + share * (w1 - w0)
            return float(w0 * (w1 / w0) ** share)
    return None
