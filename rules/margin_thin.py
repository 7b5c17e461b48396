"""A part holds, but not with the margin or application factor that the policy asks for.

What: limit / (value · K_A) is below the margin wanted, while the plain limit holds. K_A multiplies torque only, never
speed, and is 1 unless the policy asks for application factors.

Why: a rating is for even running. Shock from the prime mover or the machine adds to the torque, and a part that only
just holds has no reserve for it.

How to repair: as for a part over its limit: a stronger grade, a step-up first, or two lines side by side.

Source: the lower ends of Jiang, *Analysis and Design of Machine Elements*, Table 2.1; ISO 6336-6, from memory.
"""

from collections.abc import Iterator

from lineshaft.api import (
    Finding,
    Measure,
    Offer,
    Reported,
    Rule,
    SearchFor,
    SolvedRig,
    Strategy,
    application_factors,
    causes,
    over,
    report,
    short,
    speed,
    speed_carried,
    times,
    torque,
    torque_carried,
    value_of,
)


def check(rig: SolvedRig) -> Iterator[Reported]:
    """A finding for each torque and each speed that is thin; nothing where the policy asks for nothing."""
    policy = rig.policy
    if policy.torque_margin <= 1 and policy.speed_margin <= 1 and not policy.application_factors:
        return
    factors = application_factors(rig.train) if policy.application_factors else None
    for number, part in enumerate(rig.parts):
        if not rig.flows.solved[number]:
            continue
        carried, limit = torque_carried(rig.flows, number), part.torque_limit
        factor = factors[number] if factors is not None else 1.0
        if limit is not None and carried > 0 and not over(carried, limit):
            margin = limit / (carried * factor)
            if short(margin, policy.torque_margin):
                sign = (("torque", torque(carried)), ("application_factor", times(factor)), ("limit", torque(limit)))
                yield _finding(rig, number, sign, margin, policy.torque_margin)
        turns, fastest = speed_carried(rig.flows, number), part.speed_limit
        if fastest is None or turns <= 0 or over(turns, fastest):
            continue
        if short(fastest / turns, policy.speed_margin):
            ends = (("speed", speed(turns)), ("limit", speed(fastest)))
            yield _finding(rig, number, ends, fastest / turns, policy.speed_margin)


def _finding(
    rig: SolvedRig, number: int, sign: tuple[tuple[str, Measure], ...], margin: float, wanted: float
) -> Reported:
    values = (*sign, ("margin", times(margin)), ("margin_wanted", times(wanted)))
    message: list[str | Measure] = ["carries " if sign[0][0] == "torque" else "turns at ", sign[0][1]]
    if len(sign) == 3:
        message += [", times an application factor of ", sign[1][1]]
    may = ", may carry " if sign[0][0] == "torque" else ", may turn at "
    message += [may, sign[-1][1], ": a margin of ", times(margin), ", wanted ", times(wanted)]
    name = rig.parts[number].name
    return report(rig.place(number), name, message, values, causes(rig, number))


def repairs(_: SolvedRig, finding: Finding) -> Iterator[Offer]:
    """As for a part over the limit that is thin."""
    way: Strategy = "hold-torque" if value_of(finding, "torque") is not None else "hold-speed"
    yield SearchFor(way, (finding.part or "",))


RULE = Rule("margin-thin", "warning", check, repairs, local=True)
