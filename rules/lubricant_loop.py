"""The press that makes a lubricant cannot turn before it has made it.

What: a circuit has no charge, its only source is a press, and the press is driven through a stage that the same circuit
feeds, which is neither filled nor fed by another circuit.

Why: the stage may not turn without lubricant, and there is none until it has turned. On paper the circuit balances; in
the works it never starts, or starts dry.

How to repair: charge the tank, or fill the stage, once; or drive the press past that stage.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api

_NAMED = 5  # stages that are named; the rest is counted


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each circuit that can never start."""
    if not rig.rig.circuits or any(fault.route[:1] in (("lubrication",), ("commissioning",)) for fault in rig.faults):
        return
    for loop in api.loops_of(rig.train):
        yield _finding(rig, loop)


def _finding(rig: api.SolvedRig, loop: api.Loop) -> api.Reported:
    circuit = rig.rig.circuits[loop.circuit]
    tree = rig.rig.tree
    press = rig.parts[loop.press].name
    stage = rig.parts[loop.stages[0]].name
    because = []
    for number in loop.stages:
        file, span, _ = rig.place(number)
        words = (f"takes its {circuit.lubricant} from {circuit.name}, and {press} hangs on it",)
        because.append(api.Cause(file, span, rig.parts[number].name, words))
    file, span, _ = rig.place(loop.press)
    because.append(api.Cause(file, span, press, (f"makes the {circuit.lubricant} of {circuit.name}",)))
    return api.report(
        (tree.source.shown, tree.key_span(circuit.route), circuit.route),
        press,
        (f"circuit {circuit.name} can never start: {press} hangs on {stage}, which it has to lubricate first",),
        (),
        because,
        (f"a charge in the tank of {circuit.name}, or a `fill` of {_all_of(rig, loop)} before the start",),
    )


def _all_of(rig: api.SolvedRig, loop: api.Loop) -> str:
    """All that the press hangs on: to fill one of two stages is not enough."""
    names = [rig.parts[number].name for number in loop.stages[:_NAMED]]
    more = f" and {len(loop.stages) - _NAMED} more" if len(loop.stages) > _NAMED else ""
    return f"{' and '.join(names)}{more}"


def repairs(_: api.SolvedRig, __: api.Finding) -> Iterator[api.Offer]:
    """A safe list, which fills what the press hangs on."""
    yield api.SearchFor("safe-list", ())


RULE = api.Rule("lubricant-loop", "error", check, repairs, local=True)
