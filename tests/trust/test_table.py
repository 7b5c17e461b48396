"""The table of trust: its form, rows that cannot be run, and the judges that are to see what is wrong."""

from pathlib import Path

import pytest
from independent import rig_by_force
from trust import judge, run
from trust.table import Form, Row, as_markdown

from lineshaft.solve.start_up import StartUp


def test_a_missed_goal_is_said_in_the_table() -> None:
    """A row that holds shows its figure, one that does not says so beside it; columns are in line."""
    lines = as_markdown(
        [Row("rigs that differ", "0", "3 of 90", "0..90", False), Row("inputs", "70", "71", "a", True)]
    ).splitlines()
    assert lines[2] == "| rigs that differ | 0    | 3 of 90 (missed) | 0..90 |"
    assert lines[3] == "| inputs           | 70   | 71               | a     |"
    assert len({line.count("|") for line in lines}) == 1
    assert len({len(line) for line in lines}) == 1


def test_rows_that_end_before_their_time_are_a_goal_missed(monkeypatch: pytest.MonkeyPatch) -> None:
    """A module that cannot be run does not leave the table in silence."""
    found = run._apart("no-such-row", Form())
    assert [row.holds for row in found] == [False]
    assert "ended with exit code 2" in found[0].now


def test_the_long_form_ends_in_forty_minutes_on_two_cores() -> None:
    """As it is estimated: half of all minutes, or those of the longest row. One row alone takes its own."""
    assert run.expected(run.MODULES, Form(long=True), 2).startswith("takes some ")
    assert sum(minutes for _, minutes in run.MINUTES.values()) / 2 < 40
    assert max(minutes for _, minutes in run.MINUTES.values()) < 40
    assert run.expected(("judge",), Form(), 2) == "takes some 0 min on 2 cores: judge 0.3"


def test_the_short_form_is_not_the_long_one() -> None:
    """Each check of the judge asks more of the long run, together 20,000 rigs and more."""
    assert all(check.short < check.long for check in judge.CHECKS.values())
    assert sum(check.long for check in judge.CHECKS.values()) >= 20_000


@pytest.mark.parametrize("name", sorted(set(judge.CHECKS) - {"shown", "sizes", "uses"}))
@pytest.mark.parametrize("first", [0, 10, 20])
def test_every_check_can_be_asked_and_holds(name: str, first: int) -> None:
    """Some seeds of each; the more are run by the table."""
    count = 2 if name in ("repairs", "wishes") else 10
    assert judge.judged(judge.CHECKS[name], range(first, first + count)) == (count, [])


def test_a_judge_that_reckons_otherwise_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where hand arithmetic knows of no starved machine, each is on one side alone, and is named with its rule."""
    rule, own = "machine-underdriven", rig_by_force.faults

    def without(rig: rig_by_force.LittleRig) -> dict[rig_by_force.Fault, tuple[float, ...]]:
        return {fault: bad for fault, bad in own(rig).items() if fault[0] != rule}

    starved = next(seed for seed in range(90) if rule in dict(own(rig_by_force.little_rig(seed)).keys()))
    monkeypatch.setattr(judge, "faults", without)
    assert judge.limits(starved)[1].startswith(f"{rule} at ")


@pytest.mark.parametrize("kind", ["stop", "disengage", "couple", "set"])
def test_a_start_up_that_passes_over_a_step_is_told(monkeypatch: pytest.MonkeyPatch, kind: str) -> None:
    """Steps of one kind do nothing in the program: the judge sees that in one of the first seeds that have some."""
    own = StartUp._changed_by
    monkeypatch.setattr(StartUp, "_changed_by", lambda self, step: () if step.kind == kind else own(self, step))
    assert any(judge.start_ups(seed)[1] for seed in range(20))


def test_a_repair_that_does_not_hold_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where every proof says yes, a check shows what makes things worse; else all holds."""
    assert not any(judge.shown(seed)[1] for seed in range(30))
    monkeypatch.setattr("lineshaft.repair.plan.proving.mends", lambda *_, only_name: True)
    assert any("is worse for" in judge.shown(seed)[1] for seed in range(30))


def test_a_page_says_what_is_not_in_it() -> None:
    """The form, the day's version and the rows that were left out stand above the table."""
    table = as_markdown([Row("rigs that differ", "0", "0 of 90", "0..90", True)])
    text = run.page(table, Form(), ("judge", "faults"), (3.4, 2))
    assert "`python tests/trust/run.py`, the short form" in text
    assert "Not in it: mutation, coverage_gate, defects," in text
    assert text.endswith(table)
    whole = run.page(table, Form(long=True), run.MODULES, (38.0, 2))
    assert "`python tests/trust/run.py --long`, the long form" in whole
    assert "38 minutes, 2 at once" in whole
    assert "Not in it" not in whole


def test_the_published_page_holds_a_table() -> None:
    """It is what the command wrote: as many cells in each row, and a goal for each figure."""
    text = (Path(__file__).resolve().parents[2] / "docs" / "explanation" / "measured.md").read_text("utf-8")
    assert text.startswith("# What was measured\n\nThis is the last run of `python tests/trust/run.py")
    cells = [[cell.strip() for cell in line.split("|")[1:-1]] for line in text.splitlines() if line.startswith("|")]
    assert cells[0] == ["figure", "goal", "now", "seed"]
    assert len(cells) > 8
    assert all(len(row) == 4 and row[0] and row[1] and row[2] for row in cells)
