"""Every format is written whole at exit 0, 1 and 2, and tells what was found, however the run ends."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest
from command_runner import run, run_for_bytes

from lineshaft.write.formats import WRITERS

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
SOUND, BROKEN = "small-saw.rig.yaml", "overloaded-step.rig.yaml"
FOUND = "torque-over-limit"


@pytest.fixture
def works(tmp_path: Path) -> Path:
    """A sound rig, a broken one, their catalogue, a note, and a folder whose policy cannot be read."""
    for name in (SOUND, BROKEN):
        shutil.copy(SAMPLES / name, tmp_path / name)
    shutil.copytree(SAMPLES / "catalogues", tmp_path / "catalogues")
    (tmp_path / ".git").mkdir()
    (tmp_path / "notes.txt").write_text("to do\n", "utf-8")
    (tmp_path / "strict").mkdir()
    (tmp_path / "strict" / "lineshaft.policy.yaml").write_text("policy: 1\nlevels: {loose-ends: off}\n", "utf-8")
    rig = (SAMPLES / SOUND).read_text("utf-8").replace("catalogues/", "../catalogues/")
    (tmp_path / "strict" / SOUND).write_text(rig, "utf-8")
    return tmp_path


def _rules_in_json(raw: bytes) -> list[str]:
    return [finding["rule"] for finding in json.loads(raw)["findings"]]


def _rules_in_sarif(raw: bytes) -> list[str]:
    return [result["ruleId"] for result in json.loads(raw)["runs"][0]["results"]]


def _rules_in_junit(raw: bytes) -> list[str]:
    cases = ElementTree.fromstring(raw).iter("testcase")
    return [text for case in cases if case.find("failure") is not None for text in case.attrib["name"].split()]


def _rules_in_gitlab(raw: bytes) -> list[str]:
    return [entry["check_name"] for entry in json.loads(raw)]


def _words_in_text(raw: bytes) -> list[str]:
    text = raw.decode("utf-8", "strict")
    assert text.endswith("\n")
    return [rule for rule in (FOUND, "not-schema") if rule in text]


READERS: dict[str, Callable[[bytes], list[str]]] = {
    "json": _rules_in_json,
    "sarif": _rules_in_sarif,
    "junit": _rules_in_junit,
    "gitlab": _rules_in_gitlab,
    "github": _words_in_text,
    "markdown": _words_in_text,
    "html": _words_in_text,
}

RUNS = {  # what is judged, the exit code, the rule that must be told (or that nothing is found)
    "all holds": ((SOUND,), 0, None),
    "a finding": ((SOUND, BROKEN), 1, FOUND),
    "a missing path": (("nothing-here", BROKEN), 2, FOUND),
    "a file of another kind": (("notes.txt", BROKEN), 2, FOUND),
    "a bad policy": (("strict", BROKEN), 2, FOUND),
    "a bad policy, told itself": (("strict",), 2, "not-schema"),
    "a missing path alone": (("nothing-here",), 2, None),
}


@pytest.mark.parametrize("name", WRITERS)
@pytest.mark.parametrize(("judged", "code", "rule"), RUNS.values(), ids=RUNS.keys())
def test_a_report_is_whole_at_every_exit(
    works: Path, name: str, judged: tuple[str, ...], code: int, rule: str | None
) -> None:
    """Read by a reader of its kind, it has the finding; without one it has none; in a file as on standard output."""
    ran = run_for_bytes(works, "check", "--write", f"{name}=-", *judged)
    assert ran.returncode == code, ran.stderr
    assert (rule in READERS[name](ran.stdout)) if rule else (READERS[name](ran.stdout) == [])
    again = run_for_bytes(works, "check", "--write", f"{name}=report.out", *judged)
    assert again.returncode == code
    assert (works / "report.out").read_bytes() == ran.stdout
    assert bool(ran.stderr) == (code == 2 and "strict" not in judged)


def test_every_format_has_its_reader() -> None:
    """A new format is tried here as well."""
    assert set(READERS) == set(WRITERS)


@pytest.mark.parametrize("fail_on", ["error", "warning", "note"])
@pytest.mark.parametrize(("rig", "level"), [("open-end.rig.yaml", "warning"), (BROKEN, "error"), (SOUND, "none")])
def test_the_level_that_fails_changes_the_code_and_no_report(works: Path, fail_on: str, rig: str, level: str) -> None:
    """By the order note, warning, error: a finding fails the run where its level is as grave as asked for."""
    if not (works / rig).exists():
        shutil.copy(SAMPLES / rig, works / rig)
    grave = {"none": 0, "note": 1, "warning": 2, "error": 3}
    ran = run(works, "check", "--fail-on", fail_on, "--write", "json=-", rig)
    assert ran.returncode == (1 if grave[level] >= grave[fail_on] else 0)
    assert ran.stdout == run(works, "check", "--write", "json=-", rig).stdout


@pytest.mark.parametrize("name", WRITERS)
def test_bad_usage_writes_nothing(works: Path, name: str) -> None:
    """Exit 2, a message on standard error, and no document that looks like one."""
    ran = run_for_bytes(works, "check", "--write", f"{name}=report.out", "--jobs", "none", SOUND)
    assert (ran.returncode, ran.stdout) == (2, b"")
    assert not (works / "report.out").exists()
