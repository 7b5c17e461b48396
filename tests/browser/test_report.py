"""The report in a real browser: links both ways, filters, keyboard, no request, no complaint, axe finds nothing."""

import os
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from command_runner import run, run_for_bytes
from write.made_report_models import report_model_of
from write.made_runs import HOSTILE, hostile_run

from lineshaft.write.drawing.text_width import text_width
from lineshaft.write.html_report.page import html_report

ROOT = Path(__file__).resolve().parents[2]
LONG = os.environ.get("LINESHAFT_LONG") == "1"
"""Each width and each scheme is looked at in the short form, every pair of them in the long one."""


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report on the samples."""
    target = tmp_path_factory.mktemp("report") / "report.html"
    assert run_for_bytes(ROOT, "check", "--write", f"html={target}", "sample_rigs").returncode == 1
    return target


def focus_comes_to(page: Any, name: str) -> None:
    """Wait until an element has the focus: the browser moves it some time after it has followed a link."""
    page.wait_for_function("name => document.activeElement.id === name", arg=name)


def test_it_asks_for_nothing_and_complains_of_nothing(report: Path, open_page: Any) -> None:
    """Scrolled from top to bottom: no request but the file, no line on the console, so no breach of the policy."""
    watched = open_page(report)
    watched.page.evaluate("window.scrollTo(0, document.body.scrollHeight)")
    watched.page.wait_for_timeout(200)
    assert watched.asked() == []
    assert watched.complaints == []


def test_findings_and_drawing_lead_to_each_other(report: Path, open_page: Any) -> None:
    """From the finding to its part's card, which then stands out; from the mark in the drawing back to the finding."""
    page = open_page(report).page
    finding = page.locator("article.finding", has_text="torque-over-limit").first
    link = finding.locator("h4 a")
    link.click()
    part = link.get_attribute("href")
    assert page.evaluate("location.hash") == part
    card = page.locator(part)
    focus_comes_to(page, part[1:])
    assert card.evaluate("card => card.matches(':target')")
    assert card.bounding_box()["y"] < 900
    card.locator("a").first.click()
    assert page.evaluate("location.hash") == f"#{finding.get_attribute('id')}"
    focus_comes_to(page, finding.get_attribute("id"))


def test_filters_by_level_and_rule(report: Path, open_page: Any) -> None:
    """Without errors only warnings are shown; with one rule only its own; the count says so; All brings all back."""
    page = open_page(report).page
    page.get_by_text("Filter and sort").click()
    every = page.locator("article.finding").count()
    page.get_by_label("error", exact=True).uncheck()
    assert page.locator("article.finding.error:visible").count() == 0
    shown = page.locator("article.finding.warning").count()
    assert page.locator("article.finding:visible").count() == shown
    assert page.locator("#count").inner_text() == f"{shown} of {every} findings shown"
    page.get_by_role("button", name="All").click()
    page.wait_for_function(f"document.getElementById('count').textContent.startsWith('{every} of')")
    page.get_by_label("Rule").select_option("torque-over-limit")
    rules = page.locator("article.finding:visible").evaluate_all("all => all.map(one => one.dataset.rule)")
    assert set(rules) == {"torque-over-limit"}
    assert page.locator("section.rig:visible").count() == len(rules)


def test_a_link_to_a_hidden_finding_shows_it(report: Path, open_page: Any) -> None:
    """With errors filtered out they leave the list too; an address that leads to one shows it all the same."""
    page = open_page(report).page
    link = page.locator("ol.worst a").first
    target = link.get_attribute("href")
    page.get_by_label("error", exact=True).uncheck()
    assert not link.is_visible()
    page.evaluate(f"location.hash = '{target}'")
    assert page.locator(target).is_visible()


def test_it_can_be_used_from_the_keyboard(report: Path, open_page: Any) -> None:
    """The first stop skips to the rigs; the filters are reached by Tab and changed by Space; Enter follows a mark."""
    page = open_page(report).page
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the rigs"
    page.keyboard.press("Enter")
    focus_comes_to(page, "rigs")
    page.get_by_label("error", exact=True).focus()
    page.keyboard.press("Space")
    assert page.locator("article.finding.error:visible").count() == 0
    page.keyboard.press("Space")
    mark = page.locator("svg a[href*='-finding-']").first
    mark.focus()
    page.keyboard.press("Enter")
    assert "-finding-" in page.evaluate("location.hash")
    focus_comes_to(page, page.evaluate("location.hash")[1:])
    region = page.locator(".scroll[tabindex='0']").first
    region.focus()
    assert region.evaluate("region => region === document.activeElement")


def test_search_sort_and_only_what_breaks(report: Path, open_page: Any) -> None:
    """A word leaves its rigs and their findings; what breaks alone are the rigs that do not hold; rigs sort by file."""
    page = open_page(report).page
    page.get_by_label("Search").fill("too soon")
    assert page.locator("section.rig:visible h2").all_inner_texts() == ["Started too soon"]
    assert page.locator("ol.worst li:visible").count() == 1
    assert page.locator("#count").inner_text().startswith("1 of")
    page.get_by_label("Search").fill("")
    page.get_by_text("Filter and sort").click()
    page.get_by_label("only what breaks").check()
    moods = page.locator("section.rig:visible").evaluate_all("all => all.map(one => one.dataset.worse)")
    assert len(moods) == page.locator("td.bad").count()
    assert set(moods) == {"3"}
    page.get_by_role("button", name="All").click()
    page.get_by_label("Sort").select_option("file")
    files = page.locator("section.rig").evaluate_all("all => all.map(one => one.dataset.file)")
    assert files == sorted(files)
    page.get_by_label("Sort").select_option("parts")
    assert page.locator("section.rig").first.get_attribute("data-file") == "sample_rigs/whole-works.rig.yaml"


def test_keys_lead_from_finding_to_finding(report: Path, open_page: Any) -> None:
    """n goes to the next finding, p back; the bar stays in sight; in the search field letters are letters."""
    page = open_page(report).page
    at = "document.activeElement.id"
    page.keyboard.press("n")
    first = page.evaluate(at)
    page.keyboard.press("n")
    second = page.evaluate(at)
    assert first != second
    assert page.locator(f"#{first}").evaluate("one => one.matches('article.finding')")
    page.keyboard.press("p")
    assert page.evaluate(at) == first
    assert page.locator("#filters").bounding_box()["y"] < 10
    page.keyboard.press("/")
    page.keyboard.type("pin")
    assert page.get_by_label("Search").input_value() == "pin"


def test_every_finding_is_reached_in_few_stops(report: Path, open_page: Any) -> None:
    """By the Tab key alone a link to each error and warning is reached, with six stops before the first of them."""
    page = open_page(report).page
    links = page.locator("ol.worst a").evaluate_all("all => all.map(one => one.getAttribute('href'))")
    reached = set()
    for _ in range(6 + len(links)):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.getAttribute('href')"))
    assert set(links) <= reached
    assert len(links) > 15


@pytest.mark.parametrize("width", [1280, 390])
def test_only_what_scrolls_is_a_stop(report: Path, width: int, open_page: Any) -> None:
    """Of what is in view only tables and drawings that do not fit their place are stops."""
    page = open_page(report, width=width).page
    regions = page.locator("section.rig[data-worse='3']").first.locator(".scroll")
    seen = []
    for number in range(regions.count()):
        regions.nth(number).scroll_into_view_if_needed()
        page.wait_for_timeout(150)
        measured = "one => [one.scrollWidth > one.clientWidth + 1, one.tabIndex === 0]"
        seen.append(regions.nth(number).evaluate(measured))
    assert len(seen) > 3
    assert [scrolls for scrolls, _ in seen] == [stop for _, stop in seen]


def test_clean_rigs_are_folded_and_open(report: Path, open_page: Any) -> None:
    """A clean rig shows its verdict; its drawing once it is unfolded. A broken one shows its drawing at once."""
    page = open_page(report).page
    clean = page.locator("section.rig[data-file='sample_rigs/lagoon.rig.yaml']")
    assert not clean.locator("svg").first.is_visible()
    clean.locator("summary").click()
    assert clean.locator("svg").first.is_visible()
    assert page.locator("section.rig[data-worse='3'] svg").first.is_visible()


def test_nothing_is_cut_on_paper(report: Path, open_page: Any) -> None:
    """At the width of A4 in the print style every drawing, chart and table fits, and folded rigs are there too."""
    page = open_page(report, width=718).page  # 210 mm less two margins of 10 mm, at 96 px an inch
    page.emulate_media(media="print")
    wider = page.evaluate(
        """() => [...document.querySelectorAll('svg,table,img,article')]
            .filter(one => one.getBoundingClientRect().right > innerWidth + 1)
            .map(one => one.closest('section')?.id + ' ' + one.tagName)"""
    )
    assert wider == []
    assert page.locator("section.rig[data-file='sample_rigs/lagoon.rig.yaml'] svg").first.is_visible()


def test_boxes_of_the_checklist_can_be_ticked(report: Path, open_page: Any) -> None:
    """A step is ticked by its name."""
    page = open_page(report).page
    box = page.get_by_label("step 1 of Started too soon done")
    box.check()
    assert box.is_checked()


def test_it_works_without_scripts(report: Path, open_page: Any) -> None:
    """No filters then, but every finding, drawing and link."""
    watched = open_page(report, scripts=False)
    page = watched.page
    assert not page.locator("#filters").is_visible()
    assert page.locator("article.finding:visible").count() == page.locator("article.finding").count() > 0
    page.locator("ol.worst a").first.click()
    assert "-finding-" in page.url
    assert watched.complaints == []


LOOKS = [(1280, "light"), (390, "dark"), *([(1280, "dark"), (390, "light")] if LONG else [])]


@pytest.mark.parametrize(("width", "scheme"), LOOKS)
def test_axe_finds_nothing(report: Path, open_page: Any, width: int, scheme: str) -> None:
    """No violation of any level by axe-core, wide and narrow, light and dark; nothing wider than the page."""
    page = open_page(report, width=width, scheme=scheme).page
    found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    assert [(one["id"], one["nodes"][0]["html"]) for one in found] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("name", ["markup", "bidi", "terminal", "Markdown", "backticks"])
def test_a_hostile_label_stays_text(name: str, open_page: Any, tmp_path: Path) -> None:
    """No element of a stranger's comes to life, and nothing runs: axe and the console see an ordinary page."""
    run = hostile_run(HOSTILE[name])
    file = tmp_path / "hostile.html"
    file.write_bytes(html_report(run._replace(report_models={run.reports[0].file: report_model_of(HOSTILE[name])})))
    watched = open_page(file)
    page = watched.page
    assert page.locator("script").count() == 1
    assert page.locator("img").count() == 0
    assert watched.complaints == []
    assert watched.asked() == []
    if name == "markup":
        assert page.get_by_text("<script>alert(1)</script>").count() > 0


@pytest.mark.parametrize("sample", ["overloaded-step", "whole-works", "two-wheels"])
def test_text_is_no_wider_than_estimated(sample: str, open_page: Any, tmp_path: Path) -> None:
    """In the fonts of this machine no text of a drawing is wider than the widest that its layout allows for."""
    target = tmp_path / "page.html"
    ran = run(ROOT, "draw", f"sample_rigs/{sample}.rig.yaml")
    assert ran.returncode == 0, ran.stderr
    target.write_text(f"<!DOCTYPE html><meta charset=utf-8>{ran.stdout.partition('?>')[2]}", "utf-8")
    page = open_page(target).page
    measured = page.locator("svg text").evaluate_all(
        """texts => texts.map(text => {
            const style = getComputedStyle(text);
            const size = parseFloat(style.fontSize), bold = style.fontWeight >= 600;
            return [text.textContent, size, bold, text.getComputedTextLength()];
        })"""
    )
    wider = [text for text, size, bold, width in measured if width > text_width(text, size, bold=bold)]
    assert wider == []
    assert min(size for _, size, _, _ in measured) >= 12
