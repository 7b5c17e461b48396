"""A machine gets less torque, speed or power than it needs.

What: what arrives at a driven machine is below one of the item's `needs`.

Why: it stalls, or does not start; the prime mover then stands with its full torque on every part of the line.

How to repair: another ratio: torque and speed trade against each other, so what is short of one can be had for the
other while the power suffices. Short of power, only a larger share or another prime mover helps.

Source: P = T·ω; common practice, no source, for the needs, which the catalogue gives.
"""

from collections.abc import Iterator

from lineshaft.api import (
    Finding,
    Measure,
    Offer,
    Reported,
    Rule,
    SearchFor,
    Shortage,
    SolvedRig,
    Text,
    causes,
    power,
    report,
    short,
    shortages,
    speed,
    stage_of,
    torque,
)

_SIGNS = {"torque": torque, "speed": speed, "power": power}


def check(rig: SolvedRig) -> Iterator[Reported]:
    """One finding for each machine that turns and is short of something; one at rest is not underdriven."""
    flows = rig.flows
    for number, part in enumerate(rig.parts):
        if part.item.kind != "driven-machine" or not flows.solved[number] or flows.speed_in[number] <= 0:
            continue
        lacking = shortages(part, flows.torque_in[number], flows.speed_in[number])
        if lacking:
            yield _finding(rig, number, lacking)


def _finding(rig: SolvedRig, number: int, lacking: tuple[Shortage, ...]) -> Reported:
    message: list[str | Measure] = []
    values: list[tuple[str, Measure]] = []
    for key, value, need in lacking:
        sign = _SIGNS[key]
        message += [", and " if message else "gets ", sign(value), " and needs ", sign(need)]
        values += [(key, sign(value)), (f"{key}_needed", sign(need))]
    return report(
        rig.place(number),
        rig.parts[number].name,
        message,
        values,
        causes(rig, number),
        _suggestion(rig, number, lacking),
    )


def _suggestion(rig: SolvedRig, number: int, lacking: tuple[Shortage, ...]) -> Text:
    kinds = {short_of.quantity for short_of in lacking}
    needs = rig.parts[number].item.needs
    if "power" in kinds or kinds == {"torque", "speed"}:
        return ("no ratio helps: torque and speed together are short; it needs more power, a larger share above",)
    key, value, need = lacking[0]
    ratio = need / value
    other, flow = ("speed", rig.flows.speed_in) if key == "torque" else ("torque", rig.flows.torque_in)
    floor = needs.speed if key == "torque" else needs.torque
    if floor is not None and short(flow[number] / ratio, floor):
        return (f"no ratio helps: the {other} would fall below its need; it needs more power",)
    return stage_of(rig, ratio, "a reducing" if key == "torque" else "an increasing")


def repairs(_: SolvedRig, finding: Finding) -> Iterator[Offer]:
    """The line geared anew, or a larger share above."""
    yield SearchFor("serve-machine", (finding.part or "",))


RULE = Rule("machine-underdriven", "error", check, repairs, local=True)
