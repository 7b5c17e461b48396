"""Waivers through the public command: what they cover, up to what value and day, and what fails closed.

The rig's shaft carries 100 N·m of 80 N·m, 1.25 times, by hand; the stage behind it holds.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from command_runner import run

from lineshaft import api
from lineshaft.check.registry import own_ids
from lineshaft.rules import waiver_stale
from lineshaft.testing import findings_of, rig_from_text

CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 100 N*m, speed: 4 rad/s}}
  shaft: {kind: shaft, torque-limit: 80 N*m}
  strong: {kind: shaft, torque-limit: 125 N*m}
  stage: {kind: gear-stage, ratios: [7/3]}
  mill: {kind: driven-machine}
"""
RIG = """rig: 1
catalogue: c.catalogue.yaml
parts:
  w: {item: wheel}
  s: {item: shaft, driven-by: w}
  m: {item: mill, driven-by: s}
waivers:
  - {WAIVER}
"""
WAIVER = "rule: torque-over-limit, part: s, up-to: 1.3, reason: proof-loaded in spring, until: 2027-03-31"
Document = dict[str, Any]


def place(folder: Path, waiver: str = WAIVER, rig: str = RIG) -> Path:
    """A rig with one waiver, in a root of its own."""
    (folder / ".git").mkdir(exist_ok=True)
    (folder / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    (folder / "a.rig.yaml").write_text(rig.replace("WAIVER", waiver), "utf-8")
    return folder


def check(folder: Path, *more: str, date: str = "2027-01-01") -> tuple[int, Document]:
    """Exit code and findings document on a day."""
    ran = run(folder, "check", "--write", "json=-", "--date", date, *more, "a.rig.yaml")
    return ran.returncode, json.loads(ran.stdout)


def fired(document: Document) -> list[str]:
    """The rules of the findings that count."""
    return sorted(f["rule"] for f in document["findings"] if f["waived"] is None)


def test_what_is_waived_counts_apart_and_does_not_fail(tmp_path: Path) -> None:
    """100 / 80 = 1.25 is within 1.3: exit 0, counted under waived only, with reason, day, bound and value."""
    code, document = check(place(tmp_path))
    assert code == 0
    summary = document["summary"]
    assert (summary["errors"], summary["warnings"], summary["waived"]) == (0, 0, 1)
    (finding,) = document["findings"]
    wanted = {"reason": "proof-loaded in spring", "until": "2027-03-31", "up_to": 1.3, "value": 1.25}
    assert (finding["level"], finding["waived"]) == ("error", wanted)


def _open_ends(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """A rule of somebody else's, whose findings have no value."""
    yield api.report(rig.place(1), rig.parts[1].name, ("ends in the open",))


def test_only_what_has_a_value_is_waived_up_to_one() -> None:
    """For rules of ours the schema says so; a rule of another distribution is met here, and told at its name."""
    text = (
        "rig: 1\ncatalogue: works.catalogue.yaml\nparts:\n  wheel: {item: wheel}\n"
        "  rod: {item: shaft, grade: pine, driven-by: wheel}\nwaivers:\n"
        "  - {rule: harbour-ends, part: rod, up-to: 1.3, reason: the mill comes in May, until: 2027-03-31}\n"
    )
    (finding,) = findings_of(api.Rule("harbour-ends", "warning", _open_ends), text)
    rig = rig_from_text(text)
    assert waiver_stale.RULE.review is not None
    (stale,) = waiver_stale.RULE.review(rig, (api.JudgedWaiver(rig.rig.waivers[0], "beyond", (finding,)),))
    assert stale.place[1].start == (7, 12)
    assert stale.message == (
        "does not fit harbour-ends of rod: only what has a value is waived up to one",
    )


@pytest.mark.parametrize(
    ("up_to", "expected"), [("1.25", []), ('"1.25"', []), ("1.24", ["torque-over-limit", "waiver-stale"])]
)
def test_a_waiver_ends_at_its_value(tmp_path: Path, up_to: str, expected: list[str]) -> None:
    """1.25 is not worse than 1.25; it is worse than 1.24, and then the finding fires and the waiver is stale."""
    code, document = check(place(tmp_path, WAIVER.replace("1.3", up_to)))
    assert (code, fired(document)) == (1 if expected else 0, expected)


@pytest.mark.parametrize(
    ("date", "expected"),
    [("2027-03-30", []), ("2027-03-31", []), ("2027-04-01", ["torque-over-limit", "waiver-expired"])],
)
def test_a_waiver_ends_with_its_day(tmp_path: Path, date: str, expected: list[str]) -> None:
    """The day itself is included; the day after, what it waived counts again and the waiver is an error."""
    code, document = check(place(tmp_path), date=date)
    assert (code, fired(document)) == (1 if expected else 0, expected)


def test_today_is_the_default_day(tmp_path: Path) -> None:
    """Without `--date` a waiver of a past year is expired, one of the year 2999 is not."""
    codes = []
    for year in ("2020", "2999"):
        place(tmp_path, WAIVER.replace("2027", year))
        codes.append(run(tmp_path, "check", "a.rig.yaml").returncode)
    assert codes == [1, 0]


@pytest.mark.parametrize("date", ["2027-02-29", "20270101", "2027-W10-1", "soon", ""])
def test_a_day_that_is_none_is_a_usage_error(tmp_path: Path, date: str) -> None:
    """Only YYYY-MM-DD of the calendar; the message shows how to write it."""
    ran = run(place(tmp_path), "check", "--date", date, "a.rig.yaml")
    assert (ran.returncode, ran.stdout) == (2, "")
    assert "2027-03-31" in ran.stderr


@pytest.mark.parametrize(
    ("waiver", "rule", "words"),
    [
        ("rule: torque-over-limit, part: s, reason: old, until: 2027-03-31", "not-schema", "up-to"),
        ("rule: torque-over-limit, part: s, up-to: 1.3, until: 2027-03-31", "not-schema", "reason"),
        ("rule: torque-over-limit, part: s, up-to: 1.3, reason: '', until: 2027-03-31", "not-schema", "empty"),
        ("rule: torque-over-limit, part: s, up-to: 1.3, reason: old", "not-schema", "until"),
        ("rule: torque-over-limit, part: s, up-to: 1.3, reason: old, until: 2027-02-29", "not-schema", "calendar"),
        ("rule: torque-over-limit, part: s, up-to: 1.3, reason: old, until: 2027-03-31, by: me", "not-schema", "`by`"),
        ("rule: loose-end, part: s, up-to: 1.3, reason: old, until: 2027-03-31", "not-schema", "up-to"),
        ("rule: bad-quantity, part: s, reason: old, until: 2027-03-31", "not-schema", "cannot be waived"),
        ("rule: waiver-expired, reason: old, until: 2027-03-31", "not-schema", "cannot be waived"),
        ("rule: not-judged, reason: old, until: 2027-03-31", "not-schema", "cannot be waived"),
        ("rule: torque-over-limit, part: s, up-to: much, reason: old, until: 2027-03-31", "bad-quantity", "number"),
        ("rule: torque-over-limit, part: s, up-to: -1, reason: old, until: 2027-03-31", "bad-quantity", "more than 0"),
    ],
)
def test_a_malformed_waiver_is_a_finding_and_waives_nothing(
    tmp_path: Path, waiver: str, rule: str, words: str
) -> None:
    """The file is not judged at all rather than with a waiver in doubt: exit 1, nothing counted as waived."""
    code, document = check(place(tmp_path, waiver))
    assert (code, document["summary"]["waived"]) == (1, 0)
    (finding,) = document["findings"]
    assert finding["rule"] == rule
    assert finding["pointer"].startswith("/waivers/0")
    assert words in finding["message"]


@pytest.mark.parametrize(
    ("waiver", "expected"),
    [
        (WAIVER.replace("part: s", "part: t"), ["torque-over-limit", "unknown-reference"]),
        (WAIVER.replace("part: s", "part: m"), ["torque-over-limit", "waiver-stale"]),
        (WAIVER.replace("part: s, ", ""), ["torque-over-limit", "waiver-stale"]),
        (WAIVER.replace("torque-over", "speed-over"), ["torque-over-limit", "waiver-stale"]),
        (WAIVER.replace("torque-over-limit", "no-such-rule"), ["torque-over-limit", "waiver-stale"]),
    ],
)
def test_a_waiver_of_something_else_covers_nothing(tmp_path: Path, waiver: str, expected: list[str]) -> None:
    """Another part, no part, another rule, no rule: the overload fires, and the waiver is found to be idle."""
    code, document = check(place(tmp_path, waiver))
    assert (code, fired(document)) == (1, expected)


def test_what_is_mended_leaves_a_stale_waiver(tmp_path: Path) -> None:
    """A shaft of 125 N·m holds: a warning, so exit 0."""
    code, document = check(place(tmp_path, rig=RIG.replace("item: shaft", "item: strong")))
    assert (code, fired(document)) == (0, ["waiver-stale"])


def test_a_margin_is_waived_down_to_a_value(tmp_path: Path) -> None:
    """125 / 100 = 1.25 where 1.5 is wanted: waived down to 1.25 it passes, down to 1.26 it does not."""
    place(tmp_path)
    (tmp_path / "lineshaft.policy.yaml").write_text("policy: 1\nmargins: {torque: 1.5}\n", "utf-8")
    for up_to, expected in (("1.25", []), ("1.26", ["margin-thin", "waiver-stale"])):
        waiver = f"rule: margin-thin, part: s, up-to: {up_to}, reason: old, until: 2027-03-31"
        place(tmp_path, waiver, RIG.replace("item: shaft", "item: strong"))
        assert fired(check(tmp_path)[1]) == expected


def test_a_wrong_turn_that_breaks_nothing_is_within_any_bound(tmp_path: Path) -> None:
    """The stage is delivered reducing and set by no list; no limit is near, so the warning has no times_limit."""
    rig = RIG.replace("item: shaft, driven-by: w", "item: stage, ratio: 7/3, set: increase, driven-by: w")
    waiver = WAIVER.replace("torque-over-limit", "direction-before-commissioning")
    code, document = check(place(tmp_path, waiver, rig))
    assert (code, fired(document), document["summary"]["waived"]) == (0, [], 1)


@pytest.mark.parametrize(
    ("levels", "waiver", "code", "expected"),
    [
        ("waiver-expired: off", WAIVER.replace("2027", "2020"), 1, ["torque-over-limit"]),
        ("waiver-stale: off", WAIVER.replace("1.3", "1.2"), 1, ["torque-over-limit"]),
        ("waiver-stale: error", WAIVER.replace("part: s", "part: m"), 1, ["torque-over-limit", "waiver-stale"]),
        ("torque-over-limit: off", WAIVER, 0, []),
    ],
)
def test_waiver_rules_obey_levels(
    tmp_path: Path, levels: str, waiver: str, code: int, expected: list[str]
) -> None:
    """Off is silent but lends no waiver another day; of a rule that is off nobody knows whether its waiver is stale."""
    place(tmp_path, waiver)
    (tmp_path / "lineshaft.policy.yaml").write_text(f"policy: 1\nlevels: {{{levels}}}\n", "utf-8")
    found = check(tmp_path)
    assert (found[0], fired(found[1])) == (code, expected)
    if "stale: error" in levels:
        (stale,) = (f for f in found[1]["findings"] if f["rule"] == "waiver-stale")
        assert stale["level"] == "error"


def test_nothing_is_stale_while_a_part_has_no_solution(tmp_path: Path) -> None:
    """The shaft is driven by a part that is not there, so whether it is overloaded cannot be told."""
    code, document = check(place(tmp_path, rig=RIG.replace("driven-by: w", "driven-by: x")))
    assert code == 1
    assert "waiver-stale" not in fired(document)


def test_the_schema_says_of_each_rule_whether_a_waiver_is_bound(tmp_path: Path) -> None:
    """Each of our rules is bound to a value, bound to none, or cannot be waived; none is forgotten."""
    schema = json.loads((Path(__file__).parents[2] / "schema" / "rig.schema.json").read_text("utf-8"))
    lists = [c["if"]["properties"]["rule"]["enum"] for c in schema["$defs"]["waiver"]["allOf"]]
    bound, free = map(set, lists)
    ours = own_ids().keys()
    unwaivable = {"not-yaml", "not-schema", "bad-quantity", "not-judged", "waiver-expired", "waiver-stale"}
    assert ours - bound - free == unwaivable
    assert not bound & free


def test_repair_leaves_what_is_waived(tmp_path: Path) -> None:
    """There is nothing to mend where the only finding is waived; without the waiver there is."""
    codes = []
    for year in ("2999", "2020"):
        place(tmp_path, WAIVER.replace("2027", year))
        codes.append(run(tmp_path, "repair", "a.rig.yaml").returncode)
    assert codes == [0, 1]


def test_a_repair_may_leave_a_stale_waiver(tmp_path: Path) -> None:
    """`repair --apply best` mends what goes beyond its waiver; the waiver, stale then, does not stand in the way."""
    place(tmp_path, WAIVER.replace("1.3", "1.2").replace("2027", "2999"))
    ran = run(tmp_path, "repair", "--apply", "best", "a.rig.yaml")
    assert ran.returncode == 0, ran.stderr
    assert "item: strong" in (tmp_path / "a.rig.yaml").read_text("utf-8")
    assert fired(check(tmp_path)[1]) == ["waiver-stale"]


def test_the_sheet_lists_what_is_waived_and_by_how_much(tmp_path: Path) -> None:
    """Level, bound, value, day and reason stand there; controls in the reason are shown, not sent."""
    place(tmp_path, WAIVER.replace("proof-loaded in spring", '"old \\e[31m ::error:: wheel"'))
    ran = run(tmp_path, "check", "--date", "2027-01-01", "a.rig.yaml")
    assert "1. WAIVED  s carries 100 N·m" in ran.stdout
    said = " ".join(ran.stdout.split())
    assert "waived until 2027-03-31, up to 1.3, it is 1.25: old \\x1b[31m :\\:error:\\: wheel" in said
    assert "0 notes, 1 waived." in ran.stdout
