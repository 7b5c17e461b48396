"""How a row of files is shared out: each once, neighbours together, nobody idle while another has files left."""

from random import Random

from hypothesis import given
from hypothesis import strategies as st

from lineshaft.run.stretches import Shares


@given(st.integers(0, 400), st.integers(1, 9), st.integers())
def test_every_file_is_given_out_once(total: int, workers: int, seed: int) -> None:
    """Whichever worker asks next, each file goes to one worker, and nobody goes home while files are left."""
    rng, shares = Random(seed), Shares(total, workers)
    given_out: list[int] = []
    while few := shares.next_few(rng.randrange(workers)):
        given_out += few
    assert sorted(given_out) == list(range(total))
    assert all(not shares.next_few(number) for number in range(workers))


def test_each_begins_in_a_stretch_of_its_own() -> None:
    """Of 100 files in two stretches, one worker begins at file 0 and the other at file 50."""
    shares = Shares(100, 2)
    assert [shares.next_few(number).start for number in (0, 1)] == [0, 50]


def test_who_is_done_first_takes_the_rear_half() -> None:
    """Two files each: the first worker takes its two one by one, then, of the other's two, the second."""
    shares = Shares(4, 2)
    assert [list(shares.next_few(0)) for _ in range(4)] == [[0], [1], [3], [2]]
