"""The inspection sheet on a page of a given width: nothing wider, nothing split that belongs together.

Widths are those of the `wcwidth` library (Unicode 15, East Asian Width); a tab in a line is shown as four spaces.
"""

import re
from pathlib import Path

import pytest
from command_runner import run_for_bytes
from wcwidth import wcswidth

SNAPSHOTS = Path(__file__).with_name("snapshots")
CATALOGUE = """\
catalogue: 1
edition: "5"
grades:
  pine: {torque-limit: 90 N*m, speed-limit: 60 rad/s}
items:
  creek-wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  pine-shaft: {kind: shaft, grade: pine}
  pine-stage: {kind: gear-stage, grade: pine, ratios: [3, 7]}
  stone: {kind: driven-machine, needs: {torque: 40 N*m, speed: 5 rad/s}}
"""
# Wide characters stand before the part, tabs inside its braces; the last comment turns the reading round.
RIG = """\
rig: 1
name: "水車小屋の北側にある製材所と石臼、そして長い長い名前のついた揚水ポンプの設備一式"
catalogue: yard.catalogue.yaml
parts:
  wheel: {item: creek-wheel, label: "水車"}
  lay: {label: "長い軸、水車の後", item: pine-shaft,\tdriven-by: wheel}
  step: {item: pine-stage, ratio: 3, set: reduce, driven-by: lay}  # \u05d2\u05dc\u05d2\u05dc \u202e90
  mill: {label: "とても長い名前の石臼です、とても長い名前の石臼です、長い石臼", item: stoone, driven-by: step}
"""
LONG = "a-rig-whose-name-fills-much-of-the-page.rig.yaml"
PLACE = re.compile(r"[\w./-]+:\d+:\d+")


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two rigs, one that is solved and one that names an item that is not there."""
    folder = tmp_path_factory.mktemp("yard")
    (folder / "yard.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (folder / "a.rig.yaml").write_text(RIG.replace("stoone", "stone"), "utf-8")
    (folder / "b.rig.yaml").write_text(RIG, "utf-8")
    (folder / LONG).write_text(RIG, "utf-8")
    return folder


def sheet(folder: Path, width: int, color: str, *more: str) -> str:
    """What `check` writes on a page of so many columns."""
    words = ("check", "--no-cache", "--color", color, *more, "a.rig.yaml", "b.rig.yaml")
    return run_for_bytes(folder, *words, env={"COLUMNS": str(width)}).stdout.decode("utf-8")


def bare(text: str) -> str:
    """Without colours."""
    return re.sub("\x1b\\[[0-9]+m", "", text)


@pytest.mark.parametrize("width", [40, 80, 120])
@pytest.mark.parametrize("color", ["always", "never"])
def test_no_line_is_wider_than_the_page(yard: Path, width: int, color: str) -> None:
    """Wide characters counted as two, colours as none; and no control is left that would turn the reading round."""
    text = bare(sheet(yard, width, color, LONG))
    assert "\x1b" not in text
    assert "\u202e" not in text
    lines = text.split("\n")
    assert len(lines) > 20
    for line in lines:
        whole = PLACE.fullmatch(line.strip()) or line.startswith("Go on with: ")  # to be clicked, to be copied
        assert 0 <= wcswidth(line) <= width or whole, line


@pytest.mark.parametrize("width", [40, 80, 120])
def test_a_number_keeps_its_unit_and_a_word_its_letters(yard: Path, width: int) -> None:
    """No line ends in a number whose unit begins the next; joined again, the lines are the sentence."""
    text = bare(sheet(yard, width, "never"))
    assert not re.search(r"\d\n *(?:kN·m|N·m|rad/s|kW|W|times)\b", text)
    joined = " ".join(text.split())
    assert "an increasing stage of at least 10 : 1 above it; the catalogue has none as large, so several" in joined
    assert "nothing within the bounds mends it without a new finding: one line made anew with up to 4" in joined


def test_colours_say_nothing_that_words_do_not(yard: Path) -> None:
    """The text is the same without them."""
    assert "\x1b[31m" in sheet(yard, 80, "always")
    assert bare(sheet(yard, 80, "always")) == sheet(yard, 80, "never")


def test_the_marks_stand_below_what_is_meant(yard: Path) -> None:
    """Counted in cells: behind wide characters, behind a tab."""
    lines = sheet(yard, 120, "never", "--no-repairs").split("\n")
    marked = [n for n, line in enumerate(lines) if line.strip() and set(line.strip()) == {"^"}]
    meant = []
    for n in marked:
        above, marks = lines[n - 1], lines[n]
        begin = len(marks) - len(marks.lstrip())
        cells = 0
        for at, letter in enumerate(above):
            if cells == begin:
                meant.append(above[at:].split("}")[0].split(",")[0].split(":")[0])
                break
            cells += wcswidth(letter)
    assert "lay" in meant
    assert "stoone" in meant


def test_no_marks_stand_below_letters_that_run_the_other_way(yard: Path) -> None:
    """Terminals disagree where those are; the place says the column."""
    lines = sheet(yard, 120, "never").split("\n")
    (shown, *_) = [n for n, line in enumerate(lines) if "\u05d2\u05dc" in line]
    assert "^" not in lines[shown + 1]


@pytest.mark.parametrize("name", ["80", "120"])
def test_the_sheet_is_as_it_was_looked_at(yard: Path, name: str) -> None:
    """A sheet that was read by a person at that width; whoever changes it looks at it again."""
    assert sheet(yard, int(name), "never") == (SNAPSHOTS / f"sheet-{name}.txt").read_text("utf-8")


def test_short_is_one_line_a_finding(yard: Path) -> None:
    """Place, level, rule, sentence; nothing else on standard output, for whoever searches it."""
    lines = sheet(yard, 80, "never", "--format", "short").splitlines()
    full = sheet(yard, 80, "never")
    assert len(lines) == len(re.findall(r"^ +\d+\. [A-Z]", full, re.MULTILINE))
    assert all(re.match(r"[ab]\.rig\.yaml:\d+:\d+  (ERROR|WARNING|NOTE)  [a-z-]+  \S", line) for line in lines)


def test_the_sum_comes_last_with_rules_and_the_next_command(yard: Path) -> None:
    """The worst level first, by how often."""
    *_, last = sheet(yard, 120, "never").rstrip("\n").split("Inspected")
    lines = last.split("\n")
    assert lines[1] == "  error: 4 torque-over-limit, 1 machine-underdriven, 1 unknown-reference"
    assert lines[-1].startswith("Go on with: lineshaft ")
