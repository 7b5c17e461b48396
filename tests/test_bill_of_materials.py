"""The bill by hand: batches over the whole rig, shared and deep components, goods that cost nothing."""

from array import array
from pathlib import Path

from lineshaft.bill_of_materials import Bill, bill, difference, worth_each
from lineshaft.schema.model.catalogue import Catalogue, Item, OfferedRatio
from lineshaft.schema.model.component import Component
from lineshaft.schema.model.rig import Part
from lineshaft.schema.quantities.ratio import Ratio
from lineshaft.schema.text.text import SourceText
from lineshaft.schema.text.tree import Tree

_ZERO = array("I", [0])
_TREE = Tree(SourceText(Path("x"), "x", ""), None, _ZERO, _ZERO, array("I", [1]))


def _catalogue(components: dict[str, tuple[dict[str, int], int]], raw: dict[str, float]) -> Catalogue:
    made = {name: Component(name, goods, yields) for name, (goods, yields) in components.items()}
    return Catalogue(_TREE, "", "", (), {}, {}, {}, made, raw)


def _part(**goods: int) -> Part:
    return Part("p", Item("i", "shaft", made_of=goods), _TREE)


def test_batches_are_rounded_over_the_whole_rig() -> None:
    """Three parts with 3 gears each need 9 gears: 2 makings of 8 and 2 * 5 plates, not 3 makings and 15."""
    catalogue = _catalogue({"gear": ({"plate": 5}, 8)}, {"plate": 2.0})
    assert bill([_part(gear=3)] * 3, catalogue) == Bill((("plate", 10),), (("gear", 9, 2),), 20.0)


def test_a_full_batch_is_not_rounded_further() -> None:
    """8 gears are one making, 9 are two; so is it with whole numbers past what a float can tell apart."""
    catalogue = _catalogue({"gear": ({"plate": 1}, 8)}, {"plate": 0.0})
    assert bill([_part(gear=8)], catalogue).making == (("gear", 8, 1),)
    assert bill([_part(gear=9)], catalogue).making == (("gear", 9, 2),)
    large = 8 * 10**17 + 1
    assert bill([_part(gear=large)], catalogue).making == (("gear", large, 10**17 + 1),)


def test_shared_components_are_summed_at_every_level() -> None:
    """A pair takes 2 gears, a box 1 pair and 3 gears: 1 box and 1 pair need 2 pairs and 7 gears, one making of 8.

    The catalogue lists them in the wrong order; the gears are rounded once all that take gears are known.
    """
    components = {"gear": ({"plate": 5}, 8), "pair": ({"gear": 2, "bar": 1}, 1), "box": ({"pair": 1, "gear": 3}, 1)}
    found = bill([_part(box=1), _part(pair=1)], _catalogue(components, {"plate": 1.0, "bar": 0.5}))
    assert found.raw == (("bar", 2), ("plate", 5))
    assert sorted(found.making) == [("box", 1, 1), ("gear", 7, 1), ("pair", 2, 2)]
    assert found.worth == 6.0


def test_deep_components() -> None:
    """5,000 levels that take one of the next each end in one plate, without a limit of the call stack."""
    components = {f"c{n}": ({f"c{n + 1}" if n < 4999 else "plate": 1}, 1) for n in range(5000)}
    found = bill([_part(c0=1)], _catalogue(components, {"plate": 3.0}))
    assert found.raw == (("plate", 1),)
    assert len(found.making) == 5000
    assert found.worth == 3.0


def test_items_without_made_of_cost_nothing() -> None:
    """A part without made-of adds nothing; a bill of nothing is empty and worth 0."""
    catalogue = _catalogue({}, {"plate": 1.0})
    assert bill([_part()], catalogue) == bill([], catalogue) == Bill((), (), 0.0)


def test_the_version_with_the_part_s_ratio_counts() -> None:
    """75/15 and 5 are one ratio: 2 plates; 3 is another: 1 plate."""
    five, three = Ratio((5, 1), "75/15", 5.0), Ratio((3, 1), "3", 3.0)
    item = Item("s", "gear-stage", ratios=(OfferedRatio(three, {"plate": 1}), OfferedRatio(five, {"plate": 2})))
    catalogue = _catalogue({}, {"plate": 1.0})
    part = Part("p", item, _TREE, ratio=Ratio((5, 1), "5", 5.0))
    assert bill([part], catalogue).raw == (("plate", 2),)
    assert bill([part._replace(ratio=three)], catalogue).raw == (("plate", 1),)


def test_difference_adds_and_saves() -> None:
    """From 3 plates, 1 bar and 2 pegs to 1 plate, 1 bar and 4 oil: less 2 plates and 2 pegs, 4 oil more."""
    before = Bill((("bar", 1), ("peg", 2), ("plate", 3)), (), 10.0)
    after = Bill((("bar", 1), ("oil", 4), ("plate", 1)), (), 7.5)
    assert difference(before, after) == ((("oil", 4), ("peg", -2), ("plate", -2)), -2.5)


def test_a_worth_past_every_float_ranks_last() -> None:
    """1e400 plates are worth more than any float: infinite, not an error."""
    assert bill([_part(plate=10**400)], _catalogue({}, {"plate": 1.0})).worth == float("inf")


def test_worth_each_counts_fractions_of_batches() -> None:
    """3 gears of 8 a making, 5 plates a making worth 2 each: 3/8 of 10 is 3.75; the bill of one part rounds to 10."""
    catalogue = _catalogue({"gear": ({"plate": 5}, 8)}, {"plate": 2.0})
    assert worth_each({"gear": 3}, catalogue) == 3.75
    assert bill([_part(gear=3)], catalogue).worth == 10.0
