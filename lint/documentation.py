"""Where the documentation is published; nowhere until somebody sets it, and then nothing points to it."""

from typing import Final

ADDRESS: Final = ""
"""The base address, without a slash at its end. Empty: no rule, schema or editor line names an address."""


def schema_line(kind: str, address: str | None = None) -> str:
    """The line by which editors find the schema of a kind of file, or nothing where no address is set."""
    base = ADDRESS if address is None else address
    if not base or kind not in ("rig", "catalogue", "blueprint", "policy", "stock"):
        return ""
    return f"# yaml-language-server: $schema={base}/schema/{kind}.schema.json\n"
