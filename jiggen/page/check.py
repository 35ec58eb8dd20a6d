"""The Check screen: says how print and pieces are judged."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from jiggen.page.screen import Screen, Shown
from jiggen.page.store import Kept


def show(job: Path, text: str, kept: Kept, view: Mapping[str, str]) -> Shown:
    """Return what the screen shows: nothing of the text."""
    return Shown()


CHECK_SCREEN = Screen(name="check", label="Check", show=show, has_text=False)
