"""A spreadsheet's rows as a rig or catalogue: what the reader finds wrong with a line of it is told by its row."""

from pathlib import Path
from typing import NamedTuple

from lineshaft.check.checker import Checker
from lineshaft.repair.edits.commissioning_block import block_splice
from lineshaft.repair.edits.splice import spliced
from lineshaft.schema.model.catalogue import Catalogue
from lineshaft.schema.text.fault import Fault
from lineshaft.schema.text.scalar_text import scalar_text
from lineshaft.solve.safe_list import SafeList, safe_list
from lineshaft.solve.solved_rig import solve_loaded
from lineshaft.starters.catalogue_rows import catalogue_sheet
from lineshaft.starters.first_files import named_catalogue
from lineshaft.starters.rig_rows import Sheet, rig_sheet
from lineshaft.starters.spreadsheet import RowFault


class Made(NamedTuple):
    """The text of the file, or what is wrong in which row; never both."""

    text: str
    faults: tuple[RowFault, ...]


def rig_from_rows(raw: bytes, path: Path, catalogue: Catalogue, checker: Checker, head: str = "") -> Made:
    """A rig at a path by a catalogue, with a safe start-up list where one is found."""
    title = f"{head}rig: 1\nname: {scalar_text(_called(path))}\n{named_catalogue(path, catalogue)}"
    sheet = rig_sheet(raw)
    made = _read_again(title, sheet, path, "rig", checker)
    return made if made.faults else Made(_with_start(made.text, path, checker), ())


def catalogue_from_rows(raw: bytes, path: Path, checker: Checker, head: str = "") -> Made:
    """A catalogue at a path."""
    edition = 'edition: "1"                  # another one whenever a rating changes\n'
    title = f"{head}catalogue: 1\nname: {scalar_text(_called(path))}\n{edition}"
    return _read_again(title, catalogue_sheet(raw), path, "catalogue", checker)


def _called(path: Path) -> str:
    return path.name.split(".")[0]


def _read_again(title: str, sheet: Sheet, path: Path, kind: str, checker: Checker) -> Made:
    """The text, read as `check` reads it: each fault at the row that its line was made from."""
    faults = list(sheet.faults)
    text = title + "\n".join(line for _, line in sheet.lines) + "\n"
    before = title.count("\n")
    loader = _trial(checker, path, text).loader(path)
    found = loader.rig(path).faults if kind == "rig" else loader.catalogue(path)[1]
    told = {fault.row for fault in faults}
    for fault in found:
        row = _row_of(fault, sheet, before)
        if row not in told:  # what the cells say themselves comes first; what follows from it is told when it is mended
            faults.append(RowFault(row, fault.message))
    if not faults:
        return Made(text, ())
    return Made("", tuple(sorted(dict.fromkeys(faults))))


def _row_of(fault: Fault, sheet: Sheet, before: int) -> int:
    number = fault.span.start.line - before - 1
    return sheet.lines[number][0] if 0 <= number < len(sheet.lines) else 0


def _with_start(text: str, path: Path, checker: Checker) -> str:
    """The same with a safe start-up list; as it is where there is none, which `check` then tells."""
    rig = solve_loaded(_trial(checker, path, text).loader(path).rig(path))
    if not rig.parts or rig.unsolved:
        return text
    proposed = safe_list(rig.train, rig.flows)
    if not isinstance(proposed, SafeList) or not proposed.steps:
        return text
    return spliced(text, (block_splice(rig.rig.tree, proposed.steps, rig.parts),))


def _trial(checker: Checker, path: Path, text: str) -> Checker:
    return Checker(checker.working, checker.book, texts={path: text.encode("utf-8")}, day=checker.day)
