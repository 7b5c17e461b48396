"""What a change does to machines, those without a work table too; torques by hand from 780 N·m at 9 rad/s."""

import json
from pathlib import Path

import pytest
from command_runner import run
from reference.small_rig import solved

from lineshaft.repair.proof.effect import machine_changes
from lineshaft.solve.solved_rig import SolvedRig

ITEMS = """wheel: {kind: prime-mover, output: {torque: 780 N*m, speed: 9 rad/s}}
slow: {kind: prime-mover, output: {torque: 780 N*m, speed: 7 rad/s}}
dog: {kind: clutch}
join: {kind: combiner, inlets: 2}
step: {kind: gear-stage, ratios: [3, 5/2]}
saw: {kind: driven-machine, needs: {torque: 300 N*m}}
hoist: {kind: driven-machine, needs: {speed: 20 rad/s}}
mill: {kind: driven-machine, needs: {torque: 300 N*m}, \
work: {unit: sack, times: [[9 rad/s, 90 s], [27 rad/s, 30 s]], between: linear}}"""
GEARED = "w: {item: wheel}\ns: {item: step, ratio: 3, set: increase, driven-by: w}\n"
STRAIGHT = "w: {item: wheel}\n"
MILL, SAW = "m: {item: mill, driven-by: %s}", "m: {item: saw, driven-by: %s}"
CLUTCH = "c: {item: dog, driven-by: w, engaged: false}\n"
LOCKED = "v: {item: slow}\nj: {item: join, driven-by: [w, v]}\n"
UNSAID: tuple[None, None] = (None, None)
FREED = ("not-solved", "served")


@pytest.mark.parametrize(
    ("before", "after", "rates", "states"),
    [
        # A third of 780 N·m is 260 of 300; straight from the wheel it is all of it.
        pytest.param(GEARED + SAW % "s", STRAIGHT + SAW % "w", UNSAID, ("short", "served"), id="short"),
        pytest.param(STRAIGHT + SAW % "w", GEARED + SAW % "s", UNSAID, ("served", "short"), id="starved"),
        # 3,600 s at 90 s a sack are 40.
        pytest.param(GEARED + MILL % "s", STRAIGHT + MILL % "w", (0, 40), ("short", "served"), id="stalled"),
        pytest.param(STRAIGHT + CLUTCH + SAW % "c", STRAIGHT + SAW % "w", UNSAID, ("at-rest", "served"), id="open"),
        pytest.param(STRAIGHT + LOCKED + SAW % "j", STRAIGHT + SAW % "w", UNSAID, FREED, id="locked"),
        pytest.param(STRAIGHT + LOCKED + MILL % "j", STRAIGHT + MILL % "w", (None, 40), FREED, id="jam"),
        pytest.param(STRAIGHT + SAW % "w", STRAIGHT, UNSAID, ("served", "gone"), id="saw gone"),
        pytest.param(STRAIGHT + MILL % "w", STRAIGHT, (40, None), ("served", "gone"), id="mill gone"),
    ],
)
def test_what_becomes_of_a_machine_is_told(
    tmp_path: Path, before: str, after: str, rates: tuple[float | None, ...], states: tuple[str, ...]
) -> None:
    """Whether it gets what it needs, stands, is not solved or goes, also where it has no rate that could tell."""
    (change,) = machine_changes(_solved(tmp_path / "before", before), _solved(tmp_path / "after", after))
    assert (change.part, change[3:]) == ("m", states)
    assert change[1:3] == pytest.approx(rates)


def test_a_machine_that_fares_alike_is_not_told(tmp_path: Path) -> None:
    """Geared up 3 or 5/2 the hoist has 27 or 22.5 rad/s of the 20 that it needs."""
    hoist = "m: {item: hoist, driven-by: s}"
    less = _solved(tmp_path / "before", GEARED + hoist)
    more = _solved(tmp_path / "after", GEARED.replace("ratio: 3", "ratio: 5/2") + hoist)
    assert machine_changes(less, more) == ()


def test_every_writer_tells_of_a_machine_without_a_work_table(tmp_path: Path) -> None:
    """Geared up 3 the saw gets 260 N·m of 300, geared down 2,340; JSON has no rate, and says how the saw fares."""
    _solved(tmp_path / "works", GEARED + SAW % "s")
    works = tmp_path / "works"
    (works / ".git").mkdir()
    checked = run(works, "check", "bench.rig.yaml", "--write=json=found.json", "--write=html=found.html")
    assert "m: short before, served after" in " ".join(checked.stdout.split())
    findings = json.loads((works / "found.json").read_text("utf-8"))["findings"]
    (finding,) = (one for one in findings if one["rule"] == "machine-underdriven")
    first = finding["repairs"][0]["machines"]
    assert first == [
        {"part": "m", "rate_before": None, "rate_after": None, "state_before": "short", "state_after": "served"}
    ]
    assert "m: short before, served after" in (works / "found.html").read_text("utf-8")
    assert "machines: m short → served" in run(works, "repair", "bench.rig.yaml").stdout


def _solved(folder: Path, parts: str) -> SolvedRig:
    folder.mkdir()
    return solved(folder, ITEMS, parts)
