"""The catalogues that hold in a place: the one a file is or names, the policy's, or those below a folder."""

from pathlib import Path

from lineshaft.check.checker import Checker
from lineshaft.exits import CannotDoError
from lineshaft.run.discovery import absolute, walk
from lineshaft.schema.loading import kind_of
from lineshaft.schema.model.catalogue import Catalogue
from lineshaft.schema.text.fault import Fault
from lineshaft.schema.text.tree import Tree


def catalogues_of(checker: Checker, name: str) -> tuple[Catalogue, ...]:
    """What the file or folder ``name`` draws its items from; earlier editions of a catalogue found there are left out.

    Raises CannotDoError, with what is wrong, where there is none or it cannot be read.
    """
    path = Path(name)
    if path.is_dir():
        return _of_folder(checker, path)
    if not path.is_file():
        raise CannotDoError(f"{name!r} does not exist")
    real = absolute(path)
    kind = kind_of(real)
    if kind == "catalogue":
        return (read(checker, real),)
    if kind in ("rig", "blueprint"):
        loader = checker.loader(real)
        tree = loader.tree(real, kind)
        if isinstance(tree, Tree):
            found, faults = loader.catalogue_of(tree)
            return (_sound(found, faults),)
        raise CannotDoError(f"{_words(tree)}; see `lineshaft check {name}`")
    if kind == "policy":
        return _of_folder(checker, real.parent)
    kinds = "a catalogue (*.catalogue.yaml), a rig, a blueprint, a policy"
    raise CannotDoError(f"{name!r} is neither {kinds} nor a folder")


def catalogue_files(checker: Checker, folder: Path) -> tuple[Path, ...]:
    """The catalogue of the policy that holds in a folder; else those at any depth below it, and above to the root."""
    here = folder.resolve()
    resolved = checker.loader(here / "_").policy_catalogue
    if resolved is not None:
        return (resolved,)
    root = checker.file_context(here / "_").root
    for place in (here, *here.parents):
        found = tuple(path for path, kind in walk(place) if kind == "catalogue")
        if found or place == root:
            return found
    return ()


def read(checker: Checker, path: Path) -> Catalogue:
    """The catalogue at a path. Raises CannotDoError where it has faults."""
    return _sound(*checker.loader(path).catalogue(checker.loader(path).repository.real(path)))


def _of_folder(checker: Checker, folder: Path) -> tuple[Catalogue, ...]:
    files = catalogue_files(checker, folder)
    if not files:
        raise CannotDoError(f"there is no catalogue in {str(folder)!r}; `lineshaft new catalogue` writes a first one")
    found = [read(checker, path) for path in files]
    earlier = {(one.tree.source.path.parent / name).resolve() for one in found for name in one.earlier.values()}
    return tuple(one for one in found if one.tree.source.path not in earlier)


def _sound(catalogue: Catalogue | None, faults: tuple[Fault, ...]) -> Catalogue:
    if catalogue is None or faults:
        raise CannotDoError(f"{_words(faults)}; see `lineshaft check {faults[0].file}`")
    return catalogue


def _words(faults: tuple[Fault, ...]) -> str:
    first = faults[0]
    return f"{first.file} line {first.span.start.line}, column {first.span.start.column}: {first.message}"
