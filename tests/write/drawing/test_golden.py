"""Drawings that were looked at, light and dark, wide and narrow, and found to show what they have to.

A change of these bytes is a change of the picture: look at it, then write it anew with the command that the test names.
"""

from pathlib import Path

import pytest

from lineshaft.cli import run

GOLDEN = Path(__file__).with_name("golden")
ROOT = Path(__file__).resolve().parents[3]


@pytest.mark.parametrize("name", sorted(path.name for path in GOLDEN.iterdir()))
def test_the_picture_is_the_one_that_was_looked_at(
    name: str, monkeypatch: pytest.MonkeyPatch, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    """`lineshaft draw sample_rigs/NAME.rig.yaml --date 2026-11-25`, with `--film` where the name says so."""
    monkeypatch.chdir(ROOT)
    sample, *kind = name.removesuffix(".svg").split(".")
    film = ["--film"] if kind == ["film"] else []
    assert run(["draw", f"sample_rigs/{sample}.rig.yaml", "--date", "2026-11-25", *film]) == 0
    assert capfdbinary.readouterr().out == (GOLDEN / name).read_bytes()
