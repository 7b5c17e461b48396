"""``lineshaft new``: a first file of a kind, small and commented, or one from a spreadsheet; nothing is replaced."""

from pathlib import Path

import click

from lineshaft.check.checker import Checker
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.rulebook import open_rulebook
from lineshaft.commands.catalogues import catalogue_files, read
from lineshaft.commands.misspelt import Kinds
from lineshaft.commands.one_rig import checker
from lineshaft.commands.options import color_option
from lineshaft.commands.output import say
from lineshaft.documentation import schema_line
from lineshaft.exits import CannotDoError, Exit
from lineshaft.run.discovery import absolute
from lineshaft.schema.loading import kind_of
from lineshaft.schema.model.catalogue import Catalogue
from lineshaft.schema.text.repository import MAX_BYTES
from lineshaft.schema.text.whole_file import make_whole
from lineshaft.starters.first_files import KINDS, first_text, fitted_texts, policy_text, stock_text, target
from lineshaft.write.escape import visible

_MOST_TOLD = 40
_WHAT_NEXT = {
    "rig": "judge it with `lineshaft check {path}`, draw it with `lineshaft draw {path}`",
    "catalogue": "put in your own ratings, then `lineshaft new rig`",
    "blueprint": "judge it with `lineshaft check {path}`",
    "policy": "it holds from now on for every file in its folder and below",
    "stock": "put in what is there, then `lineshaft bom RIG --stock {path}`",
    "hook": "`pre-commit install` puts it in force in this repository",
    "ci": "put the address that you had lineshaft from where the file says so",
}


@click.command("new")
@click.argument("kind", type=Kinds("kind of file", KINDS), metavar="KIND")
@click.argument("path", metavar="[PATH]", default=".")
@click.option("--from", "sheet", metavar="FILE.csv", help="A rig or catalogue from the rows of a spreadsheet.")
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(kind: str, path: str, sheet: str | None, debug: bool) -> int:
    """Write a first file of KIND: rig, catalogue, blueprint, policy, stock, hook or ci.

    An existing file is never replaced.

    PATH is a folder or the file's name. A spreadsheet for --from has a row a part with the columns part, item,
    driven-by, ratio, set, shares; or a row an item with item, kind, grade, ratios, torque-limit, speed-limit, torque,
    speed, power, made-of. Commas, semicolons or tabs, as CSV or text.
    """
    place = target(kind, path)
    if place is None:
        raise CannotDoError(f"{path!r} is no name for that: call it {KINDS[kind].name}, or *{KINDS[kind].ending}")
    if place.is_symlink() or place.exists():
        raise CannotDoError(f"{place.as_posix()} is there already, and stays as it is; name another file")
    judging = checker(open_rulebook())
    if sheet is None:
        text, told = _first(kind, place, judging)
    else:
        text, told = _from_rows(kind, place, sheet, judging)
    _put(place, text)
    shown = place.as_posix()
    say(f"wrote {shown}{told}")
    say(_WHAT_NEXT[kind].format(path=shown))
    return Exit.CLEAN


def _first(kind: str, place: Path, judging: Checker) -> tuple[str, str]:
    """The text, and what is to be said of it."""
    if kind in ("catalogue", "hook", "ci"):
        return first_text(kind, place), ""
    real = _real(place)
    if kind == "policy":
        files = catalogue_files(judging, _standing(real.parent))
        return policy_text(real, files[0] if len(files) == 1 else None), ""
    catalogue = _catalogue(kind, real, judging)
    if kind == "stock":
        return stock_text(real, catalogue), f", which uses {catalogue.tree.source.shown}"
    passing = ""
    for text in fitted_texts(kind, real, catalogue):
        found = _findings(text, real, judging)
        if not found:
            return text, f", which uses {catalogue.tree.source.shown}"
        if not passing and all(finding.level != "error" for finding in found):
            passing = text
    if passing:
        told = "no machine of it runs by a prime mover of it, so this is a start alone"
        return passing, f", which uses {catalogue.tree.source.shown}; {told}"
    made_of = "the iron-shaft and the open-stage that the first blueprint is made of"
    items = "a prime mover that a rig can be made with" if kind == "rig" else made_of
    raise CannotDoError(f"{catalogue.tree.source.shown} has not {items}; `lineshaft items` shows what it has")


def _from_rows(kind: str, place: Path, sheet: str, judging: Checker) -> tuple[str, str]:
    from lineshaft.starters.from_rows import catalogue_from_rows, rig_from_rows

    if kind not in ("rig", "catalogue"):
        raise click.UsageError(f"--from makes a rig or a catalogue, no {kind}")
    raw, real = _rows(sheet), _real(place)
    if kind == "rig":
        made = rig_from_rows(raw, real, _catalogue(kind, real, judging), judging, schema_line(kind))
    else:
        made = catalogue_from_rows(raw, real, judging, schema_line(kind))
    if made.faults:
        told = [f"row {fault.row}: {fault.message}" if fault.row else fault.message for fault in made.faults]
        more = [f"and {len(told) - _MOST_TOLD} more"] if len(told) > _MOST_TOLD else []
        lines = "\n".join(f"  {visible(line)}" for line in [*told[:_MOST_TOLD], *more])
        raise CannotDoError(f"nothing was written, for {visible(sheet)} has faults:\n{lines}")
    return made.text, f" from {sheet}"


def _rows(sheet: str) -> bytes:
    path = Path(sheet)
    if path.suffix.casefold() in (".xlsx", ".xls", ".ods"):
        raise CannotDoError(f"{sheet!r} is a workbook: save the sheet as CSV, and name that file")
    if not path.is_file():
        raise CannotDoError(f"{sheet!r} does not exist, or is not a file")
    if path.stat().st_size > MAX_BYTES:
        raise CannotDoError(f"{sheet!r} has more than the {MAX_BYTES:,} bytes that are read")
    return path.read_bytes()


def _catalogue(kind: str, real: Path, judging: Checker) -> Catalogue:
    """The catalogue for a file: the policy's, or the one with the shortest path; earlier editions of another last."""
    files = catalogue_files(judging, _standing(real.parent))
    if not files:
        how = "write one with `lineshaft new catalogue`"
        raise CannotDoError(f"a {kind} needs a catalogue, and there is none here; {how}")
    found = [read(judging, path) for path in files]
    earlier = {(one.tree.source.path.parent / name).resolve() for one in found for name in one.earlier.values()}
    return min(found, key=lambda one: (one.tree.source.path in earlier, len(one.tree.source.path.parts)))


def _findings(text: str, real: Path, judging: Checker) -> tuple[JudgedFinding, ...]:
    """What is found in the text, judged where it is to stand."""
    kind = kind_of(real)
    if kind is None:
        raise CannotDoError(f"{real.name!r} is no name of ours")
    trial = Checker(judging.working, judging.book, texts={real: text.encode("utf-8")}, day=judging.day)
    return trial.judged(trial.job(real, kind)).report.findings


def _real(place: Path) -> Path:
    return absolute(place) if place.parent.exists() else Path.cwd().resolve() / place


def _standing(folder: Path) -> Path:
    """The nearest folder above that is there."""
    return next(place for place in (folder, *folder.parents) if place.is_dir())


def _put(place: Path, text: str) -> None:
    """Make the file, and the folders that lead to it. Raises CannotDoError where it is there by now."""
    place.parent.mkdir(parents=True, exist_ok=True)
    try:
        make_whole(absolute(place), text.encode("utf-8"))
    except FileExistsError as error:
        raise CannotDoError(f"{place.as_posix()} is there already, and stays as it is; name another file") from error
