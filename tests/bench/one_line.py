"""A rig in which one prime mover drives everything, through splitters upon splitters; one shaft is too weak."""

CATALOGUE = """catalogue: 1
edition: "1"
grades:
  elm: {torque-limit: 900 N*m}
  iron: {torque-limit: 1200 N*m}
  steel: {torque-limit: 60000 N*m}
items:
  wheel: {kind: prime-mover, output: {torque: 1000 N*m, speed: 400 rad/s}}
  shaft: {kind: shaft, grades: [elm, iron, steel]}
  divider: {kind: splitter, shares: any}
  stage: {kind: gear-stage, ratios: [3/2, 5/3, 5/2, 3], torque-limit: 2000 N*m}
  mill: {kind: driven-machine, needs: {torque: 10 N*m}}
"""


def one_line(parts: int) -> str:
    """About so many parts; the first shaft, in elm, carries the 1,000 N*m of the wheel and may carry 900."""
    lines = ["rig: 1", "catalogue: one-line.catalogue.yaml", "parts:", "  wheel: {item: wheel}"]
    ends = ["wheel"]
    for n in range(1, parts // 5 + 1):
        grade = "elm" if n == 1 else "iron"
        lines += [
            f"  shaft{n}: {{item: shaft, grade: {grade}, driven-by: {ends.pop(0)}}}",
            f"  divide{n}: {{item: divider, driven-by: shaft{n}, shares: {{a: 2, b: 3}}}}",
            f"  a{n}: {{item: stage, ratio: 5/2, set: reduce, driven-by: divide{n}.a}}",
            f"  b{n}: {{item: stage, ratio: 5/3, set: reduce, driven-by: divide{n}.b}}",
        ]
        ends += [f"a{n}", f"b{n}"]
    lines += [f"  mill{n}: {{item: mill, driven-by: {end}}}" for n, end in enumerate(ends)]
    return "\n".join(lines) + "\n"
