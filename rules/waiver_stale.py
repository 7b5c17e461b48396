"""A waiver waives nothing: what it waives is not there any more, or is worse than it allows.

What: no finding of the waiver's rule is about its part (without a part: about the file as a whole); or one is worse
than the waiver's `up-to`, and then that finding counts as well; or there is no rule of that name. Nothing is said while
a part of the rig has no solution, or where the policy turns the rule off.

Why: a waiver left behind would cover the next fault in its place, unseen.

How to repair: take out a waiver of what is mended. Where it got worse, mend it, or have a larger `up-to` granted.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lineshaft import api


def review(rig: api.SolvedRig, waivers: Sequence[api.JudgedWaiver]) -> Iterator[api.Reported]:
    """One finding for each waiver that covers nothing, or not all."""
    for judged in waivers:
        name = _name(judged)
        if judged.outcome == "beyond":
            yield _overtaken(rig, judged)
        elif judged.outcome == "gone":
            suggestion = ("take the waiver out",)
            yield _finding(rig, judged, "rule", (f"waives {name}, which is not there any more",), suggestion)
        elif judged.outcome == "no rule":
            message = (f"waives {name}, but there is no such rule, so it waives nothing",)
            yield _finding(rig, judged, "rule", message, ("the rule's id as `lineshaft rules` lists it",))


def _name(judged: api.JudgedWaiver) -> str:
    waiver = judged.waiver
    return waiver.rule if waiver.part is None else f"{waiver.rule} of {waiver.part}"


def _overtaken(rig: api.SolvedRig, judged: api.JudgedWaiver) -> api.Reported:
    """The finding for a waiver that something is worse than, with the places of all that is."""
    because = tuple(api.Cause(finding.file, finding.span, finding.part, finding.message) for finding in judged.beyond)
    up_to = judged.waiver.up_to
    found = [value for finding in judged.beyond if (value := api.bound_value(finding)) is not None]
    if up_to is None or not found:
        message: api.Text = (f"does not fit {_name(judged)}: only what has a value is waived up to one",)
        return _finding(rig, judged, "rule", message, ("mend what it waives and take it out",), (), because)
    thin = api.value_of(judged.beyond[0], "times_limit") is None
    worst = min(found) if thin else max(found)
    message = (f"waives {_name(judged)} {'down' if thin else 'up'} to ", api.times(up_to), ", it is ", api.times(worst))
    values = (("up_to", api.times(up_to)), ("margin" if thin else "times_limit", api.times(worst)))
    suggestion = ("mend it, or have a waiver granted that goes as far",)
    return _finding(rig, judged, "up-to", message, suggestion, values, because)


def _finding(
    rig: api.SolvedRig,
    judged: api.JudgedWaiver,
    key: str,
    message: api.Text,
    suggestion: api.Text,
    values: api.Values = (),
    because: Sequence[api.Cause] = (),
) -> api.Reported:
    """A finding at one value of the waiver."""
    tree, route = rig.rig.tree, (*judged.waiver.route, key)
    place = (tree.source.shown, tree.span(route), route)
    return api.report(place, judged.waiver.part, message, values, because, suggestion)


def repairs(_: api.SolvedRig, __: api.Finding) -> Iterator[api.Offer]:
    """None: a waiver is granted by somebody."""
    yield api.NoFix("a waiver is for whoever granted it to renew or to take out")


RULE = api.Rule("waiver-stale", "warning", repairs=repairs, local=True, review=review)
