#!/usr/bin/env python3
"""Makes the README's two screenshots of ``jiggen bench``, with chromium, from a sample.

    python samples/figures/screens.py [DIR]      into DIR; beside this file if left out

Needs jiggen[page], playwright (dependency group "browser") and Debian's chromium.
"""

from __future__ import annotations

import contextlib
import io
import re
import shutil
import sys
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from jiggen.cli import run
from jiggen.page.answers import Bench
from jiggen.page.serve import Server

HERE = Path(__file__).resolve().parent
JOB = HERE.parent / "flaperon" / "job.toml"
SIZE = {"width": 1180, "height": 640}
CHROMIUM = "/usr/bin/chromium"
QUIET = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]


@contextlib.contextmanager
def bench() -> Iterator[str]:
    """Yield the address of a bench on a copy of the sample, with its drawings beside it."""
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        job = Path(shutil.copy(JOB, "flaperon.toml")).resolve()
        with contextlib.redirect_stdout(io.StringIO()):
            run(["make", job.name])
        server = Server(lambda: Bench(job.parent, job))
        thread = threading.Thread(target=server.run, daemon=True)
        thread.start()
        yield server.address
        server.stop()
        thread.join()


def measure(page: Any) -> None:
    """Show the wedge as it was measured, one field at work."""
    page.wait_for_selector("table.angles")
    page.click(".section .label[data-key='holes.line']")


def check(page: Any) -> None:
    """Show a printed page that was measured, and what that says of it."""
    page.click("nav a:has-text('Check')")
    page.wait_for_selector(".fields fieldset")
    for label in page.locator(".fields fieldset label:has-text('should be')").all():
        if label.is_visible():
            should = re.search(r"should be ([\d.]+)", label.inner_text())
            page.fill(f"[id='{label.get_attribute('for')}']", should[1] if should else "")
    page.wait_for_selector(".verdict")
    page.evaluate("document.activeElement.blur()")


def main(folder: Path) -> None:
    """Take both."""
    folder.mkdir(parents=True, exist_ok=True)
    with bench() as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        page = browser.new_context(viewport=SIZE).new_page()
        page.goto(address)
        for name, show in (("bench-measure", measure), ("bench-check", check)):
            show(page)
            page.wait_for_timeout(500)  # the answer to the last key
            page.screenshot(path=folder / f"{name}.png")
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
