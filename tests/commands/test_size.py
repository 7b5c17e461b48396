"""`lineshaft size`: what it finds by hand, what it writes, and each chain proved again by the public command."""

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from shares import a_few

from lineshaft.cli import run

pytestmark = pytest.mark.usefixtures("wide_page")

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
_CATALOGUE = """\
catalogue: 1
name: Bench
edition: "1"
lubricants: [oil]
grades:
  cheap: {torque-limit: 5 kN*m}
  strong: {torque-limit: 13 kN*m}
items:
  motor: {kind: prime-mover, output: {torque: TORQUE N*m, speed: SPEED rad/s}}
  shaft: {kind: shaft, made-of: {unit: 1}}
  cheap-stage:
    kind: gear-stage
    grade: cheap
    ratios: {3/2: {made-of: {unit: 2}}, 3: {made-of: {unit: 3}}, 5: {made-of: {unit: 4}}, 15/2: {made-of: {unit: 5}}}
  strong-stage:
    kind: gear-stage
    grade: strong
    lubricant: {kind: oil, holds: 2 L, uses: 0.1 mL/s}
    ratios:
      {3/2: {made-of: {unit: 10}}, 3: {made-of: {unit: 15}}, 5: {made-of: {unit: 20}}, 15/2: {made-of: {unit: 25}}}
  wheels: {kind: gear-stage, ratios: {WHEELS}}
  divide: {kind: splitter, outlets: 2, shares: any, made-of: {unit: ENDS}}
  gather: {kind: combiner, inlets: 2}
  clutch: {kind: clutch}
  mill: {kind: driven-machine, needs: {NEEDS}}
raw: {unit: {worth: 1}}
"""
_RIG = """\
rig: 1
name: Bench
catalogue: bench.catalogue.yaml
edition: "1"
parts:
  motor: {item: motor}
  mill: {item: mill, driven-by: motor}
"""
CHOICE = {
    "torque": "6750",
    "speed": "6",
    "needs": "torque: 300 N*m, speed: 135 rad/s",
    "wheels": "1: {}",
    "ends": "1",
}


@pytest.fixture(autouse=True)
def _there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / ".git").mkdir()
    monkeypatch.chdir(tmp_path)


def _checker(rig: str = _RIG, **values: str) -> None:
    text = _CATALOGUE
    for name, value in {**CHOICE, **values}.items():
        text = text.replace(name.upper(), value)
    Path("bench.catalogue.yaml").write_text(text, encoding="utf-8")
    Path("bench.rig.yaml").write_text(rig, encoding="utf-8")


def _sized(rig: str, machine: str, *more: str, code: int = 0) -> dict[str, Any]:
    assert run(["size", rig, machine, "--write", "json=size.json", *more]) == code
    found: dict[str, Any] = json.loads(Path("size.json").read_text(encoding="utf-8"))
    return found


def _chains(document: dict[str, Any]) -> list[list[tuple[str, str, int]]]:
    return [[(s["item"], s["ratio"], s["lines"]) for s in chain["stages"]] for chain in document["chains"]]


def test_two_lines_or_a_strong_stage_first() -> None:
    """6,750 N·m at 6 rad/s, 300 N·m wanted at 135, 22.5 : 1: in two lines or in a strong stage first. Common practice.

    Worths by hand. In two lines a cheap 3 in each, then a cheap 15/2: 3 + 3 + 5, 1 for dividing, 12 and five parts. In
    line a strong 3/2 leaves 4,500 N·m, then cheap 3 and 5: 10 + 3 + 4 = 17, three parts; a strong 3 and a cheap 15/2:
    15 + 5 = 20, two parts. All else costs no less and has no fewer parts.
    """
    _checker()
    document = _sized("bench.rig.yaml", "mill")
    assert document["arrives"]["torque"] == {"value": 6750, "unit": "N*m"}
    assert [(c["lines"], c["repair"]["worth"], c["parts_added"]) for c in document["chains"]] == [
        (2, 12, 5),
        (1, 17, 3),
        (1, 20, 2),
    ]
    first, second, third = _chains(document)
    assert first == [("cheap-stage", "3", 2), ("cheap-stage", "15/2", 1)]
    assert second[0] == ("strong-stage", "3/2", 1)
    assert third == [("strong-stage", "3", 1), ("cheap-stage", "15/2", 1)]
    assert all(chain["gets"]["torque"]["value"] == pytest.approx(300) for chain in document["chains"])
    assert all(chain["gets"]["speed"]["value"] == pytest.approx(135) for chain in document["chains"])


def test_which_is_cheaper_follows_the_catalogue() -> None:
    """With dividing worth 20 two lines cost 31 for five parts: strong and cheap in line, 17 and 20, beat them."""
    _checker(ends="20")
    document = _sized("bench.rig.yaml", "mill")
    assert [(c["lines"], c["repair"]["worth"]) for c in document["chains"]] == [(1, 17), (1, 20)]


def test_thirty_to_one_among_tooth_counts() -> None:
    """30 : 1 exactly is 96/16 × 80/16. *Shigley's*, Ex. 13-3 and 13-4; seen.

    10 N·m at 30 rad/s where 300 N·m and 1 rad/s are needed leave no other ratio; 88/16 twice, 30.25, gives too little
    speed. Nothing is left over.
    """
    wheels = "88/16: {}, 96/16: {}, 80/16: {}, 112/16: {}"
    _checker(torque="10", speed="30", needs="torque: 300 N*m, speed: 1 rad/s", wheels=wheels)
    document = _sized("bench.rig.yaml", "mill", "--stages", "2")
    assert [sorted(stage["ratio"] for stage in chain["stages"]) for chain in document["chains"]] == [["80/16", "96/16"]]
    (chain,) = document["chains"]
    assert chain["overall"] == {"ratio": "30", "set": "reduce"}
    assert [chain["left_over"][name]["value"] for name in ("torque", "speed", "power")] == [0, 0, 0]


def test_an_inexact_ratio_and_what_is_left_over() -> None:
    """120 N·m at 10 rad/s, 30 N·m and 14 rad/s needed: 3/2 : 1 gives 80 at 15. By hand.

    Left over are 50 N·m, 1 rad/s, and of 1,200 W all but 30 · 14 = 420 W.
    """
    _checker(torque="120", speed="10", needs="torque: 30 N*m, speed: 14 rad/s")
    chain = _sized("bench.rig.yaml", "mill")["chains"][0]
    assert (chain["overall"]["ratio"], chain["repair"]["worth"]) == ("3/2", 2)
    over = {name: measure["value"] for name, measure in chain["left_over"].items()}
    assert over == pytest.approx({"torque": 50, "speed": 1, "power": 780})


@pytest.mark.parametrize(
    ("needs", "reason"),
    [
        ("torque: 200 N*m, speed: 10 rad/s", "no ratio helps: 100 N·m at 10 rad/s are 1 kW, and 200 N·m at 10 rad/s"),
        ("torque: 34 N*m, speed: 28 rad/s", "2.8 to 2.941 times what it is, and no chain of up to 4 stages"),
        ("power: 2 kW", "are 1 kW, and it needs 2 kW"),
    ],
)
def test_why_there_is_no_chain(needs: str, reason: str, capsys: pytest.CaptureFixture[str]) -> None:
    """One line that proves it: too little power; no such ratio, where the smallest counts from 2.8 to 2.94 are 14/5.

    Of up to four of 3/2, 3, 5 and 15/2, up or down, 5 · 5 / (3 · 3) = 25/9 comes nearest from below, 3 from above.
    """
    _checker(torque="100", speed="10", needs=needs)
    document = _sized("bench.rig.yaml", "mill", code=1)
    assert document["chains"] == []
    assert reason in document["no_chain"]
    assert reason in capsys.readouterr().out
    if "34" in needs:
        within = "a stage increasing 14/5 : 1 would be within that"
        nearest = f"the nearest are increasing 25/9 : 1 and increasing 3 : 1; {within}"
        assert nearest in document["no_chain"]


def test_grades_that_do_not_stand_it() -> None:
    """108,000 N·m are 13,500 in each of eight lines, and a strong stage stands 13,000. By hand."""
    _checker(torque="108000")
    document = _sized("bench.rig.yaml", "mill", code=1)
    assert "each carries more than its grades may, in one line and in up to 8 side by side" in document["no_chain"]


SIZED = (  # rig, machine
    ("late-planks", "saw"),
    ("small-saw", "saw"),
    ("whole-works", "stone-a"),
    ("round-the-corner", "stone"),
    ("press-fed", "press"),
    ("press-fed", "saw"),
    ("slow-saw", "saw"),
    ("starved-saw", "saw"),
    ("overloaded-step", "roller"),
    ("whole-works", "saw-b"),
)


@pytest.mark.parametrize(("name", "machine"), a_few(SIZED, 6))
def test_every_chain_is_proved_again(name: str, machine: str) -> None:
    """Each chain, applied, leaves the machine neither short nor late, brings no error, and keeps every comment."""
    shutil.copytree(SAMPLES, "works")
    rig = Path(f"works/{name}.rig.yaml")
    was = rig.read_bytes()
    before = _findings(rig)
    count = len(_sized(str(rig), machine)["chains"])
    assert count
    for number in range(1, count + 1):
        rig.write_bytes(was)
        assert run(["size", str(rig), machine, "--apply", str(number)]) == 0
        after = _findings(rig)
        assert {("machine-underdriven", machine), ("target-missed", machine)}.isdisjoint(after)
        assert {pair for pair, level in after.items() if level != "note"} <= before.keys()
        comments = [line for line in was.decode().splitlines() if line.startswith("#")]
        assert [line for line in rig.read_text("utf-8").splitlines() if line.startswith("#")] == comments


def _findings(rig: Path) -> dict[tuple[str, str | None], str]:
    run(["check", "--no-repairs", "--write", "json=found.json", str(rig)])
    found = json.loads(Path("found.json").read_text(encoding="utf-8"))["findings"]
    return {(finding["rule"], finding["part"]): finding["level"] for finding in found}


def test_stages_left_over_go_with_all_that_names_them() -> None:
    """Two stages where one does: the other goes, with its comment, steps, reading and place on the circuit."""
    rig = """\
rig: 1
name: Bench
catalogue: bench.catalogue.yaml
edition: "1"
parts:
  motor: {item: motor}
  # the first stays
  a: {item: strong-stage, ratio: 3/2, set: increase, driven-by: motor}
  # the second goes
  b:
    item: strong-stage
    ratio: 3/2
    set: increase
    driven-by: a
  mill: {item: mill, driven-by: b}
lubrication:
  ring: {lubricant: oil, tank: {holds: 5 L, charge: 4 L}, feeds: [a, b]}
commissioning:
  - set: {part: a, to: increase}
  - set: {part: b, to: increase}
  - start: motor  # at last
readings:
  - {at: b, torque: 44.4 N*m}
"""
    _checker(rig, torque="100", speed="10", needs="torque: 30 N*m, speed: 15 rad/s")
    assert run(["size", "bench.rig.yaml", "mill", "--apply", "1"]) == 0
    assert Path("bench.rig.yaml").read_text("utf-8").splitlines()[5:] == [
        "  motor: {item: motor}",
        "  # the first stays",
        "  a: {item: cheap-stage, ratio: 3/2, set: increase, driven-by: motor}",
        "  mill: {item: mill, driven-by: a}",
        "commissioning:",
        "  - set: {part: a, to: increase}",
        "  - start: motor  # at last",
    ]


def test_a_rig_without_a_list_gets_one_where_stages_need_it() -> None:
    """An increasing stage is delivered reducing, so it has to be set before the start: the file gets a list."""
    _checker(torque="100", speed="10", needs="torque: 30 N*m, speed: 15 rad/s")
    assert run(["size", "bench.rig.yaml", "mill", "--apply", "1"]) == 0
    lines = Path("bench.rig.yaml").read_text("utf-8").splitlines()
    assert lines.index("  - set: {part: mill-step, to: increase}") < lines.index("  - start: motor")
    assert run(["check", "--fail-on", "warning", "bench.rig.yaml"]) == 0


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("bench.rig.yaml", "motor"), "motor is a prime-mover; name a driven machine"),
        (("bench.rig.yaml", "mil"), "did you mean mill?"),
        (("nothing.rig.yaml", "mill"), "is not a rig file"),
        (("bench.rig.yaml", "mill", "--apply", "99"), "--apply takes 1 to"),
        (("bench.rig.yaml", "mill", "--write", "csv=x"), "--write takes json=FILE"),
    ],
)
def test_what_cannot_be_sized(
    arguments: tuple[str, ...], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2 with what to name instead, and the file is left alone."""
    _checker()
    assert run(["size", *arguments]) == 2
    assert message in capsys.readouterr().err
    assert Path("bench.rig.yaml").read_text("utf-8") == _RIG


_SLOW_WORK = ", work: {unit: sack, times: [[5 rad/s, 70 s], [9 rad/s, 40 s]], between: linear}"


@pytest.mark.parametrize(("parts", "mill", "message"), [
    ("  mill: {item: mill}\n", "", "mill is not solved or nothing drives it: see `lineshaft check bench.rig.yaml`"),
    ("  mill: {item: mill, target: {time: 3 s}, driven-by: motor}\n", _SLOW_WORK,
     "no speed in the work table of mill meets its target; give it another target"),
    ("  mill: {item: mill, driven-by: motor}\n", "", "mill needs nothing and has no target: there is nothing to size"),
    ("  yard: {blueprint: yard.blueprint.yaml}\n", "", "what drives yard/mill stands in yard.blueprint.yaml alone"),
])  # fmt: skip
def test_a_machine_that_nothing_can_be_sized_for(
    parts: str, mill: str, message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Undriven, too slow at any speed, in want of nothing, and fed within a blueprint: exit 2 and what to look at."""
    _checker("rig: 1\ncatalogue: bench.catalogue.yaml\nparts:\n  motor: {item: motor}\n" + parts)
    quay = Path("bench.catalogue.yaml")
    bare = "{kind: driven-machine" + mill + "}"
    text = quay.read_text("utf-8").replace("{kind: driven-machine, needs: {torque: 300 N*m, speed: 135 rad/s}}", bare)
    quay.write_text(text, "utf-8")
    Path("yard.blueprint.yaml").write_text(
        "blueprint: 1\ncatalogue: bench.catalogue.yaml\nparts:\n  motor: {item: motor}\n"
        "  mill: {item: mill, driven-by: motor}\n",
        "utf-8",
    )
    machine = "yard/mill" if "yard" in parts else "mill"
    assert run(["size", "bench.rig.yaml", machine]) == 2
    assert message in capsys.readouterr().err


def test_no_more_than_eight_chains_are_shown() -> None:
    """Nine ratios, each faster and dearer than the one before: the eight cheapest are shown, and that it stops there.

    900 N*m at 6 rad/s carry every ratio up to 9 : 1, 100 N*m, and the mill works the faster the faster it turns.
    """
    ratios = "3/2", "5/2", "3", "7/2", "9/2", "5", "6", "7", "9"
    offered = ", ".join(f"{ratio}: {{made-of: {{unit: {10 + 3 * n}}}}}" for n, ratio in enumerate(ratios))
    _checker(torque="900", needs="torque: 90 N*m, speed: 7 rad/s", wheels=offered)
    quay = Path("bench.catalogue.yaml")
    start, end = quay.read_text("utf-8").split("  cheap-stage:")
    text = start + end[end.index("  wheels:") :].replace("rad/s}}\n", "rad/s}, work: {WORK}}\n")
    work = "unit: sack, times: [[5 rad/s, 90 s], [60 rad/s, 7 s]], between: linear"
    quay.write_text(text.replace("WORK", work), "utf-8")
    document = _sized("bench.rig.yaml", "mill", "--stages", "1")
    assert [chain["stages"][0]["ratio"] for chain in document["chains"]] == list(ratios[:8])
    assert not document["complete"]


def test_a_search_that_stops_before_its_end_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """With five steps allowed nothing is found, though 3 : 1 and 15/2 : 1 would do."""
    monkeypatch.setattr("lineshaft.repair.size.MOST_EFFORT", 5)
    _checker()
    document = _sized("bench.rig.yaml", "mill", code=1)
    said = "times what it is, and there are chains of up to 4 stages; the search stopped at its bound and found none"
    assert said in document["no_chain"]


def test_shafts_that_do_not_stand_the_whole_are_in_each_of_the_lines(capsys: pytest.CaptureFixture[str]) -> None:
    """A reed of 500 N*m under 900 is doubled with the stage behind it, 450 N*m in each, 1,125 behind the stages.

    Both reeds are of larch; with a reed that stays as it is the words name it as the catalogue does.
    """
    catalogue = """\
catalogue: 1
name: Quay
edition: "1"
grades: {larch: {torque-limit: 500 N*m}, pine: {torque-limit: 300 N*m}}
items:
  motor: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  reed: {kind: shaft, grades: [pine, larch], made-of: {bar: 2}}
  light: {kind: gear-stage, torque-limit: 1200 N*m, ratios: {5/2: {made-of: {bar: 4}}}}
  fork: {kind: splitter, outlets: 2, shares: [[1, 1]], made-of: {bar: 3}}
  joint: {kind: combiner, inlets: 2, made-of: {bar: 3}}
  mill: {kind: driven-machine, needs: {torque: 2.1 kN*m, speed: 3 rad/s}}
raw: {bar: {worth: 1}}
"""
    Path("bench.catalogue.yaml").write_text(catalogue, encoding="utf-8")
    line = "  lay: {item: reed, grade: larch, driven-by: motor}\n  mill: {item: mill, driven-by: lay}\n"
    rig = _RIG.replace("name: Bench", "name: Quay").replace("  mill: {item: mill, driven-by: motor}\n", line)
    Path("bench.rig.yaml").write_text(rig, encoding="utf-8")
    document = _sized("bench.rig.yaml", "mill", "--apply", "1")
    assert _chains(document) == [[("light", "5/2", 2)]]
    assert "2 lines side by side (each reed, then light 5/2 : 1 reducing)" in capsys.readouterr().out
    text = Path("bench.rig.yaml").read_text("utf-8")
    assert text.count("{item: reed, grade: larch, driven-by: lay-split.") == 2
    assert run(["check", "--fail-on", "warning", "bench.rig.yaml"]) == 0


def test_a_chain_that_cannot_be_written_is_named_with_the_reason() -> None:
    """One stage of 5 : 1 would do, in place of two of 3 : 1; the second stands in a way that is not taken out."""
    rig = _RIG.replace(
        "  mill: {item: mill, driven-by: motor}\n",
        "  a: {item: wheels, ratio: 3, set: increase, driven-by: motor}\n"
        "  ? b\n  : {item: wheels, ratio: 3, set: increase, driven-by: a}\n"
        "  mill: {item: mill, driven-by: b}\n",
    )
    _checker(rig, torque="900", needs="torque: 180 N*m, speed: 30 rad/s", wheels="3: {}, 5: {}")
    quay = Path("bench.catalogue.yaml")
    start, end = quay.read_text("utf-8").split("  cheap-stage:")
    quay.write_text(start + end[end.index("  wheels:") :], "utf-8")
    document = _sized("bench.rig.yaml", "mill", "--stages", "1", code=1)
    said = "one chain does by the numbers, but the file cannot be changed so where it stands: wheels 5 : 1 increasing"
    assert document["no_chain"] == said


def test_of_very_many_chains_beside_the_bounds_none_is_called_the_nearest() -> None:
    """Twenty ratios from 3 to 3.19: three stages come near 3 or 27 in thousands of ways, and never to 4 to 4.1.

    One up, one up and one down alone are 20 * 21 / 2 * 20 = 4,200 ways.
    """
    wheels = ", ".join(f"{300 + n}/100: {{}}" for n in range(20))
    _checker(torque="410", speed="10", needs="torque: 100 N*m, speed: 40 rad/s", wheels=wheels)
    quay = Path("bench.catalogue.yaml")
    start, end = quay.read_text("utf-8").split("  cheap-stage:")
    quay.write_text(start + end[end.index("  wheels:") :], "utf-8")
    document = _sized("bench.rig.yaml", "mill", "--stages", "3", code=1)
    assert document["no_chain"] == (
        "the speed must become 4 to 4.1 times what it is, and no chain of up to 3 stages of the catalogue has such a"
        " ratio"
    )


def test_a_line_behind_a_blueprint() -> None:
    """A stone in place of the pump behind three legs gets 328 N·m at 8 rad/s: 5/2 at 96 % leaves 125.9 at 20. By hand.

    The new stage is driven by the leg's outlet as the file names it, and nothing in the blueprint is touched.
    """
    shutil.copytree(SAMPLES, "works")
    rig, leg = Path("works/three-stones.rig.yaml"), Path("works/blueprints/stone-leg.blueprint.yaml")
    rig.write_text(rig.read_text("utf-8").replace("item: bilge-pump", "item: grindstone"), encoding="utf-8")
    was = leg.read_bytes()
    document = _sized(str(rig), "pump", "--apply", "1")
    assert _chains(document)[0] == [("open-stage", "5/2", 1)]
    assert document["chains"][0]["gets"]["torque"]["value"] == pytest.approx(900 * (5 / 7) ** 3 / 2.5 * 0.96)
    assert "ratio: 5/2, set: increase, driven-by: leg-c.on}" in rig.read_text("utf-8")
    assert leg.read_bytes() == was
    assert {rule for rule, _ in _findings(rig)}.isdisjoint({"machine-underdriven", "unknown-reference"})
    gets = _sized(str(rig), "leg-a/stone")["chains"][0]
    assert (gets["parts_added"], gets["repair"]["worth"]) == (0, 0)


def test_a_machine_behind_an_open_clutch(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing arrives there, so nothing can be geared: exit 2 and why."""
    rig = _RIG.replace(
        "mill: {item: mill, driven-by: motor}",
        "c: {item: clutch, engaged: false, driven-by: motor}\n  mill: {item: mill, driven-by: c}",
    )
    _checker(rig)
    assert run(["size", "bench.rig.yaml", "mill"]) == 2
    assert "a clutch above is open" in capsys.readouterr().err


@pytest.mark.parametrize(("kind", "arguments"), [("size", ("size", "RIG", "saw")), ("bill", ("bom", "RIG"))])
def test_documents_fit_their_published_schemas(
    kind: str, arguments: tuple[str, ...], capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    """What is written is what `lineshaft schema` describes, and a stray key is refused."""
    assert run(["schema", kind]) == 0
    schema = json.loads(capfdbinary.readouterr().out)
    for name in ("late-planks", "overloaded-step", "starved-saw"):
        rig = str(SAMPLES / f"{name}.rig.yaml")
        machine = "roller" if name == "overloaded-step" else "saw"
        told = [rig if word == "RIG" else machine if word == "saw" else word for word in arguments]
        assert run([*told, "--write", "json=-"]) == 0
        document = json.loads(capfdbinary.readouterr().out)
        jsonschema.Draft202012Validator(schema).validate(document)
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.Draft202012Validator(schema).validate({**document, "stray": 1})


def test_two_runs_give_the_same_bytes() -> None:
    """Whatever the hash seed."""
    import os
    import sys

    rig = str(SAMPLES / "late-planks.rig.yaml")
    command = [sys.executable, "-P", "-m", "lineshaft", "size", rig, "saw", "--write", "json=-"]
    seen = [
        subprocess.run(command, env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True, check=True).stdout
        for seed in ("1", "2")
    ]
    assert seen[0] == seen[1]


def test_four_lines_side_by_side_of_two_way_ends() -> None:
    """900 N·m, stages that stand 260: two lines carry 450 each, three 300, four 225; repair finds the same. By hand."""
    catalogue = """\
catalogue: 1
name: Quay
edition: "1"
items:
  motor: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  light: {kind: gear-stage, torque-limit: 260 N*m, ratios: {5/2: {made-of: {bar: 4}}}}
  fork: {kind: splitter, outlets: 2, shares: any, made-of: {bar: 3}}
  joint: {kind: combiner, inlets: 2, made-of: {bar: 3}}
  mill: {kind: driven-machine, needs: {torque: 310 N*m, speed: 19 rad/s}}
raw: {bar: {worth: 1}}
"""
    Path("bench.catalogue.yaml").write_text(catalogue, encoding="utf-8")
    Path("bench.rig.yaml").write_text(_RIG.replace("name: Bench", "name: Quay"), encoding="utf-8")
    (chain,) = _sized("bench.rig.yaml", "mill")["chains"]
    assert (chain["lines"], chain["repair"]["worth"], chain["parts_added"]) == (4, 4 * 4 + 6 * 3, 10)
    assert run(["check", "--write", "json=found.json", "bench.rig.yaml"]) == 1
    (finding,) = json.loads(Path("found.json").read_text(encoding="utf-8"))["findings"]
    assert [repair["worth"] for repair in finding["repairs"]] == [34]
    assert run(["size", "bench.rig.yaml", "mill", "--apply", "1"]) == 0
    assert run(["check", "--fail-on", "note", "bench.rig.yaml"]) == 0


def test_a_catalogue_without_a_stage_that_changes_speed(capsys: pytest.CaptureFixture[str]) -> None:
    """900 N·m where 2 kN·m are needed: at most 0.45 times the speed and no least one, so 3 : 1 is the simplest."""
    Path("c.catalogue.yaml").write_text(
        'catalogue: 1\nedition: "1"\nitems:\n'
        "  motor: {kind: prime-mover, output: {torque: 900 N*m, speed: 6 rad/s}}\n"
        "  mill: {kind: driven-machine, needs: {torque: 2 kN*m}}\n",
        encoding="utf-8",
    )
    Path("c.rig.yaml").write_text(_RIG.replace("bench.catalogue", "c.catalogue"), encoding="utf-8")
    assert run(["size", "c.rig.yaml", "mill"]) == 1
    said = capsys.readouterr().out
    assert "at most 0.45 times what it is, and the catalogue has no stage that changes speed" in said
    assert "a stage reducing 3 : 1 would be within that" in said


def test_what_stands_on_the_line_is_made_to_hold_as_well() -> None:
    """A reed rated 500 N·m under 900 gives way to a rod that stands them, 3 bars for 2: no chain leaves what breaks."""
    catalogue = """\
catalogue: 1
name: Quay
edition: "1"
items:
  motor: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  reed: {kind: shaft, torque-limit: 500 N*m, made-of: {bar: 2}}
  rod: {kind: shaft, torque-limit: 1100 N*m, made-of: {bar: 3}}
  mill: {kind: driven-machine, needs: {torque: 850 N*m}}
raw: {bar: {worth: 1}}
"""
    Path("bench.catalogue.yaml").write_text(catalogue, encoding="utf-8")
    line = "  lay: {item: reed, driven-by: motor}\n  mill: {item: mill, driven-by: lay}\n"
    rig = _RIG.replace("name: Bench", "name: Quay").replace("  mill: {item: mill, driven-by: motor}\n", line)
    Path("bench.rig.yaml").write_text(rig, encoding="utf-8")
    (chain,) = _sized("bench.rig.yaml", "mill", "--apply", "1")["chains"]
    assert (chain["repair"]["title"], chain["repair"]["worth"], chain["stages"]) == ("rod", 1, [])
    assert run(["check", "--fail-on", "note", "bench.rig.yaml"]) == 0


_LOSSY = """\
catalogue: 1
edition: "1"
items:
  motor: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  worn-shaft: {kind: shaft, efficiency: 0.9}
  worn-stage: {kind: gear-stage, delivered: increase, efficiency: 0.5, ratios: {5/2: {}}}
  stage: {kind: gear-stage, delivered: increase, ratios: {5/2: {}STAGES}}
  divide: {kind: splitter, outlets: 2, shares: [[1, 1]]}
  mill: {kind: driven-machine, needs: {NEEDS}}
"""


def test_less_loss_above_the_line_is_named_where_power_lacks(capsys: pytest.CaptureFixture[str]) -> None:
    """900 / (5/2) / 2 · 0.5 = 90 N·m at 20 rad/s of 140; by the stage that loses nothing 180 come, and that holds."""
    Path("c.catalogue.yaml").write_text(
        _LOSSY.replace("STAGES", "").replace("NEEDS", "torque: 140 N*m, speed: 20 rad/s"), encoding="utf-8"
    )
    text = (
        "rig: 1\nname: Quay\ncatalogue: c.catalogue.yaml\nparts:\n  motor: {item: motor}\n"
        "  step: {item: worn-stage, ratio: 5/2, set: increase, driven-by: motor}\n"
        "  half: {item: divide, driven-by: step, shares: {a: 1, b: 1}}\n"
        "  mill: {item: mill, driven-by: half.a}\n  other: {item: mill, driven-by: half.b}\n"
    )
    Path("c.rig.yaml").write_text(text, encoding="utf-8")
    assert run(["size", "c.rig.yaml", "mill"]) == 1
    assert "only more power helps: a larger share, less loss or more" in capsys.readouterr().out
    Path("c.rig.yaml").write_text(text.replace("worn-stage", "stage"), encoding="utf-8")
    assert run(["check", "c.rig.yaml"]) == 0


def test_a_ratio_within_the_bounds_is_not_said_to_do(capsys: pytest.CaptureFixture[str]) -> None:
    """900 · 0.9 N·m at 8 rad/s are just 720 at 9: 9/8 alone does, and 5/4, the simplest ratio within, gives 648."""
    rig = _RIG.replace("bench.catalogue", "c.catalogue").replace("mill, driven-by: motor", "mill, driven-by: lay")
    Path("c.rig.yaml").write_text(f"{rig}  lay: {{item: worn-shaft, driven-by: motor}}\n", encoding="utf-8")
    needs = _LOSSY.replace("NEEDS", "torque: 720 N*m, speed: 9 rad/s")
    for stages, code, said in (
        ("", 1, "and no chain of up to 1 stages of the catalogue has such a ratio"),
        (", 5/4: {}", 1, "and there are chains of up to 1 stages, but each carries more"),
        (", 9/8: {}", 0, "increasing 9/8 : 1"),
    ):
        Path("c.catalogue.yaml").write_text(needs.replace("STAGES", stages), encoding="utf-8")
        assert run(["size", "c.rig.yaml", "mill", "--stages", "1"]) == code
        out = capsys.readouterr().out
        assert said in out and "would do" not in out
