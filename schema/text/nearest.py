"""The nearest known word to one that is not known, for messages: "did you mean step?"."""

from collections.abc import Iterable, Mapping, Set

_LONGEST = 64  # characters; a longer word is no slip of the pen
_FEW = 400  # words up to which every one is compared
_LETTERS = "abcdefghijklmnopqrstuvwxyz0123456789-_."


def nearest(word: str, known: Iterable[str], limit: int = 1) -> tuple[str, ...]:
    """At most ``limit`` words of ``known`` that are a slip or two away from ``word``, the nearest first.

    A slip is a letter left out, put in, changed, or swapped with its neighbour; capitals count for nothing.
    Short words may have one slip, longer ones two or three; to a word of one letter everything would be near, so
    nothing is. Among very many words only one slip is looked for, so that the time stays the same however many
    there are.
    """
    if not 1 < len(word) <= _LONGEST:
        return ()
    names = known if isinstance(known, Mapping | Set) else dict.fromkeys(known)
    if len(names) > _FEW:
        return tuple(name for name in sorted(_one_slip(word)) if name in names and name != word)[:limit]
    most = _slips_allowed(word)
    folded = word.casefold()
    measured = ((_slips(folded, name.casefold(), most), name) for name in names if name != word)
    return tuple(name for _, name in sorted(pair for pair in measured if pair[0] <= most))[:limit]


def likely(word: str, known: Iterable[str], limit: int = 3) -> tuple[str, ...]:
    """The nearest word as :func:`nearest` finds it; else those of several words, one of which is or begins with it.

    `torque` is no slip of `torque-over-limit`, and it is what a person remembers of it.
    """
    names = tuple(known)
    near = nearest(word, names)
    folded = word.casefold()
    if near or len(folded) < 3:
        return near
    within = [name for name in sorted(names) if any(part.startswith(folded) for part in name.casefold().split("-"))]
    return tuple(within[:limit])


def _slips_allowed(word: str) -> int:
    return 1 if len(word) <= 4 else 2 if len(word) <= 9 else 3


def _slips(one: str, other: str, most: int) -> int:
    """Edit distance with swaps of neighbours (optimal string alignment); past ``most`` any larger number."""
    if abs(len(one) - len(other)) > most:
        return most + 1
    one, other = _where_they_differ(one, other)
    before: list[int] = []
    above: list[int] = []
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        before, above, row = above, row, [i]
        for j, b in enumerate(other, 1):
            cost = min(above[j] + 1, row[j - 1] + 1, above[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
    return row[-1]


def _where_they_differ(one: str, other: str) -> tuple[str, str]:
    """Two words without what both begin with and both end in: no slip is needed there."""
    shorter = min(len(one), len(other))
    start = next((at for at in range(shorter) if one[at] != other[at]), shorter)
    left = shorter - start
    end = next((at for at in range(left) if one[-1 - at] != other[-1 - at]), left)
    return one[start : len(one) - end], other[start : len(other) - end]


def _one_slip(word: str) -> set[str]:
    cuts = [(word[:i], word[i:]) for i in range(len(word) + 1)]
    swapped = {a + b[1] + b[0] + b[2:] for a, b in cuts if len(b) > 1}
    left_out = {a + b[1:] for a, b in cuts if b}
    changed = {a + c + b[1:] for a, b in cuts if b for c in _LETTERS}
    put_in = {a + c + b for a, b in cuts for c in _LETTERS}
    return {word.lower(), *swapped, *left_out, *changed, *put_in}
