"""A blueprint judged alone: fed what its inlets promise, no more and no less; all values by hand."""

from pathlib import Path

import pytest

from lineshaft.check.checker import Checker
from lineshaft.check.finding import value_of
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.rulebook import open_rulebook
from lineshaft.write.summary import FileReport

CATALOGUE = """catalogue: 1
edition: "2"
items:
  wheel: {kind: prime-mover, output: {torque: 90 N*m, speed: 4 rad/s}}
  shaft: {kind: shaft, torque-limit: 100 N*m, speed-limit: 30 rad/s}
  rod: {kind: shaft}
  stage: {kind: gear-stage, ratios: [5/2, 5]}
  divider: {kind: splitter, outlets: 2, shares: any}
  gatherer: {kind: combiner}
  mill: {kind: driven-machine, needs: {torque: 40 N*m, speed: 10 rad/s}}
  saw:
    kind: driven-machine
    needs: {torque: 5 N*m}
    work: {unit: plank, times: [[1 rad/s, 60 s], [90 rad/s, 6 s]], between: linear}
"""


def sheet(folder: Path, inlets: str, *parts: str, below: str = "") -> FileReport:
    """A blueprint whose inlets stand on line 3 and whose parts begin on line 5."""
    (folder / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    text = f"blueprint: 1\ncatalogue: c.catalogue.yaml\ninlets: {inlets}\nparts:\n"
    (folder / "x.blueprint.yaml").write_text(text + "".join(f"  {part}\n" for part in parts) + below, "utf-8")
    return Checker(folder.resolve(), open_rulebook()).report(folder.resolve() / "x.blueprint.yaml", "blueprint")


def told(found: FileReport) -> list[tuple[str, str | None, int]]:
    return [(finding.rule, finding.part, finding.span.start.line) for finding in found.findings]


def one(found: FileReport) -> JudgedFinding:
    (finding,) = found.findings
    return finding


def test_limits_are_judged_at_the_edge(tmp_path: Path) -> None:
    """40 N*m at 75 rad/s, reducing 5/2 : 1: 100 N*m at 30 rad/s, just within; with 40.8 N*m 102 / 100 times."""
    parts = ("s: {item: stage, ratio: 5/2, set: reduce, driven-by: in}", "t: {item: shaft, driven-by: s}")
    held = sheet(tmp_path, "{in: {torque-up-to: 40 N*m, speed-up-to: 75 rad/s}}", *parts, below="outlets: {out: t}\n")
    assert (told(held), held.parts, held.unsolved) == ([], 2, 0)
    inlets = "{in: {torque-up-to: 40.8 N*m, speed-up-to: 75 rad/s}}"
    over = one(sheet(tmp_path, inlets, *parts, below="outlets: {out: t}\n"))
    assert (over.rule, over.part, over.span.start.line) == ("torque-over-limit", "t", 6)
    assert value_of(over, "times_limit") == pytest.approx(1.02, rel=1e-12)
    assert over.because[0].part == "in"
    assert over.because[0].span.start == (3, 10)


def test_an_outlet_left_over_is_loose_a_declared_one_is_not(tmp_path: Path) -> None:
    """Of a splitter's two outlets one leads out; the other drives nothing. An inlet that drives nothing is one too."""
    inlets = "{in: {torque-up-to: 50 N*m, speed-up-to: 6 rad/s}, idle: {torque-up-to: 1 N*m, speed-up-to: 1 rad/s}}"
    found = sheet(
        tmp_path,
        inlets,
        "d: {item: divider, driven-by: in, shares: {a: 1, b: 1}}",
        below="outlets: {out: d.a}\n",
    )
    assert told(found) == [("loose-end", "idle", 3), ("loose-end", "d", 5)]


def test_a_machine_is_short_only_where_the_edge_is(tmp_path: Path) -> None:
    """80 N*m, halved, is the 40 that the mill needs: silent though a rig may give less; 79 are too few everywhere."""
    parts = (
        "d: {item: divider, driven-by: in, shares: {a: 1, b: 1}}",
        "m: {item: mill, driven-by: d.a}",
    )
    below = "outlets: {out: d.b}\n"
    assert told(sheet(tmp_path, "{in: {torque-up-to: 80 N*m, speed-up-to: 10 rad/s}}", *parts, below=below)) == []
    short = sheet(tmp_path, "{in: {torque-up-to: 79 N*m, speed-up-to: 10 rad/s}}", *parts, below=below)
    assert told(short) == [("machine-underdriven", "m", 6)]


def test_torque_to_spare_at_the_edge_is_no_surplus(tmp_path: Path) -> None:
    """50 N*m is ten times the saw's need, but only an upper bound; a wheel of the blueprint's own does give it."""
    fed = sheet(tmp_path, "{in: {torque-up-to: 50 N*m, speed-up-to: 9 rad/s}}", "s: {item: saw, driven-by: in}")
    assert told(fed) == []
    own = sheet(tmp_path, "{}", "w: {item: wheel}", "s: {item: saw, driven-by: w}")
    assert told(own) == [("machine-surplus", "s", 6)]
    inlets = "{in: {torque-up-to: 50 N*m, speed-up-to: 9 rad/s}}"
    both = sheet(tmp_path, inlets, "s: {item: saw, driven-by: in}", "w: {item: wheel}", "t: {item: saw, driven-by: w}")
    assert told(both) == [("machine-surplus", "t", 7)]


@pytest.mark.parametrize(("speed", "leaves"), [(7, 7), (9, 8)])
def test_inlets_that_a_combiner_joins_are_taken_at_one_speed(tmp_path: Path, speed: int, leaves: int) -> None:
    """Promises of 20 and 7 rad/s, the second increased 5/2 : 1, meet at 17.5: 40 + 60 / 2.5 = 64 N*m, no mismatch.

    Of 20 and 9, which makes 22.5, the second is slowed, and they meet at 20.
    """
    second = f"{{torque-up-to: 60 N*m, speed-up-to: {speed} rad/s}}"
    inlets = f"{{a: {{torque-up-to: 40 N*m, speed-up-to: 20 rad/s}}, b: {second}}}"
    found = sheet(
        tmp_path,
        inlets,
        "s: {item: stage, ratio: 5/2, set: increase, driven-by: b}",
        "g: {item: gatherer, driven-by: [a, s]}",
        "t: {item: shaft, driven-by: g}",
        "k: {item: stage, ratio: 5/2, set: reduce, driven-by: t}",
        "u: {item: shaft, driven-by: k}",
        below="outlets: {out: u}\ncommissioning: [set: {part: s, to: increase}]\n",
    )
    over = one(found)
    assert (over.rule, over.part) == ("torque-over-limit", "u")
    assert value_of(over, "torque_in") == pytest.approx(160, rel=1e-9)
    turns = next(cause for cause in over.because if cause.part == "k").values
    assert dict(turns)["speed"].value == pytest.approx(leaves, rel=1e-9)


def test_a_mismatch_that_no_feed_can_mend_is_told(tmp_path: Path) -> None:
    """One inlet on both lines of a combiner, one of them 5/2 : 1: the lines never agree."""
    found = sheet(
        tmp_path,
        "{in: {torque-up-to: 50 N*m, speed-up-to: 9 rad/s}}",
        "d: {item: divider, driven-by: in, shares: {a: 1, b: 1}}",
        "s: {item: stage, ratio: 5/2, set: increase, driven-by: d.a}",
        "g: {item: gatherer, driven-by: [s, d.b]}",
        below="outlets: {out: g}\ncommissioning: [set: {part: s, to: increase}]\n",
    )
    assert told(found) == [("combiner-mismatch", "g", 7)]


def test_a_parameter_without_a_default_leaves_its_part_unsolved(tmp_path: Path) -> None:
    """What hangs on it is not judged and counted as not solved; the rest is: the mill by the wheel, 4 of 10 rad/s."""
    found = sheet(
        tmp_path,
        "{in: {torque-up-to: 50 N*m, speed-up-to: 9 rad/s}}",
        "s: {item: stage, ratio: $ratio, set: reduce, driven-by: in}",
        "t: {item: shaft, driven-by: s, label: $name}",
        "w: {item: wheel}",
        "m: {item: mill, driven-by: w}",
        "r: {item: rod, driven-by: in, label: $name, at: [$x, 0, 0]}",
        below="outlets: {out: t}\ntakes: {ratio: {kind: ratio}, name: {kind: text}, x: {kind: number}}\n",
    )
    assert (found.parts, found.unsolved) == (5, 2 + 1)
    # A parameter that is only shown is not missed; the ratio is, and some parts are judged all the same: a note.
    assert told(found) == [("machine-underdriven", "m", 8), ("shared-outlet", "r", 9), ("not-judged", None, 11)]
    assert found.findings[-1].level == "note"
    assert "ratio has no default, so s and all that hangs on it is not judged" in str(found.findings[-1].message)


EDGE = "{in: {torque-up-to: 24 N*m, speed-up-to: 3 rad/s}}"
TURNED = ("s: {item: stage, ratio: 5, set: increase, driven-by: in}", "t: {item: shaft, driven-by: s}")
STARTS = [
    # No list of its own: a rig's may set it, so a warning, at the direction (line 5).
    ("", "warning", 5, "no list sets it"),
    # A list that sets it to what it is delivered as anyway, and one that leaves it out.
    ("commissioning: [set: {part: s, to: reduce}]", "error", 8, "its list sets it to reduce"),
    ("commissioning: [couple: s]", "error", 5, "its list does not set it"),
]


@pytest.mark.parametrize(("steps", "level", "line", "words"), STARTS)
def test_a_blueprint_is_started_at_the_edge(tmp_path: Path, steps: str, level: str, line: int, words: str) -> None:
    """Delivered to reduce, meant to increase: 24 · 5 = 120 N·m at 3 / 5 rad/s, 1.2 times the 100 N·m of the shaft."""
    finding = one(sheet(tmp_path, EDGE, *TURNED, below=f"outlets: {{out: t}}\n{steps}\n"))
    assert (finding.rule, finding.level, finding.part) == ("direction-before-commissioning", level, "s")
    assert finding.span.start.line == line
    assert words in str(finding.message)
    values = {name: value_of(finding, name) for name in ("torque_out", "speed_out", "limit", "times_limit")}
    assert values == pytest.approx({"torque_out": 120, "speed_out": 0.6, "limit": 100, "times_limit": 1.2})


def test_a_blueprint_whose_list_sets_its_stages_is_clean(tmp_path: Path) -> None:
    """Its last word on the stage counts; that it couples and starts nothing is for the rig's list."""
    below = "outlets: {out: t}\ncommissioning: [set: {part: s, to: reduce}, set: {part: s, to: increase}]\n"
    below = below.replace("[set", "[{set").replace("}, set", "}}, {set").replace("increase}]", "increase}}]")
    assert told(sheet(tmp_path, EDGE, *TURNED, below=below)) == []


def test_a_list_with_a_gap_is_not_judged(tmp_path: Path) -> None:
    """What the list does hangs on a parameter without a default: that is told, not what it would come to."""
    below = "outlets: {out: t}\ntakes: {way: {kind: direction}}\ncommissioning: [set: {part: s, to: $way}]\n"
    found = sheet(tmp_path, EDGE, *TURNED, below=below)
    assert [(f.rule, f.level, f.part) for f in found.findings] == [("not-judged", "note", None)]
    assert "its start-up is not judged" in str(one(found).message)


def test_an_edition_is_compared_too(tmp_path: Path) -> None:
    """The blueprint was worked out for edition 1, the catalogue is 2: at the edition's line."""
    found = sheet(
        tmp_path,
        "{in: {torque-up-to: 1 N*m, speed-up-to: 9 rad/s}}",
        "s: {item: rod, driven-by: in}",
        below='outlets: {out: s}\nedition: "1"\n',
    )
    assert told(found) == [("edition-drift", None, 7)]


def test_a_budget_is_for_rigs(tmp_path: Path) -> None:
    """A site that allows one part a rig says nothing of a blueprint of two."""
    (tmp_path / "lineshaft.policy.yaml").write_text("policy: 1\nbudget: {parts: 1}\n", "utf-8")
    found = sheet(
        tmp_path,
        "{in: {torque-up-to: 1 N*m, speed-up-to: 9 rad/s}}",
        "s: {item: rod, driven-by: in}",
        "t: {item: rod, driven-by: s}",
        below="outlets: {out: t}\n",
    )
    assert told(found) == []
