"""The verdict of a rig in a report on many is the one that `check` gives of it alone, its blueprints included."""

import os
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from random import Random

import pytest
import yaml
from rig_maker import FAULTS, break_one, make_rig
from rig_maker.cut import cut_up

from lineshaft.cli import run

RIGS = int(os.environ.get("LINESHAFT_VERDICTS", "40"))
"""How many seeded rigs; a long run sets more."""
_FAULTS = sorted(FAULTS)


def put_up(folder: Path, seed: int) -> None:
    """A rig cut into blueprints, two of three with a fault, in a folder of its own."""
    rng = Random(seed)
    made = make_rig(seed, rng.randint(6, 24))
    broken = break_one(made, rng.choice(_FAULTS), seed) if seed % 3 else None
    cut = cut_up(yaml.safe_load(made.text if broken is None else broken.text), rng)
    folder.mkdir()
    for name, text in {"a.rig.yaml": cut.text, made.catalogue: made.catalogue_text, **cut.blueprints}.items():
        (folder / name).write_text(text, "utf-8")


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder with the rigs."""
    (tmp_path / ".git").mkdir()
    for seed in range(RIGS):
        put_up(tmp_path / f"r{seed:03}", seed)
    monkeypatch.chdir(tmp_path)
    yield tmp_path


def test_verdicts_are_those_of_each_rig_alone(yard: Path, capfd: pytest.CaptureFixture[str]) -> None:
    """Does not hold where `check RIG` ends with 1, else holds; the counts of the headline add up."""
    files = [f"r{seed:03}/a.rig.yaml" for seed in range(RIGS)]
    alone = {file: run(["check", file, "--no-cache", "--no-repairs", "--quiet"]) for file in files}
    assert run(["check", *files, "--no-cache", "--no-repairs", "--quiet", "--write", "html=report.html"]) == 1
    capfd.readouterr()
    page = (yard / "report.html").read_text("utf-8")
    sections = re.findall(r'data-file="([^"]*)".*?<strong class="[a-z]+">([^<]*)</strong>', page, re.DOTALL)
    told = {unescape(file): words for file, words in sections}
    assert {file: words == "does not hold" for file, words in told.items()} == {
        file: code == 1 for file, code in alone.items()
    }
    broken = sum(code == 1 for code in alone.values())
    assert f"{broken} of {RIGS} rigs do not hold" in page
    assert 0 < broken < RIGS
