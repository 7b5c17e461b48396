"""A stage that needs lubricant turns with none.

What: at its first turn under power the stage was neither filled, nor is a circuit that feeds it charged, nor did the
circuit's press turn already in the state before. Without a commissioning list everything starts at once.

Why: a dry stage seizes within moments of its start, long before a tank could be seen to be empty.

How to repair: a `fill` step before the stage first turns, or a charge in the tank of its circuit; or start the press
first, where it does not hang on the stage itself.

Source: fill before the first turn: API RP 686, *Recommended Practice for Machinery Installation and Installation
Design*, ch. 8 (its contents only were seen).
"""

from collections.abc import Iterator

from lineshaft.api import (
    Cause,
    DryTurn,
    Finding,
    Measure,
    Offer,
    Reported,
    Rule,
    SearchFor,
    SharedCause,
    SolvedRig,
    Text,
    commissioning_of,
    litres,
    litres_text,
    looped_stages,
    report,
    step_place,
    step_words,
)

_NO_LIST = SharedCause(
    "no start-up list and no circuit gives lubricant to",
    "a commissioning list that fills each of them before the start; `lineshaft commission` writes one",
)


def check(rig: SolvedRig) -> Iterator[Reported]:
    """One finding for each stage that turns dry; those of a circuit that can never start are told of there."""
    turns = commissioning_of(rig).dry_turns
    if not turns or any(fault.route[:1] == ("lubrication",) for fault in rig.faults):
        return
    looped = looped_stages(rig)
    feeding = {part: circuit.name for circuit in reversed(rig.rig.circuits) for part in circuit.feeds}
    for turn in turns:
        if turn.stage not in looped:
            yield _finding(rig, turn, feeding.get(turn.stage))


def _finding(rig: SolvedRig, turn: DryTurn, circuit: str | None) -> Reported:
    part = rig.parts[turn.stage]
    need = part.item.lubricant
    assert need is not None
    values = [("holds", litres(need.holds)), ("uses", Measure(need.uses, "L/s"))]
    because: tuple[Cause, ...] = ()
    start: Text = ("turns with no ",)
    if turn.step is not None:
        file, span, _ = step_place(turn.step)
        because = (Cause(file, span, None, (*step_words(rig, turn.step), " turns it")),)
        start = ("first turns at ", *step_words(rig, turn.step), " with no ")
    message = (*start, f"{need.kind}: it holds ", litres(need.holds), " and uses ", Measure(need.uses, "L/s"))
    suggestion = _suggestion(rig, turn, circuit)
    shared = None if rig.rig.has_commissioning or circuit is not None else _NO_LIST
    return report(rig.place(turn.stage), part.name, message, values, because, suggestion, shared=shared)


def _suggestion(rig: SolvedRig, turn: DryTurn, circuit: str | None) -> Text:
    """A fill step with an amount, or a charge in the tank of the first circuit that feeds it."""
    part = rig.parts[turn.stage]
    need = part.item.lubricant
    assert need is not None
    before = f" before step {turn.step.number}" if turn.step is not None else " before the start"
    fill: Text = (f"`fill: {{part: {part.name}, with: ", litres_text(need.holds), "}`" + before)
    return fill if circuit is None else (*fill, f", or a charge in the tank of {circuit}")


def repairs(_: SolvedRig, finding: Finding) -> Iterator[Offer]:
    """A fill before the start, or a safe list."""
    yield SearchFor("fill-first", (finding.part or "",))
    yield SearchFor("safe-list", ())


RULE = Rule("lubricant-missing", "error", check, repairs, local=True)
