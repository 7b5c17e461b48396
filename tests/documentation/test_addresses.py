"""What is written leads to the published pages where one setting says where they are, and nowhere without it."""

import json
from pathlib import Path

import pytest
from command_runner import run

from lineshaft import documentation
from lineshaft.check.registry import own_ids
from lineshaft.check.rule_pages import rule_address

ROOT = Path(__file__).resolve().parents[2]
BASE = "https://docs.example.org/lineshaft"
CHECK = ("check", "--no-cache", "--no-repairs", "--write", "sarif=-", "sample_rigs/overloaded-step.rig.yaml")


def test_sarif_leads_to_each_rule_s_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """`helpUri` (SARIF 2.1.0, 3.49.12) of each rule, `informationUri` (3.19.2) of the tool."""
    monkeypatch.setattr(documentation, "ADDRESS", BASE)
    driver = json.loads(run(ROOT, *CHECK).stdout)["runs"][0]["tool"]["driver"]
    assert driver["informationUri"] == BASE
    assert {rule["id"]: rule["helpUri"] for rule in driver["rules"]} == {
        name: f"{BASE}/rules/{name}.html" for name in own_ids()
    }


def test_explain_leads_to_the_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its last line."""
    monkeypatch.setattr(documentation, "ADDRESS", BASE)
    shown = run(ROOT, "explain", "drive-loop").stdout
    assert shown.endswith(f"With its repair: {BASE}/rules/drive-loop.html\n")


def test_without_an_address_nothing_leads_anywhere() -> None:
    """As it is delivered: no address in SARIF or in `explain`."""
    assert documentation.ADDRESS == ""
    assert "Uri\": \"http" not in run(ROOT, *CHECK).stdout
    assert "://" not in run(ROOT, "explain", "drive-loop").stdout


def test_a_rule_of_others_has_no_page_of_ours(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever wrote it documents it."""
    monkeypatch.setattr(documentation, "ADDRESS", BASE)
    assert rule_address("machine-unlabelled") == ""
