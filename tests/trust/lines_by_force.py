"""The engine of lines against brute force on many little problems: ``python tests/trust/lines_by_force.py 2000``."""

import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from independent.made_segments import segment_of
from independent.segment_by_force import front, little_problem, outcomes, straight_outcomes

from lineshaft.repair.line.design import Found, OpenSlot
from lineshaft.repair.line.effort import Effort
from lineshaft.repair.line.prices import cost_units
from lineshaft.repair.line.search import Search

FIRST = 40


def compared(seed: int) -> str:
    """What came of one problem; raises AssertionError where the two differ."""
    problem = little_problem(seed)
    found = outcomes(problem)
    segment, demand, stock = segment_of(problem)
    search = Search(segment, demand, stock, Effort(2_000_000))
    designs = []
    side_by_side = False
    for design in search.designs():
        if isinstance(design, Found):
            designs.append((cost_units(design.weight), design.parts, float(f"{design.speed:.9g}")))
            side_by_side = side_by_side or (
                len(designs) == 1 and any(isinstance(slot, OpenSlot) for slot in design.slots)
            )
            if len(designs) == FIRST:
                break
    force = sorted((cost, parts) for cost, parts, _ in found)
    if not force:
        assert not designs and search.outcome == "none", (seed, designs)
        return "impossible"
    assert designs[0][:2] == force[0], (seed, designs[:1], force[:1])
    if problem.lines == 1:
        ours = [design[:2] for design in designs]
        assert ours == force[: len(ours)] and len(ours) == min(FIRST, len(force)), (seed, ours, force[:FIRST])
    for straight, expected in ((False, found), (True, straight_outcomes(problem))):
        if expected is not None:
            whole = Search(segment._replace(straight=straight), demand, stock, Effort(2_000_000))
            shown = []
            for design in whole.designs():
                if isinstance(design, Found):
                    row = (cost_units(design.weight), design.parts, design.speed)
                    shown.append((*row[:2], float(f"{row[2]:.9g}")))
                    whole.show(*row)
            assert front(shown) == front(expected), (seed, straight, sorted(front(shown)), sorted(front(expected)))
    return "side by side" if side_by_side else "in line"


def main() -> int:
    """Compare so many problems and print what they were."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    kinds = Counter(compared(seed) for seed in range(first, first + count))
    print(f"{count} of {count} alike:", ", ".join(f"{number} {kind}" for kind, number in sorted(kinds.items())))  # noqa: T201
    return 0


if __name__ == "__main__":
    sys.exit(main())
