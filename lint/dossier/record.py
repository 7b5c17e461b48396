"""What a drawing or report shows of one rig, as plain data in SI: writers see this and no rig.

Shares are of a limit, 1 at the limit; none where there is no limit or no solution.
"""

from typing import Literal, NamedTuple

from lineshaft.judge.finding import Text

Quantity = Literal["torque", "speed"]
Figure = Literal[
    "prime-mover",
    "shaft",
    "stage-reducing",
    "stage-increasing",
    "right-angle",
    "splitter",
    "combiner",
    "clutch-engaged",
    "clutch-open",
    "driven-machine",
    "unknown",
]
"""What a part is drawn as."""


class Node(NamedTuple):
    """One part: its name, label, item, what it is drawn as and does (in words), and its larger share of a limit.

    ``over``: the limit rules find it over its limit, which exactly at the limit it is not.
    """

    name: str
    label: str | None
    item: str
    figure: Figure
    does: Text
    share: float | None
    quantity: Quantity | None
    solved: bool
    over: bool


class Link(NamedTuple):
    """What one part hands on to another (indices): the outlet's name, torque [N*m] and speed [rad/s]."""

    source: int
    target: int
    outlet: str | None
    torque: float
    speed: float
    solved: bool


class Schematic(NamedTuple):
    """The parts in file order and what connects them."""

    file: str
    name: str
    nodes: tuple[Node, ...]
    links: tuple[Link, ...]
