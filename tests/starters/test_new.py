"""`new` writes small files that `check` passes, by whatever catalogue is there, and replaces none."""

import re
from pathlib import Path

import pytest
import yaml
from command_runner import run

from lineshaft import documentation
from lineshaft.starters.first_files import KINDS, first_text

ORDER = ("catalogue", "rig", "blueprint", "policy", "stock", "hook", "ci")


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """An empty repository."""
    (tmp_path / ".git").mkdir()
    return tmp_path


def test_every_first_file_is_made_and_all_of_them_hold(yard: Path) -> None:
    """In an empty folder, one after the other; nothing at all is found in what they make."""
    for kind in ORDER:
        ran = run(yard, "new", kind)
        assert ran.returncode == 0, ran.stderr
        assert KINDS[kind].name in ran.stdout
    ran = run(yard, "check", "--fail-on", "note")
    assert ran.returncode == 0, ran.stdout
    assert "Inspected 5 files" in ran.stdout
    assert set(ORDER) == set(KINDS)


@pytest.mark.parametrize("kind", ORDER)
def test_no_file_is_ever_replaced(yard: Path, kind: str) -> None:
    """Not a file, not a link that leads nowhere; exit 2 and every byte as before."""
    run(yard, "new", "catalogue", "spare")
    place = yard / KINDS[kind].name
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_text("mine\n", "utf-8")
    ran = run(yard, "new", kind)
    assert ran.returncode == 2
    assert "is there already" in ran.stderr
    assert place.read_text("utf-8") == "mine\n"
    place.unlink()
    place.symlink_to("nowhere")
    assert run(yard, "new", kind).returncode == 2
    assert place.is_symlink()
    assert not (yard / "nowhere").exists()


@pytest.mark.parametrize(
    ("kind", "given", "made"),
    [
        ("rig", "mill", "mill.rig.yaml"),
        ("rig", "legs/mill.rig.yml", "legs/mill.rig.yml"),
        ("rig", "legs/", "legs/first.rig.yaml"),
        ("blueprint", "deep/er/leg", "deep/er/leg.blueprint.yaml"),
        ("ci", ".gitlab-ci.yml", ".gitlab-ci.yml"),
    ],
)
def test_names_are_completed_and_folders_are_made(yard: Path, kind: str, given: str, made: str) -> None:
    """What is written finds its catalogue from there, and holds."""
    run(yard, "new", "catalogue", "ratings/")
    assert run(yard, "new", kind, given).returncode == 0
    assert (yard / made).is_file()
    assert run(yard, "check", "--fail-on", "note").returncode == 0


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (("rig", "mill.txt"), "*.rig.yaml"),
        (("policy", "house.yaml"), "lineshaft.policy.yaml"),
        (("rig",), "lineshaft new catalogue"),
        (("hook", "--from", "parts.csv"), "a rig or a catalogue"),
        (("rig", "--from", "parts.csv"), "does not exist"),
        (("rig", "--from", "parts.xlsx"), "save the sheet as CSV"),
        (("stocks",), "there is no kind of file"),
        ((), "write one of rig, catalogue"),
    ],
    ids=str,
)
def test_what_cannot_be_made_is_told_with_what_to_write(yard: Path, asked: tuple[str, ...], told: str) -> None:
    """Exit 2, no file, one line."""
    ran = run(yard, "new", *asked)
    assert ran.returncode == 2
    assert told in ran.stderr
    assert len(ran.stderr.splitlines()) == 1
    assert [path.name for path in yard.iterdir()] == [".git"]


OTHERS = """catalogue: 1
edition: "7: spring"
grades:
  bronze: {torque-limit: 1.3 kN*m, speed-limit: 90 rad/s}
items:
  "on": {kind: prime-mover, table: {by: head, points: [[2 m, 300 N*m, 7 rad/s], [5 m, 700 N*m, 9 rad/s]]}}
  wet-stage:
    kind: gear-stage
    grade: bronze
    lubricant: {kind: flax-oil, holds: 5 L, uses: 0.3 mL/s}
    ratios: [3]
  dry-stage: {kind: gear-stage, grades: [bronze], ratios: [7/3, 7]}
  fuller: {kind: driven-machine, needs: {speed: 30 rad/s}}
lubricants: [flax-oil]
"""


def test_a_rig_is_made_by_the_items_of_any_catalogue(yard: Path) -> None:
    """By hand: at 5 m the wheel turns at 9 rad/s; the machine needs 30, which only 7 : 1 gives (63), not 7/3 (21)."""
    (yard / "odd name & co.catalogue.yaml").write_text(OTHERS, "utf-8")
    ran = run(yard, "new", "rig")
    assert ran.returncode == 0, ran.stderr
    rig = yaml.safe_load((yard / "first.rig.yaml").read_text("utf-8"))
    assert rig["parts"]["step"] == {
        "item": "dry-stage",
        "grade": "bronze",
        "ratio": 7,
        "set": "increase",
        "driven-by": "source",
    }
    assert rig["edition"] == "7: spring"
    assert run(yard, "check", "--fail-on", "note").returncode == 0


def test_where_no_machine_runs_the_first_rig_is_a_start_alone_and_says_so(yard: Path) -> None:
    """A prime mover by itself passes with a warning, and the person is told."""
    (yard / "a.catalogue.yaml").write_text(OTHERS.replace("30 rad/s", "300 rad/s"), "utf-8")
    ran = run(yard, "new", "rig")
    assert ran.returncode == 0
    assert "a start alone" in ran.stdout
    assert run(yard, "check").returncode == 0


def test_a_faulty_catalogue_is_told_with_its_line(yard: Path) -> None:
    """No rig is written by ratings that nobody can read."""
    (yard / "a.catalogue.yaml").write_text(OTHERS.replace("90 rad/s", "90"), "utf-8")
    ran = run(yard, "new", "rig")
    assert ran.returncode == 2
    assert "a.catalogue.yaml line 4" in ran.stderr
    assert not (yard / "first.rig.yaml").exists()


def test_the_policy_names_the_only_catalogue_and_raises_machines_that_nothing_drives(yard: Path) -> None:
    """A machine that nothing drives is an error under it, an open end a warning; both are warnings without."""
    run(yard, "new", "catalogue")
    parts = "parts:\n  w: {item: creek-wheel}\n  s: {item: saw-frame}\n"
    (yard / "a.rig.yaml").write_text(f"rig: 1\ncatalogue: works.catalogue.yaml\n{parts}", "utf-8")
    assert "0 errors, 2 warnings" in run(yard, "check", "a.rig.yaml").stdout
    run(yard, "new", "policy")
    assert "\ncatalogue: works.catalogue.yaml" in (yard / "lineshaft.policy.yaml").read_text("utf-8")
    ran = run(yard, "check", "a.rig.yaml")
    assert ran.returncode == 1
    assert "1 error, 1 warning" in ran.stdout


@pytest.mark.parametrize("kind", ["rig", "catalogue", "blueprint", "policy"])
def test_an_editor_finds_the_schema_only_where_an_address_is_set(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """One setting, empty as delivered; the line stands first, as editors want it."""
    assert "yaml-language-server" not in first_text(kind, Path("x"))
    monkeypatch.setattr(documentation, "ADDRESS", "https://docs.example.org/lineshaft")
    first = first_text(kind, Path("x")).splitlines()[0]
    address = f"https://docs.example.org/lineshaft/schema/{kind}.schema.json"
    assert first == f"# yaml-language-server: $schema={address}"
    assert "yaml-language-server" not in first_text("hook", Path("x"))


def test_the_hooks_and_jobs_are_yaml_and_run_what_this_program_has(yard: Path) -> None:
    """The files that git and CI read name commands and formats that are there."""
    for kind, path in (("hook", "."), ("ci", "."), ("ci", ".gitlab-ci.yml")):
        run(yard, "new", kind, path)
    texts = [(yard / name).read_text("utf-8") for name in (KINDS["hook"].name, KINDS["ci"].name, ".gitlab-ci.yml")]
    for text in texts:
        assert yaml.safe_load(text)
    run(yard, "new", "catalogue")
    commands = [found for text in texts for found in re.findall(r"(?:entry: |run: |- )(lineshaft [^\n]*)", text)]
    assert len(commands) == 3
    for command in commands:
        assert run(yard, *command.split()[1:]).returncode == 0, command
