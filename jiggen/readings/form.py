"""The blank readings form that is written beside the drawings.

It says what to measure and what each length should be. Nominal values are text with a unit, so
that changing the file's `units` changes what bare numbers mean and nothing else.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from jiggen.units import say_length
from jiggen.verify.records import DEFAULT_STEP, PlacedLength, recorded_sheets

FORMAT = 1

INCH_STEP = 1 / 64
"""Inches: the finest marks of a common inch rule."""


def readings_template(manifest: Mapping[str, Any], units: str = "mm") -> str:
    """Return a readings file for a set of drawings: nominal values filled in, blanks to fill.

    Args:
        manifest: as parsed from ``manifest.json``.
        units: ``mm`` or ``in``: what the nominal values are said in and bare numbers count in.

    Returns:
        TOML text.

    Raises:
        KeyError: the manifest lacks a part.
    """
    sheets = [sheet for sheet in recorded_sheets(manifest) if sheet.pieces]
    step = DEFAULT_STEP if units == "mm" else INCH_STEP
    job = _quoted(str(manifest["job"]))
    lines = [
        f"# What was measured on the drawings of {job}.",
        '# Fill in the blanks; leave "" where nothing was measured. Bare numbers count in the',
        '# units below; "98.5 mm", "3 7/8 in" carry their own. Both diagonals tell whether the',
        "# page came out square: without them many an angle cannot be told.",
        f"format = {FORMAT}",
        f"job = {job}",
        f'units = "{units}"',
        f"step = {step}      # smallest step of the rule or calliper; may be set again below",
        'date = ""',
        'by = ""',
    ]
    for sheet in sheets:
        lines += ["", "[[sheet]]", f"name = {_quoted(sheet.name)}"]
        lines += _blanks(sheet.to_measure(), units)
    done: set[str] = set()
    for piece in (piece for sheet in sheets for piece in sheet.pieces):
        sizes = {length.name: length for length in piece.lengths if not length.is_bar}
        if sizes and not piece.again and piece.name not in done:
            done.add(piece.name)
            lines += ["", "# the finished piece, by calliper", "[[piece]]"]
            lines += [f"name = {_quoted(piece.name)}", *_blanks(sizes, units)]
    lines += [
        "",
        "# A test hole in flat scrap: distances of the hole from two edges that are square to one",
        "# another, on the near face and on the far face. Take away the # to use it.",
        "# [[test_hole]]",
        '# piece = ""',
        '# thickness = ""',
        '# entry = ["", ""]',
        '# exit = ["", ""]',
    ]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """Return TOML basic text."""
    plain = "".join(c if c.isprintable() else " " for c in text)
    return '"' + plain.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _blanks(lengths: Mapping[str, PlacedLength], units: str) -> list[str]:
    places = 3 if units == "mm" else 4
    rows = [
        f"  {{ name = {_quoted(name)}, "
        f'nominal = "{say_length(length.nominal, units, places)}", measured = "" }},'
        for name, length in lengths.items()
    ]
    return ["lengths = [", *rows, "]"]
