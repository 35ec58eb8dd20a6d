"""The blank readings form that is written beside the drawings.

It says what to measure and what each length should be, the few lengths that a verdict needs first.
Nominal values are text with a unit, so that changing the file's `units` changes what bare numbers
mean and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from jiggen.readings.names import FORMAT, print_mark
from jiggen.readings.needed import needed_on_piece, needed_on_sheet
from jiggen.units import say_length
from jiggen.verify.across import CALLIPER_STEP, sizes_of
from jiggen.verify.placed import (
    BAR_TO_BAR,
    PlacedLength,
    PlacedPiece,
    RecordedSheet,
    is_inch_bar,
)
from jiggen.verify.records import DEFAULT_STEP, recorded_sheets

RULE_STEPS = {"mm": f"{DEFAULT_STEP}", "in": '"1/64 in"'}
"""The finest marks of a common rule, as they are written in the form."""

CALLIPER_STEPS = {"mm": CALLIPER_STEP, "in": 0.001}
"""What a workshop calliper is read to, mm and inches; finished pieces are measured with one."""


def readings_template(manifest: Mapping[str, Any], units: str = "mm") -> str:
    """Return a readings file for a set of drawings: nominal values filled in, blanks to fill.

    Args:
        manifest: as parsed from ``manifest.json``.
        units: ``mm`` or ``in``: what the nominal values are said in and bare numbers count in.

    Returns:
        TOML text. Blanks that a verdict needs are marked so and come first in their list.

    Raises:
        KeyError: the manifest lacks a part.
    """
    sheets = [sheet for sheet in recorded_sheets(manifest) if sheet.pieces]
    words = _Words(units=units, how=manifest.get("how", {}))
    pieces = _once(piece for sheet in sheets for piece in sheet.pieces)
    cut = [piece for piece in pieces if sizes_of(piece) and piece.kind != "coupon"]
    leading = [piece.name for piece in pieces if piece.lean is not None]
    lines = _head(manifest, sheets, cut, units)
    for sheet in sheets:
        lines += _sheet(sheet, words)
    for piece in cut:
        lines += _piece(piece, needed_on_piece(piece), words)
    for piece in pieces:
        if piece.kind == "coupon":
            lines += _coupon(piece, units)
    if leading:
        lines += _test_hole(leading[0], units)
    return "\n".join(lines) + "\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Words:
    """How lengths are said on the form.

    Attributes:
        units: ``mm`` or ``in``.
        how: each length is measured, by its name or ``piece/name``.
    """

    units: str
    how: Mapping[str, str]

    def blanks(self, lengths: Mapping[str, PlacedLength], needed: Mapping[str, str]) -> list[str]:
        """Return the list of blanks, the needed ones first, each with what it is in words."""
        places = 3 if self.units == "mm" else 4
        rows: list[str] = []
        rest: list[str] = []
        for name in (*needed, *(name for name in lengths if name not in needed)):
            nominal = say_length(lengths[name].nominal, self.units, places)
            row = f'  {{ name = {_quoted(name)}, nominal = "{nominal}", measured = "" }},'
            how = lengths[name].how or self._said(name)
            words = "; ".join(w for w in (needed.get(name), how) if w)
            (rows if name in needed else rest).append(f"{row}  # {words}" if words else row)
        if rows and rest:
            rest.insert(0, "  # Further lengths, not needed:")
        return ["lengths = [", *rows, *rest, "]"]

    def of(self, piece: PlacedPiece) -> _Words:
        """Return the words for the lengths of one piece, which stand without its name."""
        start = f"{piece.name}/"
        own = {n.removeprefix(start): how for n, how in self.how.items() if n.startswith(start)}
        return _Words(units=self.units, how=own)

    def _said(self, name: str) -> str:
        return "".join(c if c.isprintable() else " " for c in str(self.how.get(name, "")))


def _head(
    manifest: Mapping[str, Any],
    sheets: Sequence[RecordedSheet],
    cut: Sequence[PlacedPiece],
    units: str,
) -> list[str]:
    """Return the head of the form: which blanks are worth filling in, and how."""
    job = _quoted(str(manifest["job"]))
    few = []
    if any(sheet.printed for sheet in sheets):
        few.append("#   a printed page: the two bars and the two diagonals, by rule")
    if any(not sheet.printed for sheet in sheets):
        few.append("#   a cut sheet: a bar along x, one along y, one length aslant, by calliper")
    if cut:
        few.append("#   a cut piece: the lengths marked for the edge that you will drill along")
    return [
        f"# What was measured on the drawings of {job}.",
        "#",
        "# A verdict takes few of these blanks, those marked needed, and only for what you use:",
        *few,
        "# Names and letters are those on the drawing; after each # stands what they mean.",
        "#",
        '# Type between the quotes or in their place: "99.5" and 99.5 count in the units below,',
        '# "98.5 mm" and "3 7/8 in" carry their own. Leave "" where nothing was measured.',
        f"format = {FORMAT}",
        f"job = {job}",
        f'units = "{units}"',
        f"step = {RULE_STEPS[units]}      # finest marks of the rule; set again for the calliper",
        *_mark_line(manifest),
        'date = ""',
        'by = ""',
    ]


def _sheet(sheet: RecordedSheet, words: _Words) -> list[str]:
    """Return the table of one page or bed."""
    lengths = sheet.to_measure()
    needed = needed_on_sheet(lengths, words.units, "page" if sheet.printed else "sheet")
    lines = ["", "[[sheet]]", f"name = {_quoted(sheet.name)}"]
    if not sheet.printed:
        lines.append(_step_line(words.units))
        lengths = {
            name: length
            for name, length in lengths.items()
            if name in needed
            or (is_inch_bar(name) == (words.units == "in") and not _is_aslant(name))
        }
    return [*lines, *words.blanks(lengths, needed)]


def _is_aslant(name: str) -> bool:
    return name.rsplit("/", 1)[-1].startswith(BAR_TO_BAR)


def _piece(piece: PlacedPiece, needed: Mapping[str, str], words: _Words) -> list[str]:
    """Return the table of one finished piece."""
    lines = ["", f"# {piece.name}, the finished piece, by calliper"]
    if not needed:
        lines.append("# These lengths do not tell its angle: the bars of its page or sheet do.")
    lines += ["[[piece]]", f"name = {_quoted(piece.name)}", _step_line(words.units)]
    return [*lines, *words.of(piece).blanks(sizes_of(piece), needed)]


def _test_hole(piece: str, units: str) -> list[str]:
    """Return the table of a test hole."""
    return [
        "",
        "# A test hole in flat scrap of known thickness. Two distances on each face, to the middle",
        "# of the hole: first from the edge on the TE side of the piece, then from one square to",
        "# it. The more holes, the surer: copy these lines for each.",
        "[[test_hole]]",
        f'piece = ""      # what it was drilled with, such as {piece}',
        _step_line(units),
        'thickness = ""      # needed: of the scrap',
        'entry = ["", ""]      # needed: on the near face, from the TE side and from the other',
        'exit = ["", ""]      # needed: on the far face, from the same two',
    ]


def _step_line(units: str) -> str:
    return f"step = {CALLIPER_STEPS[units]}      # of the calliper"


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
    from jiggen.verify.coupon import ROW, SLOT

    places = 3 if units == "mm" else 4
    rows = [
        f'{n.name.replace("-", "_")} = ""      '
        f"# needed: drawn {say_length(n.nominal, units, places)}"
        for n in piece.lengths
        if n.name.startswith(ROW)
    ]
    lettered = [n.name.removeprefix(SLOT) for n in piece.lengths if n.name.startswith(SLOT)]
    return [
        "",
        "# The kerf coupon, by calliper. Push the loose bars of a row together, measure over all",
        "# of them. slot: the narrowest that the sheet enters by hand, as it is lettered:",
        f"# always in mm, one of {', '.join(lettered)}.",
        "[coupon]",
        _step_line(units),
        *rows,
        'slot = ""',
    ]


def _quoted(text: str) -> str:
    """Return TOML basic text."""
    plain = "".join(c if c.isprintable() else " " for c in text)
    return '"' + plain.replace("\\", "\\\\").replace('"', '\\"') + '"'
