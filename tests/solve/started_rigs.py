"""Rigs for the tests of start-up and lubricant: text to a solved rig, on a catalogue of round numbers."""

from pathlib import Path

from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository
from lineshaft.solve.solved_rig import SolvedRig, solve_loaded

CATALOGUE = """\
catalogue: 1
name: Trial shop
edition: "1"
lubricants: [flax-oil]
grades:
  iron: {torque-limit: 3 kN*m, speed-limit: 250 rad/s}
items:
  wheel: {kind: prime-mover, output: {torque: 1 kN*m, speed: 8 rad/s}}
  rod: {kind: shaft}
  iron-rod: {kind: shaft, grade: iron}
  stage: {kind: gear-stage, grade: iron, ratios: {5: {made-of: {}}}}
  strong-stage: {kind: gear-stage, ratios: {5: {made-of: {}}}}
  oiled:
    kind: gear-stage
    grade: iron
    ratios: {5: {made-of: {}}}
    lubricant: {kind: flax-oil, holds: 6 L, uses: 0.2 mL/s}
  clutch: {kind: clutch}
  divider: {kind: splitter, outlets: 2, shares: any}
  gatherer: {kind: combiner, inlets: 2}
  mill: {kind: driven-machine}
  press:
    kind: driven-machine
    work: {unit: pressing, times: [[5 rad/s, 40 s], [40 rad/s, 10 s]], between: linear}
    makes: {lubricant: flax-oil, amount: 30 mL}
"""


def solved(folder: Path, body: str) -> SolvedRig:
    """The rig with these lines under its head, solved; it has no faults."""
    folder = folder.resolve()
    (folder / "shop.catalogue.yaml").write_text(CATALOGUE, encoding="utf-8")
    path = folder / "trial.rig.yaml"
    path.write_text(f"rig: 1\nname: Trial\ncatalogue: shop.catalogue.yaml\n{body}", encoding="utf-8")
    rig = solve_loaded(Loader(Repository(folder, folder)).rig(path))
    assert rig.faults == ()
    return rig
