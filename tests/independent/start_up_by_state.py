"""A start-up list gone through step by step: each state is built anew from the plan and asked part by part.

It shares nothing with the program: no state is carried over from step to step but the settings themselves, no order of
parts is made, and what a part carries is asked of what drives it, up to the prime movers.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from rig_maker.plan import PlannedPart
from rig_maker.stock import STAGE_OF

EQUAL = 1e-9
_AGREE = 1e-6


class Step(NamedTuple):
    """One step: what is done, to which part, and which direction it is set to."""

    kind: str
    part: str
    to: str | None = None


class Carried(NamedTuple):
    """What a part carries: the larger of inlet and outlet torque [N*m] and speed [rad/s], and what it hands on."""

    torque: float
    speed: float
    handed: float
    leaving: float


AT_REST = Carried(0.0, 0.0, 0.0, 0.0)


@dataclass(slots=True)
class Settings:
    """What a list changes: directions, and which parts are coupled, pass power on, run, and have been filled."""

    increasing: set[str]
    coupled: set[str]
    closed: set[str]
    running: set[str]
    filled: set[str] = field(default_factory=set)

    def take(self, step: Step) -> None:
        """Do what a step says."""
        match step.kind:
            case "set" if step.to == "increase":
                self.increasing.add(step.part)
            case "set":
                self.increasing.discard(step.part)
            case "couple":
                self.coupled.add(step.part)
            case "engage":
                self.closed.add(step.part)
            case "disengage":
                self.closed.discard(step.part)
            case "start":
                self.running.add(step.part)
            case "stop":
                self.running.discard(step.part)
            case "fill":
                self.filled.add(step.part)
            case _:
                raise ValueError(f"no step of a list: {step.kind}")


def as_declared(plan: Sequence[PlannedPart]) -> Settings:
    """The rig at work."""
    names = {part.name for part in plan}
    closed = {part.name for part in plan if part.settings.get("engaged", True)}
    return Settings({part.name for part in plan if part.direction == "increase"}, names, closed, names)


def before_first(plan: Sequence[PlannedPart], steps: Sequence[Step]) -> Settings:
    """Nothing runs; stages are as delivered, what is coupled later is uncoupled, clutches are as their first step
    leaves something to do."""
    found = as_declared(plan)
    delivered = {part.name for part in plan if part.ratio is not None and STAGE_OF[part.item].delivered == "increase"}
    coupled = {part.name for part in plan} - {step.part for step in steps if step.kind == "couple"}
    closed, seen = set(found.closed), set[str]()
    for step in steps:
        if step.kind in ("engage", "disengage") and step.part not in seen:
            seen.add(step.part)
            (closed.add if step.kind == "disengage" else closed.discard)(step.part)
    return Settings(delivered, coupled, closed, set())


def carried(plan: Sequence[PlannedPart], settings: Settings) -> dict[str, Carried | None]:
    """What every part carries; none where inlets of a combiner at or above it do not agree."""
    parts = {part.name: part for part in plan}
    found: dict[str, Carried | None] = {}

    def of(name: str) -> Carried | None:
        if name not in found:
            found[name] = _asked(parts[name])
        return found[name]

    def _asked(part: PlannedPart) -> Carried | None:
        if part.output is not None:
            return Carried(*part.output, *part.output) if part.name in settings.running else AT_REST
        above = [of(source) for source, _ in part.driven_by]
        if part.kind == "combiner" and part.name not in settings.coupled:
            return AT_REST
        if any(each is None for each in above):
            return None
        if part.name not in settings.coupled:
            return AT_REST
        arriving = [
            (each.handed * _share(parts[source], outlet), each.leaving)
            for each, (source, outlet) in zip(above, part.driven_by, strict=True)
            if each is not None and each.leaving > 0
        ]
        return _through(part, arriving, settings)

    return {name: of(name) for name in parts}


def _share(source: PlannedPart, outlet: str | None) -> float:
    weights = dict(source.shares)
    return weights[str(outlet)] / sum(weights.values()) if weights else 1.0


def _through(part: PlannedPart, arriving: Sequence[tuple[float, float]], settings: Settings) -> Carried | None:
    """A part's own law, for what arrives from inlets that turn."""
    if not arriving:
        return AT_REST
    fastest = max(speed for _, speed in arriving)
    if min(speed for _, speed in arriving) < fastest * (1 - _AGREE):
        return None
    largest, torque = max(torque for torque, _ in arriving), sum(torque for torque, _ in arriving)
    if part.kind == "driven-machine":
        return Carried(largest, fastest, 0.0, 0.0)
    if part.kind == "clutch" and part.name not in settings.closed:
        return Carried(0.0, fastest, 0.0, 0.0)
    factor = 1.0 if part.ratio is None else float(part.ratio)
    if part.name in settings.increasing:
        factor = 1 / factor
    handed, leaving = torque * part.efficiency * factor, fastest / factor
    strongest = max((_share(part, name) for name, _ in part.shares), default=1.0)
    return Carried(max(largest, handed * strongest), max(fastest, leaving), handed, leaving)


class Moment(NamedTuple):
    """After a step (none: as it was before the first): what is carried, and which parts turn."""

    step: Step | None
    carried: Mapping[str, Carried | None]

    @property
    def turning(self) -> set[str]:
        return {name for name, each in self.carried.items() if each is not None and each.speed > 0}

    def shares(self, plan: Sequence[PlannedPart]) -> dict[tuple[str, str], float]:
        """By part and quantity, how much of its limit it carries."""
        found = {}
        for part in plan:
            each = self.carried[part.name] or AT_REST
            if part.torque_limit is not None and each.speed > 0:
                found[part.name, "torque"] = each.torque / part.torque_limit
            if part.speed_limit is not None and each.speed > 0:
                found[part.name, "speed"] = each.speed / part.speed_limit
        return found


def moments(plan: Sequence[PlannedPart], steps: Sequence[Step]) -> Iterator[Moment]:
    """The state before the first step and that after each."""
    settings = before_first(plan, steps)
    yield Moment(None, carried(plan, settings))
    for step in steps:
        settings.take(step)
        yield Moment(step, carried(plan, settings))


class Troubles(NamedTuple):
    """What a list does wrong: stages that first turn wrongly or dry with the step's number (none: as declared alone),
    what it leaves otherwise than declared, and by part the largest multiple of a limit above what it carries anyway."""

    wrong: set[tuple[str, int | None]]
    dry: set[tuple[str, int | None]]
    otherwise: set[tuple[str, str]]
    worst: dict[str, float]


def troubles(plan: Sequence[PlannedPart], steps: Sequence[Step], circuits: Mapping[str, Any]) -> Troubles:
    """All of it, by its definition: ``circuits`` as the rig's file has them, charges as `12 L`."""
    wrong, dry, worst = set[tuple[str, int | None]](), set[tuple[str, int | None]](), dict[str, float]()
    wanted, settings, usual = as_declared(plan), before_first(plan, steps), carried(plan, as_declared(plan))
    thirsty = {part.name for part in plan if part.item in STAGE_OF and STAGE_OF[part.item].lubricant}
    turned, before = set[str](), set[str]()
    for number, moment in enumerate(moments(plan, steps)):
        if moment.step is not None:
            settings.take(moment.step)
        fresh = moment.turning - turned
        turned |= fresh
        wrong |= {(n, number) for n in fresh if (n in settings.increasing) != (n in wanted.increasing)}
        dry |= {(n, number) for n in fresh & thirsty if n not in settings.filled and not _oiled(n, circuits, before)}
        before = moment.turning
        for (name, quantity), share in moment.shares(plan).items():
            now, then = moment.carried[name] or AT_REST, usual[name] or AT_REST
            more = getattr(now, quantity) > getattr(then, quantity) * (1 + EQUAL)
            if share > 1 + EQUAL and more:
                worst[name] = max(worst.get(name, 0.0), share)
    turning = Moment(None, usual).turning
    everywhere = {part.name for part in plan}
    dry |= {
        (n, None)
        for n in (turning & thirsty) - turned
        if n not in settings.filled and not _oiled(n, circuits, everywhere)
    }
    return Troubles(wrong, dry, set(_otherwise(plan, settings, wanted)), worst)


def _oiled(name: str, circuits: Mapping[str, Any], turning: set[str]) -> bool:
    """Whether a circuit that feeds a stage is charged, or its press turned already."""
    fed = [circuit for circuit in circuits.values() if name in circuit["feeds"]]
    return any(float(c["tank"]["charge"].split()[0]) > 0 or c.get("supplied-by") in turning for c in fed)


def _otherwise(plan: Sequence[PlannedPart], now: Settings, wanted: Settings) -> Iterator[tuple[str, str]]:
    for part in plan:
        name = part.name
        if part.ratio is not None and (name in now.increasing) != (name in wanted.increasing):
            yield name, "direction"
        if part.kind == "clutch" and (name in now.closed) != (name in wanted.closed):
            yield name, "clutch"
        if part.kind == "prime-mover" and name not in now.running:
            yield name, "prime mover"
