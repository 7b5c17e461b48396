"""A rig that fails on its way to work: drawing, chart and table show the state that fails. Figures by hand.

The sample sets its stage only after the start: 900 · 3 = 2,700 N·m on a cast-iron shaft of 1,200 (225 %), a steel stage
of 6,000 (45 %) and a saw of 2,000 (135 %); as declared it is 300 N·m on the shaft (25 %).
"""

from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from lineshaft.cli import run
from lineshaft.commands.one_rig import solved_rig
from lineshaft.report_model.gather import lines
from lineshaft.report_model.schematic import schematic

SAMPLE = Path(__file__).resolve().parents[2] / "sample_rigs" / "started-too-soon.rig.yaml"


def _without_list(folder: Path) -> Path:
    """The same rig without a list: everything starts at once, the stage as delivered, reducing."""
    (folder / ".git").mkdir()
    path = folder / "at-once.rig.yaml"
    catalogues = folder / "catalogues"
    catalogues.mkdir()
    for one in (SAMPLE.parent / "catalogues").iterdir():
        (catalogues / one.name).write_bytes(one.read_bytes())
    text = SAMPLE.read_text("utf-8")
    path.write_text(text[: text.index("commissioning:")], "utf-8")
    return path


def test_each_part_shows_the_step_at_which_it_is_over_its_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    """Step 2, the start, is drawn: the stage still reduces 3 : 1 and gives 2,700 of the 6,000 N·m that it may carry."""
    monkeypatch.chdir(SAMPLE.parent)
    nodes = {node.name: node for node in schematic(solved_rig(str(SAMPLE))).nodes}
    assert (nodes["lay"].share, nodes["lay"].quantity, nodes["lay"].when) == (2.25, "torque", "at step 2")
    assert nodes["lay"].over
    assert (nodes["saw"].share, nodes["saw"].when) == (1.35, "at step 2")
    assert (nodes["step"].share, nodes["step"].when, nodes["step"].over) == (0.45, "", False)
    assert (nodes["step"].figure, nodes["step"].does) == ("stage-reducing", ("reduces 3 : 1",))


def test_a_line_is_drawn_in_the_state_that_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    """Along the whole line as at step 2: stage 45 %, shaft 225 %, saw 135 %."""
    monkeypatch.chdir(SAMPLE.parent)
    (line,) = lines(solved_rig(str(SAMPLE)))
    assert line.when == "at step 2"
    shares = {point.part: point.torque_share for point in line.points}
    assert shares["step"] == pytest.approx(0.45)
    assert shares["lay"] == pytest.approx(2.25)
    assert shares["saw"] == pytest.approx(1.35)


def test_without_a_list_it_is_the_rig_as_delivered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All started at once with the stage still reducing is the same 225 %."""
    monkeypatch.chdir(tmp_path)
    rig = solved_rig(str(_without_list(tmp_path)))
    nodes = {node.name: node for node in schematic(rig).nodes}
    assert (nodes["lay"].share, nodes["lay"].when) == (2.25, "as delivered")
    (line,) = lines(rig)
    assert line.when == "as delivered"


def test_a_rig_that_passes_its_list_is_shown_as_declared(monkeypatch: pytest.MonkeyPatch) -> None:
    """The small saw starts in good order: no part shows a step."""
    monkeypatch.chdir(SAMPLE.parent)
    rig = solved_rig("small-saw.rig.yaml")
    assert {node.when for node in schematic(rig).nodes} == {""}
    assert {line.when for line in lines(rig)} == {""}


def test_table_chart_and_drawing_of_the_report_say_what_the_finding_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """2.25 times in the finding, 225 % everywhere else."""
    monkeypatch.chdir(SAMPLE.parent)
    page = tmp_path / "report.html"
    files = (SAMPLE.name, "small-saw.rig.yaml")
    assert run(["check", "--no-cache", "--no-repairs", *files, "--write", f"html={page}"]) == 1
    text = page.read_text("utf-8")
    assert "2.25 times" in text
    assert '<td class="right">225 % at lay, at step 2</td>' in text
    assert "Along the line to saw, at step 2: the largest share is 225 %, at lay" in text
    assert "225 % of torque limit at step 2: OVER" in text
    drawing = tmp_path / "drawn.svg"
    assert run(["draw", SAMPLE.name, "-o", str(drawing)]) == 0
    heard = ET.fromstring(drawing.read_bytes()).findtext("{http://www.w3.org/2000/svg}desc") or ""
    assert "225 % of torque limit at step 2: OVER" in heard
