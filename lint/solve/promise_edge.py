"""A blueprint judged alone, at the edge of what its inlets promise.

Torque and speed anywhere in it grow with those at its inlets, so every limit is met at the edge or nowhere below it,
and what a machine lacks there it lacks everywhere. One state, with every inlet at both its limits, stands for all.
Inlets that a combiner joins turn together in every rig that runs, so the faster ones are slowed until they agree.
"""

from dataclasses import replace
from pathlib import Path

from lineshaft.schema.loading import Loaded, Loader
from lineshaft.schema.model.catalogue import Output
from lineshaft.schema.model.policy import HOUSE_DEFAULTS, Policy
from lineshaft.schema.model.rig import Part, Rig
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded


def solve_alone(loader: Loader, path: Path, policy: Policy = HOUSE_DEFAULTS) -> tuple[Loaded, SolvedRig]:
    """The blueprint at a path as loaded, and as solved at the edge of its promises."""
    loaded = loader.blueprint_alone(loader.repository.real(path))
    return loaded, solve_at_edge(loaded, policy)


def solve_at_edge(loaded: Loaded, policy: Policy = HOUSE_DEFAULTS) -> SolvedRig:
    """Solve a blueprint that was loaded alone, its inlets at what they promise, or as near as combiners allow."""
    solved = solve_loaded(loaded, policy)
    rig = loaded.rig
    for _ in range(len(solved.parts) if rig is not None else 0):
        slowed = _agreeing(solved) if solved.flows.mismatched else None
        if slowed is None:
            break
        loaded = loaded._replace(rig=slowed)
        solved = solve_loaded(loaded, policy)
    return solved


def _agreeing(solved: SolvedRig) -> Rig | None:
    """The rig with the inlets above the first combiner slowed to the slowest line there; none where that is no way."""
    combiner = solved.flows.mismatched[0]
    speeds = {source: solved.flows.speed_out[source] for source, _ in solved.parts[combiner].inlets}
    slowest = min(speed for speed in speeds.values() if speed > 0)
    parts = list(solved.parts)
    changed = False
    for source, speed in speeds.items():
        above = solved.train.above(source)
        movers = {number for number in above if solved.parts[number].item.kind == "prime-mover"}
        if speed > slowest * (1 + 1e-9) and movers <= solved.rig.placed.edges:
            for mover in movers:
                parts[mover] = _slowed(parts[mover], slowest / speed)
                changed = True
    return replace(solved.rig, parts=tuple(parts)) if changed else None


def _slowed(part: Part, factor: float) -> Part:
    source = part.item.source
    if not isinstance(source, Output):
        return part
    return part._replace(item=part.item._replace(source=Output(source.torque, source.speed * factor)))
