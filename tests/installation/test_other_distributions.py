"""Rules of other distributions: what they may do, what they may not, and that none of them silences the others."""

import json
from pathlib import Path
from typing import Any

import pytest
from installation.installed import SOUND, install, lineshaft

OVERLOADED = "overloaded-step.rig.yaml"

QUIET = """\"\"\"Every rig has a name.

What: nothing, for the tests.
\"\"\"

from functools import partial

from lineshaft.api import Rule, report, top_of


def check(rig, level=None):
    yield report(top_of(rig.file), None, ("was looked at",), level=level)


{more}
"""


def quiet(more: str) -> str:
    """A module with a check that finds one thing in each rig, a note unless it is told otherwise."""
    return QUIET.format(more=more)


def judged(beside: Path, *arguments: str, cwd: Path | None = None) -> tuple[int, dict[str, Any]]:
    """Exit code and document of one check of the overloaded sample, or of other paths."""
    folder = {} if cwd is None else {"cwd": cwd}
    paths = arguments or (OVERLOADED,)
    ran = lineshaft("check", "--no-cache", "--no-repairs", "--write", "json=-", *paths, beside=beside, **folder)
    assert "Traceback" not in ran.stderr
    return ran.returncode, json.loads(ran.stdout)


def said(document: dict[str, Any], rule: str) -> list[str]:
    """The messages of a rule's findings."""
    return [finding["message"] for finding in document["findings"] if finding["rule"] == rule]


@pytest.mark.parametrize("leaves", ["raise SystemExit(0)", "import sys; sys.exit()", "raise BaseException"])
@pytest.mark.parametrize("arguments", [("check", OVERLOADED), ("rules",), ("explain", "planted")])
def test_a_rule_that_ends_the_program_when_it_is_loaded_is_named(
    tmp_path: Path, leaves: str, arguments: tuple[str, ...]
) -> None:
    """Exit 2 and its id; what the others find, list or say of themselves is there all the same."""
    install(tmp_path, "planted-1.0", {"planted": "planted_rule:RULE"}, planted_rule=leaves)
    ran = lineshaft(*arguments, beside=tmp_path)
    assert ran.returncode == 2
    assert "planted" in ran.stdout + ran.stderr and "could not be loaded" in ran.stdout + ran.stderr
    if arguments[0] != "explain":
        assert "torque-over-limit" in ran.stdout


EDITIONS = ("catalogues/tern-harbour-3.0.catalogue.yaml", "catalogues/tern-harbour.catalogue.yaml")


@pytest.mark.parametrize("arguments", [
    ("check", "catalogues"),
    ("repair", OVERLOADED),
    ("repair", OVERLOADED, "--apply", "1", "--diff"),
    ("size", "late-planks.rig.yaml", "saw"),
    ("commission", "lagoon.rig.yaml"),
    ("impact", *EDITIONS, "small-saw.rig.yaml"),
    ("audit", "inherited-mill.rig.yaml", "--apply", "1", "--diff"),
    ("draw", "lagoon.rig.yaml"),
], ids=" ".join)  # fmt: skip
def test_every_command_that_judges_names_a_broken_rule(tmp_path: Path, arguments: tuple[str, ...]) -> None:
    """What the others say is written all the same, and nobody can take it for all."""
    install(tmp_path, "planted-1.0", {"planted": "planted_rule:RULE"}, planted_rule="raise SystemExit(0)")
    ran = lineshaft(*arguments, beside=tmp_path)
    assert ran.returncode == 2
    assert "the rule planted could not be loaded (SystemExit)" in ran.stderr
    assert ran.stdout


def test_an_id_of_ours_cannot_be_taken(tmp_path: Path) -> None:
    """Our rule finds what it finds; the one that would stand in its place is named with its distribution."""
    ids = ("internal-error", "rule-crashed", "torque-over-limit")
    taker = dict.fromkeys(ids, "planted_rule:RULE")
    more = 'RULE = Rule("torque-over-limit", "note", lambda rig: ())'
    install(tmp_path, "Taker_of-1.5", taker, planted_rule=quiet(more))
    code, document = judged(tmp_path)
    assert code == 2
    assert said(document, "torque-over-limit") == ["carries 2.25 kN·m, may carry 1.2 kN·m: 1.875 times"]
    assert sorted(said(document, "rule-crashed")) == [
        f"the rule {name} of taker-of 1.5 does not run: the id is lineshaft's own; the other rules went on"
        for name in ids
    ]


def test_of_two_distributions_with_one_id_neither_runs(tmp_path: Path) -> None:
    """Which of them stood first on the import path would be chance; both are named, in every command that tells."""
    more = 'RULE = Rule("planted", "note", check)'
    install(tmp_path, "alder-1.0", {"planted": "alder_rule:RULE"}, alder_rule=quiet(more))
    install(tmp_path, "birch-3.0", {"planted": "birch_rule:RULE"}, birch_rule=quiet(more))
    code, document = judged(tmp_path, SOUND)
    assert (code, said(document, "planted")) == (2, [])
    (message,) = said(document, "rule-crashed")
    assert "the rule planted does not run: alder 1.0 and birch 3.0 both register it" in message
    for command in (("rules",), ("explain", "planted")):
        ran = lineshaft(*command, beside=tmp_path)
        assert ran.returncode == 2
        assert "alder 1.0 and birch 3.0" in ran.stderr


@pytest.mark.parametrize("again", ["elm_rules-1.0.dist-info", "elm_rules.egg-info"])
def test_equal_name_and_version_is_one_distribution(tmp_path: Path, again: str) -> None:
    """Installed twice, or built in a folder on the import path: it runs once."""
    install(tmp_path / "one", "elm_rules-1.0", {"planted": "elm:RULE"}, elm=quiet('RULE = Rule("x", "note", check)'))
    twice = tmp_path / "two" / again
    twice.mkdir(parents=True)
    (twice / "PKG-INFO").write_text("Metadata-Version: 2.1\nName: Elm.Rules\nVersion: 1.0\n\nVersion: 9\n", "utf-8")
    (twice / "entry_points.txt").write_text("[lineshaft.rules]\nplanted = elm:RULE\ngone = elm:GONE\n", "utf-8")
    for order in ("one", "two"), ("two", "one"):
        beside = Path(":".join(str(tmp_path / name) for name in order))
        code, document = judged(beside, SOUND)
        if again.endswith("egg-info") or order == ("one", "two"):
            assert (code, said(document, "planted")) == (0, ["was looked at"])
        else:  # the first is installed too, and lists a rule that is not there
            assert code == 2


def test_the_engine_stamps_the_id_by_which_a_rule_is_registered(tmp_path: Path) -> None:
    """The entry point's name holds, whatever the rule or its finding says."""
    more = 'ANY = Rule("torque-over-limit", "warning", check)'
    install(tmp_path, "planted-1.0", {"planted": "planted_rule:ANY"}, planted_rule=quiet(more))
    code, document = judged(tmp_path, SOUND)
    assert (code, [f["rule"] for f in document["findings"]]) == (0, ["planted"])


@pytest.mark.parametrize("own", ["note", "warning"])
def test_a_findings_level_wins_over_its_rules_and_a_policys_over_both(tmp_path: Path, own: str) -> None:
    """Two rules of one module, neither called RULE: each has the level that was meant for it."""
    more = f'ONE = Rule("one", "error", partial(check, level="{own}"))\nTWO = Rule("two", "warning", check)'
    rules = {"planted-one": "planted_rule:ONE", "planted-two": "planted_rule:TWO"}
    install(tmp_path / "rules", "planted-1.0", rules, planted_rule=quiet(more))
    rig = tmp_path / "rigs" / "a.rig.yaml"
    rig.parent.mkdir()
    (rig.parent / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    rig.write_text(RIG, "utf-8")
    _, document = judged(tmp_path / "rules", "a.rig.yaml", cwd=rig.parent)
    assert levels(document) == {"planted-one": own, "planted-two": "warning"}
    policy = "policy: 1\nlevels: {planted-one: error, planted-two: note}\n"
    (rig.parent / "lineshaft.policy.yaml").write_text(policy, "utf-8")
    code, document = judged(tmp_path / "rules", "a.rig.yaml", cwd=rig.parent)
    assert (code, levels(document)) == (1, {"planted-one": "error", "planted-two": "note"})


CATALOGUE = """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 900 N*m, speed: 8 rad/s}}
  saw: {kind: driven-machine, needs: {torque: 300 N*m}}
"""
RIG = """rig: 1
catalogue: c.catalogue.yaml
parts:
  wheel: {item: wheel}
  saw: {item: saw, driven-by: wheel}
"""


def levels(document: dict[str, Any]) -> dict[str, str]:
    """The level of each rule's finding."""
    return {finding["rule"]: finding["level"] for finding in document["findings"]}


CALLABLES = {
    "a partial": 'RULE = Rule("planted", "note", partial(check, level="warning"))',
    "an object": """class Check:
    "Calls."

    def __call__(self, rig):
        return check(rig, "warning")


RULE = Rule("planted", "note", Check())""",
    "a method": """class Check:
    def look(self, rig):
        return check(rig, "warning")


RULE = Rule("planted", "note", Check().look)""",
}


@pytest.mark.parametrize("more", CALLABLES.values(), ids=CALLABLES)
def test_any_callable_may_be_a_check(tmp_path: Path, more: str) -> None:
    """It is run, listed with its module's first line, and explained."""
    install(tmp_path, "planted-1.0", {"planted": "planted_rule:RULE"}, planted_rule=quiet(more))
    code, document = judged(tmp_path, "--fail-on", "warning", SOUND)
    assert (code, said(document, "planted")) == (1, ["was looked at"])
    (line,) = (line for line in lineshaft("rules", beside=tmp_path).stdout.splitlines() if "planted" in line)
    assert line.split(None, 2) == ["planted", "note", "Every rig has a name."]
    assert "What: nothing, for the tests." in lineshaft("explain", "planted", beside=tmp_path).stdout


OF_ITS_CHECK = """from functools import partial

from lineshaft.api import Rule


def check(rig):
    "Says what it checks."
    return ()


RULE = Rule("p", "note", partial(check))
"""
PAGES = {
    "its own, before all": (quiet('RULE = Rule("p", "note", check, page="The page itself.")'), "The page itself."),
    "its module's": (quiet('RULE = Rule("p", "note", check)'), "Every rig has a name."),
    "its check's": (OF_ITS_CHECK, "Says what it checks."),
    "none at all": ('from lineshaft.api import Rule\nRULE = Rule("p", "note", lambda rig: ())', ""),
}


@pytest.mark.parametrize(("text", "page"), PAGES.values(), ids=PAGES)
def test_a_rule_says_its_page(tmp_path: Path, text: str, page: str) -> None:
    """A page of its own, else its module's docstring, else its check's; two rules of a module may have two."""
    install(tmp_path, "planted-1.0", {"planted": "planted_rule:RULE"}, planted_rule=text)
    ran = lineshaft("explain", "planted", beside=tmp_path)
    assert (ran.returncode, ran.stdout.strip().split("\n")[2:3]) == (0, [page] if page else [])
    assert page in lineshaft("rules", beside=tmp_path).stdout


WRONG = {
    "is no rule": "RULE = 7",
    "could not be loaded (AttributeError)": "OTHER = 1",
    "has no level": 'RULE = Rule("p", "fatal", check)',
    "has a check that cannot be called": 'RULE = Rule("p", "note", 7)',
    "has a repairs that cannot be called": 'RULE = Rule("p", "note", check, 7)',
    "has a page that is no text": 'RULE = Rule("p", "note", check, page=7)',
}


@pytest.mark.parametrize("finding", [
    'report(top_of(rig.file), None, ("x",), level="fatal")',
    'report(top_of(rig.file), None, ("x",), (("torque", 7),))',
    'report(top_of(rig.file), None, ("x",), suggestion=(7,))',
    'report((rig.file, 7, ()), None, ("x",))',
    'report(top_of(rig.file), 7, ("x",))',
    'report(top_of(rig.file), None, ("x",), (), (7,))',
    'report(top_of(rig.file), None, ("x",)).finding("p", "note")',
    '"words"',
])  # fmt: skip
def test_what_is_no_finding_is_told_and_the_others_go_on(tmp_path: Path, finding: str) -> None:
    """A writer would fail on it, and with it the whole run."""
    more = f'RULE = Rule("p", "note", lambda rig: [{finding}])'
    install(tmp_path, "planted-1.0", {"planted": "planted_rule:RULE"}, planted_rule=quiet(more))
    code, document = judged(tmp_path)
    assert (code, len(said(document, "torque-over-limit"))) == (2, 1)
    assert "the rule planted raised" in said(document, "rule-crashed")[0]


@pytest.mark.parametrize(("reason", "more"), WRONG.items(), ids=WRONG)
def test_what_is_no_rule_is_told_and_the_others_go_on(tmp_path: Path, reason: str, more: str) -> None:
    """Named with what is wrong with it; ours find what they find."""
    install(tmp_path, "planted-1.0", {"planted": "planted_rule:RULE"}, planted_rule=quiet(more))
    code, document = judged(tmp_path)
    assert (code, len(said(document, "torque-over-limit"))) == (2, 1)
    assert f"the rule planted {reason}" in said(document, "rule-crashed")[0]
    assert lineshaft("rules", beside=tmp_path).returncode == 2


def test_a_policy_may_turn_a_broken_rule_off(tmp_path: Path) -> None:
    """Then it is neither loaded nor named."""
    install(tmp_path / "rules", "planted-1.0", {"planted": "planted_rule:RULE"}, planted_rule="raise SystemExit(0)")
    rig = tmp_path / "rigs" / "a.rig.yaml"
    rig.parent.mkdir()
    (rig.parent / "c.catalogue.yaml").write_text(CATALOGUE, "utf-8")
    rig.write_text(RIG, "utf-8")
    assert judged(tmp_path / "rules", "a.rig.yaml", cwd=rig.parent)[0] == 2
    (rig.parent / "lineshaft.policy.yaml").write_text("policy: 1\nlevels: {planted: off}\n", "utf-8")
    assert judged(tmp_path / "rules", "a.rig.yaml", cwd=rig.parent)[0] == 0
