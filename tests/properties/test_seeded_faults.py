"""Clean generated rigs give nothing; one fault gives one error, by the right rule at the right part.

All through the public command, one run for many rigs; each fault is a file of its own.
"""

import json
from collections import Counter, defaultdict
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from command_runner import run
from rig_maker import FAULTS, break_one, make_rig
from shares import a_few

_SEEDS = range(24)
_PLANNED = ([3, 6, 9], [0, 12, 15, 18, 21])
"""The seeds whose rigs are planned for as well, small and large."""


def _size(seed: int) -> int:
    return 12 + 7 * seed


def _check(folder: Path, *more: str) -> tuple[int, dict[str, Any]]:
    """Exit code and document of `lineshaft check --write json=-` over a folder."""
    ran = run(folder, "check", "--no-cache", "--write", "json=-", *more, ".", seconds=600)
    return ran.returncode, json.loads(ran.stdout)


def _put(folder: Path, stem: str, text: str, catalogue: str) -> None:
    """A rig with its catalogue in a folder of their own."""
    own = folder / stem
    own.mkdir()
    (own / "made.rig.yaml").write_text(text, encoding="utf-8")
    (own / "generated.catalogue.yaml").write_text(catalogue, encoding="utf-8")


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """An empty folder that ends the search for a root."""
    (tmp_path / ".git").mkdir()
    return tmp_path


def test_clean_rigs_give_no_findings(repository: Path) -> None:
    """Rigs of 12 to 173 parts and one of 2,000: no finding of any level, every part solved, exit 0."""
    sizes = [(seed, _size(seed)) for seed in _SEEDS] + [(1, 2000)]
    for seed, parts in sizes:
        made = make_rig(seed, parts)
        _put(repository, f"clean-{seed}-{parts}", made.text, made.catalogue_text)
    code, document = _check(repository)
    assert document["findings"] == []
    assert code == 0
    assert document["summary"]["parts"] == sum(parts for _, parts in sizes)
    assert document["summary"]["unsolved"] == 0


def _break(repository: Path, kind: str, seeds: Sequence[int]) -> dict[str, Counter[tuple[str, str]]]:
    """Put a faulty rig a seed there; what has to be found in each file."""
    expected = {}
    for seed in seeds:
        made = make_rig(seed, _size(seed))
        broken = break_one(made, kind, seed)
        if broken is not None:
            _put(repository, f"seed-{seed}", broken.text, made.catalogue_text)
            expected[f"seed-{seed}/made.rig.yaml"] = Counter([(broken.rule, broken.part)])
    assert len(expected) > len(seeds) / 2
    return expected


def _counted(kind: str, findings: list[dict[str, Any]]) -> dict[str, Counter[tuple[str, str]]]:
    """The rules and parts of the findings by their files: errors, and of an open end, which is a warning, all."""
    found: dict[str, Counter[tuple[str, str]]] = defaultdict(Counter)
    for finding in findings:
        if kind == "loose-end" or finding["level"] == "error":
            found[finding["file"]][finding["rule"], finding["part"]] += 1
    return dict(found)


@pytest.mark.parametrize("kind", FAULTS)
def test_a_seeded_fault_is_found_where_it_is(repository: Path, kind: str) -> None:
    """Each faulty rig has one finding of the right rule at the broken part, and no other error."""
    expected = _break(repository, kind, _SEEDS)
    code, document = _check(repository, "--no-repairs")
    assert _counted(kind, document["findings"]) == expected
    assert code == (0 if kind == "loose-end" else 1)


@pytest.mark.parametrize("seeds", a_few(_PLANNED, 1), ids=["small", "of all sizes"])
@pytest.mark.parametrize("kind", FAULTS)
def test_a_seeded_fault_has_a_repair_or_a_reason(repository: Path, kind: str, seeds: list[int]) -> None:
    """Planning for them finds the same, and for each finding a proved repair or why there is none.

    None is looked for where a value cannot be read, since there is no rig to prove it on.
    """
    expected = _break(repository, kind, seeds)
    code, document = _check(repository)
    assert _counted(kind, document["findings"]) == expected
    assert code == (0 if kind == "loose-end" else 1)
    told = {(f["rule"], bool(f["repairs"]), bool(f["no_repair"])) for f in document["findings"]}
    assert {rule for rule, repairs, reason in told if repairs == reason} <= {"bad-quantity"}
    assert not {rule for rule, repairs, reason in told if repairs and reason}
