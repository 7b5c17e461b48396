"""Torque, speed, power and share of limit at each part of a rig, or along the chain that leads to one, as tables."""

from fractions import Fraction
from itertools import zip_longest
from math import isclose

from lineshaft.check.finding import Measure
from lineshaft.check.finding import speed as speed_of
from lineshaft.check.finding import torque as torque_of
from lineshaft.report_model.schematic import does
from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import EQUAL, speed_carried, torque_carried
from lineshaft.solve.lubricant_accounts import accounts
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.steady_state import Flows, outlet_torque
from lineshaft.write.shown_units import Units, duration, figures, measure, words
from lineshaft.write.table import table

_HEAD = ("part", "item", "does", "torque", "speed", "power", "of limit")
_RIGHT = frozenset({3, 4, 5, 6})
_LUBRICANT = ("name", "what", "lubricant", "charge", "supply", "use", "net", "time to dry", "charge alone")


def trace_text(rig: SolvedRig, units: Units) -> str:
    """A row a part, in the order of the file."""
    return table(_HEAD, [_row(rig, number, units) for number in range(len(rig.parts))], _RIGHT)


def _row(rig: SolvedRig, number: int, units: Units, outlet: int | None = None) -> list[str]:
    """One part with what leaves it: by an outlet of a splitter, else by the one with the most torque."""
    part, flows = rig.parts[number], rig.flows
    start = [part.name, part.item.name, words(does(rig, number))]
    if not flows.solved[number]:
        return [*start, "-", "-", "-", "not solved"]
    ends = part.item.kind == "driven-machine"
    torque = flows.torque_in[number] if ends else flows.torque_out[number]
    if outlet is not None:
        torque = outlet_torque(part, flows.passed[number], outlet)
    speed = flows.speed_in[number] if ends else flows.speed_out[number]
    return [
        *start,
        measure(Measure(torque, "N*m"), units),
        measure(Measure(speed, "rad/s"), units),
        measure(Measure(torque * speed, "W"), units),
        _share(part, number, flows, (torque, speed), units),
    ]


def _share(part: Part, number: int, flows: Flows, shown: tuple[float, float], units: Units) -> str:
    """The larger share of a limit and what it is of: `75 % torque`; with its value where the row shows another one."""
    carried = (torque_carried(flows, number), speed_carried(flows, number))
    found = [
        (value / limit, quantity, value, on_row)
        for quantity, value, limit, on_row in zip(
            (torque_of, speed_of), carried, (part.torque_limit, part.speed_limit), shown, strict=True
        )
        if limit is not None
    ]
    if not found:
        return "no limit"
    share, quantity, value, on_row = max(found, key=lambda one: one[0])
    name = "torque" if quantity is torque_of else "speed"
    at_inlet = "" if isclose(value, on_row, rel_tol=EQUAL) else f", {measure(quantity(value), units)} in"
    return f"{figures(share * 100)} % {name}{at_inlet}"


def lubricant_text(rig: SolvedRig, units: Units) -> str:
    """A row for each circuit, then for each filled part that no circuit feeds."""
    rows = []
    for account in accounts(rig):
        flows = [measure(Measure(flow, "L/s"), units) for flow in (account.supply, account.use, account.net)]
        dry = account.runs_dry_after
        lasts = "does not run dry" if dry is None else duration(dry)
        kind = "circuit" if account.part is None else "filled part"
        charge = measure(Measure(account.charge, "L"), units)
        alone = duration(account.charge / account.use) if account.use > 0 else "not used"
        rows.append([account.name, kind, account.lubricant, charge, *flows, lasts, alone])
    if not rows:
        return "no circuit and no filled part: nothing holds lubricant\n"
    return table(_LUBRICANT, rows, frozenset({3, 4, 5, 6, 7, 8}))


def chain_text(rig: SolvedRig, end: int, units: Units) -> str:
    """The rows that lead to a part, with the running product of the ratios: torque gained, speed lost."""
    rows = []
    product = Fraction(1)
    chain = rig.chain(end)
    for number, below in zip_longest(chain, chain[1:]):
        ratio = rig.parts[number].ratio
        if ratio is not None:
            product = product / ratio.value if rig.settings.increasing[number] else product * ratio.value
        file, span, _ = rig.place(number)
        where = f"line {span.start.line}" if file == rig.file else f"{file} line {span.start.line}"
        outlet = None if below is None else _outlet_to(rig, number, below)
        rows.append([*_row(rig, number, units, outlet), _ratio_words(product), where])
    return table((*_HEAD, "overall", "place"), rows, _RIGHT)


def _outlet_to(rig: SolvedRig, number: int, below: int) -> int | None:
    """The outlet of a part by which it drives the next one; of several the one with the most torque."""
    outlets = [outlet for source, outlet in rig.parts[below].inlets if source == number]
    part, passed = rig.parts[number], rig.flows.passed[number]
    return max(outlets, key=lambda outlet: outlet_torque(part, passed, outlet), default=None)


def _ratio_words(product: Fraction) -> str:
    if product == 1:
        return "1 : 1"
    verb = "reduces" if product > 1 else "increases"
    ratio = product if product > 1 else 1 / product
    exact = str(ratio.numerator) if ratio.denominator == 1 else f"{ratio.numerator}/{ratio.denominator}"
    return f"{verb} {exact if len(exact) <= 15 else figures(float(ratio))} : 1"
