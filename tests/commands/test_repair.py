"""Repairs through the public commands: what check offers and `repair` applies, proved again on the edited file."""

import json
import os
import re
import shutil
import subprocess
import sys
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

import pytest
from command_runner import run
from samples.planned import PlannedSamples

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
RIGS = sorted(path.name for path in SAMPLES.glob("*.rig.yaml"))
BROKEN = [name for name in RIGS if "\n# Broken" in (SAMPLES / name).read_text("utf-8")]


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    """A copy of the samples in a repository of its own."""
    shutil.copytree(SAMPLES, tmp_path / "works")
    (tmp_path / ".git").mkdir()
    return tmp_path / "works"


def _found(folder: Path, rig: str, *more: str) -> list[dict[str, Any]]:
    ran = run(folder, "check", "--no-cache", "--write", "json=-", *more, rig)
    assert ran.returncode in (0, 1), ran.stderr
    found: list[dict[str, Any]] = json.loads(ran.stdout)["findings"]
    return found


def _subject(finding: dict[str, Any]) -> tuple[str, str, str | None]:
    return finding["rule"], finding["file"], finding["part"]


def _with_edits(text: str, edits: list[dict[str, Any]]) -> str:
    """A text with edits made by lines and columns, from the last to the first: a second way beside the program's."""
    lines = text.split("\n")

    def index(place: dict[str, int]) -> int:
        return sum(len(line) + 1 for line in lines[: place["line"] - 1]) + place["column"] - 1

    spans = sorted(((index(e["start"]), index(e["end"]), e["text"]) for e in edits), reverse=True)
    for start, end, new in spans:
        text = text[:start] + new + text[end:]
    return text


@pytest.mark.parametrize("rig", BROKEN)
def test_each_repair_that_check_offers_mends_its_finding(harbour: Path, planned: PlannedSamples, rig: str) -> None:
    """The edits in the JSON, made by hand on the file, take the finding away and bring no new one; two at most."""
    before = planned.findings(rig)
    text = (harbour / rig).read_text("utf-8")
    for finding in before:
        assert len(finding["repairs"]) <= 2
        assert bool(finding["repairs"]) == (finding["no_repair"] is None)
        for repair in finding["repairs"]:
            (harbour / rig).write_text(_with_edits(text, repair["edits"]), encoding="utf-8")
            after = _found(harbour, rig, "--no-repairs")
            assert {_subject(f) for f in after} <= {_subject(f) for f in before} - {_subject(finding)}
            (harbour / rig).write_text(text, encoding="utf-8")


def test_fixes_in_sarif_are_the_same_edits(harbour: Path, planned: PlannedSamples) -> None:
    """A fix of the SARIF log replaces the same places with the same text as the repair of the JSON."""
    rig = "overloaded-step.rig.yaml"
    log = json.loads(run(harbour, "check", "--write", "sarif=-", rig).stdout)
    (finding,) = planned.findings(rig)
    (result,) = log["runs"][0]["results"]
    assert len(result["fixes"]) == len(finding["repairs"])
    for fix, repair in zip(result["fixes"], finding["repairs"], strict=True):
        (change,) = fix["artifactChanges"]
        regions = [r["deletedRegion"] for r in change["replacements"]]
        places = [((r["startLine"], r["startColumn"]), (r["endLine"], r["endColumn"])) for r in regions]
        edits = repair["edits"]
        assert places == [
            ((e["start"]["line"], e["start"]["column"]), (e["end"]["line"], e["end"]["column"])) for e in edits
        ]
        assert [r["insertedContent"]["text"] for r in change["replacements"]] == [e["text"] for e in edits]


def test_no_repairs_looks_for_none(harbour: Path, planned: PlannedSamples) -> None:
    """With `--no-repairs` there is neither a repair nor a reason, and the findings are the same otherwise."""
    rig = "slow-saw.rig.yaml"
    with_them, without = planned.findings(rig), _found(harbour, rig, "--no-repairs")
    assert all(f["repairs"] == [] and f["no_repair"] is None for f in without)
    for finding in (*with_them, *without):
        del finding["repairs"], finding["no_repair"]
        finding.pop("group", None)  # of findings that one repair mends
        finding.pop("suggestion")  # a proved repair, where there is one
    assert with_them == without
    assert " repair  " not in run(harbour, "check", "--no-repairs", rig).stdout
    assert " repair  proved (" in run(harbour, "check", rig).stdout


@pytest.mark.parametrize("options", [(), ("--no-repairs",), ("--quiet",)])
def test_nothing_is_loaded_for_repairs_in_vain(harbour: Path, options: tuple[str, ...]) -> None:
    """A clean check, one without repairs, and one that shows none do not load the planner."""
    rig = "overloaded-step.rig.yaml" if options else "small-saw.rig.yaml"
    arguments = ["check", "--no-cache", *options, rig]
    script = (
        "import sys\nfrom lineshaft.cli import main\n"
        f"sys.argv = ['lineshaft', *{arguments!r}]\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "sys.stderr.write(' '.join(m for m in sys.modules if m.startswith('lineshaft.repair.')))\n"
    )
    ran = subprocess.run(
        [sys.executable, "-P", "-c", script], cwd=harbour, capture_output=True, text=True, timeout=60, check=False
    )
    assert "lineshaft.repair.plan.planner" not in ran.stderr, ran.stderr


@pytest.mark.parametrize("rig", ["slow-saw.rig.yaml", "late-planks.rig.yaml"])
def test_the_same_bytes_under_any_hash_seed(harbour: Path, rig: str) -> None:
    """Check and `repair` write the same bytes whatever the seed of Python's hashes."""
    for command in (("check", "--no-cache", "--write", "json=-"), ("repair",)):
        own = [sys.executable, "-P", "-m", "lineshaft", *command, rig]
        one, other = (
            subprocess.run(own, cwd=harbour, capture_output=True, timeout=120, check=False, env=env).stdout
            for env in ({**os.environ, "PYTHONUTF8": "1", "PYTHONHASHSEED": seed} for seed in ("1", "4242"))
        )
        assert one == other


@pytest.mark.parametrize("rig", RIGS)
def test_after_apply_best_only_what_was_named_is_left(harbour: Path, planned: PlannedSamples, rig: str) -> None:
    """Each finding has a proved repair or a reason; after `--apply best` the file is clean but for what was named.

    No finding is new, a second run changes nothing, and no comment and no other line's layout is touched.
    """
    before = _found(harbour, rig, "--no-repairs")
    listed = planned.listed(rig)
    if not before:
        assert "nothing to repair" in listed.stdout
        return
    assert re.search(r"^ +1  |no proved repair: ", listed.stdout, re.MULTILINE), listed.stdout
    was = (harbour / rig).read_text("utf-8")
    applied, content = planned.mended(rig)
    (harbour / rig).write_bytes(content)
    assert applied.returncode in (0, 1), applied.stderr
    left = re.findall(r"^left out: ([a-z-]+)(?: part (\S+))? at line \d+: .", applied.stdout, re.MULTILINE)
    after = _found(harbour, rig, "--no-repairs")
    assert {(f["rule"], f["part"] or "") for f in after} == set(left)
    assert {_subject(f) for f in after} <= {_subject(f) for f in before}
    now = (harbour / rig).read_text("utf-8")
    _layout_is_kept(was, now)
    again = run(harbour, "repair", "--apply", "best", rig)
    assert "applied:" not in again.stdout
    assert (harbour / rig).read_text("utf-8") == now


def _layout_is_kept(was: str, now: str) -> None:
    """Changed lines keep their indentation and comment; no line that is a comment or blank comes, goes or changes."""
    old, new = was.split("\n"), now.split("\n")
    for kind, a, b, c, d in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if kind == "equal":
            continue
        assert not [line for line in (*old[a:b], *new[c:d]) if not line.strip() or line.lstrip().startswith("#")]
        for line in old[a:b]:
            comment = re.search(r" #.*$", line)
            assert comment is None or any(other.endswith(comment.group()) for other in new[c:d])
        indents = {line[: len(line) - len(line.lstrip())] for line in old[a:b]}
        assert all(line[: len(line) - len(line.lstrip())] in indents for line in new[c:d]) or a == b


@pytest.mark.parametrize("rig", ["overloaded-step.rig.yaml", "slow-saw.rig.yaml", "dry-stage.rig.yaml"])
def test_mark_line_ends_and_a_missing_last_one_are_kept(harbour: Path, rig: str) -> None:
    """In a file with byte order mark, CRLF and no last line feed a repair writes what it writes without them."""
    path = harbour / rig
    plain = path.read_text("utf-8").rstrip("\n")
    path.write_bytes(plain.encode())
    assert run(harbour, "repair", "--apply", "1", rig).returncode == 0
    mended = path.read_bytes()
    assert not mended.endswith(b"\n")
    path.write_bytes(b"\xef\xbb\xbf" + plain.replace("\n", "\r\n").encode())
    (finding, *_) = _found(harbour, rig)
    assert all("\n" not in e["text"].replace("\r\n", "") for r in finding["repairs"] for e in r["edits"])
    assert run(harbour, "repair", "--apply", "1", rig).returncode == 0
    assert path.read_bytes() == b"\xef\xbb\xbf" + mended.replace(b"\n", b"\r\n")


def test_block_style_and_odd_indentation_are_kept(harbour: Path) -> None:
    """A part written over several lines, indented by three, gets its new grade in the one place; by hand.

    The wheel gives 900 N*m, iron carries 1200: a ratio of 5/2 makes 2250, which the steel stage stands.
    """
    rig = harbour / "overloaded-step.rig.yaml"
    text = rig.read_text("utf-8").replace(
        "  step:   {item: iron-stage, ratio: 5/2, set: reduce, driven-by: lay}\n",
        "  step:  # the one that breaks\n\n     ratio:   5/2\n     item:   'iron-stage'   # as bought\n"
        "     set:    reduce\n     driven-by: lay\n",
    )
    rig.write_text(text, encoding="utf-8")
    assert run(harbour, "repair", "--apply", "1", rig.name).returncode == 0
    assert rig.read_text("utf-8") == text.replace("'iron-stage'", "steel-stage")


def test_the_diff_can_be_applied_by_git(harbour: Path) -> None:
    """What `--diff` prints, given to `git apply`, makes the file that `--apply` makes, without last line feed too."""
    for rig, last in (("slow-saw.rig.yaml", "\n"), ("overloaded-step.rig.yaml", "")):
        path = harbour / rig
        path.write_text(path.read_text("utf-8").rstrip("\n") + last, encoding="utf-8")
        was = path.read_text("utf-8")
        diff = run(harbour, "repair", "--apply", "best", "--diff", rig).stdout
        assert path.read_text("utf-8") == was
        subprocess.run(["git", "apply", "-p0", "-"], cwd=harbour, input=diff, text=True, check=True, timeout=60)
        by_git = path.read_text("utf-8")
        path.write_text(was, encoding="utf-8")
        assert run(harbour, "repair", "--apply", "best", rig).returncode == 0
        assert path.read_text("utf-8") == by_git != was


def test_what_a_policy_turns_off_is_not_repaired(harbour: Path) -> None:
    """`repair` judges by the site's policy: with the rule off there is nothing to repair."""
    (harbour / "lineshaft.policy.yaml").write_text("policy: 1\nlevels: {torque-over-limit: off}\n", encoding="utf-8")
    assert "nothing to repair" in run(harbour, "repair", "overloaded-step.rig.yaml").stdout


def test_what_is_waived_is_left_alone(harbour: Path) -> None:
    """A finding that is waived on the day is no subject of `repair`, and of check's repairs neither."""
    rig = harbour / "overloaded-step.rig.yaml"
    waiver = "waivers:\n  - {rule: torque-over-limit, part: step, up-to: 2, reason: proof-loaded, until: 2027-03-31}\n"
    rig.write_text(rig.read_text("utf-8") + waiver, encoding="utf-8")
    assert "nothing to repair" in run(harbour, "repair", "--date", "2027-03-31", rig.name).stdout
    (finding,) = _found(harbour, rig.name, "--date", "2027-03-31")
    assert finding["repairs"] == []
    assert finding["no_repair"] is None
    assert "take steel-stage" in run(harbour, "repair", "--date", "2027-04-01", rig.name).stdout


def test_diff_alone_is_an_error_of_use(harbour: Path) -> None:
    """`--diff` shows what `--apply` changes; without it exit 2 says what to add."""
    ran = run(harbour, "repair", "--diff", "slow-saw.rig.yaml")
    assert ran.returncode == 2
    assert "--apply best" in ran.stderr
