"""What a text is laid out for: so many columns, with colours or without."""

import sys
from typing import Final, NamedTuple

from lineshaft.write.cells import broken_lines
from lineshaft.write.escape import clean
from lineshaft.write.ink import Ink


class Page(NamedTuple):
    """The columns of a page and the inks to write with."""

    width: int
    ink: Ink

    def lines(self, text: str, first: str = "", rest: str | None = None) -> list[str]:
        """A text in lines that fit, escaped, behind ``first`` and then ``rest``."""
        return broken_lines(clean(text), self.width, first, rest)

    def paragraph(self, text: str, first: str = "", rest: str | None = None) -> str:
        """The same as one text with a line end behind each line."""
        return "".join(f"{line}\n" for line in self.lines(text, first, rest))


ENDLESS: Final = Page(sys.maxsize, Ink(False))
"""A page on which every line fits, without colours."""
