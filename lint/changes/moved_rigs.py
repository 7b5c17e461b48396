"""Rigs that stand under another path than in a revision, and those that are there no more."""

import os
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import NamedTuple

from lineshaft.changes.revision import Revision
from lineshaft.schema.loading import Loader, kind_of


class Moved(NamedTuple):
    """For each new path of a moved rig the one that it had; and the rigs of the revision that are nowhere now."""

    before: Mapping[Path, Path]
    gone: tuple[Path, ...]


def moved_rigs(revision: Revision, then: Loader, now: Callable[[Path], Loader], rigs: Iterable[Path]) -> Moved:
    """Which of the rigs that a revision does not hold it holds elsewhere: the same bytes, or else the same name.

    Only what is not on the disk any more can have moved, and only where one rig alone fits at either end.
    """
    missed = [path for path in revision.files() if kind_of(path) == "rig" and not os.path.lexists(path)]
    new = [path for path in rigs if not revision.holds(path)] if missed else []
    before: dict[Path, Path] = {}
    for marked in (_bytes, _name):
        was = _single({path: marked(then, path) for path in missed if path not in before.values()})
        stands = _single({path: marked(now(path), path) for path in new if path not in before})
        before |= {stands[mark]: was[mark] for mark in stands.keys() & was.keys()}
    return Moved(before, tuple(path for path in missed if path not in before.values()))


def _single(marks: Mapping[Path, object]) -> Mapping[object, Path]:
    """The one path of each mark that one path alone has."""
    found: dict[object, list[Path]] = defaultdict(list)
    for path, mark in marks.items():
        if mark:
            found[mark].append(path)
    return {mark: alike[0] for mark, alike in found.items() if len(alike) == 1}


def _bytes(loader: Loader, path: Path) -> object:
    raw = loader.repository.read(path)
    return raw if isinstance(raw, bytes) else None


def _name(loader: Loader, path: Path) -> object:
    tree = loader.tree(path, "rig")
    return None if isinstance(tree, tuple) or not isinstance(tree.data, dict) else tree.data.get("name")
