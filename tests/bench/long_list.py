"""A rig with as many commissioning steps as parts, all of them sound."""

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 100 N*m, speed: 4 rad/s}}
  stage: {kind: gear-stage, ratios: [5/2], torque-limit: 150 N*m}
  mill: {kind: driven-machine, needs: {torque: 35 N*m}}
"""


def long_list(trains: int) -> str:
    """So many trains of three parts and three steps; left reducing, a stage would carry 250 N*m of its 150."""
    lines = ["rig: 1", "catalogue: long.catalogue.yaml", "parts:"]
    for n in range(trains):
        lines += [
            f"  w{n}: {{item: wheel}}",
            f"  s{n}: {{item: stage, ratio: 5/2, set: increase, driven-by: w{n}}}",
            f"  m{n}: {{item: mill, driven-by: s{n}}}",
        ]
    lines.append("commissioning:")
    lines += [f"  - set: {{part: s{n}, to: increase}}" for n in range(trains)]
    lines += [f"  - couple: s{n}" for n in range(trains)]
    lines += [f"  - start: w{n}" for n in range(trains)]
    return "\n".join(lines) + "\n"
