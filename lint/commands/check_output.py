"""What ``check`` hands out: the formats asked for, to their files, and the sheet; what could not be written is said."""

import sys
from functools import partial

import click

from lineshaft.check.checker import Checker, trace_of
from lineshaft.check.rulebook import Rulebook
from lineshaft.commands.output import Target, deliver, in_color, to_stdout
from lineshaft.run.documents import Document, document
from lineshaft.write.cells import page_width
from lineshaft.write.escape import clean, harmless
from lineshaft.write.summary import Run


def shows_repairs(targets: list[Target], quiet: bool) -> bool:
    """Whether anything that is written shows repairs."""
    if not quiet and not to_stdout(targets):
        return True
    from lineshaft.write.formats import SHOW_REPAIRS

    return not SHOW_REPAIRS.isdisjoint(name for name, _ in targets)


def documented(run: Run, book: Rulebook, targets: list[Target]) -> Run:
    """The run with the pages of the rules that are on, and their addresses, if a format asked for shows them."""
    if not targets:
        return run
    from lineshaft.write.formats import NEED_PAGES

    if NEED_PAGES.isdisjoint(name for name, _ in targets):
        return run
    from lineshaft import documentation
    from lineshaft.check.rule_pages import rule_addresses

    pages = {rule.id: rule.page for rule in book.rules}
    return run._replace(pages=pages, documentation=documentation.ADDRESS, addresses=rule_addresses(pages))


def write_all(run: Run, targets: list[Target], checker: Checker, form: str, *, quiet: bool, debug: bool) -> bool:
    """Write every document and the sheet; false where a writer failed on some file or at all, which is said."""
    whole = True
    for name, target in targets:
        from lineshaft.write.formats import WRITERS

        made = document(run, name, WRITERS[name])
        whole = _said(made, name, debug) and whole
        if made.content is not None:
            deliver(made.content, target)
    if not to_stdout(targets):
        text = document(run, "text", partial(_sheet, checker=checker, form=form, quiet=quiet))
        whole = _said(text, "text", debug) and whole
        sys.stdout.write(text.content or "")
    return whole


def _said(made: "Document[str] | Document[bytes]", name: str, debug: bool) -> bool:
    """Whether a document is whole; what is not is told on standard error."""
    if made.error is None:
        return True
    kind = type(made.error).__name__
    where = f"what was found in {', '.join(made.broken)}" if made.broken else "anything"
    click.echo(clean(f"lineshaft: could not write {where} as {name}: internal error ({kind})"), err=True)
    show_trace(made.error, debug)
    return False


def show_trace(error: Exception, debug: bool) -> None:
    """The traceback of an error of the program, for who looks with --debug."""
    if debug:
        click.echo(harmless(trace_of(error)), err=True)


def _sheet(run: Run, *, checker: Checker, form: str, quiet: bool) -> str:
    from lineshaft.write.sheet import inspection_sheet, short_lines

    if form == "short":
        return short_lines(run, in_color())
    found = run.findings
    if found:
        from lineshaft.check.source_lines import source_lines

        lines = source_lines(found, checker.working, lambda path: checker.plain_loader(path).repository)
        run = run._replace(lines=lines)
    return inspection_sheet(run, in_color(), quiet=quiet, width=page_width())
