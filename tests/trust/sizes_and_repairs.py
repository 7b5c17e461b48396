"""Size and repair find one cheapest line for a starved machine: ``python tests/trust/sizes_and_repairs.py 500 0``.

Rigs of one line from a prime mover to a machine that is short of something, where nothing else is wrong, so that both
commands ask the same: the first of each has to add as much in worth and parts.
"""

import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from independent.rig_by_force import catalogue_text, faults, little_rig, rig_text
from trust.rigs_by_force import MOST_SECONDS, opened

from lineshaft.repair.plan.planner import plan
from lineshaft.repair.size import size, wanted_by

SHORT = {("machine-underdriven", "m")}


def compared(folder: Path, seed: int) -> tuple[str, str]:
    """What came of the rig of a seed, and what either command says where they differ."""
    rig = little_rig(seed, "line")
    if set(faults(rig)) != SHORT:
        return "not asked", ""
    context = opened(folder, rig_text(rig), catalogue_text(rig))
    if {(f.rule, f.part) for f in context.findings} != SHORT:
        return "not asked", ""
    repairs = plan(context, context.findings[0]).repairs
    number = context.rig.rig.index["m"]
    wanted = wanted_by(context.rig.parts[number])
    assert wanted is not None
    sized = size(context, number, wanted).found
    mended = [(round(repair.worth, 9), repair.parts_added) for repair in repairs[:1]]
    chosen = [(round(one.repair.worth, 9), one.repair.parts_added) for one in sized[:1]]
    if mended == chosen:
        return ("alike" if mended else "none by both"), ""
    return "differ", f"{seed}: size {chosen}, repair {mended} {[repair.title for repair in repairs]}"


def main() -> int:
    """Compare until so many rigs were asked for both, from a seed on."""
    count, seed = int(sys.argv[1]), int(sys.argv[2])
    kinds: Counter[str] = Counter()
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as name:
        while kinds.total() - kinds["not asked"] < count and time.monotonic() - began < MOST_SECONDS:
            what, why = compared(Path(name).resolve(), seed)
            kinds[what] += 1
            seed += 1
            if why:
                print(why, flush=True)  # noqa: T201
    print(", ".join(f"{number} {kind}" for kind, number in sorted(kinds.items())), f"up to seed {seed}")  # noqa: T201
    return int(bool(kinds["differ"]))


if __name__ == "__main__":
    sys.exit(main())
