"""SARIF, read by `sarif-tools` and by the typed model of `sarif-pydantic`; sections are those of SARIF 2.1.0."""

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import unquote_to_bytes, urlsplit

import pytest
from sarif.loader import load_sarif_file
from sarif_pydantic import Sarif
from write.made_runs import HOSTILE, at, hostile_run, plain, run_of

from lineshaft.check.finding import Edit
from lineshaft.check.judged_finding import Repair, Waived
from lineshaft.write.sarif import sarif
from lineshaft.write.summary import Run


def _run(run: Run) -> Any:
    document = json.loads(sarif(run))
    Sarif.model_validate(document)
    return document["runs"][0]


def _messages(node: Any) -> list[str]:
    """Every message text, at any depth; what goes into a file is none."""
    if isinstance(node, list):
        return [text for item in node for text in _messages(item)]
    if not isinstance(node, dict):
        return []
    own = [node["text"]] if isinstance(node.get("text"), str) else []
    return own + [text for key, item in node.items() if key != "insertedContent" for text in _messages(item)]


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_no_placeholder_and_no_link(text: str) -> None:
    """Sections 3.11.5 and 3.11.6: without what is escaped, no brace and no bracket is left in a message."""
    run = _run(hostile_run(text))
    for message in _messages(run):
        assert re.search(r"[\[\]{}]", re.sub(r"\\[\\\[\]]|\{\{|\}\}", "", message)) is None
    for rule in run["tool"]["driver"]["rules"]:
        assert len(rule["fullDescription"]["text"]) <= 1000


@pytest.mark.parametrize("text", [t for n, t in HOSTILE.items() if n != "surrogate"])
def test_addresses_are_relative_and_give_the_name_back(text: str) -> None:
    """RFC 3986: no scheme, host, query or fragment; percent-decoded it is the name."""
    for result in _run(hostile_run(text))["results"]:
        uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        split = urlsplit(uri)
        assert (split.scheme, split.netloc, split.query, split.fragment) == ("", "", "", "")
        assert unquote_to_bytes(uri).decode() == text


def test_a_reader_finds_level_place_and_rule(tmp_path: Path) -> None:
    """`sarif-tools` reads one record a finding."""
    target = tmp_path / "a.sarif"
    target.write_bytes(sarif(run_of(plain("error", 4), plain("warning", 6), plain("note", 8))))
    records = load_sarif_file(str(target)).get_records()
    found = sorted((r["Severity"], r["Location"], r["Line"], r["Code"]) for r in records)
    rule = "torque-over-limit"
    assert found == [
        ("error", "tern.rig.yaml", 5, rule),
        ("note", "tern.rig.yaml", 9, rule),
        ("warning", "tern.rig.yaml", 7, rule),
    ]


def test_rules_columns_causes_and_fingerprints() -> None:
    """`ruleIndex` leads to `ruleId` (3.27.6); columns are code points; the flow ends at the finding itself."""
    run = _run(run_of(plain("error", 4), replace(plain("note", 5), rule="another")))
    rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert all(rules[result["ruleIndex"]] == result["ruleId"] for result in run["results"])
    assert run["columnKind"] == "unicodeCodePoints"
    first = run["results"][0]
    assert first["partialFingerprints"] == {"lineshaftFinding/v1": "error-4"}
    assert first["relatedLocations"][0]["physicalLocation"]["region"]["startLine"] == 1
    steps = first["codeFlows"][0]["threadFlows"][0]["locations"]
    assert [s["location"]["physicalLocation"]["region"]["startLine"] for s in steps] == [1, 5]


def test_a_fix_replaces_what_it_says() -> None:
    """Columns 3 to 7, end excluded, of line 2 are the word `tide`; the text that goes in is not escaped."""
    repair = Repair("say {it}", "setting", 0.0, (), (), (Edit("a.yaml", at(2), "{to: [ebb]}"),))
    fix = _run(run_of(replace(plain("error", 1), repairs=(repair,))))["results"][0]["fixes"][0]
    replacement = fix["artifactChanges"][0]["replacements"][0]
    region = replacement["deletedRegion"]
    line = ["one", "a tide wheel"][region["startLine"] - 1]
    before, after = line[: region["startColumn"] - 1], line[region["endColumn"] - 1 :]
    assert before + replacement["insertedContent"]["text"] + after == "a {to: [ebb]} wheel"
    assert fix["description"]["text"] == "say {{it}} (setting)"


@pytest.mark.further
def test_at_most_5000_results_are_kept_by_level_with_a_note() -> None:
    """Of 3,000 notes, 2,500 warnings and 1,000 errors: all errors and warnings, and 1,500 notes."""
    counts = {"note": 3000, "warning": 2500, "error": 1000}
    run = _run(run_of(*(plain(level, n) for level, many in counts.items() for n in range(many))))  # type: ignore[arg-type]
    levels = [result["level"] for result in run["results"]]
    assert [levels.count(name) for name in ("error", "warning", "note")] == [1000, 2500, 1500]
    notes = run["invocations"][0]["toolExecutionNotifications"]
    assert "5000 of 6500" in notes[0]["message"]["text"]
    assert run["properties"]["summary"]["notes"] == 3000


def test_what_is_waived_is_suppressed() -> None:
    """Section 3.35: an accepted suppression with the reason."""
    waived = replace(plain("error", 1), waived=Waived("old wheel", "2027-01-31", 2.5))
    suppression = _run(run_of(waived))["results"][0]["suppressions"][0]
    assert (suppression["kind"], suppression["status"]) == ("external", "accepted")
    assert suppression["justification"] == "waived until 2027-01-31, up to 2.5: old wheel"
