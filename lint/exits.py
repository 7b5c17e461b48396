"""Exit codes, and the one guard around a run: whatever is raised becomes a line and a code, never a traceback."""

import contextlib
import os
import sys
from collections.abc import Callable
from enum import IntEnum

import click

from lineshaft.check.registry import IncompleteInstallationError


class Exit(IntEnum):
    """What a run ends with."""

    CLEAN = 0
    FINDINGS = 1
    FAILED = 2
    INTERRUPTED = 130


class CannotDoError(Exception):
    """The job cannot be done; its text says why and what to do, for the person at the terminal."""


class ReaderGoneError(Exception):
    """Nobody reads standard output any more. No OSError: click makes an exit code of its own of a broken pipe."""


class Terminated(KeyboardInterrupt):
    """Somebody ended the process by SIGTERM: what it has started is ended with it."""


def guarded(run: Callable[[], int], *, debug: bool) -> int:
    """Run and return the exit code. With ``debug`` an unexpected exception is let through; Terminated always is."""
    try:
        code = run()
        sys.stdout.flush()
        return code
    except click.exceptions.Exit as stop:
        return stop.exit_code
    except click.Abort as stop:
        if isinstance(stop.__cause__, Terminated):  # click makes an Abort of every interrupt
            raise stop.__cause__ from None
        return _said("interrupted", Exit.INTERRUPTED)
    except Terminated:
        raise
    except KeyboardInterrupt:
        return _said("interrupted", Exit.INTERRUPTED)
    except click.ClickException as error:
        return _said(error.format_message(), Exit.FAILED)
    except (CannotDoError, IncompleteInstallationError) as error:
        return _said(str(error), Exit.FAILED)
    except (BrokenPipeError, ReaderGoneError):
        _forget_stdout()
        return Exit.FAILED
    except OSError as error:
        if debug:
            raise
        where = f": {error.filename}" if error.filename else ""
        return _said(f"{error.strerror or 'input or output failed'}{where}", Exit.FAILED)
    except Exception as error:
        if debug:
            raise
        kind = type(error).__name__
        return _said(f"internal error ({kind}); run again with --debug and report what it prints", Exit.FAILED)


def _said(message: str, code: Exit) -> int:
    """Say why a run ends: on a terminal in lines that fit, elsewhere on one that a log can be searched for."""
    from lineshaft.write.escape import harmless

    lines = f"lineshaft: {harmless(message)}".split("\n")
    with contextlib.suppress(OSError, ValueError):
        if sys.stderr.isatty():
            from lineshaft.write.cells import broken_lines, page_width

            width = page_width()
            lines = [part for line in lines for part in broken_lines(line.lstrip(" "), width, _indent(line), "  ")]
        sys.stderr.write("".join(f"{line}\n" for line in lines))
        sys.stderr.flush()
    return code


def _indent(line: str) -> str:
    return line[: len(line) - len(line.lstrip(" "))]


def _forget_stdout() -> None:
    """Nobody reads any more: let the interpreter's own flush at exit go nowhere."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
