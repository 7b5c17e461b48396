"""Order, loops and shared outlets of a drivetrain, put together by hand from bare parts."""

from random import Random
from types import SimpleNamespace
from typing import cast

import networkx as nx
import pytest

from lineshaft.schema.model.rig import Part, Rig
from lineshaft.solve.drivetrain import Drivetrain, connect
from lineshaft.solve.shared_outlet import Shared


def _train(*sources: list[int], faulty: tuple[int, ...] = (), own_outlets: bool = False) -> Drivetrain:
    """The drivetrain of parts that each name the parts driving them.

    Each inlet takes its source's first outlet, or one of its own.
    """
    parts = tuple(
        SimpleNamespace(inlets=tuple((s, n if own_outlets else 0) for s in above), faulty=n in faulty, outlets=())
        for n, above in enumerate(sources)
    )
    return connect(cast(Rig, SimpleNamespace(parts=cast(tuple[Part, ...], parts))))


def test_order_puts_every_part_behind_what_drives_it() -> None:
    """A combiner of parts 2 and 3 that stands first in the file comes last."""
    train = _train([2, 3], [], [1], [])
    assert sorted(train.order) == [0, 1, 2, 3]
    place = train.order.index
    assert place(1) < place(2) < place(0) and place(3) < place(0)
    assert train.below(2) == (0,)


@pytest.mark.parametrize("count", [2, 5000])
def test_a_chain_from_the_machines_upward(count: int) -> None:
    """A line written from the machine up to the prime mover is ordered from the prime mover down."""
    train = _train(*[[n + 1] for n in range(count - 1)], [])
    assert train.order == tuple(reversed(range(count)))
    assert train.loops == ()


def test_a_chain_in_no_order_at_all() -> None:
    """5,000 parts in line, each 1,237 places beyond what drives it, still come in line."""
    count = 5000
    place = [n * 1237 % count for n in range(count)]  # 1237 has no factor in common with 5000
    above: list[list[int]] = [[] for _ in range(count)]
    for n in range(1, count):
        above[place[n]] = [place[n - 1]]
    assert _train(*above).order == tuple(place)


def test_a_loop_starts_at_its_first_part_along_the_power() -> None:
    """0 drives 2, 2 drives 1, 1 drives 0; part 3 hangs below the loop and is in none."""
    train = _train([1], [2], [0], [1])
    assert train.loops == ((0, 2, 1),)
    assert train.order == ()


def test_two_loops_and_a_sound_line() -> None:
    """Parts that drive themselves or each other are loops of their own; the rest is ordered."""
    train = _train([0], [2], [1], [], [3])
    assert train.loops == ((0,), (1, 2))
    assert train.order == (3, 4)


def test_a_long_line_below_a_loop() -> None:
    """5,000 parts below a loop of two, written from the machine up: one loop, nothing solved."""
    count = 5000
    train = _train(*[[n + 1] for n in range(count - 1)], [count - 2], own_outlets=True)
    assert train.loops == ((count - 2, count - 1),)
    assert train.order == ()


def test_a_shared_outlet_stands_at_the_second_part() -> None:
    """Parts 1 and 2 both take outlet 0 of part 0: the second one and what hangs on it are not ordered."""
    train = _train([], [0], [0], [2])
    assert train.shared == (Shared(second=2, first=1, source=0),)
    assert train.order == (0, 1)


def test_what_hangs_below_a_fault_is_left_out() -> None:
    """A faulty part and all below it are not in the order, nor in a loop."""
    train = _train([], [0], [1], [], faulty=(1,))
    assert train.order == (0, 3)
    assert train.loops == ()


def test_what_is_above_below_and_hangs_together_is_as_by_a_graph_library() -> None:
    """300 trains of up to nine parts, each driven by up to two of any others, loops too: ancestors, components."""
    dice = Random(7)
    for _ in range(300):
        count = dice.randrange(1, 10)
        train = _train(*[dice.sample(range(count), min(count, dice.randrange(3))) for _ in range(count)])
        graph = nx.DiGraph([(s, n) for n, part in enumerate(train.parts) for s, _ in part.inlets])
        graph.add_nodes_from(range(count))
        for number in range(count):
            assert train.above(number) == nx.ancestors(graph, number) | {number}
        every = range(count)
        assert train.components(every) == sorted(nx.weakly_connected_components(graph), key=min)


def test_a_walk_down_stops_where_it_is_told_to() -> None:
    """Of a line of five parts from the second one: all below it, and down to the fourth alone."""
    train = _train([], [0], [1], [2], [3])
    assert train.below_all(1) == {1, 2, 3, 4}
    assert train.below_all(1, lambda number: number != 3) == {1, 2, 3}


def test_the_chain_goes_along_the_stronger_inlet_and_once_round_a_loop() -> None:
    """Part 3 is driven by 1 and 2, of which 2 hands on more; a part in a loop has a chain that ends."""
    train = _train([], [], [], [1, 2], [0, 3])
    assert train.chain(3, lambda source, _: float(source)) == (2, 3)
    assert train.chain(4, lambda source, _: -float(source)) == (0, 4)
    assert _train([1], [0]).chain(0, lambda *_: 0.0) == (1, 0)
