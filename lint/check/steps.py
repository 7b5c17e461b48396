"""Commissioning steps in words, and their places."""

from lineshaft.check.finding import Place, Text, litres
from lineshaft.schema.model.rig import Step
from lineshaft.solve.solved_rig import SolvedRig


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
