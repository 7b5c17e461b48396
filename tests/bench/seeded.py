"""The share of seeded faults for which a repair is proved: clean rigs of 10 to 60 parts, one fault in each.

`python tests/bench/seeded.py [--rigs N]`. A rig counts where each of its errors has a proved repair. What has none is
listed with the reason.
"""

import argparse
import sys
import tempfile
from collections import Counter
from pathlib import Path
from typing import NamedTuple

_TESTS = Path(__file__).resolve().parents[1]


class Outcome(NamedTuple):
    """What became of one rig: its kind of fault, and for each error without a repair the rule and the reason."""

    kind: str
    seed: int
    lacking: tuple[tuple[str, str], ...]


def seeded(rigs: int) -> list[Outcome]:
    """So many rigs with a fault each, the kinds in turn."""
    sys.path.insert(0, str(_TESTS))
    from rig_maker import make_rig
    from rig_maker.setbacks import SETBACKS

    from lineshaft.check.rulebook import open_rulebook
    from lineshaft.repair.plan.planner import plan
    from lineshaft.repair.proof.context import open_repair_context
    from lineshaft.schema.loading import Loader
    from lineshaft.schema.text.repository import Repository

    book = open_rulebook()
    kinds = list(SETBACKS)
    found: list[Outcome] = []
    seed = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        path = folder / "made.rig.yaml"
        while len(found) < rigs:
            seed += 1
            kind = kinds[len(found) % len(kinds)]
            made = make_rig(seed, 10 + seed * 7 % 51)
            (folder / made.catalogue).write_text(made.catalogue_text, encoding="utf-8")
            for text in SETBACKS[kind](made, seed):
                path.write_text(text, encoding="utf-8")
                loader = Loader(Repository(folder, folder))
                context = open_repair_context(loader, loader.rig(path), book)
                errors = [finding for finding in context.findings if finding.level == "error"]
                short = any(finding.rule == "machine-underdriven" for finding in errors)
                if errors and (short or kind != "short-machine"):
                    plans = [plan(context, finding) for finding in errors]
                    lacking = tuple((p.finding.rule, str(p.no_repair)) for p in plans if not p.repairs)
                    found.append(Outcome(kind, seed, lacking))
                    break
    return found


def report(found: list[Outcome]) -> str:
    """The share in all and by kind, and the reasons for the rest."""
    kinds = Counter(outcome.kind for outcome in found)
    mended = Counter(outcome.kind for outcome in found if not outcome.lacking)
    lines = [f"{sum(mended.values()) / len(found):.1%} of {len(found)} (target: at least 95 %)"]
    lines += [f"  {kind}: {mended[kind]} of {count}" for kind, count in kinds.items()]
    lines += [
        f"  none: {outcome.kind}, seed {outcome.seed}: {rule}: {reason}"
        for outcome in found
        for rule, reason in outcome.lacking
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--rigs", type=int, default=300, help="how many rigs")
    sys.stdout.write(report(seeded(reader.parse_args().rigs)) + "\n")
