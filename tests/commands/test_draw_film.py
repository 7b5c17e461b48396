"""`lineshaft draw --film`: one frame a step, what turns in it, the step that breaks marked; refusals of `draw`."""

from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from lineshaft.cli import run

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
SVG = "{http://www.w3.org/2000/svg}"


def frames(name: str, folder: Path) -> dict[str, ET.Element]:
    """The frames of a sample's film by their ids."""
    target = folder / "film.svg"
    assert run(["draw", str(SAMPLES / f"{name}.rig.yaml"), "--film", "-o", str(target)]) == 0
    page = ET.fromstring(target.read_bytes())
    return {str(group.get("id")): group for group in page.iter(f"{SVG}g") if group.get("id")}


def texts(group: ET.Element) -> str:
    """All text of a frame."""
    return " ".join("".join(element.itertext()) for element in group.iter(f"{SVG}text"))


def looks(group: ET.Element, look: str) -> int:
    """How many shapes of a look are in a frame."""
    return sum(look in (element.get("class") or "").split() for element in group.iter())


def test_one_frame_a_step_and_the_second_breaks(tmp_path: Path) -> None:
    """Started too soon: at step 2 all five parts begin to turn, the shaft at 2700 / 1200, the saw at 2700 / 2000."""
    found = frames("started-too-soon", tmp_path)
    assert list(found) == ["step-1", "step-2", "step-3"]
    second = texts(found["step-2"])
    for words in ("2. start wheel: E1", "lay 2.25×", "saw 1.35×", "breaks: lay at 2.25 times"):
        assert words in second
    assert [looks(frame, "breaks") for frame in found.values()] == [0, 2, 0]
    assert [looks(frame, "broken") for frame in found.values()] == [0, 1, 0]
    assert looks(found["step-1"], "turns") == 0
    assert looks(found["step-3"], "turns") == 5 + 4  # parts and lines


def test_what_turns_grows_step_by_step(tmp_path: Path) -> None:
    """The press-fed saw: five parts turn at the start, wheel to press and open clutch; all seven once it is engaged."""
    found = frames("press-fed", tmp_path)
    assert [looks(frame, "film-ring") for frame in found.values()] == [0, 0, 0, 5, 2]
    assert "5 turn" in texts(found["step-4"])
    assert "7 turn" in texts(found["step-5"])


def test_a_rig_without_a_list_shows_a_safe_one(tmp_path: Path) -> None:
    """The stage is set before the wheel is started, and nothing breaks."""
    found = frames("unset-stage", tmp_path)
    assert sum(looks(frame, "breaks") for frame in found.values()) == 0
    assert "set step to increase" in " ".join(map(texts, found.values()))


@pytest.mark.parametrize("name", ["a.png", "a.pdf", "a"])
def test_what_is_not_written_is_refused(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No file of another kind is made of it; what to write instead is said."""
    assert run(["draw", str(SAMPLES / "lagoon.rig.yaml"), "-o", str(tmp_path / name)]) == 2
    assert "a drawing is an SVG file: write -o" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_blueprint_alone_is_drawn_at_the_edge_of_its_promise(tmp_path: Path) -> None:
    """The stone leg's inlet promises 1 kN·m at 24 rad/s; 2 : 5 of it to the stone is 286 N·m."""
    target = tmp_path / "leg.svg"
    assert run(["draw", str(SAMPLES / "blueprints" / "stone-leg.blueprint.yaml"), "-o", str(target)]) == 0
    shown = texts(ET.fromstring(target.read_bytes()))
    for words in ("1 kN·m at 24 rad/s", "286 N·m"):
        assert words in shown
