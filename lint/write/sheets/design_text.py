"""The designs of a wish side by side, as a table on a terminal."""

from collections.abc import Iterator

from lineshaft.check.finding import seconds
from lineshaft.design.front import Shown
from lineshaft.design.plan import Designs
from lineshaft.design.wish import source_words
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.write.cautions import cautions_on
from lineshaft.write.page import ENDLESS, Page
from lineshaft.write.shown_units import Units, figures, measure, words
from lineshaft.write.table import table


def design_text(rig: SolvedRig, found: Designs, units: Units, page: Page = ENDLESS) -> str:
    """What is to be served, the designs as columns of one table, and how the search ended."""
    wish = found.wish
    names = ", ".join(rig.parts[machine.part].name for machine in wish.machines)
    gives = "; ".join(words(source_words(rig, source), units) for source in wish.sources)
    text = page.paragraph(f"To be driven: {names}. {gives}.")
    if not found.shown:
        return text + page.paragraph(f"No design: {words(found.reason, units)}.")
    stocked = found.shown[0].proposal.owned is not None
    head = ["design", "shown for", "cost", *(["to get"] if stocked else []), "parts"]
    head += [f"{name}, an hour" for name, _ in found.shown[0].proposal.rates]
    rows = [_row(number, one, stocked, units) for number, one in enumerate(found.shown, 1)]
    right = frozenset({2, 3, *((4,) if stocked else ())} | {n for n in range(len(head)) if n > 3})
    text += f"\n{table([*head, 'least margin', 'lubricant lasts'], [[*row] for row in rows], right, page)}\n"
    for number, one in enumerate(found.shown, 1):
        text += page.paragraph(one.proposal.title, f"{number}  ", "   ")
        text += "".join(page.paragraph(line, "   ", "     ") for line in _goods(one))
    judged = "Each was written out, loaded, solved, started step by step and judged by every rule and the policy."
    text += f"\n{page.paragraph(judged)}{page.paragraph(_ended(found))}"
    return text + (f"\n{cautions_on(page)}" if rig.policy.cautions else "")


def _ended(found: Designs) -> str:
    if not found.complete:
        return "The search stopped at its bound: there may be cheaper ones, or ones of fewer parts."
    rates = "" if found.raised else " The rates were raised until the search stopped at its bound."
    return f"None within the bounds is cheaper than the cheapest, or has fewer parts than the one of fewest.{rates}"


def _row(number: int, one: Shown, stocked: bool, units: Units) -> Iterator[str]:
    proposal = one.proposal
    yield str(number)
    yield ", ".join(one.kinds)
    yield figures(proposal.repair.worth)
    if stocked and proposal.owned is not None:
        yield figures(proposal.owned.worth)
    yield f"{proposal.repair.parts_added:+d}" if proposal.repair.parts_added else "0"
    for _, rate in proposal.rates:
        yield "-" if rate is None else figures(rate)
    yield "-" if proposal.margin is None else f"{figures(proposal.margin)} times"
    yield "-" if proposal.lasts is None else measure(seconds(proposal.lasts), units)


def _goods(one: Shown) -> Iterator[str]:
    goods = ", ".join(f"{count:+d} {name}" for name, count in one.proposal.repair.bill)
    if goods:
        yield f"takes {goods}"
    owned = one.proposal.owned
    if owned is not None:
        lacking = ", ".join(f"{count} {name}" for name, count in owned.lacking)
        yield f"to get for the whole rig: {lacking}" if lacking else "all of it is there, or is made of what is there"
