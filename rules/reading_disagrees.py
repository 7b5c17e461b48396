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

from collections.abc import Iterator
from typing import TYPE_CHECKING

from lineshaft.api import (
    Finding,
    Measure,
    NoFix,
    Offer,
    Place,
    Reported,
    Rule,
    SolvedRig,
    causes,
    report,
    speed,
    times,
    torque,
)

if TYPE_CHECKING:
    from lineshaft.api import Measured

_SIGNS = {"torque": torque, "speed": speed}


def check(rig: SolvedRig) -> Iterator[Reported]:
    """One finding for each reading of which a number disagrees, with those numbers."""
    if not rig.rig.readings:
        return
    from lineshaft.api import computed, disagree, measured

    wrong: dict[int, list[tuple[Measured, float]]] = {}
    for number in measured(rig.rig.readings):
        value = computed(rig.parts, rig.flows, number.part, number.outlet, number.quantity)
        if value is not None and disagree(number.read, value, number.tolerance):
            wrong.setdefault(number.reading, []).append((number, value))
    for reading, pairs in wrong.items():
        yield _finding(rig, reading, pairs)


def _finding(rig: SolvedRig, reading: int, pairs: "list[tuple[Measured, float]]") -> Reported:
    written = rig.rig.readings[reading]
    message: list[str | Measure] = [f"{written.at}: "]
    values: list[tuple[str, Measure]] = []
    for number, value in pairs:
        sign = _SIGNS[number.quantity]
        message += [", and " if values else "", "read ", sign(number.read), ", computed ", sign(value)]
        values += [(number.quantity, sign(value)), (f"{number.quantity}_read", sign(number.read))]
    message += [" (tolerance ", times(100 * written.tolerance), " %)"]
    suggestion = ("`lineshaft audit` looks for the fewest deviations that explain all readings",)
    part = rig.parts[written.part].name
    place = _place(rig, reading)
    because = causes(rig, written.part)
    return report(place, part, message, values, because, suggestion)


def _place(rig: SolvedRig, reading: int) -> Place:
    tree, route = rig.rig.tree, rig.rig.readings[reading].route
    return tree.source.shown, tree.span(route), route


def repairs(_: SolvedRig, __: Finding) -> Iterator[Offer]:
    """Nothing: whether the file or the build is to be changed is for a person to say."""
    yield NoFix("file and build differ, and which of them is to change is not for a repair to say: `lineshaft audit`")


RULE = Rule("reading-disagrees", "warning", check, repairs, local=True)
