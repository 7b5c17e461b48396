"""What code a verdict was made by, as one digest: another version, rule, library or interpreter, another digest."""

import hashlib
import os
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from lineshaft import __version__
from lineshaft.check.registry import distributions, registry

_SOURCES = (".py", ".json")


def code_identity() -> str:
    """The digest over version, interpreter, every distribution's name and version, and the code of all rules.

    Of a distribution that registers rules (this one among them) its `RECORD` counts, which holds a digest of each
    installed file; where its code lies elsewhere, as in an editable installation, its sources count.
    """
    made = hashlib.blake2b(digest_size=20)
    for text in (__version__, sys.version, *_distributions(sys.path)):
        made.update(text.encode("utf-8", "surrogatepass") + b"\0")
    installed = []
    for distribution in distributions():
        installed.append(distribution.folder.parent)
        made.update(_content(distribution.folder / "RECORD"))
    entries = registry().rules
    for entry in entries:
        made.update(f"{entry}\0".encode())
    for source in _sources({entry.module.partition(".")[0] for entry in entries}, installed):
        made.update(f"{source}\0".encode("utf-8", "surrogatepass"))
        made.update(_content(source))
    return made.hexdigest()


def rule_versions() -> tuple[str, ...]:
    """Names and versions of this program and of the distributions that register rules."""
    return tuple(sorted({f"lineshaft {__version__}", *(distribution.name for distribution in distributions())}))


def _distributions(folders: Iterable[str]) -> Iterator[str]:
    """Names and versions, as the folders of metadata are called."""
    for folder in folders:
        try:
            names = os.listdir(folder or ".")  # noqa: PTH208 - names are enough, and many
        except OSError:
            continue
        yield from sorted(name for name in names if name.endswith((".dist-info", ".egg-info")))


def _sources(packages: set[str], installed: list[Path]) -> list[Path]:
    """Source files of the packages that do not lie where distributions are installed."""
    found: set[Path] = set()
    for name, module in sorted(sys.modules.items()):
        if name.partition(".")[0] not in packages:
            continue
        for place in (*getattr(module, "__path__", ()), getattr(module, "__file__", None)):
            if place is not None and not any(Path(place).is_relative_to(folder) for folder in installed):
                found.update(_files(Path(place)))
    return sorted(found)


def _files(place: Path) -> Iterator[Path]:
    if place.suffix in _SOURCES:
        yield place
        return
    for here, _, names in os.walk(place, followlinks=True):  # an editable installation consists of links
        yield from (Path(here, name) for name in names if name.endswith(_SOURCES))


def _content(file: Path) -> bytes:
    try:
        return file.read_bytes() + b"\0"
    except OSError:
        return b"\0"
