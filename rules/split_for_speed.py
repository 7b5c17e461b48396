"""A splitter is used where the speed is the problem.

What: below a splitter, with no gear stage between, a part is over its speed limit or a machine short of speed; or the
splitter says `purpose: raise-speed`.

Why: splitting divides torque, never speed: each outlet turns as fast as the inlet. It costs torque and cures nothing.

How to repair: a stage of the ratio needed in place of the splitter, or behind it; reducing where a part turns too fast,
increasing where a machine turns too slowly.

Source: common practice, no source (shafts geared 1 : 1 from one inlet turn at one speed).
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding a splitter, about the worst part below it."""
    for number, part in enumerate(rig.parts):
        if part.item.kind != "splitter" or not rig.flows.solved[number] or rig.flows.speed_in[number] <= 0:
            continue
        worst = _worst(rig, number)
        if worst is not None or part.purpose == "raise-speed":
            yield _finding(rig, number, worst)


def _worst(rig: api.SolvedRig, splitter: int) -> tuple[int, float, float] | None:
    """The part below (no stage between) that most needs another speed: it, the speed it may or must have, ratio."""
    found: list[tuple[float, int, float]] = []
    for number in rig.train.below_all(splitter, lambda number: number == splitter or _hands_on(rig, number)):
        part = rig.parts[number]
        if number == splitter or not _turns_alike(rig, number):
            continue
        carried, limit, needed = api.speed_carried(rig.flows, number), part.speed_limit, part.item.needs.speed
        if limit is not None and api.over(carried, limit):
            found.append((carried / limit, -number, limit))
        if needed is not None and api.short(carried, needed):
            found.append((needed / carried, -number, needed))
    if not found:
        return None
    ratio, number, wanted = max(found)
    return -number, wanted, ratio


def _turns_alike(rig: api.SolvedRig, number: int) -> bool:
    return bool(rig.flows.solved[number]) and rig.flows.speed_in[number] > 0 and rig.parts[number].ratio is None


def _hands_on(rig: api.SolvedRig, number: int) -> bool:
    """Whether the same speed goes on below; a splitter below answers for what hangs on it."""
    return _turns_alike(rig, number) and rig.parts[number].item.kind != "splitter"


def _finding(rig: api.SolvedRig, number: int, worst: tuple[int, float, float] | None) -> api.Reported:
    part = rig.parts[number]
    before, after = rig.flows.speed_in[number], rig.flows.speed_out[number]
    values: list[tuple[str, api.Measure]] = [("speed_before", api.speed(before)), ("speed_after", api.speed(after))]
    message: list[str | api.Measure] = [
        "splitting divides torque, never speed: ",
        api.speed(before),
        " in, ",
        api.speed(after),
        " on each outlet",
    ]
    because: tuple[api.Cause, ...] = api.causes(rig, number)
    suggestion: tuple[str | api.Measure, ...] = (
        "an increasing stage raises the speed; a splitter only takes torque away",
    )
    if worst is not None:
        below, wanted, ratio = worst
        name = rig.parts[below].name
        too_fast = rig.flows.speed_in[below] > wanted
        values.append(("speed_limit" if too_fast else "speed_needed", api.speed(wanted)))
        values.append(("ratio_needed", api.times(ratio)))
        message += [f"; {name} {'may turn at' if too_fast else 'needs'} ", api.speed(wanted)]
        because = (*because, api.cause(rig, below, ("turns at ", api.speed(rig.flows.speed_in[below]))))
        suggestion = api.stage_of(rig, ratio, "a reducing" if too_fast else "an increasing")
    place = rig.setting(number, "shares") if worst is not None or part.purpose is None else None
    return api.report(
        place or rig.setting(number, "purpose"),
        part.name,
        message,
        values,
        because,
        suggestion,
    )


def repairs(rig: api.SolvedRig, finding: api.Finding) -> Iterator[api.Offer]:
    """The stage that the splitter stands for; where nothing below is wrong, the purpose said as it is."""
    worst = _worst(rig, rig.rig.index[finding.part or ""])
    if worst is None:  # told at its purpose
        yield api.Fix("say what it does: distribute", (api.Edit(finding.file, finding.span, "distribute"),))
        return
    below = rig.parts[worst[0]]
    too_fast = below.speed_limit is not None and api.over(api.speed_carried(rig.flows, worst[0]), below.speed_limit)
    yield api.SearchFor("hold-speed" if too_fast else "serve-machine", (below.name,))
    yield api.NoFix("splitting the line never helps: it divides torque and leaves the speed as it is")


RULE = api.Rule("split-for-speed", "warning", check, repairs, local=True)
