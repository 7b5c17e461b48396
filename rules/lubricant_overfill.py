"""More lubricant than there is room for, or another than the part takes.

What: a tank's `charge` is more than it `holds`; the fills of a part come to more than its item holds, which is nothing
where the item takes none; or a circuit of one lubricant feeds a part that takes another.

Why: what does not fit runs out over the floor and the couplings; a stage churns itself hot in too much oil, and the
wrong one does not carry its load.

How to repair: at most what is held; for another lubricant a circuit of its own.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each tank, each part (at the fill that is too much) and each part on the wrong circuit."""
    for circuit in rig.rig.circuits:
        if api.over(circuit.charge, circuit.holds):
            yield _tank(rig, circuit)
        yield from _strangers(rig, circuit)
    yield from _fills(rig)


def _tank(rig: api.SolvedRig, circuit: api.Circuit) -> api.Reported:
    message = (
        f"the tank of {circuit.name} holds ",
        api.litres(circuit.holds),
        ", its charge is ",
        api.litres(circuit.charge),
    )
    values = (("charge", api.litres(circuit.charge)), ("holds", api.litres(circuit.holds)))
    place = _value(rig, (*circuit.route, "tank", "charge"))
    suggestion = ("a charge of at most ", api.litres(circuit.holds))
    return api.report(place, None, message, values, (), suggestion)


def _strangers(rig: api.SolvedRig, circuit: api.Circuit) -> Iterator[api.Reported]:
    """Parts of a circuit that take another lubricant."""
    for part in circuit.feeds:
        need = rig.parts[part].item.lubricant
        if need is not None and need.kind != circuit.lubricant:
            name = rig.parts[part].name
            yield api.report(
                _entry(rig, circuit, name),
                name,
                (f"takes {need.kind}; the circuit {circuit.name} carries {circuit.lubricant}",),
                (("charge", api.litres(circuit.charge)), ("holds", api.litres(need.holds))),
                (),
                (f"a circuit of {need.kind} for it, or a `fill` of its own",),
            )


def _entry(rig: api.SolvedRig, circuit: api.Circuit, name: str) -> api.Place:
    """The place of a part in a circuit's `feeds`; entries that name no part are not in the circuit, so look it up."""
    tree = rig.rig.tree
    route: api.Route = (*circuit.route, "feeds")
    data = tree.at(route)
    return _value(rig, (*route, data.index(name))) if isinstance(data, list) and name in data else _value(rig, route)


def _fills(rig: api.SolvedRig) -> Iterator[api.Reported]:
    total: dict[int, float] = {}
    reported: set[int] = set()
    for step in rig.rig.steps:
        if step.kind != "fill" or step.part in reported:
            continue
        part = rig.parts[step.part]
        if part.item.kind == "unknown":
            continue
        amount = total[step.part] = total.get(step.part, 0.0) + step.amount
        need = part.item.lubricant
        holds = need.holds if need is not None else 0.0
        if not api.over(amount, holds):
            continue
        reported.add(step.part)
        route: api.Route = (*step.route, "fill", "with")
        place = (step.tree.source.shown, step.tree.span(route), route)
        takes = ("holds ", api.litres(holds)) if need is not None else ("takes no lubricant",)
        message = (f"{part.name} ", *takes, ", and is filled with ", api.litres(amount))
        values = (("charge", api.litres(amount)), ("holds", api.litres(holds)))
        suggestion = (
            ("fills of at most ", api.litres(holds), " in all") if need is not None else ("leave this step out",)
        )
        yield api.report(place, part.name, message, values, (), suggestion)


def _value(rig: api.SolvedRig, route: api.Route) -> api.Place:
    tree = rig.rig.tree
    return tree.source.shown, tree.span(route), route


def repairs(rig: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """What is too much brought down to what is held; a part on a circuit of another lubricant is a matter of piping."""
    charge, holds = api.value_of(finding, "charge"), api.value_of(finding, "holds")
    if charge is None or holds is None or finding.route[-1] not in ("charge", "with") or holds <= 0:
        yield api.NoFix("which lubricant goes where is for whoever pipes it to say")
        return
    room = holds
    if finding.route[-1] == "with":
        # Fills add up: only the last one is cut, to what the others leave.
        room -= charge - _amount(rig, finding)
    if room > 0:
        what = "charge" if finding.route[-1] == "charge" else "fill"
        yield api.Fix(
            f"a {what} of {api.litres_text(room)}", (api.Edit(finding.file, finding.span, api.litres_text(room)),)
        )
    else:
        yield api.NoFix("the fills before this one are enough already: leave this step out")


def _amount(rig: api.SolvedRig, finding: api.Finding) -> float:
    """The litres of the fill step that a finding stands at."""
    return next((s.amount for s in rig.rig.steps if (*s.route, "fill", "with") == finding.route), 0.0)


RULE = api.Rule("lubricant-overfill", "error", check, repairs, local=True)
