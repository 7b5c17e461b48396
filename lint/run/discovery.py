"""Paths as named on the command line to the files to judge, in a stable order."""

import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from lineshaft.schema.loading import FileKind, kind_of
from lineshaft.schema.read.policy_reader import FILE_NAME

_JUDGED: frozenset[FileKind] = frozenset({"rig", "catalogue", "blueprint", "policy", "snags", "stock"})


class Found(NamedTuple):
    """The files to judge with their kinds, and the paths that are not there or are no files of ours."""

    files: tuple[tuple[Path, FileKind], ...]
    missing: tuple[str, ...]
    foreign: tuple[str, ...]
    empty_folders: tuple[str, ...]

    def refused(self) -> tuple[str, ...]:
        """Why some of the paths are not judged, a line for each; with one of them a run cannot do its job."""
        gone = (f"{name} does not exist" for name in self.missing)
        return (*gone, *(f"{name} is not judged: {_to_be_called(name)}" for name in self.foreign))


def find(paths: Iterable[str]) -> Found:
    """Files of ours among ``paths`` and, at any depth, in the folders among them; hidden folders are left out."""
    files: dict[Path, FileKind] = {}
    missing: list[str] = []
    foreign: list[str] = []
    empty: list[str] = []
    for name in paths:
        path = Path(name)
        if not os.path.lexists(path):
            missing.append(name)
        elif path.is_dir():
            inside = list(walk(path))
            files.update(inside)
            if not any(kind == "rig" for _, kind in inside):
                empty.append(name)
        else:
            kind = kind_of(path)
            if kind is None or kind not in _JUDGED:
                foreign.append(name)
            else:
                files[absolute(path)] = kind
    return Found(tuple(sorted(files.items())), tuple(missing), tuple(foreign), tuple(empty))


def walk(folder: Path) -> Iterator[tuple[Path, FileKind]]:
    """Every file of ours at any depth in a folder, with its kind; hidden folders are left out."""
    for here, folders, names in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(names):
            path = Path(here, name)
            kind = kind_of(path)
            if kind is not None and kind in _JUDGED:
                yield absolute(path), kind


def _to_be_called(name: str) -> str:
    stem = Path(name).name.partition(".")[0] or "name"
    kinds = f"{stem}.blueprint.yaml, a catalogue {stem}.catalogue.yaml, a stock {stem}.stock.yaml"
    kinds += f", a snag list {stem}.snags.yaml"
    return f"call a rig {stem}.rig.yaml, a blueprint {kinds}, and a policy {FILE_NAME}"


def absolute(path: Path) -> Path:
    """The real path of the file's folder with the file's own name, so that a linked file keeps its name."""
    return path.parent.resolve() / path.name
