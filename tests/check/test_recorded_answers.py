"""Files judged where recorded answers stand in place of the disk: a verdict, or what lacks."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from lineshaft.api import Edit, Finding, Fix, Offer, Reported, Rule, SolvedRig, report
from lineshaft.check.checker import Checker
from lineshaft.check.rulebook import Rulebook
from lineshaft.schema.text.dependencies import Answer, DependencyRecorder, Query, UnansweredError
from lineshaft.schema.text.repository import Repository
from lineshaft.testing import CATALOGUE

LEG = """blueprint: 1
catalogue: works.catalogue.yaml
inlets: {in: {torque-up-to: 1 kN*m, speed-up-to: 9 rad/s}}
parts:
  press: {item: press, driven-by: in}
"""
RIG = """rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  leg: {blueprint: leg.blueprint.yaml, driven-by: {in: wheel}}
"""
LINE = ("parts", "leg", "blueprint")


def _check(rig: SolvedRig) -> Iterator[Reported]:
    tree = rig.rig.tree
    if tree.at(LINE) == "leg.blueprint.yaml":
        yield report((tree.source.shown, tree.span(LINE), LINE), None, ("the older leg is placed",))


def _repairs(rig: SolvedRig, finding: Finding) -> Iterator[Offer]:
    yield Fix("place the newer leg", (Edit(finding.file, finding.span, "newer.blueprint.yaml"),))


BOOK = Rulebook((Rule("newer-leg", "error", _check, _repairs),))


@pytest.fixture
def rig(tmp_path: Path) -> Path:
    """A rig that places the older of two legs."""
    (tmp_path / ".git").mkdir()
    texts = {"works.catalogue.yaml": CATALOGUE, "leg.blueprint.yaml": LEG, "newer.blueprint.yaml": LEG}
    for name, text in (texts | {"a.rig.yaml": RIG}).items():
        (tmp_path / name).write_text(text, "utf-8")
    return (tmp_path / "a.rig.yaml").resolve()


def _answers(rig: Path) -> dict[Query, Answer]:
    """What a check without repairs asks, with the answers of the disk."""
    recorder = DependencyRecorder()
    checker = Checker(rig.parent, BOOK, day=date(2026, 3, 2), recorder=recorder)
    judged = checker.judged(checker.job(rig, "rig"))
    repository = Repository(rig.parent, rig.parent)
    return {query: repository.answer(query) for query, _ in judged.dependencies}


def test_with_all_answers_the_disk_is_not_needed(rig: Path) -> None:
    """The verdict of the files that are gone since."""
    answers = _answers(rig)
    for path in rig.parent.glob("*.yaml"):
        path.unlink()
    checker = Checker(rig.parent, BOOK, day=date(2026, 3, 2), answers=answers)
    (found,) = checker.judged(checker.job(rig, "rig")).report.findings
    assert (found.rule, found.span.start) == ("newer-leg", (5, 20))


def test_what_a_verdict_lacks_is_raised_and_is_no_finding(rig: Path) -> None:
    """Nobody takes it for a fault of the file: it is judged where the disk is."""
    lacking = {query: answer for query, answer in _answers(rig).items() if query.at != "leg.blueprint.yaml"}
    checker = Checker(rig.parent, BOOK, day=date(2026, 3, 2), answers=lacking)
    with pytest.raises(UnansweredError, match=r"leg\.blueprint\.yaml"):
        checker.judged(checker.job(rig, "rig"))


def test_what_a_repair_lacks_is_raised_too(rig: Path) -> None:
    """A stranger's repair names a file that the verdict alone did not need; on the disk it is proved."""
    checker = Checker(rig.parent, BOOK, day=date(2026, 3, 2), answers=_answers(rig), repairs=True)
    with pytest.raises(UnansweredError):
        checker.judged(checker.job(rig, "rig"))
    checker = Checker(rig.parent, BOOK, day=date(2026, 3, 2), repairs=True)
    (found,) = checker.judged(checker.job(rig, "rig")).report.findings
    assert [repair.title for repair in found.repairs] == ["place the newer leg"]
