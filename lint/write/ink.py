"""Colours of a terminal, or none. No more than emphasis: whatever a colour says is also said in words."""

from typing import Final

_CODES: Final = {"error": "31", "warning": "33", "note": "36", "strong": "1", "faint": "2"}


class Ink:
    """Writes text in a named ink; plain where no colour is wanted."""

    def __init__(self, color: bool) -> None:
        self.color = color

    def __call__(self, text: str, name: str) -> str:
        """The text, in an ink by its name."""
        return f"\x1b[{_CODES[name]}m{text}\x1b[0m" if self.color and text else text
