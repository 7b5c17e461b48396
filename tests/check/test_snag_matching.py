"""Matching findings to snags of one subject, against a matching of largest size by a general graph library."""

from pathlib import Path

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lineshaft.check.finding import Measure, power, seconds, speed, times, torque
from lineshaft.check.judged_finding import RepairedFinding
from lineshaft.check.severity_measure import SeverityMeasure, better, severity_measure, worse
from lineshaft.check.snags import JudgedFile, compare
from lineshaft.schema.read.snags import Snag
from lineshaft.schema.text.span import TOP

FILE = Path("/yard/a.rig.yaml")
VALUES = st.lists(st.sampled_from([1.0, 1.005, 1.02, 1.1, 1.2, 2.0]), max_size=6)


def finding(*values: tuple[str, Measure], number: int = 0) -> RepairedFinding:
    """An overload of one part, told apart by its message."""
    message = (str(number),)
    return RepairedFinding("torque-over-limit", "error", "a.rig.yaml", TOP, ("parts", "s"), "s", message, values)


@given(VALUES, VALUES)
def test_as_many_as_can_be_are_covered_and_each_snag_covers_one(was: list[float], now: list[float]) -> None:
    """The number covered is that of a largest matching between findings and snags that are at most 1 % less."""
    snags = [Snag("torque-over-limit", FILE, part="s", of="times_limit", value=value) for value in was]
    findings = tuple(finding(("times_limit", times(value)), number=n) for n, value in enumerate(now))
    compared = compare(snags, [JudgedFile(FILE, "", True, findings)], lambda _: True)
    graph = nx.Graph()
    graph.add_nodes_from((("now", n) for n in range(len(now))), bipartite=0)
    pairs = [(("now", n), ("was", w)) for n, a in enumerate(now) for w, b in enumerate(was) if a <= b * 1.01 + 1e-9]
    graph.add_edges_from(pairs)
    most = len(nx.bipartite.maximum_matching(graph, [("now", n) for n in range(len(now))])) // 2
    covered = [f for f in compared.shown.values() if f.snag is not None]
    assert len(covered) == most
    assert len(compared.entries) == len(was)
    outcomes = [entry.outcome for entry in compared.entries]
    assert outcomes.count("kept") + outcomes.count("better") == most
    assert outcomes.count("worse") == min(len(now), len(was)) - most
    assert outcomes.count("gone") == len(was) - min(len(now), len(was))


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ({"limit": torque(80), "times_limit": times(1.25)}, ("times_torque_limit", 1.25)),
        ({"limit": speed(8), "times_limit": times(1.25)}, ("times_speed_limit", 1.25)),
        ({"charge": Measure(1.0, "L"), "limit": speed(8), "times_limit": times(1.25)}, ("times_speed_limit", 1.25)),
        ({"speed": speed(4), "limit": speed(5), "margin": times(1.25)}, ("speed_margin", 1.25)),
        ({"charge": Measure(1.0, "L"), "runs_dry_after": seconds(900)}, ("runs_dry_after", 900)),
        ({"torque": torque(100), "torque_needed": torque(150)}, ("times_torque_needed", 1.5)),
        (
            {"speed": speed(8), "speed_needed": speed(10), "power": power(1000), "power_needed": power(2000)},
            ("times_power_needed", 2.0),
        ),
        ({"torque": torque(150), "torque_up_to": torque(100)}, ("times_torque_promised", 1.5)),
        ({"time": seconds(60), "time_wanted": seconds(40), "speed_needed": speed(9)}, ("times_wanted", 1.5)),
        ({"torque": torque(80), "torque_read": torque(100)}, ("deviation", 0.2)),
        ({"parts": times(5), "parts_allowed": times(4)}, ("parts", 5)),
        ({"power": power(1800)}, ("power", 1800)),
        ({"holds": Measure(6.0, "L"), "uses": Measure(0.1, "L/s")}, None),
        ({}, None),
    ],
)
def test_how_bad_a_finding_is(values: dict[str, Measure], expected: tuple[str, float] | None) -> None:
    """By the names of its values: quotients by hand, the worst of several."""
    assert severity_measure(finding(*values.items())) == expected


def test_better_and_worse() -> None:
    """More than 1 % either way; what cannot be compared is worse, what has no value any more is better."""
    rising = ((1.0, False, False), (1.009, False, False), (1.011, True, False), (0.98, False, True))
    for now, is_worse, is_better in rising:
        measured = SeverityMeasure("times_limit", now)
        assert (worse(measured, "times_limit", 1.0), better(measured, "times_limit", 1.0)) == (is_worse, is_better)
    for now, is_worse, is_better in ((0.991, False, False), (0.98, True, False), (1.02, False, True)):
        measured = SeverityMeasure("margin", now)
        assert (worse(measured, "margin", 1.0), better(measured, "margin", 1.0)) == (is_worse, is_better)
    assert worse(SeverityMeasure("torque_margin", 1.0), "speed_margin", 1.0)
    assert worse(SeverityMeasure("times_limit", 1.0), None, None)
    assert better(None, "times_limit", 1.0)
    assert not worse(None, None, None)
    assert not better(None, None, None)


def _found(path: str, parts: str, name: str = "") -> JudgedFile:
    """A file in which each of some parts is over its limit."""
    findings = (
        RepairedFinding("torque-over-limit", "error", path, TOP, ("parts", part), part, (part,)) for part in parts
    )
    return JudgedFile(Path("/yard", path), name, True, tuple(findings))


def _moved_to(snags: list[Snag], *files: JudgedFile) -> list[tuple[str, str]]:
    """Outcome and file of each snag, where no file is there but those that were judged."""
    return [(entry.outcome, entry.file.name) for entry in compare(snags, files, lambda _: False).entries]


def _of(path: str, parts: str, rig: str = "") -> list[Snag]:
    return [Snag("torque-over-limit", Path("/yard", path), rig, part) for part in parts]


@pytest.mark.parametrize(
    ("now", "there"),
    [("abcd", True), ("abc", True), ("abcx", True), ("ab", False), ("abxy", False), ("xyzu", False), ("", False)],
)
def test_a_file_without_a_name_stands_for_a_lost_one_that_most_was_found_in_too(now: str, there: bool) -> None:
    """Of four findings three are most, and two are half."""
    outcomes = _moved_to(_of("old.rig.yaml", "abcd"), _found("new.rig.yaml", now))
    kept = [part in now for part in "abcd"]
    if there:
        assert outcomes == [("kept" if is_kept else "gone", "new.rig.yaml") for is_kept in kept]
    else:
        assert outcomes == [("gone", "old.rig.yaml")] * 4


def test_of_two_files_of_a_name_the_one_that_is_more_alike_stands_for_a_lost_one() -> None:
    """Three of four are found in one and one in the other; of a name one that is the same is enough."""
    old = _of("old.rig.yaml", "abcd", "north")
    more, less = _found("z.rig.yaml", "abc", "north"), _found("y.rig.yaml", "d", "north")
    assert _moved_to(old, less, more) == [("kept", "z.rig.yaml")] * 3 + [("gone", "z.rig.yaml")]
    assert _moved_to(old, less) == [("gone", "y.rig.yaml")] * 3 + [("kept", "y.rig.yaml")]
    assert _moved_to(old, _found("y.rig.yaml", "d", "south")) == [("gone", "old.rig.yaml")] * 4


def test_one_file_stands_for_one_lost_one_alone() -> None:
    """Of two lost ones the one that it has more in common with, and the other is gone."""
    old = [*_of("one.rig.yaml", "ab", "north"), *_of("two.rig.yaml", "abc", "north")]
    outcomes = _moved_to(old, _found("new.rig.yaml", "abc", "north"))
    assert outcomes == [("gone", "one.rig.yaml")] * 2 + [("kept", "new.rig.yaml")] * 3
