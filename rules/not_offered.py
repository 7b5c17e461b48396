"""A part asks of its item what the item does not offer, or leaves out what it needs.

What: a ratio, shares, a grade, a number of inlets or outlets, or a setting such as `head`, that the catalogue's item
does not come in; or one that it needs and the part does not give.

Why: the part cannot be made as it is written, so its numbers hold for nothing that can be built.

How to repair: choose one of what the message lists, or another item.

Source: the site's catalogue.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """The faults of this rule that reading the file has shown."""
    yield from api.faults_of(rig, "not-offered")


RULE = api.Rule("not-offered", "error", check, local=True)
