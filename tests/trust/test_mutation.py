"""That mutants are what they are said to be, are put in, and that the score is reckoned as its source has it."""

import importlib.util
import os
import signal
import sys
import time
from pathlib import Path
from types import ModuleType

import pytest
from scipy.stats import binomtest  # type: ignore[import-untyped]

pytest.importorskip("cosmic_ray", reason="needs the extra `trust`")

from trust.mutant_code import OutsideFunctionsError, changed_functions, functions_in_memory, put_in, put_in_values
from trust.mutant_killer import ALL, TESTS, equivalents
from trust.mutants import PLACES, Mutant, all_mutants, changed_line, mutated_source, source
from trust.mutation import drawn, interval, score_of, told
from trust.process_copy import Copy

TOY = """\
LIMIT = 7


class Gauge:
    @property
    def doubled(self) -> int:
        return LIMIT * 3


def over(value, most=LIMIT):
    return [each for each in value if each > most]
"""


def _loaded(folder: Path) -> tuple[Path, ModuleType]:
    file = folder.resolve() / "toy_gauge.py"
    file.write_text(TOY, "utf-8")
    spec = importlib.util.spec_from_file_location("toy_gauge", file)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return file, module


@pytest.mark.parametrize(("part", "whole"), [(0, 30), (27, 30), (540, 600), (600, 600), (1, 3)])
def test_the_interval_is_wilsons(part: int, whole: int) -> None:
    """Against scipy's own reckoning of the same interval."""
    expected = binomtest(part, whole).proportion_ci(0.95, method="wilson")
    assert interval(part, whole) == pytest.approx((expected.low, expected.high), abs=1e-6)


def test_of_nothing_nothing_is_known() -> None:
    """Without a mutant the share may be anything, and the words do not say that all were killed."""
    assert interval(0, 0) == (0.0, 1.0)
    assert told(score_of({})).startswith("0 of 0 killed, 0.0%")


def test_a_change_in_a_function_is_put_into_what_runs(tmp_path: Path) -> None:
    """In a comprehension, and in a property of a class that is loaded already; what is not changed stays."""
    file, toy = _loaded(tmp_path)
    assert toy.over([6, 7, 8]) == [8]
    after = TOY.replace("each > most", "each >= most").replace("LIMIT * 3", "LIMIT + 3")
    changes = changed_functions(file, TOY, after)
    assert sorted(old.co_name for old, _ in changes) == ["doubled", "over"]
    assert put_in(functions_in_memory([file])[file], changes) == 2
    assert toy.over([6, 7, 8]) == [7, 8]
    assert toy.Gauge().doubled == 10


@pytest.mark.parametrize("change", [("LIMIT = 7", "LIMIT = 9"), ("most=LIMIT", "most=-LIMIT"), ("@property", "")])
def test_what_runs_on_import_is_told_apart(tmp_path: Path, change: tuple[str, str]) -> None:
    """A value of the module, a default and a decorator: their mutants want a process of their own."""
    file, _ = _loaded(tmp_path)
    with pytest.raises(OutsideFunctionsError):
        changed_functions(file, TOY, TOY.replace(*change))


def test_a_copy_that_waits_for_ever_is_ended() -> None:
    """It ends as it says, or by the signal that ends it when its time is up."""
    own = Copy(60)
    if own.is_this:
        os._exit(7)
    assert own.awaited() == 7
    waiting = Copy(0.05)
    if waiting.is_this:
        time.sleep(60)
        os._exit(0)
    assert waiting.awaited() == -signal.SIGKILL


def test_a_value_is_put_in_wherever_it_went_by_its_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In the module, whose functions read it there, and in another that took it over; what is equal stays."""
    file, toy = _loaded(tmp_path)
    taker = ModuleType("toy_taker")
    taker.LIMIT = toy.LIMIT  # type: ignore[attr-defined]
    taker.MOST = toy.LIMIT  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "toy_taker", taker)
    monkeypatch.setitem(sys.modules, "toy_gauge", toy)
    assert put_in_values(toy, file, TOY.replace("LIMIT = 7", "LIMIT = 9")) == 1
    assert (toy.LIMIT, taker.LIMIT, taker.MOST) == (9, 9, 7)
    assert toy.Gauge().doubled == 27
    assert put_in_values(toy, file, TOY.replace("LIMIT = 7", "LIMIT = 9 + 0")) == 0
    with pytest.raises(ZeroDivisionError):
        put_in_values(toy, file, TOY.replace("LIMIT = 7", "LIMIT = 7 / 0"))


def test_a_change_of_layout_is_no_mutant(tmp_path: Path) -> None:
    """Spaces and comments change no code."""
    file, _ = _loaded(tmp_path)
    assert changed_functions(file, TOY, TOY.replace("LIMIT * 3", "LIMIT  *  3  # thrice")) == []


def test_mutants_change_what_they_say_and_no_annotation() -> None:
    """Of one module: each changes the text, none a type; the comparison of its limit is among them."""
    module = "lint/solve/limits.py"
    found = all_mutants([module])
    assert len(found) > 20
    assert all(mutated_source(mutant) != source(module) for mutant in found)
    lines = source(module).splitlines()
    assert not [mutant for mutant in found if "->" in lines[mutant.line - 1] and "|" in lines[mutant.line - 1]]
    assert any(" < " in changed_line(mutant) or " >= " in changed_line(mutant) for mutant in found)


def test_a_larger_draw_holds_the_smaller_one() -> None:
    """So that what a short run found is found by the long one too."""
    mutants = [Mutant("rules/loose_end.py", "a", number, number, 0) for number in range(300)]
    assert set(drawn(mutants, 30, 7)) < set(drawn(mutants, 90, 7))
    assert drawn(mutants, 30, 7) != drawn(mutants, 30, 8)


def test_a_change_of_one_module_leaves_those_drawn_of_the_others() -> None:
    """Of 700 a tenth is drawn; with 40 more in another module at most those take the places of some."""
    mutants = [Mutant("rules/loose_end.py", "a", number, number, 0) for number in range(700)]
    more = [Mutant("rules/layout_gap.py", "a", number, number, 0) for number in range(40)]
    kept = set(drawn([*more, *mutants], 70, 7)) - set(more)
    assert kept < set(drawn(mutants, 70, 7))
    assert len(kept) > 55


def test_every_place_has_tests_that_are_there() -> None:
    """A place without tests would have survivors alone."""
    assert set(TESTS) == set(PLACES)
    folder = Path(__file__).resolve().parents[1]
    near = [name for names in TESTS.values() for name in names]
    assert [name for name in (*near, *ALL) if not (folder / name).exists()] == []


def test_each_equivalent_mutant_changes_a_line_that_is_there_and_has_its_reason() -> None:
    """What is said of a line that is no longer there, or without a reason, would hide another."""
    for name, reason in equivalents().items():
        module = name.partition(" | ")[0]
        starts = (f"{module} | {line.strip()} | " for line in source(module).splitlines())
        assert any(name.startswith(start) and name != start for start in starts), name
        assert len(reason) > 20
