"""The line that torque to spare is turned into speed by: between two ratios, each worked out by hand."""

import pytest

from lineshaft.check.finding import Text
from lineshaft.rules.machine_surplus import RULE
from lineshaft.testing import findings_of

_RIG = """rig: 1
name: Spare
catalogue: spare.catalogue.yaml
parts:
  wheel: {item: wheel}
STAGE  fan: {item: fan, driven-by: LAST}
"""
_CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  stage: {kind: gear-stage, ratios: [3/2, 3, 5, 7, 11]}
  fan:
    kind: driven-machine
    needs: {torque: 90 N*mNEEDS}
    limits: {speed: FASTEST rad/s}
    work: {unit: load, times: [[5 rad/s, 50 s], [END rad/s, 10 s]], between: linear}
"""


def _suggested(stage: str, fastest: str = "300", end: str = "105", needs: str = "") -> Text | None:
    text = _RIG.replace(
        "STAGE", f"  step: {{item: stage, ratio: {stage}, set: increase, driven-by: wheel}}\n" if stage else ""
    )
    text = text.replace("LAST", "step" if stage else "wheel")
    catalogue = _CATALOGUE.replace("FASTEST", fastest).replace("END", end).replace("NEEDS", needs)
    files = {"spare.catalogue.yaml": catalogue}
    found = findings_of(RULE, text, files=files)
    return found[0].suggestion if found else None


def _numbers(text: Text | None) -> list[float]:
    return [] if text is None else [piece.value for piece in text if not isinstance(piece, str)]  # type: ignore[misc]


def test_by_what_it_needs() -> None:
    """900 / 90 = 10 at most, 10 / (3/2) = 6.667 leaves less to spare than any stage takes; at 80 rad/s a load in 20 s.

    50 - 40 · 75 / 100 = 20 s, at 8 rad/s 50 - 40 · 3 / 100 = 48.8.
    """
    assert _numbers(_suggested("")) == pytest.approx([10 / 1.5, 10, 10, 80, 20, 48.8])


def test_by_its_speed_limit() -> None:
    """48 rad/s are 6 times 8: 6 at most, more than 4."""
    assert _numbers(_suggested("", fastest="48"))[:4] == pytest.approx([4, 6, 6, 48])


def test_by_what_it_needs_where_it_lacks_speed_as_well() -> None:
    """80 rad/s at 10 times 8 are all that its torque allows, and 200 are needed: it gains nothing from that alone."""
    suggested = _suggested("", needs=", speed: 200 rad/s")
    assert _numbers(suggested) == pytest.approx([10 / 1.5, 10, 10, 80])
    assert suggested is not None and suggested[-1] == ", still short of what it needs"


def test_by_the_end_of_its_table() -> None:
    """Nothing is gained beyond 20 rad/s, 2.5 times 8, whatever the torque allows."""
    assert _numbers(_suggested("", end="20")) == pytest.approx([2.5, 10, 2.5, 20, 10, 50 - 40 * 3 / 15])


@pytest.mark.parametrize(("stage", "left"), [("3/2", True), ("3", True), ("5", True), ("7", False)])
def test_a_stage_between_them_mends_it_and_one_below_does_not(stage: str, left: bool) -> None:
    """Of 3/2, 3, 5, 7 and 11 only 7 is above 6.667 and not above 10."""
    assert (_suggested(stage) is not None) is left
