"""The picture of a sweep: the window with both ends and their values, the very ones of the table; equal curves once."""

import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from lineshaft.cli import run
from lineshaft.report_model.record import RateCurve, Setting, ShareCurve, Sweep, SweepWindow
from lineshaft.write.plots.sweep_chart import sweep_chart

SAMPLES = Path(__file__).resolve().parents[3] / "sample_rigs"
SVG = "{http://www.w3.org/2000/svg}"


def test_both_ends_stand_on_the_picture_as_in_the_table(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Lagoon from 0.5 m to 6 m: 0.8923 m, where the saw starts, and 3.212 m, where the pole breaks, in both."""
    target = tmp_path / "sweep.svg"
    over = "turbine.head=0.5m..6m"
    assert run(["sweep", str(SAMPLES / "lagoon.rig.yaml"), "--over", over, "--write", f"svg={target}"]) == 0
    table = " ".join(capsys.readouterr().out.split())
    page = ET.fromstring(target.read_bytes())
    texts = ["".join(element.itertext()) for element in page.iter(f"{SVG}text")]
    for value, what in (("0.8923 m", "saw starts"), ("3.212 m", "pole breaks")):
        assert f"{value}: {what}" in texts
        assert value in table
    (window,) = (one for one in page.iter(f"{SVG}rect") if one.get("class") == "window")
    left, width = float(window.get("x", "")), float(window.get("width", ""))
    # The scale runs from 64 px at 0.5 m to 470 px at 6 m.
    assert left == pytest.approx(64 + 406 * (0.8923 - 0.5) / 5.5, abs=0.1)
    assert left + width == pytest.approx(64 + 406 * (3.212 - 0.5) / 5.5, abs=0.1)


def test_equal_curves_are_one() -> None:
    """Three parts of one share are one line that has their names."""
    curves = tuple(ShareCurve(name, "torque", (0.2, 0.4)) for name in ("lay", "gate", "rod"))
    found = Sweep(Setting("wheel", "head", "m"), 2.0, (2.0, 4.0), curves, (), ())
    page = sweep_chart(found, "c")
    assert sum(line.get("class") == "curve" for line in page.iter("path")) == 1
    assert any(re.match("lay.*gate", text.text or "") for text in page.iter("text"))


def test_who_hears_the_picture_learns_the_window() -> None:
    """The description begins with both ends."""
    window = SweepWindow(1.5, 3.5, "saw", "pole", "torque")
    rates = (RateCurve("saw", "plank", (None, 90.0), (False, True)),)
    found = Sweep(Setting("wheel", "head", "m"), None, (1.0, 5.0), (), rates, (), window=window)
    said = sweep_chart(found, "c").findtext("desc") or ""
    assert said.startswith("works from 1.5 m, where saw starts, to 3.5 m, above which pole breaks (torque limit)")
