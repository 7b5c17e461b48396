"""``lineshaft lsp``: serve an editor by the Language Server Protocol, on standard input and output."""

from importlib import import_module

import click

from lineshaft.commands.options import color_option
from lineshaft.exits import CannotDoError, Exit


@click.command("lsp")
@click.option("--stdio", is_flag=True, help="Speak on standard input and output, which is the only way there is.")
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(stdio: bool, debug: bool) -> int:
    """Serve an editor: findings, figures and proved repairs while rigs are written. Editors start this themselves."""
    try:
        assembly = import_module("lineshaft.language_server.assembly")
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in ("pygls", "lsprotocol", "cattrs", "attrs"):
            raise
        raise CannotDoError("the language server needs the extra `editor`: pip install 'lineshaft[editor]'") from None
    assembly.serve()
    return Exit.CLEAN
