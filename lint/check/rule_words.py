"""What several rules say alike: parts over a limit, steps, what the catalogue offers, faults found while reading."""

from collections.abc import Iterator

from lineshaft.check.causes import causes
from lineshaft.check.finding import Cause, Measure, Place, Reported, Text, litres, report, speed, times, torque
from lineshaft.schema.model.catalogue import Grade, Item
from lineshaft.schema.model.rig import Part, Step
from lineshaft.solve.limits import over
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.start_up import Breach, Link, Quantity
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


def over_limit(rig: SolvedRig, quantity: Quantity) -> Iterator[Reported]:
    """One finding for each part whose torque, or speed, is over its limit in the rig as declared."""
    flows = rig.flows
    inlet, outlet = (
        (flows.torque_in, flows.torque_out) if quantity == "torque" else (flows.speed_in, flows.speed_out)
    )
    for number, part in enumerate(rig.parts):
        limit = _limit(part, quantity)
        if limit is not None and flows.solved[number]:
            breach = Breach(number, quantity, inlet[number], outlet[number], limit)
            if over(breach.carried, limit):
                message, values = _carries(breach), load_values(rig, breach)
                yield report(rig.place(number), part.name, message, values, causes(rig, number), _less(rig, breach))


def _limit(of: Part | Item | Grade, quantity: Quantity) -> float | None:
    return of.torque_limit if quantity == "torque" else of.speed_limit


def _less(rig: SolvedRig, breach: Breach) -> Text:
    """The weakest grade that stands it, or the stage that would lower it enough."""
    limits = [(_limit(grade, breach.quantity), grade.name) for grade in grades_of(rig, breach.part)]
    known = ((limit, name) for limit, name in limits if limit is not None)
    fits = tuple((sign_of(breach, limit), name) for limit, name in known if not over(breach.carried, limit))
    graded = _limit(rig.parts[breach.part].item, breach.quantity) is None
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
    offered = [offer.ratio.factor for item in rig.catalogue.items.values() for offer in item.ratios]
    if surplus_ratio(rig.catalogue) is None:
        return (*words, "; the catalogue has no stage that changes speed, so it takes another item or prime mover")
    if all(over(needed, ratio) for ratio in offered):
        return (*words, "; the catalogue has none as large, so several in line")
    return words


def grade_or_stage(
    rig: SolvedRig, fits: tuple[tuple[Measure, str], ...], needed: float, verb: str
) -> Text:
    """Words for the weakest grade in ``fits`` (limit and name), or else a stage above the part."""
    start: Text = ()
    if fits:
        limit, name = min(fits, key=lambda fit: (fit[0].value, fit[1]))
        start = (f"grade {name} stands it (", limit, "); or ")
    return (*start, *stage_of(rig, needed, f"an {verb}" if verb == "increasing" else f"a {verb}", " above it"))


def faults_of(rig: SolvedRig, rule: str) -> Iterator[Reported]:
    """The faults that ``rule`` owns, each once."""
    for fault in dict.fromkeys(rig.faults):
        if fault.rule == rule:
            because = tuple(Cause(r.file, r.span, None, (r.message,)) for r in fault.related)
            place = (fault.file, fault.span, fault.route)
            said = report(place, fault.part, (fault.message,), (), because, level="error")
            yield said._replace(uses=fault.uses)
