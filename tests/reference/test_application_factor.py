"""The application factor's table: Jiang, *Analysis and Design of Machine Elements*, Table 2.1 p. 27, lower ends (seen).

Equal to ISO 6336-6 as remembered (from memory).
"""

from pathlib import Path

from reference.small_rig import solved

from lineshaft.solve.application_factor import TABLE, application_factors

PRINTED = ((1.00, 1.25, 1.50, 1.75), (1.10, 1.35, 1.60, 1.85), (1.25, 1.50, 1.75, 2.00), (1.50, 1.75, 2.00, 2.25))


def test_the_table_is_the_published_one() -> None:
    """Driver rows, machine columns, uniform to heavy."""
    assert TABLE == PRINTED


def test_the_worst_driver_and_machine_count(tmp_path: Path) -> None:
    """A light wheel over a uniform and a heavy machine: 1.85 on the way to the heavy one, 1.10 beside it."""
    items = """wheel: {kind: prime-mover, output: {torque: 8 N*m, speed: 4 rad/s}, shock: light}
  divide: {kind: splitter, shares: any}
  even: {kind: driven-machine}
  rough: {kind: driven-machine, shock: heavy}"""
    parts = """w: {item: wheel}
  d: {item: divide, driven-by: w, shares: {a: 1, b: 1}}
  e: {item: even, driven-by: d.a}
  r: {item: rough, driven-by: d.b}"""
    rig = solved(tmp_path, items, parts)
    assert application_factors(rig.train) == (1.85, 1.85, 1.10, 1.85)
