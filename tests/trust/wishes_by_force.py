"""Designs of little wishes against brute force: ``python tests/trust/wishes_by_force.py 300 [first]``.

The cheapest is the same, and so is "cannot"; each design is reckoned again by hand and found to hold; none that is
shown is beaten by any design at all.
"""

import resource
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from independent.wish_by_force import beats, catalogue_text, designs, evaluated, little_wish, rig_text

from lineshaft.check.rulebook import Rulebook, open_rulebook
from lineshaft.design.front import shown
from lineshaft.design.search import DesignSearch
from lineshaft.design.supply import Bounds
from lineshaft.design.wish import Wish, lack_of_power, wish_of
from lineshaft.repair.proof.context import open_repair_context
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository

NARROW = Bounds(stages=2, lines=1, deep=1)


def compared(seed: int, folder: Path, book: Rulebook) -> tuple[str, ...]:
    """What a wish was; raises AssertionError where the two differ."""
    wish = little_wish(seed)
    force = designs(wish)
    (folder / "little.catalogue.yaml").write_text(catalogue_text(wish))
    path = folder / "wish.rig.yaml"
    path.write_text(rig_text(wish))
    loader = Loader(Repository(folder, folder))
    context = open_repair_context(loader, loader.rig(path), book)
    found = wish_of(context.rig)
    assert isinstance(found, Wish), (seed, found)
    search = DesignSearch(context, found, bounds=NARROW)
    if lack_of_power(context.rig, found) is None:
        search.run()
    texts = [one.proposal.text for one in shown(search.proved)]
    kinds = ["shared" if len(wish.machines) > len(wish.sources) else "one each or more"]
    if not force:
        assert not texts, (seed, texts[0])
        assert search.complete, (seed, "stopped")
        return ("impossible",)
    assert texts, (seed, force[:3], search.reason(), search.complete)
    ours = [evaluated(wish, text) for text in texts]
    least = min(ours, key=lambda one: (one.cost, one.parts))
    assert search.complete, (seed, "stopped")
    assert abs(least.cost - force[0].cost) < 1e-9, (seed, least, force[0], texts[0])
    fewest = min(force, key=lambda one: one.parts).parts
    assert min(one.parts for one in ours) == fewest, (seed, ours, fewest)
    beaten = [(one, other) for one in ours for other in force if beats(other, one)]
    assert not beaten, (seed, beaten[0])
    text = texts[0]
    kinds += ["combined"] if "item: yoke" in text else []
    kinds += ["lubricated"] if "fill:" in text or "lubrication:" in text else []
    kinds += ["divided"] if "item: fork" in text else []
    return tuple(kinds)


def main() -> int:
    """Compare so many wishes and print what they were."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    book, kinds, failed, start = open_rulebook(), Counter[str](), 0, time.process_time()
    with tempfile.TemporaryDirectory() as name:
        for seed in range(first, first + count):
            try:
                kinds.update(compared(seed, Path(name), book))
            except AssertionError as error:
                failed += 1
                print("differs:", error)  # noqa: T201
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    spent = time.process_time() - start
    print(f"{count - failed} of {count} alike in {spent:.0f} s, {memory:.0f} MB:", dict(kinds))  # noqa: T201
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
