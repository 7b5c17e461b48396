"""Which rigs and blueprints of a repository use a blueprint, a catalogue or a policy, directly or through another.

Texts are searched for the files' names first; only what has one in it is read as YAML, and only what then names the
very file counts. A file that names it and cannot be read counts too: whoever changed what it names should see it.
"""

import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from lineshaft.check.checker import Checker
from lineshaft.check.resolved_policy import ResolvedPolicy
from lineshaft.exits import CannotDoError
from lineshaft.run.discovery import walk
from lineshaft.schema.loading import FileKind
from lineshaft.schema.read.policy_reader import FILE_NAME
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree

MOST_FILES = 50_000
"""How many files of one repository are searched; with more there is no answer that could be relied on."""
_USED: frozenset[FileKind] = frozenset({"blueprint", "catalogue", "policy"})
_USERS: frozenset[FileKind] = frozenset({"rig", "blueprint", "stock"})


def users_of(checker: Checker, files: Mapping[Path, FileKind]) -> dict[Path, FileKind]:
    """The rigs, blueprints and stocks that use what is among ``files``, of all its repository, ``files`` left out.

    Raises CannotDoError where a repository has more files than are searched.
    """
    used: dict[Path, set[Path]] = {}
    for path, kind in files.items():
        if kind in _USED:
            used.setdefault(checker.file_context(path).root, set()).add(_real(path))
    found: dict[Path, FileKind] = {}
    for root, changed in used.items():
        found.update(_Search(checker, root).users(changed))
    return {path: found[path] for path in sorted(found) if path not in files}


@dataclass(slots=True)
class _Search:
    """One search through a repository; ``left`` are the files that no round has found yet."""

    checker: Checker
    root: Path
    left: dict[Path, FileKind] = field(default_factory=dict)
    links: dict[Path, list[str]] = field(default_factory=dict)
    _resolved_policies: dict[Path, ResolvedPolicy | None] = field(default_factory=dict)

    def users(self, changed: set[Path]) -> dict[Path, FileKind]:
        """Round by round: what uses what the round before found, until a round finds nothing."""
        self._look_around()
        found: dict[Path, FileKind] = {}
        known: set[Path] = set()
        while changed:
            known |= changed
            named = self._names_of(changed)
            fresh = {path: kind for path, kind in self.left.items() if self._uses(path, kind, named, changed)}
            for path in fresh:
                del self.left[path]
            found.update({path: kind for path, kind in fresh.items() if kind in _USERS})
            changed = {_real(path) for path, kind in fresh.items() if kind in _USED} - known
        return found

    def _look_around(self) -> None:
        for number, (path, kind) in enumerate(walk(self.root)):
            if number >= MOST_FILES:
                most = f"more than {MOST_FILES:,} files to search"
                raise CannotDoError(f"{self.root} has {most}; name the folder to check instead")
            if kind != "policy":
                self.left[path] = kind
            if path.is_symlink():
                self.links.setdefault(_real(path), []).append(path.name)

    def _names_of(self, changed: set[Path]) -> "re.Pattern[bytes]":
        names = {path.name for path in changed} | {name for path in changed for name in self.links.get(path, ())}
        return re.compile(b"|".join(re.escape(name.encode(errors="surrogateescape")) for name in sorted(names)))

    def _uses(self, path: Path, kind: FileKind, named: "re.Pattern[bytes]", changed: set[Path]) -> bool:
        resolved = self._resolved(path.parent)
        if resolved is None:
            return False
        policy = self.checker.file_context(path).policy
        if kind in _USERS and policy is not None and _real(policy) in changed:
            return True
        own = resolved.loader.policy_catalogue
        if kind in _USERS and own in changed:
            return True
        text = resolved.loader.repository.read(path)
        if not isinstance(text, bytes) or not named.search(text):
            return False
        tree = resolved.loader.tree(path, kind)
        if not isinstance(tree, Tree):
            return True
        return any(resolved.loader.included(tree, route) in changed for route in _named_in(tree, kind, own is None))

    def _resolved(self, folder: Path) -> ResolvedPolicy | None:
        """The policy of a folder's files; none where its policy cannot be used, which is said when they are checked."""
        if folder not in self._resolved_policies:
            try:
                self._resolved_policies[folder] = self.checker.resolved(folder / FILE_NAME)
            except CannotDoError:
                self._resolved_policies[folder] = None
        return self._resolved_policies[folder]


def _real(path: Path) -> Path:
    """The file that a path leads to; unlike `resolve`, this never raises."""
    return Path(os.path.realpath(path))


def _named_in(tree: Tree, kind: FileKind, own_catalogue: bool) -> Iterator[Route]:
    """The routes to the paths of what a file uses; its catalogue only where no policy names another."""
    data = tree.data if isinstance(tree.data, dict) else {}
    if kind == "catalogue":
        earlier = data.get("earlier")
        yield from (("earlier", edition) for edition in (earlier if isinstance(earlier, dict) else ()))
        return
    if own_catalogue and "catalogue" in data:
        yield ("catalogue",)
    parts = data.get("parts")
    for name, part in parts.items() if isinstance(parts, dict) else ():
        if isinstance(part, dict) and "blueprint" in part:
            yield ("parts", name, "blueprint")
