"""What a step of a checklist does to the rig, in words and as a table on the terminal."""

from collections.abc import Iterable

from lineshaft.report_model.record import CheckStep
from lineshaft.write.page import ENDLESS, Page
from lineshaft.write.shown_units import Units, figures, words
from lineshaft.write.table import Cell, Toned, table

_NAMED = 4  # parts that begin to turn at a step and are named; the rest is counted


def steps_table(steps: Iterable[CheckStep], units: Units, page: Page = ENDLESS, *, checklist: bool = False) -> str:
    """What to do and where, what then turns, the worst share of a limit; with boxes to tick in a ``checklist``."""
    listed = list(steps)
    placed = any(step.at is not None for step in listed)
    head = ("step", "do", *(("at",) if placed else ()), "begins to turn", "worst share of limit")
    tick = "[ ] " if checklist else ""
    rows: list[list[Cell]] = []
    for step in listed:
        at = [at_words(step)] if placed else []
        rows.append([f"{tick}{step.number}", words(step.does, units), *at, turns_words(step), _worst(step)])
    return table(head, rows, frozenset(), page)


def _worst(step: CheckStep) -> Cell:
    said = worst_words(step)
    return Toned(said, "error") if step.over else said


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
    said = f"{figures(step.share * 100)} % at {step.worst}"
    return f"{said}: OVER" if step.over else said


def _names(parts: tuple[str, ...]) -> str:
    named = ", ".join(parts[:_NAMED])
    return f"{named} and {len(parts) - _NAMED} more" if len(parts) > _NAMED else named
