"""What a file gets when its effort is spent: repairs known already, where they mend, and a reason elsewhere."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from lineshaft.check.rule import Rule
from lineshaft.check.rulebook import open_rulebook
from lineshaft.repair.edits.entries import without_entry
from lineshaft.repair.edits.parts import set_key
from lineshaft.repair.plan.fix_budget import offers, with_repairs
from lineshaft.repair.proof.context import RepairContext, mends, open_repair_context
from lineshaft.schema.loading import Loaded, Loader
from lineshaft.schema.text.repository import Refusal, Repository

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 100 N*m, speed: 10 rad/s}}
  stage: {kind: gear-stage, ratios: [3]}
  shaft: {kind: shaft, torque-limit: 150 N*m}
  mill:  {kind: driven-machine, needs: {speed: 30 rad/s}}
  weak:  {kind: driven-machine, needs: {torque: 1e9 N*m}}
"""
HEAD = """rig: 1
catalogue: c.catalogue.yaml
parts:
  wheel: {item: wheel}
  step:  {item: stage, ratio: 3, set: reduce, driven-by: wheel}
"""
RIG = f"""{HEAD}  one:   {{item: shaft, driven-by: step}}
  two:   {{item: shaft, driven-by: one}}
  mill:  {{item: mill, driven-by: two}}
  other: {{item: wheel}}
  giant: {{item: weak, driven-by: other}}
commissioning:
  - set: {{part: step, to: reduce}}
  - start: wheel
  - start: other
"""


def _context(folder: Path, rig: str = RIG) -> RepairContext:
    (folder / "c.catalogue.yaml").write_text(CATALOGUE, encoding="utf-8")
    (folder / "a.rig.yaml").write_text(rig, encoding="utf-8")
    loader = Loader(Repository(folder, folder))
    return open_repair_context(loader, loader.rig(folder / "a.rig.yaml"), open_rulebook())


def test_one_cause_with_many_findings_is_searched_once(tmp_path: Path) -> None:
    """The stage reduces, 300 N*m, where both shafts may carry 150 and the mill wants 30 rad/s: it was to increase.

    The repairs of the first shaft mend the second as well, which then takes no further proof of another way; the giant,
    on a line of its own, has a reason of its own.
    """
    context = _context(tmp_path)
    plans = {made.finding.part: made for made in offers(context, context.findings)}
    assert set(plans) == {"one", "two", "mill", "giant"}
    assert [r.title for r in plans["one"].repairs] == [r.title for r in plans["two"].repairs]
    assert plans["two"].steps < plans["one"].steps
    assert plans["giant"].repairs == ()
    assert "effort" not in str(plans["giant"].no_repair)
    for name in ("one", "two", "mill"):
        assert plans[name].repairs
        for repair in plans[name].repairs:
            edited_rig = context.whole_edited_rig(repair.edits)
            assert edited_rig is not None
            assert mends(context, plans[name].finding, edited_rig)


def test_no_effort_is_said_and_the_order_of_findings_makes_no_difference(tmp_path: Path) -> None:
    """With nothing to share each of the four findings says so; with enough, either order gives the same repairs."""
    context = _context(tmp_path)
    plans = list(offers(context, context.findings, most_effort=0))
    assert [made.repairs for made in plans] == [()] * 4
    assert all("effort" in str(made.no_repair) for made in plans)
    whole = [made.repairs for made in offers(context, context.findings)]
    again = [made.repairs for made in offers(context, tuple(reversed(context.findings)))]
    assert sorted(map(str, whole)) == sorted(map(str, again))


def test_a_text_that_mends_several_findings_is_read_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two shafts and the mill are mended by the same ways: each of these is read as a file is one time, not three."""
    context = _context(tmp_path)
    read: list[bytes | Refusal] = []
    usual = Loader.rig

    def counted(self: Loader, path: Path) -> Loaded:
        read.append(self.repository.read(path))
        return usual(self, path)

    monkeypatch.setattr(Loader, "rig", counted)
    plans = offers(context, context.findings)
    assert sum(len(made.repairs) for made in plans) > len({repair for made in plans for repair in made.repairs}) > 0
    assert len(read) == len(set(read))


@pytest.mark.parametrize("others", [(), (Rule("harbour-view", "note"),)], ids=["own", "others"])
def test_a_check_reads_edited_texts_whole_where_rules_of_others_are_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, others: tuple[Rule, ...]
) -> None:
    """Of our own rules the lines touched tell all; what others look at nobody knows. Either way the same is shown."""
    context = _context(tmp_path)
    book = context.book._replace(rules=context.book.rules + others)
    usual, read = Loader.rig, []

    def counted(self: Loader, path: Path) -> Loaded:
        read.append(self.repository.read(path))
        return usual(self, path)

    monkeypatch.setattr(Loader, "rig", counted)
    shown = {repair for finding in with_repairs(replace(context, book=book)) for repair in finding.repairs}
    assert {repair.title for repair in shown} >= {"set step to increase"}
    assert len(read) == (len(shown) if others else 0)


@pytest.mark.parametrize(("effort", "searched"), [(21 * 20 * 23, False), (21 * 20 * 23 + 1, True)])
def test_where_many_findings_leave_little_for_each_a_free_repair_of_another_will_do(
    tmp_path: Path, effort: int, searched: bool
) -> None:
    """Twenty shafts that carry 300 N*m of 150 behind one stage, before a slow mill: to take that out mends them all.

    There are 21 findings and 23 parts. With no more than twenty steps a part for each finding nothing is looked for
    beside that.
    """
    shafts = (f"  s{n}: {{item: shaft, driven-by: {f's{n - 1}' if n else 'step'}}}\n" for n in range(20))
    context = _context(tmp_path, HEAD + "".join(shafts) + "  mill: {item: mill, driven-by: s19}\n")
    first, *plans = (made for made in offers(context, context.findings, effort, 2) if made.finding.part != "mill")
    assert len(plans) == 19
    assert all(made.repairs[0].title == "take step out" for made in (first, *plans))
    assert first.steps > 0
    assert any(made.steps > 0 for made in plans) == searched


def test_a_waiver_is_not_put_right_by_what_mends_that_which_it_waives() -> None:
    """Of a stale waiver only its own review tells whether it is left, so that no repair of a part is shown for it."""
    root = Path(__file__).parents[1] / "rules"
    loader = Loader(Repository(root, root))
    loaded = loader.rig(root / "waiver-stale" / "breaks.rig.yaml")
    context = open_repair_context(loader, loaded, open_rulebook(), day=date(2026, 11, 25))
    plans = {made.finding.rule: made for made in offers(context, context.findings)}
    assert plans["torque-over-limit"].repairs
    assert plans["waiver-stale"].repairs == ()


def test_what_is_tried_again_is_not_made_anew_and_counts_for_as_much(tmp_path: Path) -> None:
    """Whether a way was tried before, for another finding, makes no difference to what is left of the effort."""
    context = _context(tmp_path)
    stage = next(part for part in context.rig.parts if part.ratio is not None)
    edits = (set_key(stage, "set", "increase"),)
    for tried in (context.edited_rig, context.whole_edited_rig):
        began = context.effort
        first = tried(edits)
        once = context.effort - began
        assert first is not None and tried(edits) is first
        assert context.effort - began == 2 * once > 0


def test_lines_that_an_edit_does_not_touch_are_taken_over(tmp_path: Path) -> None:
    """The other wheel drives its giant on a line of its own, which is neither read nor solved again."""
    context = _context(tmp_path)
    stage = next(part for part in context.rig.parts if part.ratio is not None)
    edited_rig = context.edited_rig((set_key(stage, "set", "increase"),))
    assert edited_rig is not None
    assert {part.name for part in edited_rig.near.parts}.isdisjoint({"other", "giant"})
    for name in ("other", "giant"):
        number = context.rig.rig.index[name]
        assert edited_rig.rig.parts[edited_rig.rig.rig.index[name]] is context.rig.parts[number]


def test_of_edited_rigs_only_so_many_are_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Room for two of seven parts: the third drives the first out, which is made anew and costs what it did."""
    monkeypatch.setattr("lineshaft.repair.proof.context._MOST_KEPT", 20)
    context = _context(tmp_path)
    stage = next(part for part in context.rig.parts if part.ratio is not None)
    first, second, third = ((set_key(stage, "label", label),) for label in ("one", "two", "three"))
    costs, made = [], []
    for edits in (first, second, third, third, first):
        began = context.effort
        made.append(context.edited_rig(edits))
        costs.append(context.effort - began)
    assert len(set(costs)) == 1
    assert made[2] is made[3]
    assert made[4] is not made[0]
    assert made[4] is not None and made[0] is not None and made[4].text == made[0].text


def test_a_rig_of_which_one_part_is_left_is_the_same_by_both_ways(tmp_path: Path) -> None:
    """Two wheels that drive nothing, and one of them goes: what is left stands on no line that the edit touches."""
    (tmp_path / "c.catalogue.yaml").write_text(CATALOGUE, encoding="utf-8")
    rig = "rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n  other: {item: wheel}\n"
    (tmp_path / "a.rig.yaml").write_text(rig, encoding="utf-8")
    loader = Loader(Repository(tmp_path, tmp_path))
    context = open_repair_context(loader, loader.rig(tmp_path / "a.rig.yaml"), open_rulebook())
    edits = (without_entry(context.rig.rig.tree, ("parts", "other")),)
    quick, full = context.edited_rig(edits), context.whole_edited_rig(edits)
    assert quick is not None and full is not None
    assert [part.name for part in quick.rig.parts] == ["wheel"]
    assert quick.rig.flows == full.rig.flows
    assert quick.findings == full.findings
