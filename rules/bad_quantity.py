"""A quantity has no unit, the unit of something else, or is out of its range.

What: a bare number where a unit is due, joules for torque, hertz for a turning speed, a number that is not finite,
a ratio below 1, two ratios of one item that are equal in value, an efficiency above 1, a head outside a prime mover's
table; or a torque, speed or power that ratios and shares take below 1e-90 or above 1e90 N·m, rad/s or W, at the part
where they do. What is below is not judged.

Why: 12 of what? A joule and a newton metre share their dimension and not their meaning, and a hertz may count turns or
radians: a factor of 6.28 in the speed.

How to repair: write number and unit as one text, for example `18 kN*m`, `8 rad/s`, `300 rpm`, `24 L`.

Source: the SI Brochure, 9th edition, table 4 and section 2.3.4 (torque is given in newton metres, angular velocity in
radians per second).
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """The faults of this rule that reading the file has shown, and what leaves the range that is reckoned with."""
    yield from api.faults_of(rig, "bad-quantity")
    for excess in rig.flows.beyond:
        yield _finding(rig, excess, "")
    for excess in api.commissioning_of(rig).beyond:
        yield _finding(rig, excess, " on the way into work")


def _finding(rig: api.SolvedRig, excess: api.Excess, when: str) -> api.Reported:
    number, quantity, value = excess
    shown: api.Measure = {"torque": api.torque, "speed": api.speed, "power": api.power}[quantity](value)
    message = (f"its {quantity} is ", shown, f"{when}, beyond what can be reckoned with: 1e-90 to 1e90")
    suggestion = ("look for a slip in a ratio, a share or an output above it",)
    name = rig.parts[number].name
    return api.report(rig.place(number), name, message, (), api.causes(rig, number), suggestion)


RULE = api.Rule("bad-quantity", "error", check, local=True)
