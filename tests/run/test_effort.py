"""The effort of a run is shared out before the first search, equally over the faulty files, whoever judges them."""

from dataclasses import replace
from pathlib import Path

import pytest

from lineshaft.check import effort
from lineshaft.check.checker import Checker
from lineshaft.check.rulebook import open_rulebook
from lineshaft.repair.plan import fix_budget
from lineshaft.run.runner import JobOptions, inspect_files
from lineshaft.schema.loading import Loaded, Loader
from lineshaft.schema.text.dependencies import DependencyRecorder
from lineshaft.write.summary import FileReport

CATALOGUE = """catalogue: 1
edition: "1"
grades:
  pine:  {torque-limit: 1500 N*m, speed-limit: 60 rad/s}
  larch: {torque-limit: 5 kN*m, speed-limit: 90 rad/s}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  stage: {kind: gear-stage, ratios: [5/2, 3, 7], grades: [pine, larch]}
  saw:   {kind: driven-machine, needs: {torque: 150 N*m, speed: 2 rad/s}}
"""
RIG = """rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  step:  {item: stage, grade: GRADE, ratio: 5/2, set: reduce, driven-by: wheel}
  saw:   {item: saw, driven-by: step}
"""


@pytest.mark.parametrize(("faulty", "each"), [(1, 40_000), (100, 40_000), (101, 20_000), (300, 10_000), (9_000, 312)])
def test_each_faulty_file_gets_as_much_and_all_together_no_more_than_a_run(faulty: int, each: int) -> None:
    """By hand: 40,000 steps for one, 4,000,000 for a run, halved until it suffices: 300 x 10,000; 9,000 x 312."""
    assert effort.allotted(faulty) == each
    assert faulty * each <= effort.EFFORT_OF_RUN


def _yard(folder: Path, faulty: int, sound: int) -> Checker:
    root = folder.resolve()
    (root / "works.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    for number in range(faulty + sound):
        grade = "pine" if number < faulty else "larch"
        (root / f"{number:03}.rig.yaml").write_text(RIG.replace("GRADE", grade), "utf-8")
    return Checker(root, open_rulebook(), repairs=True)


def _judged(checker: Checker, jobs: int = 1) -> tuple[FileReport, ...]:
    work = [checker.job(path, "rig") for path in sorted(checker.working.glob("*.rig.yaml"))]
    return tuple(inspect_files(checker, work, JobOptions(jobs, remember=False, quiet=True)))


def _efforts(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The steps that each search gets, as it is begun."""
    given: list[int] = []
    search = fix_budget.offers

    def noted(context, findings, most_effort, shown, *, whole):  # type: ignore[no-untyped-def]
        given.append(most_effort)
        return search(context, findings, most_effort, shown, whole=whole)

    monkeypatch.setattr(fix_budget, "offers", noted)
    return given


def test_a_run_over_many_allots_its_effort_over_the_faulty_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With effort for three files, five faulty among nine get half of what one gets; three faulty get it whole."""
    monkeypatch.setattr(effort, "EFFORT_OF_RUN", 3 * effort.EFFORT_OF_CHECK)
    given = _efforts(monkeypatch)
    for faulty, sound, each in ((5, 4, 20_000), (3, 6, 40_000)):
        given.clear()
        folder = tmp_path / str(faulty)
        folder.mkdir()
        reports = _judged(_yard(folder, faulty, sound))
        assert given == [each] * faulty
        assert [len(report.findings) for report in reports] == [1] * faulty + [0] * sound
        assert all(report.findings[0].repairs for report in reports[:faulty])


def test_what_is_found_is_the_same_with_any_number_of_jobs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One process, two and four, where effort is short: 7 faulty rigs share a third of what one gets."""
    monkeypatch.setattr(effort, "EFFORT_OF_RUN", effort.EFFORT_OF_CHECK // 3)
    checker = _yard(tmp_path, 7, 2)
    alone, *others = [_judged(checker, jobs) for jobs in (1, 2, 4)]
    assert others == [alone, alone]
    assert sum(len(report.findings) for report in alone) == 7


def test_a_rig_that_was_judged_for_the_share_of_effort_is_not_judged_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Four faulty and two sound rigs are each judged once, and get the repairs that they get where nothing is kept."""
    monkeypatch.setattr(effort, "EFFORT_OF_RUN", 3 * effort.EFFORT_OF_CHECK)
    checker = _yard(tmp_path, 4, 2)
    anew = _judged(checker)
    read: list[str] = []
    own = Loader.rig

    def noted(loader: Loader, path: Path) -> Loaded:
        read.append(path.name)
        return own(loader, path)

    monkeypatch.setattr(Loader, "rig", noted)
    _judged(replace(checker, kept={}))
    assert sorted(read) == sorted({report.file for report in anew})
    monkeypatch.undo()
    monkeypatch.setattr(effort, "EFFORT_OF_RUN", 3 * effort.EFFORT_OF_CHECK)
    assert _judged(replace(checker, kept={})) == anew


def test_a_verdict_with_repairs_hangs_on_what_was_read_for_it_the_first_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is kept from the first look is noted for the second, so that another catalogue is another verdict."""
    monkeypatch.setattr(effort, "EFFORT_OF_RUN", 3 * effort.EFFORT_OF_CHECK)
    checker = replace(_yard(tmp_path, 4, 0), recorder=DependencyRecorder())
    told = {
        job.path: [query for query, _ in checker.judged(job).dependencies]
        for job in (checker.job(path, "rig") for path in sorted(tmp_path.glob("*.rig.yaml")))
    }
    kept = replace(checker, kept={})
    plain = replace(kept, repairs=False)
    jobs = [kept.job(path, "rig") for path in told]
    for job in jobs:
        plain.judged(job)
    for job in jobs:
        assert sorted(query for query, _ in kept.judged(job).dependencies) == sorted(told[job.path])
