"""What a rig says: parts and what drives them, lubrication, commissioning, readings, waivers. SI values inside."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal, NamedTuple

from lineshaft.schema.model.catalogue import Catalogue, Direction, Grade, Item
from lineshaft.schema.quantities.ratio import Ratio
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree

if TYPE_CHECKING:  # few rigs have them
    from lineshaft.schema.model.placement import Exit, Lack, Promise
    from lineshaft.schema.model.running import Circuit, Reading, Waiver
    from lineshaft.schema.text.use import Use

StepKind = Literal["fill", "set", "couple", "engage", "disengage", "start", "stop"]
UNJUDGED = frozenset({"not-yaml", "not-schema", "bad-quantity", "rule-crashed", "internal-error"})
"""Rules whose findings say that a file could not be judged as a whole."""
UNWAIVABLE = UNJUDGED | {"not-judged", "waiver-expired", "waiver-stale"}
"""Rules whose findings no waiver and no snag list covers: what cannot be judged never passes for what was."""


class Part(NamedTuple):
    """One part of a rig.

    ``inlets`` are (index of the driving part, number of its outlet). ``torque_limit`` and ``speed_limit`` are what
    holds for this part [N*m, rad/s]: its item's own, its grade's or its machine limits. ``faulty`` marks a part
    that has a fault of its own and cannot be solved.
    """

    name: str
    item: Item
    tree: Tree
    inlets: tuple[tuple[int, int], ...] = ()
    grade: Grade | None = None
    torque_limit: float | None = None
    speed_limit: float | None = None
    ratio: Ratio | None = None
    direction: Direction | None = None
    outlets: tuple[str, ...] = ()
    shares: tuple[float, ...] = ()
    head: float | None = None
    purpose: str | None = None
    engaged: bool = True
    target: float | None = None  # s a unit of work
    at: tuple[float, float, float] | None = None
    label: str | None = None
    faulty: bool = False
    uses: tuple["Use", ...] = ()  # from the rig's own line down to the one in whose blueprint the part is written
    section: Literal["parts", "inlets"] = "parts"

    @property
    def local_name(self) -> str:
        """The part's name in the file it is written in."""
        return self.name.rpartition("/")[2]

    @property
    def route(self) -> Route:
        """The route to the part in the file it is written in."""
        return (self.section, self.local_name)


class Step(NamedTuple):
    """One commissioning step, counted from 1: its kind, part (index), direction for `set`, amount [L] for `fill`."""

    number: int
    kind: StepKind
    part: int
    tree: Tree
    route: Route
    to: Direction | None = None
    amount: float = 0.0


class Placed(NamedTuple):
    """What is left of blueprints once their parts are a rig's own.

    ``exits`` leads from (part, outlet) to the outlet of a placed blueprint that it is, or to none where it leads out
    of a blueprint judged alone. ``names`` leads from a placed blueprint's name to the uses of the file that places it.
    ``alone`` tells a blueprint judged alone: its inlets are prime movers that give all that is promised, ``edges``;
    ``lacks`` is what it would have to be given to be judged in full.
    """

    exits: Mapping[tuple[int, int], "Exit | None"] = MappingProxyType({})
    promises: tuple["Promise", ...] = ()
    names: Mapping[str, tuple["Use", ...]] = MappingProxyType({})
    alone: bool = False
    edges: frozenset[int] = frozenset()
    lacks: tuple["Lack", ...] = ()


NOTHING_PLACED = Placed()
"""Of a rig in which no blueprint is put in place."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Rig:
    """One rig, or one blueprint judged alone. ``index`` leads from a part's name to its place in ``parts``.

    ``earlier`` is the catalogue of the edition that the rig was worked out for, where that is another one and known.
    ``all_connected`` is false where a `driven-by` does not resolve, so that nothing is known of unused outlets.
    """

    tree: Tree
    name: str
    catalogue: Catalogue
    edition: str | None = None
    parts: tuple[Part, ...] = ()
    index: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    circuits: tuple["Circuit", ...] = ()
    steps: tuple[Step, ...] = ()
    has_commissioning: bool = False
    readings: tuple["Reading", ...] = ()
    waivers: tuple["Waiver", ...] = ()
    all_connected: bool = True
    earlier: Catalogue | None = None
    placed: Placed = NOTHING_PLACED
