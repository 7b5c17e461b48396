"""Clean generated rigs give nothing; one fault gives one error, by the right rule at the right part.

All through the public command, one run for many rigs; each fault is a file of its own.
"""

import json
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any

import pytest
from command_runner import run
from rig_maker import FAULTS, break_one, make_rig

_SEEDS = range(24)


def _size(seed: int) -> int:
    return 12 + 7 * seed


def _check(folder: Path) -> tuple[int, dict[str, Any]]:
    """Exit code and document of `lineshaft check --write json=-` over a folder."""
    ran = run(folder, "check", "--write", "json=-", ".", seconds=600)
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


@pytest.mark.parametrize("kind", FAULTS)
def test_a_seeded_fault_is_found_where_it_is(repository: Path, kind: str) -> None:
    """Each faulty rig has one finding of the right rule at the broken part, and no other error."""
    expected = {}
    for seed in _SEEDS:
        made = make_rig(seed, _size(seed))
        broken = break_one(made, kind, seed)
        if broken is not None:
            _put(repository, f"seed-{seed}", broken.text, made.catalogue_text)
            expected[f"seed-{seed}/made.rig.yaml"] = Counter([(broken.rule, broken.part)])
    assert len(expected) > len(_SEEDS) / 2
    code, document = _check(repository)
    warning = kind == "loose-end"
    found: dict[str, Counter[tuple[str, str]]] = defaultdict(Counter)
    for finding in document["findings"]:
        if warning or finding["level"] == "error":
            found[finding["file"]][finding["rule"], finding["part"]] += 1
    assert dict(found) == expected
    assert code == (0 if warning else 1)
