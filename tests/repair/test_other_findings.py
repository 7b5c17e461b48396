"""Findings beside limits and needs: what is offered for each, by hand, and what is said where nothing is."""

from pathlib import Path

import pytest
from repair_bench import checked, edited, plan_for, workshop_of

from lineshaft.check.finding import Edit, Finding, Reported, report
from lineshaft.check.offer import Fix, NoFix, Offer, SearchFor
from lineshaft.check.rule import Rule
from lineshaft.check.rulebook import Rulebook
from lineshaft.repair.plan.planner import plan
from lineshaft.repair.proof.context import open_repair_context
from lineshaft.solve.solved_rig import SolvedRig

CATALOGUE = """\
catalogue: 1
name: Yard
edition: "2"
lubricants: [flax-oil]
grades: {iron: {torque-limit: 900 N*m, speed-limit: 60 rad/s}}
items:
  wheel: {kind: prime-mover, output: {torque: 600 N*m, speed: 10 rad/s}}
  quick-wheel: {kind: prime-mover, output: {torque: 240 N*m, speed: 25 rad/s}}
  shaft: {kind: shaft, made-of: {bar: 1}}
  stage: {kind: gear-stage, grade: iron, ratios: {5/2: {made-of: {bar: 4}}, 3: {made-of: {bar: 5}}}}
  wet-stage:
    kind: gear-stage
    ratios: [5/2]
    lubricant: {kind: flax-oil, holds: 2 L, uses: 0.1 mL/s}
    made-of: {bar: 9}
  fork: {kind: splitter, outlets: 2, shares: [[1, 1], [1, 2]], made-of: {bar: 3}}
  fork-of-three: {kind: splitter, outlets: 3, shares: [[1, 1, 1]], made-of: {bar: 5}}
  joint: {kind: combiner, inlets: 2}
  pump: {kind: driven-machine, needs: {torque: 50 N*m}}
raw: {bar: {worth: 1}}
"""
CASES = {
    "open-outlet-of-two": (
        "loose-end",
        "  fork:  {item: fork, driven-by: wheel, shares: {a: 1, b: 2}}\n  pump:  {item: pump, driven-by: fork.a}\n",
        "take fork out: all goes to a",
        "  pump:  {item: pump, driven-by: wheel}\n",
    ),
    "open-outlet-of-three": (
        "loose-end",
        (
            "  fork:  {item: fork-of-three, driven-by: wheel, shares: {a: 1, b: 1, c: 1}}\n"
            "  one:   {item: pump, driven-by: fork.a}\n  two:   {item: pump, driven-by: fork.c}\n"
        ),
        "take fork.b out, fork as fork",
        (
            "  fork:  {item: fork, driven-by: wheel, shares: {a: 1, c: 1}}\n"
            "  one:   {item: pump, driven-by: fork.a}\n  two:   {item: pump, driven-by: fork.c}\n"
        ),
    ),
    "open-shaft": (
        "loose-end",
        (
            "  fork:  {item: fork, driven-by: wheel, shares: {a: 1, b: 1}}\n  lay:   {item: shaft, driven-by: fork.b}\n"
            "  end:   {item: shaft, driven-by: lay}\n  pump:  {item: pump, driven-by: fork.a}\n"
        ),
        "take fork and lay and end out: all goes to a",
        "  pump:  {item: pump, driven-by: wheel}\n",
    ),
    "opposed-stages": (
        "opposed-stages",
        (
            "  up:    {item: stage, ratio: 3, set: increase, driven-by: wheel}\n  lay:   {item: shaft, driven-by: up}\n"
            "  down:  {item: stage, ratio: 3, set: reduce, driven-by: lay}\n  pump:  {item: pump, driven-by: down}\n"
        ),
        "take up and down out",
        "  lay:   {item: shaft, driven-by: wheel}\n  pump:  {item: pump, driven-by: lay}\n",
    ),
    "unequal-lines": (
        "combiner-mismatch",
        (
            "  other: {item: quick-wheel}\n  joint: {item: joint, driven-by: [wheel, other]}\n"
            "  pump:  {item: pump, driven-by: joint}\n"
        ),
        "put stage 5/2 : 1 increasing, behind wheel as joint-step",
        (
            "  joint-step: {item: stage, ratio: 5/2, set: increase, driven-by: wheel}\n"
            "  other: {item: quick-wheel}\n  joint: {item: joint, driven-by: [joint-step, other]}\n"
            "  pump:  {item: pump, driven-by: joint}\n"
        ),
    ),
    "a-slip-of-the-pen": (
        "unknown-reference",
        "  lay:   {item: shaft, driven-by: wheal}\n  pump:  {item: pump, driven-by: lay}\n",
        "write wheel for wheal",
        "  lay:   {item: shaft, driven-by: wheel}\n  pump:  {item: pump, driven-by: lay}\n",
    ),
}
OILED = """\
  step:  {item: wet-stage, ratio: 5/2, set: reduce, driven-by: wheel}
  pump:  {item: pump, driven-by: step}
lubrication:
  flax: {lubricant: flax-oil, tank: {holds: 4 L, charge: CHARGE}, feeds: [step]}
"""


def _head(edition: str = "2") -> str:
    top = f'rig: 1\nname: Yard\ncatalogue: bench.catalogue.yaml\nedition: "{edition}"\n'
    return f"{top}parts:\n  wheel: {{item: wheel}}\n"


@pytest.mark.parametrize("name", CASES)
def test_the_way_that_is_offered(tmp_path: Path, name: str) -> None:
    """The repair in the words and the text that a person would write, and the edited file is clean."""
    rule, parts, title, after = CASES[name]
    context = workshop_of(tmp_path, CATALOGUE, _head() + parts)
    found = plan_for(context, rule)
    chosen = [repair for repair in found.repairs if repair.title == title]
    assert len(chosen) == 1, [repair.title for repair in found.repairs]
    text = edited(context, chosen[0]).partition("commissioning:")[0]
    assert text == _head() + after
    assert checked(tmp_path, edited(context, chosen[0])) == set()


@pytest.mark.parametrize(("charge", "rule", "after"), [("5 L", "overfill", "4 L"), ("0.1 L", "shortfall", "0.36 L")])
def test_a_charge_is_brought_to_where_it_does(tmp_path: Path, charge: str, rule: str, after: str) -> None:
    """A tank of 4 L takes no 5 L; 0.1 mL/s for the policy's hour are 0.36 L."""
    context = workshop_of(tmp_path, CATALOGUE, _head() + OILED.replace("CHARGE", charge))
    repair = plan_for(context, f"lubricant-{rule}").repairs[0]
    assert edited(context, repair) == _head() + OILED.replace("CHARGE", after)
    assert repair.effect == "setting"


def test_the_edition_is_written(tmp_path: Path) -> None:
    """A rig that holds by the new ratings is told to say so."""
    context = workshop_of(tmp_path, CATALOGUE, _head("1") + "  pump:  {item: pump, driven-by: wheel}\n")
    repair = plan_for(context, "edition-drift").repairs[0]
    assert edited(context, repair) == _head() + "  pump:  {item: pump, driven-by: wheel}\n"


def test_where_parts_stand_is_for_a_person(tmp_path: Path) -> None:
    """A gap in the layout has no repair, and the reason says whose it is."""
    rig = _head().replace("{item: wheel}", "{item: wheel, at: [0, 0, 0]}")
    context = workshop_of(tmp_path, CATALOGUE, rig + "  pump:  {item: pump, driven-by: wheel, at: [5, 0, 0]}\n")
    found = plan_for(context, "layout-gap")
    assert found.repairs == ()
    assert found.no_repair is not None
    assert "whoever builds it" in found.no_repair


def test_splitting_is_not_offered_for_speed(tmp_path: Path) -> None:
    """A stage at 90 rad/s of 60 has no other grade and cannot go slower than its pump needs; splitting is ruled out."""
    start, end = CATALOGUE.index("  wet-stage:"), CATALOGUE.index("  fork:")
    catalogue = CATALOGUE[:start] + CATALOGUE[end:].replace("{torque: 50 N*m}", "{torque: 50 N*m, speed: 90 rad/s}")
    parts = (
        "  one:   {item: stage, ratio: 3, set: increase, driven-by: wheel}\n"
        "  two:   {item: stage, ratio: 3, set: increase, driven-by: one}\n  pump:  {item: pump, driven-by: two}\n"
        "commissioning:\n  - set: {part: one, to: increase}\n  - set: {part: two, to: increase}\n  - start: wheel\n"
    )
    found = plan_for(workshop_of(tmp_path, catalogue, _head() + parts), "speed-over-limit", "two")
    assert found.repairs == ()
    assert found.no_repair is not None
    assert found.no_repair.startswith("splitting the line never helps")
    assert "side by side" not in found.no_repair


def _pumps_named(rig: SolvedRig) -> list[Reported]:
    """A house rule of somebody else's: every pump has a label."""
    return [
        report(rig.place(number), part.name, ("has no label",))
        for number, part in enumerate(rig.parts)
        if part.item.name == "pump" and part.label is None
    ]


def _label(rig: SolvedRig, finding: Finding) -> list[Offer]:
    tree, route = rig.rig.tree, ("parts", str(finding.part))
    end = tree.span(route).end
    before = end._replace(column=end.column - 1)
    wrong = Fix("no label at all", (Edit(finding.file, finding.span._replace(end=finding.span.start), "x"),))
    span = finding.span._replace(start=before, end=before)
    right = Fix("label it", (Edit(finding.file, span, ", label: pump"),))
    return [wrong, right, SearchFor("hold-torque", ("nobody",)), NoFix("label it yourself")]


def _raises(rig: SolvedRig, finding: Finding) -> list[Offer]:
    raise SystemExit(3)


@pytest.mark.parametrize(("repairs", "titles", "reason"), [
    (_label, ["label it"], None),
    (_raises, [], "the rule pumps-labelled raised SystemExit when asked for repairs"),
    (None, [], "a person has to decide what was meant: no repair is looked for"),
])  # fmt: skip
def test_a_rule_of_anybodys_may_offer_repairs(
    tmp_path: Path, repairs: object, titles: list[str], reason: str | None
) -> None:
    """What it offers is proved like everything: the wrong edit is not shown; a rule that fails is named, not fatal."""
    rule = Rule("pumps-labelled", "warning", _pumps_named, repairs)  # type: ignore[arg-type]
    known = workshop_of(tmp_path, CATALOGUE, _head() + "  pump:  {item: pump, driven-by: wheel}\n")
    book = Rulebook((*known.book.rules, rule))
    context = open_repair_context(known.loader, known.loaded, book)
    found = plan(context, context.findings[0])
    assert [repair.title for repair in found.repairs] == titles
    assert found.no_repair == reason
    if titles:
        assert edited(context, found.repairs[0]).endswith("  pump:  {item: pump, driven-by: wheel, label: pump}\n")
