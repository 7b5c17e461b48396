"""The front: designs that no other beats in what they cost, in parts and in every machine's rate; which are shown."""

from collections.abc import Iterable, Sequence
from typing import Literal, NamedTuple

from lineshaft.design.proposal import Proposal
from lineshaft.solve.limits import EQUAL

MOST_SHOWN = 8
Kind = Literal["least cost", "fewest parts", "highest rates", "another way"]
"""What a design is shown for."""


class Shown(NamedTuple):
    """A design that is shown, and for what."""

    proposal: Proposal
    kinds: tuple[Kind, ...]


def beats(one: Proposal, other: Proposal) -> bool:
    """Whether a design is as good in cost, parts and every machine's rate, and better in one of them."""
    slack = EQUAL * max(1.0, abs(other.price))
    if one.price > other.price + slack or one.repair.parts_added > other.repair.parts_added:
        return False
    pairs = [(mine or 0.0, theirs or 0.0) for (_, mine), (_, theirs) in zip(one.rates, other.rates, strict=True)]
    if any(mine < theirs * (1 - EQUAL) for mine, theirs in pairs):
        return False
    cheaper = one.price < other.price - slack or one.repair.parts_added < other.repair.parts_added
    return cheaper or any(mine > theirs * (1 + EQUAL) for mine, theirs in pairs)


def front(found: Iterable[Proposal]) -> list[Proposal]:
    """Those that none of the others beats, cheapest first; of equals the first."""
    kept: list[Proposal] = []
    for proposal in sorted(found, key=_cheapest):
        if any(beats(other, proposal) or _equal(other, proposal) for other in kept):
            continue
        kept = [other for other in kept if not beats(proposal, other)]
        kept.append(proposal)
    return kept


def shown(found: Iterable[Proposal]) -> tuple[Shown, ...]:
    """At most eight of the front: least cost, fewest parts, highest rates, the cheapest of each other way, the rest.

    Highest are the rates of the first machine, then of the second: the order in the file is that of importance.
    """
    kept = front(found)
    kept = [one for one in kept if not _for_nothing(one, kept)]
    if not kept:
        return ()
    first: list[tuple[Kind, Proposal]] = [
        ("least cost", kept[0]),
        ("fewest parts", min(kept, key=lambda one: (one.repair.parts_added, one.price))),
        ("highest rates", max(kept, key=lambda one: ([round(rate or 0.0, 9) for _, rate in one.rates], -one.price))),
    ]
    chosen: list[Proposal] = []
    for _, proposal in first:
        if not _among(proposal, chosen):
            chosen.append(proposal)
    ways = {proposal.topology for proposal in chosen}
    for proposal in kept:
        if proposal.topology not in ways:
            ways.add(proposal.topology)
            chosen.append(proposal)
    chosen += [proposal for proposal in kept if not _among(proposal, chosen)]
    return tuple(
        Shown(one, tuple(kind for kind, best in first if best is one) or ("another way",))
        for one in chosen[:MOST_SHOWN]
    )


def _for_nothing(proposal: Proposal, others: Sequence[Proposal]) -> bool:
    """Whether a design gears up and down again where one of no more cost has fewer parts: nobody builds that."""
    parts = proposal.repair.parts_added
    return proposal.detour and any(
        other.price <= proposal.price and other.repair.parts_added < parts for other in others if not other.detour
    )


def _among(proposal: Proposal, chosen: Sequence[Proposal]) -> bool:
    return any(one is proposal for one in chosen)


def _cheapest(one: Proposal) -> tuple[float, int, list[float], int]:
    return round(one.price, 9), one.repair.parts_added, [-(rate or 0.0) for _, rate in one.rates], len(one.text)


def _equal(one: Proposal, other: Proposal) -> bool:
    return (
        not beats(one, other)
        and not beats(other, one)
        and _cheapest(one)[:2] == _cheapest(other)[:2]
        and all(
            abs((a or 0.0) - (b or 0.0)) <= EQUAL * max(1.0, a or 0.0)
            for (_, a), (_, b) in zip(one.rates, other.rates, strict=True)
        )
    )
