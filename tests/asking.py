"""Asks a bench as a browser would, without a server."""

from __future__ import annotations

import re
from html import unescape

from jiggen.page.answers import Bench
from jiggen.page.request import Answer, Request


def got(bench: Bench, path: str, **query: str) -> Answer:
    """Ask for a page."""
    return bench.answer(Request(method="GET", path=path, query=query))


def posted(bench: Bench, path: str, **form: str) -> Answer:
    """Send a form."""
    return bench.answer(Request(method="POST", path=path, form=form))


def text_of(answer: Answer) -> str:
    """Return a page's words, without its tags."""
    page = re.sub(r"<(textarea|script)\b.*?</\1>", " ", answer.body.decode(), flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", page)).split())


def form_of(bench: Bench, screen: str, **view: str) -> dict[str, str]:
    """Return the form of a screen as a browser would send it back, untouched."""
    return form_in(got(bench, f"/{screen}", **view))


def form_in(answer: Answer) -> dict[str, str]:
    """Return the form of a page as a browser would send it back, untouched."""
    page, form = answer.body.decode(), {}
    for tag in re.findall(r"<input[^>]*>", page):
        pairs = {name: unescape(value) for name, value in re.findall(r'([\w-]+)="([^"]*)"', tag)}
        if "name" in pairs:
            form[pairs["name"]] = pairs.get("value", "")
    for name, inner in re.findall(
        r'<select[^>]*name="([^"]*)"[^>]*>(.*?)</select>', page, re.DOTALL
    ):
        options = re.findall(r'<option value="([^"]*)"( selected)?', inner)
        form[name] = next((v for v, picked in options if picked), options[0][0])
    for name, inner in re.findall(
        r'<textarea[^>]*name="([^"]*)"[^>]*>\n(.*?)</textarea>', page, re.DOTALL
    ):
        form[name] = unescape(inner)
    return form


AS_TEXT = {"as": "text"}
