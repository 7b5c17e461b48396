"""The result cache's file: rows come back as they went in, and trouble leaves an empty result cache, never an error."""

import sqlite3
import threading
from pathlib import Path

import pytest

from lineshaft.run.cache_store import Row, Store

KEY = bytes(range(32))
ROW = Row('[["bytes","c","",""]]', '{"Sheet":["a \\ud800",1.5]}')


def key(number: int) -> bytes:
    """A key of its own for each number."""
    return number.to_bytes(32, "big")


def kept(file: Path, rows: dict[bytes, Row], most_bytes: int = 10**8, day: int | None = None) -> None:
    """Write rows in one opening of the file."""
    store = Store(file, most_bytes)
    store.today = store.today if day is None else day
    for name, row in rows.items():
        store.put(name, row)
    store.close()


def test_a_row_comes_back(tmp_path: Path) -> None:
    """In another opening of the file, from a folder that was not there before and is the user's alone."""
    file = tmp_path / "deep" / "v.sqlite"
    kept(file, {KEY: ROW})
    assert Store(file).row(KEY) == ROW
    assert Store(file).row(key(1)) is None
    assert file.parent.stat().st_mode & 0o077 == 0


@pytest.mark.parametrize("column", ["evidence", "sheet", "seal"])
@pytest.mark.parametrize("value", ["other", b"other", None, 7])
def test_a_changed_row_is_not_there(tmp_path: Path, column: str, value: object) -> None:
    """Whatever somebody wrote into the file is a miss: another text, another type."""
    file = tmp_path / "v.sqlite"
    kept(file, {KEY: ROW})
    with sqlite3.connect(file) as link:
        link.execute(f"UPDATE verdicts SET {column} = ?", (value,))
    assert Store(file).row(KEY) is None


def test_a_row_under_another_key_is_not_there(tmp_path: Path) -> None:
    """The seal holds a row to its key."""
    file = tmp_path / "v.sqlite"
    kept(file, {KEY: ROW})
    with sqlite3.connect(file) as link:
        link.execute("UPDATE verdicts SET key = ?", (key(2),))
    assert Store(file).row(key(2)) is None


@pytest.mark.parametrize("damage", ["rubbish", "cut", "zeros"])
def test_a_damaged_file_is_begun_anew(tmp_path: Path, damage: str) -> None:
    """No error; within two openings the result cache works again."""
    file = tmp_path / "v.sqlite"
    kept(file, {key(n): ROW for n in range(500)})
    whole = file.read_bytes()
    new = {"rubbish": b"no ledger" * 900, "cut": whole[: len(whole) // 2], "zeros": whole[:4096] + bytes(len(whole))}
    file.write_bytes(new[damage])
    for _ in range(2):
        store = Store(file)
        found = [store.row(key(n)) for n in range(500)]
        assert {row for row in found if row is not None} <= {ROW}
        store.put(KEY, ROW)
        store.close()
    assert Store(file).row(KEY) == ROW


@pytest.mark.parametrize("obstacle", ["a folder in its place", "a file in the folder's place"])
def test_without_a_place_there_is_no_ledger(tmp_path: Path, obstacle: str) -> None:
    """Nothing is kept, nothing is raised."""
    file = tmp_path / "c" / "v.sqlite"
    if obstacle == "a folder in its place":
        file.mkdir(parents=True)
    else:
        file.parent.write_text("")
    kept(file, {KEY: ROW})
    assert Store(file).row(KEY) is None


def test_a_locked_file_is_passed_by(tmp_path: Path) -> None:
    """While another run holds the lock, this one reads, and gives up writing after a second."""
    file = tmp_path / "v.sqlite"
    kept(file, {KEY: ROW})
    link = sqlite3.connect(file, isolation_level=None)
    link.execute("BEGIN IMMEDIATE")
    assert Store(file).row(KEY) == ROW
    kept(file, {key(1): ROW})
    link.execute("ROLLBACK")
    assert Store(file).row(key(1)) is None
    assert Store(file).row(KEY) == ROW


def test_runs_side_by_side_keep_all_rows(tmp_path: Path) -> None:
    """Six writers at once into a file that is not there yet; every row is whole afterwards."""
    file = tmp_path / "v.sqlite"
    crew = [
        threading.Thread(target=kept, args=(file, {key(100 * n + k): ROW for k in range(100)})) for n in range(6)
    ]
    for one in crew:
        one.start()
    for one in crew:
        one.join()
    store = Store(file)
    assert [n for n in range(600) if store.row(key(n)) != ROW] == []


def test_the_file_is_bounded_and_the_oldest_go(tmp_path: Path) -> None:
    """40 rows of 10 kB into 200 kB, a day apart, the first used again each day: that one and the newest stay."""
    file = tmp_path / "v.sqlite"
    row = Row("[]", "x" * 10_000)
    for day in range(40):
        kept(file, {key(day): row}, 200_000, day)
        store = Store(file, 200_000)
        store.today = day
        assert store.row(key(0)) == row
        store.close()
        assert file.stat().st_size < 2 * 200_000
    store = Store(file)
    left = [n for n in range(40) if store.row(key(n)) is not None]
    assert 5 <= len(left) <= 20
    assert left[0] == 0
    assert left[1:] == list(range(40 - len(left) + 1, 40))


def test_a_huge_row_is_left_out(tmp_path: Path) -> None:
    """More than a million characters for one file are not kept."""
    file = tmp_path / "v.sqlite"
    kept(file, {KEY: Row("[]", "x" * 1_100_000)})
    assert Store(file).row(KEY) is None


@pytest.mark.parametrize("column", ["evidence", "sheet"])
def test_a_text_that_is_none_is_one_miss(tmp_path: Path, column: str) -> None:
    """Bytes that are no UTF-8 where a text should be: that row is gone, and the others and later ones are there."""
    file = tmp_path / "v.sqlite"
    kept(file, {KEY: ROW, key(2): ROW})
    with sqlite3.connect(file) as link:
        link.execute(f"UPDATE verdicts SET {column} = CAST(X'FFFE' AS TEXT) WHERE key = ?", (KEY,))
    store = Store(file)
    assert (store.row(KEY), store.row(key(2))) == (None, ROW)
    store.close()
    with sqlite3.connect(file) as link:
        assert link.execute("SELECT count(*) FROM verdicts").fetchone() == (1,)
    kept(file, {KEY: ROW})
    assert Store(file).row(KEY) == ROW


@pytest.mark.parametrize("tables", ["DROP TABLE verdicts", "ALTER TABLE verdicts DROP COLUMN seal"])
def test_tables_of_another_make_are_begun_anew(tmp_path: Path, tables: str) -> None:
    """The version is ours and the table is not: within two openings the cache works again."""
    file = tmp_path / "v.sqlite"
    kept(file, {KEY: ROW})
    with sqlite3.connect(file) as link:
        link.execute(tables)
    assert Store(file).row(KEY) is None
    kept(file, {KEY: ROW})
    assert Store(file).row(KEY) == ROW
