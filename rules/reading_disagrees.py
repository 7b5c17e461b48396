"""A reading taken on the standing build is not what the rig file gives.

What: a torque or speed that was read lies outside the reading's tolerance (2 % where it says none) of the value
computed for that place: a part's outlet, one outlet of a splitter, a machine's inlet. A reading of a part that cannot
be solved is passed over.

Why: what stands is not what is written: a stage the other way round, another ratio or other shares, an open clutch, a
head lower than stated, a worn stage. Every other verdict on the rig holds for the file and not for the build.

How to repair: look at the build. `lineshaft audit` names the fewest deviations that explain all readings together, and
makes the file match the build where the file can say it.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each reading of which a number disagrees, with those numbers."""
    if not rig.rig.readings:
        return
    wrong: dict[int, list[tuple[api.Measured, float]]] = {}
    for number in api.measured(rig.rig.readings):
        value = api.computed(rig.parts, rig.flows, number.part, number.outlet, number.quantity)
        if value is not None and api.disagree(number.read, value, number.tolerance):
            wrong.setdefault(number.reading, []).append((number, value))
    for reading, pairs in wrong.items():
        yield _finding(rig, reading, pairs)


def _finding(rig: api.SolvedRig, reading: int, pairs: list[tuple[api.Measured, float]]) -> api.Reported:
    written = rig.rig.readings[reading]
    message: list[str | api.Measure] = [f"{written.at}: "]
    values: list[tuple[str, api.Measure]] = []
    for number, value in pairs:
        sign = api.torque if number.quantity == "torque" else api.speed
        message += [", and " if values else "", "read ", sign(number.read), ", computed ", sign(value)]
        values += [(number.quantity, sign(value)), (f"{number.quantity}_read", sign(number.read))]
    message += [" (tolerance ", api.times(100 * written.tolerance), " %)"]
    suggestion = ("`lineshaft audit` looks for the fewest deviations that explain all readings",)
    part = rig.parts[written.part].name
    place = _place(rig, reading)
    because = api.causes(rig, written.part)
    return api.report(place, part, message, values, because, suggestion)


def _place(rig: api.SolvedRig, reading: int) -> api.Place:
    tree, route = rig.rig.tree, rig.rig.readings[reading].route
    return tree.source.shown, tree.span(route), route


def repairs(_: api.SolvedRig, __: api.Finding) -> Iterator[api.Offer]:
    """Nothing: whether the file or the build is to be changed is for a person to say."""
    why = "file and build differ, and which of them is to change is not for a repair to say: `lineshaft audit`"
    yield api.NoFix(why)


RULE = api.Rule("reading-disagrees", "warning", check, repairs, local=True)
