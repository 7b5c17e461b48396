"""The state of a rig that its pictures show: as declared, or that of the start-up which is worse than all others."""

from typing import NamedTuple

from lineshaft.check.finding import Text
from lineshaft.schema.model.rig import Step
from lineshaft.solve.commissioning import commissioning_of
from lineshaft.solve.limits import over, worst_share
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.start_up import before_first_step
from lineshaft.solve.start_up_judge import PassingLoad
from lineshaft.solve.steady_state import Flows, Settings


class DrawnState(NamedTuple):
    """Torque and speed everywhere, and how all is set; ``when`` and ``words`` are empty for the declared rig."""

    flows: Flows
    settings: Settings
    when: str = ""
    words: Text = ()


def declared_state(rig: SolvedRig) -> DrawnState:
    """The rig as it is declared."""
    return DrawnState(rig.flows, rig.settings)


def worst_state(rig: SolvedRig) -> DrawnState | None:
    """The state of the start-up in which a part is furthest over its limit; none where all hold on the way."""
    worst = _worst(rig)
    if worst is None:
        return None
    start_up = before_first_step(rig.train)
    for passage in start_up.passages():
        if passage.step is worst.step:
            return DrawnState(start_up.flows(), start_up.settings, when_words(worst.step), _words(rig, worst.step))
    return None


def drawn_state(rig: SolvedRig) -> DrawnState:
    """What a drawing shows: the state in which a part is furthest over its limit; the declared one if none is."""
    worst = _worst(rig)
    if worst is not None:
        shares = (worst_share(part, n, rig.flows) for n, part in enumerate(rig.parts) if rig.flows.solved[n])
        if over(worst.breach.times_limit, max((share for share in shares if share is not None), default=0.0)):
            return rig.once(worst_state) or declared_state(rig)
    return declared_state(rig)


def when_words(step: Step | None) -> str:
    """When a part is over a limit on the way to work: at a step of the list, or as delivered where there is none."""
    return "as delivered" if step is None else f"at step {step.number}"


def _worst(rig: SolvedRig) -> PassingLoad | None:
    return max(commissioning_of(rig).worst.values(), key=lambda load: load.breach.times_limit, default=None)


def _words(rig: SolvedRig, step: Step | None) -> Text:
    if step is None:
        return ("as delivered, all started at once",)
    return (f"step {step.number} of the start-up, {step.kind} {rig.parts[step.part].name}",)
