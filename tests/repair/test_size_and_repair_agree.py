"""The same cheapest line from `size` and `repair`, with a margin of the site and without one."""

from pathlib import Path

import pytest

from lineshaft.check.checker import Checker
from lineshaft.check.rulebook import open_rulebook
from lineshaft.repair.plan.planner import plan
from lineshaft.repair.proof.context import open_repair_context
from lineshaft.repair.size import size, wanted_by

CATALOGUE = """catalogue: 1
edition: "1"
grades:
  iron: {torque-limit: 2.7 kN*m}
  steel: {torque-limit: 9 kN*m}
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  iron-stage: {kind: gear-stage, grade: iron, ratios: {5/2: {made-of: {bar: 5}}, 3: {made-of: {bar: 6}}}}
  steel-stage: {kind: gear-stage, grade: steel, ratios: {5/2: {made-of: {bar: 15}}, 3: {made-of: {bar: 14}}}}
  divide: {kind: splitter, outlets: 2, shares: any, made-of: {bar: 3}}
  gather: {kind: combiner, inlets: 2, made-of: {bar: 3}}
  stone: {kind: driven-machine, needs: {torque: 1.9 kN*m, speed: 2 rad/s}}
raw: {bar: {worth: 1}}
"""
RIG = """rig: 1
catalogue: c.catalogue.yaml
parts:
  wheel: {item: wheel}
  stone: {item: stone, driven-by: wheel}
"""


@pytest.mark.parametrize(
    ("policy", "worths"),
    [
        # 900 · 5/2 = 2,250 N·m on iron of 2,700, for 5.
        ("", [5.0]),
        # 2,700 / 2,250 = 1.2 is too thin. Steel 3 : 1 for 14: 9,000 / 2,700 = 3.3. Two iron lines of 1,125 N·m each,
        # 2.4 times, cost 5 + 5 and 3 + 3 for the ends: 16.
        ("margins: {torque: 1.5}\n", [14.0]),
    ],
)
def test_both_find_the_cheapest_that_the_margin_leaves(tmp_path: Path, policy: str, worths: list[float]) -> None:
    """1,900 N·m at 2 rad/s wanted of 900 at 8: 2.11 to 4 : 1 reducing. By hand."""
    folder = tmp_path.resolve()
    for name, text in {"c.catalogue": CATALOGUE, "a.rig": RIG, "lineshaft.policy": f"policy: 1\n{policy}"}.items():
        (folder / f"{name}.yaml").write_text(text, "utf-8")
    resolved = Checker(folder, open_rulebook()).resolved(folder / "a.rig.yaml")
    loaded = resolved.loader.rig(folder / "a.rig.yaml")
    context = open_repair_context(resolved.loader, loaded, resolved.book, resolved.policy)
    (finding,) = [found for found in context.findings if found.rule == "machine-underdriven"]
    stone = context.rig.rig.index["stone"]
    wanted = wanted_by(context.rig.parts[stone])
    assert wanted is not None
    sized = size(context, stone, wanted)
    assert [chain.repair.worth for chain in sized.found][:1] == worths
    repaired = plan(context, finding)
    assert [repair.worth for repair in repaired.repairs][:1] == worths
    assert sized.found[0].repair.edits == repaired.repairs[0].edits
