"""The brute force's little problems as segments of the engine."""

from fractions import Fraction

from independent.segment_by_force import Fork, Problem

from lineshaft.repair.line.demand import Demand, Need
from lineshaft.repair.line.prices import PART, weight_of
from lineshaft.repair.line.segment import End, Kept, Make, Segment, Stage, Stock
from lineshaft.schema.quantities.ratio import Ratio


def segment_of(problem: Problem) -> tuple[Segment, Demand, Stock]:
    """What the engine is given for a problem."""
    stages = []
    for number, gear in enumerate(problem.gears):
        ratio = max(gear.gain, 1 / gear.gain)
        make = Make(f"gear-{number}", None, gear.torque, gear.speed, gear.efficiency, _weight(gear.cost, 1))
        direction = "increase" if gear.gain > 1 else "reduce"
        stages.append(Stage(make, Ratio(ratio.as_integer_ratio(), str(ratio), float(ratio)), direction))  # type: ignore[arg-type]
    kept = []
    for number, makes in enumerate(problem.kept):
        found = []
        for place, make_ in enumerate(makes):
            copy = None if make_.copy is None else _weight(make_.copy, 1)
            own = number if place == 0 else None
            stands = (make_.torque, make_.speed, make_.efficiency)
            found.append(Make(f"shaft-{place}", None, *stands, _weight(make_.cost), own, 0, copy))
        kept.append(Kept(number, tuple(found)))
    stock = Stock(
        tuple(stages),
        tuple(_end(f"split-{n}", fork) for n, fork in enumerate(problem.splitters)),
        tuple(_end(f"gather-{n}", fork, combiner=True) for n, fork in enumerate(problem.combiners)),
    )
    supply = (problem.supply[0], problem.supply[0])
    segment = Segment(supply, problem.supply[1], tuple(kept), problem.stages, problem.lines)
    demand = Demand(problem.torque, problem.speed, (Need(power=problem.power),))
    return segment, demand, stock


def _weight(cost: int, parts: int = 0) -> int:
    return weight_of(Fraction(cost), 1, parts)


def _end(name: str, fork: Fork, combiner: bool = False) -> End:
    make = Make(name, None, fork.torque, fork.speed)
    rows = None if fork.any_share or combiner else ((1.0,) * fork.ends,)
    return End(name, (make,), fork.efficiency, fork.cost * (PART * PART) + PART, fork.ends, rows)
