"""Each kind of deviation in a rig small enough to reckon by hand: what is read, and what has to be named first."""

from typing import NamedTuple

import pytest
from audit.made_rigs import is_misread, solved

from lineshaft.audit.coverage import coverage
from lineshaft.audit.diagnosis import Diagnosis, diagnose
from lineshaft.audit.next_reading import next_reading
from lineshaft.solve.solved_rig import SolvedRig

CATALOGUE = """\
catalogue: 1
name: By hand
edition: "1"
lubricants: [flax-oil]
items:
  wheel: {kind: prime-mover, output: {torque: 1000 N*m, speed: 10 rad/s}}
  weir: {kind: prime-mover, table: {by: head, points: [[2 m, 400 N*m, 8 rad/s], [4 m, 1000 N*m, 10 rad/s]]}}
  flume: {kind: prime-mover, hydraulic: {flow: 1 m^3/s, efficiency: 0.8, speed: 20 rad/s}}
  shaft: {kind: shaft}
  clutch: {kind: clutch}
  stage: {kind: gear-stage, ratios: [5/2, 3, 5], lubricant: {kind: flax-oil, holds: 6 L, uses: 1 mL/s}}
  halver: {kind: splitter, outlets: 2, shares: [[1, 1], [3, 7]]}
  sharer: {kind: splitter, outlets: 2, shares: any}
  adder: {kind: combiner}
  mill: {kind: driven-machine, needs: {torque: 1 N*m}}
"""


class Case(NamedTuple):
    """Parts and readings as text, and the first explanation: kind, part, value or text of what stands."""

    parts: str
    readings: str
    first: tuple[tuple[str, str, object], ...]


# One line: wheel 1000 N*m at 10 rad/s, stage 5/2 increasing: 400 N*m at 25 rad/s; clutch and mill the same.
LINE = """\
  wheel: {item: wheel}
  stage: {item: stage, ratio: 5/2, set: increase, driven-by: wheel}
  clutch: {item: clutch, driven-by: stage}
  mill: {item: mill, driven-by: clutch}
"""
# 1000 N*m shared 3 : 7: 300 and 700 N*m, both at 10 rad/s.
FORK = """\
  wheel: {item: wheel}
  fork: {item: ITEM, driven-by: wheel, shares: {a: 3, b: 7}}
  left: {item: mill, driven-by: fork.a}
  right: {item: mill, driven-by: fork.b}
"""
ONE = {
    # the other way round it reduces: 2500 N*m at 4 rad/s
    "other-way": Case(LINE, "{at: mill, torque: 2510 N*m, speed: 3.98 rad/s}", (("other-way", "stage", None),)),
    # ratio 5: 200 N*m at 50 rad/s
    "other-ratio": Case(LINE, "{at: mill, torque: 199 N*m, speed: 50.3 rad/s}", (("other-ratio", "stage", "5"),)),
    # both: reduced by 3 it is 3000 N*m at 3.333 rad/s, two deviations at one part
    "both at one stage": Case(
        LINE,
        "{at: mill, torque: 2990 N*m, speed: 3.34 rad/s}",
        (("other-ratio", "stage", "3"), ("other-way", "stage", None)),
    ),
    # nothing arrives though the stage turns
    "clutch-open": Case(
        LINE,
        "{at: stage, torque: 400 N*m}, {at: mill, torque: 0 N*m, speed: 0 rad/s}",
        (("clutch-open", "clutch", None),),
    ),
    # the stage does not turn though the wheel does
    "not-coupled": Case(
        LINE, "{at: wheel, speed: 10 rad/s}, {at: stage, speed: 0 rad/s}", (("not-coupled", "stage", None),)
    ),
    "stopped": Case(LINE, "{at: wheel, torque: 0 N*m, speed: 0 rad/s}", (("stopped", "wheel", None),)),
    # 400 N*m less a fifth at full speed; the wheel itself gives its 1000
    "torque-lost": Case(
        LINE,
        "{at: wheel, torque: 1000 N*m}, {at: mill, torque: 320 N*m, speed: 25 rad/s}",
        (("torque-lost", "stage", 0.8),),
    ),
    # 700 N*m at the wheel, and 280 at the mill
    "lower-torque": Case(
        LINE,
        "{at: wheel, torque: 700 N*m, speed: 10 rad/s}, {at: mill, torque: 280 N*m}",
        (("lower-torque", "wheel", 0.7),),
    ),
    # 7 rad/s at the wheel and 17.5 at the mill, torque as ever
    "lower-speed": Case(
        LINE,
        "{at: wheel, torque: 1000 N*m, speed: 7 rad/s}, {at: mill, speed: 17.5 rad/s}",
        (("lower-speed", "wheel", 0.7),),
    ),
    # 3 m is half way between the two points: 700 N*m at 9 rad/s
    "lower-head by table": Case(
        LINE.replace("{item: wheel}", "{item: weir, head: 4 m}"),
        "{at: mill, torque: 280 N*m, speed: 22.5 rad/s}",
        (("lower-head", "wheel", 3.0),),
    ),
    # 1000 * 9.80665 * 1 * 3 * 0.8 / 20 = 1176.8 N*m at 20 rad/s for 3 m, of 4; over 5/2 at the mill
    "lower-head by water": Case(
        LINE.replace("{item: wheel}", "{item: flume, head: 4 m}"),
        "{at: wheel, torque: 1176.8 N*m}, {at: mill, torque: 470.7 N*m, speed: 50 rad/s}",
        (("lower-head", "wheel", 3.0),),
    ),
    # 7 : 3 gives 700 and 300
    "other-shares": Case(
        FORK.replace("ITEM", "halver"),
        "{at: left, torque: 700 N*m}, {at: right, torque: 300 N*m}",
        (("other-shares", "fork", (0.7, 0.3)),),
    ),
    # 400 and 600 of 1000 are 2 : 3
    "estimated-shares": Case(
        FORK.replace("ITEM", "sharer"),
        "{at: left, torque: 400 N*m}, {at: right, torque: 600 N*m}",
        (("estimated-shares", "fork", (0.4, 0.6)),),
    ),
    # written open, and 400 N*m arrive
    "clutch-engaged": Case(
        LINE.replace("item: clutch,", "item: clutch, engaged: false,"),
        "{at: mill, torque: 400 N*m, speed: 25 rad/s}",
        (("clutch-engaged", "clutch", None),),
    ),
}


def _rig(case: Case) -> SolvedRig:
    readings = "".join(f"  - {one}}}\n" for one in case.readings.removesuffix("}").split("}, "))
    text = f"rig: 1\nname: t\ncatalogue: made.catalogue.yaml\nparts:\n{case.parts}readings:\n{readings}"
    return solved(text, CATALOGUE)


def _first(rig: SolvedRig, found: Diagnosis) -> list[tuple[str, str, object]]:
    named: list[tuple[str, str, object]] = []
    for deviation in found.explanations[0].deviations:
        what: object = None
        if deviation.ratio is not None:
            what = deviation.ratio.text
        elif deviation.shares:
            what = tuple(round(share / sum(deviation.shares), 6) for share in deviation.shares)
        elif deviation.kind in ("torque-lost", "lower-torque", "lower-speed", "lower-head"):
            what = deviation.value
        named.append((deviation.kind, rig.parts[deviation.part].name, what))
    return named


@pytest.mark.parametrize("name", ONE)
def test_each_kind_is_named_first(name: str) -> None:
    """The deviation that was put in stands first, with its value, and every reading of the case agrees with it."""
    case = ONE[name]
    rig = _rig(case)
    found = diagnose(rig)
    assert found.wrong
    assert found.complete
    near = (pytest.approx(one[2], rel=0.01) if isinstance(one[2], float) else one[2] for one in case.first)
    wanted = [(*one[:2], what) for one, what in zip(case.first, near, strict=True)]
    assert sorted(_first(rig, found), key=str) == sorted(wanted, key=str)


def test_nothing_explains_torque_from_nowhere() -> None:
    """1000 N*m in, and 900 at both ends of a line that divides it in two: no deviation makes torque."""
    readings = "{at: left, torque: 900 N*m}, {at: right, torque: 900 N*m}, {at: wheel, torque: 1000 N*m}"
    found = diagnose(_rig(Case(FORK.replace("ITEM", "halver"), readings, ())))
    assert found.explanations == ()
    assert found.unexplained == (0, 1)
    assert found.complete


def test_separate_trains_are_explained_separately() -> None:
    """A stage the other way round in one train and an open clutch in the other: one explanation, two deviations."""
    other = LINE.replace("wheel", "wheel2").replace("item: wheel2", "item: wheel")
    for name in ("stage", "clutch", "mill"):
        other = other.replace(f"  {name}:", f"  {name}2:").replace(f"driven-by: {name}", f"driven-by: {name}2")
    readings = (
        "{at: mill, torque: 2500 N*m, speed: 4 rad/s}, {at: stage2, torque: 400 N*m}, {at: mill2, torque: 0 N*m}, "
        "{at: clutch2, speed: 0 rad/s}"
    )
    rig = _rig(Case(LINE + other, readings, ()))
    found = diagnose(rig)
    assert [_first(rig, found)] == [[("other-way", "stage", None), ("clutch-open", "clutch2", None)]]


def test_a_combiner_adds_what_its_running_inlets_bring() -> None:
    """Two wheels of 1000 N*m: 1000 instead of 2000 below, the speed kept, means that one of them does not drive."""
    parts = """\
  one: {item: wheel}
  two: {item: wheel}
  grip: {item: clutch, driven-by: two}
  add: {item: adder, driven-by: [one, grip]}
  mill: {item: mill, driven-by: add}
"""
    rig = _rig(Case(parts, "{at: mill, torque: 1000 N*m, speed: 10 rad/s}, {at: one, torque: 1000 N*m}", ()))
    assert _first(rig, diagnose(rig)) == [("clutch-open", "grip", None)]


def test_a_combiner_that_is_not_coupled_lets_its_inlets_differ() -> None:
    """One branch has ratio 5 (100 N*m at 50 rad/s), the other 5/2; they would lock, so the adder hangs loose."""
    parts = """\
  wheel: {item: wheel}
  fork: {item: halver, driven-by: wheel, shares: {a: 1, b: 1}}
  one: {item: stage, ratio: 5/2, set: increase, driven-by: fork.a}
  two: {item: stage, ratio: 5/2, set: increase, driven-by: fork.b}
  add: {item: adder, driven-by: [one, two]}
  shaft: {item: shaft, driven-by: add}
  mill: {item: mill, driven-by: shaft}
"""
    readings = "{at: one, torque: 100 N*m, speed: 50 rad/s}, {at: two, torque: 200 N*m}, {at: mill, torque: 0 N*m}"
    rig = _rig(Case(parts, readings, ()))
    found = diagnose(rig)
    assert [_first(rig, found)] == [[("other-ratio", "one", "5"), ("not-coupled", "add", None)]]
    assert len(found.explanations) == 1


def test_what_is_coupled_in_the_list_is_the_more_ordinary_one_not_to_be() -> None:
    """Of three parts in line the second has a `couple` step, so it is named first."""
    parts = """\
  wheel: {item: wheel}
  a: {item: shaft, driven-by: wheel}
  b: {item: shaft, driven-by: a}
  mill: {item: mill, driven-by: b}
commissioning:
  - couple: b
  - start: wheel
"""
    rig = _rig(Case(parts, "{at: wheel, torque: 1000 N*m}, {at: mill, torque: 0 N*m}", ()))
    names = [rig.parts[e.deviations[0].part].name for e in diagnose(rig).explanations if not is_misread(e)]
    assert names == ["b", "a", "mill"]


def test_the_further_reading_splits_the_explanations() -> None:
    """Of three shafts in line one is not coupled: the middle one's end leaves two or three, the best split there is.

    Last of the five is that the mill was misread, since all else agrees.
    """
    parts = """\
  wheel: {item: wheel}
  a: {item: shaft, driven-by: wheel}
  b: {item: shaft, driven-by: a}
  c: {item: shaft, driven-by: b}
  mill: {item: mill, driven-by: c}
"""
    rig = _rig(Case(parts, "{at: wheel, torque: 1000 N*m}, {at: mill, torque: 0 N*m}", ()))
    found = diagnose(rig)
    names = [rig.parts[e.deviations[0].part].name for e in found.explanations]
    assert names == ["a", "b", "c", "mill", "mill"]
    further = next_reading(rig, found.explanations, [one.measured for one in found.compared])
    assert further is not None
    assert (rig.parts[further.part].name, further.quantity) == ("b", "torque")
    assert [(group.low, group.explanations) for group in further.groups] == [(0.0, (0, 1)), (1000.0, (2, 3, 4))]


def test_what_no_reading_covers() -> None:
    """The right mill is not read at all; fork and wheel are read in speed alone, so a weak wheel would not show."""
    rig = _rig(Case(FORK.replace("ITEM", "halver"), "{at: left, speed: 10 rad/s}", ()))
    found = coverage(rig.train, diagnose(rig).compared)
    assert [rig.parts[n].name for n in found.nothing] == ["right"]
    assert [rig.parts[n].name for n in found.torque] == ["wheel", "fork"]
