"""One of several files: what keeps a command from doing its work on it is told of it, and the others are done.

What keeps it from all of them, such as a damaged installation, ends the run.
"""

from collections.abc import Callable
from typing import TypeVar

import click

from lineshaft.check.checker import trace_of
from lineshaft.check.registry import IncompleteInstallationError
from lineshaft.exits import CannotDoError

Made = TypeVar("Made")


def attempted(file: str, work: Callable[[], Made], tell: Callable[[str], None], *, debug: bool) -> Made | None:
    """What is made of a file (as shown); none where nothing could be, and ``tell`` is given one line of why.

    With ``debug`` the traceback of an error of the program goes to standard error.
    """
    try:
        return work()
    except CannotDoError as error:
        tell(str(error))
    except (click.ClickException, IncompleteInstallationError, OSError):
        raise
    except Exception as error:
        tell(f"{file}: internal error ({type(error).__name__}); run again with --debug and report what it prints")
        if debug:
            click.echo(trace_of(error), err=True)
    return None
