"""The page that runs lineshaft in a browser, as it was built: offline, its JSON and drawings are those of the command.

`docs/playground/make FOLDER` builds it, and LINESHAFT_PAGE names that folder; without, these tests are skipped.
"""

import functools
import json
import os
import sys
import threading
from collections.abc import Iterator
from hashlib import sha256
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from browser.conftest import Watched
from command_runner import run_for_bytes
from playwright.sync_api import Browser

ROOT = Path(__file__).resolve().parents[2]
DAY = "2026-11-25"
FOLDERS = ("sample_rigs", "tests/rules")
BUILT = os.environ.get("LINESHAFT_PAGE", "")
MOST_SECONDS = 90_000  # of a machine with much else to do

SMALL = {
    "a.catalogue.yaml": """catalogue: 1
edition: "1"
items:
  wheel: {kind: prime-mover, output: {torque: 9 N*m, speed: 7 rad/s}}
""",
    "a.rig.yaml": """rig: 1
catalogue: a.catalogue.yaml
edition: "1"
parts:
  north: {item: wheel}
""",
}

pytestmark = pytest.mark.skipif(not BUILT, reason="the page is not built: docs/playground/make, LINESHAFT_PAGE")

ASK = """async ({ files, questions }) => {
  const worker = new Worker("worker.js", { type: "module" });
  const answers = [];
  for (const [id, [operation, args]] of questions.entries()) {
    answers.push(await new Promise((resolve, reject) => {
      worker.onmessage = ({ data: { id: of, answer, fault } }) => {
        if (of === id) fault ? reject(new Error(fault)) : resolve(answer);
      };
      worker.postMessage({ id, question: { operation, files, arguments: args } });
    }));
  }
  worker.terminate();
  return answers;
}"""


class Quiet(SimpleHTTPRequestHandler):
    """A server of files that says nothing."""

    def log_message(self, *_: object) -> None:
        """Keep silent."""


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """Where the page is served; nothing but files."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=BUILT))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()


@pytest.fixture
def opened(browser: Browser, address: str) -> Iterator[Any]:
    """Opens the page at a width, in a context of its own, and waits until it has judged."""
    contexts = []

    def open_page(fragment: str = "", *, width: int = 1280, scheme: str = "light", scripts: str = "") -> Watched:
        context = browser.new_context(viewport={"width": width, "height": 860}, color_scheme=scheme)
        context.add_init_script(scripts)
        contexts.append(context)
        watched = Watched(context.new_page())
        watched.page.goto(f"{address}?date={DAY}{fragment}")
        watched.page.wait_for_selector("#status.bad, #status.good", timeout=MOST_SECONDS)
        return watched

    yield open_page
    for context in contexts:
        context.close()


def _outside(watched: Watched, address: str) -> list[str]:
    return [url for url in watched.requests if not url.startswith((address, "blob:", "data:"))]


def test_json_and_drawings_are_the_command_s(opened: Any, address: str) -> None:
    """Over all samples and twins, byte for byte; nothing is asked of any other place, and nothing complained of."""
    paths = [path for folder in FOLDERS for path in sorted((ROOT / folder).rglob("*.yaml"))]
    files = {path.relative_to(ROOT).as_posix(): path.read_text("utf-8") for path in paths}
    check = ["check", "--no-cache", "--jobs", "1", "--date", DAY, "--write", "json=-", *FOLDERS]
    drawn = [name for name in files if name.endswith(".rig.yaml") and name.startswith("sample_rigs/")]
    commands = [check, *(["draw", "--date", DAY, name] for name in drawn)]
    watched = opened()
    found = watched.page.evaluate(ASK, {"files": files, "questions": [["run", {"words": words}] for words in commands]})
    for words, answer in zip(commands, found, strict=True):
        ran = run_for_bytes(ROOT, *words)
        assert answer["out"].encode("utf-8") == ran.stdout, words
        assert answer["code"] == ran.returncode
    assert _outside(watched, address) == []
    assert watched.complaints == []


def test_a_repair_is_tried_and_undone(opened: Any) -> None:
    """The text changes as the repair says, the verdict with it, and comes back whole."""
    page = opened().page
    before = page.inner_text(".cm-content")
    page.click(".repair button", timeout=MOST_SECONDS)
    page.wait_for_selector("#tried:not([hidden])", timeout=MOST_SECONDS)
    assert "It holds" in page.inner_text("#said")
    assert "steel-stage" in page.inner_text(".cm-content") and "1 error" in page.inner_text("#tried")
    page.click("#tab-drawing")
    page.wait_for_selector(".compared img >> nth=1", timeout=MOST_SECONDS)
    page.click("#tried button >> text=Undo")
    page.wait_for_selector("#status.bad", timeout=MOST_SECONDS)
    assert page.inner_text(".cm-content") == before


def test_a_mistake_is_told_as_it_is_typed(opened: Any) -> None:
    """At its line in the text, and in the list."""
    page = opened().page
    page.click("text=creek-wheel")
    page.keyboard.press("End")
    page.keyboard.type(" x: 1")
    page.wait_for_selector("text=not-yaml", timeout=MOST_SECONDS)
    assert page.locator(".cm-lint-marker-error").count() == 1


ENDLESS = """
window.started = [];
window.Worker = class extends Worker {
  constructor(...words) { super(...words); window.started.push("runs"); this.number = window.started.length - 1; }
  postMessage(message) {
    const { searches } = document.documentElement.dataset;
    if (message.question.arguments.repairs && !searches) this.lost = document.documentElement.dataset.searches = "yes";
    if (!this.lost) super.postMessage(message);
  }
  terminate() { window.started[this.number] = "ended"; super.terminate(); }
};
"""
"""The first search for repairs goes on for ever, and nothing else that is asked of its worker is answered."""


def test_a_search_that_takes_long_delays_no_verdict(opened: Any) -> None:
    """What is typed meanwhile is judged; the search is left, and the one for the text as it stands comes to its end."""
    page = opened(scripts=ENDLESS).page
    page.wait_for_selector("html[data-searches]", timeout=MOST_SECONDS)
    assert "Looking for repairs" in page.inner_text("#findings")
    page.click("text=creek-wheel")
    page.keyboard.press("End")
    page.keyboard.type(" x: 1")
    page.wait_for_selector("text=not-yaml", timeout=MOST_SECONDS)
    page.keyboard.press("Control+z")
    page.wait_for_selector(".repair button", timeout=MOST_SECONDS)
    assert page.evaluate("window.started") == ["runs", "ended", "runs"]


def test_a_shared_link_opens_the_same_texts(opened: Any) -> None:
    """A small rig fits into a link; what is longer is offered as a file."""
    page = opened().page
    content = json.dumps({"files": SMALL, "active": "a.rig.yaml"}).encode()
    page.set_input_files("#chosen", files=[{"name": "all.json", "mimeType": "application/json", "buffer": content}])
    page.wait_for_selector("text=a.rig.yaml", timeout=MOST_SECONDS)
    page.click("#share")
    link = page.input_value("#link")
    assert len(link) <= 1500
    other = opened(f"#{link.partition('#')[2]}").page
    assert "north" in other.inner_text(".cm-content")
    long = "".join(f"# {sha256(str(n).encode()).hexdigest()}\n" for n in range(50))
    other.click(".cm-content")
    other.keyboard.insert_text(long)
    other.click("#share")
    other.wait_for_selector("dialog >> text=Save all in one file", timeout=MOST_SECONDS)


def test_a_link_names_the_samples_that_it_holds(opened: Any) -> None:
    """What the page has anyway is not written out, so that a changed sample fits into a link."""
    page = opened().page
    page.click("text=creek-wheel")
    page.keyboard.press("End")
    page.keyboard.type(" # mine")
    page.click("#share")
    link = page.input_value("#link")
    assert len(link) <= 1500
    other = opened(f"#{link.partition('#')[2]}").page
    assert "# mine" in other.inner_text(".cm-content")
    assert other.locator("#files >> text=catalogues/tern-harbour.catalogue.yaml").count() == 1
    assert "1 error" in other.inner_text("#said")


def test_how_long_it_takes_is_shown(opened: Any) -> None:
    """Figures, and no judgement of them: a machine that runs tests has much else to do."""
    page = opened().page
    first = int(page.get_attribute("body", "data-ready") or 0)
    page.click(".repair button", timeout=MOST_SECONDS)
    page.wait_for_selector("#status.good", timeout=MOST_SECONDS)
    sys.stdout.write(f"\nloaded in {first} ms; then: {page.inner_text('#said')}\n")
    assert first > 0


def test_a_rig_is_built_without_yaml(opened: Any) -> None:
    """A wheel and a saw are chosen and joined; the text follows, and its figures stand where one points."""
    page = opened().page
    page.click("#tab-building")
    for name, item, driver in (("north", "creek-wheel", None), ("saw", "saw-frame", "north")):
        page.fill("#build-name", name, timeout=MOST_SECONDS)
        page.select_option("#build-item", item)
        if driver:
            page.select_option("#build-driver-0", driver)
        page.click("text=Add it")
        page.wait_for_selector(f".cm-line >> text={name}:", timeout=MOST_SECONDS)
        page.wait_for_selector(f"#build-part option[value={name}]", state="attached", timeout=MOST_SECONDS)
    assert "saw:    {item: saw-frame, driven-by: north}" in page.inner_text(".cm-content")
    page.hover(".cm-line >> text=saw: >> .tok-propertyName >> nth=0")
    assert "900 N·m at 8 rad/s" in page.inner_text(".hover", timeout=MOST_SECONDS)


def test_shares_and_what_drives_a_blueprint_are_chosen_on_a_telephone(opened: Any) -> None:
    """Of a splitter that is there, and of a blueprint in its place; the text follows."""
    page = opened(width=390).page
    page.select_option("#samples", label="Three stones")
    page.click("#tab-building")
    page.select_option("#build-part", "leg-b", timeout=MOST_SECONDS)
    page.select_option("#build-feed-0", "")
    page.click("text=Change leg-b")
    page.wait_for_selector("#build-feed-0 option[value=''][selected]", state="attached", timeout=MOST_SECONDS)
    page.fill("#build-name", "fan")
    page.select_option("#build-item", "three-divider")
    page.select_option("#build-driver-0", "leg-a.on")
    page.click("text=Add it")
    page.wait_for_selector("#build-part option[value=fan]", state="attached", timeout=MOST_SECONDS)
    page.select_option("#build-part", "fan")
    page.fill("#build-new-weights", "3 : 5 : 7")
    page.click("text=Change fan")
    page.wait_for_selector("#build-new-weights[value='3 : 5 : 7']", timeout=MOST_SECONDS)
    page.select_option("#build-part", "leg-b")
    page.select_option("#build-feed-0", "fan.way-2")
    page.click("text=Change leg-b")
    page.click("#tab-text")
    text = page.inner_text(".cm-content")
    assert "fan:   {item: three-divider, driven-by: leg-a.on, shares: {way-1: 3, way-2: 5, way-3: 7}}" in text
    assert "leg-b: {blueprint: blueprints/stone-leg.blueprint.yaml, driven-by: {drive: fan.way-2}}" in text
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_reports_are_what_the_command_writes(opened: Any, tmp_path: Path) -> None:
    """JSON and the drawing, as they are kept."""
    catalogues = [f"catalogues/tern-harbour{edition}.catalogue.yaml" for edition in ("", "-3.0")]
    for name in ("overloaded-step.rig.yaml", *catalogues):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes((ROOT / "sample_rigs" / name).read_bytes())
    page = opened().page
    check = ("check", "--no-cache", "--date", DAY, "--write", "json=-", ".")
    for kind, words in (("json", check), ("svg", ("draw", "--date", DAY, "overloaded-step.rig.yaml"))):
        with page.expect_download(timeout=MOST_SECONDS) as kept:
            page.select_option("#report", kind)
        assert Path(kept.value.path()).read_bytes() == run_for_bytes(tmp_path, *words).stdout


def test_panels_are_chosen_by_the_keyboard(opened: Any) -> None:
    """Arrow keys go round the tabs; what is chosen is shown, and the rest is not."""
    page = opened().page
    page.focus("#tab-findings")
    for key, name in (("ArrowRight", "drawing"), ("ArrowLeft", "findings"), ("ArrowLeft", "building")):
        page.keyboard.press(key)
        assert page.get_attribute(f"#tab-{name}", "aria-selected") == "true"
        assert page.evaluate("document.activeElement.id") == f"tab-{name}"
        assert page.is_visible(f"#{name}")
    assert not page.is_visible("#findings") and page.is_visible("#text")


def test_files_come_and_go(opened: Any) -> None:
    """A first catalogue is made beside what is there, and taken out again."""
    page = opened().page
    page.click("text=New file…")
    page.select_option("#new-kind", "catalogue")
    page.click("text=Make it")
    page.wait_for_selector("#files button[aria-current=true] >> text=works.catalogue.yaml", timeout=MOST_SECONDS)
    assert "What can be built here" in page.inner_text(".cm-content")
    page.click("text=Remove")
    assert page.locator("#files >> text=works.catalogue.yaml").count() == 0


def test_it_works_without_a_network_once_loaded(opened: Any) -> None:
    """From what the service worker keeps."""
    page = opened().page
    page.evaluate("navigator.serviceWorker.ready")
    page.wait_for_function("caches.keys().then((names) => names.length === 1)", timeout=MOST_SECONDS)
    page.context.set_offline(True)
    page.reload()
    page.wait_for_selector("#status.bad", timeout=MOST_SECONDS)
    assert "1 error" in page.inner_text("#said")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
def test_it_is_legible_and_within_reach(opened: Any, width: int, scheme: str) -> None:
    """axe finds nothing in any panel, and nothing stands out of a telephone's width."""
    page = opened(width=width, scheme=scheme).page
    for tab in page.locator("[role=tab]:visible").all():
        tab.click()
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()
        assert page.evaluate("document.documentElement.scrollWidth") <= width
