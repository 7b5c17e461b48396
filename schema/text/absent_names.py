"""Words for a name that is not there: the nearest one that is, and letters that no reader can tell from others."""

from collections.abc import Mapping

_MOST_SHOWN = 60
_MOST_LETTERS = 3
_QUOTES = "“”„«»‘’‚"


def no_such(what: str, name: str, known: Mapping[str, object], where: str = "") -> str:
    """The words for a name that is not there, with the nearest one that is."""
    from lineshaft.schema.text.nearest import nearest  # only where a word is wrong

    near = () if name.strip(_QUOTES) in known else nearest(name, known)
    shown = name if len(name) <= _MOST_SHOWN else name[: _MOST_SHOWN - 1] + "…"
    hint = f"; did you mean {near[0]}?" if near else ""
    return f"there is no {what} {shown}{where}{odd_letters(name)}{hint}"


def odd_letters(name: str) -> str:
    """The letters of a name that are none of ours, by place and code point; nothing where all are ASCII.

    Names are ASCII: a Cyrillic letter looks like a Latin one, and one of no width like nothing at all. For example
    `; its letter 4 is U+0435, CYRILLIC SMALL LETTER IE`.
    """
    if name.isascii():
        return ""
    if name[0] in _QUOTES and len(name) > 1:
        return f"; the quotes are curly ({name[0]}, U+{ord(name[0]):04X}): write {name.strip(_QUOTES)}"
    odd = [(place, letter) for place, letter in enumerate(name, 1) if not letter.isascii()]
    told = [f"letter {place} is U+{ord(letter):04X}, {_name(letter)}" for place, letter in odd[:_MOST_LETTERS]]
    more = f", and {len(odd) - _MOST_LETTERS} more are no ASCII" if len(odd) > _MOST_LETTERS else ""
    return f"; its {', '.join(told)}{more}"


def _name(letter: str) -> str:
    import unicodedata  # seldom asked

    return unicodedata.name(letter, "which has no name")
