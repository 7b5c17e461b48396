"""What arrives at and leaves each part of a rig and the limit that counts, as a tree, or along the chain to a part."""

import csv
import io
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import zip_longest

from lineshaft.check.finding import Measure
from lineshaft.check.finding import speed as speed_of
from lineshaft.check.finding import torque as torque_of
from lineshaft.report_model.drawn_state import declared_state
from lineshaft.report_model.schematic import does
from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import over, speed_carried, torque_carried
from lineshaft.solve.lubricant_accounts import accounts
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.steady_state import Flows, outlet_torque
from lineshaft.write.escape import spreadsheet_cell
from lineshaft.write.page import ENDLESS, Page
from lineshaft.write.shown_units import Units, as_written, duration, figures, measure, words
from lineshaft.write.table import Cell, Toned, fits_in_columns, table

_HEAD = ("part", "does", "torque in", "out", "speed in", "out", "power", "limit that counts", "share of it")
_NAMES = ("part", "", "torque in", "torque out", "speed in", "speed out", "power", "limit that counts", "")
_RIGHT = frozenset({2, 3, 4, 5, 6, 7})
_NARROW = ("part", "does", "arrives", "leaves", "limit that counts", "share of it")
_BEHIND = ("overall", "place")
_LUBRICANT = ("name", "what", "lubricant", "charge", "supply", "use", "net", "time to dry", "charge alone")
_BAR = 10
"""Signs of a bar that is full at the limit."""
_MOST_SHOWN = 3
"""Torques of one part's inlets or outlets that stand side by side; of more the largest is shown."""


def trace_text(rig: SolvedRig, units: Units, page: Page = ENDLESS) -> str:
    """A row a part, from what drives to what is driven: a line keeps its column, and the branches below a splitter
    are set in by one step each, the first part of each marked.

    What several drive stands below the first of them; the lines of the others end in a row that names it.
    """
    rows: list[list[Cell]] = []
    for number, mark, again in _tree(rig):
        part = rig.parts[number]
        if again:
            rows.append([f"{mark}{part.name}", "joins the line above", *[""] * 7])
        else:
            rows.append([f"{mark}{part.name}", *_row(rig, number, units)[1:]])
    return _laid_out(rows, (), page)


def _laid_out(rows: list[list[Cell]], behind: tuple[str, ...], page: Page) -> str:
    """Rows as a table; on a narrow page with torque, speed and power in one column for each side of a part.

    ``behind`` are the columns that stand behind those of every trace.
    """
    head = (*_HEAD, *behind)
    if not fits_in_columns(head, rows, page):
        narrow = [_narrow(row) for row in rows]
        if fits_in_columns((*_NARROW, *behind), narrow, page):
            return table((*_NARROW, *behind), narrow, frozenset(), page)
    return table(head, rows, _RIGHT, page, (*_NAMES, *behind))


def _narrow(row: list[Cell]) -> list[Cell]:
    part, does, torque_in, torque_out, speed_in, speed_out, power, *rest = row
    arrives, leaves = ([str(one) for one in pair if one] for pair in ((torque_in, speed_in), (torque_out, speed_out)))
    (leaves or arrives).append(str(power))
    return [part, does, ", ".join(arrives), ", ".join(leaves), *rest]


def _tree(rig: SolvedRig) -> Iterator[tuple[int, str, bool]]:
    """Each part with what stands before its name, and whether it has a row already; roots in the order of the file."""
    below: dict[int, list[int]] = {}
    for number, part in enumerate(rig.parts):
        for source, _ in part.inlets:
            if number not in below.setdefault(source, []):
                below[source].append(number)
    roots = [number for number, part in enumerate(rig.parts) if not part.inlets]
    shown: set[int] = set()
    # What a loop of drives holds hangs on no root, and is shown all the same.
    for start in (*roots, *range(len(rig.parts))):
        stack = [] if start in shown else [(start, "", "")]
        while stack:
            number, mark, indent = stack.pop()
            yield number, mark, number in shown
            if number in shown:
                continue
            shown.add(number)
            following = below.get(number, [])
            branch = indent if len(following) < 2 else f"{indent}  "
            first = indent if len(following) < 2 else f"{indent}- "
            stack += [(child, first, branch) for child in reversed(following)]


def _row(rig: SolvedRig, number: int, units: Units, outlet: int | None = None) -> list[Cell]:
    """One part with what arrives and what leaves it: by an outlet of a splitter, else by each of them."""
    part, flows = rig.parts[number], rig.flows
    start = [part.name, words(does(rig, number, declared_state(rig)))]
    if not flows.solved[number]:
        return [*start, *["-"] * 5, "not solved", ""]
    torques, speeds, power = ["", ""], ["", ""], 0.0
    if part.inlets:
        torques[0] = _side_by_side(_arrives(rig, number), units)
        speeds[0] = measure(speed_of(flows.speed_in[number]), units)
        power = flows.torque_in[number] * flows.speed_in[number]
    if part.item.kind != "driven-machine":
        leaves = _leaves(part, number, flows, outlet)
        torques[1] = _side_by_side(leaves, units)
        speeds[1] = measure(speed_of(flows.speed_out[number]), units)
        power = sum(leaves) * flows.speed_out[number]
    return [*start, *torques, *speeds, measure(Measure(power, "W"), units), *_limit(part, number, flows, units)]


def _arrives(rig: SolvedRig, number: int) -> list[float]:
    """The torques [N*m] that arrive at a part, one an inlet."""
    inlets = rig.parts[number].inlets
    if len(inlets) == 1:
        return [rig.flows.torque_in[number]]
    return [outlet_torque(rig.parts[source], rig.flows.passed[source], outlet) for source, outlet in inlets]


def _leaves(part: Part, number: int, flows: Flows, outlet: int | None) -> list[float]:
    """The torques [N*m] that leave a part: at one outlet, or at each."""
    if outlet is None and not part.outlets:
        return [flows.torque_out[number]]
    asked = range(len(part.outlets)) if outlet is None else (outlet,)
    return [outlet_torque(part, flows.passed[number], each) for each in asked]


def _side_by_side(torques: Sequence[float], units: Units) -> str:
    """A few torques one beside the other; of many the largest."""
    shown = torques if len(torques) <= _MOST_SHOWN else [max(torques)]
    text = ", ".join(measure(torque_of(torque), units) for torque in shown)
    return text if len(shown) == len(torques) else f"{len(torques)} of up to {text}"


def trace_csv(rig: SolvedRig) -> bytes:
    """A row for each part and outlet in the order of the file (RFC 4180); SI values, shares 1 at the limit."""
    page = io.StringIO(newline="")
    rows = csv.writer(page)
    rows.writerow(
        ("part", "outlet", "item", "torque in", "torque out", "speed in", "speed out", "limit of", "limit", "share")
    )
    for number, part in enumerate(rig.parts):
        for outlet in part.outlets or ("",):
            start = (spreadsheet_cell(part.name), spreadsheet_cell(outlet), spreadsheet_cell(part.item.name))
            rows.writerow((*start, *(_si_values(rig, number, outlet))))
    return page.getvalue().encode("utf-8", "backslashreplace")


def _si_values(rig: SolvedRig, number: int, outlet: str) -> list[str]:
    """What arrives at a part and leaves it by an outlet, and the limit that counts; nothing where it is not solved."""
    part, flows = rig.parts[number], rig.flows
    if not flows.solved[number]:
        return [""] * 7
    ends = part.item.kind == "driven-machine"
    by = part.outlets.index(outlet) if outlet else None
    torques = (flows.torque_in[number], _leaves(part, number, flows, by)[0])
    speeds = (flows.speed_in[number], flows.speed_out[number])
    found = _counting_limit(part, number, flows)
    limit = ["", "", ""] if found is None else [found[1], as_written(found[2]), as_written(found[0])]
    pairs = ((arrives if part.inlets else None, None if ends else leaves) for arrives, leaves in (torques, speeds))
    return [*("" if value is None else as_written(value) for pair in pairs for value in pair), *limit]


def _limit(part: Part, number: int, flows: Flows, units: Units) -> tuple[str, Cell]:
    """The limit that counts with its value; a bar and the share of it."""
    found = _counting_limit(part, number, flows)
    if found is None:
        return "none", ""
    share, quantity, limit = found
    value = torque_of(limit) if quantity == "torque" else speed_of(limit)
    shown = f"{_bar(share)} {figures(share * 100)} %"
    return f"{quantity} {measure(value, units)}", Toned(shown, "error") if over(share, 1.0) else shown


def _counting_limit(part: Part, number: int, flows: Flows) -> tuple[float, str, float] | None:
    """The limit that comes nearest to being passed, or is passed most: the share of it, of what, its value in SI."""
    found = [
        (value / limit, name, limit)
        for name, value, limit in (
            ("torque", torque_carried(flows, number), part.torque_limit),
            ("speed", speed_carried(flows, number), part.speed_limit),
        )
        if limit is not None
    ]
    return max(found, key=lambda one: one[0], default=None)


def _bar(share: float) -> str:
    """Ten signs at the limit; beyond it an arrow's head takes the last one's place."""
    if over(share, 1.0):
        return "=" * (_BAR - 1) + ">"
    return ("=" * min(_BAR, round(share * _BAR))).ljust(_BAR, ".")


def lubricant_text(rig: SolvedRig, units: Units, page: Page = ENDLESS) -> str:
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
    return table(_LUBRICANT, rows, frozenset({3, 4, 5, 6, 7, 8}), page)


def chain_text(rig: SolvedRig, end: int, units: Units, page: Page = ENDLESS) -> str:
    """The rows that lead to a part, with the running product of the ratios: torque gained, speed lost."""
    rows: list[list[Cell]] = []
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
    return _laid_out(rows, _BEHIND, page)


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
