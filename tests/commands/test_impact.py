"""`lineshaft impact`: editions and revisions, by hand; whom it blames, what it writes, and what git may not do."""

import json
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from lineshaft.check.finding import Finding
from lineshaft.check.rule import Rule
from lineshaft.check.rulebook import Rulebook
from lineshaft.cli import run
from lineshaft.commands import impact as command_of_impact

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
OLD, NEW = "works/catalogues/tern-harbour-3.0.catalogue.yaml", "works/catalogues/tern-harbour.catalogue.yaml"
_CATALOGUE = """\
catalogue: 1
name: Bench
edition: "EDITION"
grades: {oak: {torque-limit: LIMIT N*m}}
items:
  motor: {kind: prime-mover, output: {torque: TORQUE N*m, speed: 10 rad/s}}
  shaft: {kind: shaft, grade: oak}
  mill: {kind: driven-machine, work: {unit: sack, times: [[5 rad/s, 60 s], [10 rad/s, 30 s]], between: linear}}
"""
_RIG = """\
rig: 1
name: Bench
catalogue: new.catalogue.yaml
parts:
  motor: {item: motor}
  lay: {item: shaft, driven-by: motor}
  mill: {item: mill, driven-by: lay}
"""


@pytest.fixture(autouse=True)
def _there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def _git(*arguments: str) -> None:
    who = ("-c", "user.name=Wright", "-c", "user.email=wright@tern.example", "-c", "commit.gpgsign=false")
    subprocess.run(["git", *who, *arguments], check=True, capture_output=True, timeout=60)


def _checker(old: tuple[int, int], new: tuple[int, int]) -> None:
    """A rig and two editions: torque of the motor and limit of the shaft in each."""
    for name, (torque, limit) in {"old": old, "new": new}.items():
        text = _CATALOGUE.replace("EDITION", name).replace("TORQUE", str(torque)).replace("LIMIT", str(limit))
        Path(f"{name}.catalogue.yaml").write_text(text, encoding="utf-8")
    Path("bench.rig.yaml").write_text(_RIG, encoding="utf-8")


def _impact(*arguments: str, code: int) -> dict[str, Any]:
    assert run(["impact", *arguments, "--write", "json=impact.json"]) == code
    found: dict[str, Any] = json.loads(Path("impact.json").read_text(encoding="utf-8"))
    return found


def _brief(rig: dict[str, Any]) -> tuple[str, list[tuple[str, str, list[str]]]]:
    broken = [
        (each["finding"]["rule"], each["finding"]["part"], [f"{b['name']} {b['rating']}" for b in each["blame"]])
        for each in rig["broken"]
    ]
    return rig["verdict"], broken


def test_the_samples_from_one_edition_to_the_next(capsys: pytest.CaptureFixture[str]) -> None:
    """Before the refit and the starved saw break, by the wheel's torque and the saw's need; the whole works is mended.

    By the comments of the rigs: 18/15 of 9,000 N·m is 10,800, 1.2 times; 144 N·m is below 150, not below 140; and of
    15 kN·m three ninths are 5,000 N·m, over steel's 4,500 but not over its 6,000.
    """
    shutil.copytree(SAMPLES, "works")
    document = _impact(OLD, NEW, "works", code=1)
    rigs = {Path(rig["file"]).name.removesuffix(".rig.yaml"): rig for rig in document["rigs"]}
    assert [rig["file"] for rig in document["rigs"]][:2] == [
        "works/before-the-refit.rig.yaml",
        "works/starved-saw.rig.yaml",
    ]
    assert _brief(rigs["before-the-refit"]) == ("breaks", [("torque-over-limit", "roller", ["tide-wheel torque"])])
    assert _brief(rigs["starved-saw"]) == ("breaks", [("machine-underdriven", "saw", ["saw-frame torque need"])])
    assert rigs["whole-works"]["verdict"] == "mended"
    assert [(f["rule"], f["part"]) for f in rigs["whole-works"]["mended"]] == [("torque-over-limit", "saw-step")]
    assert [rig["file"] for rig in document["rigs"] if rig["verdict"] == "breaks"] == [
        "works/before-the-refit.rig.yaml",
        "works/starved-saw.rig.yaml",
    ]
    step = next(part for part in rigs["overloaded-step"]["parts"] if part["part"] == "step")
    assert (step["share_of_limit"]["old"], step["share_of_limit"]["new"]) == pytest.approx((2.25, 1.875))
    assert "to blame: tide-wheel torque, was 15 kN·m, is 18 kN·m" in capsys.readouterr().out


def test_the_other_way_round() -> None:
    """Back to 3.0 the whole works breaks, 15 kN·m or not: steel's limit of 4.5 kN·m is to blame, the wheel is not."""
    shutil.copytree(SAMPLES, "works")
    (rig,) = _impact(NEW, OLD, "works/whole-works.rig.yaml", code=1)["rigs"]
    assert _brief(rig) == ("breaks", [("torque-over-limit", "saw-step", ["forged-steel torque limit"])])


@pytest.mark.parametrize(
    ("old", "new", "blame", "together"),
    [
        ((100, 150), (140, 120), ["oak torque limit", "motor torque"], False),
        ((100, 150), (200, 80), ["oak torque limit", "motor torque"], True),
        ((100, 150), (130, 120), ["oak torque limit", "motor torque"], False),
        ((100, 150), (160, 155), ["motor torque"], False),
    ],
    ids=["either undone mends", "neither alone mends", "either again", "a raised limit is not to blame"],
)
def test_who_is_to_blame(old: tuple[int, int], new: tuple[int, int], blame: list[str], together: bool) -> None:
    """A rating is to blame where the finding would not be without its change; by hand, torque against limit.

    140 over 120: 100 is below 120, 140 is below 150. 200 over 80: 100 is over 80 still, 200 over 150. 160 over 155:
    with 150 it would be over all the more.
    """
    _checker(old, new)
    (rig,) = _impact("old.catalogue.yaml", "new.catalogue.yaml", code=1)["rigs"]
    assert _brief(rig) == ("breaks", [("torque-over-limit", "lay", blame)])
    assert rig["broken"][0]["together"] is together


def test_what_was_over_already_gets_worse() -> None:
    """160 over 150 becomes 200 over 150: no rig newly breaks, so exit 0; it is worse, and the motor is to blame."""
    _checker((160, 150), (200, 150))
    (rig,) = _impact("old.catalogue.yaml", "new.catalogue.yaml", code=0)["rigs"]
    assert (rig["verdict"], rig["broken"]) == ("worse", [])
    assert rig["worse"][0]["was"]["values"]["times_limit"]["value"] == pytest.approx(160 / 150)
    assert [blame["name"] for blame in rig["worse"][0]["blame"]] == ["motor"]


def test_an_item_that_is_gone() -> None:
    """Without the shaft's item the rig names what is not there; that it is gone is to blame."""
    _checker((100, 150), (100, 150))
    text = Path("new.catalogue.yaml").read_text("utf-8").replace("  shaft:", "  pole:")
    Path("new.catalogue.yaml").write_text(text, encoding="utf-8")
    (rig,) = _impact("old.catalogue.yaml", "new.catalogue.yaml", code=1)["rigs"]
    found = rig["broken"][0]
    assert found["finding"]["rule"] == "unknown-reference"
    (blame,) = found["blame"]
    assert (blame["name"], blame["old"], blame["new"]) == ("shaft", "there", "not there")


def test_rates_of_machines_move() -> None:
    """At 10 rad/s a sack takes 30 s, 120 an hour; at half that 60 s, 60 an hour. By hand."""
    _checker((100, 150), (100, 150))
    text = Path("new.catalogue.yaml").read_text("utf-8").replace("speed: 10 rad/s", "speed: 5 rad/s")
    Path("new.catalogue.yaml").write_text(text, encoding="utf-8")
    (rig,) = _impact("old.catalogue.yaml", "new.catalogue.yaml", code=0)["rigs"]
    assert rig["verdict"] == "moves"
    assert rig["machines"] == [{"part": "mill", "work": "sack", "per_hour": {"old": 120, "new": 60, "unit": "1"}}]
    speeds = [(part["part"], part["speed"]["old"], part["speed"]["new"]) for part in rig["parts"]]
    assert speeds == [("motor", 10, 5), ("lay", 10, 5), ("mill", 10, 5)]


def test_rigs_of_other_catalogues_are_left_out(capsys: pytest.CaptureFixture[str]) -> None:
    """A rig by a catalogue of another name is not judged by these; that is said."""
    _checker((100, 150), (200, 150))
    other = _CATALOGUE.replace("name: Bench", "name: Other").replace("TORQUE", "1").replace("LIMIT", "1")
    Path("other.catalogue.yaml").write_text(other, encoding="utf-8")
    Path("other.rig.yaml").write_text(_RIG.replace("new.cat", "other.cat"), encoding="utf-8")
    document = _impact("old.catalogue.yaml", "new.catalogue.yaml", code=1)
    assert [rig["file"] for rig in document["rigs"]] == ["bench.rig.yaml"]
    assert "1 rig left out" in capsys.readouterr().out


@pytest.mark.parametrize("name", ["sarif", "junit", "github", "gitlab", "markdown"])
def test_other_formats_say_what_breaks_and_why(name: str, capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    """Every format of `check` carries the new finding and the rating to blame, and nothing that stays as it was."""
    shutil.copytree(SAMPLES, "works")
    rigs = ["works/starved-saw.rig.yaml", "works/overloaded-step.rig.yaml"]
    assert run(["impact", OLD, NEW, *rigs, "--write", f"{name}=-"]) == 1
    text = capfdbinary.readouterr().out.decode()
    assert "machine-underdriven" in text
    assert "saw-frame torque need" in text
    assert "torque-over-limit" not in text


def _committed() -> None:
    shutil.copytree(SAMPLES, "works")
    _git("init", "-q")
    _git("add", "-A")
    _git("commit", "-q", "-m", "the works")


def _rewrite(name: str, old: str, new: str) -> None:
    path = Path("works") / name
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_a_change_since_a_revision(capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    """5/2 becomes 3: 900 / 3 · 0.96 = 288 N·m at 24 rad/s, and a plank takes 60 − 45 ln 2.4 / ln 8 s. By hand.

    80 planks an hour become 3600 / 41.055 = 87.69; the stage carries 900 of 1,200 N·m either way; the saw, 20 of 120
    rad/s before and 24 now, goes by torque, 345.6 of 2,000 N·m, before and by speed now.
    """
    _committed()
    _rewrite("small-saw.rig.yaml", "ratio: 5/2", "ratio: 3")
    assert run(["impact", "--base", "HEAD", "works/small-saw.rig.yaml", "--write", "markdown=-"]) == 0
    text = capfdbinary.readouterr().out.decode()
    assert "| `step` | `345.6 N·m -> 288 N·m` | `20 rad/s -> 24 rad/s` | `75 %` |" in text
    assert "| `saw` | `345.6 N·m -> 288 N·m` | `20 rad/s -> 24 rad/s` | `17.28 % -> 20 %` |" in text
    assert "`saw works 80 -> 87.69 times an hour (plank)`" in text
    assert "`lay`" not in text


def test_parts_that_come_and_go() -> None:
    """A shaft more and a clutch less: they are named, and nothing else of them is compared."""
    _committed()
    _rewrite("small-saw.rig.yaml", "clutch: {item: dog-clutch,", "pole: {item: elm-shaft,")
    _rewrite("small-saw.rig.yaml", "driven-by: clutch", "driven-by: pole")
    (rig,) = _impact("--base", "HEAD", "works/small-saw.rig.yaml", code=1)["rigs"]
    assert (rig["came"], rig["gone"]) == (["pole"], ["clutch"])
    assert [each["finding"]["part"] for each in rig["broken"]] == ["pole"]


def test_catalogue_and_blueprint_of_that_revision_are_read() -> None:
    """A lower limit in the catalogue and another ratio in the blueprint since then both show, each with its blame."""
    _committed()
    _rewrite("catalogues/tern-harbour.catalogue.yaml", "{torque-limit: 1200 N*m", "{torque-limit: 800 N*m")
    _rewrite("blueprints/stone-leg.blueprint.yaml", "default: 3}", "default: 5/2}")
    document = _impact("--base", "HEAD", "works/small-saw.rig.yaml", "works/three-stones.rig.yaml", code=1)
    rigs = {Path(rig["file"]).name: rig for rig in document["rigs"]}
    verdict, broken = _brief(rigs["small-saw.rig.yaml"])
    assert (verdict, broken[0]) == ("breaks", ("torque-over-limit", "lay", ["cast-iron torque limit"]))
    speeds = {part["part"]: part["speed"] for part in rigs["three-stones.rig.yaml"]["parts"]}
    assert speeds["leg-b/stone"] == {"old": 24, "new": 20, "unit": "rad/s"}
    assert "leg-a/stone" not in speeds


def test_the_revision_is_read_from_git_alone() -> None:
    """A catalogue that was removed since is still there then; only the rig as it is now cannot be solved."""
    _committed()
    Path(NEW).unlink()
    (rig,) = _impact("--base", "HEAD", "works/small-saw.rig.yaml", code=1)["rigs"]
    assert [each["finding"]["rule"] for each in rig["broken"]] == ["unknown-reference"]
    assert "saw" in rig["gone"]


def test_a_rig_that_is_new(capsys: pytest.CaptureFixture[str]) -> None:
    """There is nothing to compare it with; that is said and is no failure."""
    _committed()
    shutil.copy("works/small-saw.rig.yaml", "works/new.rig.yaml")
    assert run(["impact", "--base", "HEAD", "works/new.rig.yaml"]) == 0
    assert "works/new.rig.yaml is not in HEAD" in capsys.readouterr().out


def test_a_rig_that_was_moved_is_compared_with_what_it_was(capsys: pytest.CaptureFixture[str]) -> None:
    """1200 N*m through 900 is too much, under whatever name; moved alone it is the same; a removed one is named."""
    _checker((700, 900), (700, 900))
    shutil.copy("bench.rig.yaml", "spare.rig.yaml")
    Path("spare.rig.yaml").write_text(_RIG.replace("name: Bench", "name: Spare"), encoding="utf-8")
    _git("init", "-q")
    _git("add", ".")
    _git("commit", "-q", "-m", "as it was")
    Path("deep").mkdir()
    Path("bench.rig.yaml").rename("mill.rig.yaml")
    Path("spare.rig.yaml").unlink()
    (rig,) = _impact("--base", "HEAD", code=0)["rigs"]
    assert (rig["file"], rig["verdict"]) == ("mill.rig.yaml", "same")
    out = capsys.readouterr().out
    assert "mill.rig.yaml was bench.rig.yaml in HEAD" in out
    assert "spare.rig.yaml is there no more" in out
    Path("mill.rig.yaml").unlink()
    text = _RIG.replace("new.catalogue", "../new.catalogue").replace("driven-by: motor", "driven-by: motor, label: x")
    Path("deep/mill.rig.yaml").write_text(text, encoding="utf-8")
    catalogue = Path("new.catalogue.yaml")
    catalogue.write_text(catalogue.read_text(encoding="utf-8").replace("700", "1200"), encoding="utf-8")
    (rig,) = _impact("--base", "HEAD", code=1)["rigs"]
    assert (rig["file"], rig["verdict"]) == ("deep/mill.rig.yaml", "breaks")
    (broken,) = rig["broken"]
    assert (broken["finding"]["rule"], broken["finding"]["part"]) == ("torque-over-limit", "lay")


def test_a_fault_that_a_moved_rig_had_before_is_not_new() -> None:
    """1000 N*m through 900 as before."""
    _checker((1000, 900), (1000, 900))
    _git("init", "-q")
    _git("add", ".")
    _git("commit", "-q", "-m", "as it was")
    Path("bench.rig.yaml").rename("mill.rig.yaml")
    (rig,) = _impact("--base", "HEAD", code=0)["rigs"]
    assert (rig["broken"], rig["mended"], rig["verdict"]) == ([], [], "same")


def test_a_copy_is_no_move() -> None:
    """The file it was copied from is still there, so it is the one to compare."""
    _checker((700, 900), (700, 900))
    _git("init", "-q")
    _git("add", ".")
    _git("commit", "-q", "-m", "as it was")
    shutil.copy("bench.rig.yaml", "copy.rig.yaml")
    assert [rig["file"] for rig in _impact("--base", "HEAD", code=0)["rigs"]] == ["bench.rig.yaml"]


@pytest.mark.parametrize(
    "name", ["--output=stolen", "-h", "no-such", "HEAD:works", "HEAD^{tree}", "", "a\nb", "HEAD~9", "HEAD..HEAD"]
)
def test_what_is_no_revision(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """An option, a tree or nothing at all: exit 2 and one line, and git is never given an option by it."""
    _committed()
    assert run(["impact", f"--base={name}", "works/small-saw.rig.yaml"]) == 2
    assert "revision" in capsys.readouterr().err
    assert not list(Path().glob("*stolen*"))


def test_outside_git(capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 2 and why."""
    shutil.copytree(SAMPLES, "works")
    assert run(["impact", "--base", "HEAD", "works/small-saw.rig.yaml"]) == 2
    assert "in no git repository" in capsys.readouterr().err


def test_nothing_of_the_repository_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither its hooks, monitor, filters nor text conversions are called, whatever its configuration says."""
    _committed()
    trap = Path("trap.sh").resolve()
    trap.write_text(f"#!/bin/sh\ntouch {trap.parent}/sprung\ncat\n", encoding="utf-8")
    trap.chmod(0o755)
    Path(".git/hooks").mkdir(exist_ok=True)
    for hook in ("post-checkout", "post-index-change", "reference-transaction"):
        shutil.copy(trap, f".git/hooks/{hook}")
    Path(".gitattributes").write_text("* filter=trap diff=trap\n", encoding="utf-8")
    for key in ("core.fsmonitor", "filter.trap.smudge", "filter.trap.clean", "diff.trap.textconv", "core.pager"):
        _git("config", key, str(trap))
    Path("sprung").unlink(missing_ok=True)  # git config itself may have run one
    assert run(["impact", "--base", "HEAD", "works/small-saw.rig.yaml"]) == 0
    assert not Path("sprung").exists()
    _git("status")
    assert Path("sprung").exists()  # the trap works


def _without_object(name: str, commit: str = "HEAD") -> None:
    """Take a file's object out of the repository, as a damaged disk or a partial clone leaves it."""
    asked = ["git", "rev-parse", f"{commit}:{name}"]
    found = subprocess.run(asked, check=True, capture_output=True, text=True, timeout=60).stdout.strip()
    Path(".git/objects", found[:2], found[2:]).unlink()


def test_nothing_is_fetched_by_an_older_git(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A git that knows no GIT_NO_LAZY_FETCH, and a configuration that allows every transport: none of them is started.

    The order of what rules: git-config(1), protocol.allow, says that GIT_ALLOW_PROTOCOL overrides it.
    """
    _committed()
    _rewrite("small-saw.rig.yaml", "ratio: 5/2", "ratio: 3")
    _without_object("works/small-saw.rig.yaml")
    sprung, real = tmp_path / "sprung", shutil.which("git")
    older = tmp_path / "bin" / "git"
    older.parent.mkdir()
    older.write_text(f'#!/bin/sh\nunset GIT_NO_LAZY_FETCH\nexec {real} "$@"\n', encoding="utf-8")
    older.chmod(0o755)
    for key, value in (
        ("core.repositoryFormatVersion", "1"),
        ("extensions.partialClone", "origin"),
        ("remote.origin.promisor", "true"),
        ("remote.origin.url", f"ext::sh -c touch% {sprung}"),
        ("protocol.allow", "always"),
        ("protocol.ext.allow", "always"),
    ):
        _git("config", key, value)
    monkeypatch.setenv("PATH", f"{older.parent}:/usr/bin:/bin")
    monkeypatch.delenv("GIT_ALLOW_PROTOCOL", raising=False)
    assert run(["impact", "--base", "HEAD", "works/small-saw.rig.yaml"]) == 2
    assert not sprung.exists()
    subprocess.run([older, "cat-file", "-p", "HEAD:works/small-saw.rig.yaml"], check=False, capture_output=True)
    assert sprung.exists()  # the trap works


def test_a_file_that_git_cannot_read_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    """The rig is in that revision and its object is not: exit 2, in the document too; the other rig is compared."""
    _committed()
    _rewrite("small-saw.rig.yaml", "ratio: 5/2", "ratio: 3")
    _without_object("works/small-saw.rig.yaml")
    document = _impact("--base", "HEAD", "works/small-saw.rig.yaml", "works/late-planks.rig.yaml", code=2)
    assert [rig["file"] for rig in document["rigs"]] == ["works/late-planks.rig.yaml"]
    assert document["notices"][0].startswith("works/small-saw.rig.yaml cannot be read in HEAD: ")
    assert "works/small-saw.rig.yaml cannot be read in HEAD: " in capsys.readouterr().err


def test_an_old_catalogue_that_git_cannot_read_is_blamed_for_nothing() -> None:
    """Without it nothing is compared, and none of its items counts as changed: exit 2."""
    _committed()
    _rewrite("catalogues/tern-harbour.catalogue.yaml", "{torque-limit: 1200 N*m", "{torque-limit: 800 N*m")
    _without_object("works/catalogues/tern-harbour.catalogue.yaml")
    document = _impact("--base", "HEAD", "works/small-saw.rig.yaml", code=2)
    assert document["rigs"] == []
    lack = "works/small-saw.rig.yaml is not compared with HEAD, for want of"
    assert f"{lack} works/catalogues/tern-harbour.catalogue.yaml" in document["notices"]


def test_an_old_catalogue_with_a_fault_is_said_and_blamed_for_nothing() -> None:
    """1200 N*m through 900 is new as far as anybody can tell, and no rating is to blame for it."""
    _checker((700, 900), (700, 900))
    catalogue = Path("new.catalogue.yaml")
    sound = catalogue.read_text(encoding="utf-8")
    catalogue.write_text(sound.replace("grades:", "grades: ["), encoding="utf-8")
    _git("init", "-q")
    _git("add", ".")
    _git("commit", "-q", "-m", "as it was")
    catalogue.write_text(sound.replace("700 N*m", "1200 N*m"), encoding="utf-8")
    document = _impact("--base", "HEAD", code=1)
    (rig,) = document["rigs"]
    assert [(each["finding"]["rule"], each["blame"]) for each in rig["broken"]] == [("torque-over-limit", [])]
    assert rig["ratings"] == []
    assert "its catalogue in HEAD could not be used" in document["notices"][0]


@pytest.mark.parametrize("arguments", [("old.catalogue.yaml", "new.catalogue.yaml"), ("--base", "HEAD")])
def test_a_rule_that_crashes_is_no_clean_verdict(
    arguments: tuple[str, ...], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """It crashes before and after, so nothing differs; but what it would have found nobody knows: exit 2."""
    _checker((700, 900), (700, 900))
    _git("init", "-q")
    _git("add", ".")
    _git("commit", "-q", "-m", "as it was")

    def crash(rig: object) -> Iterator[Finding]:
        raise ZeroDivisionError("planted")
        yield

    book = Rulebook((Rule("planted", "error", crash),))
    monkeypatch.setattr("lineshaft.commands.impact.open_rulebook", lambda: book)
    document = _impact(*arguments, code=2)
    assert "the rule planted raised ZeroDivisionError" in document["notices"][0]
    assert "bench.rig.yaml: the rule planted raised ZeroDivisionError" in capsys.readouterr().err


WAYS = [("old.catalogue.yaml", "new.catalogue.yaml", "."), ("--base", "HEAD")]


def _three_rigs() -> None:
    """Three like rigs that break from 700 to 1200 N*m through 900, between editions and since the commit."""
    _checker((700, 900), (1200, 900))
    for name in ("a", "yard/b"):
        path = Path(f"{name}.rig.yaml")
        path.parent.mkdir(exist_ok=True)
        up = "../" * name.count("/")
        path.write_text(_RIG.replace("catalogue: ", f"catalogue: {up}"), encoding="utf-8")
    new = Path("new.catalogue.yaml")
    after = new.read_text("utf-8")
    new.write_text(after.replace("1200 N*m", "700 N*m"), encoding="utf-8")
    _git("init", "-q")
    _git("add", ".")
    _git("commit", "-q", "-m", "as it was")
    new.write_text(after, encoding="utf-8")


@pytest.mark.parametrize("arguments", WAYS)
@pytest.mark.parametrize("place", ["judged", "impact"])
def test_an_error_of_the_program_on_one_rig_is_told_of_it_and_the_others_are_compared(
    arguments: tuple[str, ...], place: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The fault is put in where rigs are judged, or where two verdicts are compared: exit 2, in the document too."""
    _three_rigs()
    whole = getattr(command_of_impact, place)

    def breaks(*given: Any) -> Any:
        if any(isinstance(each, Path) and each.name == "a.rig.yaml" for each in given):
            raise LookupError("put in")
        return whole(*given)

    monkeypatch.setattr(command_of_impact, place, breaks)
    document = _impact(*arguments, code=2)
    assert [(rig["file"], rig["verdict"]) for rig in document["rigs"]] == [
        ("bench.rig.yaml", "breaks"),
        ("yard/b.rig.yaml", "breaks"),
    ]
    assert document["notices"][0].startswith("a.rig.yaml: internal error (LookupError)")
    assert "a.rig.yaml: internal error (LookupError)" in capsys.readouterr().err


@pytest.mark.parametrize("arguments", WAYS)
def test_a_policy_that_cannot_be_used_is_told_at_its_place_and_other_rigs_are_compared(
    arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    """The rig under it is not compared, the two outside are: exit 2."""
    _three_rigs()
    Path("yard/lineshaft.policy.yaml").write_text("policy: 1\nmargins: {torque: wide}\n", encoding="utf-8")
    document = _impact(*arguments, code=2)
    assert {rig["file"]: rig["verdict"] for rig in document["rigs"]} == {
        "a.rig.yaml": "breaks",
        "bench.rig.yaml": "breaks",
    }
    assert "yard/lineshaft.policy.yaml line 2, column 19: " in capsys.readouterr().err


@pytest.mark.parametrize("text", ["rig: 1\nparts: {w: {item: wheel}\n", _RIG.replace("catalogue: ", "catalogue: no-")])
def test_a_rig_that_cannot_be_read_is_not_said_to_be_of_another_catalogue(
    text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """An open brace, or a catalogue that is not there: not compared, which is said, exit 2; the others are."""
    _three_rigs()
    Path("a.rig.yaml").write_text(text, encoding="utf-8")
    document = _impact("old.catalogue.yaml", "new.catalogue.yaml", ".", code=2)
    assert [rig["file"] for rig in document["rigs"]] == ["bench.rig.yaml", "yard/b.rig.yaml"]
    assert "a.rig.yaml is not compared" in capsys.readouterr().err


def test_git_variables_of_a_hook_lead_nowhere_else(monkeypatch: pytest.MonkeyPatch) -> None:
    """Run inside a hook, git's own variables are set; the rig's repository is read, not the one they name."""
    _committed()
    monkeypatch.setenv("GIT_DIR", "/nowhere/.git")
    monkeypatch.setenv("GIT_INDEX_FILE", "/nowhere/index")
    assert run(["impact", "--base", "HEAD", "works/small-saw.rig.yaml"]) == 0


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("impact",), "two catalogues, OLD and NEW, or --base REV"),
        (("impact", OLD), "two catalogues, OLD and NEW, or --base REV"),
        (("impact", OLD, "works/small-saw.rig.yaml"), "is not a catalogue"),
        (("impact", OLD, NEW, "nothing-here"), "nothing-here does not exist"),
        (("impact", OLD, NEW, "--write", "parchment=-"), "--write takes FORMAT=FILE"),
    ],
)
def test_what_cannot_be_compared(
    arguments: tuple[str, ...], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2 and what to write instead."""
    shutil.copytree(SAMPLES, "works")
    assert run(list(arguments)) == 2
    assert message in capsys.readouterr().err


def test_documents_fit_their_published_schema(capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    """Both ways of comparing write what `lineshaft schema impact` describes."""
    _committed()
    assert run(["schema", "impact"]) == 0
    schema = json.loads(capfdbinary.readouterr().out)
    _rewrite("small-saw.rig.yaml", "ratio: 5/2", "ratio: 3")
    for arguments, code in (((OLD, NEW, "works"), 1), ((NEW, OLD, "works"), 1), (("--base", "HEAD", "works"), 0)):
        document = _impact(*arguments, code=code)
        jsonschema.Draft202012Validator(schema).validate(document)
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.Draft202012Validator(schema).validate({**document, "stray": 1})
