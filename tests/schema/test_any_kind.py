"""The schema for a file of any kind says of every file what the schema of its own kind says."""

import jsonschema
import pytest

from lineshaft.schema.validation.any_kind import any_kind_schema
from tests.schema.test_conformity import BAD, GOOD, kind_of, schema, tree_of

JUDGE = jsonschema.Draft202012Validator(any_kind_schema())


def test_it_is_draft_2020_12() -> None:
    """It fits the meta-schema, and every reference in it leads somewhere inside."""
    jsonschema.Draft202012Validator.check_schema(any_kind_schema())


@pytest.mark.parametrize("path", [*GOOD, *BAD], ids=lambda path: path.name)
def test_a_file_is_judged_by_its_own_kind(path: object) -> None:
    """The same verdict, and faults at the same places, as an independent validator finds them."""
    data, kind = tree_of(path).data, kind_of(path)  # type: ignore[arg-type]
    if isinstance(data, dict) and kind in data:
        own = jsonschema.Draft202012Validator(schema(kind))
        places = {(tuple(e.absolute_path), e.validator) for e in own.iter_errors(data)}
        assert {(tuple(e.absolute_path), e.validator) for e in JUDGE.iter_errors(data)} == places
    else:
        assert not JUDGE.is_valid(data)


@pytest.mark.parametrize("data", [{}, {"rigs": 1}, [], None, "rig: 1"])
def test_what_is_of_no_kind_does_not_fit(data: object) -> None:
    """Without one of the keys that name a kind nothing is passed."""
    assert not JUDGE.is_valid(data)
