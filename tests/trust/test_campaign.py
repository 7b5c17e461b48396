"""The short form of the campaign, and that the campaign itself sees what it is there to see."""

import json
from pathlib import Path
from random import Random

import pytest
import yaml
from trust import mutate, trial
from trust.mutations import mutated
from trust.trial import try_seed
from trust.works import works

from lineshaft.schema.loading import Loader


@pytest.mark.parametrize("first", range(0, 100, 20))
def test_mutated_files_end_in_a_verdict(tmp_path: Path, first: int) -> None:
    """No unhandled error, no other exit code, no document against its schema, in a bounded count of calls."""
    for seed in range(first, first + 20):
        assert try_seed(seed, tmp_path / "works") == []


def test_a_seed_is_an_input(tmp_path: Path) -> None:
    """The same bytes each time, so that what was found is found again."""
    seen = []
    for name in ("one", "two"):
        try_seed(41, tmp_path / name, count_calls=False)
        files = sorted(path for path in (tmp_path / name).rglob("*.yaml"))
        seen.append([(path.relative_to(tmp_path / name), path.read_bytes()) for path in files])
    assert seen[0] == seen[1]


def test_many_mutations_are_rigs_still() -> None:
    """A third of 200 are YAML mappings still: not the parser alone but the solver and the rules see their share."""
    trees = 0
    for seed in range(200):
        rng = Random(seed)
        text = mutated(next(iter(works(rng).values())), rng)
        try:
            trees += isinstance(yaml.safe_load(text), dict)
        except (yaml.YAMLError, ValueError):
            continue
    assert trees >= 67


def test_an_error_put_in_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the loader fails on every rig, the campaign says so, with the traceback."""

    def broken(*_: object) -> None:
        raise KeyError("put in by a test")

    monkeypatch.setattr(Loader, "rig", broken)
    found = [trouble for seed in range(5) for trouble in try_seed(seed, tmp_path / "works", count_calls=False)]
    assert found
    assert any("put in by a test" in trouble.trace for trouble in found)


def test_a_bound_broken_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With a bound of a thousand calls every command is over it, and the guard does not turn that into an exit code."""
    monkeypatch.setattr(trial, "MOST_CALLS", 1000)
    found = try_seed(0, tmp_path / "works")
    assert found
    assert {trouble.what for trouble in found} == {"BoundError: more than 1,000 calls"}


def test_the_record_says_how_many_inputs_there_were(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two ranges that touch are one; the next run goes on behind the last seed."""
    file = tmp_path / "campaign.json"
    file.write_text(json.dumps({"inputs": 3, "seeds": [[0, 3]]}), encoding="utf-8")
    monkey = ["--file", str(file), "--record", "--keep", str(tmp_path)]
    assert mutate.main([*monkey, "--seeds", "3..5"]) == 0
    assert json.loads(file.read_text("utf-8")) == {"inputs": 5, "seeds": [[0, 5]]}
    assert mutate.main([*monkey, "--minutes", "0.0001"]) == 0
    assert "seeds 5.." in capsys.readouterr().out
