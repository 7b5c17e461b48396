"""`lineshaft repair` with several rigs, as a hook names them: each is mended by itself, numbers are refused."""

from pathlib import Path
from typing import Any

import pytest
from command_runner import run

from lineshaft.commands import repair

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
NAMES = ("overloaded-step.rig.yaml", "two-wheels.rig.yaml", "dry-stage.rig.yaml")


def _yard(folder: Path) -> Path:
    (folder / "catalogues").mkdir()
    for name in (*NAMES, "catalogues/tern-harbour.catalogue.yaml"):
        (folder / name).write_bytes((SAMPLES / name).read_bytes())
    return folder


def test_several_rigs_are_mended_one_by_one(tmp_path: Path) -> None:
    """Two broken rigs are mended, the sound one between them is left alone, and a check finds no error any more."""
    yard = _yard(tmp_path)
    ran = run(yard, "repair", "--apply", "best", *NAMES)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert (yard / NAMES[1]).read_bytes() == (SAMPLES / NAMES[1]).read_bytes()
    assert run(yard, "check", ".").returncode == 0


def test_a_number_is_of_one_rig(tmp_path: Path) -> None:
    """Numbers count over one rig's list, so with several the command says what to write, and changes nothing."""
    yard = _yard(tmp_path)
    ran = run(yard, "repair", *NAMES, "--apply", "1")
    assert ran.returncode == 2
    assert "--apply best" in ran.stderr
    assert all((yard / name).read_bytes() == (SAMPLES / name).read_bytes() for name in NAMES)


@pytest.mark.parametrize("wrong", ["none.rig.yaml", "notes.txt"])
def test_a_name_that_is_no_rig_keeps_no_other_from_being_mended(tmp_path: Path, wrong: str) -> None:
    """It is named, the rigs before and behind it are mended, exit 2."""
    yard = _yard(tmp_path)
    (yard / "notes.txt").write_text("oil the fan", "utf-8")
    ran = run(yard, "repair", "--apply", "best", NAMES[0], wrong, NAMES[2])
    assert (ran.returncode, wrong in ran.stderr) == (2, True)
    assert run(yard, "check", ".").returncode == 0


def test_an_error_of_the_program_on_one_rig_is_told_of_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The rigs before and behind it are mended, exit 2."""
    yard = _yard(tmp_path)
    plan = repair.fix_all

    def breaks(context: Any, *others: Any) -> Any:
        if context.rig.file == NAMES[1]:
            raise LookupError("put in")
        return plan(context, *others)

    monkeypatch.setattr(repair, "fix_all", breaks)
    ran = run(yard, "repair", "--apply", "best", *NAMES)
    assert ran.returncode == 2
    assert ran.stderr.startswith(f"lineshaft: {NAMES[1]}: internal error (LookupError)")
    assert run(yard, "check", ".").returncode == 0
