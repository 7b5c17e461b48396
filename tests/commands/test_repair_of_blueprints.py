"""`lineshaft repair` of a blueprint: planned at the edge of its promises, proved in all that use it; by hand."""

import re
from pathlib import Path

import pytest

from lineshaft.cli import run

# At its promise of 100 N*m the leg's stage gives 100 * 5 = 500 N*m, and a stage of this catalogue carries 300.
CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 100 N*m, speed: 8 rad/s}}
  brook: {kind: prime-mover, output: {torque: 45 N*m, speed: 8 rad/s}}
  stage: {kind: gear-stage, torque-limit: 300 N*m, ratios: {5/2: {made-of: {gear: 3}}, 5: {made-of: {gear: 5}}}}
  rod: {kind: shaft}
  mill:
    kind: driven-machine
    needs: {torque: 150 N*m}
    work: {unit: sack, times: [[1.2 rad/s, 110 s], [3.2 rad/s, 60 s]], between: linear}
  pump: {kind: driven-machine, needs: {torque: 150 N*m}, limits: {torque: 900 N*m, speed: 3 rad/s}}
raw: {gear: {worth: 1}}
"""
STRONG = "  strong: {kind: gear-stage, torque-limit: 900 N*m, ratios: {5: {made-of: {gear: 15}}}}\n"
LEG = """blueprint: 1
# Five to one, as built.
catalogue: c.catalogue.yaml
inlets: {in: {torque-up-to: 100 N*m, speed-up-to: 8 rad/s}}
parts:
  rod:  {item: rod, driven-by: in}   # laid by hand
  step: {item: stage, ratio: 5, set: reduce, driven-by: rod}
outlets: {out: step}   # "north" end
"""


def rig(mover: str, machine: str, with_: str = "") -> str:
    return f"""rig: 1
catalogue: c.catalogue.yaml
parts:
  wheel: {{item: {mover}}}
  leg: {{blueprint: leg.blueprint.yaml, driven-by: wheel{with_}}}
  last: {{item: {machine}, driven-by: leg.out}}
"""


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A repository with a catalogue and a leg that breaks at its promise; each test puts its rigs beside them."""
    (tmp_path / ".git").mkdir()
    monkeypatch.chdir(tmp_path)
    write(tmp_path, **{"c.catalogue": CATALOGUE, "leg.blueprint": LEG})
    return tmp_path


def write(folder: Path, **texts: str) -> None:
    for name, text in texts.items():
        (folder / f"{name}.yaml").write_bytes(text.encode())


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str]:
    code = run(list(arguments))
    return code, capsys.readouterr().out


def offered(text: str) -> list[list[str]]:
    """The entries of the lists, each text in one line: number, repair with effect, cost and bill, machines."""
    found: list[list[str]] = []
    for line in text.splitlines():
        begun = re.match(r" +(\d+)  (.*)", line)
        if begun:
            found.append([begun[1], begun[2]])
        elif found and re.match(" {6}(cost|machines)", line):
            found[-1].append(line.strip())
        elif found and line.startswith("      ") and line.strip():
            found[-1][-1] += f" {line.strip()}"
    return found


def errors(capsys: pytest.CaptureFixture[str], *names: str) -> int:
    return said(capsys, "check", "--no-cache", "--fail-on", "error", *names)[0]


def test_a_repair_mends_the_blueprint_and_both_rigs(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A stronger stage holds 500 N*m in both; one word of the file changes, and every byte around it stays."""
    write(yard, **{"c.catalogue": CATALOGUE.replace("  rod:", f"{STRONG}  rod:"), "a.rig": rig("wheel", "mill")})
    leg = LEG.replace("\n", "\r\n")
    write(yard, **{"b.rig": rig("wheel", "pump"), "leg.blueprint": leg})
    assert errors(capsys, "a.rig.yaml", "b.rig.yaml", "leg.blueprint.yaml") == 1
    code, text = said(capsys, "repair", "leg.blueprint.yaml")
    assert code == 1
    assert "leg.blueprint.yaml is used by a.rig.yaml, b.rig.yaml" in text
    (strong,) = [row for row in offered(text) if row[1].startswith("take strong for step")]
    assert strong[1] == "take strong for step (substitution)"
    assert strong[2:] == ["cost 10 more: +10 gear", "machines: as before"]  # 15 gears in place of 5
    assert said(capsys, "repair", "leg.blueprint.yaml", "--apply", strong[0])[0] == 0
    assert (yard / "leg.blueprint.yaml").read_bytes() == leg.replace("item: stage", "item: strong").encode()
    assert (yard / "a.rig.yaml").read_text() == rig("wheel", "mill")
    assert errors(capsys, "a.rig.yaml", "b.rig.yaml", "leg.blueprint.yaml") == 0


def test_the_machines_of_each_rig_are_named_with_their_rates(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Geared 5/2 : 1 the mill turns at 3.2 rad/s, 60 s a sack, in place of 1.6 rad/s, 100 s: 36 an hour, then 60."""
    write(yard, **{"a.rig": rig("wheel", "mill")})
    code, text = said(capsys, "repair", "leg.blueprint.yaml")
    first = offered(text)[0]
    assert (code, first[1], first[-1]) == (1, "gear step 5/2 : 1 (substitution)", "machines: a.rig.yaml: last 36 → 60")
    assert said(capsys, "repair", "leg.blueprint.yaml", "--apply", "best")[0] == 0
    assert (yard / "leg.blueprint.yaml").read_text() == LEG.replace("ratio: 5", "ratio: 5/2")
    assert errors(capsys, "a.rig.yaml", "leg.blueprint.yaml") == 0


def test_what_breaks_one_of_the_rigs_is_not_offered(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """At 5/2 : 1 the second rig's pump would turn at 3.2 rad/s, over its 3; so nothing is, and nothing is written."""
    write(yard, **{"a.rig": rig("wheel", "mill"), "b.rig": rig("wheel", "pump")})
    code, text = said(capsys, "repair", "leg.blueprint.yaml")
    assert (code, offered(text)) == (1, [])
    assert "no proved repair: " in text
    assert said(capsys, "repair", "leg.blueprint.yaml", "--apply", "best")[0] == 1
    assert (yard / "leg.blueprint.yaml").read_text() == LEG


def test_a_rig_that_another_blueprint_stands_between_counts_too(
    yard: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same pump behind an outer blueprint that puts the leg in place."""
    outer = "parts: {leg: {blueprint: leg.blueprint.yaml, driven-by: in}}\noutlets: {out: leg.out}\n"
    inlets = "inlets: {in: {torque-up-to: 100 N*m, speed-up-to: 8 rad/s}}\n"
    placed = rig("wheel", "pump").replace("leg.blueprint", "outer.blueprint")
    write(yard, **{"b.rig": placed, "outer.blueprint": f"blueprint: 1\ncatalogue: c.catalogue.yaml\n{inlets}{outer}"})
    code, text = said(capsys, "repair", "leg.blueprint.yaml")
    assert (code, offered(text)) == (1, [])
    assert "used by b.rig.yaml, outer.blueprint.yaml" in text


def test_a_promise_is_lowered_where_no_rig_needs_more(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """300 / 5 = 60 N*m at the inlet is what the stage stands, the brook feeds 45; the wheel's 100 would break it."""
    write(yard, **{"a.rig": rig("brook", "mill")})
    _, text = said(capsys, "repair", "leg.blueprint.yaml")
    assert offered(text)[0][1].startswith("promise to stand no more than 60 N*m at in (")
    write(yard, **{"b.rig": rig("wheel", "mill")})
    _, text = said(capsys, "repair", "leg.blueprint.yaml")
    assert all("promise" not in row[1] for row in offered(text))
    (yard / "b.rig.yaml").unlink()
    assert said(capsys, "repair", "leg.blueprint.yaml", "--apply", "best")[0] == 0
    assert (yard / "leg.blueprint.yaml").read_text() == LEG.replace("100 N*m", "60 N*m")
    assert errors(capsys, "a.rig.yaml", "leg.blueprint.yaml") == 0


def test_a_parameter_stays_one(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where the ratio is `$ratio` its default changes; the rig that gives its own 5 feeds little and keeps it."""
    takes = "takes: {ratio: {kind: ratio, default: 5}}\ninlets"
    leg = LEG.replace("ratio: 5", "ratio: $ratio").replace("inlets", takes)
    own = rig("brook", "mill", ", with: {ratio: 5}")
    write(yard, **{"leg.blueprint": leg, "a.rig": own, "b.rig": rig("wheel", "mill")})
    code, text = said(capsys, "repair", "leg.blueprint.yaml")
    first = offered(text)[0]
    assert (code, first[1]) == (1, "gear step 5/2 : 1, by the default of ratio (substitution)")
    assert first[-1] == "machines: b.rig.yaml: last 36 → 60"
    assert said(capsys, "repair", "leg.blueprint.yaml", "--apply", "1")[0] == 0
    assert (yard / "leg.blueprint.yaml").read_text() == leg.replace("default: 5", "default: 5/2")
    assert errors(capsys, "a.rig.yaml", "b.rig.yaml", "leg.blueprint.yaml") == 0


def test_new_stages_bring_their_own_start_up_and_lead_out(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A stage delivered reducing and set otherwise is set in the blueprint's list; nothing there starts an inlet."""
    weak = "  weak: {kind: gear-stage, speed-limit: 20 rad/s, ratios: {5: {made-of: {gear: 5}}}}\n"
    fast = "  fast: {kind: gear-stage, speed-limit: 45 rad/s, ratios: {5: {made-of: {gear: 9}}}}\n"
    leg = LEG.replace("item: stage", "item: weak").replace("reduce", "increase")
    items = CATALOGUE.replace("  rod:", f"{weak}{fast}  rod:").replace("5/2: {made-of: {gear: 3}}, ", "")
    spin = "  spin: {kind: driven-machine, needs: {speed: 30 rad/s}}\n"
    step = "commissioning: [set: {part: leg/step, to: increase}, start: wheel]\n"
    write(yard, **{"c.catalogue": items.replace("raw:", f"{spin}raw:"), "leg.blueprint": leg})
    write(yard, **{"a.rig": rig("wheel", "spin") + step})
    # 8 * 5 = 40 rad/s: over 20 of weak, within 45 of fast.
    assert errors(capsys, "a.rig.yaml", "leg.blueprint.yaml") == 1
    assert said(capsys, "repair", "leg.blueprint.yaml", "--apply", "best")[0] == 0
    after = (yard / "leg.blueprint.yaml").read_text()
    assert "start:" not in after
    assert "set: {part: step, to: increase}" in after
    assert errors(capsys, "a.rig.yaml", "leg.blueprint.yaml") == 0


def test_a_check_says_who_mends_a_blueprint(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A check reads what it is given and what that names; the rigs that use a blueprint are not among it."""
    write(yard, **{"a.rig": rig("wheel", "mill")})
    for name in ("leg.blueprint.yaml", "a.rig.yaml"):
        code, text = said(capsys, "check", "--no-cache", name)
        assert code == 1
        assert "`lineshaft repair leg.blueprint.yaml`" in " ".join(text.split())


def test_a_blueprint_that_nothing_uses_is_proved_alone(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It is said that nothing uses it; a diff shows the change and writes nothing."""
    code, text = said(capsys, "repair", "leg.blueprint.yaml")
    assert (code, "is used by nothing" in text) == (1, True)
    code, text = said(capsys, "repair", "leg.blueprint.yaml", "--diff", "--apply", "1")
    assert code == 0
    changed = [line for line in text.splitlines() if line[:1] in "+-" and line[1:2] not in "+-"]
    assert len(changed) == 2
    assert (yard / "leg.blueprint.yaml").read_text() == LEG


def test_what_only_a_rig_makes_of_a_blueprint_is_left_to_the_rig(
    yard: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """At its default 5/2 : 1 the leg gives 250 N*m, as it may; the rig asks for 5 : 1, so 500 are its own doing."""
    takes = "takes: {ratio: {kind: ratio, default: 5/2}}\ninlets"
    leg = LEG.replace("ratio: 5", "ratio: $ratio").replace("inlets", takes)
    write(yard, **{"leg.blueprint": leg, "a.rig": rig("wheel", "mill", ", with: {ratio: 5}")})
    code, text = said(capsys, "repair", "leg.blueprint.yaml")
    assert (code, "nothing to repair" in text) == (0, True)
    code, text = said(capsys, "repair", "a.rig.yaml")
    assert code == 1
    assert "leg.blueprint.yaml does not have it when judged alone" in text
    assert "`lineshaft repair" not in text
