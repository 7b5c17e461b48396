"""`new --from`: rigs and catalogues from the files that spreadsheets write; what is wrong is told by its row."""

from pathlib import Path

import pytest
import yaml
from command_runner import run
from hypothesis import given
from hypothesis import strategies as st

from lineshaft.starters.spreadsheet import RowFault, read_rows, with_points, words

PARTS = [
    ("part", "item", "driven-by", "ratio", "set", "shares"),
    ("wheel", "creek-wheel", "", "", "", ""),
    ("cut", "divider", "wheel", "", "", "saws 2; yard 3"),
    ("step", "open-stage", "cut.yard", "2.5", "increase", ""),
    ("saw", "saw-frame", "step", "", "", ""),
    ("fast", "open-stage", "cut.saws", "3", "increase", ""),
    ("stone", "grindstone", "fast", "", "", ""),
]


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A repository with the first catalogue in it."""
    (tmp_path / ".git").mkdir()
    assert run(tmp_path, "new", "catalogue").returncode == 0
    return tmp_path


def _csv(rows: list[tuple[str, ...]], mark: str = ",", end: str = "\n") -> str:
    quoted = [[f'"{cell}"' if mark in cell else cell for cell in row] for row in rows]
    return end.join(mark.join(row) for row in quoted) + end


@pytest.mark.parametrize(
    ("mark", "encoding", "end", "point"),
    [
        (",", "utf-8", "\n", "."),
        (";", "utf-8-sig", "\r\n", ","),
        ("\t", "utf-16", "\r\n", ","),
        ("\t", "utf-16-le", "\n", "."),
        (";", "utf-16-be", "\n", ","),
        (",", "cp1252", "\r\n", ","),
    ],
)
def test_one_rig_comes_out_whatever_the_spreadsheet_writes(
    yard: Path, mark: str, encoding: str, end: str, point: str
) -> None:
    """Separators, encodings, line ends, decimal commas: the same parts, and a list that starts them."""
    text = _csv(PARTS, mark, end).replace("2.5", f'"2{point}5"')
    (yard / "parts.csv").write_bytes(text.encode(encoding))
    ran = run(yard, "new", "rig", "mill", "--from", "parts.csv")
    assert ran.returncode == 0, ran.stderr
    rig = yaml.safe_load((yard / "mill.rig.yaml").read_text("utf-8"))
    assert rig["parts"]["cut"] == {"item": "divider", "driven-by": "wheel", "shares": {"saws": 2, "yard": 3}}
    assert rig["parts"]["step"] == {"item": "open-stage", "driven-by": "cut.yard", "ratio": 2.5, "set": "increase"}
    assert list(rig["parts"]) == [row[0] for row in PARTS[1:]]
    assert run(yard, "check", "--fail-on", "note").returncode == 0


def _told(yard: Path, *lines: str, kind: str = "rig") -> list[str]:
    (yard / "sheet.csv").write_text("\n".join(lines) + "\n", "utf-8")
    ran = run(yard, "new", kind, "made", "--from", "sheet.csv")
    assert ran.returncode == 2, ran.stdout
    assert not (yard / f"made.{kind}.yaml").exists()
    return ran.stderr.splitlines()[1:]


@pytest.mark.parametrize(
    ("row", "names"),
    [
        (",saw-frame,wheel,,", ("column part",)),
        ("saw,,wheel,,", ("has no item",)),
        ("saw,saw-fram,wheel,,", ("saw-frame",)),
        ("saw,saw-frame,wheal,,", ("did you mean wheel",)),
        ("wheel,saw-frame,wheel,,", ("row 2 already",)),
        ("step,open-stage,wheel,5/2,", ("set",)),
        ("step,open-stage,wheel,5/2,up", ("reduce or increase",)),
        ("step,open-stage,wheel,4.5,reduce", ("5/2",)),
        ('step,open-stage,wheel,"1,250",reduce', ("1.250 or 1250",)),
        ("step,open-stage,wheel,3:1,reduce", ("write 3",)),
        ("saw,saw-frame,wheel,,,,too,many", ("8 cells", "5 columns")),
        ("sa w,saw-frame,wheel,,", ("sa w",)),
        ('"=cmd()",saw-frame,wheel,,', ("=cmd()",)),
    ],
    ids=str,
)
def test_each_fault_of_a_rig_is_told_by_its_row(yard: Path, row: str, names: tuple[str, ...]) -> None:
    """The head is row 1, as the spreadsheet counts; row 4 is behind an empty one; nothing is written."""
    told = _told(yard, "part,item,driven-by,ratio,set", "wheel,creek-wheel,,,", ",,,,", row)
    assert [line.strip().split(":")[0] for line in told] == ["row 4"]
    for name in names:
        assert name in told[0]


def test_all_faulty_rows_are_told_at_once(yard: Path) -> None:
    """A heading, a share, a part and a number in one run, in the order of the rows."""
    told = _told(
        yard,
        "part,item,driven-by,ratoi,set,shares",
        "wheel,creek-wheel,,,,",
        "cut,divider,wheel,,,saws",
        ",saw-frame,cut.saws,,,",
    )
    assert [line.strip().split(":")[0] for line in told] == ["row 1", "row 3", "row 4"]
    assert "did you mean ratio?" in told[0]
    assert "saws 3, yard 5" in told[1]


@pytest.mark.parametrize(
    ("raw", "names"),
    [
        (b"", "the file is empty"),
        (b"part,item\n", "no part"),
        (b"\x00\x01\x02\x03\x81", "no text"),
        (b'part,item\n"wheel,creek-wheel\n', "quote"),
        (b"\x81\x8d,\x90", "no text"),
    ],
)
def test_a_file_that_is_no_sheet_is_told_as_what_it_is(yard: Path, raw: bytes, names: str) -> None:
    """No row is to blame, and nothing is written."""
    (yard / "sheet.csv").write_bytes(raw)
    ran = run(yard, "new", "rig", "made", "--from", "sheet.csv")
    assert ran.returncode == 2
    assert names in ran.stderr
    assert not (yard / "made.rig.yaml").exists()


def test_a_combiner_takes_a_list_and_notes_become_comments(yard: Path) -> None:
    """Several drivers in a cell, split at plus, semicolon or comma."""
    lines = ("part,item,driven by,note", "a,creek-wheel,,from the yard # east", "b,creek-wheel,,")
    (yard / "s.csv").write_text("\n".join([*lines, "g,gatherer,a + b,", "saw,saw-frame,g,"]) + "\n", "utf-8")
    ran = run(yard, "new", "rig", "made", "--from", "s.csv")
    assert ran.returncode == 0, ran.stderr
    text = (yard / "made.rig.yaml").read_text("utf-8")
    assert yaml.safe_load(text)["parts"]["g"]["driven-by"] == ["a", "b"]
    assert "# from the yard # east" in text


ITEMS = """item;kind;grade;ratio(s);torque-limit [N*m];speed limit (rad/s);torque;speed;made-of
bog-oak;grade;;;70;45;;;
mill-wheel;prime mover;;;;;1,3 kN*m;7 rad/s;plank 20, bar 3
oak-stage;gear-stage;bog-oak;5/2;;;;;peg 3
oak-stage;gear-stage;bog-oak;7;;;;;peg 3
pin-stage;gear-stage;bog-oak;5/2, 3;;;;;
fuller;driven-machine;;;900;33,5;60 N*m;2 rad/s;
"""


def test_a_catalogue_comes_from_the_sheet_that_people_keep(yard: Path) -> None:
    """By hand: units of a heading, ratios in a cell or a row each, what a mover gives and a machine needs."""
    (yard / "items.csv").write_text(ITEMS.replace("ratio(s)", "ratios"), "utf-8")
    ran = run(yard, "new", "catalogue", "quay", "--from", "items.csv")
    assert ran.returncode == 0, ran.stderr
    found = yaml.safe_load((yard / "quay.catalogue.yaml").read_text("utf-8"))
    assert found["grades"] == {"bog-oak": {"torque-limit": "70 N*m", "speed-limit": "45 rad/s"}}
    items = found["items"]
    assert items["mill-wheel"]["output"] == {"torque": "1.3 kN*m", "speed": "7 rad/s"}
    assert items["mill-wheel"]["made-of"] == {"plank": 20, "bar": 3}
    assert items["oak-stage"]["ratios"] == ["5/2", 7]
    assert items["pin-stage"]["ratios"] == ["5/2", 3]
    assert items["fuller"]["limits"] == {"torque": "900 N*m", "speed": "33.5 rad/s"}
    assert items["fuller"]["needs"] == {"torque": "60 N*m", "speed": "2 rad/s"}
    assert run(yard, "check", "quay.catalogue.yaml").returncode == 0


def test_the_heading_ratio_with_an_s_in_brackets_is_no_unit(yard: Path) -> None:
    """`ratio(s)` is a heading that people write; the s is no second."""
    (yard / "items.csv").write_text(ITEMS, "utf-8")
    ran = run(yard, "new", "catalogue", "quay", "--from", "items.csv")
    assert ran.returncode == 0, ran.stderr
    items = yaml.safe_load((yard / "quay.catalogue.yaml").read_text("utf-8"))["items"]
    assert items["oak-stage"]["ratios"] == ["5/2", 7]


@pytest.mark.parametrize(
    ("row", "names"),
    [
        ("step,,cast,5/2,,,,", "has no kind"),
        (",shaft,,,,,,", "column item"),
        ("step,gearstage,,5/2,900 N*m,,,", "gear-stage"),
        ("step,gear-stage,cast,5/2,,,,", "kind grade"),
        ("step,gear-stage,,,900 N*m,,,", "ratio"),
        ("bar,shaft,,,900,,,", "N*m"),
        ("bar,shaft,,,900 Nm/s,,,", "N*m"),
        ("w,prime-mover,,,,,900 N*m,", "2 of torque, speed or power"),
        ("w,prime-mover,,,,,900 N*m,300 Hz", "300 rad/s"),
        ("peg,shaft,,,90 N*m,,,", "row 2"),
    ],
)
def test_each_fault_of_a_catalogue_is_told_by_its_row(yard: Path, row: str, names: str) -> None:
    """In the words of `check`, with what to write."""
    head = "item,kind,grade,ratio,torque-limit,speed-limit,torque,speed"
    told = _told(yard, head, "peg,shaft,,,70 N*m,,,", row, kind="catalogue")
    assert {line.strip().split(":")[0] for line in told} == {"row 3"}
    assert any(names in line for line in told), told


@pytest.mark.parametrize(
    ("written", "read"),
    [("1,5 kN*m", "1.5 kN*m"), ("0,125", "0.125"), ("1200", "1200"), ("2.5", "2.5"), ("12,75", "12.75")],
)
def test_a_decimal_comma_becomes_a_point(written: str, read: str) -> None:
    """Where it can be nothing else."""
    assert with_points(written) == read


@pytest.mark.parametrize("written", ["1,200", "12,345 N*m", "1.200,5", "1,200,000", "1,200.5"])
def test_a_mark_that_may_be_a_thousands_mark_is_never_guessed(written: str) -> None:
    """A factor of a thousand in silence would be the worst: whoever wrote it says which."""
    assert isinstance(with_points(written), RowFault)


def test_a_list_keeps_its_decimal_commas() -> None:
    """By hand: in a file with decimal commas a comma between two digits is one, a comma and a blank is none."""
    assert words("2,5; 3, 7/2", decimal_commas=True) == ["2,5", "3", "7/2"]
    assert words("5/2,3,7", decimal_commas=False) == ["5/2", "3", "7"]


@given(st.binary(max_size=200) | st.text(max_size=120).map(str.encode))
def test_no_bytes_crash_the_reader(raw: bytes) -> None:
    """Whatever is named: rows, or faults that say why not."""
    read = read_rows(raw, ("part", "item"), {})
    assert all(isinstance(fault.row, int) and fault.message for fault in read.faults)
    assert all(cell for row in read.rows for cell in row.cells.values())
