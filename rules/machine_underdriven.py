"""A machine gets less torque, speed or power than it needs.

What: what arrives at a driven machine is below one of the item's `needs`.

Why: it stalls, or does not start; the prime mover then stands with its full torque on every part of the line.

How to repair: another ratio: torque and speed trade against each other, so what is short of one can be had for the
other while the power suffices. Short of power, only more power helps: a larger share, less loss above, or more
from the prime mover.

Source: P = T·ω; common practice, no source, for the needs, which the catalogue gives.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each machine that turns and is short of something; one at rest is not underdriven."""
    flows = rig.flows
    for number, part in enumerate(rig.parts):
        if part.item.kind != "driven-machine" or not flows.solved[number] or flows.speed_in[number] <= 0:
            continue
        lacking = api.shortages(part, flows.torque_in[number], flows.speed_in[number])
        if lacking:
            yield _finding(rig, number, lacking)


def _finding(rig: api.SolvedRig, number: int, lacking: tuple[api.Shortage, ...]) -> api.Reported:
    message: list[str | api.Measure] = []
    values: list[tuple[str, api.Measure]] = []
    signs = {"torque": api.torque, "speed": api.speed, "power": api.power}
    for key, value, need in lacking:
        sign = signs[key]
        message += [", and " if message else "gets ", sign(value), " and needs ", sign(need)]
        values += [(key, sign(value)), (f"{key}_needed", sign(need))]
    return api.report(
        rig.place(number),
        rig.parts[number].name,
        message,
        values,
        api.causes(rig, number),
        _suggestion(rig, number, lacking),
    )


def _suggestion(rig: api.SolvedRig, number: int, lacking: tuple[api.Shortage, ...]) -> api.Text:
    kinds = {short_of.quantity for short_of in lacking}
    needs = rig.parts[number].item.needs
    if "power" in kinds or kinds == {"torque", "speed"}:
        return ("no ratio helps: torque and speed together are short; it needs more power, a larger share above",)
    key, value, need = lacking[0]
    ratio = need / value
    other, flow = ("speed", rig.flows.speed_in) if key == "torque" else ("torque", rig.flows.torque_in)
    floor = needs.speed if key == "torque" else needs.torque
    if floor is not None and api.short(flow[number] / ratio, floor):
        return (f"no ratio helps: the {other} would fall below its need; it needs more power",)
    return api.stage_of(rig, ratio, "a reducing" if key == "torque" else "an increasing")


def repairs(_: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """The line geared anew, or a larger share above."""
    yield api.SearchFor("serve-machine", (finding.part or "",))


RULE = api.Rule("machine-underdriven", "error", check, repairs, local=True)
