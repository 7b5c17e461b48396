"""What several rules say alike: of parts over a limit, steps, what the catalogue offers, faults found while reading."""

from lineshaft.check.causes import causes
from lineshaft.check.finding import Cause, Measure, Place, Reported, Text, litres, report, speed, times, torque
from lineshaft.schema.model.catalogue import Grade
from lineshaft.schema.model.rig import Step
from lineshaft.schema.text.fault import Fault
from lineshaft.solve.limits import limit_of, over
from lineshaft.solve.link import Link
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.start_up import Breach
from lineshaft.solve.surplus import surplus_ratio


def sign_of(breach: Breach, value: float) -> Measure:
    """A value in the unit of what is over its limit."""
    return torque(value) if breach.quantity == "torque" else speed(value)


def breach_words(rig: SolvedRig, breach: Breach) -> Text:
    """For example `rod carries 9 kN·m, may carry 1.2 kN·m: 7.5 times`."""
    return (f"{rig.parts[breach.part].name} ", *_carries(breach))


def _carries(breach: Breach) -> Text:
    verbs = ("carries", "may carry") if breach.quantity == "torque" else ("turns at", "may turn at")
    return (
        f"{verbs[0]} ",
        sign_of(breach, breach.carried),
        f", {verbs[1]} ",
        sign_of(breach, breach.limit),
        ": ",
        times(breach.times_limit),
        " times",
    )


def breach_values(breach: Breach) -> list[tuple[str, Measure]]:
    """The limit and how many times it is reached."""
    return [("limit", sign_of(breach, breach.limit)), ("times_limit", times(breach.times_limit))]


def load_values(rig: SolvedRig, breach: Breach) -> list[tuple[str, Measure]]:
    """What enters and leaves the part, of each end that it has; then the limit and how many times it is reached."""
    kind, values = rig.parts[breach.part].item.kind, breach_values(breach)
    if kind != "driven-machine":
        values.insert(0, (f"{breach.quantity}_out", sign_of(breach, breach.outlet)))
    if kind != "prime-mover":
        values.insert(0, (f"{breach.quantity}_in", sign_of(breach, breach.inlet)))
    return values


def breach_report(rig: SolvedRig, breach: Breach) -> Reported:
    """What is said of a part over its limit in the rig as declared."""
    said = _carries(breach), load_values(rig, breach), causes(rig, breach.part), _less(rig, breach)
    return report(rig.place(breach.part), rig.parts[breach.part].name, *said)


def _less(rig: SolvedRig, breach: Breach) -> Text:
    """The weakest grade that stands it, or the stage that would lower it enough."""
    limits = [(limit_of(grade, breach.quantity), grade.name) for grade in grades_of(rig, breach.part)]
    known = ((limit, name) for limit, name in limits if limit is not None)
    carried = breach.carried
    fits = tuple((sign_of(breach, limit), name) for limit, name in known if not over(carried, limit))
    graded = limit_of(rig.parts[breach.part].item, breach.quantity) is None
    verb = "increasing" if breach.quantity == "torque" else "reducing"
    return grade_or_stage(rig, fits if graded else (), breach.times_limit, verb)


def breach_cause(rig: SolvedRig, breach: Breach, link: Link) -> Cause:
    """The part that breaks, as the last link of the chain."""
    file, span, _ = rig.place(breach.part)
    values = (("torque", torque(link.torque)), ("speed", speed(link.speed)))
    return Cause(file, span, rig.parts[breach.part].name, _carries(breach), values)


def step_place(step: Step) -> Place:
    """File, span and route of a step."""
    return step.tree.source.shown, step.tree.span(step.route), step.route


def step_words(rig: SolvedRig, step: Step) -> Text:
    """A step as it is said, for example `step 3 (start wheel)`."""
    part = rig.parts[step.part].name
    head = f"step {step.number} ({step.kind} {part}"
    if step.kind == "set":
        return (f"{head} to {step.to})",)
    if step.kind == "fill":
        return (f"{head} with ", litres(step.amount), ")")
    return (f"{head})",)


def grades_of(rig: SolvedRig, part: int) -> tuple[Grade, ...]:
    """The grades that a part's item comes in and the policy allows."""
    known, forbidden = rig.catalogue.grades, rig.policy.forbidden_grades
    return tuple(known[name] for name in rig.parts[part].item.grades if name in known and name not in forbidden)


def stage_of(rig: SolvedRig, needed: float, verb: str, where: str = "") -> Text:
    """Words for a stage of at least ``needed`` : 1; ``verb`` is `a reducing` or the like.

    No stage of the catalogue is named: only a proof tells whether it holds and serves, and a proved repair says so.
    """
    words: Text = (f"{verb} stage of at least ", times(needed), f" : 1{where}")
    largest = rig.once(_largest_ratio)
    if largest is None:
        return (*words, "; the catalogue has no stage that changes speed, so it takes another item or prime mover")
    if over(needed, largest):
        return (*words, "; the catalogue has none as large, so several in line")
    return words


def _largest_ratio(rig: SolvedRig) -> float | None:
    """The largest ratio in which an item of the catalogue comes; none where no stage changes speed."""
    if surplus_ratio(rig.catalogue) is None:
        return None
    return max(offer.ratio.factor for item in rig.catalogue.items.values() for offer in item.ratios)


def grade_or_stage(
    rig: SolvedRig, fits: tuple[tuple[Measure, str], ...], needed: float, verb: str
) -> Text:
    """Words for the weakest grade in ``fits`` (limit and name), or else a stage above the part."""
    start: Text = ()
    if fits:
        limit, name = min(fits, key=lambda fit: (fit[0].value, fit[1]))
        start = (f"grade {name} stands it (", limit, "); or ")
    return (*start, *stage_of(rig, needed, f"an {verb}" if verb == "increasing" else f"a {verb}", " above it"))


def fault_report(fault: Fault) -> Reported:
    """What is said of a fault, at its own place."""
    because = tuple(Cause(r.file, r.span, None, (r.message,)) for r in fault.related)
    place = (fault.file, fault.span, fault.route)
    said = report(place, fault.part, (fault.message,), (), because, level="error")
    return said._replace(uses=fault.uses)
