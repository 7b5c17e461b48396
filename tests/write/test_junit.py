"""JUnit XML, read by `junitparser`."""

from dataclasses import replace

import junitparser
import pytest
from write.made_runs import HOSTILE, hostile_run, plain, run_of

from lineshaft.check.judged_finding import Snagged, Waived
from lineshaft.write.junit import junit
from lineshaft.write.summary import FileReport, Run


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_a_strangers_text_leaves_three_cases(text: str) -> None:
    """Well-formed; one failure and two skipped cases, whatever the text."""
    (suite,) = junitparser.JUnitXml.fromstring(junit(hostile_run(text)))
    assert (suite.tests, suite.failures, suite.skipped) == (3, 1, 2)
    assert [type(case.result[0]).__name__ for case in suite] == ["Failure", "Skipped", "Skipped"]


def test_emoji_and_markup_stay_what_they_were() -> None:
    """Read back, the message is the text."""
    for name in ("emoji", "markup"):
        (suite,) = junitparser.JUnitXml.fromstring(junit(hostile_run(HOSTILE[name])))
        assert next(iter(suite)).result[0].message == HOSTILE[name]


def test_illegal_characters_are_replaced() -> None:
    """XML 1.0, section 2.2, has no U+FFFE and no U+FFFF; a vertical tab is shown as an escape."""
    (suite,) = junitparser.JUnitXml.fromstring(junit(hostile_run(HOSTILE["not in XML"])))
    assert next(iter(suite)).result[0].message == "a\ufffdb\ufffdc\\x0bd"


def test_levels() -> None:
    """An error fails, a waived one or a snag is skipped with its reason, a warning and a note pass and say why."""
    waived = replace(plain("error", 4), waived=Waived("old wheel", "2027-01-31", None))
    snag = replace(plain("error", 5), snag=Snagged("times_torque_limit", 2.0))
    run = run_of(plain("error", 1), plain("warning", 2), plain("note", 3), waived, snag)
    document = junitparser.JUnitXml.fromstring(junit(run))
    assert (document.tests, document.failures, document.errors, document.skipped) == (5, 1, 0, 2)
    (suite,) = document
    error, warning, note, last, known = suite
    assert known.result[0].message == "a snag that was recorded with times torque limit of 2"
    assert error.result[0].type == "torque-over-limit"
    assert "wheel gives too much" in error.result[0].text
    assert (warning.result, note.result) == ([], [])
    assert "carries too much" in warning.system_out
    assert last.result[0].message == "waived until 2027-01-31: old wheel"


def test_a_clean_file_has_a_case_that_passes() -> None:
    """Readers drop suites without cases, and a clean file would not be seen."""
    (suite,) = junitparser.JUnitXml.fromstring(junit(Run("0.1.0", (FileReport("a.rig.yaml", "", 1, 0, ()),))))
    assert [(case.classname, case.result) for case in suite] == [("a.rig.yaml", [])]
