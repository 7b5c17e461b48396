"""How long a browser takes to open a report: wall time to its load event, and to the first paint."""

import shutil
import subprocess
import sys
import time
from pathlib import Path
from statistics import median

_LOADED = "performance.getEntriesByType('paint').map(one => one.startTime / 1000)[0]"


def opened(rigs: Path, target: Path, rounds: int) -> str:
    """The medians of several openings, each in a page of its own, and what is opened."""
    from playwright.sync_api import sync_playwright

    path = shutil.which("chromium")
    if path is None:
        return "not measured: no chromium on this machine"
    command = [sys.executable, "-m", "lineshaft", "check", "--no-repairs", "--write", f"html={target}", "."]
    began = time.perf_counter()
    subprocess.run(command, cwd=rigs, stdout=subprocess.DEVNULL, check=False)
    made = time.perf_counter() - began
    loads, paints = [], []
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=path, args=["--no-sandbox"])
        for _ in range(rounds):
            page = browser.new_page()
            began = time.perf_counter()
            page.goto(target.resolve().as_uri(), wait_until="load")
            loads.append(time.perf_counter() - began)
            paints.append(page.evaluate(_LOADED))
            page.close()
        browser.close()
    what = f"{target.stat().st_size / 2**20:.0f} MiB, made in {made:.0f} s"
    return f"{median(loads):.2f} s to load, {median(paints):.2f} s to paint (limit: 2 s; {what})"
