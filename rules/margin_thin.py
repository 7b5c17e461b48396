"""A part holds, but not with the margin or application factor that the policy asks for.

What: limit / (value · K_A) is below the margin wanted, while the plain limit holds. K_A multiplies torque only, never
speed, and is 1 unless the policy asks for application factors.

Why: a rating is for even running. Shock from the prime mover or the machine adds to the torque, and a part that only
just holds has no reserve for it.

How to repair: as for a part over its limit: a stronger grade, a step-up first, or two lines side by side.

Source: the lower ends of Jiang, *Analysis and Design of Machine Elements*, Table 2.1; ISO 6336-6, from memory.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """A finding for each torque and each speed that is thin; nothing where the policy asks for nothing."""
    policy = rig.policy
    if policy.torque_margin <= 1 and policy.speed_margin <= 1 and not policy.application_factors:
        return
    factors = api.application_factors(rig.train) if policy.application_factors else None
    for number, part in enumerate(rig.parts):
        if not rig.flows.solved[number]:
            continue
        carried, limit = api.torque_carried(rig.flows, number), part.torque_limit
        factor = factors[number] if factors is not None else 1.0
        if limit is not None and carried > 0 and not api.over(carried, limit):
            margin = limit / (carried * factor)
            if api.short(margin, policy.torque_margin):
                sign = (
                    ("torque", api.torque(carried)),
                    ("application_factor", api.times(factor)),
                    ("limit", api.torque(limit)),
                )
                yield _finding(rig, number, sign, margin, policy.torque_margin)
        turns, fastest = api.speed_carried(rig.flows, number), part.speed_limit
        if fastest is None or turns <= 0 or api.over(turns, fastest):
            continue
        if api.short(fastest / turns, policy.speed_margin):
            ends = (("speed", api.speed(turns)), ("limit", api.speed(fastest)))
            yield _finding(rig, number, ends, fastest / turns, policy.speed_margin)


def _finding(
    rig: api.SolvedRig, number: int, sign: tuple[tuple[str, api.Measure], ...], margin: float, wanted: float
) -> api.Reported:
    values = (*sign, ("margin", api.times(margin)), ("margin_wanted", api.times(wanted)))
    message: list[str | api.Measure] = ["carries " if sign[0][0] == "torque" else "turns at ", sign[0][1]]
    if len(sign) == 3:
        message += [", times an application factor of ", sign[1][1]]
    may = ", may carry " if sign[0][0] == "torque" else ", may turn at "
    message += [may, sign[-1][1], ": a margin of ", api.times(margin), ", wanted ", api.times(wanted)]
    name = rig.parts[number].name
    return api.report(rig.place(number), name, message, values, api.causes(rig, number))


def repairs(_: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """As for a part over the limit that is thin."""
    way: api.Strategy = "hold-torque" if api.value_of(finding, "torque") is not None else "hold-speed"
    yield api.SearchFor(way, (finding.part or "",))


RULE = api.Rule("margin-thin", "warning", check, repairs, local=True)
