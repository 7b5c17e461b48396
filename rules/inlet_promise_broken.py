"""A rig feeds a blueprint more than its inlet promises to stand.

What: the torque or the speed that arrives at an inlet of a placed blueprint is above the inlet's `torque-up-to` or
`speed-up-to`, in the rig as declared. Parts inside that are over a limit are reported beside it.

Why: a blueprint is judged up to its promise and no further. Past it nobody has looked, and its next edition may use the
room that this one happened to have.

How to repair: a smaller share, another ratio or direction above the inlet; or a promise that the blueprint keeps: raise
it in the blueprint's file and check that file.

Source: none; the promise is the blueprint's own.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each inlet of a placed blueprint that is fed more than it promises to stand."""
    flows = rig.flows
    for promise in rig.rig.placed.promises:
        source, outlet = promise.source
        if not flows.solved[source] or flows.speed_out[source] <= 0:
            continue
        fed = api.outlet_torque(rig.parts[source], flows.passed[source], outlet)
        turns = flows.speed_out[source]
        if api.over(fed, promise.torque) or api.over(turns, promise.speed):
            yield _finding(rig, promise, fed, turns)


def _finding(rig: api.SolvedRig, promise: api.Promise, fed: float, turns: float) -> api.Reported:
    message: list[str | api.Measure] = []
    values: list[tuple[str, api.Measure]] = []
    for key, value, most, sign in (
        ("torque", fed, promise.torque, api.torque),
        ("speed", turns, promise.speed, api.speed),
    ):
        values += [(key, sign(value)), (f"{key}_up_to", sign(most))]
        if api.over(value, most):
            start = ", and " if message else f"feeds {promise.inlet} "
            message += [start, sign(value), ", promised up to ", sign(most)]
    tree, route = promise.fed
    made, inlet = promise.made
    source = promise.source[0]
    chain = (*api.causes(rig, source), api.cause(rig, source))
    edge = api.Cause(made.source.shown, made.key_span(inlet), promise.inlet, ("is the inlet, with what it promises",))
    return api.report(
        (tree.source.shown, tree.span(route), route),
        promise.part,
        message,
        values,
        (*dict.fromkeys(chain), edge),
        ("less torque or speed above the inlet, or a promise in the blueprint that its parts keep",),
    )


def repairs(_: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """Less torque or speed above the inlet; what the promise is belongs to the blueprint's file."""
    yield api.SearchFor("keep-promise", (finding.part or "",))
    yield api.NoFix("the promise itself is raised in the blueprint's file, where its parts keep it")


RULE = api.Rule("inlet-promise-broken", "error", check, repairs)
