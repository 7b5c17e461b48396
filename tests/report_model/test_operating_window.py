"""Windows of sweeps in which something is not solved, at rest, over at first, or starved before anything breaks.

All by hand from 700 N·m at 9 rad/s.
"""

from pathlib import Path

import pytest
from reference.small_rig import solved

from lineshaft.report_model.record import Sweep
from lineshaft.report_model.sweep import sweep
from lineshaft.report_model.swept_setting import sweepable
from lineshaft.write.plots.sweep_chart import first_to_break, sweep_chart
from lineshaft.write.plots.window_strip import window_words

ITEMS = """wheel: {kind: prime-mover, output: {torque: 700 N*m, speed: 9 rad/s}}
step: {kind: gear-stage, ratios: [3, 7, 12]}
divide: {kind: splitter, shares: any}
join: {kind: combiner, inlets: 2}
dog: {kind: clutch}
rod: {kind: shaft, torque-limit: 8000 N*m}
weak: {kind: shaft, torque-limit: 400 N*m}
saw: {kind: driven-machine, needs: {torque: 1900 N*m, speed: 2 rad/s}, \
work: {unit: plank, times: [[1 rad/s, 90 s], [20 rad/s, 30 s]], between: linear}}
pump: {kind: driven-machine, needs: {torque: 100 N*m}}
fan: {kind: driven-machine, work: {unit: blow, times: [[1 rad/s, 90 s], [20 rad/s, 30 s]], between: linear}}"""
GEARED = """w: {item: wheel}
s: {item: step, ratio: 3, set: reduce, driven-by: w}
l: {item: rod, driven-by: s}
m: {item: saw, driven-by: l}"""
SHARED = """w: {item: wheel}
d: {item: divide, shares: {a: 1, b: 3}, driven-by: w}
l: {item: weak, driven-by: d.b}
m: {item: pump, driven-by: l}
n: {item: pump, driven-by: d.a}"""
JOINED = """w: {item: wheel}
v: {item: wheel}
j: {item: join, driven-by: [w, v]}
m: {item: %s, driven-by: j}"""
STRAIGHT = "w: {item: wheel}\nm: {item: pump, driven-by: w}"
RESTING = """w: {item: wheel}
c: {item: dog, engaged: false, driven-by: w}
m: {item: fan, driven-by: c}"""


@pytest.mark.parametrize(
    ("parts", "setting", "values", "window"),
    [
        # Reduced 3 : 1 the saw gets 2,100 N·m at 3 rad/s; at 9/7 rad/s it is short of 2; the rod breaks at 8,400 N·m.
        pytest.param(GEARED, "s.ratio", (3, 7, 12), "works at 3, above which m starves", id="starves"),
        # 700 · 3/(a + 3) is 400 N·m at a = 9/4; from there on both pumps work.
        pytest.param(SHARED, "d.a", (1, 2, 5), "works from 2.25, where l holds, to 5", id="over at first"),
        # Both wheels turn alike at 9 rad/s alone; elsewhere the joint locks.
        pytest.param(
            JOINED % "fan",
            "v.speed",
            (6, 9, 12),
            "works at 9 rad/s, where all is solved, above which not all is solved",
            id="locked",
        ),
        pytest.param(
            RESTING, "w.torque", (500, 900), "no window: no machine works with every part within its limits", id="rest"
        ),
        # A pump has no work table, and gets 700 N·m of the 100 that it needs.
        pytest.param(STRAIGHT, "w.speed", (5, 7), "works from 5 rad/s to 7 rad/s", id="pump"),
    ],
)
def test_a_window_holds_what_works(
    tmp_path: Path, parts: str, setting: str, values: tuple[float, ...], window: str
) -> None:
    """A machine works at every value of it, nothing is over its limit, and the words say why it ends."""
    assert window_words(_swept(tmp_path, parts, setting, *values), "si").replace("\u00a0", " ") == window


def test_values_that_are_not_solved_are_told_where_no_part_has_a_limit(tmp_path: Path) -> None:
    """Of 6, 9 and 12 rad/s one is the other wheel's; neither wheels, joint nor pump have a limit."""
    said = first_to_break(_swept(tmp_path, JOINED % "pump", "v.speed", 6, 9, 12))
    assert said.endswith("; at 2 of 3 values not every part can be solved")


def test_what_a_machine_gets_from_some_value_on_it_gets_to_the_end(tmp_path: Path) -> None:
    """Reduced 3 : 1 the saw gets 1,500 N·m, 7 : 1 3,500 N·m at 18/7 rad/s, 12 : 1 6,000 at 1.5 of 2 rad/s."""
    parts = GEARED.replace("item: wheel", "item: slow").replace("item: rod", "item: frail")
    items = f"""{ITEMS}
slow: {{kind: prime-mover, output: {{torque: 500 N*m, speed: 18 rad/s}}}}
frail: {{kind: shaft, torque-limit: 4000 N*m}}"""
    said = first_to_break(_swept(tmp_path, parts, "s.ratio", 3, 7, 12, items=items))
    assert "m gets what it needs at 7; l breaks first" in said
    whole = first_to_break(_swept(tmp_path, parts, "s.ratio", 3, 7, items=items))
    assert "m gets what it needs from 7 on" in whole


def test_ratios_are_no_shares(tmp_path: Path) -> None:
    """A splitter's share is marked as one; a ratio has no unit."""
    texts = [text.text for text in sweep_chart(_swept(tmp_path, GEARED, "s.ratio", 3, 7), "c").iter("text")]
    assert "s.ratio" in texts
    assert "s.ratio [share]" not in texts


def _swept(folder: Path, parts: str, setting: str, *values: float, items: str = ITEMS) -> Sweep:
    rig = solved(folder, items, parts)
    name, key = setting.split(".")
    found = next(one for one in sweepable(rig.parts[rig.rig.index[name]]) if one.setting.key == key)
    return sweep(rig, found, values)
