"""The first repair is the cheapest there is: against brute force on little rigs and catalogues."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from independent.line_by_force import Stock, cheapest, faults, small_stock
from repair_bench import checked, edited, workshop_of
from shares import a_few

from lineshaft.repair.plan.planner import plan

RULES = ("torque-over-limit", "speed-over-limit", "machine-underdriven")


def _catalogue(stock: Stock) -> Iterator[str]:
    yield "catalogue: 1\nname: Little stock\nedition: '1'\nitems:"
    torque, speed = stock.wheel
    yield f"  wheel: {{kind: prime-mover, output: {{torque: {torque!r} N*m, speed: {speed!r} rad/s}}}}"
    for name in dict.fromkeys(stage.name for stage in stock.stages):
        mine = [stage for stage in stock.stages if stage.name == name]
        limits = f"torque-limit: {mine[0].torque} N*m, speed-limit: {mine[0].speed} rad/s"
        yield f"  {name}:\n    kind: gear-stage\n    efficiency: {mine[0].efficiency}"
        yield from (f"    {limit}" for limit in limits.split(", "))
        yield "    ratios:"
        yield from (f"      {s.ratio}: {{made-of: {{gear: {s.gears}, iron: {s.iron}}}}}" for s in mine)
    for shaft in stock.shafts:
        yield f"  {shaft.name}: {{kind: shaft, torque-limit: {shaft.torque} N*m, speed-limit: {shaft.speed} rad/s,"
        yield f"    made-of: {{iron: {shaft.iron}}}}}"
    yield f"  fork: {{kind: splitter, outlets: 2, shares: [[1, 1]], made-of: {{iron: {stock.end}}}}}"
    yield f"  joint: {{kind: combiner, inlets: 2, made-of: {{iron: {stock.end}}}}}"
    needs = f"needs: {{torque: {stock.needs[0]!r} N*m, speed: {stock.needs[1]!r} rad/s}}"
    limits = f"limits: {{torque: {stock.limits[0]!r} N*m, speed: {stock.limits[1]!r} rad/s}}"
    yield f"  mill: {{kind: driven-machine, {needs}, {limits}}}"
    yield f"components: {{gear: {{made-of: {{iron: 3}}, yields: {stock.batch}}}}}\nraw: {{iron: {{worth: 1}}}}\n"


def _rig(stock: Stock) -> Iterator[str]:
    yield "rig: 1\nname: Little rig\ncatalogue: bench.catalogue.yaml\nedition: '1'\nparts:"
    yield "  wheel: {item: wheel}\n  lay: {item: thin-shaft, driven-by: wheel}"
    above = "lay"
    for number, k in enumerate(stock.first):
        stage = stock.stages[k]
        yield f"  step-{number}: {{item: {stage.name}, ratio: {stage.ratio}, set: increase, driven-by: {above}}}"
        above = f"step-{number}"
    yield f"  mill: {{item: mill, driven-by: {above}}}\ncommissioning:"
    yield from (f"  - set: {{part: step-{number}, to: increase}}" for number in range(len(stock.first)))
    yield "  - start: wheel\n"


OF_A_KIND = 5
BY_RULE = [[s for s in range(400) if faults(small_stock(s)) == [rule]][:OF_A_KIND] for rule in RULES]
SEEDS = [seed for one_of_each in zip(*BY_RULE, strict=True) for seed in one_of_each]


@pytest.mark.parametrize("seed", a_few(SEEDS, len(RULES)))
def test_the_first_repair_is_the_cheapest(tmp_path: Path, seed: int) -> None:
    """The same least worth as by brute force over all lines of up to four stages, or none by both; and it holds."""
    stock = small_stock(seed)
    context = workshop_of(tmp_path, "\n".join(_catalogue(stock)), "\n".join(_rig(stock)))
    assert [f.rule for f in context.findings] == faults(stock)
    found = plan(context, context.findings[0])
    # Splitting never helps what turns too fast.
    by_force = cheapest(stock, split=faults(stock) != ["speed-over-limit"])
    if by_force is None:
        assert found.repairs == ()
        assert found.no_repair is not None
        assert "nothing within the bounds" in found.no_repair
        return
    assert found.repairs[0].worth == pytest.approx(by_force)
    for repair in found.repairs:
        assert checked(tmp_path, edited(context, repair)) == set(), repair.title


def test_the_seeds_are_of_all_kinds() -> None:
    """Each of the three faults is among the little rigs, as often as the others."""
    assert len(SEEDS) == OF_A_KIND * len(RULES)
