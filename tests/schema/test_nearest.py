"""The nearest known word; the words and slips here are made by hand."""

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
