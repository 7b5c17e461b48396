"""What outputs, ratios and shares take out of 1e-90 to 1e90 is told at the part where it happens; values by hand."""

from pathlib import Path
from random import Random

import pytest

from lineshaft.check.checker import Checker
from lineshaft.check.finding import Measure
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.rulebook import open_rulebook

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 9e80 N*m, speed: 8 rad/s}}
  gale: {kind: prime-mover, output: {torque: 9e60 N*m, speed: 3e50 rad/s}}
  crawl: {kind: prime-mover, output: {torque: 900 N*m, speed: 8e-84 rad/s}}
  breath: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  race: {kind: prime-mover, hydraulic: {flow: 7e-80 m^3/s, speed: 8 rad/s}}
  stage: {kind: gear-stage, ratios: [3e5, 7]}
  divider: {kind: splitter, outlets: 2, shares: any}
  gatherer: {kind: combiner, inlets: 2}
  rod: {kind: shaft}
  worn: {kind: shaft, efficiency: 3e-70}
  mill:
    kind: driven-machine
    needs: {torque: 50 N*m, speed: 3 rad/s, power: 70 W}
    limits: {torque: 70 N*m, speed: 9 rad/s}
    work: {unit: plank, times: [[2 rad/s, 60 s], [9 rad/s, 7 s]], between: log-speed}
"""
RIG = "rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n"


def judged(folder: Path, *parts: str, catalogue: str = CATALOGUE) -> tuple[list[JudgedFinding], int]:
    """What is found in a rig, open ends aside, and how many of its parts were not solved."""
    root = folder.resolve()
    (root / "c.catalogue.yaml").write_text(catalogue, "utf-8")
    (root / "a.rig.yaml").write_text(RIG + "".join(f"  {part}\n" for part in parts), "utf-8")
    found = Checker(root, open_rulebook()).report(root / "a.rig.yaml", "rig")
    return [finding for finding in found.findings if finding.rule != "loose-end"], found.unsolved


UNDER = ((1, "w"), (2, "s1"))
REDUCING = [f"s{n}: {{item: stage, ratio: 3e5, set: reduce, driven-by: {above}}}" for n, above in UNDER]
LEAVING = [
    # 9e80 · 3e5 · 3e5 = 8.1e91 N·m
    (["w: {item: wheel}", *REDUCING, "m: {item: mill, driven-by: s2}"], "s2", "torque", 2, 8.1e91),
    # 9e80 · 3e50 = 2.7e111 W
    (["w: {item: gale}", "m: {item: mill, driven-by: w}"], "w", "power", 2, 2.7e111),
    # 900 · 7e-85 / 3e85 = 2.1e-167 N·m at the smaller outlet
    (
        ["w: {item: breath}", "d: {item: divider, driven-by: w, shares: {a: 7e-85, b: 3e85}}"],
        "d",
        "torque",
        1,
        2.1e-167,
    ),
    # 1000 · 9.80665 · 7e-80 · 5e-30 = 3.4e-105 W, at 8 rad/s 4.3e-106 N·m
    (
        ["w: {item: race, head: 5e-30 m}", "m: {item: mill, driven-by: w}"],
        "w",
        "torque",
        2,
        1000 * 9.80665 * 7e-80 * 5e-30 / 8,
    ),
    # 900 · 3e-70 · 3e-70 = 8.1e-137 N·m
    (
        ["w: {item: breath}", "a: {item: worn, driven-by: w}", "b: {item: worn, driven-by: a}"],
        "b",
        "torque",
        1,
        8.1e-137,
    ),
    # 8e-84 / 3e5 / 3e5 = 8.9e-95 rad/s
    (["w: {item: crawl}", *REDUCING], "s2", "speed", 1, 8e-84 / 9e10),
]


@pytest.mark.parametrize(("parts", "part", "quantity", "unsolved", "value"), LEAVING)
def test_the_part_where_a_value_leaves_the_bounds_is_told(
    tmp_path: Path, parts: list[str], part: str, quantity: str, unsolved: int, value: float
) -> None:
    """One error; the part and all below it are unsolved, and no rule divides by what is left there."""
    found, left = judged(tmp_path, *parts)
    assert [(f.rule, f.level, f.part) for f in found] == [("bad-quantity", "error", part)]
    assert f"its {quantity} is " in str(found[0].message)
    assert [piece.value for piece in found[0].message if isinstance(piece, Measure)] == [pytest.approx(value, rel=1e-9)]
    assert left == unsolved


def test_what_stays_within_is_judged(tmp_path: Path) -> None:
    """9e80 · 3e5 = 2.7e86 N·m at 8 / 3e5 rad/s: within, so the mill's own limit of 70 N·m tells."""
    found, left = judged(tmp_path, "w: {item: wheel}", REDUCING[0], "m: {item: mill, driven-by: s1}")
    assert ({f.rule for f in found}, left) == ({"torque-over-limit", "machine-underdriven"}, 0)


def test_a_value_that_leaves_on_the_way_into_work_is_told(tmp_path: Path) -> None:
    """Declared to increase twice, delivered to reduce: 9e80 · 3e5 · 3e5 N·m at the second stage before it is set."""
    parts = ["w: {item: wheel}", *(stage.replace("reduce", "increase") for stage in REDUCING)]
    found, left = judged(tmp_path, *parts)
    told = sorted((f.rule, f.part) for f in found)
    assert told == [
        ("bad-quantity", "s2"),
        ("direction-before-commissioning", "s1"),
        ("direction-before-commissioning", "s2"),
    ]
    assert left == 0


def test_a_section_that_stands_next_to_nothing_is_told_in_the_catalogue(tmp_path: Path) -> None:
    """3 Pa · π · (7e-40 m)³ / 16 is 2e-118 N·m."""
    thin = CATALOGUE + "  thin: {kind: shaft, section: {diameter: 7e-40 m, allowable-shear: 3 Pa}}\n"
    (found,), _ = judged(tmp_path, "w: {item: breath}", "t: {item: thin, driven-by: w}", catalogue=thin)
    assert (found.rule, found.file, found.span.start.line) == ("bad-quantity", "c.catalogue.yaml", 19)


def test_two_speeds_of_a_work_table_may_lie_next_to_each_other(tmp_path: Path) -> None:
    """8 rad/s and the double below it, whose quotient is 1 in doubles: at 8 rad/s the second row holds."""
    near = CATALOGUE.replace("[2 rad/s, 60 s], [9 rad/s, 7 s]", "[7.999999999999999 rad/s, 60 s], [8 rad/s, 7 s]")
    found, left = judged(tmp_path, "w: {item: breath}", "m: {item: mill, driven-by: w}", catalogue=near)
    assert ([f.rule for f in found], left) == (["torque-over-limit"], 0)


@pytest.mark.parametrize("seed", range(60))
def test_no_rule_crashes_whatever_the_exponents(tmp_path: Path, seed: int) -> None:
    """Rigs of ten parts with outputs, ratios, shares and efficiencies anywhere between 1e-89 and 9e88."""
    rng = Random(seed)

    def any_of(least: int, most: int) -> str:
        return f"{rng.randint(1, 9)}e{rng.randint(least, most)}"

    ratios = [any_of(0, 5) for _ in range(4)]
    catalogue = CATALOGUE.replace("[3e5, 7]", f"[{', '.join(dict.fromkeys(ratios))}]")
    given = f"torque: {any_of(-89, 88)} N*m, speed: {any_of(-40, 40)}"
    catalogue = catalogue.replace("torque: 9e80 N*m, speed: 8", given)
    catalogue = catalogue.replace("efficiency: 3e-70", f"efficiency: {any_of(-89, -1)}")
    parts, ends = ["w: {item: wheel}"], ["w"]
    for n in range(9):
        above = ends.pop(rng.randrange(len(ends)))
        kind = rng.choice(("stage", "divider", "worn", "rod"))
        if kind == "stage":
            way = rng.choice(("reduce", "increase"))
            parts.append(f"p{n}: {{item: stage, ratio: {rng.choice(ratios)}, set: {way}, driven-by: {above}}}")
            ends.append(f"p{n}")
        elif kind == "divider":
            shares = f"{{a: {any_of(-89, 88)}, b: {any_of(-89, 88)}}}"
            parts.append(f"p{n}: {{item: divider, driven-by: {above}, shares: {shares}}}")
            ends += [f"p{n}.a", f"p{n}.b"]
        else:
            parts.append(f"p{n}: {{item: {kind}, driven-by: {above}}}")
            ends.append(f"p{n}")
    parts += [f"m{n}: {{item: mill, driven-by: {above}, target: {{time: 9 s}}}}" for n, above in enumerate(ends)]
    found, left = judged(tmp_path, *parts, catalogue=catalogue)
    assert not {"rule-crashed", "internal-error"} & {f.rule for f in found}
    assert not left or any(f.rule == "bad-quantity" for f in found)
