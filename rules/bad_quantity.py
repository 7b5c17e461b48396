"""A quantity has no unit, the unit of something else, or is out of its range.

What: a bare number where a unit is due, joules for torque, hertz for a turning speed, a number that is not finite,
a ratio below 1, two ratios of one item that are equal in value, an efficiency above 1, a head outside a prime mover's
table.

Why: 12 of what? A joule and a newton metre share their dimension and not their meaning, and a hertz may count turns or
radians: a factor of 6.28 in the speed.

How to repair: write number and unit as one text, for example `18 kN*m`, `8 rad/s`, `300 rpm`, `24 L`.

Source: the SI Brochure, 9th edition, table 4 and section 2.3.4 (torque is given in newton metres, angular velocity in
radians per second).
"""

from collections.abc import Iterator

from lineshaft.check.finding import Finding
from lineshaft.check.reported_faults import faults_of
from lineshaft.check.rule import Rule
from lineshaft.solve.solved_rig import SolvedRig


def check(rig: SolvedRig) -> Iterator[Finding]:
    """The faults of this rule that reading the file has shown."""
    yield from faults_of(rig, "bad-quantity")


RULE = Rule("bad-quantity", "error", check, local=True)
