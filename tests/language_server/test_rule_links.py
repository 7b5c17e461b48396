"""A finding in the editor leads to its rule's page, and that is a page which the site builds."""

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest
from trust.server_messages import conversation, framed, greeting

from lineshaft import documentation
from lineshaft.check.registry import own_ids

ROOT = Path(__file__).resolve().parents[2]
TWINS = ROOT / "tests" / "rules"
BASE = "https://docs.example.org/lineshaft"


def built_pages(monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """The pages that the site has for rules, as they are called once they are built."""
    spec = spec_from_file_location("reference_pages", ROOT / "docs" / "reference_pages.py")
    assert spec is not None and spec.loader is not None
    module = module_from_spec(spec)
    monkeypatch.chdir(ROOT)
    monkeypatch.setitem(sys.modules, "reference_pages", module)
    spec.loader.exec_module(module)
    return {f"{BASE}/{path.removesuffix('.md')}.html" for path, _ in module.rules()}


def hrefs(rules: str = "*") -> dict[str, str | None]:
    """By the rules that twins of some rules break, where the editor leads to."""
    sent, asked = [greeting(TWINS)], []
    for path in sorted(TWINS.glob(f"{rules}/breaks*.yaml")):
        which = {"uri": path.as_uri()}
        item = {**which, "languageId": "yaml", "version": 1, "text": path.read_bytes().decode("utf-8", "replace")}
        sent.append(framed({"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": {"textDocument": item}}))
        request = {"id": path.as_uri(), "method": "textDocument/diagnostic", "params": {"textDocument": which}}
        sent.append(framed({"jsonrpc": "2.0", **request}))
        asked.append(path.as_uri())
    found: dict[str, str | None] = {}
    for answer in conversation(sent, asked):
        result = answer.get("result")
        for shown in result.get("items", []) if isinstance(result, dict) else []:
            found[shown["code"]] = shown.get("codeDescription", {}).get("href")
    return found


def test_each_rule_leads_to_a_page_that_the_site_builds(monkeypatch: pytest.MonkeyPatch) -> None:
    """By `codeDescription` (LSP 3.17, Diagnostic), where one setting says where the site is published."""
    pages = built_pages(monkeypatch)
    monkeypatch.setattr(documentation, "ADDRESS", BASE)
    found = hrefs()
    assert set(found) == set(own_ids())
    assert {rule: href for rule, href in found.items() if href not in pages} == {}
    assert all(href == f"{BASE}/rules/{rule}.html" for rule, href in found.items())


def test_without_an_address_a_finding_leads_nowhere() -> None:
    """As it is delivered."""
    assert hrefs("torque-over-limit") == {"torque-over-limit": None}
