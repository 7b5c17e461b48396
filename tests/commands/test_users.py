"""`check --users`: what uses a changed blueprint, catalogue or policy is found by name, then by what it leads to."""

import json
from pathlib import Path

import pytest

from lineshaft.cli import run

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 90 N*m, speed: 4 rad/s}}
  mill: {kind: driven-machine, needs: {torque: 40 N*m}}
"""
LEG = """blueprint: 1
catalogue: ../c.catalogue.yaml
inlets: {in: {torque-up-to: 60 N*m, speed-up-to: 9 rad/s}}
parts: {mill: {item: mill, driven-by: in}}
"""
OUTER = """blueprint: 1
catalogue: ../c.catalogue.yaml
inlets: {in: {torque-up-to: 99 N*m, speed-up-to: 9 rad/s}}
parts: {leg: {blueprint: leg.blueprint.yaml, driven-by: in}}
"""


def rig(*parts: str, catalogue: str = "c.catalogue.yaml") -> str:
    lines = "".join(f"  {part}\n" for part in ("wheel: {item: wheel}", *parts))
    return f"rig: 1\ncatalogue: {catalogue}\nparts:\n{lines}"


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A repository: one rig uses the leg, one through another blueprint, one only speaks of it, one does not."""
    (tmp_path / ".git").mkdir()
    for folder in ("b", "deep/er", "other"):
        (tmp_path / folder).mkdir(parents=True)
    (tmp_path / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (tmp_path / "other/c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (tmp_path / "b/leg.blueprint.yaml").write_text(LEG, "utf-8")
    (tmp_path / "b/outer.blueprint.yaml").write_text(OUTER, "utf-8")
    placed = "leg: {blueprint: b/leg.blueprint.yaml, driven-by: wheel}"
    (tmp_path / "direct.rig.yaml").write_text(rig(placed), "utf-8")
    nested = rig("o: {blueprint: ../../b/outer.blueprint.yaml, driven-by: wheel}", catalogue="../../c.catalogue.yaml")
    (tmp_path / "deep/er/nested.rig.yaml").write_text(nested, "utf-8")
    (tmp_path / "spoken.rig.yaml").write_text(rig("m: {item: mill, driven-by: wheel}  # leg.blueprint.yaml"), "utf-8")
    (tmp_path / "other/own.rig.yaml").write_text(rig("m: {item: mill, driven-by: wheel}"), "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def judged(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, int, set[str]]:
    """Exit code, files judged, and the files with findings."""
    code = run(["check", "--write", "json=-", *arguments])
    document = json.loads(capsys.readouterr().out)
    return code, document["summary"]["files"], {finding["file"] for finding in document["findings"]}


def test_the_users_of_a_blueprint_are_judged_too(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The leg, the blueprint around it and the two rigs: 90 N*m breaks the promise of 60 in both, told at each line."""
    assert judged(capsys, "b/leg.blueprint.yaml") == (0, 1, set())
    code, files, found = judged(capsys, "--users", "b/leg.blueprint.yaml")
    # Alone the outer blueprint is fed its 99 N*m: the promise of the leg inside is broken at its own line too.
    assert (code, files, found) == (1, 4, {"direct.rig.yaml", "b/outer.blueprint.yaml"})


def test_what_only_speaks_of_a_file_does_not_use_it(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A comment, and a file of the same name in another folder, are no use: of the other catalogue one rig."""
    assert judged(capsys, "--users", "other/c.catalogue.yaml")[1] == 2


def test_a_catalogue_is_used_by_all_that_name_it(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Three rigs and two blueprints beside it."""
    assert judged(capsys, "--users", "c.catalogue.yaml")[1] == 6


def test_a_policy_and_its_catalogue_are_used_by_all_below_it(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whatever catalogue a rig names, the site's counts, and the one it names does not."""
    (yard / "deep/lineshaft.policy.yaml").write_text("policy: 1\ncatalogue: ../other/c.catalogue.yaml\n", "utf-8")
    plain = rig("m: {item: mill, driven-by: wheel}", catalogue="../../c.catalogue.yaml")
    (yard / "deep/er/nested.rig.yaml").write_text(plain, "utf-8")
    assert judged(capsys, "--users", "deep/lineshaft.policy.yaml")[1] == 2
    assert judged(capsys, "--users", "other/c.catalogue.yaml")[1] == 3
    assert judged(capsys, "--users", "c.catalogue.yaml")[1] == 5


def test_a_snag_list_that_names_a_catalogue_ends_no_search(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What was recorded of a catalogue names its file, and uses none: the six that do are judged."""
    snag = "{rule: torque-over-limit, file: c.catalogue.yaml, of: times_torque_limit, value: 2}"
    (yard / "old.snags.yaml").write_text(f"snags: 1\nrecorded: 2026-03-02\nfindings: [{snag}]\n", "utf-8")
    assert judged(capsys, "--users", "c.catalogue.yaml")[1] == 6


def test_a_file_that_names_it_and_cannot_be_read_counts(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A rig with a slip in it is judged as well: nobody knows that it is not touched."""
    (yard / "slip.rig.yaml").write_text("rig: 1\nparts: {leg: {blueprint: b/leg.blueprint.yaml\n", "utf-8")
    code, files, found = judged(capsys, "--users", "b/leg.blueprint.yaml")
    assert (code, files) == (1, 5)
    assert "slip.rig.yaml" in found


def test_a_link_to_the_file_is_the_file(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A rig that names the blueprint by a link beside it uses it."""
    (yard / "b/alias.blueprint.yaml").symlink_to("leg.blueprint.yaml")
    placed = "leg: {blueprint: b/alias.blueprint.yaml, driven-by: wheel}"
    (yard / "linked.rig.yaml").write_text(rig(placed), "utf-8")
    assert "linked.rig.yaml" in judged(capsys, "--users", "b/leg.blueprint.yaml")[2]


def test_what_the_policy_leaves_out_stays_out(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A user in a folder that the policy excludes is not judged."""
    (yard / "lineshaft.policy.yaml").write_text('policy: 1\nexclude: ["deep/**"]\n', "utf-8")
    assert judged(capsys, "--users", "b/leg.blueprint.yaml")[1] == 3
