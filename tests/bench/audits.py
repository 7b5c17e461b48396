"""How often `audit` names the deviations that were put in; and rigs for timing it. A process of its own: it makes rigs.

`python tests/bench/audits.py share COUNT RIGS` prints one line; `... make FOLDER` writes a rig of 200 parts there.
"""

import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from audit.made_rigs import verdict
from independent.linear_solver import solve
from rig_maker import make_rig
from rig_maker.as_built import AsBuilt, stand

PARTS, READ = 40, 13  # readings on a third of the parts


def _as_built(seed: int, parts: int, count: int, places: int) -> AsBuilt | None:
    return stand(make_rig(seed, parts, catalogue=f"audit-{parts}.catalogue.yaml"), count, places, seed, solve)


def share(count: int, rigs: int) -> str:
    """How often the true set stands first, or is tied with the first; and what the rest are."""
    found = (_as_built(seed, PARTS, count, READ) for seed in range(rigs))
    names = Counter(verdict(made) for made in found if made is not None)
    total = sum(names.values())
    good = 100 * (names["first"] + names["tied"]) / total
    rest = [f"{name} {many}" for name, many in sorted(names.items()) if name not in ("first", "tied")]
    alone = f"alone at the top {100 * names['first'] / total:.1f} %"
    return f"{good:.1f} % of {total} rigs ({'; '.join([alone, *rest])})"


def make(folder: Path) -> None:
    """Write a rig of 200 parts with 60 places read and two deviations, and its catalogue."""
    made = _as_built(1, 200, 2, 60)
    if made is None:
        raise SystemExit("no such rig for this seed")
    (folder / "audit-200.rig.yaml").write_text(made.text, encoding="utf-8")
    (folder / made.catalogue).write_text(made.catalogue_text, encoding="utf-8")


if __name__ == "__main__":
    if sys.argv[1] == "make":
        make(Path(sys.argv[2]))
    else:
        sys.stdout.write(share(int(sys.argv[2]), int(sys.argv[3])) + "\n")
