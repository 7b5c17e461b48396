"""A part is made in a grade that the policy forbids.

What: the part's grade, its own or its item's, stands under `grades: {forbidden: […]}` in the policy.

Why: a site may keep a material for other uses, or have given it up after breakages; the catalogue still lists it, since
parts made in it stand about.

How to repair: another grade that the item comes in and that stands what the part carries, or another item.

Source: none; the list is the site's.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each part in a forbidden grade, at the grade where the part names it, else at the part's key."""
    forbidden = frozenset(rig.policy.forbidden_grades)
    if not forbidden:
        return
    for number, part in enumerate(rig.parts):
        if part.grade is not None and part.grade.name in forbidden:
            message = (f"is made in {part.grade.name}, which the policy forbids",)
            place, because = rig.setting(number, "grade"), _ban(rig, part.grade.name)
            suggestion = _suggestion(rig, number)
            yield api.report(place, part.name, message, (), because, suggestion)


def _ban(rig: api.SolvedRig, name: str) -> tuple[api.Cause, ...]:
    """The line of the policy that says so."""
    tree = rig.policy.tree
    if tree is None:  # a policy of a program's own
        return ()
    span = tree.span(("grades", "forbidden", rig.policy.forbidden_grades.index(name)))
    return (api.Cause(tree.source.shown, span, None, (f"the policy forbids {name}",)),)


def _suggestion(rig: api.SolvedRig, number: int) -> api.Text:
    """The first other grade of the item that stands what the part carries."""
    fits = api.grades_that_stand(rig, number)
    if not fits:
        return (f"{_no_other(rig, number)}; take another item",)
    if not rig.flows.solved[number]:
        return (f"grade {fits[0].name} is allowed; whether it stands what it carries is not known here",)
    return (f"grade {fits[0].name} stands what it carries",)


def _no_other(rig: api.SolvedRig, number: int) -> str:
    return f"{rig.parts[number].item.name} comes in no other grade that is allowed and stands it"


def repairs(rig: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """The part in another grade that its item comes in and that stands what it carries."""
    number = rig.rig.index[finding.part or ""]
    part, fits = rig.parts[number], api.grades_that_stand(rig, number)
    for grade in fits:
        yield api.Fix(f"make {part.name} in {grade.name}", (api.set_key(part, "grade", grade.name),))
    if not fits:
        yield api.NoFix(f"{_no_other(rig, number)}; which item takes its place is to be said")


RULE = api.Rule("grade-forbidden", "error", check, repairs, local=True)
