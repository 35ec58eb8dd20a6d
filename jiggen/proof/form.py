"""The blank form that is written beside the drawings: the few numbers that a verdict takes, first.

It says what to measure and what each length should be. What is asked first are one page, and what
a bit is led along; all else stands below the line "more, if you like", a row of pieces put together
and one length of each further page first. The marks of all that was drawn stand at the end.
"""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from jiggen.proof.pieces import still_needed
from jiggen.proof.readings import FORMAT, OPTIONS, REACH, stem_of
from jiggen.proof.record import ROW, SLOT, LengthRecord, PieceRecord, Record, SheetRecord
from jiggen.units import say_length

MORE = f"# {'-' * 20} more, if you like {'-' * 20}"
"""What parts the few blanks that are asked first from all others."""

ONE_TELLS = "diagonal-1"
"""The length of a further page that tells whether it was printed like the first."""

_STEP_SAID = {"rule": {"mm": "0.5", "in": '"1/64 in"'}, "calliper": {"mm": "0.05", "in": "0.001"}}


def form_text(record: Record, units: str) -> str:
    """Return a form, TOML text, for a set of drawings.

    Lengths are said in `units`, ``mm`` or ``in``, and bare numbers count in them.
    """
    pages, pieces = record.pages, list(record.pieces.values())
    leading = [piece for piece in pieces if piece.leading_edge is not None]
    first = [p for p in leading if p.kind == leading[0].kind] or [p for p in pieces if p.angles][:1]
    asked: dict[str, set[str]] = {}

    def table(
        kind: str, name: str, note: str, lengths: Iterable[LengthRecord], far: str = ""
    ) -> list[str]:
        """Return the table of what is blank still; `far` is said of what no calliper spans."""
        done = asked.setdefault(name, set())
        left = [length for length in lengths if length.name not in done]
        done |= {length.name for length in left}
        if not left:
            return []
        rows = [_blank(length, units, far if length.nominal > REACH else "") for length in left]
        return ["", f"# {note}", f"[[{kind}]]", f"name = {_quoted(name)}", *rows]

    lines = _head(record, units)
    for page in pages[:1]:
        few = [size for name, size in page.measurable().items() if name in OPTIONS]
        lines += table("page", page.name, f"{page.name}, by rule", few)
    if not pages:
        for bed in record.beds[:1]:
            lines += table("bed", bed.name, *_of_bed(bed))
    for piece in first:
        edge = piece.leading_edge or piece.angles[0]
        names = still_needed(piece, edge) or ()
        note = f"{piece.name}, cut, by calliper"
        lines += table("piece", piece.name, note, [piece.sizes[name] for name in names])
    coupons = [line for piece in pieces if piece.is_coupon for line in _coupon(piece, units)]
    alone = {p.kind for p in pieces} == {p.kind for p in pieces if p.is_coupon}
    lines += [*(coupons if alone else ()), "", "", MORE]
    for row in record.rows:
        lines += table("piece", row.name, f"{row.title}, by rule or tape", row.lengths)
    for number, page in enumerate(pages):
        rest = list(page.measurable().values())
        rest.sort(key=lambda length: bool(number) and length.name != ONE_TELLS)
        alike = ": one diagonal tells whether it was printed like the first" if number else ""
        lines += table("page", page.name, f"{page.name}, by rule{alike}", rest)
    for bed in record.beds:
        lines += table("bed", bed.name, *_of_bed(bed))
    parts = {name for row in record.rows for name, _ in row.parts}
    for piece in pieces:
        if not (piece.is_coupon or piece.name in parts):
            note = f"{piece.name}, cut, by calliper"
            lines += table("piece", piece.name, note, piece.sizes.values(), "by rule")
    lines += () if alone else coupons
    if leading:
        lines += _test_hole(stem_of(leading[0], record))
    return "\n".join([*lines, *_marks(record)]) + "\n"


def _head(record: Record, units: str) -> list[str]:
    job = _quoted(record.job)
    return [
        f"# What was measured on the drawings of {job}.",
        '# Write between the quotes, and leave "" where nothing was measured: 99.5 counts in the',
        "# units below, 98.5 mm and 3 7/8 in carry their own.",
        f"format = {FORMAT}",
        f"job = {job}",
        f'units = "{units}"',
        f"rule = {_STEP_SAID['rule'][units]}      # finest marks of the rule, for pages",
        f"calliper = {_STEP_SAID['calliper'][units]}      # step of the calliper, for what is cut",
        'date = ""',
        'by = ""',
    ]


def _of_bed(bed: SheetRecord) -> tuple[str, list[LengthRecord]]:
    """Return what is measured on a bed: the longest engraved bar each way, and one aslant."""
    found = sorted(bed.measurable().items(), key=lambda item: -item[1].nominal)
    first: dict[int | None, LengthRecord] = {}
    for name, length in found:
        first.setdefault(length.axis, replace(length, name=name))
    return f"{bed.name}, engraved on what was cut, by calliper", list(first.values())


def _blank(length: LengthRecord, units: str, more: str = "") -> str:
    nominal = say_length(length.nominal, units, 2 if units == "mm" else 3)
    said = "; ".join(filter(None, (nominal, _printable(length.how), more)))
    return f'{_key(length.name)} = ""      # {said}'


def _test_hole(piece: str) -> list[str]:
    return [
        "",
        "# A test hole in flat scrap of known thickness. Two distances on each face, to the middle",
        "# of the hole: first from the edge on the TE side of the piece, then from one square to",
        "# it. The more holes, the surer: copy these lines for each.",
        "[[test_hole]]",
        f'piece = ""      # what it was drilled with, such as {piece}',
        'thickness = ""      # of the scrap',
        'entry = ["", ""]      # on the near face, from the TE side and from the other',
        'exit = ["", ""]      # on the far face, from the same two',
    ]


def _coupon(piece: PieceRecord, units: str) -> list[str]:
    lettered = [name.removeprefix(SLOT) for name in piece.sizes if name.startswith(SLOT)]
    rows = [size for name, size in piece.sizes.items() if name.startswith(ROW)]
    return [
        "",
        "# The kerf coupon, by calliper. Push the loose bars of a row together, measure over all",
        "# of them. slot: the narrowest that the material enters by hand, as it is lettered:",
        f"# always in mm, one of {', '.join(lettered)}.",
        "[coupon]",
        *(_blank(row, units) for row in rows),
        'slot = ""',
    ]


def _marks(record: Record) -> Iterable[str]:
    yield from ("", "", "# What this form was written for; leave it as it is.", "[marks]")
    every = {
        **{page.name: page.mark for page in record.pages},
        **{name: piece.mark for name, piece in record.pieces.items()},
    }
    yield from (f"{_quoted(name)} = {_quoted(mark)}" for name, mark in every.items() if mark)


def _key(name: str) -> str:
    bare = name.replace("-", "").replace("_", "")
    return name if bare.isascii() and bare.isalnum() else _quoted(name)


def _printable(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)


def _quoted(text: str) -> str:
    """Return TOML basic text."""
    return '"' + _printable(text).replace("\\", "\\\\").replace('"', '\\"') + '"'
