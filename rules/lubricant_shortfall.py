"""A circuit or a filled part runs dry sooner than the policy allows.

What: while the declared rig runs, a circuit's stages use more than its press makes, or a filled part uses up its fill,
and the charge lasts shorter than the policy's `run-dry-after` (1 h unless it says otherwise).

Why: somebody has to come back with oil before then, every time; one forgotten round, and the stage turns dry.

It is silent where the only cause is a press that stalls: `machine-underdriven` tells that.

How to repair: a larger charge or fill, as far as the tank or the part holds it; a press, or a faster one.

Source: time to dry = charge / (use − supply), a balance of volume; the hour is a house rule.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each that runs dry too soon; what never had lubricant, or cannot start, is told of elsewhere."""
    if not rig.rig.circuits and not api.commissioning_of(rig).filled:
        return  # nothing holds any
    allowed = rig.policy.run_dry_after
    late = [a for a in api.accounts(rig) if _late(a.runs_dry_after, allowed) and _late(a.runs_dry_when_fed, allowed)]
    if not late:
        return
    looped = {loop.circuit for loop in api.loops_of(rig.train)}
    dry = {turn.stage for turn in api.commissioning_of(rig).dry_turns}
    for account in late:
        circuit = api.circuit_of(rig, account)
        if circuit is None:
            if account.part not in dry:
                yield _finding(rig, account, allowed)
        elif account.circuit not in looped and (circuit.charge > 0 or not dry.intersection(circuit.feeds)):
            yield _finding(rig, account, allowed)


def _late(lasts: float | None, allowed: float) -> bool:
    return lasts is not None and api.short(lasts, allowed)


def _finding(rig: api.SolvedRig, account: api.Account, allowed: float) -> api.Reported:
    lasts = account.runs_dry_after or 0.0
    values: list[tuple[str, api.Measure]] = [
        ("supply", api.Measure(account.supply, "L/s")),
        ("use", api.Measure(account.use, "L/s")),
        ("charge", api.litres(account.charge)),
        ("runs_dry_after", api.seconds(lasts)),
    ]
    message: api.Text = (
        "runs dry after ",
        api.seconds(lasts),
        ", has to last ",
        api.seconds(allowed),
        ": ",
        api.litres(account.charge),
        f" of {account.lubricant}, ",
        api.Measure(account.use, "L/s"),
        " used, ",
        api.Measure(account.supply, "L/s"),
        " supplied",
    )
    if account.circuit is not None:
        message = (f"circuit {account.name} ", *message)
    part = None if account.part is None else account.name
    suggestion = _suggestion(rig, account, allowed)
    place = _place(rig, account)
    return api.report(place, part, message, values, (), suggestion)


def _place(rig: api.SolvedRig, account: api.Account) -> api.Place:
    circuit = api.circuit_of(rig, account)
    if circuit is not None:
        tree = rig.rig.tree
        return tree.source.shown, tree.key_span(circuit.route), circuit.route
    assert account.part is not None
    return rig.place(account.part)


def _suggestion(rig: api.SolvedRig, account: api.Account, allowed: float) -> api.Text:
    """The charge that lasts, where there is room for it; else the supply that is lacking."""
    needed = -account.net * allowed
    circuit = api.circuit_of(rig, account)
    if circuit is not None:
        holds, room = circuit.holds, "its tank"
    else:
        need = rig.parts[account.part or 0].item.lubricant
        holds, room = (need.holds if need is not None else 0.0), "the part"
    if not api.over(needed, holds):
        return ("a charge of at least " if circuit is not None else "a fill of at least ", api.litres(needed), " lasts")
    lacking = api.Measure(account.use - account.supply - holds / allowed, "L/s")
    return (
        f"{room} holds only ",
        api.litres(holds),
        ", where it takes ",
        api.litres(needed),
        "; supply ",
        lacking,
        " more",
    )


def repairs(rig: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """A charge or fill that lasts, where there is room for it."""
    use, supply = api.value_of(finding, "use"), api.value_of(finding, "supply")
    needed = ((use or 0.0) - (supply or 0.0)) * rig.policy.run_dry_after
    litres_up = math.ceil(needed * 1000 - 1e-6) / 1000
    tree = rig.rig.tree
    for circuit in rig.rig.circuits:
        if circuit.route == finding.route and not api.over(litres_up, circuit.holds):
            span = tree.span((*circuit.route, "tank", "charge"))
            title = f"charge {circuit.name} with {api.litres_text(litres_up)}"
            yield api.Fix(title, (api.Edit(finding.file, span, api.litres_text(litres_up)),))
            return
    part = rig.rig.index.get(finding.part or "")
    need = None if part is None else rig.parts[part].item.lubricant
    if need is None or api.over(litres_up, need.holds):
        yield api.NoFix("more lubricant per hour than this holds is a matter of a press or a larger tank")
        return
    fills = [step for step in rig.rig.steps if step.kind == "fill" and step.part == part]
    if len(fills) > 1:
        yield api.NoFix("there is room for what it takes; which of its fills gives more is for whoever fills it to say")
    elif fills[0].tree is not tree:
        yield api.NoFix("there is room for what it takes; its fill stands in the list of a blueprint")
    else:
        span = tree.span((*fills[0].route, "fill", "with"))
        title = f"fill {finding.part} with {api.litres_text(litres_up)}"
        yield api.Fix(title, (api.Edit(finding.file, span, api.litres_text(litres_up)),))


RULE = api.Rule("lubricant-shortfall", "warning", check, repairs, local=True)
