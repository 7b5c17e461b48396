"""The lines in which two texts of a file differ, as `patch` reads them."""

from collections.abc import Iterator

_NO_END = "\\ No newline at end of file"


def line_changes(old: str, new: str, name: str) -> Iterator[str]:
    """The lines in which two texts differ, in the unified format of version control, without their line feeds.

    Nothing where the texts are equal. A last line without a line feed says so.
    """
    import difflib  # where a change is shown alone

    for line in difflib.unified_diff(_lines(old), _lines(new), name, name):
        yield line.removesuffix("\n")
        if not line.endswith("\n"):
            yield _NO_END


def _lines(text: str) -> list[str]:
    """Lines with their line feeds; nothing else ends one."""
    found = [line + "\n" for line in text.split("\n")]
    found[-1] = found[-1][:-1]
    return found if found[-1] else found[:-1]
