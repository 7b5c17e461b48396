"""What mends another finding, before it or behind, is shown where a finding's own rule has nothing to offer."""

from pathlib import Path

from repair_bench import workshop_of

from lineshaft.repair.plan.fix_budget import offers
from lineshaft.repair.plan.planner import FEWEST_STEPS, plan
from lineshaft.repair.proof.context import open_repair_context

CATALOGUE = """\
catalogue: 1
edition: "1"
grades: {elm: {torque-limit: 90 N*m}, iron: {torque-limit: 1200 N*m}}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  rod: {kind: shaft, grade: elm, made-of: {bar: 2}}
  bar-shaft: {kind: shaft, grade: iron, made-of: {bar: 3}}
  saw: {kind: driven-machine, needs: {torque: 150 N*m}}
raw: {bar: {worth: 1}}
"""
RIG = (
    "rig: 1\ncatalogue: bench.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n"
    "  lay: {item: rod, driven-by: wheel}\n  saw: {item: saw, driven-by: lay}\n"
)


def test_another_item_for_a_part_that_breaks_also_mends_that_its_grade_is_forbidden(tmp_path: Path) -> None:
    """Rods are of elm alone, which stands 90 of the 900 N·m and is forbidden: the shaft of iron mends both."""
    context = workshop_of(tmp_path, CATALOGUE, RIG)
    policy = context.policy._replace(forbidden_grades=("elm",))
    strict = open_repair_context(context.loader, context.loaded, context.book, policy)
    plans = {made.finding.rule: made for made in offers(strict, strict.findings)}
    assert plans.keys() == {"torque-over-limit", "grade-forbidden"}
    for made in plans.values():
        assert [repair.title for repair in made.repairs] == ["take bar-shaft for lay"], made.no_repair
    assert plans["torque-over-limit"].group == plans["grade-forbidden"].group is not None


def test_what_comes_from_the_use_of_a_blueprint_is_not_said_to_have_been_looked_for_without_steps(
    tmp_path: Path,
) -> None:
    """The saw in the leg stands 500 N·m, promised are 400, and 900 are led to it: with too few steps nobody looks."""
    leg = (
        "blueprint: 1\ncatalogue: bench.catalogue.yaml\ninlets:\n  in: {torque-up-to: 400 N*m, speed-up-to: 9 rad/s}\n"
        "parts:\n  saw: {item: saw, driven-by: in}\n"
    )
    (tmp_path / "leg.blueprint.yaml").write_text(leg, encoding="utf-8")
    catalogue = CATALOGUE.replace("needs: {torque: 150 N*m}", "needs: {torque: 150 N*m}, limits: {torque: 500 N*m}")
    rig = (
        "rig: 1\ncatalogue: bench.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n"
        "  leg: {blueprint: leg.blueprint.yaml, driven-by: wheel}\n"
    )
    context = workshop_of(tmp_path, catalogue, rig)
    finding = next(found for found in context.findings if found.rule == "torque-over-limit")
    said = plan(context, finding, steps=FEWEST_STEPS - 1).no_repair
    assert said is not None
    assert "that was not looked for: the findings before it took the effort that one file gets" in said
    assert "that was not looked for" not in (plan(context, finding).no_repair or "")
