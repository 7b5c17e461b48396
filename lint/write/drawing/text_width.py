"""How wide a text is at the most, without its font: a page is laid out before anybody knows where it is read.

The widths are those of DejaVu Sans, rounded up; of the fonts that browsers fall back on, none in common use is wider.
"""

_NARROW = frozenset("ijl'|,.:;!Itfr()[]/\\- `")
_WIDE = frozenset("mMWw%@&\u2026—")
_BOLD = 1.12


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """The width [px] that a text takes at most at a font size [px]."""
    ems = sum(_ems(letter) for letter in text)
    return ems * size * (_BOLD if bold else 1.0)


def _ems(letter: str) -> float:
    if letter in _NARROW:
        return 0.42
    if letter in _WIDE:
        return 1.0
    if letter.islower() or letter.isdigit() or letter == "·":
        return 0.66
    return 0.84 if letter < "\u2e80" else 1.3


def shortened(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """The text, or its beginning and an ellipsis, within a width."""
    if _letters_within(text, width, size, bold) == len(text):
        return text
    room = width - text_width("…", size, bold=bold)
    return f"{text[: _letters_within(text, room, size, bold)]}…"


def wrapped(text: str, width: float, size: float, most: int, *, bold: bool = False) -> list[str]:
    """The text in at most so many lines within a width, broken behind blanks and signs, else anywhere."""
    lines: list[str] = []
    rest = text.strip()
    while rest:
        if len(lines) == most - 1:
            return [*lines, shortened(rest, width, size, bold=bold)]
        end = _line_end(rest, max(1, _letters_within(rest, width, size, bold)))
        lines.append(rest[:end].rstrip())
        rest = rest[end:].lstrip()
    return lines


def _letters_within(text: str, width: float, size: float, bold: bool) -> int:
    """How many letters from the beginning go into a width; a text may be long, so it is walked through once."""
    left = width / (size * (_BOLD if bold else 1.0)) + 1e-9
    for number, letter in enumerate(text):
        left -= _ems(letter)
        if left < 0:
            return number
    return len(text)


def _line_end(text: str, fitting: int) -> int:
    if fitting == len(text) or text[fitting] == " ":
        return fitting
    signs = max(text.rfind(sign, 0, fitting) for sign in " -_/.:,;")
    return signs + 1 if signs >= fitting // 3 else fitting
