"""What the commands on one rig share: the rig's path to a solved rig, or why it cannot be had."""

from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path

from lineshaft import __version__
from lineshaft.check.checker import Checker, today
from lineshaft.check.finding import Finding
from lineshaft.check.rulebook import Rulebook, open_rulebook
from lineshaft.check.source_lines import source_lines
from lineshaft.exits import CannotDoError
from lineshaft.repair.proof.context import RepairContext, open_repair_context
from lineshaft.schema.loading import kind_of
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.write.cells import page_width
from lineshaft.write.ink import Ink
from lineshaft.write.page import Page
from lineshaft.write.sheet import inspection_sheet
from lineshaft.write.summary import FileReport, Run


def checker(book: Rulebook | None = None, day: date | None = None) -> Checker:
    """A checker in the working folder; without rules unless a rulebook is given; waivers as of a day, else today."""
    return Checker(Path.cwd().resolve(), book if book is not None else Rulebook(()), day=day or today())


def solved_rig(name: str, *, blueprints: bool = False) -> SolvedRig:
    """The solved rig in the file ``name``, a blueprint alone if ``blueprints`` do too.

    Raises CannotDoError, with the faults, where it cannot be solved.
    """
    path = Path(name)
    if not path.is_file():
        raise CannotDoError(f"{name!r} does not exist, or is not a file")
    kind = kind_of(path)
    if kind != "rig" and not (blueprints and kind == "blueprint"):
        nor = ", nor a blueprint" if blueprints else ""
        raise CannotDoError(f"{name!r} is not a rig file (*.rig.yaml){nor}")
    real = path.parent.resolve() / path.name
    rig = checker().solved(real) if kind == "rig" else checker().alone(real)[1]
    if not rig.parts:
        faulty = checker(open_rulebook())
        found = faulty.findings(rig)
        report = FileReport(rig.file, rig.rig.name, rig.written_parts, rig.unsolved, found)
        run = Run(__version__, (report,))
        on = Page(page_width(), Ink(False))
        sheet = inspection_sheet(run, lambda them: lines_of(them, faulty), on, quiet=True)
        raise CannotDoError(f"{name} cannot be solved:\n{sheet}")
    return rig


def lines_of(findings: Iterable[Finding], judging: Checker) -> Mapping[tuple[str, int], str]:
    """The lines that findings are about, by file and number."""
    return source_lines(findings, judging.working, lambda path: judging.plain_loader(path).repository)


def open_rig(name: str, day: date | None = None) -> RepairContext:
    """The rig in the file ``name``, judged by its policy and rules, ready to be changed.

    Raises CannotDoError where there is no such file, or it cannot be solved.
    """
    context = rig_as_it_is(name, day)
    if not context.rig.parts:
        raise CannotDoError(f"{name} cannot be solved: see `lineshaft check {name}`")
    return context


def rig_as_it_is(name: str, day: date | None = None) -> RepairContext:
    """The same for a rig that need not be solvable, its waivers judged on a day."""
    path = Path(name)
    if not path.is_file() or kind_of(path) != "rig":
        raise CannotDoError(f"{name!r} is not a rig file (*.rig.yaml) that exists")
    real = path.parent.resolve() / path.name
    return repair_context(checker(open_rulebook(), day), real)


def repair_context(judging: Checker, path: Path) -> RepairContext:
    """A rig that a checker judges, ready to be changed."""
    resolved = judging.resolved(path)
    loaded = resolved.loader.rig(path)
    return open_repair_context(resolved.loader, loaded, resolved.book, resolved.policy, judging.day)


def part_number(rig: SolvedRig, name: str) -> int:
    """The index of a part by its name. Raises CannotDoError with the nearest name where there is none."""
    from lineshaft.schema.read.part_index import PartIndex
    from lineshaft.schema.read.part_reader import where_placed
    from lineshaft.schema.text.absent_names import odd_letters
    from lineshaft.schema.text.nearest import nearest

    number = rig.rig.index.get(name)
    if number is None:
        near = nearest(name, rig.rig.index)
        where = where_placed(name, PartIndex(rig.rig.index))
        hint = f"; {where}" if where else f"; did you mean {near[0]}?" if near else ""
        raise CannotDoError(f"{rig.file} has no part {name!r}{odd_letters(name)}{hint}")
    return number
