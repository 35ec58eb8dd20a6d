"""Puts what screens show into pages: the one home of the templates."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import jinja2

HERE = Path(__file__).parent
OWN = {
    "style.css": "text/css; charset=utf-8",
    "script.js": "text/javascript; charset=utf-8",
    "icon.svg": "image/svg+xml",
}
"""The page's own files."""


def page(template: str, **context: Any) -> bytes:
    """Return a page, or a part of one; every text in it is escaped.

    Args:
        template: its name.
        context: what it shows.
    """
    return _templates().get_template(template).render(context).encode("utf-8")


def own(name: str) -> bytes:
    """Return one of the page's own files."""
    return (HERE / "own" / name).read_bytes()


@cache
def _templates() -> jinja2.Environment:
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(HERE / "html"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
