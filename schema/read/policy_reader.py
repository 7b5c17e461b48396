"""A policy's tree to its frozen type, and the policy that holds for a file."""

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from lineshaft.schema.model.policy import HOUSE_DEFAULTS, Budget, Policy
from lineshaft.schema.quantities.quantity import plain_number
from lineshaft.schema.read.fields import Fields, Mapped, listing, mapping
from lineshaft.schema.text.tree import Tree

if TYPE_CHECKING:  # most files have none
    from lineshaft.schema.text.fault import Fault

FILE_NAME = "lineshaft.policy.yaml"
FILE_NAMES = (FILE_NAME, "lineshaft.policy.yml")


def read_policy(tree: Tree) -> tuple[Policy, tuple["Fault", ...]]:
    """The policy in a tree that fits the policy schema, and what is wrong with it."""
    fields = Fields(tree, [])
    data = mapping(tree.data)
    levels = mapping(data.get("levels"))
    margins, budget = mapping(data.get("margins")), mapping(data.get("budget"))
    dry = fields.quantity(data, (), "run-dry-after", "time")
    policy = Policy(
        _number(fields, margins, "margins", "torque") or 1.0,
        _number(fields, margins, "margins", "speed") or 1.0,
        "application-factors" in margins,
        MappingProxyType({name: _level(one) for name, one in levels.items() if not isinstance(one, dict)}),
        MappingProxyType({name: _by_kind(one) for name, one in levels.items() if isinstance(one, dict)}),
        Budget(_number(fields, budget, "budget", "parts"), _number(fields, budget, "budget", "worth")),
        tuple(str(name) for name in listing(mapping(data.get("grades")).get("forbidden"))),
        HOUSE_DEFAULTS.run_dry_after if dry is None else dry,
        _text(data, "edition"),
        _text(data, "catalogue"),
        tuple(str(pattern) for pattern in listing(data.get("exclude"))),
        data.get("cautions", True) is True,
        tree,
    )
    return policy, tuple(fields.faults)


def _level(level: object) -> str:
    # YAML 1.2 reads `off` as text; a file written for 1.1 may have had it quoted or not.
    return "off" if level is False else str(level)


def _by_kind(levels: Mapped) -> Mapping[str, str]:
    return MappingProxyType({kind: str(level) for kind, level in levels.items()})


def _text(data: Mapped, key: str) -> str | None:
    value = data.get(key)
    return None if value is None else str(value)


def _number(fields: Fields, data: Mapped, section: str, key: str) -> float | None:
    value = data.get(key)
    if value is None:
        return None
    number = fields.reckon(plain_number(value), (section, key), 1.0)
    if number < 0 or (number == 0 and section == "margins"):
        wanted = "a margin is more than 0" if section == "margins" else "a budget is 0 or more"
        fields.bad("bad-quantity", (section, key), f"{wanted}, got {value}")
    return number


def nearest_policies(folder: Path, root: Path) -> tuple[Path, ...]:
    """The policy file nearest above a folder, not beyond the root; two where one folder has both of its names."""
    place = folder
    while True:
        found = tuple(place / name for name in FILE_NAMES if (place / name).is_file())
        if found or place in (root, place.parent):
            return found
        place = place.parent
