"""A part carries more torque than it may.

What: the larger of a part's inlet and outlet torque is above the limit of its item, its grade, or a machine's own.
The basis is supply: every prime mover pushes its full output, as it does when a machine stalls.

Why: a part over its torque limit twists or shears, and what breaks is costly and close to people. A reducing stage
multiplies torque, so the part that breaks is often one or two below the cause.

How to repair: a stronger grade; a step-up first, which lowers torque before the weak part; two lines side by side with
the torque split between them; a smaller share at a splitter above.

Source: torque through a stage is i·η times the torque in: Budynas & Nisbett, *Shigley's Mechanical Engineering Design*,
ch. 13. Limits come from the site's catalogue.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each part whose torque is over its limit."""
    return api.over_limit(rig, "torque")


def repairs(_: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """Another grade, the line made anew (a step-up first, in stages, side by side), a smaller share above."""
    yield api.SearchFor("hold-torque", (finding.part or "",))


RULE = api.Rule("torque-over-limit", "error", check, repairs, local=True)
