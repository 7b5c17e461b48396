"""Margins, opposed stages and policy editions on small rigs; the numbers are worked out by hand in each docstring."""

from pathlib import Path

import pytest
from reference.small_rig import solved

from lineshaft.check.finding import Finding, value_of
from lineshaft.check.inspection import findings_of
from lineshaft.check.rulebook import open_rulebook
from lineshaft.schema.model.policy import Policy
from lineshaft.solve.solved_rig import SolvedRig

ITEMS = """wheel: {kind: prime-mover, output: {torque: 8 N*m, speed: 4 rad/s}, shock: light}
divide: {kind: splitter, shares: any}
even: {kind: driven-machine, limits: {torque: 4.4 N*m}}
rough: {kind: driven-machine, shock: heavy, limits: {torque: 7.4 N*m, speed: 5 rad/s}}
gear: {kind: gear-stage, ratios: [1, 3]}
rod: {kind: shaft}
dog: {kind: clutch}
corner: {kind: right-angle}"""
TWO_LINES = """w: {item: wheel}
d: {item: divide, driven-by: w, shares: {a: 1, b: 1}}
e: {item: even, driven-by: d.a}
r: {item: rough, driven-by: d.b}"""


def found(rule: str, rig: SolvedRig, policy: Policy) -> list[Finding]:
    one = open_rulebook().rule(rule)
    assert one is not None
    judged = SolvedRig(rig.file, rig.faults, rig.train, rig.settings, rig.flows, rig.written_parts, policy)
    return findings_of(one, judged)


def test_application_factors_alone_make_a_part_thin_only_below_one(tmp_path: Path) -> None:
    """4 N·m each: 4.4/(4 × 1.10) = 1 and 7.4/(4 × 1.85) = 1, equal to what is wanted, and equal never fires."""
    rig = solved(tmp_path, ITEMS, TWO_LINES)
    assert found("margin-thin", rig, Policy(application_factors=True)) == []


def test_the_factor_and_the_margin_count_together(tmp_path: Path) -> None:
    """With 1.05 wanted on torque both margins of 1 are thin: factors 1.10 and 1.85."""
    rig = solved(tmp_path, ITEMS, TWO_LINES)
    thin = found("margin-thin", rig, Policy(torque_margin=1.05, application_factors=True))
    factors = {f.part: (value_of(f, "application_factor"), value_of(f, "margin")) for f in thin}
    assert factors == {"e": (1.10, pytest.approx(1.0)), "r": (1.85, pytest.approx(1.0))}


def test_factors_never_multiply_speed(tmp_path: Path) -> None:
    """5/4 = 1.25: enough where 1.25 is wanted, whatever the factor; thin where 1.3 is."""
    rig = solved(tmp_path, ITEMS, TWO_LINES)
    assert found("margin-thin", rig, Policy(speed_margin=1.25, application_factors=True)) == []
    (thin,) = found("margin-thin", rig, Policy(speed_margin=1.3))
    assert (thin.part, value_of(thin, "speed"), value_of(thin, "margin")) == ("r", 4.0, 1.25)


def test_no_policy_no_margin(tmp_path: Path) -> None:
    """A policy that asks for nothing finds nothing."""
    assert found("margin-thin", solved(tmp_path, ITEMS, TWO_LINES), Policy()) == []


@pytest.mark.parametrize(
    ("between", "opposed"),
    [
        ("{item: rod", True),
        ("{item: dog, engaged: true", True),
        ("{item: corner", True),
        ("{item: gear, ratio: 1, set: reduce", True),
        ("{item: gear, ratio: 3, set: reduce", False),
        ("{item: dog, engaged: false", False),
    ],
)
def test_what_may_stand_between_opposed_stages(tmp_path: Path, between: str, opposed: bool) -> None:
    """Up 3 : 1 and down 3 : 1 undo each other through what changes nothing; a stage or open clutch between ends it.

    A reducing 3 : 1 between is itself the one that undoes the first; the last then undoes nothing.
    """
    parts = f"""w: {{item: wheel}}
up: {{item: gear, ratio: 3, set: increase, driven-by: w}}
mid: {between}, driven-by: up}}
down: {{item: gear, ratio: 3, set: reduce, driven-by: mid}}
m: {{item: even, driven-by: down}}"""
    names = [f.part for f in found("opposed-stages", solved(tmp_path, ITEMS, parts), Policy())]
    assert ("down" in names) == opposed


def test_a_policys_edition_is_compared_too(tmp_path: Path) -> None:
    """The catalogue and the rig are edition 1: a policy for 1 is silent, one for 2 is told at the rig's catalogue."""
    rig = solved(tmp_path, ITEMS, TWO_LINES)
    assert found("edition-drift", rig, Policy(edition="1")) == []
    (drift,) = found("edition-drift", rig, Policy(edition="2"))
    assert drift.route == ("catalogue",)


def test_the_line_turns_only_in_a_right_angle_drive(tmp_path: Path) -> None:
    """East then south: through a shaft it is a fault, through a right-angle drive it is how it is built."""
    for item, names in (("rod", ["m"]), ("corner", [])):
        parts = f"""w: {{item: wheel, at: [0, 0, 0]}}
b: {{item: {item}, driven-by: w, at: [1, 0, 0]}}
m: {{item: rough, driven-by: b, at: [1, 0, 1]}}"""
        assert [f.part for f in found("layout-gap", solved(tmp_path, ITEMS, parts), Policy())] == names


def test_a_suggestion_names_no_stage_where_the_catalogue_has_none(tmp_path: Path) -> None:
    """A mill at 4 of 9 rad/s wants 9/4 : 1: without a stage, or with 1 : 1 alone, no line of stages gives it."""
    needs = "mill: {kind: driven-machine, needs: {speed: 9 rad/s}}"
    parts = "w: {item: wheel}\nm: {item: mill, driven-by: w}"
    wheel = "wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 4 rad/s}}\n" + needs
    level = "\ngear: {kind: gear-stage, ratios: [1]}"
    for number, items in enumerate((wheel, wheel + level)):
        folder = tmp_path / str(number)
        folder.mkdir()
        (short,) = found("machine-underdriven", solved(folder, items, parts), Policy())
        said = "".join(piece for piece in short.suggestion if isinstance(piece, str))
        assert "has no stage that changes speed" in said
        assert "several in line" not in said
    small = tmp_path / "small"
    small.mkdir()
    geared = wheel + "\ngear: {kind: gear-stage, ratios: [3/2]}"
    (short,) = found("machine-underdriven", solved(small, geared, parts), Policy())
    assert "several in line" in "".join(piece for piece in short.suggestion if isinstance(piece, str))
