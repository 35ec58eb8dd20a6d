"""What the tests in a real browser share: where it is, how pages are asked, what axe-core finds."""

from typing import Any

from commandline import PROJECT

CHROMIUM = "/usr/bin/chromium"
#: What keeps chromium from asking for hosts of its maker's.
QUIET = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
AXE = PROJECT / "node_modules" / "axe-core" / "axe.min.js"
SHOTS = PROJECT / "build" / "screenshots"
WAIT = 20_000
"""Milliseconds after which something that does not come is not coming."""
DESK, PHONE, NARROW = (1366, 650), (390, 780), (320, 640)
WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
"""How far a page scrolls sideways, as a script."""


def field(page: Any, key: str) -> Any:
    """Return a field by its key."""
    return page.locator(f"[id='{key}']")


def go_to(page: Any, label: str) -> None:
    """Press a tab."""
    page.click(f"nav a:has-text('{label}')")
    page.wait_for_selector(f"nav a[aria-current]:has-text('{label}')")
    page.wait_for_load_state()  # its style too


def found_by_axe(page: Any) -> list[str]:
    """Return what axe-core finds on a page, each with the first place."""
    page.evaluate(AXE.read_text("utf-8"))
    rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    result = page.evaluate(
        "async (tags) => await axe.run({runOnly: {type: 'tag', values: tags}})", rules
    )
    return [f"{one['id']}: {one['nodes'][0]['html'][:160]}" for one in result["violations"]]
