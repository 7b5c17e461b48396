"""Judge again whenever a file that a check has read changes, until somebody ends it."""

from collections.abc import Callable, Iterable, Iterator
from importlib import import_module
from pathlib import Path
from typing import Any, Final

import click

from lineshaft.exits import CannotDoError
from lineshaft.schema.loading import kind_of
from lineshaft.schema.text.windows import shown_path
from lineshaft.write.escape import clean, harmless

_QUIET: Final = 100  # milliseconds without a change after which those so far are taken together
_LONGEST: Final = 900  # milliseconds that changes are gathered for at most


def judge_again(judge: Callable[[], frozenset[Path]], named: Iterable[str]) -> None:
    """Judge, then once more after each change to a file that was read, or to a file of ours in a ``named`` folder.

    ``judge`` returns the files that it has read. Ends with KeyboardInterrupt alone. Raises CannotDoError where what
    looks at the disk is not installed.
    """
    watch = _watch()
    folders = frozenset(Path(name).resolve() for name in named if Path(name).is_dir())
    known = _judged(judge, frozenset())
    while True:
        places = _places(known, folders)
        for paths in _changes(watch, places, lambda path: path in known or _is_of(path, folders)):  # noqa: B023
            shown = ", ".join(sorted(shown_path(path, Path.cwd()) for path in paths))
            click.echo(clean(f"lineshaft: {shown} changed"), err=True)
            known = _judged(judge, known)
            if _places(known, folders) != places:
                break


def _watch() -> Callable[..., Iterator[Any]]:
    try:
        found: Callable[..., Iterator[Any]] = import_module("watchfiles").watch
    except ImportError:
        raise CannotDoError("--watch needs the extra `watch`: pip install 'lineshaft[watch]'") from None
    return found


def _judged(judge: Callable[[], frozenset[Path]], known: frozenset[Path]) -> frozenset[Path]:
    """What was read; as before where the job could not be done, which is said."""
    try:
        read = judge()
    except CannotDoError as error:
        click.echo(harmless(f"lineshaft: {error}"), err=True)
        read = known
    many = f"{len(read)} file{'s' if len(read) != 1 else ''}"
    click.echo(f"lineshaft: watching {many}; Ctrl-C ends it", err=True)
    return read


def _places(known: frozenset[Path], folders: frozenset[Path]) -> frozenset[Path]:
    return folders | {path.parent for path in known if path.parent.is_dir()}


def _is_of(path: Path, folders: frozenset[Path]) -> bool:
    """Whether a file that was not there before would be judged now."""
    if kind_of(path) is None:
        return False
    inside = next((path.relative_to(folder) for folder in folders if path.is_relative_to(folder)), None)
    return inside is not None and not any(part.startswith(".") for part in inside.parts)


def _changes(
    watch: Callable[..., Iterator[Any]], places: frozenset[Path], ours: Callable[[Path], bool]
) -> Iterator[frozenset[Path]]:
    """The paths of each few changes that belong together; what happens while somebody judges waits."""

    def counts(_: object, path: str) -> bool:
        return ours(Path(path))

    for found in watch(*sorted(places), watch_filter=counts, debounce=_LONGEST, step=_QUIET):
        yield frozenset(Path(path) for _, path in found)
