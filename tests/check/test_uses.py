"""What is wrong inside a blueprint is told once, in its file and its words, with the lines that put it in place."""

import json
from datetime import date
from pathlib import Path

import pytest

from lineshaft.check.checker import Checker
from lineshaft.check.finding import Finding, report
from lineshaft.check.rulebook import open_rulebook
from lineshaft.check.uses import inside_blueprints
from lineshaft.schema.text.span import TOP
from lineshaft.solve.solved_rig import solve_loaded
from lineshaft.write.findings_json import findings_json
from lineshaft.write.summary import FileReport, Run, counts

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 160 N*m, speed: 4 rad/s}}
  big: {kind: prime-mover, output: {torque: 320 N*m, speed: 4 rad/s}}
  shaft: {kind: shaft, torque-limit: 100 N*m}
  divider: {kind: splitter, outlets: 2, shares: any}
  mill: {kind: driven-machine}
"""
# The shaft stands on line 6: half of what is fed, against 100 N*m.
LEG = """blueprint: 1
catalogue: c.catalogue.yaml
inlets: {in: {torque-up-to: 900 N*m, speed-up-to: 9 rad/s}}
outlets: {out: d.on}
parts:
  s: {item: shaft, driven-by: d.off}
  m: {item: mill, driven-by: s}
  d: {item: divider, driven-by: in, shares: {off: 1, on: 1}}
"""


def checker(folder: Path, **texts: str) -> Checker:
    (folder / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (folder / "leg.blueprint.yaml").write_text(LEG, "utf-8")
    for name, text in texts.items():
        (folder / f"{name}.yaml").write_text(text, "utf-8")
    return Checker(folder.resolve(), open_rulebook(), day=date(2026, 1, 1))


def rig(*parts: str, mover: str = "wheel", below: str = "") -> str:
    """A rig whose first line of its own is line 5."""
    lines = "".join(f"  {part}\n" for part in (f"w: {{item: {mover}}}", *parts))
    return f"rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n{lines}{below}"


def in_line(count: int, end: str = "mill") -> list[str]:
    """So many legs, each on what the one before hands on: half of it."""
    drivers = ["w", *(f"l{n}.out" for n in range(count))]
    legs = [f"l{n}: {{blueprint: leg.blueprint.yaml, driven-by: {drivers[n]}}}" for n in range(count)]
    return [*legs, f"end: {{item: {end}, driven-by: l{count - 1}.out}}"]


def reports(found: Checker, *names: str) -> tuple[FileReport, ...]:
    kinds = {"rig": "rig", "blueprint": "blueprint"}
    files = [(found.working / f"{name}.yaml", kinds[name.rpartition(".")[2]]) for name in names]
    return tuple(found.report(path, kind) for path, kind in files)  # type: ignore[arg-type]


def only(found: tuple[FileReport, ...]) -> Finding:
    (finding,) = Run("1", found).findings
    return finding


def uses(finding: Finding) -> list[tuple[str, int, str | None]]:
    """File, line that puts the blueprint in place (or the part's own, where it stands by itself) and part there."""
    found = []
    for use in finding.uses:
        span = use.placement.lines[0].span if use.placement is not None else use.span
        found.append((use.home[0], span.start.line, use.home[1]))
    return found


def test_one_fault_in_three_uses_is_one_finding_about_the_worst(tmp_path: Path) -> None:
    """960 N*m in: 480, 240, 120 in the shafts of three legs, all over 100; the worst is told: 4.8 times."""
    catalogue = CATALOGUE.replace("320 N*m", "960 N*m")
    yard = checker(tmp_path)
    (tmp_path / "c.catalogue.yaml").write_text(catalogue, "utf-8")
    (tmp_path / "a.rig.yaml").write_text(rig(*in_line(3), mover="big"), "utf-8")
    finding = next(f for f in Run("1", reports(yard, "a.rig")).findings if f.rule == "torque-over-limit")
    assert (finding.file, finding.part, finding.span.start) == ("leg.blueprint.yaml", "s", (6, 3))
    assert dict(finding.values)["times_limit"].value == pytest.approx(4.8, rel=1e-12)
    assert uses(finding) == [("a.rig.yaml", 5, "l0/s"), ("a.rig.yaml", 6, "l1/s"), ("a.rig.yaml", 7, "l2/s")]
    assert [cause.part for cause in finding.because[-3:]] == ["l0", "l1/s", "l2/s"]
    assert [dict(cause.values)["times_limit"].value for cause in finding.because[-2:]] == pytest.approx([2.4, 1.2])
    assert finding.because[0].part == "w"


def test_a_use_within_its_limits_is_not_named(tmp_path: Path) -> None:
    """160 N*m in: 80 holds; from 320 the first shaft carries 160, the second 80."""
    yard = checker(tmp_path, **{"a.rig": rig(*in_line(2)), "b.rig": rig(*in_line(2), mover="big")})
    assert reports(yard, "a.rig")[0].findings == ()
    assert uses(only(reports(yard, "b.rig"))) == [("b.rig.yaml", 5, "l0/s")]


def test_two_rigs_share_one_finding(tmp_path: Path) -> None:
    """It stands on the sheets of both, and on the blueprint's own where that is judged too; a run tells it once."""
    leg = rig(*in_line(1), mover="big")
    yard = checker(tmp_path, **{"a.rig": leg, "b.rig": leg})
    found = reports(yard, "a.rig", "b.rig")
    assert [len(sheet.findings) for sheet in found] == [1, 1]
    assert uses(only(found)) == [("a.rig.yaml", 5, "l0/s"), ("b.rig.yaml", 5, "l0/s")]
    found = reports(yard, "a.rig", "b.rig", "leg.blueprint")
    assert [len(sheet.findings) for sheet in found] == [1, 1, 1]
    assert uses(only(found))[2] == ("leg.blueprint.yaml", 6, "s")
    # Alone at its edge, 900 N*m: 450 against 100.
    assert dict(only(found).values)["times_limit"].value == pytest.approx(4.5, rel=1e-12)
    assert counts(Run("1", found)).errors == 1


def test_the_fingerprint_is_that_of_the_blueprint(tmp_path: Path) -> None:
    """However often and by whatever name it is placed."""
    renamed = rig(*(line.replace("l0", "elsewhere") for line in in_line(1)), mover="big")
    yard = checker(tmp_path, **{"a.rig": rig(*in_line(1), mover="big"), "b.rig": renamed})
    prints = {only(reports(yard, name)).fingerprint for name in ("a.rig", "b.rig", "leg.blueprint")}
    assert len(prints) == 1


def test_a_waived_use_leaves_the_other_to_count(tmp_path: Path) -> None:
    """The shaft of the first leg is waived by its name in the rig; that of the second leg is not, so nothing passes."""
    waiver = "waivers: [{rule: torque-over-limit, part: l0/s, up-to: 2, reason: proof-loaded, until: 2030-01-01}]\n"
    two = rig(
        "d: {item: divider, driven-by: w, shares: {a: 1, b: 1}}",
        "l0: {blueprint: leg.blueprint.yaml, driven-by: d.a}",
        "l1: {blueprint: leg.blueprint.yaml, driven-by: d.b}",
        "e: {item: mill, driven-by: l0.out}",
        "f: {item: mill, driven-by: l1.out}",
        mover="big",
        below=waiver,
    )
    (tmp_path / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    yard = checker(tmp_path, **{"a.rig": two, "leg.blueprint": LEG.replace("off: 1, on: 1", "off: 9, on: 1")})
    finding = next(f for f in Run("1", reports(yard, "a.rig")).findings if f.rule == "torque-over-limit")
    assert not finding.passes
    assert finding.home == ("a.rig.yaml", "l1/s")
    assert [(use.home[1], use.waived is not None) for use in finding.uses] == [("l0/s", True), ("l1/s", False)]


def test_messages_speak_the_blueprints_names(tmp_path: Path) -> None:
    """An open outlet inside is `e.b`, not `l0/e.b`; the chain keeps the names of the rig."""
    divider = "e: {item: divider, driven-by: d.off, shares: {a: 1, b: 1}}"
    leg = LEG.replace("s: {item: shaft, driven-by: d.off}", divider)
    yard = checker(tmp_path, **{"a.rig": rig(*in_line(1))})
    (tmp_path / "leg.blueprint.yaml").write_text(leg.replace("driven-by: s}", "driven-by: e.a}"), "utf-8")
    finding = only(reports(yard, "a.rig"))
    assert (finding.rule, finding.file, finding.part) == ("loose-end", "leg.blueprint.yaml", "e")
    assert finding.message[0] == "e.b drives nothing: "
    assert "l0/e" in [cause.part for cause in finding.because] or "l0/d" in [cause.part for cause in finding.because]


def test_an_outlet_that_the_rig_leaves_open_is_the_rigs(tmp_path: Path) -> None:
    """At the line that places the blueprint, by the outlet's name there."""
    finding = only(reports(checker(tmp_path, **{"a.rig": rig(*in_line(1)[:1])}), "a.rig"))
    assert (finding.rule, finding.file, finding.part) == ("loose-end", "a.rig.yaml", "l0")
    assert finding.span.start == (5, 3)
    assert finding.message[0] == "l0.out drives nothing: "


def test_many_uses_are_counted_not_listed(tmp_path: Path) -> None:
    """Beside the one that is told ten of thirteen uses are shown; one more entry speaks for itself and two others."""
    parts = [f"w{n}: {{item: big}}" for n in range(14)]
    parts += [f"l{n}: {{blueprint: leg.blueprint.yaml, driven-by: w{n}}}" for n in range(14)]
    parts += [f"e{n}: {{item: mill, driven-by: l{n}.out}}" for n in range(14)]
    text = "rig: 1\ncatalogue: c.catalogue.yaml\nparts:\n" + "".join(f"  {part}\n" for part in parts)
    found = reports(checker(tmp_path, **{"a.rig": text}), "a.rig")
    finding = only(found)
    assert len(finding.uses) == 14
    assert [cause.part for cause in finding.because[-12:]] == ["l0", *(f"l{n}/s" for n in range(1, 12))]
    assert "and so do 2 more uses" in str(finding.because[-1].message)
    document = json.loads(findings_json(Run("1", found)))
    assert {entry["file"] for entry in document["findings"][0]["because"]} == {"a.rig.yaml", "leg.blueprint.yaml"}


def test_the_order_of_the_files_changes_nothing(tmp_path: Path) -> None:
    """Rigs judged in any order, merged in the order of their files as a check does, give the same document."""
    texts = {f"{name}.rig": rig(*in_line(1), mover="big") for name in "abc"}
    one, other = checker(tmp_path, **texts), checker(tmp_path, **texts)
    names = ("a.rig", "b.rig", "c.rig", "leg.blueprint")
    for name in reversed(names):
        reports(other, name)
    assert findings_json(Run("1", reports(one, *names))) == findings_json(Run("1", reports(other, *names)))


def test_what_a_rule_says_of_a_part_elsewhere_than_in_a_blueprint_stays_as_it_is(tmp_path: Path) -> None:
    """At an item of the catalogue, about a part of the rig itself: no blueprint has it, so nothing is renamed."""
    yard = checker(tmp_path, **{"a.rig": rig(*in_line(1))})
    solved = solve_loaded(yard.plain_loader(yard.working / "a.rig.yaml").rig(yard.working / "a.rig.yaml"))
    at_catalogue = (solved.catalogue.tree.source.shown, TOP, ())
    found = report(at_catalogue, "end", ("its item is older than the rig",)).finding("planted", "note")
    assert inside_blueprints(solved, [found]) == [found]


def test_what_stands_in_a_blueprint_s_file_has_its_names_and_what_stands_in_the_rig_s_keeps_them(
    tmp_path: Path,
) -> None:
    """A shaft is `s` in the leg's file; at a step in the rig's, for instance, it has its whole name."""
    yard = checker(tmp_path, **{"a.rig": rig(*in_line(1))})
    solved = solve_loaded(yard.plain_loader(yard.working / "a.rig.yaml").rig(yard.working / "a.rig.yaml"))
    shaft = next(part for part in solved.parts if part.uses and part.item.kind == "shaft")
    leg = shaft.tree.source.shown

    def told(file: str, part: str | None) -> Finding:
        return report((file, TOP, ()), part, (f"{shaft.name} turns",)).finding("planted", "note")

    inside, own, nobody = told(leg, shaft.name), told(solved.file, shaft.name), told(leg, None)
    renamed, *same = inside_blueprints(solved, [inside, own, nobody])
    assert same == [own, nobody]
    assert (shaft.name.endswith("/s"), renamed.part, renamed.message) == (True, "s", ("s turns",))
    assert renamed.placement is not None
    assert renamed.placement[:2] == (solved.file, shaft.name)
    assert inside_blueprints(solved, [renamed]) == [renamed]
