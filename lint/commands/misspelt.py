"""Commands, options and kinds that do not exist, each told with the nearest that does."""

from collections.abc import Iterable

import click
from click.shell_completion import CompletionItem

from lineshaft.schema.text.nearest import likely


def no_command(name: str, known: Iterable[str]) -> click.UsageError:
    """That there is no such command, and the nearest; else where all are listed."""
    near = likely(name, known)
    hint = f"did you mean `lineshaft {near[0]}`?" if near else "`lineshaft --help` lists them all"
    return click.UsageError(f"there is no command {name!r}; {hint}")


def no_option(error: click.NoSuchOption) -> click.UsageError:
    """The same for an option, among those of the command that was asked."""
    context = error.ctx
    command = "" if context is None else context.command_path
    known = () if context is None else [name for option in context.command.get_params(context) for name in option.opts]
    near = likely(error.option_name, [name for name in known if name.startswith("--")])
    hint = f"did you mean {near[0]}?" if near else f"`{command} --help` lists them all"
    return click.UsageError(f"{command or 'lineshaft'} has no option {error.option_name}; {hint}", context)


class Kinds(click.ParamType):  # type: ignore[type-arg]  # older versions of click take no type here
    """One word of a list; a word that is none of them is told with the nearest."""

    name = "kind"

    def __init__(self, what: str, words: Iterable[str]) -> None:
        self.what, self.words = what, tuple(words)

    def get_missing_message(self, param: click.Parameter, ctx: click.Context | None = None) -> str:
        """What is missing, on one line."""
        return f"write one of {', '.join(self.words)}"

    def convert(self, value: str, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The word itself. Raises click.UsageError where it is none of the list."""
        if value in self.words:
            return value
        near = likely(value, self.words)
        hint = f"did you mean {near[0]}?" if near else f"write one of {', '.join(self.words)}"
        raise click.UsageError(f"there is no {self.what} {value!r}; {hint}", ctx)

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
        """The words that begin so, for a shell's completion."""
        return [CompletionItem(word) for word in self.words if word.startswith(incomplete)]
