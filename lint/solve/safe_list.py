"""A safe order to put a rig to work, simulated before anybody sees it; or the state that cannot be passed, and why.

The order: fill, set, couple and engage from the machines back towards the prime movers, then start. It follows
published start-up practice (lubricant before the first turn, direction before coupling, the prime mover uncoupled
while others work at the line): API RP 686, ch. 8 and 9, whose contents only were seen.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import NamedTuple

from lineshaft.schema.model.catalogue import Direction
from lineshaft.schema.model.rig import Part, Step, StepKind
from lineshaft.solve.drivetrain import Drivetrain
from lineshaft.solve.limits import over
from lineshaft.solve.start_up import Breach, before_first_step
from lineshaft.solve.steady_state import Flows


class ListedStep(NamedTuple):
    """A step to write: its kind, part (index), direction for `set`, litres for `fill`."""

    kind: StepKind
    part: int
    to: Direction | None = None
    amount: float = 0.0


class SafeList(NamedTuple):
    """Steps that pass no state over a limit, and the drivetrain with these steps in place of its own."""

    steps: tuple[ListedStep, ...]
    train: Drivetrain


class Impassable(NamedTuple):
    """The state that no order avoids: after ``step`` the part of ``breach`` is over its limit.

    Both are none where ``part`` cannot be solved, so that no state below it is known. ``steps`` is the list that is
    safe but for states that the declared rig is over a limit in anyway.
    """

    part: int
    step: ListedStep | None = None
    number: int | None = None
    breach: Breach | None = None
    steps: tuple[ListedStep, ...] = ()


def safe_list(train: Drivetrain, declared: Flows) -> SafeList | Impassable:
    """A list in a safe order for the rig as declared (``declared`` are its flows), or what makes it impossible.

    Every prime mover is started last, one by one: a state with some of them stopped never carries more than the
    declared one, so where a step is over a limit, every order is, at its end at the latest.
    """
    unsolved = next((n for n in range(len(train.parts)) if not declared.solved[n]), None)
    if unsolved is not None:
        return Impassable(unsolved)
    steps = tuple(_ordered(train))
    listed = with_steps(train, steps)
    brought = len(listed.rig.steps) - len(steps)
    for number, passage in enumerate(before_first_step(listed).passages(), start=1 - brought):
        if passage.over:  # never at what blueprints bring with them: nothing turns yet
            worst = min(passage.over, key=lambda b: (-round(b.times_limit, 9), b.part))
            return Impassable(worst.part, steps[number - 1], number, worst, steps)
    return SafeList(steps, listed)


def with_steps(train: Drivetrain, steps: Iterable[ListedStep]) -> Drivetrain:
    """The same drivetrain with another commissioning list, behind the steps that placed blueprints bring with them."""
    tree = train.rig.tree
    brought = brought_along(train)
    written = tuple(
        Step(len(brought) + at + 1, step.kind, step.part, tree, ("commissioning", at), step.to, step.amount)
        for at, step in enumerate(steps)
    )
    return train._replace(rig=replace(train.rig, steps=(*brought, *written), has_commissioning=True))


def brought_along(train: Drivetrain) -> tuple[Step, ...]:
    """The steps that placed blueprints bring with them; they run before the rig's own, and nothing turns yet."""
    return tuple(step for step in train.rig.steps if step.tree is not train.rig.tree)


def _ordered(train: Drivetrain) -> Iterator[ListedStep]:
    parts = train.parts
    from_machines = tuple(reversed(train.order))
    yield from _fills(train, from_machines)
    set_before = {step.part: step.to for step in brought_along(train) if step.kind == "set"}
    for n in from_machines:
        if parts[n].ratio is not None and parts[n].direction != set_before.get(n, parts[n].item.delivered):
            yield ListedStep("set", n, to=parts[n].direction)
    left = {step.part: step.kind for step in brought_along(train) if step.kind in ("engage", "disengage")}
    for n in from_machines:
        if parts[n].item.kind == "clutch" and parts[n].engaged:
            yield ListedStep("engage", n)
        elif left.get(n) == "engage":  # a blueprint's list closes what is declared open
            yield ListedStep("disengage", n)
        if _behind_prime_mover(parts, parts[n]):
            yield ListedStep("couple", n)
    for n, part in enumerate(parts):
        if part.item.kind == "prime-mover":
            yield ListedStep("start", n)


def _fills(train: Drivetrain, from_machines: tuple[int, ...]) -> Iterator[ListedStep]:
    """What the rig's own list fills, where there is room for it; else all a part holds, where no circuit has any."""
    oiled = _on_charged_circuits(train)
    written: dict[int, float] = {}
    for step in train.rig.steps:  # all but fills have an amount of 0
        written[step.part] = written.get(step.part, 0.0) + step.amount
    brought = {step.part for step in brought_along(train) if step.amount > 0}
    for n in from_machines:
        need = train.parts[n].item.lubricant
        if need is None or n in brought:
            continue
        amount = written.get(n, 0.0)
        if amount > 0 and not over(amount, need.holds):
            yield ListedStep("fill", n, amount=amount)
        elif n not in oiled:
            yield ListedStep("fill", n, amount=need.holds)


def _behind_prime_mover(parts: tuple[Part, ...], part: Part) -> bool:
    return any(parts[source].item.kind == "prime-mover" for source, _ in part.inlets)


def _on_charged_circuits(train: Drivetrain) -> set[int]:
    """The parts that a charged circuit feeds with the lubricant they take."""
    found = set()
    for circuit in train.rig.circuits:
        if circuit.charge > 0:
            for n in circuit.feeds:
                need = train.parts[n].item.lubricant
                if need is not None and need.kind == circuit.lubricant:
                    found.add(n)
    return found
