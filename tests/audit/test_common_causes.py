"""Causes that prime movers have in common, shares that add up, readings that are wrong themselves: reckoned by hand."""

import random

import pytest
from audit.made_rigs import is_misread, solved

from lineshaft.audit.diagnosis import Explanation, diagnose
from lineshaft.solve.solved_rig import SolvedRig

CATALOGUE = """\
catalogue: 1
name: By hand
edition: "1"
items:
  weir: {kind: prime-mover, table: {by: head, points: [[2 m, 500 N*m, 9 rad/s], [5 m, 1100 N*m, 15 rad/s]]}}
  sluice: {kind: prime-mover, table: {by: head, points: [[1 m, 300 N*m, 6 rad/s], [4 m, 750 N*m, 15 rad/s]]}}
  flume: {kind: prime-mover, hydraulic: {flow: 1 m^3/s, efficiency: 0.8, speed: 20 rad/s}}
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 10 rad/s}}
  race: {kind: prime-mover, output: {torque: 350 N*m, speed: 25 rad/s}}
  stage: {kind: gear-stage, ratios: [5/2, 3]}
  shaft: {kind: shaft}
  fan: {kind: splitter, outlets: 9, shares: [[3, 5, 7, 11, 13, 17, 19, 23, 29]]}
  sharer: {kind: splitter, outlets: 3, shares: any}
  adder: {kind: combiner}
  mill: {kind: driven-machine, needs: {torque: 1 N*m}}
"""
PAIR = """\
  one: {item: ONE}
  two: {item: TWO}
  adder: {item: adder, driven-by: [one, two]}
  mill: {item: mill, driven-by: adder}
"""
FORK = """\
  wheel: {item: wheel}
  fork: {item: sharer, driven-by: wheel, shares: {a: 3, b: 5, c: 1}}
  left: {item: mill, driven-by: fork.a}
  middle: {item: mill, driven-by: fork.b}
  right: {item: mill, driven-by: fork.c}
"""


def _rig(parts: str, *readings: str) -> SolvedRig:
    lines = "".join(f"  - {{{reading}}}\n" for reading in readings)
    text = f"rig: 1\nname: t\ncatalogue: made.catalogue.yaml\nparts:\n{parts}readings:\n{lines}"
    return solved(text, CATALOGUE)


def _pair(one: str, two: str) -> str:
    return PAIR.replace("ONE", one).replace("TWO", two)


def _said(rig: SolvedRig, explanation: Explanation) -> dict[tuple[str, str], float]:
    return {(d.kind, rig.parts[d.part].name): d.value for d in explanation.deviations}


@pytest.mark.parametrize("everywhere", [True, False])
def test_two_heads_lower_by_as_much_are_one_cause(everywhere: bool) -> None:
    """3.5 m of 5 is half way between the points: 800 N*m at 12 rad/s each, 1600 N*m together."""
    places = ["at: mill, torque: 1600 N*m, speed: 12 rad/s"]
    if everywhere:
        places += [f"at: {name}, torque: 800 N*m, speed: 12 rad/s" for name in ("one", "two")]
    rig = _rig(_pair("weir, head: 5 m", "weir, head: 5 m"), *places)
    found = diagnose(rig)
    first = found.explanations[0]
    assert _said(rig, first) == {("lower-head", "one"): 3.5, ("lower-head", "two"): 3.5}
    assert (first.causes, first.common) == (1, ((0, 1),))
    assert (found.unexplained, found.complete) == ((), True)


def test_all_prime_movers_slower_together_are_one_cause() -> None:
    """7 of 10 rad/s: one drives the adder itself, the other turns 17.5 of 25 and is reduced by 5/2.

    900 N*m and 350 x 5/2 = 875 N*m come together as ever, 1775 N*m, at 7 rad/s.
    """
    parts = """\
  one: {item: wheel}
  two: {item: race}
  step: {item: stage, ratio: 5/2, set: reduce, driven-by: two}
  adder: {item: adder, driven-by: [one, step]}
  mill: {item: mill, driven-by: adder}
"""
    rig = _rig(parts, "at: mill, torque: 1775 N*m, speed: 7 rad/s", "at: two, speed: 17.5 rad/s")
    first = diagnose(rig).explanations[0]
    assert _said(rig, first) == {("lower-speed", "one"): 0.7, ("lower-speed", "two"): 0.7}
    assert first.causes == 1


def test_two_heads_lower_by_different_amounts_are_two_deviations() -> None:
    """At 12 rad/s the weir has 3.5 m of 5 (800 N*m), and the sluice 3 m of 4 (600 N*m): 1400 N*m together.

    Neither of them alone can turn at 12 rad/s while the other turns at 15, or the adder would lock.
    """
    rig = _rig(
        _pair("weir, head: 5 m", "sluice, head: 4 m"),
        "at: mill, torque: 1400 N*m, speed: 12 rad/s",
        "at: one, torque: 800 N*m",
    )
    found = diagnose(rig)
    (first, *_) = found.explanations
    said = _said(rig, first)
    assert said.keys() == {("lower-head", "one"), ("lower-head", "two")}
    # A reading may be 2 % off, so a head may be some centimetres off; the two speeds agree to a millionth all the same.
    assert said["lower-head", "one"] == pytest.approx(3.5, abs=0.1)
    assert said["lower-head", "two"] == pytest.approx(3.0, abs=0.1)
    speeds = [9 + 6 * (said["lower-head", "one"] - 2) / 3, 6 + 9 * (said["lower-head", "two"] - 1) / 3]
    assert speeds[0] == pytest.approx(speeds[1], rel=1e-6)
    assert (first.causes, first.common, found.complete) == (2, (), True)


def test_two_heads_that_move_torque_alone_may_fall_together() -> None:
    """A flume's torque is in proportion to its head: both 1 m lower of 4 leave 3/4 of 2 x 1569.064 N*m at 20 rad/s.

    1000 x 9.80665 x 1 x 4 x 0.8 / 20 = 1569.064 N*m.
    """
    rig = _rig(
        _pair("flume, head: 4 m", "flume, head: 4 m"),
        *(f"at: {name}, torque: 1176.8 N*m, speed: 20 rad/s" for name in ("one", "two")),
    )
    first = diagnose(rig).explanations[0]
    assert _said(rig, first) == {("lower-head", "one"): 3.0, ("lower-head", "two"): 3.0}
    assert first.causes == 1


def test_a_single_part_comes_before_what_all_have_in_common() -> None:
    """1569.064 N*m less at the mill is one flume that stands, or both at half their head: one part first."""
    rig = _rig(_pair("flume, head: 4 m", "flume, head: 4 m"), "at: mill, torque: 1569 N*m, speed: 20 rad/s")
    kinds = [[d.kind for d in e.deviations] for e in diagnose(rig).explanations]
    assert kinds.index(["stopped"]) < kinds.index(["lower-head", "lower-head"])


def test_shares_that_would_be_negative_explain_nothing() -> None:
    """Of 900 N*m at most 900 go anywhere: 700 at one outlet and 700 at another leave -500 for the third."""
    found = diagnose(_rig(FORK, "at: fork.a, torque: 700 N*m", "at: fork.b, torque: 700 N*m"))
    assert found.explanations == ()
    assert found.unexplained == (0, 1)


def test_shares_that_add_up_within_the_tolerances_are_found() -> None:
    """480 and 430 N*m of 900 are 910; each may be 2 % off, so 473 and 424 N*m would leave 3 N*m."""
    rig = _rig(FORK, "at: fork.a, torque: 480 N*m", "at: fork.b, torque: 430 N*m")
    first = diagnose(rig).explanations[0]
    (only,) = first.deviations
    assert only.kind == "estimated-shares"
    assert min(only.shares) > 0
    assert sum(only.shares) == pytest.approx(1, abs=1e-9)
    assert 900 * only.shares[0] == pytest.approx(480, rel=0.0205)
    assert 900 * only.shares[1] == pytest.approx(430, rel=0.0205)


@pytest.mark.parametrize("seed", range(40))
def test_estimated_shares_are_never_negative_and_add_up_to_one(seed: int) -> None:
    """Whatever is read at two or three of three outlets; and where true shares were read, they are found again."""
    rng = random.Random(seed)
    weights = [rng.uniform(0.02, 1) for _ in range(3)]
    true = [900 * weight / sum(weights) for weight in weights]
    read = true if seed % 2 else [value * rng.uniform(0.7, 1.5) for value in true]
    places = [f"at: fork.{outlet}, torque: {value:.4f} N*m" for outlet, value in zip("abc", read, strict=True)]
    rig = _rig(FORK, *places[: 2 + seed % 3 // 2])
    found = diagnose(rig)
    shares = [d.shares for e in found.explanations for d in e.deviations if d.kind == "estimated-shares"]
    for row in shares:
        assert min(row) >= 0
        assert sum(row) == pytest.approx(1, abs=1e-9)
    if seed % 2:
        assert shares or not found.wrong


@pytest.mark.parametrize(
    ("wrong", "place"),
    [
        # 900 / (5/2) = 360 N*m at 25 rad/s: a digit more or less, or two of them the wrong way round
        ("at: step, torque: 630 N*m, speed: 25 rad/s", "step"),
        ("at: step, torque: 360 N*m, speed: 52 rad/s", "step"),
        ("at: step, torque: 36 N*m, speed: 25 rad/s", "step"),
    ],
)
def test_one_misread_digit_is_an_explanation(wrong: str, place: str) -> None:
    """What stands above and below agrees with the file, so the one number that does not is wrong itself."""
    parts = """\
  wheel: {item: wheel}
  step: {item: stage, ratio: 5/2, set: increase, driven-by: wheel}
  lay: {item: shaft, driven-by: step}
  mill: {item: mill, driven-by: lay}
"""
    right = "at: wheel, torque: 900 N*m, speed: 10 rad/s", "at: mill, torque: 360 N*m, speed: 25 rad/s"
    rig = _rig(parts, right[0], wrong, right[1])
    found = diagnose(rig)
    assert [is_misread(one) for one in found.explanations][:1] == [True]
    (only,) = found.explanations[0].deviations
    assert (rig.parts[only.part].name, only.reading) == (place, 1)


def test_a_misread_number_comes_after_one_deviation_and_before_two() -> None:
    """288 N*m at the mill are 4/5 of 360: the step has lost torque, or the mill was misread. The deviation is first."""
    parts = "  wheel: {item: wheel}\n  step: {item: stage, ratio: 5/2, set: increase, driven-by: wheel}\n"
    parts += "  mill: {item: mill, driven-by: step}\n"
    rig = _rig(parts, "at: wheel, torque: 900 N*m", "at: mill, torque: 288 N*m, speed: 25 rad/s")
    found = diagnose(rig)
    kinds = [[d.kind for d in e.deviations] for e in found.explanations]
    assert kinds == [["torque-lost"], ["wrong-reading"]]
    assert [e.weight for e in found.explanations] == sorted(e.weight for e in found.explanations)


def test_a_reading_that_nothing_else_speaks_for_is_not_called_wrong() -> None:
    """With the mill alone read nothing agrees with the file: that is no reason to doubt the reading."""
    found = diagnose(_rig(_pair("wheel", "wheel"), "at: mill, torque: 2700 N*m"))
    assert found.explanations == ()


WIDE = """\
  wheel: {item: wheel}
  fan: {item: fan, driven-by: wheel, shares: {a: 3, b: 5, c: 7, d: 11, e: 13, f: 17, g: 19, h: 23, i: 29}}
"""


def test_two_of_many_outlets_exchanged_are_found() -> None:
    """Nine shares have 362,880 orders, so not all are looked at, and that is said; two exchanged are among the first.

    Of 900 N*m in 127 parts 17 are 120.47 N*m and 29 are 205.51 N*m.
    """
    found = diagnose(_rig(WIDE, "at: fan.i, torque: 120.5 N*m", "at: fan.f, torque: 205.5 N*m"))
    (only,) = found.explanations[0].deviations
    assert (only.kind, only.shares) == ("other-shares", (3, 5, 7, 11, 13, 29, 19, 23, 17))
    assert not found.complete


def test_nothing_is_claimed_of_orders_that_were_not_tried() -> None:
    """The first three shares each one further: no exchange of two. It may be out of reach, and is then not ruled out.

    3, 5, 7 of 127 parts of 900 N*m are 21.26, 35.43 and 49.61 N*m.
    """
    readings = zip("hig", (21.26, 35.43, 49.61), strict=True)
    found = diagnose(_rig(WIDE, *(f"at: fan.{outlet}, torque: {value} N*m" for outlet, value in readings)))
    assert not found.complete


def test_the_search_counts_what_it_works_out_and_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    """With next to no steps, or no room, it ends and says that it is not complete."""
    rig = _rig(_pair("weir, head: 5 m", "weir, head: 5 m"), "at: mill, torque: 1111 N*m, speed: 13 rad/s")
    assert diagnose(rig).complete
    for bound in ("MOST_STEPS", "MOST_HELD", "MOST_SOLVES", "MOST_FREE"):
        with monkeypatch.context() as patch:
            patch.setattr(f"lineshaft.audit.search.{bound}", 0)
            assert not diagnose(rig).complete, bound
