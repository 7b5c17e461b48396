"""What a stream of proposals says is to come, and the order in which several streams are asked."""

from collections.abc import Iterator
from itertools import islice
from pathlib import Path

import pytest
from repair_bench import workshop_of
from rig_maker import make_rig
from rig_maker.setbacks import SETBACKS
from shares import a_few

from lineshaft.check.finding import Edit, Effect
from lineshaft.check.judged_finding import Repair
from lineshaft.check.rulebook import open_rulebook
from lineshaft.repair.line.effort import Effort
from lineshaft.repair.plan.planner import plan
from lineshaft.repair.plan.strategies import strategies_for
from lineshaft.repair.proof.context import RepairContext, open_repair_context
from lineshaft.repair.strategies.proposal import Pending, Proposal, in_order, strategy_context_of
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository
from lineshaft.schema.text.span import TOP

_STEPS = 6_000
KINDS = ("over-torque", "over-speed", "wrong-direction", "short-machine")


def _broken(folder: Path, seed: int) -> RepairContext | None:
    made = make_rig(seed, 8 + seed % 30)
    text = next(SETBACKS[KINDS[seed % len(KINDS)]](made, seed), None)
    if text is None:
        return None
    (folder / made.catalogue).write_text(made.catalogue_text, encoding="utf-8")
    (folder / "made.rig.yaml").write_text(text, encoding="utf-8")
    loader = Loader(Repository(folder.resolve(), folder.resolve()))
    return open_repair_context(loader, loader.rig((folder / "made.rig.yaml").resolve()), open_rulebook())


@pytest.mark.parametrize("seeds", a_few([range(12), range(12, 150)], 1), ids=["some", "more"])
def test_nothing_comes_from_a_stream_below_what_it_said_was_to_come(tmp_path: Path, seeds: range) -> None:
    """In worth, then in parts, then in changed words, whatever streams a finding of a seeded rig has."""
    held = 0
    for seed in seeds:
        folder = tmp_path / str(seed)
        folder.mkdir()
        context = _broken(folder, seed)
        for finding in () if context is None else context.findings:
            assert context is not None
            found = strategies_for(strategy_context_of(context.rig, context.book), finding, Effort(_STEPS))
            for stream in found.streams:
                found.effort.left = _STEPS  # as much for each
                least = (-float("inf"), 0, 0)
                for proposal in islice(stream, 400):
                    if isinstance(proposal, Pending):
                        least = max(least, (round(proposal.worth, 6), proposal.added, proposal.words))
                    else:
                        held += 1
                        added = round(proposal.worth, 6), proposal.added, proposal.words
                        assert added >= least, (seed, finding.rule, proposal.title)
    assert held > 15 * len(seeds)


def _proposal(worth: float, added: int, title: str) -> Proposal:
    """One that changes as many words as its title has."""
    return Proposal(worth, added, title, frozenset(), tuple(Edit("mill.rig.yaml", TOP, "") for _ in title.split()))


def test_a_dear_stream_is_not_begun_before_what_changes_no_more() -> None:
    """One says that it changes two words at least: what costs as much and changes one comes out before it is asked."""
    asked: list[str] = []

    def later() -> Iterator[Proposal | Pending]:
        yield Pending(0.0, 0, 2)
        asked.append("later")
        yield _proposal(0.0, 0, "share otherwise too")

    def sooner() -> Iterator[Proposal | Pending]:
        yield _proposal(0.0, 0, "one")
        yield _proposal(7.0, 1, "dearer")

    order = in_order([later(), sooner()])
    assert next(order).title == "one"
    assert asked == []
    assert [proposal.title for proposal in order] == ["share otherwise too", "dearer"]
    assert asked == ["later"]


def test_of_equals_the_smallest_change_comes_first() -> None:
    """Streams have no order by words of their own, so all that adds as much is gathered first."""
    one = iter([_proposal(3.0, 0, "a b c"), _proposal(3.0, 0, "d"), _proposal(3.0, 1, "e")])
    other = iter([_proposal(3.0, 0, "f g"), _proposal(9.0, 0, "h")])
    assert [proposal.title for proposal in in_order([one, other])] == ["d", "f g", "a b c", "e", "h"]


def test_where_a_search_of_lines_stops_another_make_of_the_part_is_there_still(tmp_path: Path) -> None:
    """900 N·m that a stage of 5/2 raises to 2,250: cast stands 1,200, forged 3,000. With no step left for a line."""
    catalogue = """catalogue: 1
edition: "1"
grades:
  cast: {torque-limit: 1200 N*m, speed-limit: 60 rad/s}
  forged: {torque-limit: 3000 N*m, speed-limit: 60 rad/s}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  stage: {kind: gear-stage, ratios: [5/2], grades: [cast, forged]}
  roller: {kind: driven-machine, needs: {torque: 2 kN*m, speed: 1 rad/s}}
"""
    rig = """rig: 1
catalogue: bench.catalogue.yaml
parts:
  wheel: {item: wheel}
  step: {item: stage, grade: cast, ratio: 5/2, set: reduce, driven-by: wheel}
  roller: {item: roller, driven-by: step}
"""
    context = workshop_of(tmp_path, catalogue, rig)
    (finding,) = context.findings
    made = plan(context, finding, steps=60)
    assert [repair.title for repair in made.repairs] == ["make step in forged"]
    assert plan(context, finding).repairs[0].title == "make step in forged"


def test_of_equals_that_reaching_least_far_is_first() -> None:
    """A setting before another item, that before another part, where worth and parts are alike."""
    effects: tuple[Effect, ...] = ("redesign", "setting", "substitution")
    repairs = [Repair(effect, effect, 3.0, (), (), (), parts_added=0) for effect in effects]
    cheaper = Repair("z", "redesign", 2.0, (), (), (), parts_added=1)
    ranked = sorted([*repairs, cheaper], key=lambda repair: repair.rank)
    assert [repair.title for repair in ranked] == ["z", "setting", "substitution", "redesign"]
