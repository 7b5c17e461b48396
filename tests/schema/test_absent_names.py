"""Letters that look like others, or like nothing, are named by their code points (Unicode character names)."""

import json
from pathlib import Path

import pytest

from lineshaft.cli import run
from lineshaft.schema.text.absent_names import no_such, odd_letters

CATALOGUE = """catalogue: 1
name: Trial
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  mill: {kind: driven-machine}
"""


def _messages(folder: Path, parts: str, capsys: pytest.CaptureFixture[str]) -> list[str]:
    (folder / "t.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    path = folder / "t.rig.yaml"
    path.write_text(f"rig: 1\nname: Trial\ncatalogue: t.catalogue.yaml\nparts:\n{parts}", "utf-8")
    run(["check", "--no-cache", "--no-repairs", str(path), "--write", "json=-"])
    return [finding["message"] for finding in json.loads(capsys.readouterr().out)["findings"]]


def test_a_cyrillic_letter_in_a_latin_name_is_named() -> None:
    """U+0435 is CYRILLIC SMALL LETTER IE, U+200B ZERO WIDTH SPACE; a plain name has no such letter."""
    assert odd_letters("wheel") == ""
    assert odd_letters("whe\u0435l") == "; its letter 4 is U+0435, CYRILLIC SMALL LETTER IE"
    assert odd_letters("whe\u200bel") == "; its letter 4 is U+200B, ZERO WIDTH SPACE"
    wanted = "there is no item whe\u0435l; its letter 4 is U+0435, CYRILLIC SMALL LETTER IE; did you mean wheel?"
    assert no_such("item", "whe\u0435l", {"wheel": 0}) == wanted


def test_only_the_first_odd_letters_of_many_are_named() -> None:
    """Five Cyrillic letters: three by name, two counted."""
    told = odd_letters("\u0430\u0435\u043e\u0440\u0441")
    assert told.startswith("; its letter 1 is U+0430, CYRILLIC SMALL LETTER A, letter 2 is U+0435")
    assert told.endswith(", and 2 more are no ASCII")


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ("  w: {item: whe\u0435l}\n  m: {item: mill, driven-by: w}\n", "U+0435, CYRILLIC SMALL LETTER IE"),
        ("  w\u043e: {item: wheel}\n  m: {item: mill, driven-by: w}\n", "U+043E, CYRILLIC SMALL LETTER O"),
        ('  w: {item: wheel}\n  m: {item: mill, driven-by: "w\\u200b"}\n', "U+200B, ZERO WIDTH SPACE"),
        ("  w: {it\u0435m: wheel}\n  m: {item: mill, driven-by: w}\n", "U+0435, CYRILLIC SMALL LETTER IE"),
    ],
    ids=["an item", "a part's name", "a reference", "a key"],
)
def test_the_message_names_the_letter(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], parts: str, said: str
) -> None:
    """Whatever is written with a letter that only looks right, the message says which letter it is."""
    assert any(said in message for message in _messages(tmp_path, parts, capsys))
