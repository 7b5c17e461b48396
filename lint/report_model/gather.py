"""All that a report shows of a solved rig: drawing, lines, checklist, lubricants, bill, machines, sweeps."""

from collections.abc import Collection, Iterator

from lineshaft.bill_of_materials import bill, worth_of
from lineshaft.report_model.checklist import checklist
from lineshaft.report_model.drawn_state import DrawnState, declared_state, worst_state
from lineshaft.report_model.fold import folded
from lineshaft.report_model.machines import machine_curves
from lineshaft.report_model.record import BillRow, Line, LinePoint, LubricantRow, ReportModel, Sweep
from lineshaft.report_model.schematic import schematic
from lineshaft.report_model.sweep import sweep
from lineshaft.report_model.swept_setting import Sweepable, sweepable
from lineshaft.report_model.tables import item_rows, machine_rows
from lineshaft.solve.limits import speed_carried, torque_carried
from lineshaft.solve.lubricant_accounts import accounts
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.solve.steady_state import Flows

_STEPS = 12
_MOST_SWEPT, _MOST_PARTS = 2, 1000  # a sweep solves the rig some hundred times
_WIDER = 2.0  # how far a head without a table is swept: from its half to its double


def report_model(rig: SolvedRig, keep: Collection[str] = ()) -> ReportModel:
    """The report model of a rig that has parts; in a large one what is alike is drawn once, save parts to ``keep``."""
    found = bill(rig.parts, rig.catalogue)
    heads, most = _heads(rig), _MOST_SWEPT if len(rig.parts) <= _MOST_PARTS else 0
    raw = tuple(BillRow(name, n, None, worth_of(((name, n),), rig.catalogue)) for name, n in found.raw)
    made = tuple(BillRow(name, needed, makings, None) for name, needed, makings in found.making)
    return ReportModel(
        folded(schematic(rig), keep),
        lines(rig),
        checklist(rig),
        tuple(_lubricants(rig)),
        raw + made,
        found.worth,
        machine_curves(rig),
        tuple(filter(None, (_swept(rig, head) for head in heads[:most]))),
        len(heads) - len(heads[:most]),
        rig.policy.cautions,
        tuple(machine_rows(rig)),
        tuple(item_rows(rig)),
    )


def lines(rig: SolvedRig) -> tuple[Line, ...]:
    """The line to each end of the rig, those first that come nearest to a limit, or past it furthest.

    Each is shown as declared, or in the state of the start-up that is worst of all, if it is worse there.
    """
    ends = [n for n in range(len(rig.parts)) if not rig.train.below(n) and rig.flows.solved[n]]
    states = [state for state in (declared_state(rig), rig.once(worst_state)) if state is not None]
    found = [max((_line(rig, end, state) for state in states), key=_worst) for end in ends]
    return tuple(sorted(found, key=_worst, reverse=True))


def _line(rig: SolvedRig, end: int, state: DrawnState) -> Line:
    return Line(rig.parts[end].name, tuple(_point(rig, n, state.flows) for n in rig.chain(end)), state.when)


def _point(rig: SolvedRig, number: int, flows: Flows) -> LinePoint:
    part = rig.parts[number]
    torque = None if part.torque_limit is None else torque_carried(flows, number) / part.torque_limit
    speed = None if part.speed_limit is None else speed_carried(flows, number) / part.speed_limit
    return LinePoint(part.name, torque, speed)


def _worst(line: Line) -> float:
    return max(map(_larger, line.points))


def _larger(point: LinePoint) -> float:
    return max(point.torque_share or 0.0, point.speed_share or 0.0)


def _lubricants(rig: SolvedRig) -> Iterator[LubricantRow]:
    for one in accounts(rig):
        circuit = one.part is None
        flows = (one.supply, one.use, one.net)
        yield LubricantRow(one.name, circuit, one.lubricant, one.charge, *flows, one.runs_dry_after)


def _heads(rig: SolvedRig) -> list[Sweepable]:
    """The heads that the rig gives."""
    found = [one for part in rig.parts if part.item.kind == "prime-mover" for one in sweepable(part)]
    return [one for one in found if one.setting.key == "head" and one.declared is not None]


def _swept(rig: SolvedRig, one: Sweepable) -> Sweep | None:
    """A head through its table, or from half to double; none where a table has one point."""
    own = one.declared or 0.0
    low = own / _WIDER if one.least is None else one.least
    high = own * _WIDER if one.most is None else one.most
    return sweep(rig, one, [low + (high - low) * n / _STEPS for n in range(_STEPS)] + [high]) if low < high else None
