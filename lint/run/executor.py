"""Who does the judging: an executor takes jobs and gives back each one's report, in whatever order they are done."""

from collections.abc import Generator, Sequence
from typing import Protocol

from lineshaft.check.checker import Checker, Job, Judged

Numbered = tuple[int, Judged]
"""A job's number in the row that was given, and what came of it."""


class Executor(Protocol):
    """Judges a row of files. What it gives depends on the files alone, not on who judged them."""

    def judge(self, jobs: Sequence[Job]) -> Generator[Numbered, None, None]:
        """Each job once, as it is done.

        Closed early, the iterator ends whatever it started. Raises CannotDoError where the work cannot go on.
        """


class InProcess:
    """Judges one file after the other, here."""

    def __init__(self, checker: Checker) -> None:
        self.checker = checker

    def judge(self, jobs: Sequence[Job]) -> Generator[Numbered, None, None]:
        """In the order given."""
        for number, job in enumerate(jobs):
            yield number, self.checker.judged(job)


def portable(error: Exception) -> Exception:
    """The error itself where it can be sent, else one of its name and words."""
    import pickle  # only where something went wrong
    import traceback

    error.add_note(traceback.format_exc())
    try:
        pickle.loads(pickle.dumps(error))
    except Exception:
        return RuntimeError(f"{type(error).__name__}: {error}")
    return error
