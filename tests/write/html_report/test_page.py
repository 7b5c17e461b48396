"""The report as bytes: nothing of a stranger's becomes markup, the policy fits the page, the summary counts right."""

import base64
import hashlib
import os
import re
import subprocess
import sys
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest
from command_runner import run_for_bytes
from write.made_report_models import report_model_of
from write.made_runs import HOSTILE, hostile_run, plain, run_of

from lineshaft.check.finding import Edit
from lineshaft.check.judged_finding import MachineChange, Repair, Waived
from lineshaft.schema.text.span import TOP
from lineshaft.write.html_report.page import MANY_FILES, MOST_FINDINGS, html_report
from lineshaft.write.summary import FileReport, Run

ROOT = Path(__file__).resolve().parents[3]
OURS = {
    *("html", "head", "meta", "title", "style", "body", "a", "header", "p", "h1", "h2", "h3", "h4", "ul", "ol", "li"),
    *("strong", "span", "br", "form", "fieldset", "legend", "label", "input", "select", "option", "button", "output"),
    *("main", "section", "div", "table", "caption", "thead", "tbody", "tr", "th", "td", "article", "figure"),
    *("figcaption", "footer", "script", "svg", "desc", "g", "rect", "path", "circle", "text", "img"),
    *("search", "details", "summary", "pre", "code"),
}


class Page(HTMLParser):
    """The elements, attributes and text of a page; the text of style and script apart."""

    def __init__(self, raw: bytes) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.inside: dict[str, str] = {}
        self.words: list[str] = []
        self._here = ""
        self.feed(raw.decode("utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note an element."""
        self.tags.append(tag)
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        self._here = tag

    def handle_endtag(self, tag: str) -> None:
        """Text after an element is not inside it."""
        self._here = ""

    def handle_data(self, data: str) -> None:
        """Note text."""
        if self._here in ("style", "script"):
            self.inside[self._here] = self.inside.get(self._here, "") + data
        else:
            self.words.append(data)

    @property
    def text(self) -> str:
        """All that a reader sees, with single blanks."""
        return " ".join(" ".join(self.words).split())

    def values(self, name: str) -> list[str]:
        """The values of an attribute."""
        return [value for _, attribute, value in self.attributes if attribute == name]


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_a_strangers_text_stays_text(text: str) -> None:
    """In names, messages, repairs, drawing and tables: only our elements, no handler, no address, no control."""
    run = hostile_run(text)
    models = {run.reports[0].file: report_model_of(text, repairs=True)}
    page = Page(raw := html_report(run._replace(report_models=models)))
    assert set(page.tags) <= OURS
    assert page.tags.count("script") == page.tags.count("style") == 1
    assert [name for _, name, _ in page.attributes if name.startswith("on") or name == "style"] == []
    assert all(value.startswith("#") for value in page.values("href"))
    assert page.values("src") == []
    shown = raw.decode("utf-8")
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]", shown)
    assert "::error" not in shown
    assert "##[" not in shown


def test_every_id_is_its_own_and_every_link_leads_somewhere() -> None:
    """Two rigs with drawings and charts: no id twice; each link's end is an id of the page."""
    finding = replace(plain("error", 1), part="p")
    reports = tuple(FileReport(f"{n}.rig.yaml", "Tern", 2, 0, (finding,)) for n in (1, 2))
    made = {sheet.file: report_model_of("p") for sheet in reports}
    page = Page(html_report(Run("0.1.0", reports, report_models=made)))
    ids = page.values("id")
    assert len(ids) == len(set(ids))
    assert {value.removeprefix("#") for value in page.values("href")} <= set(ids)
    assert "#rig-2-finding-1" in page.values("href")
    assert "#rig-2-part-1" in page.values("href") or "#rig-2-part-0" in page.values("href")
    named = " ".join(page.values("aria-labelledby")).split()
    assert set(named) <= set(ids)


def test_the_policy_lets_our_style_and_script_in_and_nothing_else() -> None:
    """The policy's hashes are SHA-256 of what stands in the page (W3C Content Security Policy 3, section 8.4)."""
    page = Page(html_report(run_of(plain("error", 1))))
    policy = next(value for value in page.values("content") if "default-src" in value)
    for name in ("style", "script"):
        digest = base64.b64encode(hashlib.sha256(page.inside[name].encode()).digest()).decode()
        assert f"{name}-src 'sha256-{digest}'" in policy
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy


def test_the_summary() -> None:
    """Three files: one with an error, one with a warning, one clean: one of three does not hold."""
    reports = (
        FileReport("a.rig.yaml", "A", 4, 0, (plain("error", 1, "a.rig.yaml"),)),
        FileReport("b.rig.yaml", "B", 5, 1, (plain("warning", 1, "b.rig.yaml"),)),
        FileReport("c.rig.yaml", "C", 6, 0, ()),
    )
    text = Page(html_report(Run("0.1.0", reports))).text
    assert "Do not connect power: 1 of 3 rigs does not hold" in text
    assert "Inspected 3 files, 15 parts (1 not solved): 1 error, 1 warning, 0 notes" in text
    assert "1 of 3 rigs without findings" in text


def test_clean_rigs_come_last() -> None:
    """A clean one, one with a warning and one with an error, in this order in the run: the report turns it round."""
    reports = (
        FileReport("a.rig.yaml", "A", 4, 0, ()),
        FileReport("b.rig.yaml", "B", 5, 0, (plain("warning", 1, "b.rig.yaml"),)),
        FileReport("c.rig.yaml", "C", 6, 0, (plain("error", 1, "c.rig.yaml"),)),
    )
    page = Page(html_report(Run("0.1.0", reports)))
    assert page.values("data-file") == ["c.rig.yaml", "b.rig.yaml", "a.rig.yaml"]


def test_nothing_wrong_is_said_too() -> None:
    """A clean rig: everything holds; a clean catalogue is no rig that holds."""
    assert "Everything holds: 1 rig" in Page(html_report(run_of())).text
    catalogue = FileReport("a.catalogue.yaml", "", 0, 0, (), kind="catalogue")
    text = Page(html_report(Run("0.1.0", (catalogue,)))).text
    assert "Nothing is at fault: 1 file, no rig" in text
    assert "is in order" in text


def test_warnings_are_not_passed_over_in_the_headline() -> None:
    """A file with a warning holds, and the warning stands in the first line."""
    assert "Everything holds, with 1 warning: 1 rig" in Page(html_report(run_of(plain("warning", 1)))).text


def test_repairs_stand_side_by_side() -> None:
    """Two repairs are two columns: title, effect, worth, bill, and each machine before and after."""
    change = MachineChange("saw", None, 96.0, "at-rest", "served")
    first = Repair("set step to increase", "setting", 0.0, (), (change,), (Edit("a", TOP, "x"),))
    second = Repair("steel for iron", "substitution", 7.5, (("steel-bar", 2), ("bar", -2)), (), ())
    text = Page(html_report(run_of(replace(plain("error", 1), repairs=(first, second))))).text
    assert "1. set step to increase 2. steel for iron" in text
    assert "effect setting substitution worth 0 7.5" in text
    assert "bill nothing to buy +2 steel-bar, -2 bar" in text
    assert "saw: at rest before, 96 after as before" in text


def test_waived_findings_are_listed_and_do_not_count() -> None:
    """A waived error: the file holds, and the waiver stands in the list with its reason and its day."""
    waived = replace(plain("error", 1), waived=Waived("proof-loaded in spring", "2027-03-31", 2.5, 2.0))
    text = Page(html_report(run_of(waived))).text
    assert "Everything holds" in text
    assert "Waivers and snags" in text
    assert "waived until 2027-03-31, up to 2.5, it is 2: proof-loaded in spring" in text


def test_a_rig_that_could_not_be_read_says_so() -> None:
    """Without a report model there is no drawing, and a line says why."""
    assert "There is no drawing, since the rig could not be read." in Page(html_report(run_of(plain("error", 1)))).text


def test_of_very_many_findings_the_worse_are_kept() -> None:
    """One more than the most, the first a note: the note is left out, and that is said."""
    findings = (plain("note", 0), *(plain("error", n) for n in range(1, MOST_FINDINGS + 1)))
    page = Page(html_report(run_of(*findings)))
    assert "1 more findings are left out of this report" in page.text
    assert page.tags.count("article") == MOST_FINDINGS


def test_many_files_show_clean_rigs_as_images() -> None:
    """Past a hundred files a rig without findings costs one element a picture, with its description in words."""
    reports = tuple(FileReport(f"{n}.rig.yaml", "Tern", 2, 0, ()) for n in range(MANY_FILES + 1))
    page = Page(
        html_report(Run("0.1.0", reports, report_models={sheet.file: report_model_of("p") for sheet in reports}))
    )
    assert "svg" not in page.tags
    pictures = page.values("src")
    assert all(value.startswith("data:image/svg+xml,%3Csvg") for value in pictures)
    assert len(pictures) == 4 * len(reports)
    assert any("p breaks first" in value for value in page.values("alt"))


@pytest.mark.further
def test_no_two_bytes_differ() -> None:
    """Under three hash seeds the samples give the same report."""
    outputs = set()
    for seed in ("0", "1", "4711"):
        command = [sys.executable, "-P", "-m", "lineshaft", "check", "--write", "html=-", "sample_rigs"]
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        ran = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, check=False, timeout=60)
        outputs.add(ran.stdout)
    assert len(outputs) == 1
    assert len(outputs.pop()) > 100_000


def test_the_samples_show_what_was_asked_for() -> None:
    """Lagoon: the head at which its pole breaks (90·7·20 / 400·g = 3.212 m); press-fed: its circuit; a bill; a list."""
    ran = run_for_bytes(ROOT, "check", "--write", "html=-", "sample_rigs")
    assert ran.returncode == 1
    page = Page(ran.stdout)
    assert "pole breaks first: its torque limit holds at 3.212 m and not at 3.213 m" in page.text
    for title in ("Drawing", "Findings", "Commissioning", "Curves", "Lubricants", "Bill of materials"):
        assert title in page.text
    assert "checkbox" in page.values("type")
    assert "Caution: isolate, lock, verify" in page.text
