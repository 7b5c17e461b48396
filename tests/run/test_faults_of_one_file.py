"""A folder of 200 rigs of which one breaks the program somewhere: 199 verdicts, the one named, exit 2.

Ten of the rigs carry 900 N·m on a shaft that stands 700 N·m, the one that breaks the program among them; the others
carry 500 N·m and hold. Faults are put in from outside: in this process, or in workers by a planted rule's module.
"""

import json
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from run.planted_rule import COMMAND, planted

from lineshaft.check.rulebook import open_rulebook
from lineshaft.cli import run
from lineshaft.repair.proof.context import RepairContext
from lineshaft.write.formats import WRITERS

CATALOGUE = """catalogue: 1
edition: "1"
items:
  strong: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  weak: {kind: prime-mover, output: {torque: 500 N*m, speed: 8 rad/s}}
  shaft: {kind: shaft, torque-limit: 700 N*m}
  mill: {kind: driven-machine}
"""
RIG = """rig: 1
catalogue: c.catalogue.yaml
parts:
  w: {item: %s}
  s: {item: shaft, driven-by: w}
  m: {item: mill, driven-by: s}
"""
NAMES = [f"r{number:03}.rig.yaml" for number in range(200)]
OVER = set(NAMES[7::20])
BAD = "r067.rig.yaml"


class PutInError(Exception):
    """The fault put in."""


@pytest.fixture
def fleet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The 200 rigs, where the run works."""
    assert BAD in OVER and len(OVER) == 10
    works = tmp_path / "works"
    works.mkdir()
    (works / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    for name in NAMES:
        (works / name).write_text(RIG % ("strong" if name in OVER else "weak"), "utf-8")
    monkeypatch.chdir(works)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return works


def breaking(of: Callable[..., Any], named: Callable[..., str]) -> Callable[..., Any]:
    """A function that fails on the one file, whose name ``named`` finds in its arguments."""

    def broken(*args: Any, **more: Any) -> Any:
        if named(*args).endswith(BAD):
            raise PutInError("put in")
        return of(*args, **more)

    return broken


def put_in(monkeypatch: pytest.MonkeyPatch, target: str, named: Callable[..., str]) -> None:
    """Make the function at ``module.name`` fail on the one file."""
    module, _, name = target.rpartition(".")
    found = getattr(__import__(module, fromlist=[name]), name)
    monkeypatch.setattr(target, breaking(found, named))


def into_a_rule(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make one rule of the book fail on the one file; a rule that finds nothing here."""
    book = open_rulebook()
    fault = {"layout-gap"}
    rules = tuple(rule._replace(check=broken(rule.check)) if rule.id in fault else rule for rule in book.rules)
    changed = book._replace(rules=rules)
    monkeypatch.setattr("lineshaft.commands.check.open_rulebook", lambda: changed)


def broken(check: Callable[..., Any]) -> Callable[..., Any]:
    return breaking(check, lambda rig: rig.file)


def file_of_context(context: RepairContext, _: int | None) -> str:
    return context.rig.file


FAULTS: dict[str, Callable[[pytest.MonkeyPatch], None]] = {
    "loader": lambda patch: put_in(patch, "lineshaft.schema.loading.read_rig", lambda tree, _: tree.source.shown),
    "solver": lambda patch: put_in(patch, "lineshaft.check.inspection.solve_loaded", lambda loaded, _: loaded.shown),
    "rule": into_a_rule,
    "repairs": lambda patch: put_in(patch, "lineshaft.repair.plan.fix_budget.with_repairs", file_of_context),
}
KEEPS = {"rule", "repairs"}
"""Where the other rules' findings on the file are there all the same."""


def verdicts(text: str) -> dict[str, set[str]]:
    """The rules that found something, by file."""
    found: dict[str, set[str]] = {}
    for finding in json.loads(text)["findings"]:
        found.setdefault(finding["file"], set()).add(finding["rule"])
    return found


def expected(fault: str) -> dict[str, set[str]]:
    """199 verdicts as without the fault, and the one file with the news of it."""
    found = {name: {"torque-over-limit"} for name in OVER}
    news = {"rule-crashed" if fault == "rule" else "internal-error"}
    return {**found, BAD: news | (found[BAD] if fault in KEEPS else set())}


@pytest.mark.parametrize("fault", FAULTS)
def test_in_one_process(
    fleet: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], fault: str
) -> None:
    """The one file is named with what failed; everybody else has the verdict that they had."""
    FAULTS[fault](monkeypatch)
    assert run(["check", "--no-cache", "--jobs", "1", "--write", "json=-", "."]) == 2
    said = capsys.readouterr()
    assert verdicts(said.out) == expected(fault)
    assert json.loads(said.out)["summary"]["files"] == 201
    assert ("PutInError" in said.out) and said.err == ""


@pytest.mark.parametrize("fault", FAULTS)
def test_with_the_cache(
    fleet: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], fault: str
) -> None:
    """The fault's file is not remembered: without the fault the next run has all 200 verdicts."""
    with monkeypatch.context() as patch:
        FAULTS[fault](patch)
        assert run(["check", "--write", "json=-", "."]) == 2
        assert verdicts(capsys.readouterr().out) == expected(fault)
        assert run(["check", "--write", "json=-", "."]) == 2
        assert verdicts(capsys.readouterr().out) == expected(fault)
    assert run(["check", "--write", "json=-", "."]) == 1
    assert verdicts(capsys.readouterr().out) == {name: {"torque-over-limit"} for name in OVER}


def test_a_cache_that_fails_on_one_file_costs_nothing_but_its_time(
    fleet: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The file is judged afresh: what fails is a memory, not a verdict."""
    put_in(monkeypatch, "lineshaft.run.result_cache.written", lambda sheet: sheet.file)
    assert run(["check", "--write", "json=-", "."]) == 1
    capsys.readouterr()
    put_in(monkeypatch, "lineshaft.run.result_cache.report_of", lambda _: BAD)
    assert run(["check", "--write", "json=-", "."]) == 1
    assert verdicts(capsys.readouterr().out) == {name: {"torque-over-limit"} for name in OVER}
    assert [path for path in (fleet.parent / "cache").rglob("*") if path.is_file()] != []


PLANTED = """
import {module} as place
whole = place.{name}
def broken(*args, **more):
    if {named}.endswith({bad!r}):
        {how}
    return whole(*args, **more)
place.{name} = broken
"""
IN_WORKERS = {
    "loader": ("lineshaft.schema.loading", "read_rig", "args[0].source.shown", "raise LookupError"),
    "solver": ("lineshaft.check.inspection", "solve_loaded", "args[0].shown", "raise LookupError"),
    "repairs": ("lineshaft.repair.plan.fix_budget", "with_repairs", "args[0].rig.file", "raise LookupError"),
    "worker": ("lineshaft.check.inspection", "solve_loaded", "args[0].shown", "__import__('os')._exit(7)"),
}


@pytest.mark.parametrize("fault", [*IN_WORKERS, "rule"])
def test_with_jobs(fleet: Path, fault: str) -> None:
    """The same from two processes; where the file ends its worker, another one goes on with what was left."""
    body = f"if rig.file.endswith({BAD!r}): raise LookupError" if fault == "rule" else "return"
    env = planted(fleet / "away", body)
    if fault in IN_WORKERS:
        module, name, named, how = IN_WORKERS[fault]
        text = PLANTED.format(module=module, name=name, named=named, bad=BAD, how=how)
        with (fleet / "away" / "planted_rule_code.py").open("a", encoding="utf-8") as code:
            code.write(text)
    command = [*COMMAND, "--jobs", "2", "--write", "json=-", "."]
    ran = subprocess.run(command, cwd=fleet, env=env, capture_output=True, timeout=120, check=False)
    assert (ran.returncode, ran.stderr) == (2, b"")
    assert verdicts(ran.stdout.decode()) == expected(fault)
    assert b"ended with code 7" in ran.stdout if fault == "worker" else True


def test_a_value_that_cannot_leave_its_worker_is_told_of_its_file(fleet: Path) -> None:
    """A third party's rule may put anything into its findings; here a function that cannot be pickled."""
    body = (
        "from lineshaft.api import Measure, report\n"
        f"if rig.file.endswith({BAD!r}):\n"
        "    place = rig.place(0)\n"
        "    yield report(place, 'w', ('x',), (('torque', Measure(lambda: 1, 'N*m')),))"
    )
    env = planted(fleet / "away", body)
    command = [*COMMAND, "--jobs", "2", "--no-repairs", "--write", "json=-", "."]
    ran = subprocess.run(command, cwd=fleet, env=env, capture_output=True, timeout=120, check=False)
    assert (ran.returncode, ran.stderr) == (2, b"")
    assert verdicts(ran.stdout.decode()) == expected("answer")


def test_the_reports_data(fleet: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """The rig has no picture in the report, and says so; its verdict and the others' stand."""
    put_in(monkeypatch, "lineshaft.report_model.gather.report_model", lambda rig, _: rig.file)
    assert run(["check", "--no-cache", "--no-repairs", "--write", "html=r.html", "--write", "json=-", "."]) == 2
    found = verdicts(capsys.readouterr().out)
    assert found == {**expected("repairs"), BAD: {"internal-error", "torque-over-limit"}}
    page = (fleet / "r.html").read_text("utf-8")
    assert all(name in page for name in OVER)
    assert "no report could be made of this rig: internal error (PutInError)" in page


ONE_FINDING = {
    "json": "lineshaft.write.findings_json.finding_document",
    "sarif": "lineshaft.write.sarif._result",
    "junit": "lineshaft.write.junit._case",
    "github": "lineshaft.write.github._message",
    "gitlab": "lineshaft.write.gitlab._entry",
    "markdown": "lineshaft.write.markdown._row",
    "html": "lineshaft.write.html_report.rigs.finding_view",
    "text": "lineshaft.write.sheet.level_shown",
}
"""What each writer does with one finding."""


@pytest.mark.parametrize("name", ONE_FINDING)
def test_each_writer(
    fleet: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """The document has the other files' findings, and of the one that it cannot be written; other formats have all."""
    put_in(
        monkeypatch,
        ONE_FINDING[name],
        lambda finding, *_: finding.file if finding.rule != "internal-error" else "",
    )
    other = "junit" if name == "json" else "json"
    writes = [] if name == "text" else [f"--write={name}=out"]
    assert run(["check", "--no-cache", "--no-repairs", *writes, f"--write={other}=other", "."]) == 2
    said = capsys.readouterr()
    text = " ".join(said.out.split()) if name == "text" else Path("out").read_text("utf-8")
    assert all(file in text for file in OVER)
    assert "internal error (PutInError)" in text
    assert text.count("torque-over-limit") >= 9
    assert BAD in said.err and name in said.err and said.err.count("\n") == 1
    assert "PutInError" not in Path("other").read_text("utf-8")


def test_every_writer_is_tried() -> None:
    """A format that is added gets a line above."""
    assert {*ONE_FINDING} == {*WRITERS, "text"}


def test_a_writer_that_fails_on_everything_is_named_and_the_others_write(
    fleet: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """No file is to blame, so none is named."""

    def fails(*_: object) -> None:
        raise PutInError

    monkeypatch.setattr("lineshaft.write.junit.ET.Element", fails)
    assert run(["check", "--no-cache", "--no-repairs", "--write=junit=out", "--write=json=other", "."]) == 2
    said = capsys.readouterr()
    assert said.err == "lineshaft: could not write anything as junit: internal error (PutInError)\n"
    assert verdicts(Path("other").read_text("utf-8")) == {file: {"torque-over-limit"} for file in OVER}
    assert not Path("out").exists()


def test_the_traceback_is_shown_to_who_asks(
    fleet: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """With --debug, on standard error; the others are judged all the same."""
    FAULTS["solver"](monkeypatch)
    assert run(["check", "--no-cache", "--debug", "--write", "json=-", "."]) == 2
    said = capsys.readouterr()
    assert verdicts(said.out) == expected("solver")
    assert "Traceback" in said.err and "put in" in said.err
