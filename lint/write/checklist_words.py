"""What a step of a checklist does to the rig, in words, for a table on the terminal or in a report."""

from lineshaft.report_model.record import CheckStep
from lineshaft.write.shown_units import figures

_NAMED = 4  # parts that begin to turn at a step and are named; the rest is counted


def at_words(step: CheckStep) -> str:
    """Where the step's part stands."""
    return "" if step.at is None else ", ".join(figures(value) for value in step.at)


def turns_words(step: CheckStep) -> str:
    """What begins to turn, or stops."""
    if step.stops and not step.turns:
        return f"{_names(step.stops)} stop" + ("s" if len(step.stops) == 1 else "")
    return _names(step.turns) if step.turns else "nothing"


def worst_words(step: CheckStep) -> str:
    """The largest share of a limit in the state after the step, and where."""
    if step.worst is None:
        return "at rest" if not step.turning else "no limit"
    words = f"{figures(step.share * 100)} % at {step.worst}"
    return f"{words}: OVER" if step.over else words


def _names(parts: tuple[str, ...]) -> str:
    named = ", ".join(parts[:_NAMED])
    return f"{named} and {len(parts) - _NAMED} more" if len(parts) > _NAMED else named
