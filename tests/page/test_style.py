"""The style and the script: small, of the project's own, and legible in light and dark."""

import re

import pytest

from jiggen.page.frame import HERE

STYLE = (HERE / "own" / "style.css").read_text("utf-8")
SCRIPT = (HERE / "own" / "script.js").read_text("utf-8")


def colours(dark: bool) -> dict[str, str]:
    """Return the colours of the style by name."""
    light, after = STYLE.split("@media (prefers-color-scheme: dark)", 1)
    part = after.split("* { box-sizing", 1)[0] if dark else light
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", part))


def luminance(colour: str) -> float:
    """Return the relative luminance. Source: WCAG 2.2, relative luminance (READ-2nd)."""
    parts = [int(colour[n : n + 2], 16) / 255.0 for n in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, two: str) -> float:
    """Return the contrast ratio. Source: WCAG 2.2, contrast ratio (READ-2nd)."""
    high, low = sorted((luminance(one), luminance(two)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_measure_of_contrast_is_that_of_the_guidelines() -> None:
    """Black on white is 21 to 1, and #767676 on white is the lightest grey at 4.5 (both MEM)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)
    assert contrast("#777777", "#ffffff") < 4.5


TEXTS = [
    ("ink", "paper"), ("ink", "field"), ("soft", "paper"), ("soft", "field"), ("ink", "wash"),
    ("go", "paper"), ("go", "field"), ("on-go", "go"), ("bad", "paper"), ("bad", "bad-wash"),
    ("ink", "bad-wash"), ("look", "paper"), ("look", "look-wash"), ("ink", "look-wash"),
    ("good", "good-wash"), ("ink", "good-wash"), ("side-a", "paper"), ("side-b", "paper"),
]  # fmt: skip
"""Words on grounds, as the style has them."""
LINES = [
    ("line", "paper"), ("line", "field"), ("bad", "field"), ("soft", "wash"), ("side-a", "wash"),
    ("side-b", "wash"), ("side-a", "field"), ("side-b", "field"), ("go", "wash"), ("bad", "wash"),
    ("good", "paper"), ("look", "paper"),
]  # fmt: skip
"""Rims and lines of drawings on grounds."""


@pytest.mark.parametrize("dark", [False, True])
def test_every_pair_of_colours_can_be_told_apart(dark: bool) -> None:
    """Words 4.5 to 1, rims 3 to 1. Source: WCAG 2.2, 1.4.3 (READ-2nd), 1.4.11 (MEM)."""
    named = colours(dark)
    assert set(named) == set(colours(not dark))
    weak = [
        (one, two, round(contrast(named[one], named[two]), 2))
        for pairs, least in ((TEXTS, 4.5), (LINES, 3.0))
        for one, two in pairs
        if contrast(named[one], named[two]) < least
    ]
    assert weak == []


def test_every_colour_of_the_style_is_a_named_one() -> None:
    """One that is written out would not go dark."""
    rules = STYLE.split("* { box-sizing", 1)[1]
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b(?!;?\s*\{)", rules) == ["#0004"]  # a shadow
    named = set(re.findall(r"--([\w-]+):", rules))  # a state has one of them each
    assert set(re.findall(r"var\(--([\w-]+)", rules)) == {*colours(False), *named}


def test_style_and_script_are_small_and_bring_nothing_with_them() -> None:
    """No library, no build step, no other host."""
    assert len(STYLE.encode()) <= 16 * 1024
    assert len(SCRIPT.encode()) <= 8 * 1024
    pages = "".join(path.read_text("utf-8") for path in (HERE / "html").iterdir())
    for text in (STYLE, SCRIPT, pages):
        assert (
            re.findall(r"https?://|@import|url\((?!#)|eval\(|import\(|import \w+ from", text) == []
        )
    assert re.findall(r"<script(?! src=\"/own/)|\son\w+=|\sstyle=", pages) == []


def test_every_template_is_escaped() -> None:
    """But for the drawings, which are made here."""
    pages = {path.name: path.read_text("utf-8") for path in (HERE / "html").iterdir()}
    assert [name for name, text in pages.items() if "|safe" in text] == ["picture.html"]


def test_nothing_moves() -> None:
    """So there is no motion to reduce. Source: WCAG 2.2, 2.3.3 (MEM)."""
    assert re.findall(r"transition|animation|@keyframes|scroll-behavior", STYLE) == []
