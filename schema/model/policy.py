"""The house rules of a site: margins, levels, budgets, forbidden grades, and what is not checked. SI values."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from lineshaft.schema.text.tree import Tree


class Budget(NamedTuple):
    """The most parts and worth of one rig; none where there is no such bound."""

    parts: float | None = None
    worth: float | None = None


class Policy(NamedTuple):
    """What a policy says; the defaults hold where there is none. ``run_dry_after`` in s, ``tree`` as written."""

    torque_margin: float = 1.0
    speed_margin: float = 1.0
    application_factors: bool = False
    levels: Mapping[str, str] = MappingProxyType({})
    kind_levels: Mapping[str, Mapping[str, str]] = MappingProxyType({})  # rule -> kind of part -> level
    budget: Budget = Budget()
    forbidden_grades: tuple[str, ...] = ()
    run_dry_after: float = 3600.0
    edition: str | None = None
    catalogue: str | None = None
    exclude: tuple[str, ...] = ()
    cautions: bool = True
    tree: Tree | None = None


HOUSE_DEFAULTS = Policy()
"""The policy of a site that has none."""
