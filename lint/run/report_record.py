"""A report to JSON and back, without loss: only plain values and the named rows of a report, so nothing read is run."""

import json
from dataclasses import fields, is_dataclass
from functools import cache
from types import UnionType
from typing import Any, Final, Literal, Union, get_args, get_origin, get_type_hints

from lineshaft.check.finding import Cause, Edit, Measure, Placement, SharedCause
from lineshaft.check.judged_finding import MachineChange, Repair, RepairedFinding, Snagged, Waived
from lineshaft.schema.text.span import Position, Span
from lineshaft.write.summary import FileReport


class UnfitError(ValueError):
    """What is to be written down, or was read, is not a report made of plain values."""


_ROWS: Final[dict[str, Any]] = {
    row.__name__: row
    for row in (
        FileReport,
        RepairedFinding,
        Placement,
        Cause,
        Measure,
        Repair,
        SharedCause,
        MachineChange,
        Edit,
        Waived,
        Snagged,
        Span,
        Position,
    )
}
_PLAIN: Final = (str, int, float, bool, type(None))


def written(report: FileReport) -> str:
    """The record of a report. Raises UnfitError where it holds anything but plain values, tuples and known rows."""
    return json.dumps(_down(report), separators=(",", ":"))


def report_of(record: str) -> FileReport:
    """The report that was written down. Raises UnfitError where the record is none."""
    try:
        found = _up(json.loads(record))
    except (ValueError, TypeError, KeyError, RecursionError) as error:
        raise UnfitError("not a record of a sheet") from error
    if not isinstance(found, FileReport) or not _fits(found, FileReport):
        raise UnfitError("not a record of a sheet")
    return found


def _fits(value: Any, hint: Any) -> bool:
    """Whether a value is what the annotation of its field says."""
    origin, within = get_origin(hint), get_args(hint)
    if origin is Literal:
        return value in within
    if origin in (Union, UnionType):
        return any(_fits(value, one) for one in within)
    if origin is tuple:
        if not isinstance(value, tuple):
            return False
        if within[-1:] == (...,):
            return all(_fits(inner, within[0]) for inner in value)
        return len(value) == len(within) and all(map(_fits, value, within))
    if hint is float:
        return type(value) in (int, float)
    if type(value) is not hint:
        return False
    if hint.__name__ not in _ROWS:
        return True
    return all(_fits(*pair) for pair in zip(_values(value), _hints(hint.__name__), strict=True))


@cache
def _hints(name: str) -> tuple[Any, ...]:
    """What the fields of a row may be, in order."""
    return tuple(get_type_hints(_ROWS[name], localns=_ROWS).values())


def _values(row: Any) -> tuple[object, ...]:
    """What the fields of a row are, in order."""
    return tuple(getattr(row, field.name) for field in fields(row)) if is_dataclass(row) else tuple(row)


def _down(value: object) -> object:
    kind = type(value)
    if kind in _PLAIN:
        return value
    if kind is tuple:
        return [_down(inner) for inner in value]  # type: ignore[attr-defined]
    if _ROWS.get(kind.__name__) is kind:
        return {kind.__name__: [_down(inner) for inner in _values(value)]}
    raise UnfitError(f"a {kind.__name__} is not written down")


def _up(value: Any) -> object:
    if isinstance(value, list):
        return tuple(_up(inner) for inner in value)
    if isinstance(value, dict):
        ((name, fields),) = value.items()
        return _ROWS[name](*(_up(inner) for inner in fields))
    return value
