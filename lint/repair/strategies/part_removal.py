"""Parts taken out and the line closed behind them; open ends and parts that nothing drives."""

from collections.abc import Iterator

from lineshaft.bill_of_materials import goods_of
from lineshaft.check.finding import Finding
from lineshaft.repair.strategies.draft import Draft
from lineshaft.repair.strategies.line_draft import redirected, reference
from lineshaft.repair.strategies.proposal import Proposal, StrategyContext
from lineshaft.repair.strategies.stock import divides
from lineshaft.schema.model.rig import Part
from lineshaft.solve.solved_rig import SolvedRig


def take_out(strategy_context: StrategyContext, numbers: tuple[int, ...]) -> Iterator[Proposal]:
    """Parts out of their line, what they drove driven by what drove them."""
    draft = without_parts(Draft(strategy_context.rig), set(numbers))
    if draft is not None:
        names = " and ".join(strategy_context.rig.parts[n].name for n in numbers)
        yield _priced(strategy_context, draft, f"take {names} out", "take-out", numbers[0])


def close_end(strategy_context: StrategyContext, finding: Finding, number: int) -> Iterator[Proposal]:
    """An open end drives a part that nothing drives; or it goes, back to where its line branches off."""
    rig = strategy_context.rig
    outlet = _open_outlet(rig, finding, number)
    found = []
    for other, part in enumerate(rig.parts):
        if other != number and _undriven(part):
            found.append(_connect(strategy_context, other, (number, outlet)))
    dangling: set[int] = set()
    here, way = number, outlet
    while not rig.parts[here].outlets and len(rig.parts[here].inlets) == 1:
        dangling.add(here)
        here, way = rig.parts[here].inlets[0]
    if rig.parts[here].item.kind == "splitter":
        found += list(_without_share(strategy_context, here, way, dangling))
    yield from sorted(found, key=lambda p: (p.worth, p.added))


def drive_part(strategy_context: StrategyContext, number: int) -> Iterator[Proposal]:
    """A part that nothing drives is driven by an open end, or goes where nothing hangs on it."""
    rig = strategy_context.rig
    found = []
    for other, part in enumerate(rig.parts):
        if part.item.kind == "driven-machine" or other == number or not rig.flows.solved[other]:
            continue
        for outlet in range(len(part.outlets) or 1):
            if (other, outlet) not in rig.train.driven:
                found.append(_connect(strategy_context, number, (other, outlet)))
    if not rig.train.below(number):
        found += list(take_out(strategy_context, (number,)))
    yield from sorted(found, key=lambda p: (p.worth, p.added))


def without_parts(draft: Draft, gone: set[int]) -> Draft | None:
    """A draft with parts taken out and what they drove driven from above; none where nothing is left above."""
    rig = draft.rig
    draft.gone |= gone
    for number, part in enumerate(rig.parts):
        if number in gone:
            above = _above(rig, (number, 0), gone)
            if above is not None:
                draft.leads.update(redirected(rig, number, reference(rig, above)))
            continue
        for inlet, outlet in enumerate(part.inlets):
            above = _above(rig, outlet, gone)
            if above is None:
                return None
            if above != outlet:
                draft.inlets[number, inlet] = reference(rig, above)
    return draft


def _above(rig: SolvedRig, outlet: tuple[int, int], gone: set[int]) -> tuple[int, int] | None:
    """The outlet that is left above one, itself where its part stays; none where a branching goes."""
    while outlet[0] in gone:
        if len(rig.parts[outlet[0]].inlets) != 1:
            return None
        outlet = rig.parts[outlet[0]].inlets[0]
    return outlet


def _without_share(
    strategy_context: StrategyContext, splitter: int, outlet: int, dangling: set[int]
) -> Iterator[Proposal]:
    """A splitter without one of its outlets: out altogether where it had two, else with one fewer."""
    rig, part = strategy_context.rig, strategy_context.rig.parts[splitter]
    names = [rig.parts[n].name for n in sorted(dangling)]
    if len(part.outlets) == 2:
        draft = without_parts(Draft(rig), dangling | {splitter})
        if draft is not None:
            title = f"take {' and '.join([part.name, *names])} out: all goes to {part.outlets[1 - outlet]}"
            yield _priced(strategy_context, draft, title, "take-out", splitter)
        return
    left = [(name, w) for k, (name, w) in enumerate(zip(part.outlets, part.shares, strict=True)) if k != outlet]
    for item in rig.catalogue.items.values():
        if item.kind != "splitter" or not divides(item, [weight for _, weight in left]):
            continue
        if item.chooses_grade and item.name != part.item.name:
            continue
        draft = Draft(rig, gone=set(dangling))
        draft.settings[splitter, "shares"] = "{" + ", ".join(f"{name}: {weight:g}" for name, weight in left) + "}"
        if item.name != part.item.name:
            draft.settings[splitter, "item"] = item.name
            draft.items[splitter] = item
        title = f"take {part.name}.{part.outlets[outlet]} out"
        title += "" if item.name == part.item.name else f", {part.name} as {item.name}"
        yield _priced(strategy_context, draft, title, "share", splitter)


def _connect(strategy_context: StrategyContext, number: int, outlet: tuple[int, int]) -> Proposal:
    rig = strategy_context.rig
    draft = Draft(rig, inlets={(number, 0): reference(rig, outlet)})
    title = f"drive {rig.parts[number].name} by {reference(rig, outlet)}"
    return Proposal(0.0, 0, title, frozenset({("connect", number)}), draft)


def _open_outlet(rig: SolvedRig, finding: Finding, number: int) -> int:
    """The outlet that a finding is about: the share it stands at, or the only one."""
    outlets = rig.parts[number].outlets
    return outlets.index(str(finding.route[-1])) if finding.route and finding.route[-1] in outlets else 0


def _undriven(part: Part) -> bool:
    return not part.inlets and not part.faulty and part.item.kind not in ("prime-mover", "combiner")


def _priced(strategy_context: StrategyContext, draft: Draft, title: str, trait: str, where: int) -> Proposal:
    """A draft of removals and other items as a proposal."""
    parts = strategy_context.rig.parts
    fewer = [goods_of(parts[n]) for n in (*draft.gone, *draft.items)]
    more = [item.made_of for item in draft.items.values()]
    worth = strategy_context.prices.added(more, fewer)
    return Proposal(worth, -len(draft.gone), title, frozenset({(trait, where)}), draft)
