"""The commissioning list as a checklist: what each step does, what then turns, how near to a limit that comes."""

from collections.abc import Iterator

from lineshaft.check.finding import Measure, Text, litres, times
from lineshaft.report_model.record import Checklist, CheckStep
from lineshaft.schema.model.rig import Step
from lineshaft.solve.drivetrain import Drivetrain
from lineshaft.solve.safe_list import Impassable, SafeList, safe_list
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.step_states import StepState, step_states


def check_steps(train: Drivetrain) -> tuple[CheckStep, ...]:
    """The steps of a drivetrain's list, each with the state after it."""
    return tuple(_steps(train))


def checklist(rig: SolvedRig) -> Checklist:
    """The rig's own list as written; where it has none, a safe one, or why there cannot be one."""
    if rig.rig.has_commissioning:
        return Checklist(check_steps(rig.train), False)
    proposed = safe_list(rig.train, rig.flows)
    if isinstance(proposed, SafeList):
        return Checklist(check_steps(proposed.train), True)
    return Checklist((), True, why_impassable(rig, proposed))


def why_impassable(rig: SolvedRig, impassable: Impassable) -> Text:
    """Why no order of the steps is safe."""
    name = rig.parts[impassable.part].name
    if impassable.breach is None or impassable.step is None:
        return (f"{name} cannot be solved; see `lineshaft check {rig.file}`",)
    breach, step = impassable.breach, impassable.step
    unit = "N*m" if breach.quantity == "torque" else "rad/s"
    verb = "carries" if breach.quantity == "torque" else "turns at"
    return (
        f"with all set as declared, step {impassable.number} ({step.kind} {rig.parts[step.part].name}) ",
        f"cannot be passed: {name} {verb} ",
        Measure(breach.carried, unit),
        ", its limit is ",
        Measure(breach.limit, unit),
        " (",
        times(breach.times_limit),
        " times)",
    )


def _steps(train: Drivetrain) -> Iterator[CheckStep]:
    for state in step_states(train):
        if state.step is not None:
            yield _check_step(train, state.step, state)


def _check_step(train: Drivetrain, step: Step, state: StepState) -> CheckStep:
    parts = train.parts
    return CheckStep(
        step.number,
        _does(train, step),
        parts[step.part].at,
        tuple(parts[n].name for n in state.turns),
        tuple(parts[n].name for n in state.stops),
        state.turning,
        None if state.worst is None else parts[state.worst].name,
        state.share,
        bool(state.over),
        tuple((parts[breach.part].name, breach.times_limit) for breach in state.over),
        parts[step.part].name,
        step.kind == "fill",
    )


def _does(train: Drivetrain, step: Step) -> Text:
    part = train.parts[step.part]
    if step.kind == "set":
        return (f"set {part.name} to {step.to}",)
    if step.kind == "fill":
        need = part.item.lubricant
        kind = f" of {need.kind}" if need is not None else ""
        return (f"fill {part.name} with ", litres(step.amount), kind)
    return (f"{step.kind} {part.name}",)
