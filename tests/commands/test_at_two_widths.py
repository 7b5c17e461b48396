"""Every command's text on pages of 80 and 120 columns, as a person has looked at it; in colours, the same text.

Widths are those of the `wcwidth` library (Unicode 15, East Asian Width). What a person copies or clicks stands whole,
whatever the page: places, commands, lines that change, the text of files. So does a finding on one line, for `grep`.
"""

import re
import shutil
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from command_runner import run_for_bytes
from wcwidth import wcswidth

ROOT = Path(__file__).resolve().parents[2]
SNAPSHOTS = Path(__file__).with_name("snapshots")
EDITIONS = ("catalogues/tern-harbour-3.0.catalogue.yaml", "catalogues/tern-harbour.catalogue.yaml")
CASES: dict[str, tuple[str, ...]] = {
    "check": ("check", "--no-cache", "overloaded-step.rig.yaml", "taken-over.snags.yaml"),
    "check-placed": ("check", "--no-cache", "--no-repairs", "broken-promise.rig.yaml"),
    "check-wide": ("check", "--no-cache", "--no-repairs", "wide/mill.rig.yaml"),
    "trace": ("trace", "press-fed.rig.yaml"),
    "trace-part": ("trace", "overloaded-step.rig.yaml", "roller"),
    "trace-lubricant": ("trace", "--lubricant", "press-fed.rig.yaml"),
    "repair": ("repair", "overloaded-step.rig.yaml"),
    "repair-wide": ("repair", "--up-to", "setting", "wide/mill.rig.yaml"),
    "repair-best": ("repair", "--apply", "best", "overloaded-step.rig.yaml"),
    "size": ("size", "late-planks.rig.yaml", "saw"),
    "design": ("design", "wishes/one-saw.rig.yaml"),
    "audit": ("audit", "inherited-mill.rig.yaml"),
    "commission": ("commission", "started-too-soon.rig.yaml"),
    "commission-wide": ("commission", "wide/mill.rig.yaml"),
    "sweep": ("sweep", "lagoon.rig.yaml", "--over", "turbine.head=2m..12m", "--steps", "2"),
    "bom": ("bom", "overloaded-step.rig.yaml"),
    "bom-stock": ("bom", "--stock", "wide/yard.stock.yaml", "overloaded-step.rig.yaml"),
    "impact": ("impact", *EDITIONS, "before-the-refit.rig.yaml", "starved-saw.rig.yaml"),
    "snags-show": ("snags", "show", "taken-over.snags.yaml"),
    "rules": ("rules",),
    "explain": ("explain", "direction-before-commissioning"),
    "items": ("items", "."),
    "items-wide": ("items", "wide"),
    "units": ("units",),
    "new": ("new", "policy", "wide"),
    "help": ("--help",),
    "help-check": ("check", "--help"),
}
WHOLE = re.compile(r"[\w./-]+:\d+:\d+|Go on with: .*|    #.*")
"""Lines that are not broken: places, a command to copy, a comment in a sample file."""
WIDE_CATALOGUE = """\
catalogue: 1
name: "潮汐水車の工場、北の港の製材所と石臼のための部品目録、第五版、改訂済み"
edition: "5"
grades:
  pine: {torque-limit: 90 N*m, speed-limit: 60 rad/s}
items:
  creek-wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  pine-shaft: {kind: shaft, grade: pine}
  pine-stage: {kind: gear-stage, grade: pine, ratios: [3, 7]}
  stone: {kind: driven-machine, needs: {torque: 40 N*m, speed: 5 rad/s}}
"""
# Wide letters before the part, tabs inside its braces, and a mark that turns the reading round.
WIDE_RIG = """\
rig: 1
name: "水車小屋の北側にある製材所と石臼、長い名前の揚水ポンプの設備一式"
catalogue: yard.catalogue.yaml
parts:
  wheel: {item: creek-wheel, label: "水車"}
  lay: {label: "長い軸、水車の後", item: pine-shaft,\tdriven-by: wheel}
  step: {item: pine-stage, ratio: 3, set: increase, driven-by: lay}  # \u05d2\u05dc\u05d2\u05dc \u202e90
  mill: {item: stone, driven-by: step}
"""
STOCK = """\
stock: 1
catalogue: ../catalogues/tern-harbour.catalogue.yaml
goods: {bar: 35, elm-plank: 50, iron-plate: 30, gear: 3, housing: 1}
items:
  - {item: iron-stage, ratio: 5/2, grade: cast-iron, count: 1}
"""

Said = Callable[..., str]


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> Said:
    """What a case prints on a page of so many columns, in colours or without; each is run once."""
    home = tmp_path_factory.mktemp("works")

    @cache
    def text(case: str, width: int, color: str = "never") -> str:
        folder = home / f"{case}-{width}-{color}"
        shutil.copytree(ROOT / "sample_rigs", folder)
        (folder / ".git").mkdir()
        (folder / "wide").mkdir()
        (folder / "wide" / "yard.catalogue.yaml").write_text(WIDE_CATALOGUE, "utf-8")
        (folder / "wide" / "mill.rig.yaml").write_text(WIDE_RIG, "utf-8")
        (folder / "wide" / "yard.stock.yaml").write_text(STOCK, "utf-8")
        env = {"COLUMNS": str(width), "FORCE_COLOR": "1" if color == "always" else "", "NO_COLOR": ""}
        return run_for_bytes(folder, *CASES[case], env=env).stdout.decode("utf-8")

    return text


def bare(text: str) -> str:
    """Without colours."""
    return re.sub("\x1b\\[[0-9]+m", "", text)


def words_of(text: str) -> set[str]:
    """The words of a text, but for rules of tables, cut lines and the marks that sentences end in."""
    words = (word.strip(".,;:()") for word in text.split())
    return {word for word in words if "…" not in word and set(word) - set("-^")}


@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize("case", CASES)
def test_the_text_is_as_it_was_looked_at(said: Said, case: str, width: int) -> None:
    """Who changes one looks at it again, at both widths."""
    assert said(case, width) == (SNAPSHOTS / f"{case}-{width}.txt").read_text("utf-8")


@pytest.mark.parametrize("width", [80, 97, 120])
@pytest.mark.parametrize("case", CASES)
def test_no_line_is_wider_than_the_page(said: Said, case: str, width: int) -> None:
    """Wide letters count two; nothing is left that would turn the reading round."""
    text = said(case, width)
    assert "\u202e" not in text
    for line in text.split("\n"):
        assert 0 <= wcswidth(line) <= width or WHOLE.fullmatch(line) or WHOLE.fullmatch(line.strip()), line


@pytest.mark.parametrize("width", [80, 97, 120])
@pytest.mark.parametrize("case", [case for case in CASES if not case.startswith("help")])
def test_no_word_is_split_and_no_number_stands_without_its_unit(said: Said, case: str, width: int) -> None:
    """Every word of a narrow page stands on a wide one too, and no line or cell begins with a unit."""
    narrow_heads = {"arrives", "leaves", "and", "of", "torque", "speed", "in", "out"}
    text = said(case, width)
    assert words_of(text) - words_of(said(case, 600)) <= narrow_heads
    if case != "units":  # where units are what is listed
        assert not re.search(r"(?m)(?:^ *|  )(?:kN·m|N·m|rad/s|kW|W|mL/s|mL|L|%)(?: |,|;|\.|$)", text)


@pytest.mark.parametrize("case", CASES)
def test_colours_say_nothing_that_words_do_not(said: Said, case: str) -> None:
    """The text without them is the text that is printed without."""
    assert bare(said(case, 80, "always")) == said(case, 80)


@pytest.mark.parametrize(
    ("case", "inked"),
    [
        ("check", "\x1b[31mERROR"),
        ("trace-part", "\x1b[31m=========>"),
        ("repair", "\x1b[31mERROR"),
        ("commission", "\x1b[31m225 % at lay: OVER"),
        ("impact", "\x1b[31mBREAKS"),
        ("audit", "\x1b[31mdisagrees"),
        ("sweep", "\x1b[31mfails at 3.213 m"),
        ("items", "\x1b[1mGear stages"),
        ("rules", "\x1b[33mwarning"),
        ("explain", "\x1b[1mThis breaks it:"),
        ("size", "\x1b[1mno."),
        ("bom", "\x1b[1mcount"),
        ("snags-show", "\x1b[1mrule"),
        ("design", "\x1b[1mdesign"),
    ],
)
def test_every_command_has_colours(said: Said, case: str, inked: str) -> None:
    """What fails in red, heads of tables in bold; a code is closed before its line ends."""
    text = said(case, 80, "always")
    assert inked in text
    assert all(line.count("\x1b[0m") * 2 == line.count("\x1b[") for line in text.split("\n"))
