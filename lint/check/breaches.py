"""A part that is over a limit in a passing state: words, values and cause."""

from lineshaft.check.finding import Cause, Measure, Text, speed, times, torque
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.start_up import Breach, Link


def sign_of(breach: Breach, value: float) -> Measure:
    """A value in the unit of what is over its limit."""
    return torque(value) if breach.quantity == "torque" else speed(value)


def breach_words(rig: SolvedRig, breach: Breach) -> Text:
    """For example `rod carries 9 kN·m, may carry 1.2 kN·m: 7.5 times`."""
    return (f"{rig.parts[breach.part].name} ", *_carries(breach))


def _carries(breach: Breach) -> Text:
    verbs = ("carries", "may carry") if breach.quantity == "torque" else ("turns at", "may turn at")
    return (
        f"{verbs[0]} ",
        sign_of(breach, breach.carried),
        f", {verbs[1]} ",
        sign_of(breach, breach.limit),
        ": ",
        times(breach.times_limit),
        " times",
    )


def breach_values(breach: Breach) -> list[tuple[str, Measure]]:
    """The limit and how many times it is reached."""
    return [("limit", sign_of(breach, breach.limit)), ("times_limit", times(breach.times_limit))]


def breach_cause(rig: SolvedRig, breach: Breach, link: Link) -> Cause:
    """The part that breaks, as the last link of the chain."""
    file, span, _ = rig.place(breach.part)
    values = (("torque", torque(link.torque)), ("speed", speed(link.speed)))
    return Cause(file, span, rig.parts[breach.part].name, _carries(breach), values)
