"""GitHub log commands, decoded as GitHub documents it; GitLab's report, by the keys that GitLab documents."""

import json
import re
from dataclasses import replace

import pytest
from write.made_runs import HOSTILE, hostile_run, plain, run_of

from lineshaft.check.judged_finding import Waived
from lineshaft.schema.text.span import Position, Span
from lineshaft.write.github import github
from lineshaft.write.gitlab import gitlab


def _decoded(line: str) -> tuple[str, dict[str, str], str]:
    """Command, properties and message. Source: workflow commands, encoding as in the public `@actions/core` package."""
    found = re.fullmatch(r"::(\w+) (.*?)::(.*)", line)
    assert found is not None
    properties = dict(pair.split("=", 1) for pair in found[2].split(","))
    codes = (("%2C", ","), ("%3A", ":"), ("%0A", "\n"), ("%0D", "\r"), ("%25", "%"))
    for code, plain_text in codes:
        properties = {name: value.replace(code, plain_text) for name, value in properties.items()}
    message = found[3]
    for code, plain_text in codes[2:]:
        message = message.replace(code, plain_text)
    return found[1], properties, message


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_a_strangers_text_stays_in_its_property(text: str) -> None:
    """One command and the summary; line and column are those of the finding, no property is added or replaced."""
    first, last, end = github(hostile_run(text)).decode().split("\n")
    command, properties, _ = _decoded(first)
    assert (command, properties["line"], properties["col"], properties["endColumn"]) == ("error", "4", "3", "7")
    assert sorted(properties) == ["col", "endColumn", "endLine", "file", "line", "title"]
    assert last == "Inspected 1 file, 2 parts: 1 error, 0 warnings, 0 notes, 1 waived, 1 snag."
    assert end == ""


@pytest.mark.parametrize("name", ["path", "percent"])
def test_the_path_is_given_back(name: str) -> None:
    """Colons, commas, per cent signs and what looks coded already in a file's name."""
    text = HOSTILE[name]
    assert _decoded(github(hostile_run(text)).decode().split("\n")[0])[1]["file"] == text


def test_ten_a_level_then_a_summary() -> None:
    """Of 25 errors and 3 notes: 10 and 3 commands; 15 errors are counted without one."""
    lines = github(run_of(*(plain("error", n) for n in range(25)), *(plain("note", n) for n in range(3)))).decode()
    commands = re.findall(r"^::(\w+) ", lines, re.M)
    assert (commands.count("error"), commands.count("notice")) == (10, 3)
    summary = "Inspected 1 file, 10 parts: 25 errors, 0 warnings, 3 notes; 15 more errors without annotation."
    assert lines.splitlines()[-1] == summary


def test_columns_only_on_one_line() -> None:
    """GitHub refuses columns where an annotation spans lines."""
    wide = replace(plain("error", 1), span=Span(Position(2, 3), Position(4, 9)))
    properties = _decoded(github(run_of(wide)).decode().split("\n")[0])[1]
    assert (properties["line"], properties["endLine"]) == ("2", "4")
    assert "col" not in properties


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_gitlab_has_what_it_needs(text: str) -> None:
    """Documented keys and severities; the waived finding is left out; the description is bounded."""
    (entry,) = json.loads(gitlab(hostile_run(text)))
    assert sorted(entry) == ["check_name", "description", "fingerprint", "location", "severity"]
    assert entry["severity"] in {"info", "minor", "major", "critical", "blocker"}
    assert entry["location"]["lines"]["begin"] == 4
    assert 0 < len(entry["description"]) <= 1000


def test_gitlab_fingerprints_differ() -> None:
    """Two findings that look alike are two: a reader drops the second of one fingerprint."""
    twice = [plain("error", 1), replace(plain("error", 1), span=Span(Position(8, 1), Position(8, 2)))]
    entries = json.loads(gitlab(run_of(*twice)))
    assert len({entry["fingerprint"] for entry in entries}) == 2


def test_gitlab_is_bounded_by_level_and_leaves_out_waived() -> None:
    """Of 5,500 warnings and 10 errors 5,000 stay, all errors among them; waived ones are no work to do."""
    waived = replace(plain("error", 9000), waived=Waived("old wheel", "2027-01-31", None))
    found = [*(plain("warning", n) for n in range(5500)), *(plain("error", n) for n in range(10)), waived]
    severities = [entry["severity"] for entry in json.loads(gitlab(run_of(*found)))]
    assert (len(severities), severities.count("critical")) == (5000, 10)
