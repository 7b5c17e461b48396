"""Readings before and after an edit: one may go with its part, and nothing is ever written into one."""

from lineshaft.schema.text.tree import Tree


def as_read(before: Tree | None, after: Tree | None) -> bool:
    """Whether every reading of a tree is one of an earlier tree, in the same order and as it was written.

    A reading says what stood on the day it was taken, and no edit of the file makes another one of it.
    """
    known = iter(_readings(before))
    return all(any(reading == one for one in known) for reading in _readings(after))


def _readings(tree: Tree | None) -> list[object]:
    data = tree.data if tree is not None else None
    found = data.get("readings") if isinstance(data, dict) else None
    return [found] if found is not None and not isinstance(found, list) else [*(found or ())]
