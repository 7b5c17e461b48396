"""Two stages in line undo each other.

What: a stage is set against another of the same ratio above it, with nothing between but shafts, engaged clutches and
1 : 1 right-angle drives.

Why: what one gains the other gives back: two stages' goods, lubricant and losses for nothing.

How to repair: take both out, or set one of them the other way round if that is what was meant.

Source: the overall ratio of stages in line is the product of their ratios: Khurmi & Gupta, *Theory of Machines*,
ch. 13.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding a pair, at the lower stage."""
    for number, part in enumerate(rig.parts):
        if part.ratio is None or not part.ratio.changes or not rig.flows.solved[number]:
            continue
        above = _stage_above(rig, number)
        if above is None:
            continue
        other = rig.parts[above]
        if other.ratio is not None and other.ratio.terms == part.ratio.terms and other.direction != part.direction:
            message = (f"undoes {other.name}: {part.ratio.text} : 1 one way and back, so both are for nothing",)
            values = (("ratio", api.times(part.ratio.factor)),)
            suggestion = (f"take {other.name} and {part.name} out, or set one of them the other way round",)
            because = (api.cause(rig, above),)
            yield api.report(rig.place(number), part.name, message, values, because, suggestion)


def _stage_above(rig: api.SolvedRig, number: int) -> int | None:
    """The nearest stage up the line through parts that change neither torque nor speed."""
    here = number
    while len(rig.parts[here].inlets) == 1:
        here = rig.parts[here].inlets[0][0]
        part = rig.parts[here]
        if part.ratio is not None and part.ratio.changes:
            return here
        if not part.engaged or (part.ratio is None and part.item.kind not in ("shaft", "clutch", "right-angle")):
            return None
    return None


def repairs(rig: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """Both stages out, and the line closed behind them."""
    name = finding.part or ""
    above = _stage_above(rig, rig.rig.index[name])
    assert above is not None  # as the check found
    yield api.SearchFor("take-out", (rig.parts[above].name, name))


RULE = api.Rule("opposed-stages", "note", check, repairs, local=True)
