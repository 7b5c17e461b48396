"""Where somebody types, of texts that are half done: the keys that lead there and what is there already."""

import pytest

from lineshaft.language_server.typing_place import typing_place

RIG = "rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n"


@pytest.mark.parametrize(
    ("text", "path", "key", "prefix"),
    [
        ("ri", (), None, "ri"),
        (RIG + "  step: {", ("parts", "step"), None, ""),
        (RIG + "  step: {item: st", ("parts", "step"), "item", "st"),
        (RIG + "  step: {item: stage, dri", ("parts", "step"), None, "dri"),
        (RIG + "  step: {item: stage, driven-by: fork.", ("parts", "step"), "driven-by", "fork."),
        (RIG + "  fork: {item: fork, shares: {a: 3, b: ", ("parts", "fork", "shares"), "b", ""),
        (RIG + "  join: {item: joiner, driven-by: [a, ", ("parts", "join", "driven-by"), "*", ""),
        (RIG + "  step:\n    item: sta", ("parts", "step"), "item", "sta"),
        (RIG + "  step:\n    item: stage\n    ", ("parts", "step"), None, ""),
        (RIG + "  st", ("parts",), None, "st"),
        (RIG + "commissioning:\n  - ", ("commissioning", "*"), None, ""),
        (RIG + "commissioning:\n  - start: whe", ("commissioning", "*"), "start", "whe"),
        (RIG + "commissioning:\n- set: {part: ", ("commissioning", "*", "set"), "part", ""),
        (RIG + "commissioning:\n  - set:\n      part: s", ("commissioning", "*", "set"), "part", "s"),
        (RIG + "lubrication:\n  oil:\n    feeds: [", ("lubrication", "oil", "feeds"), "*", ""),
        (RIG + "lubrication:\n  oil:\n    feeds:\n      - st", ("lubrication", "oil", "feeds", "*"), None, "st"),
        (RIG + "readings:\n  - {at: step, torque: 900 ", ("readings", "*"), "torque", "900 "),
        (RIG + "  broken: {item: wheel\n  step: {item: ", ("parts", "step"), "item", ""),
        (RIG + "  step: {item: stage,\n         ratio: ", ("parts", "step"), "ratio", ""),
        (RIG + "waivers:\n  - rule: torque-over-limit\n    part: ", ("waivers", "*"), "part", ""),
    ],
)
def test_the_place_is_known_from_a_text_that_is_half_done(
    text: str, path: tuple[str, ...], key: str | None, prefix: str
) -> None:
    """At the end of the text; what follows does not change it."""
    for behind in ("", "\n", "\n\nreadings:\n  - {at: wheel, speed: 8 rad/s}\n"):
        place = typing_place(text + behind, len(text))
        assert place is not None
        assert (place.path, place.key, place.prefix) == (path, key, prefix)
        assert place.start == len(text) - len(prefix)


def test_what_stands_beside_is_known_in_brackets_and_in_lines() -> None:
    """With its text, so that an item tells what its part takes."""
    text = RIG + "  step: {item: stage, ratio: 5/2, "
    place = typing_place(text, len(text))
    assert place is not None and place.beside == {"item": "stage", "ratio": "5/2"}
    text = RIG + "  step:\n    item: stage\n    \n    driven-by: wheel\n"
    place = typing_place(text, text.index("    \n") + 4)
    assert place is not None and place.beside == {"item": "stage", "driven-by": "wheel"}


def test_in_a_comment_there_is_no_place() -> None:
    """Nothing is proposed there."""
    assert typing_place("# par", 5) is None
    assert typing_place(RIG + "  step: {item: stage} # it", len(RIG) + 26) is None
