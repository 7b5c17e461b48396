"""What rules of anybody's offer is proved like all else, however written; and a rule that fails harms no other."""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest
from repair_bench import edited, plan_for, workshop_of

from lineshaft.check.finding import Edit, Finding, Reported, report
from lineshaft.check.fingerprint import subject_of
from lineshaft.check.offer import Fix, Offer, SearchFor
from lineshaft.check.rule import Propose, Rule
from lineshaft.check.rulebook import Rulebook
from lineshaft.repair.plan.fix_budget import offer
from lineshaft.repair.proof.context import RepairContext, mends, open_repair_context
from lineshaft.schema.text.span import Route
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.testing import CATALOGUE

RIG = """rig: 1
catalogue: bench.catalogue.yaml
edition: "1"
parts:
  wheel: {item: wheel}
  lay: {item: shaft, grade: larch, driven-by: wheel}
  press: {item: press, driven-by: lay}
"""
TWO_LINES = """  other: {item: wheel}
  forge: {item: press, driven-by: other, label: Forge}
"""
LEG = """blueprint: 1
catalogue: bench.catalogue.yaml
inlets: {in: {torque-up-to: 950 N*m, speed-up-to: 9 rad/s}}
parts:
  ram: {item: press, driven-by: in, label: Ram}
"""
Edits = Callable[[SolvedRig], tuple[Edit, ...]]


def _unlabelled(rig: SolvedRig) -> Iterator[Reported]:
    for number, part in enumerate(rig.parts):
        if part.item.kind == "driven-machine" and part.label is None:
            yield report(rig.place(number), part.name, ("has no label",))


def _labels(folder: Path, repairs: Propose | None, *more: Rule, rig: str = RIG) -> RepairContext:
    """A rig under the rules that there are, the rule that a machine has a label, and some more."""
    known = workshop_of(folder, CATALOGUE, rig)
    book = Rulebook((*known.book.rules, Rule("label-due", "warning", _unlabelled, repairs, local=True), *more))
    return open_repair_context(known.loader, known.loaded, book)


def _anew(rig: SolvedRig, route: Route, text: str) -> Edit:
    """An entry, from its key to its end, written anew."""
    tree = rig.rig.tree
    return Edit(rig.file, tree.source.span(tree.key_slice(route)[0], tree.slice(route)[1]), text)


def _label(rig: SolvedRig, _: Finding) -> Sequence[Offer]:
    """The press with a label."""
    entry = _anew(rig, ("parts", "press"), "press: {item: press, driven-by: lay, label: Press}")
    return [Fix("label it", (entry,))]


def _nothing_in_all(rig: SolvedRig) -> tuple[Edit, ...]:
    out = _anew(rig, ("parts", "press"), "")
    again = Edit(rig.file, out.span._replace(start=out.span.end), "press: {item: press, driven-by: lay}")
    return out, again


def _overlapping(rig: SolvedRig) -> tuple[Edit, ...]:
    first = _anew(rig, ("parts", "press"), "press: {item: press, driven-by: lay, label: Press}")
    return first, _anew(rig, ("parts", "press", "item"), "item: press")


def _no_mapping(rig: SolvedRig) -> tuple[Edit, ...]:
    return (_anew(rig, ("parts", "press"), "press"),)


def _no_part_left(rig: SolvedRig) -> tuple[Edit, ...]:
    return tuple(_anew(rig, ("parts", part.name), "") for part in rig.parts)


@pytest.mark.parametrize("edits", [_nothing_in_all, _overlapping, _no_mapping, _no_part_left])
def test_edits_that_leave_no_better_rig_are_not_shown(tmp_path: Path, edits: Edits) -> None:
    """They change nothing in all, overlap, put a word in a part's place or take every part out: none is a repair."""
    context = _labels(tmp_path, lambda rig, _: [Fix("wrong", edits(rig))])
    found = plan_for(context, "label-due")
    assert found.repairs == ()
    assert found.no_repair == "the one way that was tried leaves it or makes a new finding"


def test_a_blueprint_may_be_put_in_a_parts_place(tmp_path: Path) -> None:
    """The press gives way to a leg whose ram has a label: the rig then has the part `press/ram` for `press`."""
    (tmp_path / "leg.blueprint.yaml").write_text(LEG, "utf-8")
    leg = "press: {blueprint: leg.blueprint.yaml, driven-by: lay}"
    context = _labels(tmp_path, lambda rig, _: [Fix("take a leg", (_anew(rig, ("parts", "press"), leg),))])
    (repair,) = plan_for(context, "label-due").repairs
    assert edited(context, repair) == RIG.replace("press: {item: press, driven-by: lay}", leg)
    after = context.edited_rig(repair.edits)
    assert after is not None
    assert [part.name for part in after.rig.parts] == ["wheel", "lay", "press/ram"]


@pytest.mark.parametrize(("way", "part", "reason"), [
    ("take-out", "nobody", "a person has to decide what was meant: no repair is looked for"),
    ("take-out", "wheel", "no setting, step or part was found to mend it with"),
    ("close-end", "fork", "no setting, step or part was found to mend it with"),
    ("fill-first", "press", "no setting, step or part was found to mend it with"),
    ("set-first", "press", "no setting, step or part was found to mend it with"),
])  # fmt: skip
def test_a_way_that_does_not_fit_its_part_leads_nowhere(tmp_path: Path, way: str, part: str, reason: str) -> None:
    """No such part, a wheel that all hang on, a splitter with a ram on it that nothing drives, and a press.

    That takes no lubricant and has no direction.
    """
    rig = RIG + (
        "  fork: {item: fork, grade: larch, shares: {a: 3, b: 5}}\n"
        "  ram: {item: press, label: Ram, driven-by: fork.a}\n"
    )
    context = _labels(tmp_path, lambda _, __: [SearchFor(way, (part,))], rig=rig)  # type: ignore[arg-type]
    found = plan_for(context, "label-due")
    assert (found.repairs, found.no_repair) == ((), reason)


def test_who_stops_the_program_stops_it_in_a_rule_too(tmp_path: Path) -> None:
    """Ctrl-C while a rule thinks of repairs is no failing of that rule: it goes on to whoever called."""

    def stopped(_: SolvedRig, __: Finding) -> Sequence[Offer]:
        raise KeyboardInterrupt

    context = _labels(tmp_path, stopped)
    with pytest.raises(KeyboardInterrupt):
        plan_for(context, "label-due")


def test_what_a_rule_offered_once_stays_offered_though_it_fails_later(tmp_path: Path) -> None:
    """It gives its repair when it is asked for repairs, and raises when it is asked again in the proof."""
    asked: list[Finding] = []

    def once(rig: SolvedRig, finding: Finding) -> Sequence[Offer]:
        asked.append(finding)
        if len(asked) > 1:
            raise RuntimeError
        return _label(rig, finding)

    found = plan_for(_labels(tmp_path, once), "label-due")
    assert [repair.title for repair in found.repairs] == ["label it"]
    assert len(asked) > 1


def _broken_without_a_label(rig: SolvedRig) -> Iterator[Reported]:
    for number, part in enumerate(rig.parts):
        if part.item.kind == "driven-machine":
            assert part.label is not None
            yield from () if part.label else (report(rig.place(number), part.name, ("has an empty label",)),)


@pytest.mark.parametrize("rule", ["label-due", "rule-crashed"])
def test_a_finding_without_repairs_of_its_own_is_mended_by_others(tmp_path: Path, rule: str) -> None:
    """Of a rule that offers nothing, and of one that crashed: the label mends both, a stronger grade of the shaft none.

    Whether a change mends them is told by the whole rig with it.
    """
    context = _labels(tmp_path, None, Rule("label-read", "warning", _broken_without_a_label))
    (finding,) = [found for found in context.findings if found.rule == rule]
    labelled = context.edited_rig(_label(context.rig, finding)[0].edits)  # type: ignore[union-attr]
    turned = context.edited_rig((_anew(context.rig, ("parts", "lay", "grade"), "grade: pine"),))
    assert labelled is not None and turned is not None
    assert mends(context, finding, labelled)
    assert not mends(context, finding, turned)


def _two_labels(rig: SolvedRig) -> Iterator[Reported]:
    labelled = [part.name for part in rig.parts if part.label is not None]
    if len(labelled) > 1:
        yield report(rig.place(0), labelled[-1], ("is labelled though another part is",))


@pytest.mark.parametrize("local", [False, True])
def test_a_rule_that_calls_itself_local_and_is_not_is_found_out_on_the_whole_file(tmp_path: Path, local: bool) -> None:
    """The press is the only part with a label on its line, and the second one in the rig, which a rule forbids."""
    rule = Rule("one-label", "warning", _two_labels, local=local)
    context = _labels(tmp_path, _label, rule, rig=RIG + TWO_LINES)
    (finding,) = context.findings
    found = offer(context, finding)
    assert found.repairs == ()
    on_lines = "the ways that were found do not hold on the whole file"
    assert found.no_repair == (on_lines if local else "the one way that was tried leaves it or makes a new finding")


def test_two_findings_of_one_part_are_told_apart_by_their_places(tmp_path: Path) -> None:
    """Two outlets of a splitter that drive nothing are two findings; what closes one leaves the other.

    Of five fifths `b` and `c` get two each; without `c` it is 3 : 2, so that `b` has no more than before.
    """
    rig = RIG.replace("lay}\n", "fork.a, label: Press}\n") + (
        "  fork: {item: fork, grade: larch, shares: {a: 1, b: 2, c: 2}, driven-by: lay}\n"
    )
    catalogue = CATALOGUE.replace("[[1, 1],", "[[1, 1], [1, 2, 2],")
    context = workshop_of(tmp_path, catalogue, rig)
    first, second = [found for found in context.findings if found.rule == "loose-end"]
    assert subject_of(first, anywhere=True) == subject_of(second, anywhere=True)
    shares = "shares: {a: 3, b: 2}"
    closed = context.edited_rig((_anew(context.rig, ("parts", "fork", "shares"), shares),))
    assert closed is not None
    assert mends(context, second, closed)
    assert not mends(context, first, closed)
