"""The rig was worked out for another edition of the catalogue than the one it is judged by.

What: the rig's `edition`, or the policy's, is not the catalogue's. Where the catalogue has the rig's edition under
`earlier`, the ratings that changed and touch the rig are listed.

Why: ratings change from one edition to the next, so numbers worked out for the old one may be wrong for the new.

How to repair: look at what changed, check the rig, and write the new edition.

Source: none; the editions are the site's.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api

_GOODS = "goods"  # what a thing is made of is no rating


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding a rig, at its edition; one at its catalogue where the policy is for another edition still."""
    written, asked, now = rig.rig.edition, rig.policy.edition, rig.catalogue.edition
    if not now or not rig.parts:
        return
    if written is not None and written != now:
        yield _of_rig(rig, written, now)
    if asked is not None and asked not in (now, written):
        tree = rig.rig.tree
        place = (tree.source.shown, tree.span(("catalogue",)), ("catalogue",))
        policy = f"the policy is for edition {asked}, the catalogue is edition {now}"
        suggestion = (f'the catalogue of that edition, or `edition: "{now}"` in the policy',)
        yield api.report(place, None, (policy,), (), (), suggestion)


def _of_rig(rig: api.SolvedRig, written: str, now: str) -> api.Reported:
    old = rig.rig.earlier
    tree = rig.rig.tree
    place = (tree.source.shown, tree.span(("edition",)), ("edition",))
    start = f"was worked out for edition {written}, the catalogue is edition {now}"
    if old is None:
        words: list[str | api.Measure] = [f"{start}; it does not have the old one, so what changed cannot be told"]
        return api.report(place, None, words)
    everywhere = api.changed_ratings(old, rig.catalogue)
    ratings = [r for r in api.touching(everywhere, rig.parts, frozenset()) if r.what != _GOODS]
    changed, gone = [r for r in ratings if r.field], [r.name for r in ratings if not r.field]
    words = [start]
    for rating in changed[:8]:
        words += [f"; {rating.words} was ", _measure(rating.old, rating), ", is ", _measure(rating.new, rating)]
    if len(changed) > 8:
        words.append(f"; and {len(changed) - 8} more")
    words += [f"; {name} is only in one of them" for name in gone[:4]]
    if not changed and not gone:
        words.append("; no rating that touches this rig changed")
    values = tuple((f"{r.name} {r.what.replace(' ', '-')}", _measure(r.new, r)) for r in changed)
    suggestion = (f'check what changed, then write `edition: "{now}"`',)
    return api.report(place, None, words, values, (), suggestion)


def _measure(value: api.Value, rating: api.Rating) -> api.Measure:
    return api.Measure("none" if value is None else value, rating.unit or "1")


def repairs(rig: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """The rig's edition line, once all the rest holds by the new ratings; a policy's is not the rig's to change."""
    if finding.route == ("edition",):
        now = rig.catalogue.edition
        written = now.replace("\\", "\\\\").replace('"', '\\"')
        yield api.Fix(f"write edition {now}, the catalogue's", (api.Edit(finding.file, finding.span, f'"{written}"'),))
    else:
        yield api.NoFix("the policy and the catalogue are of two editions: the site has to say which one holds")


RULE = api.Rule("edition-drift", "warning", check, repairs, local=True)
