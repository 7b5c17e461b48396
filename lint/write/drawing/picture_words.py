"""Texts and measures as pictures have them: harmless, three figures at most, a number never apart from its unit."""

from lineshaft.check.finding import Measure, Text
from lineshaft.write.escape import xml_text
from lineshaft.write.shown_units import Units, measure

FIGURES = 3
"""Figures of a number in a picture, at most."""

_TO = "\u00a0:\u00a0"  # of a ratio


def shown(value: Measure, units: Units) -> str:
    """A measure whose blanks are such as no line breaks at (U+00A0)."""
    return measure(value, units, FIGURES).replace(" ", "\u00a0")


def pictured(text: Text, units: Units) -> str:
    """A row of words and measures."""
    pieces = (piece.replace(" : ", _TO) if isinstance(piece, str) else shown(piece, units) for piece in text)
    return xml_text("".join(pieces))
