"""Two rigs that place one blueprint with different loads, in plain figures for sums by hand.

The wheel gives 900 N*m. Rig `a` feeds leg-a 2 of 5, 360 N*m, and leg-b 3 of 5, 540 N*m. Rig `b` feeds all of it to the
works, a blueprint that feeds its own leg-a 2 of 9, 200 N*m, and leg-b 7 of 9, 700 N*m. A leg's shaft stands 300 N*m,
its stock press needs 600 N*m.

| use | shaft, times its limit | press, times what it gets is needed |
| --- | --- | --- |
| a: leg-a | 1.2 | 600 / 360 = 5/3 |
| a: leg-b | 1.8 | 600 / 540 = 10/9 |
| b: works/leg-a | holds | 600 / 200 = 3 |
| b: works/leg-b | 7/3 | gets enough |
"""

from pathlib import Path

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 6 rad/s}}
  shaft: {kind: shaft, torque-limit: 300 N*m}
  divider: {kind: splitter, outlets: 2, shares: any}
  press: {kind: driven-machine, needs: {torque: 600 N*m}}
"""
LEG = """blueprint: 1
name: Leg
catalogue: c.catalogue.yaml
inlets: {in: {torque-up-to: 900 N*m, speed-up-to: 9 rad/s}}
parts:
  rod: {item: shaft, driven-by: in}
  stock: {item: press, driven-by: rod}
"""
A = """rig: 1
name: A
catalogue: c.catalogue.yaml
parts:
  wheel: {item: wheel}
  divide: {item: divider, driven-by: wheel, shares: {a: 2, b: 3}}
  leg-a: {blueprint: leg.blueprint.yaml, driven-by: divide.a}
  leg-b: {blueprint: leg.blueprint.yaml, driven-by: divide.b}
"""
B = """rig: 1
name: B
catalogue: c.catalogue.yaml
parts:
  wheel: {item: wheel}
  works: {blueprint: works.blueprint.yaml, driven-by: wheel}
"""
WORKS = """blueprint: 1
name: Works
catalogue: c.catalogue.yaml
inlets: {in: {torque-up-to: 900 N*m, speed-up-to: 9 rad/s}}
parts:
  divide: {item: divider, driven-by: in, shares: {a: 2, b: 7}}
  leg-a: {blueprint: leg.blueprint.yaml, driven-by: divide.a}
  leg-b: {blueprint: leg.blueprint.yaml, driven-by: divide.b}
"""


def placed_yard(folder: Path) -> Path:
    """The two rigs, two blueprints and their catalogue, in a repository of their own."""
    (folder / ".git").mkdir()
    texts = {"c.catalogue": CATALOGUE, "leg.blueprint": LEG, "works.blueprint": WORKS, "a.rig": A, "b.rig": B}
    for name, text in texts.items():
        (folder / f"{name}.yaml").write_text(text, "utf-8")
    return folder
