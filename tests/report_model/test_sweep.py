"""Sweeps: what breaks first and where, by hand; the two values beside a crossing are solved on each side of it."""

from pathlib import Path

import pytest

from lineshaft.commands.one_rig import checker
from lineshaft.report_model.record import Sweep
from lineshaft.report_model.sweep import sweep
from lineshaft.report_model.swept_setting import sweepable
from lineshaft.solve.solved_rig import SolvedRig

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
G = 9.80665  # standard gravity [m/s^2], exact by definition


def solved(name: str) -> SolvedRig:
    """A sample, solved."""
    return checker().solved(SAMPLES / f"{name}.rig.yaml")


def swept(rig: SolvedRig, part: str, key: str, *values: float) -> Sweep:
    """A sweep of one setting."""
    found = next(one for one in sweepable(rig.parts[rig.rig.index[part]]) if one.setting.key == key)
    return sweep(rig, found, values)


def test_what_breaks_first_as_the_head_rises() -> None:
    """P = 1000·g·0.5·H·0.8 at 20 rad/s, a seventh to a pole of 90 N·m: H = 90·7·20 / (400·g) = 3.21211 m."""
    found = swept(solved("lagoon"), "turbine", "head", *range(2, 13))
    first = found.crossings[0]
    assert (first.part, first.condition, first.rises) == ("pole", "torque", True)
    assert first.holds <= 90 * 7 * 20 / (1000 * G * 0.5 * 0.8) < first.fails
    assert (first.holds, first.fails) == (3.212, 3.213)


def test_the_second_to_break() -> None:
    """Six sevenths to a saw that takes 2 kN·m: H = 2000·(7/6)·20 / (400·g) = 11.8967 m."""
    second = swept(solved("lagoon"), "turbine", "head", *range(2, 13)).crossings[1]
    assert (second.part, second.condition, second.holds, second.fails) == ("saw", "torque", 11.89, 11.9)


def test_shares_follow_the_hydraulic_power() -> None:
    """At 5 m the pole carries 1000·g·0.5·5·0.8 / 20 / 7 = 140.095 N·m, 1.55661 of its 90 N·m."""
    found = swept(solved("lagoon"), "turbine", "head", 5.0, 10.0)
    pole = next(one for one in found.curves if (one.part, one.quantity) == ("pole", "torque"))
    assert pole.shares[0] == pytest.approx(1000 * G * 0.5 * 5 * 0.8 / 20 / 7 / 90, rel=1e-12)
    assert pole.shares[1] == pytest.approx(2 * (pole.shares[0] or 0), rel=1e-12)


def test_a_limit_reached_exactly_holds() -> None:
    """1200 N·m / 2.5 = 480 N·m reach the stage's limit exactly, which holds; four figures on it does not."""
    found = swept(solved("overloaded-step"), "wheel", "torque", 100.0, 1000.0)
    step = next(one for one in found.crossings if one.part == "step")
    assert (step.holds, step.fails) == (480.0, 480.1)


def test_where_a_machine_gets_what_it_needs() -> None:
    """The roller needs 2 kN·m behind a stage of 2.5: from 800 N·m on."""
    found = swept(solved("overloaded-step"), "wheel", "torque", 100.0, 1000.0)
    roller = next(one for one in found.crossings if one.condition == "needs")
    assert (roller.part, roller.holds, roller.fails, roller.rises) == ("roller", 800.0, 799.9, False)
    assert found.rates[0].fed == (False, True)


def test_a_splitters_share() -> None:
    """392.266 N·m · w / (w + 6) reaches 90 N·m at w = 540 / 302.266 = 1.78650."""
    first = swept(solved("lagoon"), "divide", "stone", 1.0, 7.0).crossings[0]
    assert (first.part, first.holds, first.fails) == ("pole", 1.786, 1.787)


def test_a_machines_rate_follows_its_speed() -> None:
    """A roller takes 90 s at 1 rad/s, 20 s at 6 rad/s, straight between: at 3.5 rad/s 55 s, 3600 / 55 an hour."""
    rig = solved("overloaded-step")
    found = swept(rig, "wheel", "speed", 2.5, 8.75)
    assert found.rates[0].rates == pytest.approx((40.0, 3600 / 55))


def test_corners_of_a_table_are_values_too() -> None:
    """A table of heads turns its corner at 4 m: the sweep has that value though nobody asked for it."""
    for path in sorted(SAMPLES.glob("*.rig.yaml")):
        rig = checker().solved(path)
        turbines = [part for part in rig.parts if part.item.name == "ebb-turbine"]
        if turbines:
            assert 4.0 in swept(rig, turbines[0].name, "head", 2.5, 5.5).values
            return
    pytest.fail("no sample has a turbine with a table")


def test_what_cannot_be_solved_has_no_share() -> None:
    """Two wheels on one combiner, one made slower: the combiner and all below it have no share there."""
    rig = solved("two-wheels")
    found = swept(rig, "north", "speed", 4.0, 8.0)
    main = next(one for one in found.curves if (one.part, one.quantity) == ("main", "torque"))
    assert main.shares[0] is None
    assert main.shares[1] == pytest.approx(0.3)


def test_the_operating_window() -> None:
    """From the first start to the first break, by hand: the saw needs 150 N·m, 150·(7/6)·20 / (400·g) = 0.892277 m.

    The stone starts at 40·7·20 / (400·g) = 1.42762 m; the pole breaks above 3.21211 m.
    """
    found = swept(solved("lagoon"), "turbine", "head", *(0.5 + n / 2 for n in range(12)))
    window = found.window
    assert window is not None
    assert (window.low, window.first, window.high, window.breaks, window.condition) == (
        0.8923, "saw", 3.212, "pole", "torque",
    )  # fmt: skip
    holds = {(span.part, span.condition): span.holds for span in found.spans}
    assert holds["stone", "needs"] == ((1.428, 6.0),)
    assert holds["saw", "needs"] == ((0.8923, 6.0),)
    assert holds["pole", "torque"] == ((0.5, 3.212),)


def test_a_window_may_reach_past_either_end() -> None:
    """From 1 m to 3 m the saw works all the way and nothing breaks: neither end has a name."""
    window = swept(solved("lagoon"), "turbine", "head", 1.0, 2.0, 3.0).window
    assert window is not None
    assert (window.low, window.first, window.high, window.breaks) == (1.0, None, 3.0, None)


def test_without_a_machine_that_works_there_is_no_window() -> None:
    """From 4 m on the pole is over its limit; below 0.6 m nothing starts."""
    rig = solved("lagoon")
    assert swept(rig, "turbine", "head", 4.0, 6.0).window is None
    assert swept(rig, "turbine", "head", 0.3, 0.6).window is None
