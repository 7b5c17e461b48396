"""What a rule offers against its finding, none of it proved: own edits, a way to search, or why there is nothing."""

from typing import Literal, NamedTuple

from lineshaft.check.finding import Edit


class Fix(NamedTuple):
    """A repair that nobody has proved yet: what it does in words, and its edits.

    ``only_name``: it corrects the spelling of a name, and no other name that is there is near to what was written.
    """

    title: str
    edits: tuple[Edit, ...]
    only_name: bool = False


Strategy = Literal[
    "hold-torque",
    "hold-speed",
    "serve-machine",
    "agree-speeds",
    "keep-promise",
    "safe-list",
    "complete-list",
    "fill-first",
    "set-first",
    "close-end",
    "drive-part",
    "take-out",
]
"""What a rule may ask the planner to search for, at a part:

- `hold-torque`, `hold-speed`: it keeps to that limit: another grade, its line made anew, other shares above it.
- `serve-machine`: it gets what it needs, meets its target and wastes nothing: its line geared anew, other shares.
- `agree-speeds`: a combiner's lines turn alike.
- `keep-promise`: a placed blueprint is fed no more than its inlets promise to stand.
- `safe-list`, `complete-list`, `fill-first`, `set-first`: the start-up: a safe list, the steps that a list lacks to end
  as declared, a fill or a direction before the first turn.
- `close-end`, `drive-part`: an open end is used or goes; a part that nothing drives is driven or goes.
- `take-out`: the part goes and the line is closed behind it.
"""


class SearchFor(NamedTuple):
    """A way for the planner to search, and the parts it is about."""

    way: Strategy
    parts: tuple[str, ...]


class NoFix(NamedTuple):
    """Why nothing is offered, where nothing else is: what somebody has to decide or look at, in words."""

    reason: str


Offer = Fix | SearchFor | NoFix
