"""Parts drive each other in a circle.

What: following `driven-by` from a part leads back to the same part.

Why: power has to enter a line somewhere; a ring of parts that wait for one another never turns, and neither does what
hangs below it, so none of it is solved.

How to repair: drive one part of the ring from a prime mover's line instead.

Source: common practice, no source; a drivetrain is solved from the prime movers down.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api

_SHOWN = 12


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding a ring, at its first part in the file."""
    for ring in rig.train.loops:
        names = [rig.parts[number].name for number in ring]
        shown = [*names[:_SHOWN], "…"] if len(names) > _SHOWN else names
        because = []
        for number, below in zip(ring, (*ring[1:], ring[0]), strict=True):
            file, span, _ = rig.place(number)
            because.append(api.Cause(file, span, rig.parts[number].name, (f"drives {rig.parts[below].name}",)))
        message = (f"drives itself: {' → '.join([*shown, names[0]])}; none of these parts can ever start",)
        suggestion = ("drive one of them from a prime mover's line instead",)
        yield api.report(rig.place(ring[0]), names[0], message, (), because, suggestion)


RULE = api.Rule("drive-loop", "error", check, local=True)
