"""The lines that findings point at, as they are shown beneath them."""

from pathlib import Path

import pytest

from lineshaft.check.finding import Finding, report
from lineshaft.check.source_lines import source_lines
from lineshaft.schema.text.repository import Repository
from lineshaft.schema.text.span import Position, Span


def _at(line: int, file: str = "a.rig.yaml") -> Finding:
    place = (file, Span(Position(line, 1), Position(line, 2)), ())
    return report(place, None, ("something",)).finding("planted", "note")


@pytest.mark.parametrize(
    ("raw", "shown"),
    [
        (b"rig: 1\nparts: {}\n", {1: "rig: 1", 2: "parts: {}", 3: ""}),
        (b"rig: 1\nparts: {}", {1: "rig: 1", 2: "parts: {}"}),
        (b"rig: 1", {1: "rig: 1"}),
        (b"# " + b"a" * 29 + b"\n" + b"b" * 100_003 + b"\nc", {1: "# " + "a" * 29, 2: "b" * 100_000, 3: "c"}),
        (b"a" * 100_000 + b"\n" + b"b" * 100_001, {1: "a" * 100_000, 2: "b" * 100_000}),
        (b"\xff", {}),
        (None, {}),
    ],
)
def test_a_line_that_is_there_is_shown_and_one_that_went_is_not(
    tmp_path: Path, raw: bytes | None, shown: dict[int, str]
) -> None:
    """The file may have become shorter since it was judged, be no text any more, or be gone."""
    if raw is not None:
        (tmp_path / "a.rig.yaml").write_bytes(raw)
    found = source_lines([_at(1), _at(2), _at(3)], tmp_path, lambda path: Repository(path.parent, path.parent))
    assert found == {("a.rig.yaml", number): line for number, line in shown.items()}
