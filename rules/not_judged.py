"""Parts are not judged, and no other finding says why.

What: a parameter of a blueprint has no default, so what hangs on it cannot be reckoned when the blueprint is judged
alone; or a part was not solved for a reason that a policy keeps silent (`levels: {drive-loop: off}`). It is an error
where no part of the file was judged, a note where some were. It cannot be turned off, waived or recorded as a snag.

Why: rules leave out what is not solved. A file of which nothing was judged would pass as if nothing were wrong.

How to repair: give the parameter a `default` that the blueprint is to be judged with; what places the blueprint still
gives its own. Or mend what the silenced rule would find.

Source: common practice, no source; a check that did not look says so.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api

_SHOWN = 5
_LEAVE_ALL = frozenset({"not-yaml", "not-schema", "bad-quantity"})
_WHERE_PARTS_ARE_SOLVED = frozenset({"readings", "waivers", "lubrication", "commissioning"})
"""Sections whose faults leave no part unsolved."""


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each parameter that is missing, and for each cause that a silenced rule does not tell."""
    edges = rig.rig.placed.edges
    judged = sum(rig.flows.solved) - sum(rig.flows.solved[number] for number in edges)
    level: api.Level = "note" if judged else "error"
    yield from _lacks(rig, level)
    if rig.unsolved or not rig.parts:
        for place, part, rule, words in _silenced(rig):
            message = (f"not judged, and `{rule}`, which would say why, is off: ", *words)
            yield api.report(place, part, message, level=level)


def _lacks(rig: api.SolvedRig, level: api.Level) -> Iterator[api.Reported]:
    if not rig.parts:
        return  # a fault stands in the way of all of it, and is told
    parts: dict[tuple[str, api.Use], dict[int, None]] = {}
    for lack in rig.rig.placed.lacks:
        needed_by = parts.setdefault((lack.parameter, lack.declared), {})
        if lack.part is not None:
            needed_by[lack.part] = None
    for (parameter, declared), numbers in parts.items():
        names = [rig.parts[number].name for number in numbers]
        listed = ", ".join(names[:_SHOWN]) + (f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else "")
        what = f"{listed} and all that hangs on it is not judged" if names else "its start-up is not judged"
        tree, route = declared
        place = (tree.source.shown, tree.key_span(route), route)
        suggestion = ("give it a `default` to be judged with; what places the blueprint still gives its own",)
        message = (f"{parameter} has no default, so {what} here",)
        yield api.report(place, None, message, (), (), suggestion, level=level if names else "note")


def _silenced(rig: api.SolvedRig) -> Iterator[tuple[api.Place, str | None, str, api.Text]]:
    """Where parts were left unsolved by what a rule that is off would find: place, part, rule, words."""
    off = {rule for rule, level in rig.policy.levels.items() if level == "off"}
    if not off:
        return
    hidden = [fault for fault in rig.faults if fault.rule in off]
    if not rig.parts:
        # One visible fault explains a file that could not be solved at all.
        if len(hidden) == len(rig.faults):
            hidden = [fault for fault in hidden if fault.rule in _LEAVE_ALL] or hidden
            yield from (((f.file, f.span, f.route), f.part, f.rule, (f.message,)) for f in hidden[:1])
        return
    for fault in hidden:
        if not fault.route or fault.route[0] not in _WHERE_PARTS_ARE_SOLVED:
            yield (fault.file, fault.span, fault.route), fault.part, fault.rule, (fault.message,)
    if "drive-loop" in off:
        for ring in rig.train.loops:
            yield rig.place(ring[0]), rig.parts[ring[0]].name, "drive-loop", ("it drives itself",)
    if "shared-outlet" in off:
        for shared in rig.train.shared:
            name = rig.parts[shared.source].name
            words = (f"{name} drives another part already",)
            yield rig.place(shared.second), rig.parts[shared.second].name, "shared-outlet", words
    if "combiner-mismatch" in off:
        for number in rig.flows.mismatched:
            yield rig.place(number), rig.parts[number].name, "combiner-mismatch", ("its inlets differ in speed",)


def repairs(_: api.SolvedRig, __: api.Finding) -> Iterator[api.Offer]:
    """None that can be reckoned."""
    yield api.NoFix("nothing here is known to be wrong or right; what is missing is for whoever drew it to say")


RULE = api.Rule("not-judged", "note", check, repairs)
