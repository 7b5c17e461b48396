"""A stage turns under power before it is set to the direction it is meant to have.

What: a stage's wanted direction (`set`) is not the one it is delivered with, and no `set` step puts it right before the
stage first turns under power. Without a commissioning list the rig is looked at as delivered, all of it started at
once. It is an error where that state takes a part over a limit, else a warning. A blueprint judged alone is started at
the edge of what its inlets promise, all at once after its own steps: a warning where no list of its own sets the stage,
since the rig's list may, an error where its list leaves it wrong.

Why: a stage left reducing where it should increase gives i² times the torque that was reckoned with, the other way
round i² times the speed; what stands below it breaks in the first moment.

How to repair: a `set` step before the step that starts or couples it; `lineshaft commission` writes a list in a safe
order. What stands in a placed blueprint is set by the rig's own list, as `set: {part: leg/step, to: increase}`.

Source: check the direction before coupling: API RP 686, *Recommended Practice for Machinery Installation and
Installation Design*, ch. 9 (its contents only were seen). Ratios: Budynas & Nisbett, *Shigley's Mechanical
Engineering Design*, ch. 13.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api

_NO_LIST = (
    "no start-up list sets the direction of",
    "a commissioning list that sets each of them before the start; `lineshaft commission` writes one",
)


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding for each stage that first turns with the wrong direction."""
    for turn in api.commissioning_of(rig).wrong_turns:
        yield _finding(rig, turn)


def _finding(rig: api.SolvedRig, turn: api.WrongTurn) -> api.Reported:
    stage = rig.parts[turn.stage]
    wanted = stage.direction or "reduce"
    actual = "reduce" if wanted == "increase" else "increase"
    given: api.Text = (api.torque(turn.torque_out), " at ", api.speed(turn.speed_out))
    values: list[tuple[str, api.Measure]] = [
        ("torque_out", api.torque(turn.torque_out)),
        ("speed_out", api.speed(turn.speed_out)),
    ]
    because: tuple[api.Cause, ...] = api.passing_causes(rig, turn.chain)
    message: api.Text = (*_when(rig, turn, actual, wanted), *given)
    if turn.breach is not None:
        message = (*message, "; ", *api.breach_words(rig, turn.breach))
        values += api.breach_values(turn.breach)
        because = (*because, api.breach_cause(rig, turn.breach, turn.chain[-1]))
    return api.report(
        _place(rig, turn),
        stage.name,
        message,
        values,
        because,
        _suggestion(rig, turn, wanted),
        level=_level(rig, turn),
        shared=None if turn.step is not None or _has_list(rig, turn.stage) else api.SharedCause(*_NO_LIST),
    )


def _level(rig: api.SolvedRig, turn: api.WrongTurn) -> api.Level:
    if rig.rig.placed.alone:
        return "error" if _has_list(rig, turn.stage) else "warning"
    return "error" if turn.breach is not None else "warning"


def _has_list(rig: api.SolvedRig, stage: int) -> bool:
    """Whether the file that a stage is written in, or one that places it, has a commissioning list."""
    part = rig.parts[stage]
    trees = (part.tree, *(use.tree for use in part.uses))
    return any(isinstance(tree.data, dict) and "commissioning" in tree.data for tree in trees)


def _last_set(rig: api.SolvedRig, stage: int) -> api.Step | None:
    """The step of a blueprint's own list that leaves a stage as it is when all is started."""
    return next((step for step in reversed(rig.rig.steps) if step.kind == "set" and step.part == stage), None)


def _place(rig: api.SolvedRig, turn: api.WrongTurn) -> api.Place:
    step = _last_set(rig, turn.stage) if turn.step is None and rig.rig.placed.alone else turn.step
    return rig.setting(turn.stage, "set") if step is None else api.step_place(step)


def _when(rig: api.SolvedRig, turn: api.WrongTurn, actual: str, wanted: str) -> api.Text:
    if rig.rig.placed.alone and _has_list(rig, turn.stage):
        step = _last_set(rig, turn.stage)
        what = "its list does not set it" if step is None else f"its list sets it to {actual}"
        return (f"is meant to {wanted}, and {what}: started at the edge of what the inlets promise it gives ",)
    if turn.step is None:
        return (f"is meant to {wanted}, is delivered to {actual}, and no list sets it: as delivered it gives ",)
    return (
        "first turns at ",
        *api.step_words(rig, turn.step),
        f" still set to {actual}, meant to {wanted}: it gives ",
    )


def _suggestion(rig: api.SolvedRig, turn: api.WrongTurn, wanted: str) -> api.Text:
    entry = f"`set: {{part: {rig.parts[turn.stage].name}, to: {wanted}}}`"
    if rig.rig.placed.alone:
        where = "last in its commissioning list" if _has_list(rig, turn.stage) else "in a commissioning list here"
        return (f"{entry} {where}, or before the start in the list of each rig that uses it",)
    if turn.step is None:
        # Told in the names of the file that the stage is written in, which are not those of the rig's list.
        here = " here, or in the rig's by the name that the part has there" if rig.parts[turn.stage].uses else ""
        return (f"{entry} in a commissioning list{here}, before the start; `lineshaft commission` writes one",)
    return (f"{entry} before step {turn.step.number}",)


def repairs(_: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """The direction set before the start, or a safe list."""
    yield api.SearchFor("set-first", (finding.part or "",))
    yield api.SearchFor("safe-list", ())


RULE = api.Rule("direction-before-commissioning", "error", check, repairs, local=True)
