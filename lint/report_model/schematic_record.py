"""What a drawing shows of one rig, as plain data in SI: writers see this and no rig.

Shares are of a limit, 1 at the limit; none where there is no limit or no solution.
"""

from typing import Literal, NamedTuple

from lineshaft.check.finding import Measure, Text

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
    "blueprint",
    "unknown",
]
"""What a part is drawn as."""


class Fact(NamedTuple):
    """What is said of a part beside its load: what it needs, makes, or was read to carry."""

    kind: Literal["gives", "needs", "makes", "read", "lubricant"]
    words: Text


class Node(NamedTuple):
    """One part: its name, label, item, what it is drawn as and does (in words), and its larger share of a limit.

    ``over``: it is over its limit, which exactly at the limit it is not. ``when`` is empty where the share is that of
    the state drawn; else it tells the state of the start-up in which the part is over its limit. ``load`` is what is
    carried and the limit. ``turns``: it does so in the state drawn. ``stands_for``: the names of the parts that are
    folded into it, for ``alike`` groups of parts that are like its own; of a blueprint folded, all its parts.
    ``news`` tells, where two rigs are compared, that it is new, changed or goes.
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
    when: str = ""
    load: tuple[Measure, Measure] | None = None
    facts: tuple[Fact, ...] = ()
    turns: bool = True
    alike: int = 1
    stands_for: tuple[str, ...] = ()
    news: str = ""


class Link(NamedTuple):
    """What one part hands on to another (indices): the outlet's name, torque [N*m] and speed [rad/s]."""

    source: int
    target: int
    outlet: str | None
    torque: float
    speed: float
    solved: bool


class Frame(NamedTuple):
    """A blueprint in place: the name it has in the rig, the blueprint's file, and its parts (indices)."""

    name: str
    file: str
    nodes: tuple[int, ...]


class DrawnCircuit(NamedTuple):
    """A lubricant circuit: its tank [L] and charge [L], the parts that supply it and that it feeds, by name."""

    name: str
    lubricant: str
    holds: float
    charge: float
    supplied_by: str | None
    feeds: tuple[str, ...]
    supply: float
    use: float
    runs_dry_after: float | None


class Schematic(NamedTuple):
    """The parts in file order and what connects them, outlets in the file's order.

    ``state`` tells in words which state of the start-up is drawn; it is empty where that is the rig as declared.
    ``only`` is the part to which the paths are drawn and nothing else.
    """

    file: str
    name: str
    nodes: tuple[Node, ...]
    links: tuple[Link, ...]
    edition: str = ""
    state: Text = ()
    frames: tuple[Frame, ...] = ()
    circuits: tuple[DrawnCircuit, ...] = ()
    only: str = ""
