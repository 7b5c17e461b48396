"""What is remembered is what would be found: every change that can change a verdict is seen, and nothing else costs."""

import os
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
from command_runner import run_for_bytes

from lineshaft.check.checker import Checker, Job, Judged
from lineshaft.check.judged_finding import repaired
from lineshaft.check.rulebook import open_rulebook
from lineshaft.run.runner import JobOptions, inspect_files
from lineshaft.schema.loading import kind_of
from lineshaft.schema.text.dependencies import DependencyRecorder
from lineshaft.schema.text.yaml_pass import Bounds
from lineshaft.write.formats import WRITERS
from lineshaft.write.summary import FileReport

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
CATALOGUE = """catalogue: 1
edition: "2"
earlier: {"1": old/c1.catalogue.yaml}
items:
  wheel: {kind: prime-mover, output: {torque: 100 N*m, speed: 4 rad/s}}
  shaft: {kind: shaft, torque-limit: 120 N*m}
  mill: {kind: driven-machine}
"""
RIG = """rig: 1
catalogue: ../c.catalogue.yaml
edition: "1"
parts:
  w: {item: wheel}
  s: {item: shaft, driven-by: w}
  m: {item: mill, driven-by: s}
"""


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A repository: a rig with an earlier edition (so with a finding), one whose catalogue is missing, a policy."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr("lineshaft.run.runner._MANY", 1)  # these few stand for many
    root = (tmp_path / "root").resolve()
    for folder in ("rigs", "old", ".git"):
        (root / folder).mkdir(parents=True)
    (root / "rigs" / "a.rig.yaml").write_text(RIG, "utf-8")
    (root / "rigs" / "b.rig.yaml").write_text(RIG.replace("c.cat", "d.cat"), "utf-8")
    (root / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (root / "site.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    old = CATALOGUE.replace('"2"', '"1"').replace("120", "150")
    (root / "old" / "c1.catalogue.yaml").write_text(old, "utf-8")
    (root / "lineshaft.policy.yaml").write_text("policy: 1\nmargins: {torque: 1.1}\n", "utf-8")
    return root


class Counting(Checker):
    """A checker that knows what it judged."""

    __slots__ = ("names",)

    def judged(self, job: Job) -> Judged:
        """Judge, and note the name."""
        if not hasattr(self, "names"):
            object.__setattr__(self, "names", [])
        self.names.append(job.path.name)
        return Checker.judged(self, job)


def look(root: Path, **settings: object) -> tuple[list[FileReport], list[str]]:
    """The sheets of a run with the result cache, and the names of the files that it had to judge."""
    checker = Counting(root, open_rulebook(), recorder=DependencyRecorder(), **settings)  # type: ignore[arg-type]
    paths = sorted((root / "rigs").glob("*.rig.yaml"))
    reports = tuple(inspect_files(checker, [checker.job(path, "rig") for path in paths], JobOptions()))
    return list(reports), getattr(checker, "names", [])


def fresh(root: Path, **settings: object) -> list[FileReport]:
    """The sheets of a run that remembers nothing."""
    checker = Checker(root, open_rulebook(), **settings)  # type: ignore[arg-type]
    return [checker.report(path, "rig") for path in sorted((root / "rigs").glob("*.rig.yaml"))]


def test_a_second_look_judges_nothing(yard: Path) -> None:
    """The same sheets, and no file is judged again, though both have findings."""
    first, judged = look(yard)
    assert judged == ["a.rig.yaml", "b.rig.yaml"]
    assert [len(sheet.findings) > 0 for sheet in first] == [True, True]
    assert look(yard) == (first, [])
    assert repr(first) == repr(fresh(yard))


def edit(name: str, old: str, new: str) -> Callable[[Path], None]:
    """An edit of one file in the yard."""

    def change(root: Path) -> None:
        path = root / name
        before = path.read_text("utf-8")
        assert old in before
        path.write_text(before.replace(old, new), "utf-8")

    return change


def made(name: str, text: str) -> Callable[[Path], None]:
    """A file that was not there."""

    def change(root: Path) -> None:
        (root / name).parent.mkdir(exist_ok=True)
        (root / name).write_text(text, "utf-8")

    return change


CHANGES: dict[str, tuple[Callable[[Path], None], list[str]]] = {
    "the rig": (edit("rigs/a.rig.yaml", "  m:", "  mm:"), ["a.rig.yaml"]),
    "its catalogue": (edit("c.catalogue.yaml", "120 N*m", "90 N*m"), ["a.rig.yaml"]),
    "the earlier edition": (edit("old/c1.catalogue.yaml", "150 N*m", "140 N*m"), ["a.rig.yaml"]),
    "the earlier edition goes": (lambda root: (root / "old/c1.catalogue.yaml").unlink(), ["a.rig.yaml"]),
    "the missing catalogue comes": (made("d.catalogue.yaml", CATALOGUE), ["b.rig.yaml"]),
    "a catalogue with a nearer name comes": (made("dd.catalogue.yaml", CATALOGUE), ["b.rig.yaml"]),
    "the policy": (edit("lineshaft.policy.yaml", "1.1", "1.3"), ["a.rig.yaml", "b.rig.yaml"]),
    "the policy turns a rule off": (
        edit("lineshaft.policy.yaml", "margins", "levels: {edition-drift: off}\nmargins"),
        ["a.rig.yaml", "b.rig.yaml"],
    ),
    "a nearer policy comes": (made("rigs/lineshaft.policy.yaml", "policy: 1\n"), ["a.rig.yaml", "b.rig.yaml"]),
    "the policy names a catalogue": (
        edit("lineshaft.policy.yaml", "policy: 1", "policy: 1\ncatalogue: site.catalogue.yaml"),
        ["a.rig.yaml", "b.rig.yaml"],
    ),
    "a nearer root comes": (made("rigs/.git/HEAD", ""), ["a.rig.yaml", "b.rig.yaml"]),
    "another file beside": (made("rigs/notes.txt", "nothing"), []),
    "a new rig": (made("rigs/c.rig.yaml", RIG), ["c.rig.yaml"]),
}


@pytest.mark.parametrize("name", CHANGES)
def test_a_change_is_seen(yard: Path, name: str) -> None:
    """Just the files whose verdict could be another are judged again; the sheets are those of a fresh look."""
    change, again = CHANGES[name]
    look(yard)
    change(yard)
    reports, judged = look(yard)
    assert judged == again
    assert repr(reports) == repr(fresh(yard))


def test_a_change_and_back(yard: Path) -> None:
    """What was known before counts again, since contents count and not times."""
    first, _ = look(yard)
    edit("rigs/a.rig.yaml", "  m:", "  mm:")(yard)
    look(yard)
    edit("rigs/a.rig.yaml", "  mm:", "  m:")(yard)
    os.utime(yard / "rigs" / "a.rig.yaml", (1, 1))
    assert look(yard) == (first, [])


LEG = """blueprint: 1
catalogue: c.catalogue.yaml
inlets:
  drive: {torque-up-to: 200 N*m, speed-up-to: 20 rad/s}
parts:
  s: {item: shaft, driven-by: drive}
outlets: {out: s}
"""
OUTER = """blueprint: 1
catalogue: c.catalogue.yaml
inlets:
  drive: {torque-up-to: 200 N*m, speed-up-to: 20 rad/s}
parts:
  leg: {blueprint: leg.blueprint.yaml, driven-by: drive}
outlets: {out: leg.out}
"""
USER = """rig: 1
catalogue: ../c.catalogue.yaml
edition: "1"
parts:
  w: {item: wheel}
  leg: {blueprint: ../outer.blueprint.yaml, driven-by: w}
  m: {item: mill, driven-by: leg.out}
"""


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("outer.blueprint.yaml", "speed-up-to: 20", "speed-up-to: 3"),
        ("leg.blueprint.yaml", "item: shaft", "item: mill"),
        ("c.catalogue.yaml", "120 N*m", "90 N*m"),
    ],
)
def test_a_blueprint_is_seen_to_change(yard: Path, name: str, old: str, new: str) -> None:
    """Two rigs use one that uses another: whichever of the files changes, both are judged again, and only then."""
    (yard / "leg.blueprint.yaml").write_text(LEG, "utf-8")
    (yard / "outer.blueprint.yaml").write_text(OUTER, "utf-8")
    for letter in "ab":
        (yard / "rigs" / f"{letter}.rig.yaml").write_text(USER, "utf-8")
    first, judged = look(yard)
    assert judged == ["a.rig.yaml", "b.rig.yaml"]
    assert look(yard) == (first, [])
    edit(name, old, new)(yard)
    reports, judged = look(yard)
    assert judged == ["a.rig.yaml", "b.rig.yaml"]
    assert repr(reports) == repr(fresh(yard))
    assert repr(reports) != repr(first)


def test_the_site_catalogue_is_seen_to_change(yard: Path) -> None:
    """Under a policy that names a catalogue, that one counts, and the rigs' own no more."""
    edit("lineshaft.policy.yaml", "policy: 1", "policy: 1\ncatalogue: site.catalogue.yaml")(yard)
    look(yard)
    edit("c.catalogue.yaml", "120 N*m", "90 N*m")(yard)
    assert look(yard)[1] == []
    edit("site.catalogue.yaml", "120 N*m", "90 N*m")(yard)
    reports, judged = look(yard)
    assert judged == ["a.rig.yaml", "b.rig.yaml"]
    assert repr(reports) == repr(fresh(yard))


@pytest.mark.parametrize("settings", [{"max_bytes": 50}, {"bounds": Bounds(nodes=10)}, {"repairs": True}], ids=str)
def test_other_settings_are_other_verdicts(yard: Path, settings: dict[str, object]) -> None:
    """Other bounds, or repairs wanted, hold at once, and do not spoil what was known without them."""
    first, _ = look(yard)
    reports, judged = look(yard, **settings)
    assert judged == ["a.rig.yaml", "b.rig.yaml"]
    assert repr(reports) == repr(fresh(yard, **settings))
    assert look(yard) == (first, [])


def test_a_named_policy_is_another_verdict(yard: Path, tmp_path: Path) -> None:
    """Also one that lies outside the repository, and also when that one changes."""
    policy = tmp_path / "house.policy.yaml"
    policy.write_text("policy: 1\nmargins: {torque: 1.3}\n", "utf-8")
    look(yard)
    assert look(yard, policy_file=policy)[1] == ["a.rig.yaml", "b.rig.yaml"]
    assert look(yard, policy_file=policy)[1] == []
    policy.write_text("policy: 1\nmargins: {torque: 1.4}\n", "utf-8")
    assert look(yard, policy_file=policy)[1] == ["a.rig.yaml", "b.rig.yaml"]


def test_other_code_is_another_verdict(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A new version, rule or library makes what is known worthless."""
    look(yard)
    monkeypatch.setattr("lineshaft.run.code_identity.__version__", "99.0")
    assert look(yard)[1] == ["a.rig.yaml", "b.rig.yaml"]


def test_the_day_counts_where_there_are_waivers(yard: Path) -> None:
    """Of two rigs the one with a waiver is judged again on another day; past its last day it has expired."""
    waiver = "waivers:\n  - {rule: edition-drift, part: w, reason: known, until: 2027-03-31}\n"
    (yard / "rigs" / "a.rig.yaml").write_text(RIG + waiver, "utf-8")
    look(yard, day=date(2027, 3, 30))
    for day, expired in ((31, False), (32, True)):
        now = date(2027, 3, 1) + timedelta(days=day - 1)
        reports, judged = look(yard, day=now)
        assert judged == ["a.rig.yaml"]
        assert ("waiver-expired" in {f.rule for f in reports[0].findings}) is expired
        assert repr(reports) == repr(fresh(yard, day=now))
        assert look(yard, day=now)[1] == []


def test_a_clone_elsewhere_knows_the_same(yard: Path, tmp_path: Path) -> None:
    """Paths are kept from the root, so the repository may lie anywhere."""
    first, _ = look(yard)
    yard.rename(tmp_path / "moved")
    assert look((tmp_path / "moved").resolve()) == (first, [])


def test_a_hit_reads_no_yaml(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a policy, a run that knows everything does not parse a single file."""
    (yard / "lineshaft.policy.yaml").unlink()
    first, _ = look(yard)

    def forbidden(*_: object) -> None:
        raise AssertionError("parsed")

    monkeypatch.setattr("lineshaft.schema.loading.read_yaml", forbidden)
    assert look(yard) == (first, [])


def test_a_few_files_without_repairs_leave_nothing(yard: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """They are judged sooner than looked up."""
    monkeypatch.setattr("lineshaft.run.runner._MANY", 25)
    assert all(sheet.findings for sheet in look(yard)[0])
    assert look(yard)[1] == ["a.rig.yaml", "b.rig.yaml"]
    assert not (tmp_path / "cache").exists()


def test_repairs_of_a_few_files_are_remembered(yard: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is clean leaves nothing; of what has findings, whose repairs may take long, the whole sheet comes back."""
    monkeypatch.setattr("lineshaft.run.runner._MANY", 25)
    searched = []
    monkeypatch.setattr(
        "lineshaft.repair.plan.fix_budget.with_repairs",
        lambda shop, _: searched.append(1) or tuple(map(repaired, shop.findings)),
    )
    (yard / "rigs" / "b.rig.yaml").write_text(RIG.replace('edition: "1"', 'edition: "2"'), "utf-8")
    (yard / "rigs" / "a.rig.yaml").rename(yard / "a.rig.yaml")
    assert look(yard, repairs=True)[0][0].findings == ()
    assert not (tmp_path / "cache").exists()
    (yard / "a.rig.yaml").rename(yard / "rigs" / "a.rig.yaml")
    first, _ = look(yard, repairs=True)
    assert searched == [1]
    assert look(yard, repairs=True)[0] == first
    assert searched == [1]
    edit("c.catalogue.yaml", "120 N*m", "90 N*m")(yard)  # now both shafts carry too much, 100 N*m
    look(yard, repairs=True)
    assert searched == [1, 1, 1]


def test_what_a_crashed_rule_left_is_judged_again(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A crash may have been the moment's; it is no verdict."""

    def crash(*_: object) -> None:
        raise MemoryError

    with monkeypatch.context() as patch:
        patch.setattr("lineshaft.rules.layout_gap.check", crash)
        assert "rule-crashed" in {f.rule for f in look_with(yard, crash)}
    assert look(yard)[1] == ["a.rig.yaml", "b.rig.yaml"]


def look_with(root: Path, check: Callable[..., None]) -> tuple[object, ...]:
    """The findings of a look in which one rule's check is another."""

    book = open_rulebook()
    rules = tuple(rule._replace(check=check) if rule.id == "layout-gap" else rule for rule in book.rules)
    checker = Checker(root, book._replace(rules=rules), recorder=DependencyRecorder())
    jobs = [checker.job(path, "rig") for path in sorted((root / "rigs").glob("*.rig.yaml"))]
    return tuple(f for sheet in inspect_files(checker, jobs, JobOptions()) for f in sheet.findings)


Outcome = tuple[int, bytes, list[bytes]]
"""Exit code, sheet, and every other document."""


def run(cwd: Path, *options: str, **env: str) -> Outcome:
    """One run of the command on everything below, with every document that it can write."""
    folder = Path(env.pop("OUT"))
    writes = [f"--write={name}={folder / name}" for name in WRITERS]
    ran = run_for_bytes(cwd, "check", *writes, *options, env=env)
    assert b"lineshaft: " not in ran.stderr  # a library's own word on its cache is not ours
    return ran.returncode, ran.stdout, [(folder / name).read_bytes() for name in WRITERS]


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Outcome:
    """The samples without a cache, and no folder is made for one."""
    folder = tmp_path_factory.mktemp("plain")
    ran = run(SAMPLES, "--no-cache", OUT=str(folder), XDG_CACHE_HOME=str(folder / "cache"))
    assert not (folder / "cache" / "lineshaft").exists()
    return ran


def test_the_same_bytes_from_memory(tmp_path: Path, plain: Outcome) -> None:
    """The samples through every writer: without a cache, with a new one, with a full one, from several processes."""
    env = {"OUT": str(tmp_path), "XDG_CACHE_HOME": str(tmp_path / "cache")}
    assert run(SAMPLES, "--jobs", "2", **env) == plain
    assert list((tmp_path / "cache" / "lineshaft").glob("*.sqlite"))
    assert run(SAMPLES, **env) == plain


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="the superuser may write everywhere")
def test_a_folder_that_may_not_be_written_is_no_matter(tmp_path: Path, plain: Outcome) -> None:
    """No word of it, and the same verdicts."""
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o500)
    env = {"OUT": str(tmp_path), "XDG_CACHE_HOME": str(closed)}
    assert run(SAMPLES, **env) == plain


@pytest.mark.further
def test_a_device_for_a_folder_is_no_matter(tmp_path: Path, plain: Outcome) -> None:
    """Nor where the folder cannot be made at all."""
    env = {"OUT": str(tmp_path), "XDG_CACHE_HOME": str(Path(os.devnull).absolute())}
    assert run(SAMPLES, **env) == plain


def test_a_ledger_inside_what_is_checked_is_not_used(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever sends rigs could send clean verdicts on them along."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(yard / "rigs" / "cache"))
    look(yard)
    assert not (yard / "rigs" / "cache").exists()


def test_kinds_of_files_are_kept_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every kind of file is remembered, and what is judged with each is its own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr("lineshaft.run.runner._MANY", 1)
    root = SAMPLES.resolve()
    seen = []
    for _ in range(2):
        checker = Counting(root, open_rulebook(), recorder=DependencyRecorder())
        jobs = [checker.job(p, kind) for p in sorted(root.rglob("*.yaml")) if (kind := kind_of(p)) is not None]
        reports = tuple(inspect_files(checker, jobs, JobOptions(jobs=1)))
        seen.append((repr(reports), len(getattr(checker, "names", []))))
    assert seen[0][0] == seen[1][0]
    assert (seen[0][1] > 20, seen[1][1]) == (True, 0)
