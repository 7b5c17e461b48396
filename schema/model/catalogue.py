"""What a catalogue says: grades, items, goods. SI values: N*m, rad/s, W, L, L/s, s, m, Pa."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal, NamedTuple

from lineshaft.schema.quantities.ratio import Ratio
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree

if TYPE_CHECKING:  # few catalogues have any
    from lineshaft.schema.model.component import Component

Kind = Literal[
    "prime-mover",
    "shaft",
    "gear-stage",
    "right-angle",
    "splitter",
    "combiner",
    "clutch",
    "driven-machine",
    "unknown",
]
Direction = Literal["reduce", "increase"]
Shock = Literal["uniform", "light", "moderate", "heavy"]
Goods = Mapping[str, int]
"""Names of components and raw goods with their whole numbers."""

NO_GOODS: Goods = MappingProxyType({})


class Grade(NamedTuple):
    """What anything made of a material may carry [N*m, rad/s]; none where it has no such limit."""

    name: str
    torque_limit: float | None
    speed_limit: float | None


class Output(NamedTuple):
    """A fixed output: torque [N*m], speed [rad/s]."""

    torque: float
    speed: float


class HeadTable(NamedTuple):
    """Output by head: points (head [m], torque [N*m], speed [rad/s]) with rising heads, straight between."""

    points: tuple[tuple[float, float, float], ...]


class Hydraulic(NamedTuple):
    """Output from water: flow [m^3/s], efficiency, speed [rad/s], density [kg/m^3]."""

    flow: float
    efficiency: float
    speed: float
    density: float


class LubricantNeed(NamedTuple):
    """Which lubricant a stage takes, how much it holds [L] and uses while it turns [L/s]."""

    kind: str
    holds: float
    uses: float


class OfferedRatio(NamedTuple):
    """A ratio that an item comes in, and what that version is made of."""

    ratio: Ratio
    made_of: Goods


class Needs(NamedTuple):
    """Least or greatest values of a machine: torque [N*m], speed [rad/s], power [W]; none where not asked."""

    torque: float | None = None
    speed: float | None = None
    power: float | None = None


class Work(NamedTuple):
    """How long one unit of work takes: (speed [rad/s], time [s]) with rising speeds, and the law between them."""

    unit: str
    times: tuple[tuple[float, float], ...]
    between: Literal["log-speed", "linear"]


class Makes(NamedTuple):
    """A lubricant and how much of it one unit of work makes [L]."""

    lubricant: str
    amount: float


class Item(NamedTuple):
    """One entry of a catalogue. Fields that its kind does not have are empty."""

    name: str
    kind: Kind
    grades: tuple[str, ...] = ()
    chooses_grade: bool = False
    torque_limit: float | None = None
    speed_limit: float | None = None
    efficiency: float = 1.0
    made_of: Goods = NO_GOODS
    source: Output | HeadTable | Hydraulic | None = None
    shock: Shock | None = None
    ratios: tuple[OfferedRatio, ...] = ()
    delivered: Direction = "reduce"
    lubricant: LubricantNeed | None = None
    outlets: int | None = None
    inlets: int | None = None
    shares: tuple[tuple[float, ...], ...] | None = None  # none: any
    needs: Needs = Needs()
    limits: Needs = Needs()
    work: Work | None = None
    makes: Makes | None = None

    @property
    def is_stage(self) -> bool:
        """Whether a part of this item has a ratio and a direction: gear stages, right-angle drives with ratios."""
        return self.kind == "gear-stage" or (self.kind == "right-angle" and bool(self.ratios))


UNKNOWN_ITEM = Item("", "unknown")
"""Stands for an item that the catalogue does not have."""


class Catalogue(NamedTuple):
    """A catalogue of one edition. ``earlier`` names the files of earlier editions; ``raw`` gives goods' worth."""

    tree: Tree
    name: str
    edition: str
    lubricants: tuple[str, ...]
    earlier: Mapping[str, str]
    grades: Mapping[str, Grade]
    items: Mapping[str, Item]
    components: Mapping[str, "Component"]
    raw: Mapping[str, float]
    routes: Mapping[str, Route] = MappingProxyType({})
