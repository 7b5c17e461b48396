"""What is not judged never passes in silence: a missing default, and what a policy keeps from being told."""

from pathlib import Path

import pytest

from lineshaft.api import NoFix
from lineshaft.check.checker import Checker
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.rulebook import open_rulebook
from lineshaft.rules import not_judged
from lineshaft.testing import rig_from_text

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  rod: {kind: shaft}
  stage: {kind: gear-stage, ratios: [5/2, 3]}
  gatherer: {kind: combiner, inlets: 2}
  mill: {kind: driven-machine}
"""
RIG = "rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n"


def found(
    folder: Path, *parts: str, policy: str = "", above: str = RIG, name: str = "a.rig.yaml"
) -> list[JudgedFinding]:
    """What is found in a rig whose parts begin on line 4."""
    root = folder.resolve()
    (root / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (root / name).write_text(above + "".join(f"  {part}\n" for part in parts), "utf-8")
    if policy:
        (root / "lineshaft.policy.yaml").write_text(f"policy: 1\n{policy}\n", "utf-8")
    kind = "rig" if name.endswith(".rig.yaml") else "blueprint"
    return [f for f in Checker(root, open_rulebook()).report(root / name, kind).findings if f.rule != "loose-end"]


W = "w: {item: wheel}"
SILENCED = [
    ("drive-loop", [W, "a: {item: rod, driven-by: b}", "b: {item: rod, driven-by: a}"], 5, "note"),
    ("shared-outlet", [W, "a: {item: rod, driven-by: w}", "m: {item: mill, driven-by: w}"], 6, "note"),
    (
        "combiner-mismatch",
        [
            W,
            "x: {item: wheel}",
            "s: {item: stage, ratio: 3, set: reduce, driven-by: x}",
            "g: {item: gatherer, driven-by: [w, s]}",
        ],
        7,
        "note",
    ),
    ("not-offered", [W, "s: {item: stage, ratio: 7, set: reduce, driven-by: w}"], 5, "note"),
    ("unknown-reference", [W, "m: {item: mill, driven-by: v}"], 5, "note"),
    ("bad-quantity", [W, "s: {item: stage, ratio: 0.3, set: reduce, driven-by: w}"], 5, "error"),
    ("not-schema", [W, "m: {item: mill, drivenby: w}"], 5, "error"),
    ("not-schema", ["a: {}"], 4, "error"),
    ("drive-loop", ["a: {item: rod, driven-by: b}", "b: {item: rod, driven-by: a}"], 4, "error"),
]


@pytest.mark.parametrize(("rule", "parts", "line", "level"), SILENCED)
def test_what_a_silenced_rule_leaves_unsolved_is_told(
    tmp_path: Path, rule: str, parts: list[str], line: int, level: str
) -> None:
    """With the rule on it says so itself; off, `not-judged` stands there, an error where nothing else was judged."""
    assert {finding.rule for finding in found(tmp_path, *parts)} == {rule}
    told = found(tmp_path, *parts, policy=f"levels: {{{rule}: off}}")
    assert [(f.rule, f.level, f.span.start.line) for f in told] == [("not-judged", level, line)]
    assert f"`{rule}`" in str(told[0].message)


def test_a_rule_that_is_off_and_hides_no_part_stays_silent(tmp_path: Path) -> None:
    """A reading of a part that is not there leaves no part unsolved."""
    below = "readings: [{at: v, speed: 8 rad/s}]"
    assert [f.rule for f in found(tmp_path, W, "m: {item: mill, driven-by: w}")] == []
    text = "m: {item: mill, driven-by: w}\n" + below
    assert [f.rule for f in found(tmp_path, W, text)] == ["unknown-reference"]
    assert found(tmp_path, W, text, policy="levels: {unknown-reference: off}") == []


def test_only_what_hides_a_part_is_told_of_a_rule_that_is_off(tmp_path: Path) -> None:
    """The machine is left unsolved by a name that is not there; a reading of another such name leaves nothing so."""
    text = "m: {item: mill, driven-by: v}\nreadings: [{at: x, speed: 8 rad/s}]"
    (told,) = found(tmp_path, W, text, policy="levels: {unknown-reference: off}")
    assert (told.rule, told.span.start.line) == ("not-judged", 5)


def test_what_is_not_judged_is_nobodys_to_repair(tmp_path: Path) -> None:
    """An error that no repair is sought for says why."""
    (told,) = found(tmp_path, *SILENCED[-1][1], policy="levels: {drive-loop: off}")
    assert (told.rule, told.level) == ("not-judged", "error")
    (offer,) = not_judged.repairs(rig_from_text(RIG), told)
    assert isinstance(offer, NoFix)
    assert "nothing here is known to be wrong or right" in offer.reason


def test_a_policy_may_raise_it(tmp_path: Path) -> None:
    """As an error it fails the run, though some of the rig was judged."""
    parts = (W, "m: {item: mill, driven-by: v}")
    (told,) = found(tmp_path, *parts, policy="levels: {unknown-reference: off, not-judged: error}")
    assert (told.rule, told.level) == ("not-judged", "error")


BLUEPRINT = """blueprint: 1
catalogue: c.catalogue.yaml
takes: {ratio: {kind: ratio}, way: {kind: direction}, most: {kind: torque}}
"""


def test_each_missing_default_is_told_once_where_it_is_declared(tmp_path: Path) -> None:
    """Two parts hang on the ratio, one of them on the direction too, the inlet on its torque: line 3, three times."""
    told = found(
        tmp_path,
        "s: {item: stage, ratio: $ratio, set: reduce, driven-by: in}",
        "t: {item: stage, ratio: $ratio, set: $way, driven-by: s}",
        above=BLUEPRINT + "inlets: {in: {torque-up-to: $most, speed-up-to: 8 rad/s}}\nparts:\n",
        name="x.blueprint.yaml",
    )
    assert [(f.rule, f.level, f.span.start) for f in told] == [
        ("not-judged", "error", (3, 9)),
        ("not-judged", "error", (3, 31)),
        ("not-judged", "error", (3, 55)),
    ]
    assert [str(f.message[0]).partition(",")[0] for f in told] == [
        "ratio has no default",
        "way has no default",
        "most has no default",
    ]


def test_a_missing_default_waits_for_a_fault_that_leaves_all_unsolved(tmp_path: Path) -> None:
    """A torque without its unit, at the inlet on line 4: mended first, or the default would be told of nothing."""
    (told,) = found(
        tmp_path,
        "s: {item: stage, ratio: $ratio, set: reduce, driven-by: in}",
        above=BLUEPRINT + "inlets: {in: {torque-up-to: 900, speed-up-to: 8 rad/s}}\nparts:\n",
        name="x.blueprint.yaml",
    )
    assert (told.rule, told.span.start.line) == ("bad-quantity", 4)


def test_a_default_handed_on_to_another_blueprint_is_told_where_it_is_missing(tmp_path: Path) -> None:
    """The outer blueprint hands `$ratio` on to the inner one, whose stage hangs on it."""
    inner = (
        "blueprint: 1\ncatalogue: c.catalogue.yaml\ntakes: {r: {kind: ratio, default: 3}}\n"
        "inlets: {d: {torque-up-to: 900 N*m, speed-up-to: 8 rad/s}}\n"
        "parts:\n  s: {item: stage, ratio: $r, set: reduce, driven-by: d}\noutlets: {out: s}\n"
    )
    (tmp_path / "inner.blueprint.yaml").write_text(inner, "utf-8")
    above = BLUEPRINT.replace(", way: {kind: direction}, most: {kind: torque}", "")
    (told,) = found(
        tmp_path,
        "leg: {blueprint: inner.blueprint.yaml, driven-by: in, with: {r: $ratio}}",
        above=above + "inlets: {in: {torque-up-to: 900 N*m, speed-up-to: 8 rad/s}}\nparts:\n",
        name="x.blueprint.yaml",
    )
    assert (told.rule, told.level, told.file, told.span.start) == ("not-judged", "error", "x.blueprint.yaml", (3, 9))
    assert "leg/s" in str(told.message)
