"""What a snag list covers and what not: values, files that move, several findings of one part, lists with faults.

Each rig has a wheel of 100 N·m and shafts of 80 N·m, so that a shaft carries 1.25 times its limit, by hand.
"""

import json
from pathlib import Path
from typing import Any

import junitparser
import pytest
import yaml
from command_runner import run
from jsonschema import Draft202012Validator

ROOT = Path(__file__).resolve().parents[2]
CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 100 N*m, speed: 4 rad/s}}
  shaft: {kind: shaft, torque-limit: 80 N*m}
  strong: {kind: shaft, torque-limit: 130 N*m}
  divider: {kind: splitter, outlets: 2, shares: any}
  mill: {kind: driven-machine}
"""
RIG = """rig: 1
name: NAME
catalogue: c.catalogue.yaml
parts:
  w: {item: wheel}
  s: {item: shaft, driven-by: w}
  t: {item: strong, driven-by: s}
  m: {item: mill, driven-by: t}
"""
NAMELESS = RIG.replace("name: NAME\n", "")


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A repository with the catalogue and one rig, `a.rig.yaml`."""
    (tmp_path / ".git").mkdir()
    (tmp_path / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (tmp_path / "a.rig.yaml").write_text(RIG, "utf-8")
    return tmp_path


def record(folder: Path, *more: str) -> bytes:
    """The list of all that is wrong, as `l.snags.yaml`."""
    (folder / "l.snags.yaml").unlink(missing_ok=True)
    ran = run(folder, "snags", "record", *more, "-o", "l.snags.yaml", "--date", "2026-03-02")
    assert ran.returncode == 0, ran.stderr
    return (folder / "l.snags.yaml").read_bytes()


def check(folder: Path, *more: str) -> tuple[int, dict[str, Any]]:
    """Exit code and document of a check of the whole folder against the list."""
    ran = run(folder, "check", "--snags", "l.snags.yaml", "--write", "json=-", *more)
    return ran.returncode, json.loads(ran.stdout)


def change(path: Path, old: str, new: str) -> None:
    """One change in a file."""
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


@pytest.mark.parametrize(("limit", "code"), [("79.3", 0), ("80.7", 0), ("79.1", 1)])
def test_one_per_cent_does_not_count(yard: Path, limit: str, code: int) -> None:
    """Recorded at 1.25 times, so up to 1.2625 passes: 100/79.3 = 1.26103 does, 100/79.1 = 1.26422 does not."""
    record(yard)
    change(yard / "c.catalogue.yaml", "80 N*m", f"{limit} N*m")
    found = check(yard)
    assert (found[0], found[1]["summary"]["snags"]) == (code, 1 - code)


def test_a_margin_is_worse_when_it_is_less(yard: Path) -> None:
    """130/100 = 1.3 where 1.5 is wanted; with 127 N·m it is 1.27, more than 1 % less, so it counts again."""
    (yard / "lineshaft.policy.yaml").write_text("policy: 1\nmargins: {torque: 1.5}\n", "utf-8")
    record(yard)
    change(yard / "c.catalogue.yaml", "130 N*m", "129 N*m")
    assert check(yard)[1]["summary"]["warnings"] == 0
    change(yard / "c.catalogue.yaml", "129 N*m", "127 N*m")
    assert check(yard, "--fail-on", "warning")[0] == 1


def test_what_is_new_fails(yard: Path) -> None:
    """The same rule at another part, and the same part in another file, are not what was recorded."""
    record(yard)
    change(yard / "a.rig.yaml", "item: strong", "item: shaft")
    code, document = check(yard)
    assert (code, document["summary"]["errors"], document["summary"]["snags"]) == (1, 1, 1)
    change(yard / "a.rig.yaml", "t: {item: shaft", "t: {item: strong")
    assert check(yard)[0] == 0
    (yard / "b.rig.yaml").write_text(RIG, "utf-8")
    code, document = check(yard)
    assert (code, document["summary"]["errors"], document["summary"]["snags"]) == (1, 1, 1)


def test_lines_may_move(yard: Path) -> None:
    """Comments and parts above, and another order of the parts, are no change."""
    record(yard)
    change(yard / "a.rig.yaml", "  s: {item: shaft, driven-by: w}\n", "")
    change(yard / "a.rig.yaml", "parts:\n", "# moved\nparts:\n")
    with (yard / "a.rig.yaml").open("a") as rig:
        rig.write("  s: {item: shaft, driven-by: w}\n")
    assert check(yard)[0] == 0


@pytest.mark.parametrize("text", [RIG, NAMELESS], ids=["named", "nameless"])
def test_a_file_may_move(yard: Path, text: str) -> None:
    """Renamed into another folder, with the list left as it is; the update then has the new path."""
    (yard / "a.rig.yaml").write_text(text, "utf-8")
    record(yard)
    (yard / "mill").mkdir()
    (yard / "a.rig.yaml").rename(yard / "mill" / "new.rig.yaml")
    change(yard / "mill" / "new.rig.yaml", "c.catalogue", "../c.catalogue")
    assert check(yard)[0] == 0
    shown = run(yard, "check", "--snags", "l.snags.yaml").stdout
    assert "notice: snags of a.rig.yaml: it is mill/new.rig.yaml now" in shown
    run(yard, "snags", "record", "--update", "-o", "l.snags.yaml")
    assert yaml.safe_load((yard / "l.snags.yaml").read_text())["findings"][0]["file"] == "mill/new.rig.yaml"
    assert check(yard)[0] == 0


def test_another_rig_does_not_stand_for_a_file_that_is_gone(yard: Path) -> None:
    """The name is another, so the same finding is a new one; and the old one is told of as gone."""
    record(yard)
    (yard / "a.rig.yaml").unlink()
    (yard / "b.rig.yaml").write_text(RIG.replace("NAME", "Other"), "utf-8")
    assert check(yard)[0] == 1
    assert "s in a.rig.yaml is gone" in run(yard, "check", "--snags", "l.snags.yaml").stdout


def test_one_snag_covers_one_of_two_files_that_could_stand_for_the_lost_one(yard: Path) -> None:
    """A renamed file and its copy: one passes, the other fails, whichever; never both."""
    record(yard)
    (yard / "a.rig.yaml").rename(yard / "b.rig.yaml")
    (yard / "c.rig.yaml").write_text(RIG, "utf-8")
    code, document = check(yard)
    assert (code, document["summary"]["errors"], document["summary"]["snags"]) == (1, 1, 1)


def test_a_new_file_with_other_findings_does_not_stand_for_a_lost_one(yard: Path) -> None:
    """It has the lost one's name, but its shaft holds and its mill hangs on nothing: the snag covers none of that."""
    record(yard)
    (yard / "a.rig.yaml").unlink()
    stronger = RIG.replace("s: {item: shaft", "s: {item: strong")
    (yard / "b.rig.yaml").write_text(stronger.replace("m: {item: mill, driven-by: t}", "m: {item: mill}"), "utf-8")
    code, document = check(yard, "--fail-on", "note")
    assert (code, document["summary"]["snags"]) == (1, 0)
    assert "s in a.rig.yaml is gone" in run(yard, "check", "--snags", "l.snags.yaml").stdout


def test_two_lost_files_take_two_new_ones(yard: Path) -> None:
    """Both renamed at once; each keeps its own, told apart by the rigs' names."""
    (yard / "b.rig.yaml").write_text(RIG.replace("NAME", "Other").replace("item: strong", "item: shaft"), "utf-8")
    record(yard)
    (yard / "a.rig.yaml").rename(yard / "z.rig.yaml")
    (yard / "b.rig.yaml").rename(yard / "y.rig.yaml")
    code, document = check(yard)
    assert (code, document["summary"]["snags"]) == (0, 3)


def test_a_snag_of_one_outlet_does_not_cover_another(yard: Path) -> None:
    """The splitter's open outlet was `left`; when `left` is connected and `right` is not, that is new."""
    divider = "t: {item: divider, driven-by: s, shares: {left: 1, right: 1}}"
    text = RIG.replace("t: {item: strong, driven-by: s}", divider)
    (yard / "a.rig.yaml").write_text(text.replace("driven-by: t}", "driven-by: t.right}"), "utf-8")
    record(yard)
    assert check(yard, "--fail-on", "note")[0] == 0
    change(yard / "a.rig.yaml", "driven-by: t.right}", "driven-by: t.left}")
    assert check(yard, "--fail-on", "warning")[1]["summary"]["warnings"] == 1


def test_what_cannot_be_judged_is_not_gone(yard: Path) -> None:
    """A slip of the pen hides the overload: it is not told of as mended, and an update keeps it."""
    record(yard)
    change(yard / "a.rig.yaml", "m: {item: mill", "m: {item: mil")
    assert "is gone" not in run(yard, "check", "--snags", "l.snags.yaml").stdout
    run(yard, "snags", "record", "--update", "-o", "l.snags.yaml")
    assert len(yaml.safe_load((yard / "l.snags.yaml").read_text())["findings"]) == 1


def test_files_that_are_not_checked_are_not_gone(yard: Path) -> None:
    """A hook that passes one file of two says nothing of the other, and an update keeps its snags."""
    (yard / "b.rig.yaml").write_text(RIG.replace("NAME", "Other"), "utf-8")
    record(yard)
    assert "notice" not in run(yard, "check", "--snags", "l.snags.yaml", "b.rig.yaml").stdout
    ran = run(yard, "snags", "record", "--update", "-o", "l.snags.yaml", "b.rig.yaml")
    assert ran.stdout == "l.snags.yaml: 2 snags left; 0 got better, 0 are gone\n"


def test_the_list_does_not_depend_on_the_working_folder(yard: Path) -> None:
    """Recorded at the root, it passes from a folder below; recorded there, it has the same entries."""
    (yard / "below").mkdir()
    text = record(yard)
    assert run(yard / "below", "check", "--snags", "../l.snags.yaml", "..").returncode == 0
    ran = run(yard / "below", "snags", "record", "..", "-o", "../m.snags.yaml", "--date", "2026-03-02")
    assert ran.returncode == 0
    assert (yard / "m.snags.yaml").read_bytes() == text


def test_the_same_findings_make_the_same_bytes(yard: Path) -> None:
    """In whatever order files are named; block style, the file's first key, nothing but what is needed."""
    (yard / "b.rig.yaml").write_text(RIG.replace("NAME", "Other"), "utf-8")
    first = record(yard, "a.rig.yaml", "b.rig.yaml")
    assert record(yard, "b.rig.yaml", "a.rig.yaml") == first
    assert first.decode().splitlines()[1:10] == [
        "snags: 1",
        "recorded: 2026-03-02",
        "findings:",
        "  - rule: torque-over-limit",
        "    file: a.rig.yaml",
        "    rig: NAME",
        "    part: s",
        "    of: times_torque_limit",
        "    value: 1.25",
    ]


def test_waived_findings_are_no_snags(yard: Path) -> None:
    """A waiver covers it already; of a list with nothing in it nothing is left out."""
    waiver = "waivers: [{rule: torque-over-limit, part: s, up-to: 2, reason: old, until: 2999-12-31}]\n"
    (yard / "a.rig.yaml").write_text(RIG + waiver, "utf-8")
    assert yaml.safe_load(record(yard))["findings"] == []
    assert check(yard)[1]["summary"]["waived"] == 1


def test_what_stands_in_the_way_of_judging_is_not_recorded(yard: Path) -> None:
    """A file that does not fit its schema is named as such: exit 1, and it goes on failing."""
    (yard / "b.rig.yaml").write_text("rig: 1\n", "utf-8")
    ran = run(yard, "snags", "record", "-o", "l.snags.yaml")
    assert ran.returncode == 1
    assert "2 findings cannot be recorded, mend that first:\n  b.rig.yaml:1:1: not-schema: " in ran.stderr
    assert [entry["rule"] for entry in yaml.safe_load((yard / "l.snags.yaml").read_text())["findings"]] == [
        "torque-over-limit"
    ]
    assert check(yard)[0] == 1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("-o", "l.snags.yaml"), "--update makes it shorter"),
        (("-o", "list.yaml"), "ends in .snags.yaml"),
        (("--update", "-o", "none.snags.yaml"), "does not exist"),
        (("--update", "-o", "-"), "name it with -o FILE"),
        (("none", "-o", "m.snags.yaml"), "none does not exist"),
        (("-o", "none/m.snags.yaml"), "cannot write"),
        ((), "-o"),
    ],
)
def test_a_list_is_not_lost_or_made_by_a_slip(yard: Path, arguments: tuple[str, ...], words: str) -> None:
    """Exit 2 and a message; the list that is there stays as it is, no other is made."""
    text = record(yard)
    ran = run(yard, "snags", "record", *arguments)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert words in ran.stderr
    assert (yard / "l.snags.yaml").read_bytes() == text
    assert [path.name for path in yard.glob("*.snags.yaml")] == ["l.snags.yaml"]


ENTRY = "{rule: torque-over-limit, file: a.rig.yaml, part: s, of: times_torque_limit, value: 9}"
FAULTY = {
    "no YAML": ("snags: 1\nfindings: [", "not-yaml", "line 2"),
    "an empty file": ("", "not-schema", "line 1"),
    "another version": ("snags: 2\nfindings: []", "not-schema", "line 1, column 8"),
    "an unknown key": (f"snags: 1\nfindings:\n- {ENTRY[:-1]}, by: me}}", "not-schema", "`by`"),
    "no file": ("snags: 1\nfindings:\n- {rule: loose-end}", "not-schema", "line 3"),
    "a value of nothing": ("snags: 1\nfindings:\n- {rule: loose-end, file: a, value: 1}", "not-schema", "`of`"),
    "no number": (f"snags: 1\nfindings:\n- {ENTRY.replace('9', 'much')}", "not-schema", "line 3"),
    "not finite": (f"snags: 1\nfindings:\n- {ENTRY.replace('9', '.inf')}", "not-schema", "line 3"),
    "below 0": (f"snags: 1\nfindings:\n- {ENTRY.replace('9', '-1')}", "bad-quantity", "line 3"),
    "an absolute path": ("snags: 1\nfindings:\n- {rule: loose-end, file: /etc/passwd}", "unknown-reference", "line 3"),
    "no day": ("snags: 1\nrecorded: 2026-02-30\nfindings: []", "not-schema", "line 2"),
    "a rule that none passes": (
        "snags: 1\nfindings:\n- {rule: not-schema, file: a.rig.yaml}",
        "not-schema",
        "cannot be a snag",
    ),
}


@pytest.mark.parametrize(("text", "rule", "words"), FAULTY.values(), ids=FAULTY.keys())
def test_a_list_with_a_fault_is_no_verdict(yard: Path, text: str, rule: str, words: str) -> None:
    """Named by `--snags`, shown or updated: exit 2 with the place. Checked as a file: a finding, exit 1."""
    (yard / "l.snags.yaml").write_text(text, "utf-8")
    for arguments in (("check", "--snags", "l.snags.yaml"), ("snags", "show", "l.snags.yaml")):
        ran = run(yard, *arguments)
        assert (ran.returncode, ran.stdout) == (2, "")
        assert "l.snags.yaml line " in ran.stderr
        assert words in ran.stderr
    ran = run(yard, "check", "--write", "json=-", "l.snags.yaml")
    assert ran.returncode == 1
    assert {finding["rule"] for finding in json.loads(ran.stdout)["findings"]} == {rule}


def test_a_list_that_is_right_is_judged_too(yard: Path) -> None:
    """As a file among others it is counted and found to be in order."""
    record(yard)
    document = json.loads(run(yard, "check", "--write", "json=-", "l.snags.yaml").stdout)
    assert (document["summary"]["files"], document["findings"]) == (1, [])


def test_a_path_out_of_the_repository_covers_nothing_and_is_not_looked_for(yard: Path) -> None:
    """Neither there nor gone: such an entry is passed over in silence."""
    text = "snags: 1\nfindings:\n- {rule: loose-end, file: ../../../none.rig.yaml}\n"
    (yard / "l.snags.yaml").write_text(text, "utf-8")
    ran = run(yard, "check", "--snags", "l.snags.yaml")
    assert ran.returncode == 1
    assert "notice" not in ran.stdout


HOSTILE_NAME = 'a\x1b[31m"\\ \u202e: #x\u2028\n::error::y \U0001f30a [0] {b} \x7f - ? & * ! | > % @ `'


def test_a_strangers_name_goes_through(yard: Path) -> None:
    """Written so that another YAML reader reads it back; shown and told with its controls visible, not sent."""
    name = yaml.safe_dump(HOSTILE_NAME, default_style='"', width=999).strip()
    (yard / "a.rig.yaml").write_text(RIG.replace("NAME", name), "utf-8")
    odd = yard / "b\n::error::x \x1b[2J'.rig.yaml"
    odd.write_text(RIG, "utf-8")
    record(yard)
    listed = yaml.safe_load((yard / "l.snags.yaml").read_text("utf-8"))["findings"]
    assert {entry["rig"] for entry in listed} == {HOSTILE_NAME, "NAME"}
    assert {entry["file"] for entry in listed} == {"a.rig.yaml", odd.name}
    assert check(yard)[0] == 0
    change(odd, "item: shaft", "item: strong")
    for arguments in (("snags", "show", "l.snags.yaml"), ("check", "--snags", "l.snags.yaml")):
        shown = run(yard, *arguments).stdout
        assert "\x1b" not in shown
        assert not [line for line in shown.splitlines() if line.startswith("::")]
        assert "\\x1b[2J" in shown


def test_a_hostile_list_is_shown_harmless(yard: Path) -> None:
    """Parts, measures and files in a list are anybody's text: in the table, the notices and every format."""
    text = json.dumps("x\x1b[31m\n::error::y ##[z]")
    entry = f"{{rule: torque-over-limit, file: {text}, part: {text}, of: {text}, value: 1}}"
    same = f"{{rule: torque-over-limit, file: a.rig.yaml, part: s, of: {text}, value: 1}}"
    (yard / "l.snags.yaml").write_text(f"snags: 1\nfindings:\n- {entry}\n- {same}\n", "utf-8")
    writes = ("sarif", "junit", "gitlab", "markdown", "json")
    run(yard, "check", "--snags", "l.snags.yaml", *(f"--write={name}={name}.out" for name in writes))
    outputs = [(yard / f"{name}.out").read_text("utf-8") for name in writes]
    outputs += [run(yard, "snags", "show", "l.snags.yaml").stdout, run(yard, "check", "--snags", "l.snags.yaml").stdout]
    for shown in outputs:
        assert "\x1b" not in shown
        assert "##[" not in shown
        assert not [line for line in shown.splitlines() if line.lstrip().startswith("::")]


def test_writers_let_a_snag_pass(yard: Path) -> None:
    """JSON fits its schema; JUnit skips it, SARIF suppresses it, GitHub and GitLab leave it out, Markdown names it."""
    record(yard)
    names = ("json", "junit", "sarif", "github", "gitlab", "markdown")
    ran = run(yard, "check", "--snags", "l.snags.yaml", *(f"--write={name}={name}.out" for name in names))
    assert ran.returncode == 0
    out = {name: (yard / f"{name}.out").read_text("utf-8") for name in names}
    document = json.loads(out["json"])
    Draft202012Validator(json.loads((ROOT / "schema" / "findings.schema.json").read_text())).validate(document)
    assert document["findings"][0]["snag"] == {"of": "times_torque_limit", "value": 1.25}
    suites = junitparser.JUnitXml.fromstring(out["junit"].encode())
    (skipped,) = (case for suite in suites for case in suite if case.result)
    assert type(skipped.result[0]).__name__ == "Skipped"
    (result,) = json.loads(out["sarif"])["runs"][0]["results"]
    assert result["suppressions"][0]["justification"] == "a snag that was recorded with times torque limit of 1.25"
    assert "::error" not in out["github"]
    assert json.loads(out["gitlab"]) == []
    assert "| snag, error |" in out["markdown"]
    assert "1 snag." in ran.stdout


def test_show_is_a_table(yard: Path) -> None:
    """A line a snag, with its file as seen from the list, and how many there are."""
    record(yard)
    ran = run(yard, "snags", "show", "l.snags.yaml")
    assert ran.returncode == 0
    head, _, line, count = ran.stdout.splitlines()
    assert head.split() == ["rule", "part", "file", "recorded"]
    assert line.split() == ["torque-over-limit", "s", "a.rig.yaml", "times_torque_limit", "1.25"]
    assert count == "l.snags.yaml: 1 snag, recorded on 2026-03-02"


def test_a_level_of_the_policy_holds_for_what_is_recorded(yard: Path) -> None:
    """A rule that is off finds nothing, so its snag can go."""
    record(yard)
    (yard / "lineshaft.policy.yaml").write_text("policy: 1\nlevels: {torque-over-limit: off}\n", "utf-8")
    assert "is gone" in run(yard, "check", "--snags", "l.snags.yaml").stdout


def test_of_very_many_that_are_gone_twenty_are_told(yard: Path) -> None:
    """Three and twenty entries of parts that the rig does not have any more: three are counted."""
    entries = (
        f"- {{rule: torque-over-limit, file: a.rig.yaml, part: p{n}, of: times_torque_limit, value: 2}}\n"
        for n in range(23)
    )
    (yard / "l.snags.yaml").write_text(f"snags: 1\nfindings:\n{''.join(entries)}", "utf-8")
    told = run(yard, "check", "--snags", "l.snags.yaml").stdout
    assert sum("torque-over-limit: p" in line for line in told.splitlines()) == 20
    assert "and 3 more" in told


def test_a_snag_that_was_waived_since_is_gone(yard: Path) -> None:
    """The waiver lets it pass, so that the list no longer has to."""
    record(yard)
    waiver = "waivers:\n  - {rule: torque-over-limit, part: s, up-to: 1.3, reason: tried, until: 2027-03-31}\n"
    (yard / "a.rig.yaml").write_text(RIG + waiver, "utf-8")
    code, document = check(yard)
    assert (code, document["summary"]["snags"], document["summary"]["waived"]) == (0, 0, 1)
    assert "the snag list can shrink" in run(yard, "check", "--snags", "l.snags.yaml").stdout


def test_worse_than_what_was_not_measured_says_so(yard: Path) -> None:
    """A list from elsewhere with no figure: 1.25 times is worse than whatever that was."""
    entry = "{rule: torque-over-limit, file: a.rig.yaml, part: s}"
    (yard / "l.snags.yaml").write_text(f"snags: 1\nfindings:\n- {entry}\n", "utf-8")
    code, document = check(yard)
    assert code == 1
    (found,) = [finding for finding in document["findings"] if finding["part"] == "s"]
    assert found["message"].endswith("; worse than the snag that was recorded")
