"""A snag list, the findings that an inherited build was taken over with: its frozen type, and a tree to it."""

import os
from pathlib import Path
from typing import NamedTuple

from lineshaft.schema.model.rig import UNWAIVABLE
from lineshaft.schema.quantities.quantity import BadQuantity, plain_number
from lineshaft.schema.read.fields import Fields, Mapped, listing, mapping
from lineshaft.schema.text.fault import Fault
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree


class Snag(NamedTuple):
    """One recorded finding: its rule, file (absolute), the rig's name there, part, and setting of the part.

    ``of`` names the value that said how bad it was, ``value``; both are none where its rule has no such value.
    """

    rule: str
    file: Path
    rig: str = ""
    part: str | None = None
    at: str = ""
    of: str | None = None
    value: float | None = None


class SnagList(NamedTuple):
    """A list as it is written: the root it lies in, the day it was recorded, where it says so, its snags in order."""

    root: Path
    recorded: str | None
    snags: tuple[Snag, ...]


def read_snags(tree: Tree, root: Path) -> tuple[SnagList, tuple[Fault, ...]]:
    """The list in a tree that fits the snags schema, and what is wrong with it; its files start from its folder."""
    fields = Fields(tree, [])
    data = mapping(tree.data)
    folder = tree.source.path.parent
    snags = tuple(
        _snag(fields, folder, mapping(entry), ("findings", number))
        for number, entry in enumerate(listing(data.get("findings")))
    )
    recorded = data.get("recorded")
    return SnagList(root, None if recorded is None else str(recorded), snags), tuple(fields.faults)


def _snag(fields: Fields, folder: Path, data: Mapped, route: Route) -> Snag:
    rule, file, part = str(data["rule"]), str(data["file"]), data.get("part")
    if rule in UNWAIVABLE:
        fields.bad("not-schema", (*route, "rule"), f"`{rule}` cannot be a snag: what it finds has to be mended")
    if file.startswith("/") or "\0" in file:
        fields.bad("unknown-reference", (*route, "file"), "write the path from this list to the file, with '/'")
    of = data.get("of")
    return Snag(
        rule,
        Path(os.path.normpath(folder / file.replace("\0", ""))),
        str(data.get("rig", "")),
        None if part is None else str(part),
        str(data.get("at", "")),
        None if of is None else str(of),
        None if of is None else fields.reckon(_value(data.get("value")), (*route, "value"), 0.0),
    )


def _value(written: object) -> float | BadQuantity:
    number = plain_number(written)
    if not isinstance(number, BadQuantity) and number < 0:
        return BadQuantity("a value is 0 or more")
    return number
