"""What `lineshaft audit` says in one sentence is so, whatever was read: by hand from 700 N·m at 9 rad/s."""

from pathlib import Path

from command_runner import run

CATALOGUE = """catalogue: 1
name: Tern Harbour works
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 700 N*m, speed: 9 rad/s}}
  slow: {kind: prime-mover, output: {torque: 700 N*m, speed: 7 rad/s}}
  step: {kind: gear-stage, ratios: [3, 6]}
  six: {kind: splitter, outlets: 6, shares: [[1, 2, 3, 5, 7, 9]]}
  join: {kind: combiner, inlets: 2}
  saw: {kind: driven-machine, needs: {torque: 10 N*m}}
"""
TWO = """  w: {item: wheel}
  m: {item: saw, driven-by: w}
  v: {item: wheel}
  n: {item: saw, driven-by: v}
readings:
  - {at: w, torque: 700 N*m, speed: 9 rad/s}
"""


def test_nothing_less_is_said_only_where_all_was_tried(tmp_path: Path) -> None:
    """700 N·m at 1 : 2 : 3 : 5 : 7 : 9 are 25.93 N·m a share. Six are read at `ma`, reduced 3 : 1, three at `mb`.

    Shares of 2 : 3 : 1 : 5 : 7 : 9 alone would do, one deviation; of six outlets not every order is tried.
    """
    machines = "".join(f"  m{name}: {{item: saw, driven-by: d.{name}}}\n" for name in "bcdef")
    said = _audited(
        tmp_path,
        "  w: {item: wheel}\n  d: {item: six, shares: {a: 1, b: 2, c: 3, d: 5, e: 7, f: 9}, driven-by: w}\n"
        "  r: {item: step, ratio: 3, set: reduce, driven-by: d.a}\n  ma: {item: saw, driven-by: r}\n"
        f"{machines}readings:\n  - {{at: ma, torque: 155.6 N*m}}\n  - {{at: mb, torque: 77.78 N*m}}\n",
    )
    assert "2 deviations together explain every reading" in said
    assert "; of what was tried nothing less does." in said


def test_what_stands_where_nothing_is_computed_does_not_agree(tmp_path: Path) -> None:
    """Wheels of 9 and 7 rad/s lock where they meet: nothing is computed for the saw below, where 1,400 N·m are read."""
    joined = (
        "  w: {item: wheel}\n  v: {item: slow}\n  j: {item: join, driven-by: [w, v]}\n"
        "  m: {item: saw, driven-by: j}\n"
    )
    readings = "readings:\n  - {at: m, torque: 1400 N*m}\n  - {at: w, torque: 700 N*m}\n"
    said = _audited(tmp_path, f"{joined}{readings}")
    assert run(tmp_path, "audit", "t.rig.yaml").returncode == 2  # it cannot be told
    assert "Every reading agrees" not in said
    assert "Every reading that can be computed agrees with what is computed." in said
    apart = (
        "  x: {item: wheel}\n  y: {item: step, ratio: 3, set: reduce, driven-by: x}\n"
        "  z: {item: saw, driven-by: y}\n"
    )
    said = _audited(
        tmp_path, f"{joined}{apart}readings:\n  - {{at: m, torque: 1400 N*m}}\n  - {{at: z, speed: 27 rad/s}}\n"
    )
    assert "One deviation explains every reading that can be computed" in said


def test_wrong_readings_are_no_deviations(tmp_path: Path) -> None:
    """Each saw gets the 700 N·m of its own wheel, which was read there; 930 and 950 at the saws are misread.

    Where the second wheel was not read, its own torque may be less as well.
    """
    said = _audited(
        tmp_path, TWO + "  - {at: m, torque: 930 N*m}\n  - {at: v, torque: 700 N*m}\n  - {at: n, torque: 950 N*m}\n"
    )
    assert "2 wrong readings together explain every reading; nothing less does." in said
    assert "the reading at m is wrong: all else on its line agrees" in said
    said = _audited(tmp_path, TWO + "  - {at: m, torque: 930 N*m}\n  - {at: n, torque: 350 N*m}\n")
    assert "One deviation and one wrong reading together explain every reading" in said


def _audited(folder: Path, parts: str) -> str:
    (folder / ".git").mkdir(exist_ok=True)
    (folder / "t.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (folder / "t.rig.yaml").write_text(f"rig: 1\ncatalogue: t.catalogue.yaml\nparts:\n{parts}", "utf-8")
    return " ".join(run(folder, "audit", "t.rig.yaml").stdout.split())
