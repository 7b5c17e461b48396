"""The small laws of the solver, each by hand: limits, prime movers, work, surplus, what moves between two solutions."""

import math
from textwrap import indent

import pytest

from lineshaft.schema.model.catalogue import HeadTable, Hydraulic, Output, Work
from lineshaft.solve.application_factor import TABLE, application_factors
from lineshaft.solve.limits import over, short, speed_carried, torque_carried, worst_share
from lineshaft.solve.lubricant_accounts import accounts, production, production_when_fed
from lineshaft.solve.machine_output import hourly_rate, shortages, time_of_unit
from lineshaft.solve.movements import Pair, movements, rate
from lineshaft.solve.prime_mover import hydraulic_power, output_of, table_output
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.surplus import surplus_ratio, wasteful
from lineshaft.solve.work_rate import speed_for_time, time_of_work
from lineshaft.testing import rig_from_text

ITEMS = """wheel: {kind: prime-mover, shock: light, output: {torque: 900 N*m, speed: 8 rad/s}}
weir: {kind: prime-mover, table: {by: head, points: [[2 m, 500 N*m, 3 rad/s], [3 m, 700 N*m, 5 rad/s], [6 m, 900 N*m, 7 rad/s]]}}
runner: {kind: prime-mover, shock: heavy, hydraulic: {flow: 0.5 m^3/s, efficiency: 0.7, speed: 9 rad/s}}
rod: {kind: shaft, torque-limit: 700 N*m, speed-limit: 30 rad/s}
plain: {kind: shaft}
stage: {kind: gear-stage, ratios: [5/2, 3, 7]}
even: {kind: gear-stage, ratios: [1, 3]}
clutch: {kind: clutch}
fork: {kind: splitter, shares: any}
joiner: {kind: combiner, inlets: 2}
mill: {kind: driven-machine}
hammer: {kind: driven-machine, shock: moderate}
saw: {kind: driven-machine, needs: {torque: 150 N*m, speed: 10 rad/s, power: 3 kW}, limits: {speed: 50 rad/s}, work: {unit: plank, times: [[5 rad/s, 40 s], [50 rad/s, 10 s]], between: linear}}
press: {kind: driven-machine, needs: {speed: 10 rad/s}, work: {unit: go, times: [[5 rad/s, 40 s], [30 rad/s, 15 s]], between: linear}, makes: {lubricant: flax-oil, amount: 30 mL}}"""  # noqa: E501
LINE = "w: {item: wheel}\nr: {item: rod, driven-by: w}\nm: {item: saw, driven-by: r}"


STAGED = "w: {item: wheel}\ns: {item: stage, ratio: 3, set: increase, driven-by: w}\nm: {item: saw, driven-by: s}"


def solved(parts: str, items: str = ITEMS) -> SolvedRig:
    """A rig of these parts, solved."""
    catalogue = f'catalogue: 1\nedition: "1"\nlubricants: [flax-oil]\nitems:\n{indent(items, "  ")}\n'
    lines = "".join(f"  {line.strip()}\n" for line in parts.splitlines())
    text = f"rig: 1\ncatalogue: works.catalogue.yaml\nparts:\n{lines}"
    rig = rig_from_text(text, files={"works.catalogue.yaml": catalogue})
    assert rig.faults == (), [fault.message for fault in rig.faults]
    return rig


def _number(rig: SolvedRig, name: str) -> int:
    return rig.rig.index[name]


# Limits.


def test_a_billionth_never_counts() -> None:
    """700 · (1 + 1e-9) is not over 700 and 700 · (1 - 1e-9) not short of it; two billionths are."""
    assert [over(700 * (1 + off), 700.0) for off in (0.0, 0.9e-9, 2e-9)] == [False, False, True]
    assert [short(700 * (1 - off), 700.0) for off in (0.0, 0.9e-9, 2e-9)] == [False, False, True]


def test_the_larger_of_inlet_and_outlet_counts() -> None:
    """3 : 1 down carries 2,700 N·m at the outlet and 8 rad/s at the inlet; up 900 N·m and 24 rad/s."""
    for way, torque, speed in (("reduce", 2700.0, 8.0), ("increase", 900.0, 24.0)):
        rig = solved(STAGED.replace("increase", way))
        at = _number(rig, "s")
        assert (torque_carried(rig.flows, at), speed_carried(rig.flows, at)) == pytest.approx((torque, speed))


def test_the_larger_share_of_a_limit() -> None:
    """900 of 700 N·m against 8 of 30 rad/s: 9/7. Behind 7 up 900/7 of 700 against 56 of 30: 28/15. Without: none."""
    rig = solved(LINE)
    assert worst_share(rig.parts[1], 1, rig.flows) == pytest.approx(9 / 7)
    assert worst_share(rig.parts[0], 0, rig.flows) is None
    assert worst_share(rig.parts[2], 2, rig.flows) == pytest.approx(8 / 50)
    fast = solved(
        LINE.replace("driven-by: w}", "driven-by: s}") + "\ns: {item: stage, ratio: 7, set: increase, driven-by: w}",
    )
    assert worst_share(fast.parts[1], 1, fast.flows) == pytest.approx(28 / 15)
    torque_alone = rig.parts[1]._replace(speed_limit=None)
    assert worst_share(torque_alone, 1, rig.flows) == pytest.approx(9 / 7)


# Prime movers.


@pytest.mark.parametrize(
    ("head", "torque", "speed"),
    [(1.0, 500, 3), (2.0, 500, 3), (2.25, 550, 3.5), (3.0, 700, 5), (4.5, 800, 6), (6.0, 900, 7), (9.0, 900, 7)],
)
def test_a_head_table_is_straight_between_its_points(head: float, torque: float, speed: float) -> None:
    """A quarter of the way from 2 to 3 m, half of that from 3 to 6; beyond the ends the ends hold. By hand."""
    points = ((2.0, 500.0, 3.0), (3.0, 700.0, 5.0), (6.0, 900.0, 7.0))
    assert table_output(points, head) == pytest.approx((torque, speed))
    assert table_output(points[:1], 4.0) == (500.0, 3.0)


def test_water_gives_weight_times_head() -> None:
    """0.5 m³/s of water by 4 m at η 0.7: 1,000 · 9.80665 · 0.5 · 4 · 0.7 = 13,729.31 W, at 9 rad/s 1,525.48 N·m."""
    assert hydraulic_power(1000.0, 0.5, 4.0, 0.7) == pytest.approx(13729.31)
    assert hydraulic_power(900.0, 0.5, 4.0, 0.7) == pytest.approx(12356.379)
    rig = solved("r: {item: runner, head: 4 m}\nm: {item: mill, driven-by: r}")
    assert output_of(rig.parts[0]) == pytest.approx((13729.31 / 9, 9.0))
    assert isinstance(rig.parts[0].item.source, Hydraulic)
    assert output_of(rig.parts[0]._replace(head=None)) is None


def test_a_table_and_a_plain_output_are_what_they_say() -> None:
    """By 4.5 m 800 N·m at 6 rad/s; the wheel as written; without a source nothing is known."""
    rig = solved(
        "v: {item: weir, head: 4.5 m}\nm: {item: mill, driven-by: v}\nw: {item: wheel}\nn: {item: mill, driven-by: w}",
    )
    assert output_of(rig.parts[0]) == pytest.approx((800.0, 6.0))
    assert isinstance(rig.parts[0].item.source, HeadTable)
    assert output_of(rig.parts[2]) == Output(900.0, 8.0)
    assert output_of(rig.parts[2]._replace(item=rig.parts[2].item._replace(source=None))) is None


# Work.

STRAIGHT = Work("plank", ((5.0, 40.0), (50.0, 10.0)), "linear")
LOG = Work("plank", ((5.0, 40.0), (50.0, 10.0)), "log-speed")


@pytest.mark.parametrize(
    ("work", "speed", "time"),
    [
        (STRAIGHT, 0.0, None),
        (STRAIGHT, -3.0, None),
        (STRAIGHT, 3.0, 40.0),
        (STRAIGHT, 5.0, 40.0),
        (STRAIGHT, 23.0, 28.0),  # 18/45 of the way: 40 - 0.4 · 30
        (STRAIGHT, 50.0, 10.0),
        (STRAIGHT, 90.0, 10.0),
        (LOG, 5.0 * math.sqrt(10), 25.0),  # half of the way in ln ω
        (LOG, 50.0, 10.0),
    ],
)
def test_the_time_of_a_unit_by_its_table(work: Work, speed: float, time: float | None) -> None:
    """Straight in ω or in ln ω, the nearest end beyond. By hand."""
    assert time_of_work(work, speed) == (None if time is None else pytest.approx(time))


@pytest.mark.parametrize(
    ("work", "time", "speed"),
    [
        (STRAIGHT, 90.0, 0.0),
        (STRAIGHT, 40.0, 0.0),
        (STRAIGHT, 28.0, 23.0),
        (STRAIGHT, 10.0, 50.0),
        (STRAIGHT, 9.0, None),
        (LOG, 25.0, 5.0 * math.sqrt(10)),
        (Work("plank", ((5.0, 40.0), (9.0, 40.0), (50.0, 10.0)), "linear"), 25.0, 29.5),
        (Work("plank", ((5.0, 40.0), (9.0, 30.0), (50.0, 30.0)), "linear"), 35.0, 7.0),
    ],
)
def test_the_least_speed_for_a_time(work: Work, time: float, speed: float | None) -> None:
    """Where the table first comes down to it; 0 where any speed does, none where none does. By hand."""
    assert speed_for_time(work, time) == (None if speed is None else pytest.approx(speed))


def test_a_machine_that_is_short_makes_nothing() -> None:
    """Of 150 N·m, 10 rad/s and 3 kW: 200 at 12 is short of power alone; 260 at 12 of nothing and takes 106/3 s."""
    rig = solved(LINE)
    saw = rig.parts[2]
    assert [(s.quantity, s.arrives, s.needed) for s in shortages(saw, 200.0, 12.0)] == [("power", 2400.0, 3000.0)]
    assert [s.quantity for s in shortages(saw, 149.0, 9.0)] == ["torque", "speed", "power"]
    assert shortages(saw, 260.0, 12.0) == ()
    assert time_of_unit(saw, 200.0, 12.0) == math.inf
    assert time_of_unit(saw, 260.0, 12.0) == pytest.approx(40 - 30 * 7 / 45)
    assert time_of_unit(saw, 260.0, 0.0) is None
    assert time_of_unit(rig.parts[1], 260.0, 12.0) is None


def test_units_an_hour() -> None:
    """At 8 rad/s the saw needs 10 and stalls: 0. At 24 a plank takes 82/3 s: 3,600 · 3 / 82 an hour."""
    stalled = solved(LINE)
    assert hourly_rate(stalled.parts[2], 2, stalled.flows) == rate(stalled, 2) == 0.0
    fast = solved(
        "w: {item: wheel}\ns: {item: stage, ratio: 3, set: increase, driven-by: w}\nm: {item: saw, driven-by: s}",
    )
    assert rate(fast, 2) == pytest.approx(3600 * 3 / 82)
    assert rate(fast, 0) is None
    locked = solved(LOCKED)
    assert rate(locked, _number(locked, "m")) is None


LOCKED = """w: {item: wheel}
f: {item: fork, driven-by: w, shares: {a: 2, b: 3}}
s: {item: stage, ratio: 3, set: increase, driven-by: f.a}
j: {item: joiner, driven-by: [s, f.b]}
m: {item: saw, driven-by: j}"""


# Surplus.


def test_the_smallest_ratio_that_changes_anything() -> None:
    """Of 5/2, 3, 7 and 1 it is 5/2; without a stage there is none."""
    rig = solved(LINE)
    assert surplus_ratio(rig.catalogue) == 2.5
    none = solved(
        "w: {item: wheel}\nm: {item: mill, driven-by: w}",
        "wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}\nmill: {kind: driven-machine}",
    )
    assert surplus_ratio(none.catalogue) is None


@pytest.mark.parametrize(
    ("torque", "speed", "ratio", "is_so"),
    [
        (375.0, 12.0, 2.5, True),  # 375 / 2.5 = 150, at 30 rad/s
        (374.0, 12.0, 2.5, False),
        (900.0, 20.0, 2.5, True),  # 50 rad/s, just what it may
        (900.0, 20.1, 2.5, False),
        (900.0, 0.0, 2.5, False),
        (900.0, 1.0, 2.5, False),  # 2.5 rad/s is as slow as 1: the table begins at 5
    ],
)
def test_a_machine_that_a_stage_would_make_faster(torque: float, speed: float, ratio: float, is_so: bool) -> None:
    """It needs 150 N·m, may turn at 50 rad/s, and is faster from 5 rad/s up. By hand."""
    rig = solved(LINE)
    assert wasteful(rig.parts[2], torque, speed, ratio) is is_so
    assert not wasteful(rig.parts[0], torque, speed, ratio)


# Application factors.


def test_the_table_of_application_factors() -> None:
    """Jiang, *Analysis and Design of Machine Elements*, Table 2.1, lower ends: rows by driver, columns by machine."""
    assert TABLE[0] == (1.0, 1.25, 1.5, 1.75)
    assert TABLE[1] == (1.1, 1.35, 1.6, 1.85)
    assert TABLE[2] == (1.25, 1.5, 1.75, 2.0)
    assert TABLE[3] == (1.5, 1.75, 2.0, 2.25)


def test_the_worst_driver_and_the_worst_machine_count() -> None:
    """Light alone drives a moderate hammer and a uniform mill: 1.6 above both, 1.1 at the mill. Heavy: 2."""
    rig = solved(
        """w: {item: wheel}
        f: {item: fork, driven-by: w, shares: {a: 2, b: 3}}
        h: {item: hammer, driven-by: f.a}
        m: {item: mill, driven-by: f.b}
        r: {item: runner, head: 4 m}
        p: {item: plain, driven-by: r}
        n: {item: hammer, driven-by: p}""",
    )
    factors = dict(zip(rig.rig.index, application_factors(rig.train), strict=True))
    assert factors == {"w": 1.6, "f": 1.6, "h": 1.6, "m": 1.1, "r": 2.0, "p": 2.0, "n": 2.0}


# What moves.


@pytest.mark.parametrize(
    ("old", "new", "moves"),
    [
        (None, None, False),
        (None, 0.0, True),
        (7.0, None, True),
        (7.0, 7.0, False),
        (700.0, 700.0 * (1 + 0.9e-9), False),
        (700.0, 700.0 * (1 + 3e-9), True),
        (-7.0, 7.0, True),
        (0.0, 0.0, False),
    ],
)
def test_a_pair_moves_by_more_than_never_counts(old: float | None, new: float | None, moves: bool) -> None:
    """None is apart from any value; a billionth never counts."""
    assert Pair(old, new).moves is moves


def test_what_moves_between_two_solutions() -> None:
    """A stage of 3 up takes the rod's place: 300 N·m at 24 rad/s reach the saw, which made nothing and now does."""
    before = solved(LINE)
    after = solved(
        "w: {item: wheel}\ns: {item: stage, ratio: 3, set: increase, driven-by: w}\nm: {item: saw, driven-by: s}",
    )
    moves = movements(before, after)
    assert (moves.came, moves.gone) == (("s",), ("r",))
    (saw,) = moves.parts
    assert (saw.part, saw.torque, saw.speed) == ("m", (900.0, pytest.approx(300.0)), (8.0, pytest.approx(24.0)))
    assert saw.share == (pytest.approx(8 / 50), pytest.approx(24 / 50))
    (machine,) = moves.machines
    assert (machine.part, machine.unit, machine.rate) == ("m", "plank", (0.0, pytest.approx(3600 * 3 / 82)))
    assert movements(before, before) == ((), (), (), ())


def test_what_is_no_longer_solved_moves() -> None:
    """A combiner that locks: it and what is below have no values any more."""
    free = solved(LOCKED.replace("increase", "reduce").replace("[s, f.b]", "[f.b, s]"))
    same = solved(LOCKED.replace("stage, ratio: 3, set: increase", "plain"))
    moved = movements(same, free)
    assert {part.part: part.torque.new for part in moved.parts if part.torque.new is None} == {"j": None, "m": None}
    assert [machine.rate for machine in moved.machines] == [(0.0, None)]


# What presses make.


def test_what_a_press_makes_and_would_make() -> None:
    """At 8 rad/s it needs 10 and stalls: nothing. Fed, at 10: 30 mL in 35 s. At 24: 30 mL in 21 s either way."""
    slow = solved("w: {item: wheel}\nm: {item: press, driven-by: w}")
    assert production(slow, 1) == 0.0
    assert production_when_fed(slow, 1) == pytest.approx(0.03 / 35)
    fast = solved(
        "w: {item: wheel}\ns: {item: stage, ratio: 3, set: increase, driven-by: w}\nm: {item: press, driven-by: s}",
    )
    assert production(fast, 2) == production_when_fed(fast, 2) == pytest.approx(0.03 / 21)
    assert production(fast, 1) == production_when_fed(fast, 1) == production(fast, None) == 0.0
    assert production_when_fed(fast, None) == 0.0
    assert accounts(fast) == ()
    still = solved(
        "w: {item: wheel}\nc: {item: clutch, engaged: false, driven-by: w}\nm: {item: press, driven-by: c}",
    )
    assert production(still, 2) == production_when_fed(still, 2) == 0.0
