"""All formats together: a stranger's text harms none, counts agree on the samples, a plain check loads none."""

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import junitparser
import pytest
from click.testing import CliRunner
from markdown_it import MarkdownIt
from sarif.loader import load_sarif_file
from write.made_runs import HOSTILE, hostile_run

from lineshaft.commands.check import command
from lineshaft.write.formats import WRITERS
from lineshaft.write.summary import Run

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
# Unicode general categories Cc (but the line feed) and the bidi controls of UAX 9, table 1.
CONTROLS = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]")
AS_RUN: dict[str, Any] = {"help_option_names": ["-h", "--help"]}
"""What a command inherits from the group: click keeps its first option of help for the whole process."""


@pytest.mark.parametrize("name", WRITERS)
@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_no_control_and_no_log_command_comes_through(name: str, text: str) -> None:
    """Strict UTF-8; no control character; no line that a CI runner obeys but the GitHub writer's own."""
    written = WRITERS[name](hostile_run(text)).decode("utf-8", "strict")
    assert CONTROLS.findall(written) == []
    lines = written.split("\n")
    commands = [line for line in lines if line.lstrip().startswith("::")]
    assert len(commands) == (1 if name == "github" else 0)
    assert [line for line in lines if line not in commands and ("##[" in line or "##vso[" in line)] == []


@pytest.mark.parametrize("name", WRITERS)
def test_nothing_found_is_a_whole_document(name: str) -> None:
    """A run over no file gives a document that ends with a line feed."""
    assert WRITERS[name](Run("0.1.0", ())).endswith(b"\n")


def test_counts_agree_on_the_samples(tmp_path: Path) -> None:
    """Each format, read by a reader that is not ours, has as many errors, warnings and notes as the JSON."""
    files = {name: tmp_path / name for name in WRITERS}
    files["sarif"] = tmp_path / "a.sarif"
    writes = [f"--write={name}={file}" for name, file in files.items()]
    ran = CliRunner().invoke(command, [str(SAMPLES), *writes], standalone_mode=False, **AS_RUN)
    assert ran.exception is None
    summary = json.loads(files["json"].read_text())["summary"]
    levels = (summary["errors"], summary["warnings"], summary["notes"])
    assert levels[0] > 0
    assert levels[1] > 0

    records = load_sarif_file(str(files["sarif"])).get_records()
    assert tuple(sum(r["Severity"] == name for r in records) for name in ("error", "warning", "note")) == levels

    suites = list(junitparser.JUnitXml.fromfile(str(files["junit"])))
    cases = [case for suite in suites for case in suite]
    assert sum(suite.failures for suite in suites) == levels[0]
    assert tuple(sum(c.name.startswith(f"{n}: ") for c in cases) for n in ("error", "warning", "note")) == levels

    entries = json.loads(files["gitlab"].read_text())
    assert tuple(sum(e["severity"] == name for e in entries) for name in ("critical", "minor", "info")) == levels

    tokens = MarkdownIt("commonmark").enable("table").parse(files["markdown"].read_text("utf-8"))
    rows = [tokens[at + 2].content for at, token in enumerate(tokens) if token.type == "tr_open"][1:]
    assert tuple(rows.count(name) for name in ("error", "warning", "note")) == levels

    commands = re.findall(r"^::(\w+) ", files["github"].read_text("utf-8"), re.M)
    assert tuple(commands.count(n) for n in ("error", "warning", "notice")) == tuple(min(n, 10) for n in levels)


def test_the_rules_pages_are_handed_over_for_sarif_alone(tmp_path: Path) -> None:
    """SARIF tells of every rule that is on, with help that is more than its name."""
    target = tmp_path / "a.sarif"
    CliRunner().invoke(command, [str(SAMPLES), f"--write=sarif={target}"], standalone_mode=False, **AS_RUN)
    rules = json.loads(target.read_text())["runs"][0]["tool"]["driver"]["rules"]
    assert "margin-thin" in {rule["id"] for rule in rules}  # on, and not found in the samples
    assert all(len(rule["help"]["text"]) > 40 for rule in rules)


def test_a_plain_check_loads_no_format() -> None:
    """Without --write neither the table of formats nor a writer of files is imported."""
    code = (
        "import sys; before = set(sys.modules); from lineshaft.commands.check import command;"
        f"command([{str(SAMPLES / 'small-saw.rig.yaml')!r}], standalone_mode=False);"
        "print([m for m in sys.modules if m not in before and m.startswith(('lineshaft.write', 'xml'))])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = ran.stdout.splitlines()[-1]
    assert "lineshaft.write.summary" in loaded
    assert not any(f"write.{name}" in loaded for name in ("formats", *WRITERS, "findings_json", "json_text"))
    assert "xml" not in loaded


def test_an_unknown_format_is_told_all_known_ones() -> None:
    """The message names the formats."""
    ran = CliRunner().invoke(command, [str(SAMPLES), "--write=pdf=x"], **AS_RUN)
    assert ran.exit_code == 2
    assert all(name in ran.output for name in WRITERS)
