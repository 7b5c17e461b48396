"""One run of the command in this process, with all that a process of its own would give: streams, exit code, folder.

A process of its own takes a third of a second to start. It is needed where the process is the point, and nowhere else:
start-up, signals, pipes, locales, hash seeds, distributions on the import path.
"""

import io
import os
import signal
import sys
import warnings
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, chdir, contextmanager, redirect_stderr, redirect_stdout
from pathlib import Path
from subprocess import CompletedProcess
from typing import NoReturn, TextIO
from unittest import mock

from lineshaft.cli import run as run_arguments

_SIGNALS = (signal.SIGINT, signal.SIGTERM)
_UNSEEN = (DeprecationWarning, PendingDeprecationWarning, ImportWarning, ResourceWarning)


class TooLongError(BaseException):
    """The run took longer than it may; no `except Exception` of the program stops it."""


def run_for_bytes(
    folder: Path, *arguments: str, stdin: bytes = b"", env: Mapping[str, str] | None = None, seconds: float = 60
) -> CompletedProcess[bytes]:
    """Run `lineshaft ARGUMENTS` in a folder, with variables added to the environment; nothing outlasts the run.

    No run without ``--debug`` may show a traceback. Raises what the command lets through (with ``--debug``, whatever
    went wrong), and TooLongError after ``seconds``.
    """
    out, err = _stream(b""), _stream(b"")
    with ExitStack() as stack:
        stack.enter_context(chdir(folder))
        stack.enter_context(mock.patch.dict(os.environ, env or {}))
        stack.enter_context(_streams(_stream(stdin), out, err))
        stack.enter_context(_warnings_to_stderr())
        stack.enter_context(_signals(seconds))
        code = run_arguments(list(arguments))
    ran = CompletedProcess(("lineshaft", *arguments), code, _content(out), _content(err))
    assert "--debug" in arguments or b"Traceback" not in ran.stderr, ran.stderr.decode()
    return ran


def run(
    folder: Path, *arguments: str, stdin: str = "", env: Mapping[str, str] | None = None, seconds: float = 60
) -> CompletedProcess[str]:
    """The same in text: UTF-8, any line end read as one."""
    ran = run_for_bytes(folder, *arguments, stdin=stdin.encode(), env=env, seconds=seconds)
    return CompletedProcess(ran.args, ran.returncode, _stream(ran.stdout).read(), _stream(ran.stderr).read())


def _stream(content: bytes) -> io.TextIOWrapper:
    return io.TextIOWrapper(io.BytesIO(content), encoding="utf-8")


def _content(stream: io.TextIOWrapper) -> bytes:
    stream.flush()
    buffer = stream.buffer
    assert isinstance(buffer, io.BytesIO)
    return buffer.getvalue()


@contextmanager
def _streams(stdin: TextIO, out: TextIO, err: TextIO) -> Iterator[None]:
    with mock.patch.multiple(sys, stdin=stdin, __stdout__=out), redirect_stdout(out), redirect_stderr(err):
        yield  # the width of a terminal is asked of `__stdout__`


@contextmanager
def _warnings_to_stderr() -> Iterator[None]:
    """Warnings as a new process shows them, whatever the test run does with its own."""
    with warnings.catch_warnings():
        warnings.showwarning = _shown
        for unseen in _UNSEEN:
            warnings.simplefilter("ignore", unseen)
        yield


def _shown(message: Warning | str, category: type[Warning], filename: str, lineno: int, *_: object) -> None:
    sys.stderr.write(warnings.formatwarning(message, category, filename, lineno))


@contextmanager
def _signals(seconds: float) -> Iterator[None]:
    """An alarm after some seconds where the system has one; handlers afterwards as before."""
    before = [(number, signal.getsignal(number)) for number in _SIGNALS]
    if hasattr(signal, "SIGALRM"):
        before.append((signal.SIGALRM, signal.signal(signal.SIGALRM, _too_long)))
        signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        if hasattr(signal, "SIGALRM"):
            signal.setitimer(signal.ITIMER_REAL, 0)
        for number, handler in before:
            signal.signal(number, handler)


def _too_long(*_: object) -> NoReturn:
    raise TooLongError
