"""How wide a text is at the most, without its font: a page is laid out before anybody knows where it is read.

The widths are those of DejaVu Sans, rounded up; of the fonts that browsers fall back on, none in common use is wider.
"""

_NARROW = frozenset("ijl'|,.:;!Itfr()[]/\\- `\u00a0")
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
    """The text in at most so many lines within a width, broken behind blanks and signs, else anywhere.

    Numbers are not broken; a blank that must not be (U+00A0) keeps a number by its unit.
    """
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
    """Where a line ends: behind a blank where one is not far back, else behind a sign, else anywhere."""
    if fitting == len(text) or text[fitting] == " ":
        return fitting
    blank = text.rfind(" ", 0, fitting)
    if blank >= fitting // 3:
        return blank + 1
    for at in range(fitting - 1, fitting // 3, -1):
        if text[at] in "-_/.:,;" and not (text[at + 1].isdigit() or text[at + 1] == "\u00a0"):
            return at + 1
    return fitting
