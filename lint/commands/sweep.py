"""``lineshaft sweep``: one setting of a rig through a range: what happens first, and what the machines make."""

from collections.abc import Callable, Mapping

import click

from lineshaft.check.finding import Measure
from lineshaft.commands.one_rig import part_number, solved_rig
from lineshaft.commands.options import color_option, units_option
from lineshaft.commands.output import deliver, page, to_stdout
from lineshaft.commands.targets import targets_of
from lineshaft.exits import CannotDoError, Exit
from lineshaft.report_model.record import Sweep
from lineshaft.report_model.sweep import sweep
from lineshaft.report_model.swept_setting import Sweepable, sweepable
from lineshaft.schema.model.rig import Part
from lineshaft.schema.quantities.quantity import BadQuantity, QuantityKind, quantity, weight
from lineshaft.schema.quantities.ratio import ratio
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.write.plots.sweep_chart import sweep_svg
from lineshaft.write.shown_units import Units, axis, measure
from lineshaft.write.sweep_text import sweep_csv, sweep_json, sweep_text

WRITERS: Mapping[str, Callable[[Sweep, Units], bytes]] = {
    "csv": lambda found, _: sweep_csv(found),
    "json": lambda found, _: sweep_json(found),
    "svg": sweep_svg,
}
"""Format to writer; CSV and JSON are in SI whatever units people read."""
_OVER = "For example wheel.head=2m..12m; step.ratio for all ratios of its item, step.ratio=2..4 for some."
_KINDS: Mapping[str, QuantityKind] = {"m": "length", "N*m": "torque", "rad/s": "speed"}
_USAGE = "--over takes PART.SETTING=FROM..TO, for example wheel.head=2m..12m, or PART.ratio for all that there are"


@click.command("sweep")
@click.argument("rig", metavar="RIG")
@click.option("--over", required=True, metavar="PART.SETTING=FROM..TO", help=_OVER)
@click.option("--steps", type=click.IntRange(1, 1000), default=10, show_default=True, help="Steps from end to end.")
@click.option("--write", "writes", multiple=True, metavar="FORMAT=FILE", help="csv, json or svg; `-` is stdout.")
@units_option
@click.option("--debug", is_flag=True, hidden=True)
@color_option
def command(rig: str, over: str, steps: int, writes: tuple[str, ...], units: Units, debug: bool) -> int:
    """RIG with a prime mover's head, torque or speed, a splitter's share, or a stage's ratio through a range.

    A ratio goes through those that its item comes in, whatever --steps says.
    """
    targets = targets_of(writes, WRITERS)
    solved = solved_rig(rig)
    swept, low, high = _range(solved, over)
    values = [value for value in swept.offered if low <= value <= high] or _between(low, high, steps)
    found = sweep(solved, swept, values)
    # JSON and CSV stay as they are whatever people read; what these read holds where it says so in their own unit.
    _, factor = axis(swept.setting.unit, units)
    for_people = found if factor == 1 else sweep(solved, swept, values, factor)
    for name, target in targets:
        deliver(WRITERS[name](for_people if name == "svg" else found, units), target)
    if not to_stdout(targets):
        click.echo(sweep_text(for_people, units, page()), nl=False)
    return Exit.CLEAN


def _range(rig: SolvedRig, over: str) -> tuple[Sweepable, float, float]:
    """What --over says. Raises CannotDoError where it names nothing that can be swept, or a range that cannot be."""
    setting, equals, ends = over.partition("=")
    name, dot, key = setting.rpartition(".")
    low_text, dots, high_text = ends.partition("..")
    whole = not equals and key == "ratio"
    if not dot or not (whole or (equals and dots)):
        raise click.UsageError(f"{_USAGE}; got {over!r}")
    part = rig.parts[part_number(rig, name)]
    offered = sweepable(part)
    swept = next((one for one in offered if one.setting.key == key), None)
    if swept is None:
        can = ", ".join(f"{name}.{one.setting.key}" for one in offered) or _where(rig)
        raise CannotDoError(f"{name} has nothing called {key!r} to sweep; what can be swept: {can}")
    if swept.offered:
        return _ratios(part, swept, None if whole else (low_text, high_text))
    low, high = (_value(text, swept.setting.unit) for text in (low_text, high_text))
    if not low < high:
        raise CannotDoError(f"the range {ends!r} does not rise: write the smaller value first")
    if (swept.least is not None and low < swept.least) or (swept.most is not None and high > swept.most):
        ends = " to ".join(measure(Measure(end or 0.0, swept.setting.unit)) for end in (swept.least, swept.most))
        raise CannotDoError(f"the table of {part.item.name} goes from {ends}; outside it nothing is known")
    return swept, low, high


def _ratios(part: Part, swept: Sweepable, ends: tuple[str, str] | None) -> tuple[Sweepable, float, float]:
    """The least and the greatest ratio of a sweep. Raises CannotDoError where fewer than two offered ones lie there."""
    low, high = swept.offered[0], swept.offered[-1]
    if ends is not None:
        low, high = (_ratio(text) for text in ends)
    if sum(low <= value <= high for value in swept.offered) < 2:
        there = ", ".join(offer.ratio.text for offer in part.item.ratios)
        raise CannotDoError(f"{part.item.name} comes in {there}: a sweep takes two of these or more, the smaller first")
    return swept, low, high


def _ratio(text: str) -> float:
    value = ratio(text)
    if isinstance(value, BadQuantity):
        raise CannotDoError(f"--over: {value.message}")
    return value.factor


def _between(low: float, high: float, steps: int) -> list[float]:
    return [low + (high - low) * step / steps for step in range(steps)] + [high]


def _where(rig: SolvedRig) -> str:
    """The first settings of the rig that can be swept."""
    found = [f"{one.setting.part}.{one.setting.key}" for part in rig.parts for one in sweepable(part)]
    return ", ".join(found[:6]) or "nothing in this rig"


def _value(text: str, unit: str) -> float:
    kind = _KINDS.get(unit)
    value = weight(text) if kind is None else quantity(text.strip(), kind)
    if isinstance(value, BadQuantity):
        raise CannotDoError(f"--over: {value.message}")
    return value
