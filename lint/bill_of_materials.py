"""Items, raw goods, batches and worth: what a rig is made of, exploded through every component.

A making of a component may yield several: what is left over of a batch serves the whole rig, so needs are summed over
the rig before they are rounded up to whole makings.
"""

import math
from collections import Counter
from collections.abc import Iterable
from decimal import Decimal
from typing import NamedTuple

from lineshaft.schema.model.catalogue import Catalogue, Goods
from lineshaft.schema.model.rig import Part, Rig


class Bill(NamedTuple):
    """Raw goods by name; for each component how many are needed and how many makings that takes; worth in all.

    Components stand before what they are made of.
    """

    raw: tuple[tuple[str, int], ...]
    making: tuple[tuple[str, int, int], ...]
    worth: float


class ItemCount(NamedTuple):
    """So many parts of one item, in one ratio (as written) and of one grade where it has them."""

    item: str
    ratio: str | None
    grade: str | None
    number: int


def items_of(parts: Iterable[Part]) -> tuple[ItemCount, ...]:
    """What stands in a rig, the most first; of equally many by name, so that no order of the file counts."""
    counted: Counter[tuple[str, str, str]] = Counter(
        (part.item.name, part.ratio.text if part.ratio else "", part.grade.name if part.grade else "")
        for part in parts
        if part.item.name
    )
    rows = sorted(counted.items(), key=lambda row: (-row[1], row[0]))
    return tuple(ItemCount(item, ratio or None, grade or None, count) for (item, ratio, grade), count in rows)


def lubricants_of(rig: Rig) -> tuple[tuple[str, float], ...]:
    """What is poured in before the first turn [L]: charges of circuits, and what the start-up list fills; by name."""
    volumes: dict[str, float] = {}
    for circuit in rig.circuits:
        volumes[circuit.lubricant] = volumes.get(circuit.lubricant, 0.0) + circuit.charge
    for step in rig.steps:
        need = rig.parts[step.part].item.lubricant
        if step.kind == "fill" and need is not None:
            volumes[need.kind] = volumes.get(need.kind, 0.0) + step.amount
    return tuple(sorted((name, volume) for name, volume in volumes.items() if volume))


def goods_of(part: Part) -> Goods:
    """What one part is made of directly: the version with its ratio, where its item comes in ratios."""
    if part.ratio is not None:
        for offer in part.item.ratios:
            if offer.ratio.terms == part.ratio.terms:
                return offer.made_of
    return part.item.made_of


def goods_of_all(parts: Iterable[Part]) -> "Counter[str]":
    """What some parts are made of directly, by number."""
    found: Counter[str] = Counter()
    for part in parts:
        for name, count in goods_of(part).items():
            found[name] += count
    return found


def bill(parts: Iterable[Part], catalogue: Catalogue) -> Bill:
    """The bill of some parts. Items without `made-of` cost nothing; the catalogue has no component in a circle."""
    return bill_of_goods(goods_of_all(parts), catalogue)


def bill_of_goods(goods: Goods, catalogue: Catalogue) -> Bill:
    """The bill of goods by number, components among them, each batch rounded up over all of them together."""
    needed = Counter(goods)
    making: list[tuple[str, int, int]] = []
    for name in before_their_goods(catalogue):
        count = needed.pop(name, 0)
        if count:
            component = catalogue.components[name]
            makings = -(-count // component.yields)  # rounded up in whole numbers: a float loses units
            making.append((name, count, makings))
            for good, number in component.made_of.items():
                needed[good] += number * makings
    raw = tuple(sorted((name, count) for name, count in needed.items() if count))
    return Bill(raw, tuple(making), worth_of(raw, catalogue))


def worth_each(goods: Goods, catalogue: Catalogue) -> float:
    """What some goods are worth, fractions of batches counted as such: all parts together never exceed their bill."""
    needed: dict[str, float] = dict(goods)
    for name in before_their_goods(catalogue):
        count = needed.pop(name, 0.0)
        if count:
            component = catalogue.components[name]
            for good, number in component.made_of.items():
                needed[good] = needed.get(good, 0.0) + number * count / component.yields
    return math.fsum(catalogue.raw.get(name, 0.0) * count for name, count in needed.items())


def difference(before: Bill, after: Bill) -> tuple[tuple[tuple[str, int], ...], float]:
    """What a change adds in raw goods (negative: saves), and in worth."""
    old, new = dict(before.raw), dict(after.raw)
    changes = ((name, new.get(name, 0) - old.get(name, 0)) for name in sorted({*old, *new}))
    return tuple((name, change) for name, change in changes if change), after.worth - before.worth


def worth_of(raw: Iterable[tuple[str, int]], catalogue: Catalogue) -> float:
    """What some raw goods are worth; infinite where a count is past the largest float, so that it ranks last.

    Reckoned in decimals, as the catalogue writes them: three of 5.8 are 17.4, not the double above it.
    """
    try:
        return float(sum(Decimal(repr(catalogue.raw.get(name, 0.0))) * count for name, count in raw))
    except ArithmeticError:
        return math.inf


def before_their_goods(catalogue: Catalogue) -> list[str]:
    """The components in an order in which each stands before what it is made of."""
    order: list[str] = []
    seen: set[str] = set()
    for start in catalogue.components:
        stack = [(start, False)]
        while stack:
            name, done = stack.pop()
            if done:
                order.append(name)
            elif name not in seen:
                seen.add(name)
                stack.append((name, True))
                inner = catalogue.components[name].made_of
                stack += [(good, False) for good in inner if good in catalogue.components]
    return order[::-1]
