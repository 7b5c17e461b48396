"""Processor time and memory of repairs and sizings on seeded rigs of 12 parts with large catalogues; prints the worst.

``python tests/bench/big_catalogues.py 50 0``: fifty rigs from seed 0 on; up to 50 items, 8 ratios, 4 grades.
"""

import resource
import sys
import tempfile
import time
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from lineshaft.check.effort import EFFORT_OF_CHECK
from lineshaft.check.rulebook import open_rulebook
from lineshaft.repair.plan.fix_budget import SHOWN_BY_CHECK, offers
from lineshaft.repair.proof.context import RepairContext, open_repair_context
from lineshaft.repair.size import size, wanted_by
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository

RATIOS = ("3/2", "9/5", "21/10", "5/2", "3", "7/2", "5", "7")


def catalogue(dice: Random) -> str:
    """A catalogue of up to fifty items in up to four grades."""
    grades = [f"g{n}" for n in range(dice.randint(1, 4))]
    rows = ["catalogue: 1", 'edition: "1"', "grades:"]
    for n, grade in enumerate(grades):
        torque = round(70 * 3.3**n * dice.uniform(0.7, 1.4))
        rows.append(f"  {grade}: {{torque-limit: {torque} N*m, speed-limit: {round(dice.uniform(25, 300))} rad/s}}")
    output = f"{{torque: {dice.randint(90, 900)} N*m, speed: 8 rad/s}}"
    rows += ["items:", f"  wheel: {{kind: prime-mover, output: {output}}}"]
    made = f"grades: [{', '.join(grades)}]"
    for n in range(dice.randint(2, 40)):
        ratios = sorted(dice.sample(RATIOS, dice.randint(1, 8)))
        offers_ = ", ".join(f"{r}: {{made-of: {{bar: {dice.randint(1, 19)}}}}}" for r in ratios)
        loss = dice.choice((1.0, 1.0, 0.97, round(dice.uniform(0.9, 0.99), 3)))
        rows.append(f"  stage{n}: {{kind: gear-stage, {made}, efficiency: {loss}, ratios: {{{offers_}}}}}")
    for n in range(dice.randint(1, 4)):
        rows.append(f"  shaft{n}: {{kind: shaft, {made}, made-of: {{bar: {n + 1}}}}}")
    rows += [
        f"  div: {{kind: splitter, outlets: 2, shares: any, {made}, made-of: {{bar: 2}}}}",
        f"  div3: {{kind: splitter, outlets: 3, shares: any, {made}, made-of: {{bar: 3}}}}",
        f"  gat: {{kind: combiner, inlets: 2, {made}, made-of: {{bar: 2}}}}",
    ]
    for n in range(3):
        needs = f"needs: {{torque: {dice.randint(20, 200)} N*m, speed: {dice.randint(3, 30)} rad/s}}"
        limits = f"limits: {{torque: {dice.randint(200, 2000)} N*m, speed: {dice.randint(40, 300)} rad/s}}"
        work = "work: {unit: bit, times: [[5 rad/s, 60 s], [90 rad/s, 15 s]], between: log-speed}"
        rows.append(f"  mill{n}: {{kind: driven-machine, {needs}, {limits}, {work}}}")
    return "\n".join([*rows, "raw: {bar: {worth: 0.7}}", ""])


def rig(dice: Random, text: str) -> str:
    """Twelve parts: a wheel, a splitter of two or three lines of shafts and stages, machines."""
    grades = [row.split(":")[0].strip() for row in text.split("items:")[0].splitlines() if row.startswith("  g")]
    items = {row.split(":")[0].strip(): row for row in text.splitlines() if row.startswith("  ")}
    stages = [name for name in items if name.startswith("stage")]
    shafts = [name for name in items if name.startswith("shaft")]
    rows = ["rig: 1", "catalogue: c.catalogue.yaml", "parts:", "  w: {item: wheel}"]

    def in_line(above: str, count: int, letter: str) -> str:
        for n in range(count):
            name, grade = f"{letter}{n}", dice.choice(grades)
            if dice.random() < 0.5:
                item = dice.choice(stages)
                ratios = items[item].split("ratios: {", 1)[1]
                ratio = dice.choice([r for r in RATIOS if f"{r}: {{" in ratios])
                way = dice.choice(("increase", "reduce"))
                more = f"item: {item}, grade: {grade}, ratio: {ratio}, set: {way}"
            else:
                more = f"item: {dice.choice(shafts)}, grade: {grade}"
            rows.append(f"  {name}: {{{more}, driven-by: {above}}}")
            above = name
        return above

    lines = dice.choice((1, 2, 3))
    if lines == 1:
        rows.append(f"  m: {{item: mill0, driven-by: {in_line('w', 10, 'a')}}}")
        return "\n".join([*rows, ""])
    shares = ", ".join(f"{k}: {dice.randint(1, 7)}" for k in "abc"[:lines])
    item = "div" if lines == 2 else "div3"
    top = in_line("w", 2, "t")
    rows.append(f"  d: {{item: {item}, grade: {dice.choice(grades)}, driven-by: {top}, shares: {{{shares}}}}}")
    for number, letter in enumerate("abc"[:lines]):
        count = 3 if lines == 2 else 2 - number // 2
        rows.append(f"  m{letter}: {{item: mill{number}, driven-by: {in_line(f'd.{letter}', count, letter)}}}")
    return "\n".join([*rows, ""])


def opened(folder: Path, seed: int) -> RepairContext:
    """The rig of a seed."""
    dice = Random(f"big/{seed}")
    text = catalogue(dice)
    (folder / "c.catalogue.yaml").write_text(text, encoding="utf-8")
    (folder / "a.rig.yaml").write_text(rig(dice, text), encoding="utf-8")
    loader = Loader(Repository(folder, folder))
    return open_repair_context(loader, loader.rig(folder / "a.rig.yaml"), open_rulebook())


def main() -> int:
    """Time so many rigs."""
    count, first = int(sys.argv[1]), int(sys.argv[2])
    worst: dict[str, tuple[float, int]] = {}

    def timed(what: str, seed: int, start: float) -> None:
        worst[what] = max(worst.get(what, (0.0, -1)), (time.process_time() - start, seed))

    with tempfile.TemporaryDirectory() as name:
        for seed in range(first, first + count):
            folder = Path(name).resolve()
            context = opened(folder, seed)
            start = time.process_time()
            list(offers(context, context.findings, EFFORT_OF_CHECK, SHOWN_BY_CHECK))
            timed("check", seed, start)
            context = opened(folder, seed)
            start = time.process_time()
            list(offers(context, context.findings))
            timed("repair", seed, start)
            for number, part in enumerate(context.rig.parts):
                wanted = wanted_by(part) if part.item.kind == "driven-machine" else None
                if wanted is not None and context.rig.flows.torque_in[number] > 0:
                    start = time.process_time()
                    size(context, number, wanted)
                    timed("size", seed, start)
    for what, (seconds, seed) in worst.items():
        print(f"{what}: at most {seconds:.2f} s of processor time (seed {seed})")  # noqa: T201
    print(f"memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")  # noqa: T201
    return 0


if __name__ == "__main__":
    sys.exit(main())
