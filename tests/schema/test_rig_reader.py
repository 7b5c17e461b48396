"""A rig against its catalogue: references, settings and offers, each fault at its place counted by hand; and what
files a rig may name.
"""

import os
from pathlib import Path

import pytest

from lineshaft.schema.loading import Loaded, Loader
from lineshaft.schema.model.rig import Part, Rig
from lineshaft.schema.text.fault import Fault
from lineshaft.schema.text.repository import Refusal, Repository
from lineshaft.solve.solved_rig import solve_loaded

CATALOGUE = """catalogue: 1
name: Tern Harbour works
edition: "1"
lubricants: [flax-oil]
grades:
  elm: {torque-limit: 90 N*m, speed-limit: 60 rad/s}
  iron: {torque-limit: 1200 N*m, speed-limit: 250 rad/s}
items:
  tide-wheel: {kind: prime-mover, output: {torque: 1 kN*m, speed: 8 rad/s}}
  sluice: {kind: prime-mover, table: {by: head, points: [[2 m, 1 kN*m, 6 rad/s], [6 m, 2 kN*m, 8 rad/s]]}}
  rod: {kind: shaft, grade: iron, torque-limit: 400 N*m}
  stage: {kind: gear-stage, grades: [elm, iron], ratios: [2.5, 75/15]}
  bevel: {kind: right-angle}
  divider: {kind: splitter, outlets: 2, shares: [[2, 3]]}
  gatherer: {kind: combiner, inlets: 2}
  dog: {kind: clutch}
  mill: {kind: driven-machine, needs: {torque: 10 N*m}, limits: {speed: 90 rad/s}}
  press:
    kind: driven-machine
    work: {unit: pressing, times: [[5 rad/s, 40 s], [40 rad/s, 10 s]], between: linear}
    makes: {lubricant: flax-oil, amount: 30 mL}
"""
TOP = "rig: 1\nname: Leg\ncatalogue: c.catalogue.yaml\nparts:\n  wheel: {item: tide-wheel}\n"


def load(folder: Path, *parts: str, below: str = "") -> Loaded:
    """A rig whose own parts begin on line 6, in column 3."""
    root = folder.resolve()
    (root / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (root / "a.rig.yaml").write_text(TOP + "".join(f"  {part}\n" for part in parts) + below, "utf-8")
    return Loader(Repository(root, root)).rig(root / "a.rig.yaml")


def rig_of(folder: Path, *parts: str, below: str = "") -> Rig:
    loaded = load(folder, *parts, below=below)
    assert loaded.faults == ()
    assert loaded.rig is not None
    return loaded.rig


def part_of(folder: Path, *parts: str) -> Part:
    return rig_of(folder, *parts).parts[1]


def fault_of(folder: Path, *parts: str, below: str = "") -> Fault:
    (fault,) = load(folder, *parts, below=below).faults
    return fault


@pytest.mark.parametrize(
    ("part", "rule", "column", "words"),
    [
        ("m: {item: mill, driven-by: weel}", "unknown-reference", 30, "no part weel; did you mean wheel?"),
        ("m: {item: mill, driven-by: wheel.out}", "unknown-reference", 30, "one outlet without a name: write wheel"),
        ("m: {item: mil, driven-by: wheel}", "unknown-reference", 13, "mil in the catalogue; did you mean mill?"),
        ("m: {item: mill, driven-by: [wheel, wheel]}", "not-offered", 30, "one inlet: write one name"),
        ("r: {item: rod, driven-by: [wheel]}", "not-offered", 29, "one inlet: write one name"),
        ("g: {item: gatherer, driven-by: [wheel]}", "not-offered", 34, "gatherer has 2 inlets, 1 is given"),
        ("g: {item: gatherer, driven-by: wheel}", "not-offered", 34, "gatherer has 2 inlets, 1 is given"),
        ("g: {item: gatherer, driven-by: [wheel, wheel, wheel]}", "not-offered", 34, "2 inlets, 3 are given"),
        ("r: {item: rod, grade: elm, driven-by: wheel}", "not-offered", 25, "not made in elm; it offers iron"),
        ("s: {item: stage, ratio: 2.5, set: reduce, driven-by: wheel}", "not-offered", 3, "needs a grade: elm, iron"),
        ("s: {item: stage, grade: elm, set: reduce}", "not-offered", 3, "needs a ratio: 2.5, 75/15"),
        ("s: {item: stage, grade: elm, ratio: 3, set: reduce}", "not-offered", 39, "it offers 2.5, 75/15"),
        ("s: {item: stage, grade: elm, ratio: 0.4, set: reduce}", "bad-quantity", 39, "below 1"),
        ("s: {item: stage, grade: elm, ratio: 2.5}", "not-schema", 3, "`set: reduce`"),
        ("r: {item: rod, set: reduce, driven-by: wheel}", "not-offered", 23, "rod (shaft) takes no set"),
        ("b: {item: bevel, set: reduce, driven-by: wheel}", "not-offered", 25, "bevel (right-angle) takes no set"),
        ("w: {item: tide-wheel, driven-by: wheel}", "not-offered", 36, "nothing drives it"),
        ("w: {item: tide-wheel, head: 4 m}", "not-offered", 31, "it takes no head"),
        ("w: {item: sluice}", "not-offered", 3, "needs its head"),
        ("w: {item: sluice, head: 7 m}", "bad-quantity", 27, "outside the table of sluice, 2 m to 6 m"),
        ("d: {item: divider, driven-by: wheel}", "not-offered", 3, "needs shares"),
        ("d: {item: divider, shares: {a: 1}}", "not-offered", 30, "2 outlets, 1 shares"),
        ("d: {item: divider, shares: {a: 1, b: 1}}", "not-offered", 30, "does not share 1 : 1; it offers 2 : 3"),
        ("d: {item: divider, shares: {a: 0, b: 1}}", "bad-quantity", 34, "more than 0"),
        ("d: {item: divider, shares: {a: 1e308, b: 1}}", "bad-quantity", 34, "too large to reckon with"),
        ("r: {item: rod, target: {time: 3 s}, driven-by: wheel}", "not-offered", 26, "rod (shaft) takes no target"),
        ("m: {item: mill, driven-by: wheel, target: {time: 3 s}}", "not-offered", 45, "no work table"),
        ("p: {item: press, driven-by: wheel, target: {time: 3}}", "bad-quantity", 53, "3"),
    ],
)
def test_a_part_that_will_not_do(tmp_path: Path, part: str, rule: str, column: int, words: str) -> None:
    """One fault, on line 6, at the value where there is one, at the part's key where something is lacking."""
    fault = fault_of(tmp_path, part)
    assert (fault.rule, fault.span.start) == (rule, (6, column))
    assert words in fault.message
    assert fault.part == part.partition(":")[0]


def test_a_list_on_a_part_with_one_inlet_is_refused_and_never_solved(tmp_path: Path) -> None:
    """What a part that cannot be built carries is not known: neither its two drivers nor their sum reach it."""
    both = "r: {item: rod, driven-by: [wheel, w]}"
    loaded = load(tmp_path, "w: {item: tide-wheel}", both, "m: {item: mill, driven-by: r}")
    assert [(fault.rule, fault.part) for fault in loaded.faults] == [("not-offered", "r")]
    assert [part.name for part, one in zip(*solved(loaded), strict=True) if one] == ["wheel", "w"]


def solved(loaded: Loaded) -> tuple[tuple[Part, ...], bytes]:
    rig = solve_loaded(loaded)
    return rig.parts, rig.flows.solved


@pytest.mark.parametrize(
    ("driver", "reference", "words"),
    [
        ("m: {item: mill, driven-by: wheel}", "m", "m is a driven machine: it drives nothing"),
        ("d: {item: divider, driven-by: wheel, shares: {east: 2, west: 3}}", "d", "which outlet, d.east or d.west"),
        ("d: {item: divider, driven-by: wheel, shares: {east: 2, west: 3}}", "d.wst", "did you mean west?"),
    ],
)
def test_outlets_that_are_not_there(tmp_path: Path, driver: str, reference: str, words: str) -> None:
    """A machine drives nothing, a splitter is named with its outlet; then nothing is known of unused outlets."""
    loaded = load(tmp_path, driver, f"x: {{item: rod, driven-by: {reference}}}")
    (fault,) = loaded.faults
    assert (fault.rule, fault.span.start, fault.part) == ("unknown-reference", (7, 29), "x")
    assert words in fault.message
    assert loaded.rig is not None
    assert not loaded.rig.all_connected
    assert [part.faulty for part in loaded.rig.parts] == [False, False, True]


def test_parts_may_be_named_before_they_stand(tmp_path: Path) -> None:
    """References lead down the file as well as up; inlets are (part, outlet) by number."""
    rig = rig_of(
        tmp_path,
        "m: {item: mill, driven-by: d.west}",
        "g: {item: gatherer, driven-by: [d.east, other]}",
        "d: {item: divider, driven-by: wheel, shares: {east: 30, west: 20}}",
        "other: {item: tide-wheel}",
    )
    assert [part.inlets for part in rig.parts] == [(), ((3, 1),), ((3, 0), (4, 0)), ((0, 0),), ()]
    assert rig.parts[3].outlets == ("east", "west")
    assert rig.all_connected


def test_ratios_compare_by_value(tmp_path: Path) -> None:
    """5, 10/2 and 75/15 are one ratio."""
    for ratio in ("5", "10/2", "75/15"):
        part = part_of(tmp_path, f"s: {{item: stage, grade: elm, ratio: {ratio}, set: increase}}")
        assert part.ratio is not None
        assert part.ratio.value == 5
        assert part.direction == "increase"


def test_limits_come_from_the_grade_the_item_and_the_machine(tmp_path: Path) -> None:
    """The chosen grade's 90 N*m and 60 rad/s; an item's own 400 N*m before its grade's 1200; a machine's 90 rad/s."""
    stage = part_of(tmp_path, "s: {item: stage, grade: elm, ratio: 5, set: reduce}")
    assert (stage.torque_limit, stage.speed_limit) == (90, 60)
    rod = part_of(tmp_path, "r: {item: rod}")
    assert (rod.torque_limit, rod.speed_limit) == (400, 250)
    mill = part_of(tmp_path, "m: {item: mill}")
    assert (mill.torque_limit, mill.speed_limit) == (None, 90)


def test_a_head_at_the_end_of_its_table_is_inside(tmp_path: Path) -> None:
    """6 m is the table's last row; 600 cm is the same."""
    for written in ("6 m", "600 cm"):
        assert part_of(tmp_path, f"w: {{item: sluice, head: {written}}}").head == pytest.approx(6, rel=1e-12)


@pytest.mark.parametrize(
    ("below", "column", "words"),
    [
        ("commissioning:\n  - engage: wheel\n", 13, "`engage` is for a clutch"),
        ("commissioning:\n  - start: p\n", 12, "`start` is for a prime-mover"),
        ("commissioning:\n  - set: {part: p, to: reduce}\n", 17, "`set` is for stages"),
        ("commissioning:\n  - couple: presses\n", 13, "no part presses"),
        ("readings:\n  - {at: p.out, speed: 8 rad/s}\n", 10, "it drives nothing"),
        ("waivers:\n  - {rule: loose-end, part: whel, reason: x, until: 2030-01-01}\n", 29, "did you mean wheel?"),
        ("lubrication:\n  o: {lubricant: flax-oi, tank: {holds: 1 L}, feeds: [p]}\n", 18, "did you mean flax-oil?"),
        (
            "lubrication:\n  o: {lubricant: flax-oil, supplied-by: wheel, tank: {holds: 1 L}, feeds: [p]}\n",
            41,
            "not make",
        ),
    ],
)
def test_sections_name_parts_that_are_there_and_fit(tmp_path: Path, below: str, column: int, words: str) -> None:
    """The section begins on line 7, its entry stands on line 8."""
    fault = fault_of(tmp_path, "p: {item: press, driven-by: wheel}", below=below)
    assert (fault.rule, fault.span.start) == ("unknown-reference", (8, column))
    assert words in fault.message


def test_a_rig_is_read_with_all_its_faults(tmp_path: Path) -> None:
    """One fault does not hide the next, and a bad quantity leaves the rig unsolved."""
    loaded = load(tmp_path, "a: {item: rodd, driven-by: wheel}", "p: {item: press, target: {time: 3 m}, driven-by: x}")
    assert sorted((f.rule, f.span.start.line) for f in loaded.faults) == [
        ("bad-quantity", 7),
        ("unknown-reference", 6),
        ("unknown-reference", 7),
    ]
    assert not loaded.solvable
    assert loaded.parts == 3


def test_a_catalogue_that_is_not_there(tmp_path: Path) -> None:
    """The fault stands at the name, line 3 column 12, with the nearest file of that kind."""
    root = tmp_path.resolve()
    (root / "tern.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (root / "a.rig.yaml").write_text(TOP.replace("c.catalogue", "ten.catalogue"), "utf-8")
    (fault,) = Loader(Repository(root, root)).rig(root / "a.rig.yaml").faults
    assert (fault.rule, fault.span.start) == ("unknown-reference", (3, 12))
    assert "did you mean tern.catalogue.yaml?" in fault.message


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    """A root `in` with a file, and one outside it."""
    base = tmp_path.resolve()
    (base / "in").mkdir()
    (base / "in" / "f.yaml").write_text("inside", "utf-8")
    (base / "out.yaml").write_text("outside", "utf-8")
    return Repository(base / "in", base, max_bytes=6)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("", "not a path"),
        ("a\0b", "not a path"),
        ("a\nb", "not a path"),
        ("http://x/y.yaml", "address"),
        ("/etc/hosts", "relative path"),
        ("~/f.yaml", "relative path"),
        ("C:/f.yaml", "relative path"),
        ("..\\out.yaml", "relative path"),
        ("../out.yaml", "leads out"),
        ("../gone.yaml", "leads out"),
        ("gone.yaml", "not there"),
        ("gone/f.yaml", "not there"),
        ("gone/../f.yaml", "not there"),
        ("x" * 300 + "/../f.yaml", "not there"),
        ("x" * 300, "cannot be looked up"),
    ],
)
def test_files_that_are_not_included(repository: Repository, name: str, words: str) -> None:
    """Only relative names of files inside the root; whether a file outside it exists is not told."""
    found = repository.include(repository.root / "a.rig.yaml", name)
    assert isinstance(found, Refusal)
    assert words in found.message


def test_links_are_followed_before_they_are_judged(repository: Repository) -> None:
    """A link inside the root is its target; a link out of it is refused, and so is a ring of links."""
    root = repository.root
    (root / "near").symlink_to("f.yaml")
    (root / "far").symlink_to("../out.yaml")
    (root / "ring").symlink_to("ring")
    assert repository.include(root / "a.rig.yaml", "near") == root / "f.yaml"
    for name in ("far", "ring"):
        assert isinstance(repository.include(root / "a.rig.yaml", name), Refusal)


def test_a_name_in_other_letters_is_refused_where_the_disk_takes_either(
    repository: Repository, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else a rig that is right on such a disk is wrong on the next: here `F.yaml`, which opens as `f.yaml` too."""
    monkeypatch.setattr(os, "listdir", lambda _: ["F.yaml"])
    found = repository.include(repository.root / "a.rig.yaml", "f.yaml")
    assert found == Refusal("differs from the file's name in upper and lower case", absent=True)


def test_names_outside_the_root_are_not_told(repository: Repository) -> None:
    """Of what is not there the nearest name is told: of a folder inside, never of one that a link leads out to."""
    root, away = repository.root, repository.root.parent / "away"
    away.mkdir()
    (away / "back.rig.yaml").symlink_to(root / "gone.rig.yaml")
    (root / "far").symlink_to(away)
    (root / "near").mkdir()
    (root / "near" / "bark.rig.yaml").write_text("", "utf-8")
    for name, beside in (("far/back.rig.yaml", ()), ("near/back.rig.yaml", ("bark.rig.yaml",)), ("no/f.yaml", ())):
        refused = repository.include(root / "a.rig.yaml", name)
        assert isinstance(refused, Refusal) and refused.absent
        assert repository.names(root / "a.rig.yaml", name) == beside


def test_a_file_that_is_longer_than_it_says_is_read_no_further_than_allowed() -> None:
    """As what grows while it is read; the system's own files say that they are empty."""
    told = Path("/proc/version")
    if not told.is_file() or told.stat().st_size:
        pytest.skip("the system has no such file")
    found = Repository(told.parent, told.parent, max_bytes=7).read(told)
    assert found == Refusal("has more than the 7 bytes that are read")


def test_only_regular_files_of_bounded_size_are_read(repository: Repository) -> None:
    """Six bytes are read where six are allowed, seven are not; a folder and a pipe are refused unopened."""
    root = repository.root
    assert repository.read(root / "f.yaml") == b"inside"
    (root / "big.yaml").write_bytes(b"1234567")
    os.mkfifo(root / "pipe.yaml")
    for name, words in (("big.yaml", "7 bytes"), ("pipe.yaml", "regular"), (".", "regular"), ("no", "not there")):
        found = repository.read(root / name)
        assert isinstance(found, Refusal)
        assert words in found.message


def test_texts_laid_over_the_disk(repository: Repository) -> None:
    """A trial's text is read in place of the disk's, which stays as it was; a new file may be included."""
    root = repository.root
    edited_rig = repository.with_texts({root / "f.yaml": b"trial", root / "new.yaml": b"new"})
    assert edited_rig.read(root / "f.yaml") == b"trial"
    assert edited_rig.include(root / "a.rig.yaml", "new.yaml") == root / "new.yaml"
    assert repository.read(root / "f.yaml") == b"inside"
    assert edited_rig.shown(root / "f.yaml") == "in/f.yaml"
