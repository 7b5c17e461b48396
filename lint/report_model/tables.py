"""The machines of a rig with what they get, need and make, and its parts counted by item."""

from collections.abc import Iterator

from lineshaft.report_model.record import ItemRow, MachineRow
from lineshaft.solve.limits import worst_share
from lineshaft.solve.machine_output import hourly_rate
from lineshaft.solve.solved_rig import SolvedRig


def machine_rows(rig: SolvedRig) -> Iterator[MachineRow]:
    """The machines as declared, those with the least headroom first; those that are not solved before all."""
    return iter(sorted(_machines(rig), key=lambda row: (row.solved, _least(row))))


def _machines(rig: SolvedRig) -> Iterator[MachineRow]:
    flows = rig.flows
    for number, part in enumerate(rig.parts):
        if part.item.kind != "driven-machine":
            continue
        solved, turns, speed = bool(flows.solved[number]), flows.torque_in[number], flows.speed_in[number]
        gets, needs = (turns, speed, turns * speed), part.item.needs
        asked = (needs.torque, needs.speed, needs.power)
        times = [has / need for has, need in zip(gets, asked, strict=True) if need]
        yield MachineRow(
            part.name,
            part.item.name,
            solved,
            gets,
            asked,
            min(times) if times and solved else None,
            worst_share(part, number, flows) if solved else None,
            hourly_rate(part, number, flows),
            "" if part.item.work is None else part.item.work.unit,
            None if part.target is None else 3600 / part.target,
        )


def _least(row: MachineRow) -> float:
    return float("inf") if row.times_needed is None else row.times_needed


def item_rows(rig: SolvedRig) -> Iterator[ItemRow]:
    """Each item with its grade: how many parts it makes, and which of them comes nearest to a limit, as declared."""
    found: dict[tuple[str, str], list[int]] = {}
    for number, part in enumerate(rig.parts):
        grade = part.grade.name if part.grade is not None and part.item.chooses_grade else ""
        found.setdefault((part.item.name, grade), []).append(number)
    for (item, grade), numbers in found.items():
        shares = ((worst_share(rig.parts[n], n, rig.flows), n) for n in numbers if rig.flows.solved[n])
        known = [(share, -n) for share, n in shares if share is not None]
        share, at = max(known, default=(None, 0))
        name = None if share is None else rig.parts[-at].name
        yield ItemRow(item, rig.parts[numbers[0]].item.kind, grade, len(numbers), share, name)
