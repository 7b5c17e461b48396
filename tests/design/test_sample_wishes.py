"""The wishes of Tern Harbour: each is served, or says what would do; every value by an independent solver."""

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from command_runner import run

_ROOT = Path(__file__).resolve().parents[2]


@cache
def _designs(name: str, *more: str) -> list[dict[str, Any]]:
    ran = run(_ROOT, "design", f"sample_rigs/wishes/{name}.rig.yaml", "--write", "json=-", *more, seconds=240)
    assert ran.returncode == 0, ran.stderr
    found: list[dict[str, Any]] = json.loads(ran.stdout)["designs"]
    return found


def _row(design: dict[str, Any]) -> tuple[float, int, list[float | None]]:
    rates = [None if one["rate"] is None else round(one["rate"], 1) for one in design["machines"]]
    return round(design["repair"]["worth"], 9), design["parts_added"], rates


def test_three_on_a_wheel_by_hand() -> None:
    """Least cost: 900 / 2.5 * 0.96 = 345.6 N*m at 20 rad/s, of which saw, stone and press take 150, 40 and 60.

    At 20 rad/s: a plank in 60 - 45 * ln 2 / ln 8 = 45 s, an edge in 24 s, a pressing in 40 - 30 * 15 / 35 = 27.14 s.
    Cost: three steel pairs are 6 gears, 2 makings of 3, and 3 bars more: 9 steel bars, 18 bars and 9 charcoal, 10.8; a
    pair of iron gears is one making of 5 plates, and a bar: 5.5.
    Highest rates: the saw by 75/15 at 40 rad/s takes 750 of the 900 N*m and makes 120; of the 150 that are left,
    40 * 2.5 / 0.96 = 104.2 bring the stone to 20 rad/s; nothing is left for a faster saw.
    """
    rows = {kind: _row(one) for one in _designs("three-on-a-wheel") for kind in one["shown_for"]}
    assert rows["least-cost"] == rows["fewest-parts"] == (16.3, 2, [80.0, 150.0, 132.6])
    cost, _, rates = rows["highest-rates"]
    assert rates[:2] == [120.0, 150.0] and cost > 16.3


@pytest.mark.further
def test_a_roller_of_iron_or_of_steel() -> None:
    """With the iron yard two lines side by side for nothing to get, or one steel stage for 4 charcoal of 0.2."""
    found = _designs("plate-roller", "--stock", "sample_rigs/iron-yard.stock.yaml")
    assert [(_row(one)[:2], round(one["stock"]["worth"], 9)) for one in found] == [((28, 4), 0), ((9.8, 1), 0.8)]
    steel = _designs("plate-roller", "--stock", "sample_rigs/steel-yard.stock.yaml")
    assert [(_row(one)[:2], one["stock"]["worth"]) for one in steel] == [((9.8, 1), 0)]


@pytest.mark.parametrize("name", ["one-saw", "plate-roller", "three-on-a-wheel"])
def test_no_design_is_beaten_by_another(name: str) -> None:
    """In cost, parts and every machine's rate at once."""
    rows = [_row(one) for one in _designs(name)]
    for cost, parts, rates in rows:
        for other, fewer, faster in rows:
            better = (
                other <= cost
                and fewer <= parts
                and all((b or 0) >= (a or 0) for a, b in zip(rates, faster, strict=True))
            )
            assert not better or (other, fewer, faster) == (cost, parts, rates)


def test_what_cannot_be_served_says_what_would_do() -> None:
    """Exit 1; 0.55 m of head in place of 0.3 m."""
    file = "sample_rigs/wishes/too-low-a-head.rig.yaml"
    assert run(_ROOT, "design", file).returncode == 1
    assert (
        "A head of 0.55 m at turbine would do; it has 0.3 m" in run(_ROOT, "design", file, "--explain", "roller").stdout
    )
