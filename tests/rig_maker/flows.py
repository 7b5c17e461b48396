"""Forward arithmetic over a plan with one stage the wrong way round: what a missed step would break."""

from rig_maker.plan import PlannedPart


def carried_with(plan: tuple[PlannedPart, ...], turned: str) -> dict[str, tuple[float, float]]:
    """Torque [N*m] and speed [rad/s] that each part carries when stage ``turned`` has its other direction."""
    carried: dict[str, tuple[float, float]] = {}
    passed: dict[str, tuple[float, float]] = {}
    by_name = {part.name: part for part in plan}
    for part in plan:
        if part.output is not None:
            passed[part.name] = carried[part.name] = part.output
            continue
        inlets = []
        for source, outlet in part.driven_by:
            torque, speed = passed[source]
            weights = dict(by_name[source].shares)
            share = weights[outlet] / sum(weights.values()) if outlet is not None else 1.0
            inlets.append((torque * share, speed))
        torque_in, speed_in = max(torque for torque, _ in inlets), inlets[0][1]
        torque, speed = sum(torque for torque, _ in inlets) * part.efficiency, speed_in
        if part.ratio is not None:
            ratio = float(part.ratio)
            if (part.direction == "reduce") != (part.name == turned):
                torque, speed = torque * ratio, speed / ratio
            else:
                torque, speed = torque / ratio, speed * ratio
        passed[part.name] = (torque, speed)
        weights = dict(part.shares)
        largest = torque * max(weights.values()) / sum(weights.values()) if weights else torque
        if part.kind == "driven-machine":
            largest = torque_in
        carried[part.name] = (max(torque_in, largest), max(speed_in, speed))
    return carried
