"""The extension in Visual Studio Code itself, driven in a browser: squiggle, hint, hover, quick fix, rename, drawing.

With `LINESHAFT_LONG=1`, the `out/node/entry.js` of the npm package `code-server` in `LINESHAFT_CODE_SERVER`, a Node
that it runs on in `LINESHAFT_NODE`, a packed extension in `editors/vscode` and Debian's chromium; else it is skipped. A
picture of each step goes to the folder `LINESHAFT_PICTURES`, if one is named.
"""

import json
import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, sync_playwright

ROOT = Path(__file__).resolve().parents[2]
VSIX = ROOT / "editors/vscode/lineshaft.vsix"
ENTRY = os.environ.get("LINESHAFT_CODE_SERVER", "")
NODE = os.environ.get("LINESHAFT_NODE", "node")
CHROMIUM = os.environ.get("LINESHAFT_CHROMIUM") or shutil.which("chromium")
STEP = "overloaded-step.rig.yaml"
LEG = "stone-leg.blueprint.yaml"
PATIENCE = 90_000  # milliseconds; an editor in a browser on a loaded machine
pytestmark = pytest.mark.skipif(
    os.environ.get("LINESHAFT_LONG") != "1" or not Path(ENTRY).is_file() or not VSIX.is_file() or CHROMIUM is None,
    reason="only in the long form, with code-server, the packed extension and chromium",
)


@pytest.fixture
def address(works: Path, tmp_path: Path) -> Iterator[str]:
    """An editor that serves the samples, with the extension in it."""
    data, extensions = tmp_path / "data", tmp_path / "extensions"
    places = [f"--user-data-dir={data}", f"--extensions-dir={extensions}"]
    (data / "User").mkdir(parents=True)
    program = tmp_path / "lineshaft"
    program.write_text(f'#!/bin/sh\nexec {sys.executable} -m lineshaft "$@"\n', "utf-8")
    program.chmod(0o755)
    settings = {
        "lineshaft.lspPath": str(program),
        "workbench.startupEditor": "none",
        "editor.hover.delay": 100,
        "editor.inlayHints.enabled": "on",
        "telemetry.telemetryLevel": "off",
        "extensions.autoCheckUpdates": False,
    }
    (data / "User" / "settings.json").write_text(json.dumps(settings), "utf-8")
    subprocess.run([NODE, ENTRY, *places, "--install-extension", str(VSIX)], check=True, timeout=300)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [NODE, ENTRY, "--auth", "none", "--disable-workspace-trust", "--disable-telemetry"]
    server = subprocess.Popen([*command, f"--bind-addr=127.0.0.1:{port}", *places, str(works)])
    try:
        for _ in range(600):
            with socket.socket() as door:
                if door.connect_ex(("127.0.0.1", port)) == 0:
                    break
            time.sleep(0.1)
        yield f"http://127.0.0.1:{port}/?folder={works}"
    finally:
        server.terminate()
        server.wait(30)


@pytest.fixture
def browser() -> Iterator[Browser]:
    """Debian's."""
    with sync_playwright() as playwright:
        one = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield one
        one.close()


def _open(page: Page, *path: str) -> None:
    """Open a file from the tree of files, unfolding the folders on the way."""
    for name in path:
        row = page.locator(f".explorer-folders-view .monaco-list-row[aria-label^='{name}']").first
        row.wait_for()
        if name != path[-1]:
            if row.get_attribute("aria-expanded") != "true":
                row.click()
        else:
            row.dblclick()
    page.locator(f".tab.active[data-resource-name='{path[-1]}']").wait_for()


def _run(page: Page, title: str) -> None:
    page.keyboard.press("F1")
    page.keyboard.type(title, delay=15)
    page.locator(".quick-input-list .monaco-list-row", has_text=title).first.wait_for()
    page.keyboard.press("Enter")


def _line(page: Page, start: str) -> Locator:
    return page.locator(".view-line", has_text=start).first


def _picture(page: Page, name: str) -> None:
    folder = os.environ.get("LINESHAFT_PICTURES")
    if folder:
        page.screenshot(path=str(Path(folder) / f"{name}.png"))


def test_a_person_sees_mends_renames_and_follows_the_drawing(address: str, browser: Browser, works: Path) -> None:
    """The README's overloaded step: 2.25 kN·m, 188 %; steel in its place holds; the drawing tells so."""
    page = browser.new_page(viewport={"width": 1500, "height": 950})
    page.set_default_timeout(PATIENCE)
    page.goto(address)
    page.locator(".monaco-workbench").wait_for()
    _picture(page, "0-begin")
    _open(page, STEP)
    page.locator(".squiggly-error").first.wait_for()
    page.locator(".view-line", has_text="188").first.wait_for()
    _picture(page, "1-squiggle-and-hint")

    _run(page, "Show the drawing beside the text")
    drawn = page.frame_locator("iframe.webview.ready").frame_locator("iframe")
    card = drawn.locator("g[data-part='step']")
    card.wait_for()
    assert "Does not hold" in (drawn.locator("svg").text_content() or "")
    _picture(page, "2-drawing")
    card.click()
    page.locator(".line-numbers.active-line-number", has_text="11").first.wait_for()

    page.keyboard.press("Control+K")
    page.keyboard.press("Control+I")
    page.locator(".monaco-hover", has_text="2.25").first.wait_for()
    _picture(page, "3-hover")
    page.keyboard.press("Escape")

    page.keyboard.press("Control+.")
    page.locator(".action-widget", has_text="take steel-stage for step").wait_for()
    _picture(page, "4-quick-fix")
    page.keyboard.press("Enter")
    page.locator(".squiggly-error").first.wait_for(state="detached")
    drawn.locator("svg", has_text="Holds").wait_for()
    assert "steel-stage" in (_line(page, "step:").text_content() or "")
    _picture(page, "5-mended")

    _open(page, "blueprints", LEG)
    page.locator(".view-line > span > span", has_text="$ratio").first.click()
    page.locator(".line-numbers.active-line-number", has_text="14").first.wait_for()
    _picture(page, "6-found")
    page.keyboard.press("F2")
    box = page.locator("input.rename-input:visible")
    box.fill("gearing")  # which waits for the box, and puts the letters into it and nowhere else
    box.press("Enter")
    page.locator(".view-line", has_text="$gearing").first.wait_for()
    _run(page, "File: Save All")
    for _ in range(100):
        if "with: {gearing: 5/2}" in (works / "three-stones.rig.yaml").read_text("utf-8"):
            break
        time.sleep(0.2)
    assert "with: {gearing: 5/2}" in (works / "three-stones.rig.yaml").read_text("utf-8")
    _picture(page, "7-renamed")
