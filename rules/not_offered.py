"""A part asks of its item what the item does not offer, or leaves out what it needs.

What: a ratio, shares, a grade, a number of inlets or outlets, or a setting such as `head`, that the catalogue's item
does not come in; or one that it needs and the part does not give.

Why: the part cannot be made as it is written, so its numbers hold for nothing that can be built.

How to repair: choose one of what the message lists, or another item.

Source: the site's catalogue.
"""

from collections.abc import Iterator

from lineshaft.api import Reported, Rule, SolvedRig, faults_of


def check(rig: SolvedRig) -> Iterator[Reported]:
    """The faults of this rule that reading the file has shown."""
    yield from faults_of(rig, "not-offered")


RULE = Rule("not-offered", "error", check, local=True)
