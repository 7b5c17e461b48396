"""A policy above the files changes their verdicts; a bad one is no verdict at all. Values by hand."""

import json
from pathlib import Path
from typing import Any

import pytest
from command_runner import run

CATALOGUE = """catalogue: 1
edition: "1"
lubricants: [oil]
grades: {brass: {torque-limit: 9 kN*m}}
items:
  wheel: {kind: prime-mover, output: {torque: 100 N*m, speed: 4 rad/s}, shock: light}
  shaft: {kind: shaft, torque-limit: 120 N*m, speed-limit: 5 rad/s, made-of: {bar: 3}}
  wet: {kind: gear-stage, grade: brass, ratios: [7/3], lubricant: {kind: oil, holds: 1 L, uses: 1 mL/s}}
  mill: {kind: driven-machine, shock: moderate}
raw: {bar: {worth: 2}}
"""
RIG = """rig: 1
catalogue: c.catalogue.yaml
parts:
  w: {item: wheel}
  s: {item: shaft, driven-by: w}
  g: {item: wet, ratio: 7/3, set: reduce, driven-by: s}
  m: {item: mill, driven-by: g}
commissioning:
  - fill: {part: g, with: 1 L}
  - start: w
"""


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A rig one folder below the root; its one litre lasts 1,000 s, so it is warned of without a policy."""
    (tmp_path / ".git").mkdir()
    (tmp_path / "legs").mkdir()
    (tmp_path / "legs" / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (tmp_path / "legs" / "a.rig.yaml").write_text(RIG, "utf-8")
    return tmp_path


def check(root: Path, *more: str) -> tuple[int, list[dict[str, Any]], str]:
    """Exit code, findings and what was said beside them."""
    ran = run(root, "check", "--write", "json=-", *more, "legs/a.rig.yaml")
    return ran.returncode, json.loads(ran.stdout)["findings"] if ran.stdout else [], ran.stderr


def rules(root: Path, policy: str) -> list[str]:
    """The rules that fire under a policy at the root."""
    (root / "lineshaft.policy.yaml").write_text(f"policy: 1\n{policy}\n", "utf-8")
    return sorted(f["rule"] for f in check(root)[1])


def test_without_a_policy_the_defaults_hold(yard: Path) -> None:
    """1 L at 1 mL/s is 1,000 s, sooner than an hour; 100 of 120 N·m holds."""
    assert [f["rule"] for f in check(yard)[1]] == ["lubricant-shortfall"]


@pytest.mark.parametrize(
    ("policy", "expected"),
    [
        ("run-dry-after: 900 s", []),
        ("levels: {lubricant-shortfall: off}", []),
        ("run-dry-after: 1 s\nmargins: {torque: 1.2}", []),
        ("run-dry-after: 1 s\nmargins: {torque: 1.21}", ["margin-thin"]),
        ("run-dry-after: 1 s\nmargins: {speed: 1.26}", ["margin-thin"]),
        ("run-dry-after: 1 s\nmargins: {application-factors: iso-6336}", ["margin-thin"]),
        ("run-dry-after: 1 s\nbudget: {parts: 4, worth: 6}", []),
        ("run-dry-after: 1 s\nbudget: {parts: 3}", ["budget-exceeded"]),
        ("run-dry-after: 1 s\nbudget: {worth: 5.9}", ["budget-exceeded"]),
        ("run-dry-after: 1 s\ngrades: {forbidden: [brass]}", ["grade-forbidden"]),
        ("run-dry-after: 1 s\ngrades: {forbidden: [bronze]}", []),
        ('run-dry-after: 1 s\nedition: "1"', []),
        ('run-dry-after: 1 s\nedition: "2"', ["edition-drift"]),
        ('run-dry-after: 1 s\nedition: "2"\nlevels: {edition-drift: off}', []),
        ('exclude: ["legs/**"]', []),
    ],
)
def test_each_key_changes_a_verdict(yard: Path, policy: str, expected: list[str]) -> None:
    """Margins: 120/100 = 1.2 and 5/4 = 1.25; light wheel and moderate mill make K_A 1.60, and 1.2/1.6 < 1.

    Budget: 4 parts; the shaft alone costs, 3 bars of worth 2. The wet stage is in brass; the catalogue is edition 1.
    """
    assert rules(yard, policy) == expected


def test_application_factor_values(yard: Path) -> None:
    """120 / (100 · 1.60) = 0.75."""
    rules(yard, "run-dry-after: 1 s\nmargins: {application-factors: iso-6336}")
    values = check(yard)[1][0]["values"]
    assert values["application_factor"]["value"] == 1.6
    assert values["margin"]["value"] == pytest.approx(0.75, rel=1e-12)


def test_a_level_can_be_raised(yard: Path) -> None:
    """As an error the shortfall fails the run."""
    rules(yard, "levels: {lubricant-shortfall: error}")
    code, found, _ = check(yard)
    assert (code, found[0]["level"]) == (1, "error")


def test_the_sites_catalogue_overrides_the_rigs_own(yard: Path) -> None:
    """With a shaft of 50 N·m the rig breaks: 100 / 50 = 2 times."""
    (yard / "site.catalogue.yaml").write_text(CATALOGUE.replace("120 N*m", "50 N*m"), "utf-8")
    assert "torque-over-limit" in rules(yard, "catalogue: site.catalogue.yaml")


@pytest.mark.parametrize(
    ("policy", "place", "instead"),
    [
        ("margns: {torque: 1.1}", "line 2, column 1", "did you mean `margins`"),
        ("margins: {torqe: 1.1}", "line 2, column 11", "did you mean `torque`"),
        ("budget: {part: 3}", "line 2, column 10", "did you mean `parts`"),
        ("budget: {parts: -1}", "line 2, column 17", "a budget is 0 or more, got -1"),
        ("margins: {torque: 0}", "line 2, column 19", "a margin is more than 0, got 0"),
        ("grades: {forbiden: [brass]}", "line 2, column 10", "did you mean `forbidden`"),
        ("levels: {edition-drif: off}", "line 2, column 10", "did you mean edition-drift?"),
        ("levels: {rule-crashed: off}", "line 2, column 10", "there is no rule `rule-crashed`"),
        ("levels: {not-judged: off}", "line 2, column 22", "`not-judged` cannot be turned off"),
        ("levels: {edition-drift: loud}", "line 2, column 25", "off, note, warning or error"),
        ("run-dry-after: 900", "line 2, column 16", "write 900 s, 900 min or 900 h"),
        ("catalogue: none.catalogue.yaml", "", "none.catalogue.yaml is not there"),
    ],
)
def test_a_bad_policy_is_exit_2_and_no_verdict(yard: Path, policy: str, place: str, instead: str) -> None:
    """It is the one finding, with its place and the nearest key, rule or word that is known."""
    (yard / "lineshaft.policy.yaml").write_text(f"policy: 1\n{policy}\n", "utf-8")
    code, (found,), _ = check(yard)
    at = f"line {found['start']['line']}, column {found['start']['column']}"
    assert (code, found["file"]) == (2, "lineshaft.policy.yaml")
    assert place in (at, "")
    assert instead in found["message"]


GRADED = """catalogue: 1
edition: "1"
grades: {elm: {torque-limit: 50 N*m}, ash: {torque-limit: 105 N*m}, iron: {torque-limit: 200 N*m}}
items:
  wheel: {kind: prime-mover, output: {torque: 100 N*m, speed: 4 rad/s}}
  shaft: {kind: shaft, grades: [elm, ash, iron]}
  mill: {kind: driven-machine}
"""


@pytest.mark.parametrize(
    ("policy", "grade", "rule", "mended"),
    [
        ("", "elm", "torque-over-limit", "ash"),
        ("grades: {forbidden: [ash]}", "elm", "torque-over-limit", "iron"),
        ("grades: {forbidden: [ash]}", "ash", "grade-forbidden", "iron"),
        ("margins: {torque: 1.1}", "ash", "margin-thin", "iron"),
    ],
)
def test_repairs_keep_to_the_policy(yard: Path, policy: str, grade: str, rule: str, mended: str) -> None:
    """100 N·m: elm's 50 breaks, ash's 105 is a margin of 1.05, iron's 200 one of 2; what is forbidden is no cure."""
    (yard / "legs" / "c.catalogue.yaml").write_text(GRADED, "utf-8")
    parts = f"w: {{item: wheel}}, s: {{item: shaft, grade: {grade}, driven-by: w}}, m: {{item: mill, driven-by: s}}"
    (yard / "legs" / "a.rig.yaml").write_text(f"rig: 1\ncatalogue: c.catalogue.yaml\nparts: {{{parts}}}\n", "utf-8")
    (yard / "lineshaft.policy.yaml").write_text(f"policy: 1\n{policy}\n", "utf-8")
    (found,) = check(yard)[1]
    assert found["rule"] == rule
    # Grades cost nothing here, and of repairs that cost the same and touch the same part the first by name is shown.
    assert [repair["title"] for repair in found["repairs"]] == [f"make s in {mended}"]


def test_a_policy_can_be_named(yard: Path) -> None:
    """`--policy` takes the place of the nearest one."""
    (yard / "lineshaft.policy.yaml").write_text("policy: 1\nlevels: {lubricant-shortfall: off}\n", "utf-8")
    (yard / "strict").mkdir()
    (yard / "strict" / "lineshaft.policy.yaml").write_text("policy: 1\n", "utf-8")
    assert check(yard)[1] == []
    assert len(check(yard, "--policy", "strict/lineshaft.policy.yaml")[1]) == 1


def test_forbidden_grades_of_a_catalogue_that_cannot_be_read_are_no_fault_of_the_policy(yard: Path) -> None:
    """The catalogue's fault is told where a rig draws on it, and is a finding, not an unusable policy."""
    (yard / "legs" / "c.catalogue.yaml").write_text("catalogue: 1\nitems: [\n", "utf-8")
    policy = "policy: 1\ncatalogue: legs/c.catalogue.yaml\ngrades: {forbidden: [bras]}\n"
    (yard / "lineshaft.policy.yaml").write_text(policy, "utf-8")
    code, found, _ = check(yard)
    assert code == 1
    assert "not-yaml" in {finding["rule"] for finding in found}
    assert "lineshaft.policy.yaml" not in {finding["file"] for finding in found}
