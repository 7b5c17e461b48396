"""The extension that brings its own Python: its half for the desktop in Node, its worker for the web in a browser.

LINESHAFT_EXTENSION names the folder, in which `node build.mjs PAGE` has made `dist`; without, these tests are skipped.
"""

import functools
import json
import os
import subprocess
import threading
from collections.abc import Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
from command_runner import run_for_bytes
from playwright.sync_api import Browser

SAMPLES = Path(__file__).resolve().parents[2] / "sample_rigs"
NAMES = ("overloaded-step.rig.yaml", "catalogues/tern-harbour.catalogue.yaml")
BUILT = os.environ.get("LINESHAFT_EXTENSION", "")

pytestmark = pytest.mark.skipif(not BUILT, reason="the extension is not built: its README, LINESHAFT_EXTENSION")

ASK = """async ({ folder, files }) => {
  const text = await (await fetch(`${folder}/worker-web.mjs`)).text();
  const address = URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
  const worker = new Worker(address, { type: "module", name: `${folder}/python` });
  const question = { operation: "judge", files, arguments: { day: "2026-11-25", repairs: true } };
  return await new Promise((resolve, reject) => {
    worker.onerror = (event) => reject(new Error(event.message));
    worker.onmessage = ({ data }) => {
      if (data.fault) reject(new Error(data.fault));
      else if (data.id) resolve(data.answer);
    };
    worker.postMessage({ id: 1, question });
  });
}"""


class Elsewhere(SimpleHTTPRequestHandler):
    """A server of files for pages of any other place, as the one that extensions come from."""

    def log_message(self, *_: object) -> None:
        """Keep silent."""

    def guess_type(self, path: Any) -> str:
        """Modules of all endings are scripts."""
        return "text/javascript" if str(path).endswith(".mjs") else super().guess_type(path)

    def end_headers(self) -> None:
        """Whoever asks may read."""
        self.send_header("Access-Control-Allow-Origin", "*")
        super().end_headers()


@pytest.fixture
def addresses() -> Iterator[tuple[str, str]]:
    """Where the extension's files are, and a page of another place."""
    folders = (functools.partial(Elsewhere, directory=folder) for folder in (BUILT, SAMPLES))
    servers = [ThreadingHTTPServer(("127.0.0.1", 0), folder) for folder in folders]
    for server in servers:
        threading.Thread(target=server.serve_forever, daemon=True).start()
    files, page = (f"http://127.0.0.1:{server.server_port}" for server in servers)
    yield f"{files}/dist", f"{page}/"
    for server in servers:
        server.shutdown()


def test_the_desktop_half_judges_mends_and_draws() -> None:
    """Beside a stub of the editor: the finding at its place, its repair, its figures by hand, the command's drawing."""
    command = ["node", str(Path(BUILT) / "test" / "smoke.cjs"), str(SAMPLES), *NAMES]
    ran = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=180, check=True)
    given = json.loads(ran.stdout)
    (found,) = given["found"]
    assert found["code"] == "torque-over-limit"
    assert found["range"] == {"start": {"line": 10, "character": 2}, "end": {"line": 10, "character": 6}}
    (fix,) = given["fixes"]
    assert [edit["text"] for edit in fix["edits"]] == ["steel-stage"]
    assert "in 900 N·m at 8 rad/s\nout 2.25 kN·m at 3.2 rad/s\n7.2 kW" in given["hover"]
    (drawn,) = given["drawn"]
    assert "step" in drawn and drawn.rstrip().endswith("</svg>")
    assert given["errors"] == []


def test_the_worker_for_the_web_answers_from_another_place(browser: Browser, addresses: tuple[str, str]) -> None:
    """Its text is handed on, and Python comes from where the extension is: the command's findings."""
    folder, address = addresses
    page = browser.new_page()
    page.goto(address)
    files = {name: (SAMPLES / name).read_text("utf-8") for name in NAMES}
    found = page.evaluate(ASK, {"folder": folder, "files": files})
    page.close()
    ran = run_for_bytes(SAMPLES, "check", "--no-cache", "--date", "2026-11-25", "--write", "json=-", NAMES[0])
    assert found["document"]["findings"] == json.loads(ran.stdout)["findings"]
