"""The self-test of every solved rig: at each part, power in equals power out plus losses."""

from lineshaft.solve.drivetrain import Drivetrain
from lineshaft.solve.steady_state import SPEEDS_AGREE, Flows, Settings, outlet_torque

_CLOSE = 1e-9


def unbalanced(train: Drivetrain, settings: Settings, flows: Flows) -> tuple[int, ...]:
    """The parts at which power is made or lost without a reason; none in a right solution.

    Power in is taken from the outlets above, power out from the part's own outlets, losses from its efficiency.
    """
    wrong = []
    parts = train.parts
    for number in train.order:
        part = parts[number]
        kind = part.item.kind
        if not flows.solved[number] or kind in ("prime-mover", "driven-machine"):
            continue
        if not (settings.coupled[number] and settings.closed[number]):
            continue
        power_in = 0.0
        for source, outlet in part.inlets:
            torque = outlet_torque(parts[source], flows.passed[source], outlet)
            power_in += torque * flows.speed_out[source]
        power_out = flows.passed[number] * flows.speed_out[number]
        lost = power_in * (1 - part.item.efficiency)
        allowed = SPEEDS_AGREE if kind == "combiner" else _CLOSE
        if abs(power_in - power_out - lost) > allowed * max(power_in, power_out):
            wrong.append(number)
    return tuple(wrong)
