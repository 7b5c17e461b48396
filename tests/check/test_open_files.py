"""Files judged while somebody writes them: the verdict is that of a check of the same bytes."""

from datetime import date
from pathlib import Path
from typing import NoReturn

import pytest

from lineshaft.api import (
    JudgedFinding,
    apply_edits,
    check_path,
    repairs_of,
    safe_start_up,
    sizes_of,
    users_of,
    with_settings_mended,
)
from lineshaft.check.judged_finding import Repair
from lineshaft.check.open_files import Judgement, OpenFiles
from lineshaft.testing import CATALOGUE

RIG = """rig: 1
catalogue: works.catalogue.yaml
parts:
  wheel: {item: wheel}
  step: {item: stage, grade: pine, ratio: 5/2, set: reduce, driven-by: wheel}
  press: {item: press, driven-by: step}
commissioning:
  - start: wheel
"""
# 900 N*m * 5/2 = 2250 N*m; pine stands 1500 N*m: 1.5 times.


@pytest.fixture
def rig(tmp_path: Path) -> Path:
    """The rig with its catalogue in a repository."""
    (tmp_path / ".git").mkdir()
    (tmp_path / "works.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    path = tmp_path / "a.rig.yaml"
    path.write_text(RIG, "utf-8")
    return path.resolve()


def rules(judgement: Judgement) -> list[str]:
    """The rules of what was found."""
    return [finding.rule for finding in judgement.findings]


def test_a_text_takes_the_place_of_the_file_and_goes_again(rig: Path) -> None:
    """Larch stands 5 kN*m."""
    files = OpenFiles(rig.parent)
    assert rules(files.judge(rig, {})) == ["torque-over-limit"]
    assert rules(files.judge(rig, {rig: RIG.replace("pine", "larch").encode()})) == []
    assert rules(files.judge(rig, {})) == ["torque-over-limit"]


def test_whatever_the_verdict_hangs_on_is_asked_again(rig: Path) -> None:
    """A catalogue that changes, goes and comes back; a policy that appears, is wrong, is right, leaves the file out."""
    files = OpenFiles(rig.parent)
    catalogue, policy = rig.parent / "works.catalogue.yaml", rig.parent / "lineshaft.policy.yaml"
    assert rules(files.judge(rig, {})) == ["torque-over-limit"]
    catalogue.write_text(CATALOGUE.replace("1500 N*m", "2500 N*m"), "utf-8")
    assert rules(files.judge(rig, {})) == []
    catalogue.unlink()
    assert rules(files.judge(rig, {})) == ["unknown-reference"]
    catalogue.write_text(CATALOGUE, "utf-8")
    assert rules(files.judge(rig, {})) == ["torque-over-limit"]
    policy.write_text("policy: 1\nlevels: {torque-over-limit: note}\n", "utf-8")
    assert [finding.level for finding in files.judge(rig, {}).findings] == ["note"]
    policy.write_text("policy: 1\nlevels: {no-such-rule: note}\n", "utf-8")
    found = files.judge(rig, {})
    assert rules(found) == ["not-schema"] and found.resolved is None
    policy.write_text('policy: 1\nexclude: ["a.*"]\n', "utf-8")
    found = files.judge(rig, {})
    assert found.left_out and rules(found) == []
    policy.unlink()
    assert rules(files.judge(rig, {})) == ["torque-over-limit"]


def test_what_others_read_by_a_judgement_is_not_taken_for_what_the_next_one_reads(rig: Path) -> None:
    """A blueprint that somebody looked at before the rig used it: it is read again when it changes."""
    leg = rig.parent / "leg.blueprint.yaml"
    inlets = "inlets: {drive: {torque-up-to: 1 kN*m, speed-up-to: 9 rad/s}}"
    leg.write_text(
        f"blueprint: 1\ncatalogue: works.catalogue.yaml\n{inlets}\n"
        "parts:\n  press: {item: press, driven-by: drive}\n",
        "utf-8",
    )
    files = OpenFiles(rig.parent)
    first = files.judge(rig, {})
    assert first.resolved is not None and first.resolved.loader.blueprint(leg.resolve())[0] is not None
    head = "rig: 1\ncatalogue: works.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n"
    using = {rig: f"{head}  leg: {{blueprint: leg.blueprint.yaml, driven-by: {{drive: wheel}}}}\n".encode()}
    assert rules(files.judge(rig, using)) == []
    leg.write_text(leg.read_text("utf-8").replace("item: press", "item: pres"), "utf-8")
    assert rules(files.judge(rig, using)) == ["unknown-reference"]


def test_texts_of_catalogues_and_policies_that_are_not_saved_count(rig: Path) -> None:
    """The catalogue's while it is open, and the disk's again when it is closed."""
    files = OpenFiles(rig.parent)
    catalogue = (rig.parent / "works.catalogue.yaml").resolve()
    stronger = {catalogue: CATALOGUE.replace("1500 N*m", "2500 N*m").encode()}
    assert rules(files.judge(rig, stronger)) == []
    assert rules(files.judge(rig, {})) == ["torque-over-limit"]
    broken = files.judge(catalogue, {catalogue: b"catalogue: 1\nitems: [\n"})
    assert "not-yaml" in rules(broken)
    stock = (rig.parent / "own.stock.yaml").resolve()
    stock.write_text("stock: 1\ncatalogue: works.catalogue.yaml\nitems:\n  - {item: wheel, count: 3}\n", "utf-8")
    assert rules(files.judge(stock, {})) == []
    assert rules(files.judge(stock, {stock: stock.read_bytes().replace(b"wheel", b"whel")})) == ["unknown-reference"]
    (rig.parent / "lineshaft.policy.yaml").write_text("policy: 1\n", "utf-8")
    policy = (rig.parent / "lineshaft.policy.yaml").resolve()
    softer = {policy: b"policy: 1\nlevels: {torque-over-limit: warning}\n"}
    assert [finding.level for finding in files.judge(rig, softer).findings] == ["warning"]


def test_what_was_read_is_kept_as_long_as_nothing_changes(rig: Path) -> None:
    """Two verdicts on a rig read its catalogue once; once more when the catalogue is another one."""
    files = OpenFiles(rig.parent)
    files.judge(rig, {})
    first = files._checker
    files.judge(rig, {rig: RIG.replace("5/2", "7").encode()})
    files.judge(rig, {})
    assert files._checker is first
    (rig.parent / "works.catalogue.yaml").write_text(CATALOGUE + "\n", "utf-8")
    files.judge(rig, {})
    second = files._checker
    assert second is not first
    (rig.parent / "lineshaft.policy.yaml").write_text("policy: 1\nlevels: {no-such-rule: note}\n", "utf-8")
    assert files.judge(rig, {}).resolved is None
    third = files._checker
    assert files.judge(rig, {}).resolved is None
    assert third is not second and files._checker is not third  # of what could not be judged nothing is kept


def test_a_waiver_ends_with_its_day(rig: Path) -> None:
    """Also while the file stays open over midnight."""
    waiver = "{rule: torque-over-limit, part: step, up-to: 1.7, reason: tried, until: 2026-11-30}"
    text = {rig: f"{RIG}waivers:\n  - {waiver}\n".encode()}
    files = OpenFiles(rig.parent)
    assert files.judge(rig, text, date(2026, 11, 30)).findings[0].passes
    late = files.judge(rig, text, date(2026, 12, 1))
    assert rules(late) == ["torque-over-limit", "waiver-expired"]
    assert not any(finding.passes for finding in late.findings)


def test_the_verdict_is_that_of_a_check_after_many_others(rig: Path) -> None:
    """In every field: what was judged before leaves nothing behind."""
    files = OpenFiles(Path.cwd().resolve())
    for text in (RIG[:40], RIG.replace("wheel", "whel"), "", RIG.replace("5/2", "7")):
        files.judge(rig, {rig: text.encode()})
    once = [JudgedFinding(f.rule, f.level, f.file, f.span, f.route, f.part, f.message) for f in check_path(rig)]
    again = files.judge(rig, {}).findings
    assert [JudgedFinding(f.rule, f.level, f.file, f.span, f.route, f.part, f.message) for f in again] == once


def test_each_kind_is_judged_as_what_it_is(rig: Path) -> None:
    """Rigs and blueprints have a rig that was solved, a catalogue what was read; all get a check's verdict."""
    texts = {
        "b.blueprint.yaml": """blueprint: 1
catalogue: works.catalogue.yaml
inlets: {in: {}}
parts: {s: {item: shaft, driven-by: in}}
""",
        "works.catalogue.yaml": CATALOGUE,
        "own.stock.yaml": "stock: 1\ncatalogue: works.catalogue.yaml\nhave: {no-such-item: 3}\n",
        "lineshaft.policy.yaml": "policy: 1\n",
    }
    for name, text in texts.items():
        (rig.parent / name).write_text(text, "utf-8")
    files = OpenFiles(rig.parent)
    judged = {name: files.judge(rig.parent / name, {}) for name in ("a.rig.yaml", *texts)}
    assert [name for name, one in judged.items() if one.inspected is not None] == ["a.rig.yaml", "b.blueprint.yaml"]
    assert judged["works.catalogue.yaml"].tree is not None
    for name, one in judged.items():
        assert rules(one) == [finding.rule for finding in check_path(rig.parent / name)], name


def test_a_file_that_is_none_of_ours_is_refused(rig: Path) -> None:
    """With what it would have to be called."""
    with pytest.raises(ValueError, match=r"\*\.rig\.yaml"):
        OpenFiles(rig.parent).judge(rig.parent / "notes.txt", {})


def test_what_mends_a_judged_rig_is_had_from_its_judgement(rig: Path) -> None:
    """Repairs that hold; settings and names alone; no size of what is no machine; a first list."""
    judgement = OpenFiles(rig.parent).judge(rig, {})
    made = repairs_of(judgement, judgement.findings[0], 3)
    assert made.repairs
    for repair in made.repairs:
        mended = {rig: apply_edits(RIG, repair.edits).encode()}
        assert rules(OpenFiles(rig.parent).judge(rig, mended)) == []
    settings = with_settings_mended(judgement)  # the stage the other way round: 900 / (5/2) = 360 N*m
    assert settings is not None and "grade: pine, ratio: 5/2, set: increase" in settings
    assert rules(OpenFiles(rig.parent).judge(rig, {rig: settings.encode()})) == []
    assert sizes_of(judgement, "step") == ("step is a gear-stage; name a driven machine",)
    misspelt = OpenFiles(rig.parent).judge(rig, {rig: RIG.replace("driven-by: step", "driven-by: stp").encode()})
    assert "driven-by: step}" in (with_settings_mended(misspelt) or "")
    unset = OpenFiles(rig.parent).judge(rig, {rig: RIG.replace("pine", "larch").split("commissioning")[0].encode()})
    edit = safe_start_up(unset)
    assert edit is not None and "start: wheel" in edit.text


SHARED = """blueprint: 1
catalogue: works.catalogue.yaml
inlets: {in: {torque-up-to: 1 kN*m, speed-up-to: 9 rad/s}}
parts:
  step: {item: stage, grade: pine, ratio: 5/2, set: reduce, driven-by: in}
  press: {item: press, driven-by: step}
"""


def test_what_mends_a_blueprint_holds_in_what_uses_it(rig: Path) -> None:
    """900 N·m on pine's 1,500: reducing by 5/2 breaks it, the other way round a saw that wants 2 kN·m is starved."""
    shared = rig.parent / "leg.blueprint.yaml"
    shared.write_text(SHARED.replace("item: press", "item: anvil"), "utf-8")
    anvil = "  anvil:   {kind: driven-machine, needs: {torque: 2 kN*m}}\n"
    (rig.parent / "works.catalogue.yaml").write_text(CATALOGUE + anvil, "utf-8")
    placed = "  leg: {blueprint: leg.blueprint.yaml, driven-by: {in: wheel}}\n"
    using = f"{RIG.split('  step')[0]}{placed}"
    judgement = OpenFiles(rig.parent).judge(shared, {})
    assert rules(judgement) == ["torque-over-limit"]
    assert users_of(judgement, {rig: RIG.encode()}) == ()  # the rig on the disk does not use it
    users = users_of(judgement, {rig: using.encode()})
    assert [user.rig.file for user in users] == ["a.rig.yaml"]
    made = repairs_of(judgement, judgement.findings[0], 3, users)
    assert made.repairs
    for repair in made.repairs:
        mended = {shared: apply_edits(shared.read_text("utf-8"), repair.edits).encode(), rig: using.encode()}
        assert rules(OpenFiles(rig.parent).judge(shared, mended)) == []
        assert rules(OpenFiles(rig.parent).judge(rig, mended)) == []
    assert users_of(OpenFiles(rig.parent).judge(rig, {}), {}) == ()


def test_where_there_is_no_rig_nothing_mends_and_it_says_so(rig: Path) -> None:
    """Of a catalogue with a fault: its finding as it is, no settings, no list, no machine."""
    catalogue = rig.parent / "works.catalogue.yaml"
    judgement = OpenFiles(rig.parent).judge(catalogue, {catalogue: b"catalogue: 1\nitems: {a: {kind: shft}}\n"})
    (finding, *_) = judgement.findings
    made = repairs_of(judgement, finding, 3)
    assert (made.rule, made.repairs) == (finding.rule, ())
    assert with_settings_mended(judgement) is None
    assert safe_start_up(judgement) is None
    assert sizes_of(judgement, "press") == ("press is no part of a rig that can be solved",)


def test_a_machine_is_sized_by_what_it_needs(rig: Path) -> None:
    """The wheel turns at 8 rad/s: 10 take a gain of 5/4, and 900 / (5/2) = 360 N·m are still more than 150."""
    text = f"{RIG.split('  step')[0]}  saw: {{item: saw, driven-by: wheel}}\n"
    judgement = OpenFiles(rig.parent).judge(rig, {rig: text.encode()})
    found = sizes_of(judgement, "saw")
    assert found and all(isinstance(each, Repair) for each in found)
    assert "set: increase" in apply_edits(text, found[0].edits)  # type: ignore[union-attr]
    unneeding = OpenFiles(rig.parent).judge(rig, {rig: text.replace("item: saw", "item: press").encode()})
    assert all(isinstance(piece, str) for piece in sizes_of(unneeding, "wheel"))


def test_a_failing_of_the_program_is_told_and_the_next_verdict_is_whole(
    rig: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In place of a verdict, never beside one; what was kept is read anew."""
    files = OpenFiles(rig.parent)

    def fails(*_: object) -> NoReturn:
        raise ZeroDivisionError

    with monkeypatch.context() as broken:
        broken.setattr("lineshaft.check.open_files.inspected", fails)
        (told,) = files.judge(rig, {}).findings
        assert (told.rule, told.level) == ("internal-error", "error")
    assert rules(files.judge(rig, {})) == ["torque-over-limit"]
