"""What a build sheet says beside what a check says: by hand from 700 N·m at 9 rad/s."""

from pathlib import Path

from command_runner import run

CATALOGUE = """catalogue: 1
name: Tern Harbour works
edition: "1"
lubricants: [flax-oil]
items:
  wheel: {kind: prime-mover, output: {torque: 700 N*m, speed: 9 rad/s}}
  slow: {kind: prime-mover, output: {torque: 700 N*m, speed: 7 rad/s}}
  join: {kind: combiner, inlets: 2}
  divide: {kind: splitter, outlets: 3, shares: any}
  pole: {kind: shaft, torque-limit: 500 N*m}
  stage: {kind: gear-stage, lubricant: {kind: flax-oil, holds: 6 L, uses: 0.2 mL/s}, ratios: [3]}
  saw: {kind: driven-machine, needs: {torque: 60 N*m}}
  press:
    kind: driven-machine
    needs: {torque: 60 N*m}
    work: {unit: pressing, times: [[5 rad/s, 40 s], [40 rad/s, 10 s]], between: linear}
    makes: {lubricant: flax-oil, amount: 30 mL}
"""
START = "commissioning:\n  - set: {part: x, to: reduce}\n"


def test_every_tank_and_circuit_is_built(tmp_path: Path) -> None:
    """One press supplies both tanks, and is the last part of either; `x` hangs on both."""
    said = _sheet(
        tmp_path,
        "  w: {item: wheel}\n  d: {item: divide, shares: {a: 1, b: 1, c: 1}, driven-by: w}\n"
        "  x: {item: stage, ratio: 3, set: reduce, driven-by: d.a}\n  m: {item: saw, driven-by: x}\n"
        "  y: {item: stage, ratio: 3, set: reduce, driven-by: d.b}\n  n: {item: saw, driven-by: y}\n"
        "  p: {item: press, driven-by: d.c}\nlubrication:\n"
        "  east: {lubricant: flax-oil, tank: {holds: 40 L, charge: 3 L}, supplied-by: p, feeds: [x]}\n"
        "  west: {lubricant: flax-oil, tank: {holds: 30 L, charge: 5 L}, supplied-by: p, feeds: [x, y]}\n",
    )
    assert "- [ ] `circuit east: a tank of 40 L, charged with 3 L of flax-oil`" in said
    assert "- [ ] `circuit west: a tank of 30 L, charged with 5 L of flax-oil`" in said
    assert "- [ ] `x`: `connect to the circuit east of flax-oil`" in said
    assert "- [ ] `x`: `connect to the circuit west of flax-oil`" in said
    assert "Leave every prime mover stopped until the last list." in said


def test_what_is_filled_with_its_stretch_is_not_filled_again(tmp_path: Path) -> None:
    """The stage holds 6 L and is filled with 5; ten would be too much."""
    said = _sheet(
        tmp_path,
        "  w: {item: wheel}\n  x: {item: stage, ratio: 3, set: reduce, driven-by: w}\n  m: {item: saw, driven-by: x}\n"
        f"{START}  - fill: {{part: x, with: 5 L}}\n  - start: w\n",
    )
    assert [line for line in said.splitlines() if "fill" in line] == [
        "- [ ] `x`: `fill with 5 L of flax-oil`",
        "- 2. `fill x with 5 L of flax-oil`, as with its stretch",
    ]
    assert "- [ ] 3. `start w`" in said


def test_a_step_that_breaks_a_part_is_not_to_be_made(tmp_path: Path) -> None:
    """700 N·m at a pole of 500 are 1.4 times: so says the sheet to print, as Markdown and as a page."""
    parts = "  w: {item: wheel}\n  l: {item: pole, driven-by: w}\n  m: {item: saw, driven-by: l}\n"
    said = _sheet(tmp_path, f"{parts}commissioning:\n  - start: w\n")
    assert "- [ ] 1. `start w` **Do not: `it takes l to 1.4 times its limit`**" in said
    assert "Start no prime mover as it stands" in said
    page = (tmp_path / "t.html").read_text("utf-8")
    assert "start w <strong>Do not: it takes l to 1.4 times its limit</strong>" in page
    assert "Start no prime mover as it stands" in page
    said = _sheet(tmp_path, parts)
    assert "No order of start-up is safe" in said
    assert "No order of start-up is safe" in (tmp_path / "t.html").read_text("utf-8")


def test_what_locks_is_not_to_be_started(tmp_path: Path) -> None:
    """Wheels of 9 and 7 rad/s on one joint."""
    said = _sheet(
        tmp_path,
        "  w: {item: wheel}\n  v: {item: slow}\n  j: {item: join, driven-by: [w, v]}\n  m: {item: saw, driven-by: j}\n"
        "commissioning:\n  - start: w\n  - start: v\n",
    )
    assert "Start no prime mover as it stands" in said


def _sheet(folder: Path, parts: str) -> str:
    (folder / ".git").mkdir(exist_ok=True)
    (folder / "t.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (folder / "t.rig.yaml").write_text(f"rig: 1\nname: Trial\ncatalogue: t.catalogue.yaml\nparts:\n{parts}", "utf-8")
    targets = ("--write", "markdown=t.md", "--write", "html=t.html")
    ran = run(folder, "bom", "t.rig.yaml", "--by-stretch", *targets)
    assert ran.returncode == 0, ran.stderr
    return (folder / "t.md").read_text("utf-8")
