"""An outlet or a share drives nothing, or a part is driven by nothing.

What: power ends at an open shaft end; or a part that is no prime mover has no `driven-by`.

Why: what reaches a loose end is lost to the machines, and an open shaft end that turns is a hazard. A part that nothing
drives stands still, and whoever drew it meant something else.

A policy may take it harder at parts of one kind: `levels: {loose-end: {driven-machine: error}}`.

How to repair: connect it, give its share to the other outlets, or take the part out. Where machines wait for something
to drive them, `lineshaft design` proposes whole rigs.

Source: common practice, no source. For guards on open shaft ends see 29 CFR 1910.219(c)(4).
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """Undriven parts, and outlets that nothing takes where every `driven-by` of the rig is understood."""
    driven = rig.train.driven
    exits = rig.rig.placed.exits
    whole = rig.rig.all_connected
    solved = rig.flows.solved
    for number, part in enumerate(rig.parts):
        kind = part.item.kind
        if kind == "driven-machine":
            if not part.inlets and not part.faulty:
                yield _undriven(rig, number)
        elif kind != "prime-mover" and not part.inlets:
            if not part.faulty:
                yield _undriven(rig, number)
        elif whole and solved[number]:
            for outlet in range(len(part.outlets) or 1):
                if (number, outlet) in driven:
                    continue
                if (number, outlet) not in exits:
                    yield _open_end(rig, number, outlet)
                    continue
                # What leads out of a blueprint judged alone is for the rigs that place it.
                handed_on = exits[number, outlet]
                if handed_on is not None:
                    yield _unused_exit(rig, number, outlet, handed_on)


def _undriven(rig: api.SolvedRig, number: int) -> api.Reported:
    name = rig.parts[number].name
    message = ("is driven by nothing, so it stands still",)
    machine = rig.parts[number].item.kind == "driven-machine"
    onward = "; `lineshaft design` proposes what to build for it" if machine else ""
    suggestion = (f"say what drives it with `driven-by`, or take it out{onward}",)
    values = (("power", api.power(0.0)),)
    return api.report(rig.place(number), name, message, values, (), suggestion)


def _open_end(rig: api.SolvedRig, number: int, outlet: int) -> api.Reported:
    part = rig.parts[number]
    lost = api.power(_power(rig, number, outlet))
    name = f"{part.name}.{part.outlets[outlet]}" if part.outlets else part.name
    message = (f"{name} drives nothing: ", lost, " ends at an open shaft end")
    place = _share_place(rig, number, outlet) if part.outlets else rig.place(number)
    suggestion = (f"drive a part with `driven-by: {name}`, or leave it out",)
    share = _share(rig, number, outlet)
    values = (("power", lost),)
    return api.report(place, part.name, message, values, api.causes(rig, number), suggestion, severity=share)


def _unused_exit(rig: api.SolvedRig, number: int, outlet: int, end: api.Exit) -> api.Reported:
    """An outlet of a placed blueprint that nothing takes, at the line that puts the blueprint in place."""
    lost = api.power(_power(rig, number, outlet))
    message = (f"{end.name} drives nothing: ", lost, " ends at an open shaft end")
    tree, route = end.use
    place = (tree.source.shown, tree.key_span(route), route)
    suggestion = (f"drive a part with `driven-by: {end.name}`, or use a blueprint without that outlet",)
    values = (("power", lost),)
    because = (*api.causes(rig, number), api.cause(rig, number))
    part = end.name.rpartition(".")[0]
    return api.report(place, part, message, values, because, suggestion, severity=_share(rig, number, outlet))


class _Entering:
    """The share of a prime mover's torque that splitters lead to a part, as far as it was asked for."""

    def __init__(self, _: api.SolvedRig) -> None:
        self.shares: dict[int, float] = {}


def _share(rig: api.SolvedRig, number: int, outlet: int) -> float:
    """The share of the torque that splitters on the way lead to an open end, whatever is lost above it.

    By it an open end is worse or better: that more arrives, since less is lost above, speaks against nothing.
    """
    known = rig.once(_Entering).shares
    path: list[int] = []
    here: int | None = number
    while here is not None and here not in known:
        path.append(here)
        here = rig.driver(here)
    for part in reversed(path):
        known[part] = 1.0 if here is None else known[here] * _part_of(rig, here, _way(rig, here, part))
        here = part
    return known[number] * _part_of(rig, number, outlet)


def _power(rig: api.SolvedRig, number: int, outlet: int) -> float:
    """What leaves an outlet [W]."""
    return api.outlet_torque(rig.parts[number], rig.flows.passed[number], outlet) * rig.flows.speed_out[number]


def _way(rig: api.SolvedRig, above: int, part: int) -> int:
    return next(outlet for source, outlet in rig.parts[part].inlets if source == above)


def _part_of(rig: api.SolvedRig, number: int, outlet: int) -> float:
    shares = rig.parts[number].shares
    return shares[outlet] / sum(shares) if shares else 1.0


def _share_place(rig: api.SolvedRig, number: int, outlet: int) -> api.Place:
    part: api.Part = rig.parts[number]
    route = (*part.route, "shares", part.outlets[outlet])
    return part.tree.source.shown, part.tree.key_span(route), route


def repairs(rig: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """An open end is put to use or goes; a part that nothing drives is driven or goes."""
    name = finding.part or ""
    number = rig.rig.index.get(name)
    undriven = number is not None and not rig.parts[number].inlets and rig.parts[number].item.kind != "prime-mover"
    yield api.SearchFor("drive-part" if undriven else "close-end", (name,))
    yield api.NoFix("what is to be driven here is for whoever builds it to say")


RULE = api.Rule("loose-end", "warning", check, repairs, local=True)
