"""The pages that are made from the code hold all that there is: rules with both files, commands, kinds of file."""

import json
import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from lineshaft.check.registry import own_ids
from lineshaft.cli import COMMANDS
from lineshaft.commands.schema import KINDS

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    """Every page by its path."""
    spec = spec_from_file_location("reference_pages", ROOT / "docs" / "reference_pages.py")
    assert spec is not None and spec.loader is not None
    module = module_from_spec(spec)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(ROOT)
        patch.setitem(sys.modules, "reference_pages", module)
        spec.loader.exec_module(module)
        return dict(module.pages())


@pytest.mark.parametrize("rule", sorted(own_ids()))
def test_a_rule_has_its_page(rule: str, pages: dict[str, str]) -> None:
    """What, why and how to repair; the file that breaks it, what is said of it, and the twin that holds."""
    page = pages[f"rules/{rule}.md"]
    for heading in ("## What", "## Why", "## How to repair", "## A file that breaks it", "## Its twin holds"):
        assert f"\n{heading}\n" in page
    for name in ("breaks", "holds"):
        (path,) = (ROOT / "tests" / "rules" / rule).glob(f"{name}.*.yaml")
        assert path.read_text("utf-8").rstrip() in page
    assert f"({rule})" in page.partition("says of it")[2]
    assert f"[{rule}]({rule}.md)" in pages["rules/index.md"]


def test_every_command_and_kind_is_described(pages: dict[str, str]) -> None:
    """Each command with its help, each kind of file and each document with its keys and its schema."""
    assert [name for name in COMMANDS if f"\n## lineshaft {name}\n" not in pages["reference/commands.md"]] == []
    described = pages["reference/files.md"] + pages["reference/formats.md"]
    assert [kind for kind in KINDS if kind != "any" and f"\n## {kind}\n" not in described] == []
    assert [kind for kind in KINDS if json.loads(pages[f"extra/schema/{kind}.schema.json"])["type"] != "object"] == []
