"""A stage that needs lubricant turns with none.

What: at its first turn under power the stage was neither filled, nor is a circuit that feeds it charged, nor did the
circuit's press turn already in the state before. Without a commissioning list everything starts at once.

Why: a dry stage seizes within moments of its start, long before a tank could be seen to be empty.

How to repair: a `fill` step before the stage first turns, or a charge in the tank of its circuit; or start the press
first, where it does not hang on the stage itself.

Source: fill before the first turn: API RP 686, *Recommended Practice for Machinery Installation and Installation
Design*, ch. 8 (its contents only were seen).
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api

_NO_LIST = (
    "no start-up list and no circuit gives lubricant to",
    "a commissioning list that fills each of them before the start; `lineshaft commission` writes one",
)


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each stage that turns dry; those of a circuit that can never start are told of there."""
    turns = api.commissioning_of(rig).dry_turns
    if not turns or any(fault.route[:1] == ("lubrication",) for fault in rig.faults):
        return
    looped = api.looped_stages(rig)
    feeding = {part: circuit.name for circuit in reversed(rig.rig.circuits) for part in circuit.feeds}
    for turn in turns:
        if turn.stage not in looped:
            yield _finding(rig, turn, feeding.get(turn.stage))


def _finding(rig: api.SolvedRig, turn: api.DryTurn, circuit: str | None) -> api.Reported:
    part = rig.parts[turn.stage]
    need = part.item.lubricant
    assert need is not None
    values = [("holds", api.litres(need.holds)), ("uses", api.Measure(need.uses, "L/s"))]
    because: tuple[api.Cause, ...] = ()
    start: api.Text = ("turns with no ",)
    if turn.step is not None:
        file, span, _ = api.step_place(turn.step)
        because = (api.Cause(file, span, None, (*api.step_words(rig, turn.step), " turns it")),)
        start = ("first turns at ", *api.step_words(rig, turn.step), " with no ")
    message = (*start, f"{need.kind}: it holds ", api.litres(need.holds), " and uses ", api.Measure(need.uses, "L/s"))
    suggestion = _suggestion(rig, turn, circuit)
    shared = None if rig.rig.has_commissioning or circuit is not None else api.SharedCause(*_NO_LIST)
    return api.report(rig.place(turn.stage), part.name, message, values, because, suggestion, shared=shared)


def _suggestion(rig: api.SolvedRig, turn: api.DryTurn, circuit: str | None) -> api.Text:
    """A fill step with an amount, or a charge in the tank of the first circuit that feeds it."""
    part = rig.parts[turn.stage]
    need = part.item.lubricant
    assert need is not None
    before = f" before step {turn.step.number}" if turn.step is not None else " before the start"
    fill: api.Text = (f"`fill: {{part: {part.name}, with: ", api.litres_text(need.holds), "}`" + before)
    return fill if circuit is None else (*fill, f", or a charge in the tank of {circuit}")


def repairs(_: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """A fill before the start, or a safe list."""
    yield api.SearchFor("fill-first", (finding.part or "",))
    yield api.SearchFor("safe-list", ())


RULE = api.Rule("lubricant-missing", "error", check, repairs, local=True)
