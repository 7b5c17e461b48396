"""A rig's verdict holds what it places, in every output; a fault of a blueprint is told once, as its worst use."""

import json
from pathlib import Path
from typing import Any

import jsonschema
import junitparser
import pytest
from commands.placed_yard import placed_yard

from lineshaft.cli import run

pytestmark = pytest.mark.usefixtures("wide_page")

RIGS = ("a.rig.yaml", "b.rig.yaml")
SCHEMA = Path(__file__).resolve().parents[2] / "schema" / "findings.schema.json"


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(placed_yard(tmp_path))
    return tmp_path


def written(capsys: pytest.CaptureFixture[str], name: str, *arguments: str) -> tuple[int, str]:
    """Exit code and document of a check."""
    code = run(["check", "--no-cache", "--date", "2026-03-02", *arguments, *([f"--write={name}=-"] if name else [])])
    return code, capsys.readouterr().out


def document(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    """The JSON of a check, once it fits its schema."""
    found: dict[str, Any] = json.loads(written(capsys, "json", *arguments)[1])
    jsonschema.validate(found, json.loads(SCHEMA.read_text("utf-8")))
    return found


def by_rule(found: dict[str, Any], rule: str) -> dict[str, Any]:
    """The only finding of a rule."""
    (finding,) = [finding for finding in found["findings"] if finding["rule"] == rule]
    return dict(finding)


def uses(finding: dict[str, Any]) -> list[tuple[str, str, int]]:
    return [(use["file"], use["part"], use["start"]["line"]) for use in finding["uses"]]


def waive(yard: Path, *rows: str) -> None:
    """Waivers at the end of rig `a`."""
    text = (yard / "a.rig.yaml").read_text("utf-8")
    lines = "".join(f"  - {{{row}, reason: proof-loaded, until: 2027-03-31}}\n" for row in rows)
    (yard / "a.rig.yaml").write_text(f"{text}waivers:\n{lines}", "utf-8")


def test_one_finding_tells_the_worst_use_and_holds_all(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The shaft is worst at 7/3 in `b`; the press at 600 / 200, where the first use has 600 / 360."""
    found = document(capsys, *RIGS)
    rod, stock = by_rule(found, "torque-over-limit"), by_rule(found, "machine-underdriven")
    assert (rod["file"], rod["part"], rod["pointer"]) == ("leg.blueprint.yaml", "rod", "/parts/rod")
    assert rod["values"]["times_limit"]["value"] == pytest.approx(7 / 3, rel=1e-12)
    assert [use["values"]["times_limit"]["value"] for use in rod["uses"]] == pytest.approx([1.2, 1.8, 7 / 3])
    placed = [("a.rig.yaml", "leg-a/rod", 7), ("a.rig.yaml", "leg-b/rod", 8), ("b.rig.yaml", "works/leg-b/rod", 6)]
    assert uses(rod) == placed
    assert (stock["message"], stock["level"]) == ("gets 200 N·m and needs 600 N·m", "error")
    assert [use["values"]["torque"]["value"] for use in stock["uses"]] == pytest.approx([360, 540, 200])
    assert uses(stock)[2] == ("b.rig.yaml", "works/leg-a/stock", 6)


def test_findings_count_once_and_rigs_by_what_they_place(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two faults in the summary; rig `a` has both in both of its legs, rig `b` each in one."""
    found = document(capsys, *RIGS)
    assert (found["summary"]["files"], found["summary"]["errors"]) == (2, 2)
    verdict = {"holds": False, "warnings": 0, "notes": 0, "unsolved": 0}
    assert found["rigs"] == [
        {"file": "a.rig.yaml", "errors": 4, **verdict},
        {"file": "b.rig.yaml", "errors": 2, **verdict},
    ]
    assert found["includes"] == ["c.catalogue.yaml", "leg.blueprint.yaml", "works.blueprint.yaml"]


def test_a_folder_includes_nothing_that_it_holds(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All five files are found in the folder; a leg by itself carries 900 of 300: three times, the worst."""
    found = document(capsys, ".")
    assert (found["summary"]["files"], found["includes"]) == (5, [])
    rod = by_rule(found, "torque-over-limit")
    assert rod["values"]["times_limit"]["value"] == pytest.approx(3)
    assert ("leg.blueprint.yaml", "rod", 6) in uses(rod)
    assert ("works.blueprint.yaml", "leg-b/rod", 8) in uses(rod)
    assert [rig["file"] for rig in found["rigs"]] == list(RIGS)


def test_the_fingerprint_is_the_blueprints_wherever_it_shows(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One rig, the other, the blueprint by itself: the same."""
    found = [by_rule(document(capsys, name), "torque-over-limit") for name in (*RIGS, "leg.blueprint.yaml")]
    assert len({finding["fingerprint"] for finding in found}) == 1


def test_junit_fails_in_the_rig_that_places_it(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A suite for each rig, a failure for each use by its name there; none for files that were not judged."""
    suites = list(junitparser.JUnitXml.fromstring(written(capsys, "junit", *RIGS)[1].encode()))
    assert [(s.name, s.tests, s.failures) for s in suites] == [("a.rig.yaml", 4, 4), ("b.rig.yaml", 2, 2)]
    assert {case.name.split(" (")[0] for case in suites[1]} == {
        "error: torque-over-limit works/leg-b/rod",
        "error: machine-underdriven works/leg-a/stock",
    }


def test_the_report_says_which_rigs_do_not_hold(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The headline, the table and each rig's own verdict; the finding leads to its part in the drawing."""
    text = written(capsys, "html", *RIGS)[1]
    assert "Do not connect power: 2 of 2 rigs do not hold" in text
    assert text.count("does not hold</strong>: ") == 2
    assert "holds</strong>" not in text.replace("does not hold</strong>", "")
    assert "Inspected 2 files, 12 parts: 2 errors" in text
    assert 'href="#rig-2-part-' in text
    assert "works/leg-a/stock" in text
    worst = text[text.index('class="worst"') : text.index("</ol>")]
    assert worst.count("<li data-finding") == 2


def test_a_blueprint_and_no_rig_has_a_headline_too(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The leg by itself does not hold: a file and no rig."""
    assert "Do not connect power: 1 of 1 file does not hold" in written(capsys, "html", "leg.blueprint.yaml")[1]
    (yard / "a.rig.yaml").unlink()
    (yard / "b.rig.yaml").unlink()
    assert "Do not connect power: 2 of 3 files do not hold" in written(capsys, "html", ".")[1]


def test_the_sheet_tells_each_fault_once_and_each_rig_that_it_brings_down(
    yard: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A line at each rig, then the blueprint's own block with the worst use and the others."""
    code, text = written(capsys, "", *RIGS)
    assert code == 1
    assert "in what it places: 4 errors; see leg.blueprint.yaml below" in text
    assert "in what it places: 2 errors; see leg.blueprint.yaml below" in text
    assert "leg.blueprint.yaml  (placed by a.rig.yaml, b.rig.yaml)" in text
    assert text.count("(torque-over-limit)") == text.count("(machine-underdriven)") == 1
    joined = " ".join(text.split())
    assert "in b.rig.yaml as works/leg-a/stock, the worst of 3; also leg-a/stock in a.rig.yaml" in joined
    assert "since   leg-b/stock has it too: gets 540 N·m and needs 600 N·m\n             a.rig.yaml:8:" in text
    assert "2 errors, 0 warnings, 0 notes. 2 of 2 rigs do not hold. error: 1 machine-underdriven" in joined


@pytest.mark.parametrize(("name", "mark"), [("github", "::error "), ("gitlab", '"check_name"'), ("sarif", '"ruleId"')])
def test_one_entry_a_fault_names_its_worst_use_and_the_others(
    yard: Path, capsys: pytest.CaptureFixture[str], name: str, mark: str
) -> None:
    """Two faults, two entries, though there are six uses."""
    text = written(capsys, name, *RIGS)[1]
    assert text.count(mark) == 2
    joined = " ".join(text.split())
    assert "in b.rig.yaml as works/leg-a/stock, the worst of 3; also leg-a/stock in a.rig.yaml" in joined


def test_markdown_has_a_row_a_fault(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With the worst use in it and the others behind."""
    text = written(capsys, "markdown", *RIGS)[1]
    rows = [line for line in text.splitlines() if line.startswith("| error ")]
    assert len(rows) == 2
    assert "in b.rig.yaml as works/leg-a/stock, the worst of 3" in text


def test_the_worst_that_counts_is_told_and_the_whole_passes_only_with_all(
    yard: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """In rig `a`, 1.8 times is waived: 1.2 counts and is told. Once it is waived too, nothing counts, exit 0."""
    press = "rule: machine-underdriven, part: leg-{}/stock"
    shaft = "rule: torque-over-limit, part: leg-{}/rod, up-to: 1.9"
    waive(yard, press.format("a"), press.format("b"), shaft.format("b"))
    found = document(capsys, "a.rig.yaml")
    rod, stock = by_rule(found, "torque-over-limit"), by_rule(found, "machine-underdriven")
    assert (rod["waived"], rod["values"]["times_limit"]["value"]) == (None, pytest.approx(1.2))
    assert [use["waived"] is not None for use in rod["uses"]] == [False, True]
    assert stock["waived"] is not None
    assert (found["summary"]["errors"], found["summary"]["waived"]) == (1, 1)
    assert found["rigs"][0]["errors"] == 1
    text = (yard / "a.rig.yaml").read_text("utf-8")
    more = shaft.format("a")
    (yard / "a.rig.yaml").write_text(f"{text}  - {{{more}, reason: proof-loaded, until: 2027-03-31}}\n", "utf-8")
    found = document(capsys, "a.rig.yaml")
    assert (found["summary"]["errors"], found["summary"]["waived"], found["rigs"][0]["holds"]) == (0, 2, True)
    assert written(capsys, "", "a.rig.yaml")[0] == 0
    assert by_rule(document(capsys, *RIGS), "torque-over-limit")["waived"] is None


def test_a_part_of_an_inner_blueprint_that_an_outer_names_is_told_in_the_outers_names(
    yard: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The works' own list fills a stage in its leg: there the part is `leg-b/step`, in the rig `works/leg-b/step`."""
    text = (yard / "c.catalogue.yaml").read_text("utf-8")
    stage = "  stage: {kind: gear-stage, ratios: {3: {}}, lubricant: {kind: flax-oil, holds: 6 L, uses: 1 mL/s}}\n"
    (yard / "c.catalogue.yaml").write_text(text.replace("items:", "lubricants: [flax-oil]\nitems:") + stage, "utf-8")
    leg = (yard / "leg.blueprint.yaml").read_text("utf-8")
    step = "  step: {item: stage, ratio: 3, set: reduce, driven-by: rod}\n"
    (yard / "leg.blueprint.yaml").write_text(leg.replace("  stock:", f"{step}  stock:"), "utf-8")
    works = (yard / "works.blueprint.yaml").read_text("utf-8")
    works += "commissioning:\n  - fill: {part: leg-b/step, with: 7 L}\n"
    (yard / "works.blueprint.yaml").write_text(works, "utf-8")
    finding = by_rule(document(capsys, "b.rig.yaml"), "lubricant-overfill")
    assert (finding["file"], finding["part"]) == ("works.blueprint.yaml", "leg-b/step")
    assert uses(finding) == [("b.rig.yaml", "works/leg-b/step", 6)]


def test_a_fault_of_the_file_is_known_by_where_the_file_stands(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An item that is not there, in the leg of two rigs: once, with each place where the leg stands."""
    leg = (yard / "leg.blueprint.yaml").read_text("utf-8")
    (yard / "leg.blueprint.yaml").write_text(leg.replace("item: shaft", "item: shft"), "utf-8")
    finding = by_rule(document(capsys, *RIGS), "unknown-reference")
    assert (finding["file"], finding["part"]) == ("leg.blueprint.yaml", "rod")
    parts = ["leg-a/rod", "leg-b/rod", "works/leg-a/rod", "works/leg-b/rod"]
    assert [part for _, part, _ in uses(finding)] == parts


def test_what_is_remembered_says_the_same(
    yard: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """The second look takes each rig's verdict from the first, uses and all: what looks for repairs fails by then."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("kept")))
    fresh = written(capsys, "json", *RIGS)
    options = ["check", "--date", "2026-03-02", "--write=json=-", *RIGS]
    assert (run(options), capsys.readouterr().out) == fresh

    def fails(*_: object) -> None:
        raise AssertionError

    monkeypatch.setattr("lineshaft.repair.plan.fix_budget.with_repairs", fails)
    assert (run(options), capsys.readouterr().out) == fresh


def test_an_impact_tells_each_use_apart(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The wheel gave 1200 N*m: leg-a, with 480 of 600, was short and gets worse; leg-b, which had 720, newly breaks."""
    text = (yard / "c.catalogue.yaml").read_text("utf-8")
    old = text.replace("torque: 900", "torque: 1200").replace('edition: "1"', 'edition: "0"')
    (yard / "old.catalogue.yaml").write_text(old, "utf-8")
    arguments = ["impact", "old.catalogue.yaml", "c.catalogue.yaml", "a.rig.yaml"]
    assert run([*arguments, "--write", "json=-"]) == 1
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, json.loads(SCHEMA.with_name("impact.schema.json").read_text("utf-8")))
    (rig,) = found["rigs"]
    for key, part, needed in (("broken", "leg-b/stock", 600 / 540), ("worse", "leg-a/stock", 600 / 360)):
        (each,) = rig[key]
        (use,) = each["finding"]["uses"]
        assert (each["finding"]["part"], use["file"], use["part"]) == ("stock", "a.rig.yaml", part)
        values = use["values"]
        assert values["torque_needed"]["value"] / values["torque"]["value"] == pytest.approx(needed)
        assert [rating["name"] for rating in each["blame"]] == ["wheel"]
    assert run(arguments) == 1
    said = capsys.readouterr().out
    assert "machine-underdriven  part leg-b/stock  at leg.blueprint.yaml line 7, column 3 (new)" in said
    assert "machine-underdriven  part leg-a/stock  at leg.blueprint.yaml line 7, column 3 (worse)" in said


def test_a_repair_tells_a_fault_of_a_blueprint_once(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """As its worst use: of the presses of rig `a` that with 360 N*m."""
    assert run(["repair", "a.rig.yaml", "--date", "2026-03-02"]) == 1
    said = capsys.readouterr().out
    assert said.count("(torque-over-limit)") == said.count("(machine-underdriven)") == 1
    assert "stock gets 360 N·m and needs 600 N·m.\n" in said
    assert "      in a.rig.yaml as leg-a/stock, the worst of 2; also leg-b/stock\n" in said


def test_a_drawing_marks_the_part_in_its_place(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All four findings are listed by the parts' names in the rig."""
    assert run(["draw", "a.rig.yaml", "-o", "a.svg"]) == 0
    drawing = (yard / "a.svg").read_text("utf-8")
    for part in ("leg-a/rod", "leg-b/rod", "leg-a/stock", "leg-b/stock"):
        rule = "torque-over-limit" if part.endswith("rod") else "machine-underdriven"
        assert f"{rule} at {part}: " in drawing


def test_what_is_left_out_of_a_joint_repair_is_named_once(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Four uses of two faults: two lines, each with where it is mended."""
    assert run(["repair", "a.rig.yaml", "--apply", "best", "--diff", "--date", "2026-03-02"]) == 1
    said = capsys.readouterr()
    left = [line for line in (said.out + said.err).splitlines() if line.startswith("left out: ")]
    assert sorted(line.split(" at line")[0] for line in left) == [
        "left out: machine-underdriven part stock",
        "left out: torque-over-limit part rod",
    ]
