"""The JSON Schemas, and whether both validators say the same of good and of spoilt files."""

import json
import random
import re
from collections.abc import Iterator
from copy import deepcopy
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from lineshaft.schema.text.text import SourceText, read_text
from lineshaft.schema.text.tree import Tree
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.schema.text.yaml_reader import read_yaml
from lineshaft.schema.validation.conformity import fits, misfits
from lineshaft.schema.validation.misfit_words import Misfit
from lineshaft.schema.validation.schemas import Kind, schema_text

CORPUS = Path(__file__).with_name("corpus")
GOOD = sorted((CORPUS / "good").iterdir())
BAD = sorted((CORPUS / "bad").iterdir())
FILES: tuple[Kind, ...] = ("rig", "catalogue", "policy", "blueprint", "snags", "stock")
SCHEMAS = (*FILES, "findings", "audit")
MUTANTS = 250
SCALARS: list[Any] = [None, True, 0, 3, -1.5, 10**30, "", "any", "yes", "$x", "a\n"]
OTHER_VALUES = [*SCALARS, [], ["a"], {}, {"a": 1}]


def kind_of(path: Path) -> Kind:
    return next(kind for kind in FILES if path.name.endswith(f".{kind}.yaml"))


def tree_of(path: Path) -> Tree:
    source = read_text(path, path.name, path.read_bytes())
    assert isinstance(source, SourceText)
    tree = read_yaml(source, Bounds())
    assert isinstance(tree, Tree), tree
    return tree


def schema(kind: str) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(schema_text(kind))
    return loaded


def subschemas(
    value: object, route: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], dict[str, Any]]]:
    """Every mapping in a schema with the keys that lead to it; examples are no schemas."""
    if isinstance(value, dict):
        yield route, value
        for key, inner in value.items():
            if key not in ("examples", "enum", "const"):
                yield from subschemas(inner, (*route, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from subschemas(inner, (*route, str(number)))


def said(tree: Tree, misfit: Misfit) -> tuple[int, str]:
    span = tree.key_span(misfit.route) if misfit.at_key else tree.span(misfit.route)
    return span.start.line, misfit.message


def expected(path: Path) -> list[tuple[int, list[str]]]:
    """The comments of a bad file: on which line which words must be said, several between semicolons."""
    lines = path.read_text(encoding="utf-8").splitlines()
    found = [(number, line.partition("# ")[2]) for number, line in enumerate(lines, 1) if "# " in line]
    return [(number, words.split("; ")) for number, words in found]


@pytest.mark.parametrize("kind", SCHEMAS)
def test_schemas_are_draft_2020_12(kind: str) -> None:
    """Each schema fits the meta-schema of draft 2020-12."""
    assert schema(kind)["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(schema(kind))


@pytest.mark.parametrize("kind", SCHEMAS)
def test_every_property_is_described(kind: str) -> None:
    """Each property has a title and a description for an editor to show (conditions need none)."""
    bare = [
        "/".join(route)
        for route, found in subschemas(schema(kind))
        if route[-2:-1] == ("properties",) and "if" not in route
        if not (found.get("title") and str(found.get("description", "")).endswith("."))
    ]
    assert bare == []


@pytest.mark.parametrize("kind", SCHEMAS)
def test_examples_fit(kind: str) -> None:
    """Each example in a schema fits the subschema that it is an example of."""
    whole = schema(kind)
    for _, found in subschemas(whole):
        for example in found.get("examples", ()):
            jsonschema.Draft202012Validator({"$defs": whole["$defs"], **found}).validate(example)


@pytest.mark.parametrize("kind", SCHEMAS)
def test_schemas_refer_to_nothing_outside(kind: str) -> None:
    """No reference leads out of the file, so nothing can be fetched."""
    refs = [found["$ref"] for _, found in subschemas(schema(kind)) if isinstance(found.get("$ref"), str)]
    assert all(ref.startswith("#/$defs/") for ref in refs)


@pytest.mark.parametrize("kind", SCHEMAS)
def test_patterns_are_anchored_and_explained(kind: str) -> None:
    """Patterns cover the whole text, as the explaining validator assumes, and say what they want."""
    for _, found in subschemas(schema(kind)):
        if isinstance(found.get("pattern"), str):
            assert found["pattern"].startswith("^") and found["pattern"].endswith("$")
            assert found["patternErrorMessage"]


def test_blueprint_parts_take_what_rig_parts_take() -> None:
    """A part has the same keys in a rig and in a blueprint."""
    for name in ("placed-item", "placed-blueprint"):
        in_rig, in_blueprint = (schema(kind)["$defs"][name]["properties"] for kind in ("rig", "blueprint"))
        assert list(in_rig) == list(in_blueprint)


def test_dates_are_those_of_the_calendar() -> None:
    """`until` takes every day of 1999 to 2032 from 2000 on, and no day that the calendar lacks."""
    wanted = re.compile(schema("rig")["$defs"]["waiver"]["properties"]["until"]["pattern"])
    day, end = date(1999, 12, 30), date(2032, 1, 1)
    while day < end:
        assert bool(wanted.fullmatch(day.isoformat())) == (day.year >= 2000)
        day += timedelta(days=1)
    for wrong in (
        "2027-02-29",
        "2100-02-29",
        "2027-04-31",
        "2027-00-10",
        "2027-13-01",
        "2027-3-1",
        "2027-03-32",
    ):
        assert not wanted.fullmatch(wrong)
    assert wanted.fullmatch("2400-02-29")


@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.name)
def test_good_files_fit(path: Path) -> None:
    """A good file fits, and there is nothing to explain."""
    data = tree_of(path).data
    assert misfits(kind_of(path), data) == ()
    assert fits(kind_of(path), data)


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.name)
def test_bad_files_are_explained(path: Path) -> None:
    """Each fault of a bad file is said on its line in the words of its comment, in the file's order."""
    tree = tree_of(path)
    found = [said(tree, misfit) for misfit in misfits(kind_of(path), tree.data)]
    assert not fits(kind_of(path), tree.data)
    assert [line for line, _ in found] == sorted(line for line, _ in found)
    assert {line for line, _ in found} == {line for line, _ in expected(path)}
    for line, words in expected(path):
        messages = " / ".join(message for at, message in found if at == line)
        assert [word for word in words if word not in messages] == [], messages
    counted = sum(len(words) for _, words in expected(path))
    assert len(found) <= counted, found


def _places(data: Any) -> list[tuple[Any, Any]]:
    """Every container in data with each of its keys or numbers."""
    places: list[tuple[Any, Any]] = []
    left = [data]
    while left:
        holder = left.pop()
        steps = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
        places.extend((holder, step) for step in steps)
        left.extend(holder[step] for step in steps if isinstance(holder[step], dict | list))
    return places


def _spoil(chance: random.Random, data: Any) -> None:
    """Delete, rename, retype or move one thing."""
    places = _places(data)
    if not places:
        return
    holder, step = chance.choice(places)
    match chance.choice(("delete", "rename", "retype", "retype", "swap")):
        case "delete":
            del holder[step]
        case "rename" if isinstance(holder, dict):
            holder[chance.choice((f"{step}s", f"{step} {step}", str(step)[1:] or "x", str(step).upper()))] = (
                holder.pop(step)
            )
        case "swap":
            other, there = chance.choice(places)
            holder[step] = deepcopy(other[there])
        case _:
            holder[step] = chance.choice(OTHER_VALUES)


@pytest.mark.parametrize("kind", FILES)
def test_both_validators_agree_on_spoilt_files(kind: Kind) -> None:
    """Both validators give one verdict on files spoilt at random, and the faulty ones are explained."""
    chance = random.Random(f"spoil {kind}")
    originals = [tree_of(path).data for path in GOOD if kind_of(path) == kind]
    judge = jsonschema.Draft202012Validator(schema(kind))
    refused = 0
    for _ in range(MUTANTS):
        data: Any = deepcopy(chance.choice(originals))
        for _ in range(chance.choice((1, 1, 2, 5))):
            _spoil(chance, data)
        found = misfits(kind, data)
        assert fits(kind, data) == (found == ())
        if "\\n" not in json.dumps(data):  # jsonschema takes `$` for Python's, which the explainer mends
            assert fits(kind, data) == judge.is_valid(data)
        refused += found != ()
        for misfit in found:
            assert misfit.message and "is not valid under" not in misfit.message
            holder: Any = data
            for step in misfit.route:
                holder = holder[step]
    assert refused > MUTANTS / 3


def test_line_feeds_at_the_end_are_seen() -> None:
    """A name that ends in a line feed does not fit, and both validators say so."""
    data = {
        "rig": 1,
        "catalogue": "a",
        "parts": {"wheel\n": {"item": "a"}, "b": {"item": "a", "driven-by": "c\n"}},
    }
    assert not fits("rig", data)
    assert [misfit.route for misfit in misfits("rig", data)] == [
        ("parts", "wheel\n"),
        ("parts", "b", "driven-by"),
    ]


def test_large_files_are_explained_at_the_right_places() -> None:
    """Among thousands of parts and readings the few faulty ones are named, in the file's order."""
    parts: dict[str, Any] = {f"p{number}": {"item": "a"} for number in range(5000)}
    parts["p4321"]["sett"] = "reduce"
    parts["p77"]["shares"] = {f"way-{number}": 1 for number in range(900)} | {"last": None}
    readings: list[Any] = [{"at": "p1", "speed": "1 rad/s"} for _ in range(1000)]
    readings[777] = {"at": "p1"}
    found = misfits("rig", {"rig": 1, "catalogue": "a", "parts": parts, "readings": readings})
    assert [(misfit.route, misfit.at_key) for misfit in found] == [
        (("parts", "p77", "shares", "last"), False),
        (("parts", "p4321", "sett"), True),
        (("readings", 777), True),
    ]


def test_a_file_of_unknown_sections_is_explained_from_its_beginning() -> None:
    """A part that is no part stands before 900 keys that mean nothing: it is told first, then 99 of them in order."""
    strangers = {f"k{number}": number for number in range(900)}
    found = misfits("rig", {"rig": 1, "catalogue": "a", "parts": {"a": {"item": 3}}, **strangers})
    assert [misfit.route for misfit in found] == [("parts", "a", "item"), *((f"k{n}",) for n in range(99))]


def test_no_more_than_100_are_reported() -> None:
    """A file with a thousand faults is answered with the first hundred of them."""
    parts = {f"p{number}": {"item": "a", "sett": 1} for number in range(1000)}
    found = misfits("rig", {"rig": 1, "catalogue": "a", "parts": parts})
    assert [misfit.route[1] for misfit in found] == [f"p{number}" for number in range(100)]


@pytest.mark.parametrize("value", [10**400, "x" * 10_000, "\ud800", [[[]]] * 1000, {"a" * 5000: 1}])
def test_hostile_values_are_shown_short(value: object) -> None:
    """Whatever stands where a part should, is answered with one short message or more, never an exception."""
    for data in ({"rig": 1, "catalogue": "a", "parts": {"a": value}}, {"rig": value}, value):
        found = misfits("rig", data)
        assert found and all(len(misfit.message) < 400 for misfit in found)


@pytest.mark.parametrize("kind", ["sheet", "../rig", "rig.schema", ""])
def test_unknown_kinds_have_no_schema(kind: str) -> None:
    """The text of a schema is asked for by its kind alone."""
    with pytest.raises(KeyError):
        schema_text(kind)


def test_the_published_findings_schema_takes_the_contract_s_example() -> None:
    """The example in the output contract, with its gaps filled, fits the schema of findings."""
    place = {"file": "a.rig.yaml", "start": {"line": 9, "column": 3}, "end": {"line": 9, "column": 80}}
    edit = {**place, "text": "reduce"}
    finding = {
        **place,
        "rule": "torque-over-limit",
        "level": "error",
        "pointer": "/parts/step",
        "part": "step",
        "message": "carries more than it may",
        "values": {
            "torque_in": {"value": 9000.0, "unit": "N*m"},
            "speeds": {"value": [1.0, 2.0], "unit": "rad/s"},
        },
        "because": [{**place, "part": "divide", "message": "divides", "values": {}}],
        "repairs": [
            {
                "title": "a",
                "effect": "setting",
                "worth": 0.0,
                "bill": {"bar": 2},
                "machines": [],
                "edits": [edit],
            }
        ],
        "no_repair": None,
        "waived": None,
        "fingerprint": "0a",
    }
    counts = ("files", "parts", "unsolved", "errors", "warnings", "notes", "waived", "snags")
    output = {
        "format": "lineshaft-findings/1",
        "version": "0.1.0",
        "summary": dict.fromkeys(counts, 0),
        "findings": [finding],
    }
    judge = jsonschema.Draft202012Validator(schema("findings"))
    judge.validate(output)
    assert not judge.is_valid({**output, "format": "lineshaft-findings/2"})
    assert not judge.is_valid({**output, "findings": [{**finding, "level": "fatal"}]})
