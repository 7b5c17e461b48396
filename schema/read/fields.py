"""Reading the fields of a tree that fits its JSON Schema: values to SI, and faults where a value will not do."""

import itertools
from typing import TYPE_CHECKING, TypeVar, cast

from lineshaft.schema.quantities.quantity import BadQuantity, QuantityKind, efficiency, quantity
from lineshaft.schema.text.faults import at_key, at_value
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Plain, Tree

if TYPE_CHECKING:  # most files have none
    from lineshaft.schema.text.fault import Fault, FaultRule

Mapped = dict[str, Plain]
T = TypeVar("T")


def mapping(value: object) -> Mapped:
    """A value that the schema has shown to be a mapping; empty where it is absent."""
    return cast(Mapped, value) if isinstance(value, dict) else {}


def listing(value: object) -> list[Plain]:
    """A value that the schema has shown to be a list; empty where it is absent."""
    return cast(list[Plain], value) if isinstance(value, list) else []


class Fields:
    """The tree being read and the list that its faults are gathered in."""

    __slots__ = ("faults", "tree")

    def __init__(self, tree: Tree, faults: list["Fault"]) -> None:
        self.tree, self.faults = tree, faults

    def bad(self, rule: "FaultRule", route: Route, message: str) -> None:
        """Note a fault at a value."""
        self.faults.append(at_value(rule, self.tree, route, message))

    def bad_here(self, rule: "FaultRule", route: Route, message: str) -> None:
        """Note a fault at a value as it stands, whatever a parameter in its place may hold: no other value mends it."""
        self.faults.append(at_value(rule, self.tree, route, message))

    def bad_key(self, rule: "FaultRule", route: Route, message: str) -> None:
        """Note a fault at a key."""
        self.faults.append(at_key(rule, self.tree, route, message))

    def quantity(
        self, holder: Mapped, route: Route, key: str, kind: QuantityKind, *, zero: bool = False
    ) -> float | None:
        """The SI value under ``key``; none where it is absent or bad (which is noted)."""
        written = holder.get(key)
        if written is None:
            return None
        value = quantity(written, kind, zero=zero)
        if isinstance(value, BadQuantity):
            self.bad("bad-quantity", (*route, key), value.message)
            return None
        return value

    def reckon(self, value: T | BadQuantity, route: Route, instead: T) -> T:
        """``value``, or ``instead`` where it is bad, which is noted at ``route``."""
        if isinstance(value, BadQuantity):
            self.bad("bad-quantity", route, value.message)
            return instead
        return value

    def efficiency(self, holder: Mapped, route: Route) -> float:
        """The efficiency of an item, 1 where it does not say."""
        written = holder.get("efficiency")
        if written is None:
            return 1.0
        return self.reckon(efficiency(written), (*route, "efficiency"), 1.0)

    def rising(self, route: Route, values: list[float], what: str) -> bool:
        """Whether a table's first column rises; noted where it does not."""
        if all(a < b for a, b in itertools.pairwise(values)):
            return True
        self.bad("bad-quantity", route, f"the {what} of a table must rise from row to row")
        return False

