"""Start-up lists of seeded rigs, put out of order, against the same lists gone through state by state."""

from collections.abc import Callable, Mapping, Sequence
from random import Random
from typing import Any

from independent.start_up_by_state import EQUAL, Moment, Step, moments, troubles
from rig_maker import GeneratedRig, make_rig
from rig_maker.plan import PlannedPart
from rig_maker.render import render

from lineshaft.solve.commissioning import commissioning_of
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.step_states import StepState, step_states

Given = Callable[[Mapping[str, str], str], SolvedRig]
"""Solves a rig from texts."""


def compared(seed: int, given: Given) -> tuple[str, str]:
    """What there is in the list of a seed, and what the program says otherwise of it."""
    made, steps, circuits = disordered(seed)
    rig = given({"made.rig.yaml": made.text, made.catalogue: made.catalogue_text}, "made.rig.yaml")
    names = [part.name for part in rig.parts]
    differs: list[str] = []
    states = list(step_states(rig.train))
    if len(states) != len(steps):
        return "broken", f"{len(states)} states of {len(steps)} steps"
    expected = list(moments(made.plan, steps))
    for number, (before, after, state) in enumerate(zip(expected, expected[1:], states, strict=False), 1):
        differs += [f"step {number}: {words}" for words in _apart(made.plan, names, before, after, state)]
    found, said = troubles(made.plan, steps, circuits), commissioning_of(rig)
    wrong = {(names[turn.stage], turn.step.number if turn.step else None) for turn in said.wrong_turns}
    dry = {(names[turn.stage], turn.step.number if turn.step else None) for turn in said.dry_turns}
    otherwise = {(names[each.part], str(each.what)) for each in said.differences}
    worst = {names[part]: load.breach.times_limit for part, load in said.worst.items()}
    for what, ours, theirs in (
        ("turns the wrong way", wrong, found.wrong),
        ("turns dry", dry, found.dry),
        ("is left otherwise", otherwise, found.otherwise),
        ("breaks", set(worst), set(found.worst)),
    ):
        differs += [f"{each} {what} in one of them alone" for each in sorted(map(str, ours ^ theirs))]
    differs += [
        f"{name} is {times} times over at worst against {found.worst[name]}"
        for name, times in worst.items()
        if name in found.worst and abs(times - found.worst[name]) > EQUAL * times
    ]
    return "broken" if any(found) else "sound", "; ".join(differs[:3])


def _apart(
    plan: Sequence[PlannedPart], names: Sequence[str], before: Moment, after: Moment, state: StepState
) -> list[str]:
    """What is otherwise with one state: what begins and ceases to turn, what breaks, the largest share of a limit."""
    turns, stops = ({names[n] for n in numbers} for numbers in (state.turns, state.stops))
    found = [f"{name} begins to turn in one of them alone" for name in turns ^ (after.turning - before.turning)]
    found += [f"{name} ceases to turn in one of them alone" for name in stops ^ (before.turning - after.turning)]
    found += [f"{state.turning} turn against {len(after.turning)}"] * (state.turning != len(after.turning))
    shares = after.shares(plan)
    over = {(names[breach.part], str(breach.quantity)) for breach in state.over}
    expected = {key for key, share in shares.items() if share > 1 + EQUAL}
    fresh = {key for key in expected if after.carried[key[0]] != before.carried[key[0]]}
    found += [f"{' of '.join(key[::-1])} is over in one of them alone" for key in (over - expected) | (fresh - over)]
    most = max(shares.values(), default=0.0)
    if abs(state.share - most) > EQUAL * most:
        found.append(f"the largest share is {state.share} against {most}")
    return found


def disordered(seed: int) -> tuple[GeneratedRig, list[Step], Mapping[str, Any]]:
    """A clean rig whose list is put out of order: steps left out, exchanged, undone; circuits that have no charge."""
    rng = Random(f"start-up/{seed}")
    made = make_rig(seed, 4 + seed % 37)
    written = [step for step in made.data["commissioning"] if rng.random() > 0.12] or made.data["commissioning"]
    written += [_more(part, rng) for part in made.plan if rng.random() < 0.15 and part.kind != "driven-machine"]
    if rng.random() < 0.6:
        for _ in range(rng.randint(1, 6)):
            one, other = rng.randrange(len(written)), rng.randrange(len(written))
            written[one], written[other] = written[other], written[one]
    elif rng.random() < 0.5:
        rng.shuffle(written)
    for circuit in made.data.get("lubrication", {}).values():
        if rng.random() < 0.4:
            circuit["tank"]["charge"] = "0 L"
    made.data["commissioning"] = written
    again = GeneratedRig(render(made.data), made.catalogue_text, made.plan, made.data, made.catalogue)
    return again, [_read(step) for step in written], made.data.get("lubrication", {})


def _more(part: PlannedPart, rng: Random) -> dict[str, Any]:
    """A step for a part that its clean list does not have."""
    if part.kind == "prime-mover":
        return {rng.choice(("stop", "start")): part.name}
    if part.ratio is not None:
        return {"set": {"part": part.name, "to": rng.choice(("reduce", "increase"))}}
    if part.kind == "clutch":
        return {rng.choice(("engage", "disengage")): part.name}
    return {"couple": part.name}


def _read(step: Mapping[str, Any]) -> Step:
    (kind, what), *_ = step.items()
    return Step(kind, what["part"], what.get("to")) if isinstance(what, dict) else Step(kind, what)
