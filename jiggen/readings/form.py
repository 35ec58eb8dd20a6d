"""The blank readings form that is written beside the drawings.

It says what to measure and what each length should be. Nominal values are text with a unit, so
that changing the file's `units` changes what bare numbers mean and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from jiggen.units import say_length
from jiggen.verify.records import DEFAULT_STEP, PlacedLength, PlacedPiece, recorded_sheets

FORMAT = 1

FORM = "readings.toml"
"""The form's own name, in the folder of the drawings."""

INCH_STEP = 1 / 64
"""Inches: the finest marks of a common inch rule."""

CALLIPER_STEPS = {"mm": 0.05, "in": 0.001}
"""What a workshop calliper is read to, mm and inches; finished pieces are measured with one."""

MARK = 12
"""Characters of the print's hash that tell one print.pdf from the next."""


def print_mark(manifest: Mapping[str, Any]) -> str:
    """Return what tells the print that was measured from an earlier or a later one.

    Args:
        manifest: as parsed from ``manifest.json``.

    Returns:
        The beginning of the hash of its PDF; empty where it lists none.
    """
    prints = (row for row in manifest["files"] if row["format"] == "pdf")
    return next((str(row.get("sha256", ""))[:MARK] for row in prints), "")


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
        *_mark_line(manifest),
        'date = ""',
        'by = ""',
    ]
    for sheet in sheets:
        lines += ["", "[[sheet]]", f"name = {_quoted(sheet.name)}"]
        lines += _blanks(sheet.to_measure(), units)
    pieces = _once(piece for sheet in sheets for piece in sheet.pieces)
    for piece in pieces:
        sizes = {length.name: length for length in piece.lengths if not length.is_bar}
        if sizes and piece.kind != "coupon":
            lines += ["", "# the finished piece, by calliper", "[[piece]]"]
            lines += [f"name = {_quoted(piece.name)}", f"step = {CALLIPER_STEPS[units]}"]
            lines += _blanks(sizes, units)
    for piece in pieces:
        if piece.kind == "coupon":
            lines += _coupon(piece, units)
    lines += TEST_HOLE
    return "\n".join(lines) + "\n"


TEST_HOLE = (
    "",
    "# A test hole in flat scrap of known thickness: where it enters on the near face and where",
    "# it leaves on the far face. Two distances each: first from the edge on the TE side of the",
    "# piece, then from an edge square to that one. Take away the # to use it.",
    "# [[test_hole]]",
    '# piece = ""',
    '# thickness = ""',
    '# entry = ["", ""]',
    '# exit = ["", ""]',
)


def _mark_line(manifest: Mapping[str, Any]) -> list[str]:
    mark = print_mark(manifest)
    return (
        [f'print = "{mark}"      # which print.pdf this is of; leave it as it is'] if mark else []
    )


def _once(pieces: Iterable[PlacedPiece]) -> list[PlacedPiece]:
    """Return each piece once, however many copies there are and sheets that show it."""
    return list({piece.name: piece for piece in pieces if not piece.again}.values())


def _coupon(piece: PlacedPiece, units: str) -> list[str]:
    """Return the table of the kerf coupon's readings."""
    places = 3 if units == "mm" else 4
    rows = [
        f'{n.name.replace("-", "_")} = ""      # drawn {say_length(n.nominal, units, places)}'
        for n in piece.lengths
        if n.name.startswith("fingers-")
    ]
    return [
        "",
        "# The kerf coupon, by calliper. Push the loose bars of a row together, measure over all",
        "# of them. slot: the narrowest one that the sheet enters by hand, as it is lettered (mm).",
        "[coupon]",
        f"step = {CALLIPER_STEPS[units]}",
        *rows,
        'slot = ""',
    ]


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
