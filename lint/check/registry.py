"""Which distributions register which rules, and which of these may run; nothing is loaded here.

The installed distributions' `entry_points.txt` are read here and not through `importlib.metadata`: that takes as long
to import as everything else a small check does. The file's format is the packaging standard's (PyPA, *Entry points
specification*); a test compares both ways of reading.
"""

import os
import sys
from collections.abc import Iterable, Iterator
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:  # few installations have one
    from lineshaft.check.broken_rule import BrokenRule

GROUP = "lineshaft.rules"
OWN = "lineshaft.rules"  # the package of our own rules, a module each
CRASHED, INTERNAL = "rule-crashed", "internal-error"  # what the engine itself says of a file: no rule has these ids
_METADATA = (".dist-info", ".egg-info")
_DASHES = str.maketrans("_.", "--")
_OUR_SECTION = f"[{GROUP}]".encode()


class IncompleteInstallationError(Exception):
    """Rules of our own are there and not registered, so that nothing would be found; says which and what to do."""


class Registered(NamedTuple):
    """A rule as its distribution (`name version`) registers it, not loaded: id, module and attribute."""

    id: str
    module: str
    attribute: str
    distribution: str = ""


class Distribution(NamedTuple):
    """An installed distribution with our group: its metadata folder, and its rules in their order."""

    name: str
    folder: Path
    rules: tuple[Registered, ...]


class Registry(NamedTuple):
    """The rules that may run, sorted by id; those that may not, since others have their id; our own that lack."""

    rules: tuple[Registered, ...]
    refused: tuple["BrokenRule", ...] = ()
    missing: tuple[str, ...] = ()

    @property
    def ids(self) -> set[str]:
        """Every id that somebody registers."""
        return {entry.id for entry in self.rules} | {broken.id for broken in self.refused}


def registry(folders: Iterable[str] | None = None) -> Registry:
    """What is registered on the import path, or in ``folders``.

    Our own ids are ours, whoever else registers them; an id that two other distributions register is nobody's.
    """
    own = own_ids()
    mine: dict[str, Registered] = {}
    others: dict[str, dict[str, Registered]] = {}
    for distribution in distributions(folders):
        for entry in distribution.rules:
            if entry.id in own and entry.module == f"{OWN}.{own[entry.id]}":
                mine.setdefault(entry.id, entry)
            else:
                others.setdefault(entry.id, {}).setdefault(entry.distribution, entry)
    chosen = dict(mine)
    refused: list[tuple[str, str]] = []
    for name, claims in others.items():
        if name in own or name in (CRASHED, INTERNAL):
            refused += [(name, f"of {by} does not run: the id is lineshaft's own") for by in claims]
        elif len(claims) > 1:
            refused.append((name, f"does not run: {' and '.join(sorted(claims))} both register it"))
        else:
            (chosen[name],) = claims.values()
    missing = tuple(sorted(own.keys() - mine.keys()))
    return Registry(tuple(chosen[name] for name in sorted(chosen)), _broken(refused) if refused else (), missing)


def _broken(refused: Iterable[tuple[str, str]]) -> "tuple[BrokenRule, ...]":
    from lineshaft.check.broken_rule import BrokenRule

    return tuple(BrokenRule(*one) for one in sorted(refused))


def complete_registry() -> Registry:
    """What is registered on the import path. Raises IncompleteInstallationError where rules of our own lack."""
    found = registry()
    if found.missing or not found.rules:
        own = own_ids()
        some = ", ".join(found.missing[:3]) + (", …" if len(found.missing) > 3 else "")
        lack = f"{len(found.missing)} of {len(own)} rules ({some})" if own else "its rules"
        raise IncompleteInstallationError(
            f"this installation of lineshaft is damaged: {lack} are not registered, so that nothing could be told of "
            "a rig; install lineshaft again"
        )
    return found


def own_ids() -> dict[str, str]:
    """The ids of the rules that lineshaft was built with, and the module of each, by the files of their package."""
    try:
        package = import_module(OWN)  # for its folder alone: rules are loaded by their entry points, like anybody's
    except ImportError:
        return {}
    stems = {name.partition(".")[0] for folder in package.__path__ for name in _names(folder) if ".py" in name}
    return {stem.replace("_", "-"): stem for stem in sorted(stems) if stem[0] != "_"}


def distributions(folders: Iterable[str] | None = None) -> tuple[Distribution, ...]:
    """Those with our group in the order of the import path; of two with one name and version only the first.

    An `.egg-info` folder that a build left somewhere, of this version or another, does not count where the distribution
    is installed (`.dist-info`).
    """
    named = [(_identity(folder), folder, text) for folder, text in _tables(folders)]
    installed = {name.partition(" ")[0] for name, folder, _ in named if folder.suffix == ".dist-info"}
    found: dict[str, Distribution] = {}
    for name, folder, text in named:
        if name not in found and (folder.suffix == ".dist-info" or name.partition(" ")[0] not in installed):
            found[name] = Distribution(name, folder, tuple(_entries(text, name)))
    return tuple(found.values())


def _tables(folders: Iterable[str] | None) -> Iterator[tuple[Path, str]]:
    """The metadata folder and text of each `entry_points.txt` with our group."""
    for folder in sys.path if folders is None else folders:
        for name in _names(folder or "."):
            if name.endswith(_METADATA):
                try:
                    # Of some dozens hardly one is ours: a path object for each takes longer than to look into it.
                    with open(f"{folder or '.'}/{name}/entry_points.txt", "rb", buffering=0) as opened:  # noqa: PTH123
                        raw = opened.read()
                    if _OUR_SECTION in raw:
                        yield Path(folder, name), raw.decode("utf-8")
                except (OSError, UnicodeDecodeError):
                    continue


def _names(folder: str) -> list[str]:
    try:
        return sorted(os.listdir(folder))  # noqa: PTH208 - names are enough, and many
    except OSError:
        return []


def _identity(folder: Path) -> str:
    """Name and version of a distribution, however its folder is spelt (PyPA, *Names and normalization*)."""
    name, _, version = folder.stem.partition("-")
    if folder.suffix == ".egg-info" or not version:
        name, version = _header(folder) or (name, version)
    return f"{'-'.join(filter(None, name.translate(_DASHES).split('-'))).lower()} {version}".strip()


def _header(folder: Path) -> tuple[str, str] | None:
    """Name and version from the first lines of a metadata file."""
    for file in ("PKG-INFO", "METADATA"):
        try:
            lines = Path(folder, file).read_text("utf-8").split("\n\n")[0].splitlines()
        except (OSError, UnicodeDecodeError):
            continue
        fields = dict(line.split(": ", 1) for line in lines if ": " in line)
        return fields.get("Name", folder.stem), fields.get("Version", "")
    return None


def _entries(text: str, distribution: str) -> Iterator[Registered]:
    ours = False
    for raw in text.splitlines():
        line = raw.strip()
        if line.startswith("["):
            ours = line == f"[{GROUP}]"
        elif ours and line and line[0] not in "#;":
            name, _, target = line.partition("=")
            module, _, attribute = target.partition("[")[0].strip().partition(":")
            yield Registered(name.strip(), module.strip(), attribute.strip(), distribution)
