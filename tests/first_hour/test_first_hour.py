"""A person's first hour: an empty folder, first files, the mistakes that people make, to a drawing and a bill.

Whoever does this has never written YAML. Every mistake is told at its line with what to write instead, and the person
does just that. Words are asserted loosely, places exactly; all of it takes twelve commands.
"""

import re
from pathlib import Path
from subprocess import CompletedProcess

import pytest
from command_runner import run

MOST_COMMANDS = 12


class Builder:
    """A person in a folder, who counts the commands that were typed."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.typed: list[tuple[str, ...]] = []

    def types(self, *words: str) -> CompletedProcess[str]:
        """One command; none ever shows a traceback."""
        self.typed.append(words)
        ran = run(self.folder, *words)
        assert "Traceback" not in ran.stdout + ran.stderr
        return ran

    def changes(self, name: str, was: str, becomes: str) -> int:
        """Change a file by hand; the line, from 1, at which the change begins."""
        path = self.folder / name
        text = path.read_text("utf-8")
        assert text.count(was) == 1, (name, was)
        path.write_text(text.replace(was, becomes), "utf-8")
        return text[: text.index(was)].count("\n") + 1


def said_of(shown: str, name: str) -> str:
    """What a sheet says of one file, its lines joined to one."""
    blocks = re.split(r"\n(?=\S+\.(?:rig|catalogue)\.yaml)", shown)
    (block,) = (block for block in blocks if block.startswith(name))
    return re.sub(r"\s+", " ", block)


MISTAKES = (  # file, as it should be, as it was typed, key words of what is told at that line
    ("works.catalogue.yaml", "{torque-limit: 1.3 kN*m, speed", "{torque-limit: 1,3 kN*m, speed", ("comma", "1.3")),
    ("first.rig.yaml", "  lay:   {item", "   lay:   {item", ("line",)),
    ("mill.rig.yaml", "wheel: {item: creek-wheel}", "wheel: {item:creek-wheel}", ("space", "colon")),
    ("works.catalogue.yaml", "  5/2: {made-of", "  5:2: {made-of", ("5:2", "5/2")),
    ("first.rig.yaml", "name: First saw", "name: Mill: north", ("quotes",)),
    ("mill.rig.yaml", "{item: iron-shaft, driven-by: wheel}", "{item: iron-shaft, driven-by: wheel", ("brace",)),
    ("works.catalogue.yaml", "    kind: prime-mover", "\tkind: prime-mover", ("tab",)),
    ("first.rig.yaml", "  wheel: {item: creek-wheel}", "  wheel: creek-wheel", ("{item: creek-wheel}",)),
    ("mill.rig.yaml", "driven-by: lay}", "driven-by: lay, wheel}", ("[lay, wheel]",)),
)


def test_the_first_hour_ends_with_a_drawing_and_a_bill(tmp_path: Path) -> None:
    """Three files, three mistakes a check, each told where it was made; then all is green."""
    (tmp_path / ".git").mkdir()
    person = Builder(tmp_path)
    assert person.types("new", "catalogue").returncode == 0
    assert person.types("new", "rig").returncode == 0
    assert person.types("new", "rig", "mill").returncode == 0

    misspelt = person.types("chek")
    assert misspelt.returncode == 2 and "lineshaft check" in misspelt.stderr

    for first in range(0, len(MISTAKES), 3):
        made = MISTAKES[first : first + 3]
        lines = [person.changes(name, right, wrong) for name, right, wrong, _ in made]
        shown = person.types("check", "--no-repairs").stdout
        for (name, right, wrong, words), line in zip(made, lines, strict=True):
            said = said_of(shown, name)
            assert re.search(rf"(line |:){line}\b", said), (wrong, said)
            assert all(word in said for word in words), (wrong, said)
            person.changes(name, wrong, right)

    assert "torque-over-limit" in person.types("explain", "torque").stderr
    assert "--units" in person.types("check", "--unit", "rpm").stderr
    green = person.types("check", "--fail-on", "note")
    assert green.returncode == 0, green.stdout
    assert person.types("draw", "first.rig.yaml", "-o", "first.svg").returncode == 0
    assert (tmp_path / "first.svg").read_text("utf-8").startswith("<")
    bill = person.types("bom", "first.rig.yaml")
    assert bill.returncode == 0 and "elm-plank" in bill.stdout
    assert len(person.typed) <= MOST_COMMANDS


@pytest.mark.parametrize(
    ("name", "right", "wrong", "words"),
    [
        ("works.catalogue.yaml", "900 N*m, speed", "1,5 kN*m, speed", ("comma", "1.5")),
        ("first.rig.yaml", "name: First saw", "name: 'First saw", ("quote",)),
        ("first.rig.yaml", "name: First saw", 'name: "First saw', ("quote",)),
        ("first.rig.yaml", "  saw:   {item: saw-frame", "\tsaw:   {item: saw-frame", ("tab",)),
        ("first.rig.yaml", "{item: saw-frame, driven-by: step}", "{item: “saw-frame”, driven-by: step}", ("curly",)),
        ("first.rig.yaml", "{item: saw-frame", "{item:\N{NO-BREAK SPACE}saw-frame", ("space",)),
        ("works.catalogue.yaml", "      3:   {made-of", "      3:1: {made-of", ("3:1", "write 3")),
        ("first.rig.yaml", "ratio: 5/2", "ratio: 2,5", ("2.5",)),
        ("first.rig.yaml", "  wheel: {item: creek-wheel}", "  wheel: creek-weel", ("{item: ",)),
    ],
    ids=str,
)
def test_a_further_slip_is_told_at_its_line(
    tmp_path: Path, name: str, right: str, wrong: str, words: tuple[str, ...]
) -> None:
    """Each alone in files that hold otherwise."""
    (tmp_path / ".git").mkdir()
    person = Builder(tmp_path)
    person.types("new", "catalogue")
    person.types("new", "rig")
    line = person.changes(name, right, wrong)
    ran = person.types("check", "--no-repairs")
    assert ran.returncode == 1
    said = said_of(ran.stdout, name)
    assert re.search(rf"(line |:){line}\b", said), said
    assert all(word in said for word in words), said


@pytest.mark.parametrize("nothing", ["parts: {}\n", "parts:\n"])
def test_a_rig_without_parts_is_told_what_stands_there(tmp_path: Path, nothing: str) -> None:
    """Not `(0 parts)` and no more: what is empty, and what a part looks like."""
    (tmp_path / ".git").mkdir()
    person = Builder(tmp_path)
    person.types("new", "catalogue")
    (tmp_path / "a.rig.yaml").write_text(f"rig: 1\ncatalogue: works.catalogue.yaml\n{nothing}", "utf-8")
    ran = person.types("check", "a.rig.yaml")
    assert ran.returncode == 1
    said = said_of(ran.stdout, "a.rig.yaml")
    assert re.search(r"(line |:)3\b", said), said
    assert "parts" in said and "item" in said, said
