"""What decides whether a file fits its schema: compiled code and Python say the same, and so does another validator."""

import json
import sys
from pathlib import Path

import jsonschema
import pytest

from lineshaft.schema.validation import conformity, deciders
from lineshaft.schema.validation.deciders import Decider, decider, plain_decider
from lineshaft.schema.validation.misfit_words import _TELLERS
from lineshaft.schema.validation.schemas import schema_text
from lineshaft.schema.validation.violations import _ASSERTIONS, _COUNTED, violations
from tests.schema.test_conformity import BAD, FILES, GOOD, kind_of, schema, subschemas, tree_of

FITS = {"rig": 1, "catalogue": "a", "parts": {"a": {"item": "b"}}}


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


def test_every_keyword_that_may_not_hold_has_words() -> None:
    """Else a fault would be met that nobody can tell; a wrong type is told in words of its own."""
    assert {*_ASSERTIONS, *_COUNTED, "additionalProperties"} == {*_TELLERS, "type"}


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.name)
def test_the_first_fault_leads_into_the_data(path: Path) -> None:
    """By either decider to a value that an independent validator finds at fault; where a file fits, there is none."""
    data, kind = tree_of(path).data, kind_of(path)
    faulty = {tuple(error.absolute_path) for error in jsonschema.Draft202012Validator(schema(kind)).iter_errors(data)}
    for decides in (plain_decider(schema_text(kind)), decider(schema_text(kind))):
        assert decides.first_fault(data) in faulty
    assert plain_decider(schema_text("rig")).first_fault(FITS) is None


def test_where_nothing_compiled_is_installed_python_decides(monkeypatch: pytest.MonkeyPatch) -> None:
    """The import fails as it does there."""
    monkeypatch.setitem(sys.modules, "jsonschema_rs", None)
    decides = decider(schema_text("rig"))
    assert decides.fits.__module__ == deciders.__name__
    assert decides.fits(FITS)
    assert decides.first_fault({**FITS, "catalogue": 3}) == ("catalogue",)


def test_a_schema_fetches_nothing() -> None:
    """One that refers to an address is an error of the schema; no such file is shipped."""
    pytest.importorskip("jsonschema_rs", reason="jsonschema-rs is not installed; without it nothing could fetch")
    with pytest.raises(Exception, match="refer to nothing outside themselves"):
        decider(json.dumps({"$ref": "https://tern-harbour.example/other.schema.json"}))


def test_what_a_decider_refuses_and_nobody_can_explain_is_refused_all_the_same(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Should they ever disagree, the file is told to be faulty, not passed over in silence."""
    monkeypatch.setattr(conformity, "_decider", lambda _: Decider(lambda _: False, lambda _: ()))
    (misfit,) = conformity.misfits("rig", FITS)
    assert (misfit.route, misfit.message) == ((), "the file does not fit the schema of a rig file")
