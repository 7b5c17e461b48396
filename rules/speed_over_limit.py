"""A part turns faster than it may.

What: the larger of a part's inlet and outlet speed is above the limit of its item, its grade, or a machine's own.

Why: a part above its speed limit bursts or shakes itself loose, and its fragments fly. An increasing stage multiplies
speed for everything below it.

How to repair: a smaller increase or a reducing stage above it; a grade that stands the speed. Splitting the line never
helps: it divides torque and leaves the speed as it is.

Source: speed through a stage changes by its ratio: Khurmi & Gupta, *Theory of Machines*, ch. 13. Limits come from the
site's catalogue.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each part whose speed is over its limit."""
    return api.over_limit(rig, "speed")


def repairs(_: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """Another grade or the line made anew in one line; why splitting it is not among them."""
    yield api.SearchFor("hold-speed", (finding.part or "",))
    yield api.NoFix("splitting the line never helps: it divides torque and leaves the speed as it is")


RULE = api.Rule("speed-over-limit", "error", check, repairs, local=True)
