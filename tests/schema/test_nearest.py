"""The nearest known word; the words and slips here are made by hand."""

from random import Random

import pytest

from lineshaft.schema.text.nearest import nearest

KEYS = ("item", "driven-by", "grade", "ratio", "set", "shares", "label", "at")


@pytest.mark.parametrize(
    ("word", "wanted"),
    [
        ("itme", "item"),  # two neighbours swapped
        ("drivenby", "driven-by"),  # one left out
        ("drivn_by", "driven-by"),  # one left out, one changed
        ("ratios", "ratio"),  # one put in
        ("Label", "label"),  # a capital
        ("sharse", "shares"),
        ("gradde", "grade"),
    ],
)
def test_a_slip_finds_its_word(word: str, wanted: str) -> None:
    """A word with a slip of the pen is led back to the word that was meant."""
    assert nearest(word, KEYS) == (wanted,)


@pytest.mark.parametrize("word", ["", "commissioning", "zz", "x" * 100_000, "item"])
def test_what_is_near_to_nothing_finds_nothing(word: str) -> None:
    """A word far from all, too long, empty, or itself known, has no nearest word."""
    assert nearest(word, ("item", "grade")) == ()


def test_several_come_nearest_first() -> None:
    """With a limit above one the nearest comes first, then the alphabet decides."""
    assert nearest("stage-2", ("stage-10", "stage-3", "stage-1", "wheel"), limit=3) == (
        "stage-1",
        "stage-3",
        "stage-10",
    )


def test_among_many_words_one_slip_is_found() -> None:
    """In a rig of 100,000 parts a single slip still finds its part, and a long word costs nothing."""
    names = {f"part-{number}": number for number in range(100_000)}
    names["gatherer"] = -1
    assert nearest("gathrer", names) == ("gatherer",)
    assert nearest("gahterer", list(names)) == ("gatherer",)
    assert nearest("part-12x", names) == ("part-12",)
    assert nearest("nothing-like-it", names) == ()


def test_one_letter_is_near_to_nothing() -> None:
    """Every one-letter name is one slip from every other, so none is offered."""
    assert nearest("x", ("w", "y")) == ()


def _slips_by_the_whole_table(one: str, other: str) -> int:
    """Optimal string alignment by its recurrence alone (Damerau 1964, Wagner and Fischer 1974; from memory)."""
    table = {(i, 0): i for i in range(len(one) + 1)} | {(0, j): j for j in range(len(other) + 1)}
    for i in range(1, len(one) + 1):
        for j in range(1, len(other) + 1):
            ways = [table[i - 1, j] + 1, table[i, j - 1] + 1, table[i - 1, j - 1] + (one[i - 1] != other[j - 1])]
            if i > 1 and j > 1 and one[i - 1] == other[j - 2] and one[i - 2] == other[j - 1]:
                ways.append(table[i - 2, j - 2] + 1)
            table[i, j] = min(ways)
    return table[len(one), len(other)]


def test_the_nearest_is_that_of_the_whole_table() -> None:
    """2,000 seeded pairs that share beginnings and ends: near where the table says at most one, two or three slips."""
    near = 0
    for seed in range(2_000):
        rng = Random(seed)
        head, tail = ("".join(rng.choices("ab", k=rng.randrange(5))) for _ in range(2))
        word, name = (head + "".join(rng.choices("abc", k=rng.randrange(1, 5))) + tail for _ in range(2))
        if len(word) > 1 and word != name:
            most = 1 if len(word) <= 4 else 2 if len(word) <= 9 else 3
            wanted = (name,) if _slips_by_the_whole_table(word, name) <= most else ()
            assert nearest(word, (name,)) == wanted, (word, name)
            near += bool(wanted)
    assert near > 500
