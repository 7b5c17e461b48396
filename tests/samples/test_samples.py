"""The sample rigs through the public command: each finding at its line and part, with values reckoned by hand."""

import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from command_runner import run

_ROOT = Path(__file__).resolve().parents[2]
_SAMPLES = _ROOT / "sample_rigs"
_EXPECTED: dict[str, list[dict[str, Any]]] = yaml.safe_load(
    (Path(__file__).parent / "expected.yaml").read_text(encoding="utf-8")
)
_CLEAN = sorted(name for name, findings in _EXPECTED.items() if not findings)
_BROKEN = sorted(name for name, findings in _EXPECTED.items() if findings)


@cache
def _checked() -> tuple[int, str]:
    """Exit code and document of one run over all samples."""
    ran = run(_ROOT, "check", "--write", "json=-", "sample_rigs")
    return ran.returncode, ran.stdout


def _found(name: str) -> list[dict[str, Any]]:
    findings: list[dict[str, Any]] = json.loads(_checked()[1])["findings"]
    return [finding for finding in findings if finding["file"] == f"sample_rigs/{name}"]


def _same(found: object, wanted: object) -> bool:
    """Equal within 1e-9, relative; lists member by member."""
    if isinstance(found, list) and isinstance(wanted, list):
        return len(found) == len(wanted) and all(map(_same, found, wanted))
    if isinstance(found, int | float) and isinstance(wanted, int | float):
        return math.isclose(found, wanted, rel_tol=1e-9)
    return False


def test_every_sample_has_its_expectation() -> None:
    """No rig lies in the samples that nobody reckoned, and none is expected that is not there."""
    assert {path.name for path in _SAMPLES.glob("*.rig.yaml")} == set(_EXPECTED)


def test_every_sample_says_what_it_shows() -> None:
    """The comment stands under the first key, and starts with whether the rig is clean or broken."""
    for name, findings in _EXPECTED.items():
        lines = (_SAMPLES / name).read_text(encoding="utf-8").splitlines()
        assert lines[0] == "rig: 1", name
        assert lines[1].startswith("# Broken" if findings else "# Clean"), name


def test_the_run_ends_with_findings() -> None:
    """There are errors among the samples, so the command ends with 1, and every rig was inspected."""
    code, document = _checked()
    assert code == 1
    files = {finding["file"] for finding in json.loads(document)["findings"]}
    assert {file for file in files if "/wishes/" not in file} <= {f"sample_rigs/{name}" for name in _BROKEN}


def test_wishes_have_machines_that_nothing_drives_and_nothing_worse() -> None:
    """Each machine of a wish is a loose end, a warning: the rig is begun, not broken."""
    found = [one for one in json.loads(_checked()[1])["findings"] if "/wishes/" in one["file"]]
    assert {(one["rule"], one["level"]) for one in found} == {("loose-end", "warning")}
    wishes = {f"sample_rigs/wishes/{path.name}" for path in (_SAMPLES / "wishes").glob("*.rig.yaml")}
    assert {one["file"] for one in found} == wishes


@pytest.mark.parametrize("name", _CLEAN)
def test_a_clean_sample_has_no_finding(name: str) -> None:
    """Nothing of any level, notes included."""
    assert _found(name) == []


@pytest.mark.parametrize("name", _BROKEN)
def test_a_broken_sample_has_its_fault_and_no_other(name: str) -> None:
    """Rule, part, line and every value agree with the reckoning by hand; values are all there and no more."""
    found = sorted(_found(name), key=lambda finding: str(finding["rule"]))
    wanted = sorted(_EXPECTED[name], key=lambda finding: str(finding["rule"]))
    assert [finding["rule"] for finding in found] == [finding["rule"] for finding in wanted]
    for finding, expected in zip(found, wanted, strict=True):
        if "part" in expected:
            assert finding["part"] == expected["part"]
        if "line" in expected:
            assert finding["start"]["line"] == expected["line"]
        values = {key: measure["value"] for key, measure in finding["values"].items()}
        assert values.keys() == expected["values"].keys()
        assert all(_same(values[key], value) for key, value in expected["values"].items()), values
