"""Without libyaml's binding and without the compiled validator every verdict is the same, place and words included."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from lineshaft.check.checker import Checker
from lineshaft.check.rulebook import open_rulebook
from lineshaft.schema.loading import FileKind
from lineshaft.schema.text import yaml_reader
from lineshaft.schema.validation import conformity
from lineshaft.schema.validation.deciders import plain_decider
from lineshaft.schema.validation.schemas import schema_text
from tests.schema.mistakes import mistakes

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ROOT / "sample_rigs"
CATALOGUE = SAMPLES / "catalogues" / "tern-harbour.catalogue.yaml"
KINDS: tuple[FileKind, ...] = ("rig", "catalogue", "blueprint")
LEAST = 300


@contextmanager
def plain() -> Iterator[None]:
    """As where neither is installed."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(yaml_reader, "CParser", None)
        patch.setattr(conformity, "_decider", lambda kind: plain_decider(schema_text(kind)))
        patch.setitem(sys.modules, "jsonschema_rs", None)
        conformity._section_decider.cache_clear()
        yield
    conformity._section_decider.cache_clear()


def _verdict(path: Path, checker: Checker, kind: FileKind) -> list[tuple[Any, ...]]:
    found = checker.report(path, kind).findings
    return [(f.rule, f.level, f.span, "".join(map(str, f.message))) for f in found]


def _corpus(folder: Path) -> Iterator[tuple[Path, Path, FileKind]]:
    """Files with their root and kind: samples, twins, and good files with one mistake in each."""
    (folder / CATALOGUE.name).write_bytes(CATALOGUE.read_bytes())
    texts = [path.read_text("utf-8") for path in sorted(SAMPLES.glob("*.rig.yaml"))]
    rigs = [text for text in texts if "blueprint" not in text and "catalogues/tern-harbour.catalogue.yaml" in text]
    rigs = [text.replace("catalogues/tern-harbour", "tern-harbour") for text in rigs]
    made: tuple[tuple[FileKind, list[str], int], ...] = (
        ("rig", rigs, 170),
        ("catalogue", [CATALOGUE.read_text("utf-8")], 40),
    )
    for kind, good, count in made:
        for number, mistake in enumerate(mistakes(good, 53, count)):
            path = folder / f"spoilt-{number}.{kind}.yaml"
            path.write_text(mistake.text, "utf-8")
            yield path, folder, kind
    for path in sorted((*SAMPLES.rglob("*.yaml"), *(ROOT / "tests" / "rules").rglob("*.yaml"))):
        kind = next((kind for kind in KINDS if path.name.endswith(f".{kind}.yaml")), None)
        if kind is not None:
            yield path, ROOT, kind


def test_verdicts_are_the_same(tmp_path: Path) -> None:
    """Over 300 files, good and bad: each finding's rule, level, place and words."""
    apart, count = [], 0
    # Each way keeps what it has read, so that a catalogue is read once by each.
    roots = (ROOT, tmp_path.resolve())
    as_installed, as_bare = ({root: Checker(root, open_rulebook()) for root in roots} for _ in range(2))
    for path, root, kind in _corpus(tmp_path.resolve()):
        compiled = _verdict(path, as_installed[root], kind)
        with plain():
            without = _verdict(path, as_bare[root], kind)
        count += 1
        if compiled != without:
            apart.append((path.name, compiled, without))
    assert apart == []
    assert count >= LEAST
