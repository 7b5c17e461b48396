"""The short form of the upgrade run, and that a change of a verdict is seen and told with a rig."""

from pathlib import Path

import pytest
from trust import upgrade
from trust.fixed_rigs import FixedRig, fixed_rig
from trust.verdict_record import inputs_digest, read_record, recorded
from trust.verdicts import Word

from lineshaft.check.registry import registry
from lineshaft.check.rulebook import Rulebook, open_rulebook

LOUD = Word("leg", "torque-over-limit", "error", "ab")
SHORT = Word("mill", "machine-underdriven", "error", "cd")


@pytest.mark.parametrize("first", range(0, 300, 100))
def test_the_verdicts_are_those_of_the_record(first: int) -> None:
    """Where a change is meant, `python tests/trust/upgrade.py` tells what it does, and `--record` records it."""
    found = list(upgrade.compared(read_record(upgrade.newest()), range(first, first + 100), open_rulebook()))
    assert not found, upgrade.told(found)


def test_the_fixed_rigs_break_most_rules() -> None:
    """Of all rules only those are missing that no rig of the generator can break: they are about files and policies."""
    missing = registry().ids - set(read_record(upgrade.newest()).rules)
    assert missing <= {"not-yaml", "not-schema", "lubricant-loop", "not-judged", "rule-crashed", "internal-error"}


def test_each_change_of_a_verdict_is_told_once() -> None:
    """By hand: one finding is gone, one is new, one has other values, one another level; what is alike is not told."""
    tame = Word("saw", "loose-end", "warning", "ef")
    now = [LOUD._replace(values="zz"), tame._replace(level="note"), Word("axle", "layout-gap", "warning", "gh")]
    told = {(change.what, change.rule, change.part) for change in upgrade.changes([LOUD, SHORT, tame], now, 7, 12)}
    assert told == {
        ("lost", "machine-underdriven", "mill"),
        ("warning became note in", "loose-end", "saw"),
        ("other values in", "torque-over-limit", "leg"),
        ("gained", "layout-gap", "axle"),
    }
    assert list(upgrade.changes([LOUD, SHORT], [SHORT, LOUD], 7, 12)) == []


def test_two_alike_of_which_one_goes_are_one_lost() -> None:
    """Findings are counted, so that a doubled one is not taken for the other."""
    told = [change.what for change in upgrade.changes([LOUD, LOUD], [LOUD], 7, 12)]
    assert told == ["lost"]


def test_a_rule_that_is_left_out_is_seen() -> None:
    """Without one rule a hundred rigs lose what the record has of it, and nothing else."""
    book = open_rulebook()
    without = Rulebook(tuple(rule for rule in book.rules if rule.id != "margin-thin"))
    found = list(upgrade.compared(read_record(upgrade.newest()), range(100), without))
    assert len(found) > 9
    assert {(change.what, change.rule) for change in found} == {("lost", "margin-thin")}


def test_the_smallest_rig_is_told() -> None:
    """Of three rigs that lose a finding of one rule, the one of fewest parts."""
    sizes = {5: 19, 6: 7, 8: 12}
    found = [next(upgrade.changes([LOUD], [], seed, size)) for seed, size in sizes.items()]
    told = upgrade.told(found).strip()
    assert told == "3 × lost torque-over-limit; smallest: seed 6: lost torque-over-limit (error) at leg (7 parts)"


def test_a_record_says_what_was_written_into_it(tmp_path: Path) -> None:
    """Parts of the plan, a part that is in no plan, a file; every level."""
    rig = FixedRig({"a.rig.yaml": "rig: 1\n"}, ("saw", "leg/mill"))
    words = tuple(
        Word(part, "loose-end", level, "_-")
        for part, level in (("", "error"), ("leg", "warning"), ("leg/mill", "note"), ("saw", "waived"))
    )
    file = tmp_path / "3.1.txt"
    file.write_text(recorded(("layout-gap", "loose-end"), ("00",), [(9, rig, words), (10, rig, ())]), "ascii")
    record = read_record(file)
    assert record.words(9, rig) == words
    assert record.words(10, rig) == ()


def test_other_rigs_are_not_taken_for_other_verdicts() -> None:
    """Where the generator makes another rig, the run says so and compares nothing."""
    record = read_record(upgrade.newest())
    with pytest.raises(ValueError, match="0 to 100 are not those of the record"):
        list(upgrade.compared(record._replace(inputs=("0" * 12,)), range(1), open_rulebook()))
    assert inputs_digest([fixed_rig(0)]) != inputs_digest([fixed_rig(1)])
