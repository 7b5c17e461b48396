"""The designs of a wish: what is looked for, in which order, and how the search ended."""

from typing import NamedTuple

from lineshaft.check.finding import Text, times
from lineshaft.design.alone import alone, sized_alone
from lineshaft.design.asked import Asked
from lineshaft.design.front import Shown, shown
from lineshaft.design.proposal import changed_lines
from lineshaft.design.search import DesignSearch
from lineshaft.design.wish import MOST_MACHINES, MOST_SOURCES, Wish, lack_of_power
from lineshaft.repair.proof.context import RepairContext
from lineshaft.repair.size_reasons import why_none
from lineshaft.schema.model.stock import Inventory
from lineshaft.schema.text.text import SourceText


class Designs(NamedTuple):
    """What was found: the designs to show; whether there is nothing cheaper and none of fewer parts; why there is none.

    ``raised``: whether no rate can be higher with those of the machines before it.
    """

    wish: Wish
    shown: tuple[Shown, ...]
    complete: bool
    raised: bool = True
    reason: Text = ()
    stock: Inventory | None = None


def designs_of(context: RepairContext, wish: Wish, asked: Asked) -> Designs:
    """Every design that is worth to be shown, within the bounds."""
    beyond = _beyond_bounds(wish)
    if beyond:
        return Designs(wish, (), False, False, beyond)
    lack = lack_of_power(context.rig, wish)
    if lack is not None:
        return Designs(wish, (), True, True, lack)
    search = DesignSearch(context, wish, asked)
    search.run()
    found = list(search.proved)
    why: Text = ()
    if len(wish.machines) == 1 and len(wish.sources) == 1:
        machine, source = wish.machines[0], wish.sources[0]
        sizing = sized_alone(context, machine, source)
        # By the whole bill, batches rounded: what the search orders by is never more than that.
        more = alone(context, sizing, machine, source, asked.stock)
        found += [one for one in more if asked.allows(one.price, one.repair.parts_added, one.owned)]
        why = () if sizing.found else why_none(context.rig, sizing)
    if found:
        return Designs(wish, shown(found), search.complete, search.raised, (), asked.stock)
    return Designs(wish, (), search.complete, True, why or search.reason())


def rewritten(found: Designs, source: SourceText) -> Designs:
    """The same designs with edits of another text than that of the wish: of the file that the wish was made of."""
    kept = []
    for one in found.shown:
        edits = changed_lines(source, one.proposal.text)
        repair = one.proposal.repair._replace(edits=edits)
        kept.append(one._replace(proposal=one.proposal._replace(repair=repair)))
    return found._replace(shown=tuple(kept))


def _beyond_bounds(wish: Wish) -> Text:
    """That a wish is larger than what is designed at once; nothing where it is not."""
    for many, most, what in (
        (len(wish.machines), MOST_MACHINES, "machines that nothing drives"),
        (len(wish.sources), MOST_SOURCES, "free outlets"),
    ):
        if many > most:
            return (
                "stopped at its bound: a design is for up to ", times(most), f" {what}, and there are ", times(many),
                "; design the most important ones first, in a file that has no others",
            )  # fmt: skip
    return ()
