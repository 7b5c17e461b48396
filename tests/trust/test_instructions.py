"""Counted instructions against their record; that cachegrind's count repeats, and that a wheel's layout runs."""

import subprocess
import sys
from pathlib import Path

import pytest
from trust import instructions
from trust.instructions import CASES, Compared, compared
from trust.table import Form

RECORDED = {"here": {"start-up": 400_000_000, "one repair": 2_000_000_000}}


@pytest.mark.parametrize(
    ("now", "holds"), [(400_000_000, True), (408_000_000, True), (408_000_001, False), (391_000_000, False)]
)
def test_a_count_is_held_within_two_per_cent_of_its_record(now: int, holds: bool) -> None:
    """Of 400 M: 8 M more still is, one more is not; and 9 M less is news as well, to be recorded."""
    assert [case.holds for case in compared({"start-up": now}, RECORDED, "here")] == [holds]


def test_another_interpreter_or_wheel_has_no_record_and_is_only_told() -> None:
    """What was counted with other wheels says nothing of these."""
    (case,) = compared({"start-up": 700_000_000}, RECORDED, "elsewhere")
    assert case == Compared("start-up", 700_000_000, None)
    assert case.holds
    assert case.words == "700.0 M, no record"


def test_the_words_say_how_far_from_the_record() -> None:
    """404 M of 400 M are 1 % more."""
    assert compared({"start-up": 404_000_000}, RECORDED, "here")[0].words == "404.0 M, +1.00 %"


def test_without_cachegrind_the_row_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is counted, and nobody takes it for a count."""
    monkeypatch.setenv("PATH", "/nowhere")
    (row,) = instructions.rows(Form())
    assert "valgrind" in row.now
    assert row.now.startswith("not counted")


def test_every_case_runs_as_a_wheel_lays_it_out(tmp_path: Path) -> None:
    """Beside the wheels it stands on and no others: the clean rigs hold, the other has its one finding and repairs."""
    for module, wheel in (("jsonschema_rs", "jsonschema-rs"), ("_ruamel_yaml", "ruamel.yaml.clib")):
        pytest.importorskip(module, reason=f"{wheel}, which the counts are taken with, is not installed")
    env = instructions.laid_out(tmp_path.resolve())
    codes = {}
    for case, arguments in CASES.items():
        command = [sys.executable, "-S", *arguments]
        ran = subprocess.run(command, cwd=tmp_path, env=env, capture_output=True, text=True, timeout=120, check=False)
        assert ran.stderr == ""
        codes[case] = ran.returncode
    clean = ("bare imports", "start-up", "clean check of 700 parts")
    assert codes == {**dict.fromkeys(clean, 0), "check with repairs": 1, "one repair": 1}


@pytest.mark.skipif(not instructions.there(), reason=instructions.MISSING)
def test_a_count_repeats(tmp_path: Path) -> None:
    """Two runs of one interpreter: within a thousandth; and what does more counts more."""
    env = {"PYTHONHASHSEED": "0", "PATH": "/usr/bin:/bin"}
    work = ("-c", "sum(number * number for number in range(30000))")
    once, again, less = (instructions.instructions(what, tmp_path, env) for what in (work, work, ("-c", "pass")))
    assert abs(once / again - 1) < 0.001
    assert once > less
