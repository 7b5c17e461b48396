"""A sheet written down comes back the same to the last type; anything that is no sheet does not come back."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from lineshaft.check.checker import Checker
from lineshaft.check.finding import Cause, Edit, Measure, Placement, SharedCause
from lineshaft.check.judged_finding import MachineChange, Repair, RepairedFinding, Snagged, Waived
from lineshaft.check.rulebook import open_rulebook
from lineshaft.run.report_record import UnfitError, report_of, written
from lineshaft.schema.loading import kind_of
from lineshaft.schema.text.span import Position, Span
from lineshaft.write.summary import FileReport

ROOT = Path(__file__).resolve().parents[2]
FILES = sorted([*(ROOT / "sample_rigs").rglob("*.yaml"), *(ROOT / "tests" / "rules").rglob("*.yaml")])
SPAN = Span(Position(1, 2), Position(3, 4))
EVERY_FIELD = RepairedFinding(
    "r",
    "error",
    "a\ud800\u2028\x1b.rig.yaml",
    SPAN,
    ("parts", 3, "p"),
    "p",
    ("carries ", Measure(9.1e-7, "N*m")),
    (("speeds", Measure((1.0, 2, -0.0), "rad/s")), ("ratio", Measure("75/15", "1"))),
    (Cause("b", SPAN, None, ("gives ", Measure(1, "1")), (("torque", Measure(0.1 + 0.2, "N*m")),)),),
    ("an increasing stage",),
    Placement("a", "leg-b/p", (Cause("a", SPAN, "leg-b", ("puts the blueprint in place",)),)),
    SharedCause("no list", "add a list"),
    0.3,
    "f" * 32,
    Waived("why", "2027-03-31", 1.15, 1.1),
    Snagged("times_torque_limit", 1.1),
    (),
    (),
    (
        Repair(
            "t",
            "setting",
            1.5,
            (("bar", 2),),
            (MachineChange("m", None, 3.0, "at-rest", "served"),),
            (Edit("a", SPAN, "set: x\n"),),
            1,
        ),
    ),
    "none",
    "f" * 32,
)


def test_every_field_comes_back() -> None:
    """Text of any kind, whole and broken numbers, minus nought, empty fields: all of it, types too (by `repr`)."""
    report = FileReport("a.rig.yaml", "name", 3, 1, (EVERY_FIELD, replace(EVERY_FIELD, waived=None, repairs=())))
    back = report_of(written(report))
    assert back == report
    assert repr(back) == repr(report)


def test_every_sheet_of_ours_comes_back() -> None:
    """Every sample and every rule's twins: no sheet that the program makes is too much for the result cache."""
    checker = Checker(ROOT, open_rulebook())
    for path in FILES:
        if (kind := kind_of(path)) in ("rig", "catalogue", "policy", "blueprint"):
            assert kind is not None
            report = checker.report(path, kind)
            assert repr(report_of(written(report))) == repr(report)


@pytest.mark.parametrize("value", [["list"], {"a": 1}, b"bytes", {1, 2}, object(), Path("x")])
def test_what_is_no_plain_value_is_refused(value: object) -> None:
    """A plugin may put anything into a finding; such a sheet is simply not kept."""
    with pytest.raises(UnfitError):
        written(FileReport("a", "", 0, 0, (replace(EVERY_FIELD, values=value),)))  # type: ignore[arg-type]


def test_a_row_of_another_make_is_refused() -> None:
    """A row that is only called like one of ours."""

    class Measure(tuple[object, ...]):
        """Not ours."""

    with pytest.raises(UnfitError):
        written(FileReport("a", "", 0, 0, (replace(EVERY_FIELD, message=(Measure(),)),)))  # type: ignore[arg-type]


RECORDS = [
    "",
    "{",
    "7",
    "[]",
    '"Sheet"',
    "{}",
    '{"Sheet":[]}',
    '{"Sheet":7}',
    '{"Sheet":["a","",0,0,[]],"Span":[1,2]}',
    '{"Span":[1,2]}',
    '{"eval":["1"]}',
    '{"Path":["x"]}',
    "[" * 100_000,
]


@pytest.mark.parametrize("record", RECORDS, ids=lambda text: text[:20])
def test_what_is_no_record_does_not_come_back(record: str) -> None:
    """Only rows of a sheet are made from a record, with their own number of fields, and a sheet on top."""
    with pytest.raises(UnfitError):
        report_of(record)


def test_a_record_is_plain_json() -> None:
    """Anything that reads JSON can look into the result cache; nothing in it is code."""
    record = written(FileReport("a", "", 0, 0, (EVERY_FIELD,)))
    assert record.isascii()
    assert json.loads(record)["FileReport"][0] == "a"


@pytest.mark.parametrize(("old", "new"), [('"Sheet name"', "7"), ("[]", '"x"'), ("[]", "[7]"), ("[]", "[null]")])
def test_a_record_with_other_values_than_its_fields_take_is_none(old: str, new: str) -> None:
    """A number for a name, a text or a number for findings: such a row would break whoever shows it."""
    record = written(FileReport("a.rig.yaml", "Sheet name", 3, 0, ()))
    assert old in record
    with pytest.raises(UnfitError):
        report_of(record.replace(old, new, 1))
