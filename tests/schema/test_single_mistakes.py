"""Of some hundred seeded mistakes in good files nearly all are told on their line and by their kind, and alone."""

import sys
from pathlib import Path

import pytest
from shares import a_few

from lineshaft.check.checker import Checker
from lineshaft.check.rulebook import open_rulebook
from lineshaft.schema.loading import FileKind
from tests.schema.mistakes import FORM, Mistake, mistakes

SAMPLES = Path(__file__).parents[2] / "sample_rigs"
CATALOGUE = SAMPLES / "catalogues" / "tern-harbour.catalogue.yaml"
LEAST = 0.95


def _good_rigs() -> list[str]:
    """The sample rigs that need no file but the catalogue."""
    texts = [path.read_text("utf-8") for path in sorted(SAMPLES.glob("*.rig.yaml"))]
    plain = [text for text in texts if "blueprint" not in text and "catalogues/tern-harbour.catalogue.yaml" in text]
    return [text.replace("catalogues/tern-harbour", "tern-harbour") for text in plain]


def _told(folder: Path, mistake: Mistake, kind: FileKind, checker: Checker) -> list[tuple[int, str]]:
    """Line and words of what is told of form, names, quantities and offers."""
    path = folder / f"spoilt.{kind}.yaml"
    path.write_text(mistake.text, "utf-8")
    found = checker.report(path, kind).findings
    return [(f.span.start.line, "".join(map(str, f.message))) for f in found if f.rule in FORM]


@pytest.mark.parametrize(
    ("kind", "seed", "many"),
    a_few([("rig", 31, 60), ("catalogue", 11, 60), ("rig", 31, 200), ("catalogue", 11, 200)], 2),
)
def test_a_mistake_is_told_where_and_what_it_is(kind: FileKind, seed: int, many: int, tmp_path: Path) -> None:
    """On its line, in words of its kind, with nothing told elsewhere that only follows from it."""
    folder = tmp_path.resolve()
    (folder / CATALOGUE.name).write_bytes(CATALOGUE.read_bytes())
    texts = _good_rigs() if kind == "rig" else [CATALOGUE.read_text("utf-8")]
    assert texts
    missed, extra = [], []
    for mistake in mistakes(texts, seed, many):
        told = _told(folder, mistake, kind, Checker(folder, open_rulebook()))
        right = [words for line, words in told if line in mistake.lines and any(w in words for w in mistake.words)]
        if right and len(told) > 1:
            extra.append((mistake.kind, sorted(mistake.lines), told))
        if not right:
            missed.append((mistake.kind, sorted(mistake.lines), told))
    figure = f"{kind}: {many - len(missed)} of {many} told on their line by their kind, {len(extra)} not alone"
    sys.stdout.write(f"{figure}\n")  # shown by `pytest -s`, and where it fails
    assert many - len(missed) >= LEAST * many, missed
    assert len(missed) + len(extra) <= (1 - LEAST) * many + 1e-9, extra
