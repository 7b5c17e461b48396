"""What a check shows, made by hand: ``python tests/trust/shown_repairs.py 500 0``.

A check proves repairs on the lines that they touch. Here each is written into the text, that is read and judged as any
file is, and the finding has to be gone with nothing new or worse in its place.
"""

import sys
import tempfile
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from repair_bench import edited
from rig_maker import break_one, make_rig
from rig_maker.faults import FAULTS
from trust.rigs_by_force import opened

from lineshaft.check.finding_diff import none_against
from lineshaft.check.judged_finding import JudgedFinding
from lineshaft.repair.plan.fix_budget import with_repairs

_KINDS = tuple(sorted(FAULTS))


def compared(folder: Path, seed: int) -> tuple[str, str]:
    """What came of the repairs of a rig with one mistake, and those that do not hold."""
    made = make_rig(seed, 6 + seed % 40, catalogue="little.catalogue.yaml")
    broken = break_one(made, _KINDS[seed % len(_KINDS)], seed)
    if broken is None:
        return "not asked", ""
    context = opened(folder, broken.text, made.catalogue_text)
    told = []
    shown = 0
    for finding in with_repairs(context):
        for repair in finding.repairs:
            shown += 1
            after = opened(folder, edited(context, repair), made.catalogue_text).findings
            key = finding.rule, finding.part
            left = _count(after)[key] >= _count(context.findings)[key]
            # What a misspelt name had hidden is not new.
            if left or not (repair.only_name or none_against(context.findings, after)):
                told.append(f"{'leaves' if left else 'is worse for'} {finding.rule} {finding.part}: {repair.title}")
    return "repaired" if shown else "no repair", "; ".join(told)


def _count(findings: tuple[JudgedFinding, ...]) -> Counter[tuple[str, str | None]]:
    return Counter((finding.rule, finding.part) for finding in findings)


def main() -> int:
    """Try so many rigs from a seed on."""
    count, first = int(sys.argv[1]), int(sys.argv[2])
    kinds: Counter[str] = Counter()
    wrong = 0
    with tempfile.TemporaryDirectory() as name:
        for seed in range(first, first + count):
            what, why = compared(Path(name).resolve(), seed)
            kinds[what] += 1
            if why:
                wrong += 1
                print(seed, why, flush=True)  # noqa: T201
    print(", ".join(f"{number} {kind}" for kind, number in sorted(kinds.items())), f"{wrong} wrong")  # noqa: T201
    return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main())
