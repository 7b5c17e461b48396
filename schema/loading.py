"""A path to a rig or catalogue with all its faults: bytes, text, tree, conformity, types, in that order."""

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple

from lineshaft.schema.model.catalogue import Catalogue
from lineshaft.schema.model.rig import Rig
from lineshaft.schema.read.catalogue_reader import read_catalogue
from lineshaft.schema.read.rig_reader import places_blueprints, read_rig
from lineshaft.schema.text.faults import at_value
from lineshaft.schema.text.repository import Refusal, Repository
from lineshaft.schema.text.span import TOP, Route
from lineshaft.schema.text.text import SourceText, read_text
from lineshaft.schema.text.tree import Tree
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.schema.text.yaml_reader import read_yaml
from lineshaft.schema.validation.conformity import fits

if TYPE_CHECKING:
    from lineshaft.schema.blueprint.blueprint import Blueprint
    from lineshaft.schema.model.stock import Inventory
    from lineshaft.schema.read.remains import Remains
    from lineshaft.schema.text.fault import Fault
    from lineshaft.schema.text.recent_readings import RecentReadings

    RecentTrees = RecentReadings[Tree | Remains]

FileKind = Literal["rig", "catalogue", "blueprint", "policy", "snags", "stock"]

_ENDINGS: tuple[tuple[str, FileKind], ...] = (
    (".rig.yaml", "rig"),
    (".blueprint.yaml", "blueprint"),
    (".catalogue.yaml", "catalogue"),
    ("lineshaft.policy.yaml", "policy"),
    (".snags.yaml", "snags"),
    (".stock.yaml", "stock"),
)


def kind_of(path: Path) -> FileKind | None:
    """The kind of file that a path's ending says, with `.yml` as with `.yaml`; none where it is no file of ours."""
    name = path.name.removesuffix(".yml") + ".yaml" if path.name.endswith(".yml") else path.name
    return next((kind for ending, kind in _ENDINGS if name.endswith(ending)), None)


class Loaded(NamedTuple):
    """What a file gave: its tree and rig where it got so far, faults, and how many parts it writes down.

    ``solvable`` is false where a fault leaves the values of the file in doubt.
    """

    path: Path
    shown: str
    rig: Rig | None
    faults: tuple["Fault", ...]
    parts: int
    solvable: bool
    tree: Tree | None = None


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Loader:
    """Reads files of one repository; a catalogue or blueprint is read once however many rigs use it.

    ``policy_catalogue`` replaces the catalogue that rigs name (a policy's). ``trees`` are those of texts that are read
    again and again.
    """

    repository: Repository
    bounds: Bounds = field(default_factory=Bounds)
    policy_catalogue: Path | None = None
    trees: "RecentTrees | None" = None
    _catalogues: dict[Path, tuple[Catalogue | None, tuple["Fault", ...]]] = field(default_factory=dict)
    _blueprints: "dict[Path, tuple[Blueprint | None, tuple[Fault, ...]]]" = field(default_factory=dict)

    def with_repository(self, repository: Repository) -> "Loader":
        """The same loader over other texts; what was read and the texts leave alone is kept."""
        changed = repository.overlay
        catalogues = {path: found for path, found in self._catalogues.items() if path not in changed}
        blueprints = {path: found for path, found in self._blueprints.items() if path not in changed}
        return replace(self, repository=repository, _catalogues=catalogues, _blueprints=blueprints)

    def with_text_of(self, path: Path, text: bytes) -> "Loader":
        """The same loader with another text of one rig, from which no other file is read: what was read is shared."""
        return replace(self, repository=self.repository.with_texts({path: text}))

    def apart(self) -> "Loader":
        """The same loader for somebody else, on another thread: what he reads is not noted, nor kept for this one.

        Trees are shared, for they hang on nothing but their texts.
        """
        repository = replace(self.repository, recorder=None)
        return replace(
            self, repository=repository, _catalogues={**self._catalogues}, _blueprints={**self._blueprints}
        )

    def with_catalogue(self, path: Path) -> "Loader":
        """The same loader with one catalogue, a policy's, in place of those that rigs name."""
        return replace(self, policy_catalogue=path)

    def with_read_catalogue(self, path: Path, catalogue: Catalogue) -> "Loader":
        """The same loader with a catalogue that was read, perhaps changed, in place of the policy's and the rigs'."""
        return replace(self, policy_catalogue=path, _catalogues={**self._catalogues, path: (catalogue, ())})

    def tree(self, path: Path, kind: FileKind) -> Tree | tuple["Fault", ...]:
        """The located tree of a file that is there and fits its schema, or its faults of form."""
        found = self.tree_or_remains(path, kind)
        return found if isinstance(found, Tree) else found.faults

    def tree_or_remains(self, path: Path, kind: FileKind) -> "Tree | Remains":
        """The same, with what is left of a file that has such faults."""
        raw = self.repository.read(path)
        if isinstance(raw, Refusal):
            from lineshaft.schema.read.remains import Remains  # only where a file is faulty
            from lineshaft.schema.text.fault import Fault

            shown = self.repository.shown(path)
            return Remains(None, (Fault("not-yaml", shown, TOP, (), f"the file {raw.message}"),))
        if self.trees is None:
            return self._read(path, kind, raw)
        found = self.trees.find((path, kind), raw)
        if found is None:
            found = self._read(path, kind, raw)
            self.trees.keep((path, kind), raw, found)
        return found

    def _read(self, path: Path, kind: FileKind, raw: bytes) -> "Tree | Remains":
        shown = self.repository.shown(path)
        source = read_text(path, shown, raw)
        if isinstance(source, SourceText):
            tree = read_yaml(source, self.bounds)
            if isinstance(tree, Tree) and fits(kind, tree.data):
                return tree
        from lineshaft.schema.read.remains import Remains, remains_of  # only where a file is faulty
        from lineshaft.schema.text.fault import Fault

        if not isinstance(source, SourceText):
            return Remains(None, (Fault("not-yaml", shown, source.span, (), source.message),))
        return remains_of(source, kind, self.bounds)

    def catalogue(self, path: Path) -> tuple[Catalogue | None, tuple["Fault", ...]]:
        """The catalogue at a real path, with its faults; none where it cannot be used."""
        found = self._catalogues.get(path)
        if found is None:
            tree = self.tree_or_remains(path, "catalogue")
            if isinstance(tree, Tree):
                found = read_catalogue(tree)
            else:
                more = read_catalogue(tree.tree)[1] if tree.tree is not None else ()
                found = (None, (*tree.faults, *tree.telling(more)))
            self._catalogues[path] = found
        else:
            self.repository.used_again(path)
        return found

    def blueprint(self, path: Path) -> "tuple[Blueprint | None, tuple[Fault, ...]]":
        """The blueprint at a real path, with the faults it has wherever it stands; none where it cannot be used."""
        found = self._blueprints.get(path)
        if found is None:
            from lineshaft.schema.blueprint.blueprint import read_blueprint

            tree = self.tree(path, "blueprint")
            found = self._blueprints[path] = (None, tree) if isinstance(tree, tuple) else read_blueprint(tree)
        else:
            self.repository.used_again(path)
        return found

    def stock(self, path: Path) -> "tuple[Inventory | None, Catalogue | None, tuple[Fault, ...]]":
        """The stock at a path and the catalogue that it is of, with its faults; none where they cannot be used."""
        left = self.tree_or_remains(path, "stock")
        whole = isinstance(left, Tree)
        tree = left if isinstance(left, Tree) else left.tree
        of_form = () if isinstance(left, Tree) else left.faults
        if tree is None or tree.at(("catalogue",)) is None:
            return None, None, of_form
        catalogue, faults = self.catalogue_of(tree)
        if catalogue is None:
            return None, None, (*of_form, *faults)
        from lineshaft.schema.read.stock_reader import read_stock

        found, own = read_stock(tree, catalogue)
        told = own if isinstance(left, Tree) else left.telling(own)
        return found if whole else None, catalogue, (*of_form, *faults, *told)

    def rig(self, path: Path) -> Loaded:
        """The rig at a path, read against its catalogue (or the policy's), with its blueprints' parts in place."""
        return self._loaded(path, "rig")

    def blueprint_alone(self, path: Path) -> Loaded:
        """The blueprint at a path as a rig of its own, fed what its inlets promise to stand."""
        return self._loaded(path, "blueprint")

    def _loaded(self, path: Path, kind: FileKind) -> Loaded:
        shown = self.repository.shown(path)
        tree = self.tree_or_remains(path, kind)
        if not isinstance(tree, Tree):
            return Loaded(path, shown, None, (*tree.faults, *self._further(tree, kind)), 0, False)
        parts = _count(tree)
        catalogue, faults = self.catalogue_of(tree)
        if catalogue is None or any(fault.rule != "unknown-reference" for fault in faults):
            from lineshaft.schema.read.remains import Remains

            further = self._further(Remains(tree, ()), kind)
            return Loaded(path, shown, None, tuple(dict.fromkeys((*faults, *further))), parts, False, tree)
        if kind == "blueprint" or places_blueprints(tree):
            from lineshaft.schema.blueprint.expansion import expanded

            rig, own = expanded(tree, catalogue, self, alone=kind == "blueprint")
        else:
            rig, own = read_rig(tree, catalogue)
        if rig.edition is not None and rig.edition != catalogue.edition:
            rig = replace(rig, earlier=self._earlier(catalogue, rig.edition))
        solvable = all(fault.rule in ("unknown-reference", "not-offered") for fault in own)
        return Loaded(path, shown, rig, (*faults, *own), parts, solvable, tree)

    def _further(self, left: "Remains", kind: FileKind) -> tuple["Fault", ...]:
        """The faults that a rig or blueprint has beside those of form, its own or its catalogue's.

        It is read against what is left of its catalogue.
        """
        tree = left.tree
        if tree is None or not isinstance(tree.data, dict):
            return ()
        if self.policy_catalogue is None and "catalogue" not in tree.data:
            return ()
        catalogue, faults, lacking = self._what_is_left_of_catalogue(tree)
        if catalogue is None:
            return faults
        if kind == "blueprint" or places_blueprints(tree):
            from lineshaft.schema.blueprint.expansion import expanded

            own = expanded(tree, catalogue, self, alone=kind == "blueprint")[1]
        else:
            own = read_rig(tree, catalogue)[1]
        return (*faults, *left.telling(own, lacking))

    def _what_is_left_of_catalogue(self, tree: Tree) -> tuple[Catalogue | None, tuple["Fault", ...], frozenset[str]]:
        """A catalogue without what is faulty in it, its faults, and the names of its entries that lack something."""
        catalogue, faults = self.catalogue_of(tree)
        lacking = frozenset(str(fault.route[1]) for fault in faults if len(fault.route) > 1)
        if catalogue is not None or not faults:
            return catalogue, faults, lacking
        found = self.policy_catalogue or self.included(tree, ("catalogue",))
        if not isinstance(found, Path):
            return None, faults, lacking
        left = self.tree_or_remains(found, "catalogue")
        if isinstance(left, Tree) or left.tree is None:
            return None, faults, lacking
        return read_catalogue(left.tree)[0], faults, lacking | left.names

    def _earlier(self, catalogue: Catalogue, edition: str) -> Catalogue | None:
        """The catalogue of an earlier edition; none where the catalogue names none, or it cannot be read."""
        name = catalogue.earlier.get(edition)
        path = None if name is None else self.repository.include(catalogue.tree.source.path, name)
        return self.catalogue(path)[0] if isinstance(path, Path) else None

    def catalogue_of(self, tree: Tree) -> tuple[Catalogue | None, tuple["Fault", ...]]:
        """The policy's catalogue, or the one that a rig or blueprint names, with its faults."""
        if self.policy_catalogue is not None:
            return self.catalogue(self.policy_catalogue)
        found = self.included(tree, ("catalogue",))
        return self.catalogue(found) if isinstance(found, Path) else (None, (found,))

    def included(self, tree: Tree, route: Route) -> "Path | Fault":
        """The real path of the file that the text at ``route`` names, or the fault at that text."""
        name = str(tree.at(route))
        found = self.repository.include(tree.source.path, name)
        if not isinstance(found, Refusal):
            return found
        shown = name if len(name) <= 80 else name[:79] + "…"
        hint = self._nearest_file(tree.source.path, name) if found.absent else ""
        return at_value("unknown-reference", tree, route, f"the file {shown} {found.message}{hint}")

    def _nearest_file(self, written_in: Path, name: str) -> str:
        from lineshaft.schema.text.nearest import nearest  # only where a word is wrong

        kind = kind_of(Path(name))
        beside = self.repository.names(written_in, name)
        near = nearest(Path(name).name, [other for other in beside if kind_of(Path(other)) == kind])
        return f"; did you mean {near[0]}?" if near else ""


def _count(tree: Tree) -> int:
    data = tree.data
    parts = data.get("parts") if isinstance(data, dict) else None
    return len(parts) if isinstance(parts, dict) else 0
