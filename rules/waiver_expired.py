"""A waiver is past its last day.

What: the `until` of a waiver lies before the day of the check (`--date`, else today in UTC). That day itself is
included. What it waived counts again.

Why: a waiver is a loan. Whoever granted it wanted it looked at again by then.

How to repair: mend what it waives and take the waiver out; or have it granted anew, with a new `until` and a reason
that still holds.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lineshaft import api


def review(rig: api.SolvedRig, waivers: Sequence[api.JudgedWaiver]) -> Iterator[api.Reported]:
    """One finding for each waiver past its day, at its `until`."""
    tree = rig.rig.tree
    for judged in waivers:
        if judged.outcome == "expired":
            waiver = judged.waiver
            route = (*waiver.route, "until")
            of = f" for {waiver.part}" if waiver.part is not None else ""
            message = (f"the waiver of {waiver.rule}{of} ended on {waiver.until.isoformat()}",)
            suggestion = ("mend what it waives and take the waiver out, or have it granted anew",)
            place = (tree.source.shown, tree.span(route), route)
            yield api.report(place, waiver.part, message, (), (), suggestion)


def repairs(_: api.SolvedRig, __: api.Finding) -> Iterator[api.Offer]:
    """None: a waiver is granted by somebody."""
    yield api.NoFix("a waiver is for whoever granted it to renew or to take out")


RULE = api.Rule("waiver-expired", "error", repairs=repairs, local=True, review=review)
