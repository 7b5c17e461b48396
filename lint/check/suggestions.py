"""What the catalogue offers against a shortfall or an excess: the next ratio, the weakest grade that stands it."""

from lineshaft.check.finding import Measure, Text, times
from lineshaft.schema.model.catalogue import Grade
from lineshaft.schema.quantities.ratio import Ratio
from lineshaft.solve.limits import over
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.surplus import surplus_ratio


def next_ratio(rig: SolvedRig, needed: float) -> Ratio | None:
    """The smallest ratio of any stage in the catalogue that is at least ``needed``."""
    offered = [offer.ratio for item in rig.catalogue.items.values() for offer in item.ratios]
    enough = [ratio for ratio in offered if not over(needed, ratio.factor)]
    return min(enough, key=lambda ratio: ratio.value) if enough else None


def grades_of(rig: SolvedRig, part: int) -> tuple[Grade, ...]:
    """The grades that a part's item comes in."""
    known = rig.catalogue.grades
    return tuple(known[name] for name in rig.parts[part].item.grades if name in known)


def stage_of(rig: SolvedRig, needed: float, verb: str, where: str = "") -> Text:
    """Words for a stage of at least ``needed`` : 1 and the catalogue's next; ``verb`` is `a reducing` or the like."""
    words: Text = (f"{verb} stage of at least ", times(needed), f" : 1{where}")
    found = next_ratio(rig, needed)
    if found is None and surplus_ratio(rig.catalogue) is None:
        return (*words, "; the catalogue has no stage that changes speed, so it takes another item or prime mover")
    if found is None:
        return (*words, "; the catalogue has none as large, so take several in line")
    return (*words, f"; the catalogue's next is {found.text} : 1")


def grade_or_stage(
    rig: SolvedRig, fits: tuple[tuple[Measure, str], ...], needed: float, verb: str
) -> Text:
    """Words for the weakest grade in ``fits`` (limit and name), or else a stage above the part."""
    start: Text = ()
    if fits:
        limit, name = min(fits, key=lambda fit: (fit[0].value, fit[1]))
        start = (f"grade {name} stands it (", limit, "); or ")
    return (*start, *stage_of(rig, needed, f"an {verb}" if verb == "increasing" else f"a {verb}", " above it"))
