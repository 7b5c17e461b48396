"""Charts: round marks, lines where their values are, names that do not overlap, no text of a stranger as markup."""

import re
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest
from write.made_runs import HOSTILE

from lineshaft.write.plots.chart import Chart, Series, chart
from lineshaft.write.plots.scale import Scale, marks


@pytest.mark.parametrize(
    ("low", "high", "shown"),
    [(0, 10, [0, 2, 4, 6, 8, 10]), (2, 12, [2, 4, 6, 8, 10, 12]), (0, 1, [0, 0.2, 0.4, 0.6, 0.8, 1]), (7, 7, [7])],
)
def test_marks_are_round(low: float, high: float, shown: list[float]) -> None:
    """Steps of 2 in a range of ten: 0, 2, 4 …; of 0.2 in a range of one, without a rounding error."""
    assert marks(low, high, 5) == shown


def test_a_scale_keeps_to_its_ends() -> None:
    """Half way is half way, upside down too; beyond the ends there is nothing."""
    scale = Scale(0, 10, 200, 100)
    assert (scale.at(5), scale.at(-3), scale.at(99)) == (150, 200, 100)


def test_names_at_the_ends_stand_apart() -> None:
    """Six lines that end at one value: their names are 16 px apart at least."""
    series = [Series(f"line {n}", [(0, 1), (1, 2)]) for n in range(6)]
    page = chart(Chart("t", "d", "x", "y", series), "c")
    heights = sorted(float(text.get("y", "")) for text in page.iter("text") if (text.text or "").startswith("line"))
    assert min(b - a for a, b in pairwise(heights)) >= 15.9


def test_lines_are_told_apart_without_colour() -> None:
    """Each of six lines has a dash pattern of its own."""
    series = [Series(str(n), [(0, n), (1, n)]) for n in range(6)]
    page = chart(Chart("t", "d", "x", "y", series), "c")
    assert len({line.get("stroke-dasharray") for line in page.iter("path") if line.get("class") == "curve"}) == 6


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_a_strangers_text_stays_text(text: str) -> None:
    """Whatever stands in names and titles: well-formed XML, none of their elements, no controls."""
    series = [Series(text, [(0, 1), None, (1, 2)])]
    raw = ET.tostring(chart(Chart(text, text, text, text, series, (1, text), (0.5, text), (text, text)), "c"))
    page = ET.fromstring(raw)
    assert {e.tag for e in page.iter()} <= {"svg", "title", "desc", "text", "path"}
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e]", raw.decode())
