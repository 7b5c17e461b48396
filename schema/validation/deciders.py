"""What decides whether data fits a schema: compiled code where it is installed, elsewhere Python with the same verdict.

Neither knows anything but the schema it is given, and neither fetches.
"""

from collections.abc import Callable
from typing import Any, NamedTuple, NoReturn

from lineshaft.schema.validation.schemas import Route


class Decider(NamedTuple):
    """Whether plain data fits, and the route to the first fault met, none where it fits.

    Plain data has text for keys, no NaN and no half of a surrogate pair.
    """

    fits: Callable[[object], bool]
    first_fault: Callable[[object], Route | None]


def decider(schema_text: str) -> Decider:
    """What decides by a schema, given as JSON text."""
    try:
        import jsonschema_rs
    except ImportError:
        return plain_decider(schema_text)
    validator = jsonschema_rs.Draft202012Validator(schema_text, validate_formats=False, retriever=_refuse_to_fetch)

    def fits(data: object) -> bool:
        try:
            return bool(validator.is_valid(data))
        except ValueError:  # half of a surrogate pair, which no file holds
            return False

    def first_fault(data: object) -> Route | None:
        try:
            validator.validate(data)
        except ValueError as error:  # jsonschema_rs.ValidationError is one, and so is what is no text in UTF-8
            return tuple(getattr(error, "instance_path", ()))
        return None

    return Decider(fits, first_fault)


def plain_decider(schema_text: str) -> Decider:
    """The same without compiled code."""
    import json

    from lineshaft.schema.validation import violations

    schema: dict[str, Any] = json.loads(schema_text)

    def fits(data: object) -> bool:
        return violations.fits(schema, data)

    def first_fault(data: object) -> Route | None:
        found = next(violations.violations(schema, data), None)
        return None if found is None else found.route

    return Decider(fits, first_fault)


def _refuse_to_fetch(uri: str) -> NoReturn:
    raise LookupError(f"schemas refer to nothing outside themselves, this one to {uri}")
