"""The read-only result of solving: the rig, its drivetrain and flows, and the chain that leads to a part."""

from array import array
from collections.abc import Callable
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, TypeVar, cast

from lineshaft.schema.loading import Loaded
from lineshaft.schema.model.catalogue import Catalogue
from lineshaft.schema.model.policy import HOUSE_DEFAULTS, Policy
from lineshaft.schema.model.rig import Part, Rig
from lineshaft.schema.text.span import Route, Span
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Tree
from lineshaft.solve.balance import unbalanced
from lineshaft.solve.drivetrain import Drivetrain, connect
from lineshaft.solve.steady_state import Flows, Settings, declared, outlet_torque, solve

if TYPE_CHECKING:  # most files have none
    from lineshaft.schema.text.fault import Fault

T = TypeVar("T")


class OutOfBalanceError(RuntimeError):
    """The self-test failed: an error of the program, never of the rig."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class SolvedRig:
    """What the rules look at. A file that could not be read has faults and no parts.

    ``file`` is the file as shown; ``faults`` what was wrong before solving; ``flows`` are those of the declared rig.
    """

    file: str
    faults: tuple["Fault", ...]
    train: Drivetrain
    settings: Settings
    flows: Flows
    written_parts: int
    policy: Policy = HOUSE_DEFAULTS
    _known: dict[Callable[["SolvedRig"], object], object] = field(default_factory=dict, init=False)

    def once(self, made_of: Callable[["SolvedRig"], T]) -> T:
        """What a function makes of this rig, worked out when it is first asked for; it never changes an answer.

        For what several rules or proofs ask for and is dear. The function itself is what it is known by.
        """
        if made_of not in self._known:
            self._known[made_of] = made_of(self)
        return cast(T, self._known[made_of])

    @property
    def rig(self) -> Rig:
        """The rig itself."""
        return self.train.rig

    @property
    def parts(self) -> tuple[Part, ...]:
        """The rig's parts; empty where the file was not solved."""
        return self.train.rig.parts

    @property
    def catalogue(self) -> Catalogue:
        """The catalogue the rig is judged by."""
        return self.train.rig.catalogue

    @property
    def unsolved(self) -> int:
        """How many of the parts written in the file have no solution."""
        return self.written_parts - sum(self.flows.solved)

    def inlet_torque(self, part: int, inlet: int) -> float:
        """Torque [N*m] that arrives at one inlet of a part."""
        return self._torque_on(*self.parts[part].inlets[inlet])

    def chain(self, part: int) -> tuple[int, ...]:
        """The parts from a prime mover down to ``part``; at a combiner along the inlet with the most torque."""
        return self.train.chain(part, self._torque_on)

    def driver(self, part: int) -> int | None:
        """The part that drives a part, a combiner along the inlet with the most torque; none where nothing does."""
        return self.train.driver(part, self._torque_on)

    def _torque_on(self, part: int, outlet: int) -> float:
        return outlet_torque(self.parts[part], self.flows.passed[part], outlet)

    def place(self, part: int) -> tuple[str, Span, Route]:
        """File, span and route of a part's key."""
        found = self.parts[part]
        return found.tree.source.shown, found.tree.key_span(found.route), found.route

    def setting(self, part: int, key: str) -> tuple[str, Span, Route]:
        """File, span and route of one setting's value of a part; of the part's key where it is not written."""
        found = self.parts[part]
        route: Route = (*found.route, key)
        if found.tree.at(route) is None:
            return self.place(part)
        return found.tree.source.shown, found.tree.span(route), route


def solve_loaded(loaded: Loaded, policy: Policy = HOUSE_DEFAULTS) -> SolvedRig:
    """Solve a loaded file under a policy. Raises OutOfBalanceError where the self-test fails."""
    rig = loaded.rig if loaded.rig is not None and loaded.solvable else _unsolvable(loaded)
    return solve_rig(rig, loaded.shown, policy, loaded.faults, max(loaded.parts, len(rig.parts)))


def solve_rig(rig: Rig, file: str, policy: Policy, faults: tuple["Fault", ...] = (), written: int = 0) -> SolvedRig:
    """Solve a rig read from ``file``, which writes down ``written`` parts."""
    train = connect(rig)
    settings = declared(train)
    flows = solve(train, settings)
    wrong = unbalanced(train, settings, flows)
    if wrong:
        names = ", ".join(rig.parts[number].name for number in wrong[:5])
        raise OutOfBalanceError(f"power does not balance at {names} in {file}")
    return SolvedRig(file, faults, train, settings, flows, written or len(rig.parts), policy)


def _unsolvable(loaded: Loaded) -> Rig:
    """A rig without parts, in place of one that may not be solved; its waivers still count."""
    tree = loaded.tree or _no_tree(loaded)
    known = loaded.rig
    catalogue = known.catalogue if known is not None else _no_catalogue(tree)
    waivers = known.waivers if known is not None else ()
    return Rig(tree, known.name if known is not None else "", catalogue, waivers=waivers)


def _no_tree(loaded: Loaded) -> Tree:
    source = SourceText(loaded.path, loaded.shown, "")
    zero = array("I", [0])
    return Tree(source, None, zero, zero, array("I", [1]))


def _no_catalogue(tree: Tree) -> Catalogue:
    nothing: MappingProxyType[str, object] = MappingProxyType({})
    empty = nothing  # one empty mapping serves every field
    return Catalogue(tree, "", "", (), empty, empty, empty, empty, empty)  # type: ignore[arg-type]
