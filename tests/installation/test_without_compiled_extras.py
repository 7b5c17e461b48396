"""Without libyaml's binding and without the compiled validator every verdict is the same, place and words included."""

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from lineshaft.check.checker import Checker
from lineshaft.check.rulebook import open_rulebook
from lineshaft.schema.loading import FileKind
from lineshaft.schema.text import yaml_reader
from lineshaft.schema.validation import conformity
from lineshaft.schema.validation.deciders import plain_decider
from lineshaft.schema.validation.schemas import schema_text
from lineshaft.schema.validation.violations import violations
from tests.schema.mistakes import mistakes
from tests.schema.test_conformity import BAD, FILES, GOOD, kind_of, schema, subschemas, tree_of

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


@pytest.mark.parametrize("path", [*GOOD, *BAD], ids=lambda path: path.name)
def test_both_deciders_say_the_same(path: Path) -> None:
    """And an independent validator of JSON Schema says so too."""
    data = tree_of(path).data
    judge = jsonschema.Draft202012Validator(schema(kind_of(path)))
    fits = conformity.fits(kind_of(path), data)
    assert plain_decider(schema_text(kind_of(path))).fits(data) == fits == judge.is_valid(data)


@pytest.mark.parametrize("kind", FILES)
def test_an_independent_validator_finds_the_same_places(kind: str) -> None:
    """Keyword, place in the data and place in the schema of each violation, each once, as `jsonschema` has them."""
    judge = jsonschema.Draft202012Validator(schema(kind))
    for path in (path for path in BAD if kind_of(path) == kind):
        data = tree_of(path).data
        theirs = {(e.validator, tuple(e.absolute_path), tuple(e.absolute_schema_path)) for e in judge.iter_errors(data)}
        ours = {(v.keyword, v.route, v.within) for v in violations(schema(kind), data)}
        assert ours == theirs


@pytest.mark.parametrize(("value", "same"), [(1.0, True), (True, False), ("1", False), (10**400, False), (None, False)])
def test_versions_are_compared_as_json_compares(value: object, same: bool) -> None:
    """1.0 is 1, true and "1" are not."""
    data = {"rig": value, "catalogue": "a", "parts": {"a": {"item": "b"}}}
    assert plain_decider(schema_text("rig")).fits(data) is same
    assert conformity.fits("rig", data) is same


@pytest.mark.parametrize("text", ["\ud800", "a\ud800"])
def test_half_a_character_is_no_text(text: str) -> None:
    """Whatever decides, a lone surrogate is not text in JSON."""
    data = {"rig": 1, "catalogue": "a", "label": text, "parts": {"a": {"item": "b"}}}
    assert not plain_decider(schema_text("rig")).fits(data)
    assert not conformity.fits("rig", data)


def test_a_keyword_that_is_not_known_is_never_passed_over() -> None:
    """A schema that asks for more than the plain decider knows is refused."""
    with pytest.raises(LookupError, match="uniqueItems"):
        plain_decider(json.dumps({"uniqueItems": True})).fits([1, 1])


@pytest.mark.parametrize("kind", FILES)
def test_schemas_use_keywords_that_are_known(kind: str) -> None:
    """Each subschema, tried alone, names no other; enumerations hold scalars, and schemas are mappings."""
    whole = schema(kind)
    for route, found in subschemas(whole):
        if route[-1:] in (("properties",), ("$defs",), ("dependentRequired",)) and "examples" not in route:
            continue
        for _ in violations({**found, "$defs": whole["$defs"]}, {}):
            pass
        scalars = [*found.get("enum", ()), *([found["const"]] if "const" in found else [])]
        assert all(isinstance(value, str | int) for value in scalars)
