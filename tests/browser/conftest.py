"""A browser for the report: the system's own chromium, without a window. Where there is none, that is said aloud."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Error, Page, sync_playwright

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
_MISSED: list[str] = []


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The browser; skips where there is none, or it does not start."""
    path = os.environ.get("LINESHAFT_CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), None)
    if path is None:
        _miss("no chromium on this machine")
    with sync_playwright() as driver:
        try:
            opened = driver.chromium.launch(executable_path=path, args=["--no-sandbox", "--disable-gpu"])
        except Error as error:
            _miss(f"{path} does not start: {str(error).splitlines()[0]}")
        yield opened
        opened.close()


def _miss(why: str) -> None:
    _MISSED.append(why)
    pytest.skip(f"BROWSER TESTS NOT RUN: {why}")


class Watched:
    """A page with all that it asked for and complained of."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.requests: list[str] = []
        self.complaints: list[str] = []
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("console", lambda line: self.complaints.append(line.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def asked(self) -> list[str]:
        """What was asked of any place but the file itself."""
        return [url for url in self.requests if not url.startswith(("file:", "data:"))]


@pytest.fixture
def open_page(browser: Browser) -> Iterator[object]:
    """Opens a file in a page of its own, at a width, light or dark, with scripts or without."""
    contexts = []

    def opened(file: Path, *, width: int = 1280, scheme: str = "light", scripts: bool = True) -> Watched:
        settings = {"viewport": {"width": width, "height": 900}, "java_script_enabled": scripts, "bypass_csp": False}
        context = browser.new_context(color_scheme=scheme, **settings)
        contexts.append(context)
        watched = Watched(context.new_page())
        watched.page.goto(file.as_uri())
        return watched

    yield opened
    for context in contexts:
        context.close()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say aloud, where nobody can miss it, that the browser tests did not run."""
    for why in dict.fromkeys(_MISSED):
        terminalreporter.section("BROWSER TESTS NOT RUN", sep="!", red=True)
        terminalreporter.line(f"{why}: install chromium (Debian: apt-get install chromium), or set LINESHAFT_CHROMIUM")
