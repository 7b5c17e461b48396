"""Each rule's twins in ``tests/rules``: one file that breaks it, and its twin, one thing apart, that holds.

The expected values are reckoned by hand; the arithmetic stands in the first line of each breaking file.
The runner lies outside ``tests/rules``, which is the package of samples that an installed lineshaft has.
"""

import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from lineshaft.check.checker import Checker
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.check.rulebook import open_rulebook
from lineshaft.schema.loading import kind_of

TWINS = Path(__file__).parents[1].resolve() / "rules"
RULES = sorted(folder.name for folder in TWINS.iterdir() if (folder / "expected.json").is_file())


def findings(sample: Path) -> tuple[JudgedFinding, ...]:
    kind = kind_of(sample)
    assert kind is not None
    return Checker(TWINS, open_rulebook()).report(sample, kind).findings


def sample_of(rule: str, which: str) -> Path:
    (found,) = (TWINS / rule).glob(f"{which}.*.yaml")
    return found


def core(finding: JudgedFinding) -> tuple[str, str, str | None, int]:
    return finding.rule, finding.level, finding.part, finding.span.start.line


def text_lines(sample: Path) -> "Counter[str]":
    """The lines of a sample that say something."""
    lines = sample.read_text("utf-8").splitlines()
    return Counter(line for line in lines if not line.lstrip().startswith("#"))


def assert_values(finding: JudgedFinding, expected: dict[str, Any]) -> None:
    got = {name: measure.value for name, measure in finding.values}
    assert got.keys() == expected.keys()
    for name, value in got.items():
        wanted = expected[name]
        if isinstance(wanted, str):
            assert value == wanted
        else:
            plain = list(value) if isinstance(value, tuple) else value
            assert plain == pytest.approx(wanted, rel=1e-9, abs=0.0), name


@pytest.mark.parametrize("rule", RULES)
def test_the_breaking_twin_gives_the_findings_reckoned_by_hand(rule: str) -> None:
    """The rule's findings are those expected, with their values; no other is an error unless it is expected too."""
    expected = json.loads((TWINS / rule / "expected.json").read_text("utf-8"))
    found = findings(sample_of(rule, "breaks"))
    listed = {entry["rule"] for entry in expected}
    assert rule in listed
    judged = [f for f in found if f.level == "error" or f.rule in listed]
    wanted = sorted(expected, key=lambda e: (e["line"], e["rule"]))
    judged.sort(key=lambda f: (f.span.start.line, f.rule))
    assert [core(f) for f in judged] == [(e["rule"], e["level"], e["part"], e["line"]) for e in wanted]
    for finding, entry in zip(judged, wanted, strict=True):
        assert_values(finding, entry["values"])


@pytest.mark.parametrize("rule", RULES)
def test_the_holding_twin_has_no_finding_at_all(rule: str) -> None:
    """The twin of a breaking file gives no finding of any rule at any level, but what a waiver in it covers."""
    assert [core(f) for f in findings(sample_of(rule, "holds")) if f.waived is None] == []


@pytest.mark.parametrize("rule", RULES)
def test_the_twins_differ_in_one_thing(rule: str) -> None:
    """Comments aside, a line is changed, added or moved, or a pair of steps (there and back) taken out: one cause."""
    breaks, holds = text_lines(sample_of(rule, "breaks")), text_lines(sample_of(rule, "holds"))
    assert (breaks - holds).total() <= 2
    assert (holds - breaks).total() <= 1
