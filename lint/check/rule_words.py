"""What several rules say alike: of parts over a limit, steps, what the catalogue offers, faults found while reading."""

from collections.abc import Mapping

from lineshaft.check.causes import causes
from lineshaft.check.finding import Cause, Measure, Place, Reported, Text, litres, report, speed, times, torque
from lineshaft.check.rounding_up import rounded_up
from lineshaft.schema.model.catalogue import Grade
from lineshaft.schema.model.rig import Part, Step
from lineshaft.schema.read.part_reader import limits_of
from lineshaft.schema.text.fault import Fault
from lineshaft.solve.limits import over, speed_carried, torque_carried
from lineshaft.solve.link import Link
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.start_up import Breach, Quantity
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
    """The weakest grade that stands what the part carries, or the stage that would lower it enough."""
    part = rig.parts[breach.part]
    grades = ((_limits(rig, part, grade)[breach.quantity], grade.name) for grade in grades_that_stand(rig, breach.part))
    fits = [(limit, name) for limit, name in grades if limit is not None]
    graded: Text = ()
    if fits:
        limit, name = min(fits)
        graded = (f"grade {name} stands it (", sign_of(breach, limit), ")")
    if part.item.kind == "prime-mover":  # nothing stands above it
        return graded or ("another prime mover, or one that gives less",)
    verb = "an increasing" if breach.quantity == "torque" else "a reducing"
    return (*graded, *(("; or ",) if graded else ()), *stage_of(rig, breach.times_limit, verb, " above it"))


def _limits(rig: SolvedRig, part: Part, grade: Grade) -> Mapping[Quantity, float | None]:
    """What a part may carry in a grade of its item [N*m, rad/s]; the item's own limits come first."""
    _, torque_limit, speed_limit = limits_of(rig.catalogue, part.item, grade.name)
    return {"torque": torque_limit, "speed": speed_limit}


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


def grades_that_stand(rig: SolvedRig, part: int) -> tuple[Grade, ...]:
    """The grades of ``grades_of`` in which a part would be within both its limits; all where it is not solved."""
    made, flows = rig.parts[part], rig.flows
    if not flows.solved[part]:
        return grades_of(rig, part)
    carried = {"torque": torque_carried(flows, part), "speed": speed_carried(flows, part)}
    return tuple(
        grade
        for grade in grades_of(rig, part)
        if all(limit is None or not over(carried[key], limit) for key, limit in _limits(rig, made, grade).items())
    )


def stage_of(rig: SolvedRig, needed: float, verb: str, where: str = "") -> Text:
    """Words for a stage of at least ``needed`` : 1; ``verb`` is `a reducing` or the like.

    No stage of the catalogue is named: only a proof tells whether it holds and serves, and a proved repair says so.
    """
    words: Text = (f"{verb} stage of at least ", times(rounded_up(needed)), f" : 1{where}")
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


def fault_report(fault: Fault) -> Reported:
    """What is said of a fault, at its own place."""
    because = tuple(Cause(r.file, r.span, None, (r.message,)) for r in fault.related)
    place = (fault.file, fault.span, fault.route)
    said = report(place, fault.part, (fault.message,), (), because, level="error")
    return said._replace(uses=fault.uses)
