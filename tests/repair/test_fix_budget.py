"""What a file gets when its effort is spent: repairs known already, where they mend, and a reason elsewhere."""

from pathlib import Path

from lineshaft.check.rulebook import open_rulebook
from lineshaft.repair.plan.fix_budget import offers
from lineshaft.repair.proof.context import RepairContext, mends, open_repair_context
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 100 N*m, speed: 10 rad/s}}
  stage: {kind: gear-stage, ratios: [3]}
  shaft: {kind: shaft, torque-limit: 150 N*m}
  mill:  {kind: driven-machine, needs: {speed: 30 rad/s}}
  weak:  {kind: driven-machine, needs: {torque: 1e9 N*m}}
"""
RIG = """rig: 1
catalogue: c.catalogue.yaml
parts:
  wheel: {item: wheel}
  step:  {item: stage, ratio: 3, set: reduce, driven-by: wheel}
  one:   {item: shaft, driven-by: step}
  two:   {item: shaft, driven-by: one}
  mill:  {item: mill, driven-by: two}
  other: {item: wheel}
  giant: {item: weak, driven-by: other}
commissioning:
  - set: {part: step, to: reduce}
  - start: wheel
  - start: other
"""


def _context(folder: Path) -> RepairContext:
    (folder / "c.catalogue.yaml").write_text(CATALOGUE, encoding="utf-8")
    (folder / "a.rig.yaml").write_text(RIG, encoding="utf-8")
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
