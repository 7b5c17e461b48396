"""What a name is a name of, in which file it is made known, and where else it stands in a repository."""

import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from lineshaft.api import Judgement, Route
from lineshaft.language_server.mentions import Kind, Mention, mention_at, mentions_in
from lineshaft.run.discovery import walk
from lineshaft.schema.loading import FileKind, Loader, kind_of
from lineshaft.schema.text.repository import Refusal
from lineshaft.schema.text.tree import Tree

MOST_FILES = 20_000
"""How many files of a repository are searched for a name."""
_SECTIONS: Mapping[Kind, tuple[str, ...]] = {
    "part": ("parts", "inlets"),
    "exit": ("outlets",),
    "parameter": ("takes",),
    "circuit": ("lubrication",),
    "item": ("items",),
    "grade": ("grades",),
    "good": ("components", "raw"),
}
_IN_CATALOGUE = frozenset({"item", "grade", "good", "lubricant"})


class Symbol(NamedTuple):
    """What a name is a name of: its kind, the file in which it is known, and the splitter whose outlet it is."""

    file: Path
    kind: Kind
    name: str
    owner: str | None = None


class Spot(NamedTuple):
    """Where a name stands in a file (characters of its text, behind a byte order mark)."""

    file: Path
    start: int
    end: int
    defines: bool = False


class Names:
    """The names in the files of one repository, with the texts that are open in place of the disk's."""

    def __init__(self, judgement: Judgement, texts: Mapping[Path, bytes]) -> None:
        assert judgement.resolved is not None  # asked only of what could be judged
        loader = judgement.resolved.loader
        self.loader: Loader = loader.with_repository(loader.repository.with_texts(texts))
        self._own_catalogue = loader.policy_catalogue
        read = None if judgement.inspected is None else judgement.inspected.loaded.tree
        self._trees: dict[Path, Tree | None] = {} if read is None else {judgement.path: read}
        self.unread: list[Path] = []
        """Files that have the name looked for in their text, and cannot be read."""

    def tree(self, path: Path) -> Tree | None:
        """What can be read of a file."""
        if path not in self._trees:
            kind = kind_of(path)
            found = None if kind is None else self.loader.tree_or_remains(path, kind)
            self._trees[path] = found if isinstance(found, Tree) or found is None else found.tree
        return self._trees[path]

    def symbol_at(self, path: Path, index: int) -> tuple[Symbol, Mention] | None:
        """What is named at a character of a file's text, and how."""
        tree, kind = self.tree(path), kind_of(path)
        mention = None if tree is None or kind is None else mention_at(tree, kind, index)
        if tree is None or mention is None:
            return None
        symbol = self.symbol(tree, mention)
        return None if symbol is None else (symbol, mention)

    def symbol(self, tree: Tree, mention: Mention) -> Symbol | None:
        """What a mention in a file is of; none where the way to it leads nowhere."""
        if mention.kind == "rule":
            return Symbol(Path(), "rule", mention.name)
        if mention.kind == "file":
            target = self._included(tree, mention.name)
            return None if target is None else Symbol(target, "file", mention.name)
        home = self._home(tree, mention)
        if home is None:
            return None
        if mention.kind in _IN_CATALOGUE:
            return self._of_catalogue(home, mention)
        if mention.kind == "outlet" and mention.owner is not None:
            inner = self._placed(home, mention.owner)
            if inner is not None:
                return Symbol(inner.source.path, "exit", mention.name)
        return Symbol(home.source.path, mention.kind, mention.name, mention.owner)

    def placed_in(self, part: Symbol) -> Tree | None:
        """The blueprint that a part is; none where it is none."""
        tree = self.tree(part.file)
        return None if tree is None else self._placed(tree, part.name)

    def definition(self, symbol: Symbol) -> Spot | None:
        """Where a symbol is made known."""
        if symbol.kind == "file":
            return Spot(symbol.file, 0, 0, True)
        tree = self.tree(symbol.file) if symbol.kind != "rule" else None
        if tree is None:
            return None
        for route in _routes(tree, symbol):
            start, end = tree.key_slice(route)
            return Spot(symbol.file, start, end, True)
        return None

    def known_in(self, file: Path, kind: Kind, owner: str | None = None) -> set[str]:
        """The names of a kind that a file makes known."""
        tree = self.tree(file)
        sections: list[Route] = [(section,) for section in _SECTIONS.get(kind, ())]
        if kind == "outlet" and owner is not None:
            sections = [("parts", owner, "shares")]
        found: set[str] = set()
        for route in sections:
            held = None if tree is None else tree.at(route)
            found |= set(held) if isinstance(held, dict) else set()
        return found

    def spots(self, symbol: Symbol) -> Iterator[Spot]:
        """Everywhere that a symbol is named, file by file."""
        self.unread = []
        name = symbol.file.name if symbol.kind == "file" else symbol.name
        for path, kind in self._files(symbol):
            raw = self.loader.repository.read(path)
            if isinstance(raw, Refusal) or name.encode() not in raw:
                continue
            tree = self.tree(path)
            if tree is None:
                self.unread.append(path)
                continue
            yield from self._spots_in(tree, kind, symbol)

    def spots_in(self, path: Path, symbol: Symbol) -> Iterator[Spot]:
        """Everywhere that a symbol is named in one file."""
        tree, kind = self.tree(path), kind_of(path)
        return iter(()) if tree is None or kind is None else self._spots_in(tree, kind, symbol)

    def _spots_in(self, tree: Tree, kind: FileKind, symbol: Symbol) -> Iterator[Spot]:
        for mention in mentions_in(tree, kind):
            same = mention.name == symbol.name or symbol.kind == "file"
            if same and mention.kind in (symbol.kind, "outlet") and self._is(tree, mention, symbol):
                yield Spot(tree.source.path, mention.start, mention.end, mention.defines)

    def _is(self, tree: Tree, mention: Mention, symbol: Symbol) -> bool:
        found = self.symbol(tree, mention)
        return found is not None and found._replace(name="") == symbol._replace(name="")

    def _files(self, symbol: Symbol) -> Iterator[tuple[Path, FileKind]]:
        """The file in which a symbol is known, what is open, then the repository's other files."""
        seen: set[Path] = set()
        known = [symbol.file] if symbol.kind != "rule" else []
        opened = [*known, *self.loader.repository.overlay]
        for path in opened:
            kind = kind_of(path)
            if kind is not None and path not in seen:
                seen.add(path)
                yield path, kind
        for number, (path, kind) in enumerate(walk(self.loader.repository.root)):
            if number >= MOST_FILES:
                return
            if path not in seen:
                yield path, kind

    def _home(self, tree: Tree, mention: Mention) -> Tree | None:
        """The file in which a mention's name is known, down its placed blueprints."""
        home: Tree | None = tree
        if mention.file is not None:
            target = Path(os.path.normpath(tree.source.path.parent / mention.file))
            home = self.tree(target) if target.is_relative_to(self.loader.repository.root) else None
        for step in mention.path:
            home = None if home is None else self._placed(home, step)
        return home

    def _placed(self, tree: Tree, part: str) -> Tree | None:
        """The blueprint that a part of a file is; none where it is none."""
        name = tree.at(("parts", part, "blueprint"))
        path = self._included(tree, name) if isinstance(name, str) else None
        return None if path is None else self.tree(path)

    def _included(self, tree: Tree, name: str) -> Path | None:
        found = self.loader.repository.include(tree.source.path, name)
        return found if isinstance(found, Path) else None

    def _of_catalogue(self, home: Tree, mention: Mention) -> Symbol | None:
        path: Path | None = home.source.path
        if kind_of(home.source.path) != "catalogue":
            written = home.at(("catalogue",))
            named = self._included(home, written) if isinstance(written, str) else None
            path = self._own_catalogue or named
        return None if path is None else Symbol(path, mention.kind, mention.name)


def _routes(tree: Tree, symbol: Symbol) -> Iterator[Route]:
    """The routes under which a file may make a symbol known, and does."""
    if symbol.kind == "lubricant":
        held = tree.at(("lubricants",))
        if isinstance(held, list) and symbol.name in held:
            yield ("lubricants", held.index(symbol.name))
        return
    sections: list[Route] = [(section,) for section in _SECTIONS.get(symbol.kind, ())]
    if symbol.kind == "outlet" and symbol.owner is not None:
        sections = [("parts", symbol.owner, "shares")]
    for section in sections:
        within = tree.at(section)
        if isinstance(within, dict) and symbol.name in within:
            yield (*section, symbol.name)
