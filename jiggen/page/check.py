"""The Check screen: what came off the printer or the machine, measured, and which pieces to use.

The readings are kept in the form that lies among the drawings, so that ``jiggen verify`` says the
same of the same file. They are asked place by place, in the order of that form::

    page 2      the page's own bars and diagonals, numbered on its picture
    guide-a1    the corners of a cut piece, lettered on its picture
    test hole   where a hole in scrap goes in and comes out

What is blank in the form's first part is asked first; the rest is folded away.
"""

from __future__ import annotations

import datetime
import re
import tomllib
from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

import jiggen
from jiggen.errors import DrawingFileError, Fault, JiggenError, JobError
from jiggen.page.catalogue import units_of
from jiggen.page.edit import add_table, change, spans, typed_at
from jiggen.page.fields import Field, Mark, filled, marks_of, told, typed_in
from jiggen.page.form import solved
from jiggen.page.marked import CORNERS, Asked, hole_svg, piece_svg, row_svg, sheet_svg
from jiggen.page.screen import Screen, Shown
from jiggen.page.store import CannotSave, Kept, Store
from jiggen.proof.checks import CANNOT_TELL, DO_NOT_USE, USE, worst_of
from jiggen.proof.folder import FORM, drawings_in, folder_of, print_lines
from jiggen.proof.form import MORE
from jiggen.proof.prove import Outcome, Proof, prove
from jiggen.proof.readings import stem_of
from jiggen.proof.record import LengthRecord, PieceRecord, Record, SheetRecord, read_record
from jiggen.report.logsheet import log_sheet
from jiggen.report.verdict import (
    Hands,
    answer_rows,
    came_out,
    coupon_lines,
    next_steps,
    reasons,
    tables_of,
)
from jiggen.reprint import write_outcome
from jiggen.units import say_length
from jiggen.write.files import names_beside, sole_writer
from jiggen.write.manifest import PAGES

HANDS = Hands(
    first="Type what you read.",
    sizes=" and type what you read",
    hole=" and type where it goes in and comes out",
    make="draw all files again on Jigs and put them into the folder",
    maker="Jigs",
    reprint='press "Draw print.pdf again, corrected"',
)
"""How the steps of the report are done here."""

WORST = (DO_NOT_USE, CANNOT_TELL, USE)
"""Verdicts in the order in which they are read."""
HOLE, COUPON = "test hole", "coupon"
"""Places that are no page, bed or piece."""
_KEY = re.compile(
    r'((?P<list>page|bed|piece|test_hole)\[\d+\]|coupon)\.(?P<name>[\w-]+|"[^"\\]+")'
    r"(?P<item>\[[12]\])?"
)
_HOLE_FIELDS = {
    "piece": ("Drilled with", "text", ""),
    "thickness": ("Thickness of the scrap", "number", ""),
    "entry[1]": ("In: from the TE side", "number", "on the near face, to the hole's middle"),
    "entry[2]": ("In: from the other edge", "number", "on the near face, to the hole's middle"),
    "exit[1]": ("Out: from the TE side", "number", "on the far face, to the hole's middle"),
    "exit[2]": ("Out: from the other edge", "number", "on the far face, to the hole's middle"),
}
_NEW_HOLE = {"piece": '""', "thickness": '""', "entry": '["", ""]', "exit": '["", ""]'}


class Blank(Struct, frozen=True, kw_only=True):
    """A value that is asked for.

    Attributes:
        field: where it is typed.
        name: of the length, as the form has it.
        length: as drawn; None where the drawings have no such length.
        mark: its number on the picture; empty where its corners are lettered.
        should: what it should be.
    """

    field: Field
    name: str
    length: LengthRecord | None = None
    mark: str = ""
    should: str = ""


class Place(Struct, frozen=True, kw_only=True):
    """What is measured in one go: a page, a bed, a piece, test holes or the coupon.

    Attributes:
        name: of it.
        kind: ``page``, ``bed``, ``piece``, ``test_hole`` or ``coupon``.
        first: what is asked first.
        more: the rest.
    """

    name: str
    kind: str
    first: tuple[Blank, ...] = ()
    more: tuple[Blank, ...] = ()

    @property
    def blanks(self) -> tuple[Blank, ...]:
        """Return all that is asked."""
        return self.first + self.more


def home_of(job: Path) -> Path:
    """Return the folder of a job's drawings, beside the job file.

    Raises:
        CannotSave: the job cannot be read, or the folder is a link that leads out of the job's.
    """
    try:
        name = str(tomllib.loads(job.read_bytes().decode("utf-8-sig")).get("name", ""))
    except (OSError, ValueError, RecursionError):
        raise CannotSave(f"{job.name}: cannot be read; mend it on Measure") from None
    home = job.parent / folder_of(name.strip())
    if not home.resolve().is_relative_to(job.parent.resolve()):
        raise CannotSave(f"{home.name}: is not in this folder")
    return home


def form_file(job: Path) -> Store:
    """Return the form among a job's drawings: the newest, where one was kept for what was read."""
    home = home_of(job)
    path = home / FORM
    for name in names_beside(FORM):
        if (home / name).is_file():
            path = home / name
        elif name != FORM:
            break
    return Store(path)


# ---------------------------------------------------------------- the form


def places(text: str, record: Record | None = None) -> list[Place]:
    """Return what a form asks for, in its order, with what stands in it.

    Args:
        text: of the form.
        record: of the drawings: it says what each length should be.
    """
    begin, unit = text.find(MORE), units_of(text)
    marks = tomllib.loads(text).get("marks", {})
    found: dict[tuple[str, str], Place] = {}
    for key, where in spans(text).items():
        match = _KEY.fullmatch(key)
        if match is None or match["name"] in ("name", "step", "plus_minus"):
            continue
        kind, name = match["list"] or COUPON, match["name"].strip('"') + (match["item"] or "")
        number = ""
        named = typed_at(text, f"{key.partition('.')[0]}.name")
        place = Place(name={"test_hole": HOLE, COUPON: COUPON}.get(kind, named), kind=kind)
        place = found.setdefault((kind, place.name), place)
        field = Field(key=key, label=name, unit=unit, blank='""', value=typed_at(text, key))
        if kind == "test_hole":
            if name not in _HOLE_FIELDS:
                continue
            label, of, hint = _HOLE_FIELDS[name]
            is_text = of == "text"
            field = replace(field, label=label, kind=of, hint=hint, unit="" if is_text else unit)
            number = "" if is_text else str(list(_HOLE_FIELDS).index(name))
            if not key.startswith("test_hole[1]"):
                field = replace(field, label=f"{label}, hole {key[10 : key.index(']')]}")
        length = _lengths(kind, place.name, record, marks).get(match["name"].strip('"'))
        blank = Blank(field=field, name=name, length=length, mark=number)
        if length is not None:
            numbers = sum(bool(one.mark) for one in place.blanks)
            corners = CORNERS.fullmatch(name)
            said = length.how if kind != "bed" and length.how else name
            said = "–".join(corners.groups()) if corners else f"{said[0].upper()}{said[1:]}"
            blank = replace(
                blank,
                field=replace(field, label=said, hint=length.how),
                mark="" if corners else str(numbers + 1),
                should=say_length(length.nominal, unit, 2 if unit == "mm" else 3),
            )
        if 0 <= begin < where.start:
            place = replace(place, more=(*place.more, blank))
        else:
            place = replace(place, first=(*place.first, blank))
        found[kind, place.name] = place
    return list(found.values())


def _lengths(
    kind: str, name: str, record: Record | None, marks: Mapping[str, object]
) -> Mapping[str, LengthRecord]:
    """Return what can be measured at a place, unless it is another one than the form is for."""
    target = _target(kind, name, record)
    if target is None or (name in marks and marks[name] != target.mark):
        return {}
    return target.measurable() if isinstance(target, SheetRecord) else target.sizes


def _target(kind: str, name: str, record: Record | None) -> SheetRecord | PieceRecord | None:
    """Return the page, the bed or the piece of a place; None where none is drawn so."""
    if record is None:
        return None
    if kind in ("page", "bed"):
        sheets = record.pages if kind == "page" else record.beds
        return next((sheet for sheet in sheets if sheet.name == name), None)
    if kind == COUPON:
        return next((piece for piece in record.pieces.values() if piece.is_coupon), None)
    return record.pieces.get(name) if kind == "piece" else None


def settings(text: str) -> list[Field]:
    """Return the fields about the readings."""
    unit = units_of(text)
    return [
        Field(key="rule", label="Finest mark of the rule", unit=unit),
        Field(key="calliper", label="Step of the calliper", unit=unit),
        Field(key="date", label="Date", kind="text", blank='""'),
        Field(key="by", label="Measured by", kind="text", blank='""'),
    ]


def is_known(text: str, form: Mapping[str, str]) -> bool:
    """Return whether a form holds only fields of this screen."""
    known = {blank.field.key for place in places(text) for blank in place.blanks}
    return form.keys() <= known | {field.key for field in settings(text)} | {"at", "do"}


def draft(text: str, form: Mapping[str, str]) -> str:
    """Return the text of the readings as typed.

    Raises:
        CannotEdit: see `jiggen.page.edit`.
    """
    fields = [blank.field for place in places(text) for blank in place.blanks] + settings(text)
    text = change(text, typed_in(fields, text, form, units_of(text)))
    if form.get("do") == "add test_hole":
        count = sum(key.endswith(".thickness") for key in spans(text))
        text = add_table(text, f"test_hole[{count + 1}]", _NEW_HOLE)
    return text


# ---------------------------------------------------------------- what is shown


def show(job: Path, text: str, kept: Kept, view: Mapping[str, str]) -> Shown:
    """Return what the screen shows of a text of readings."""
    home = home_of(job)
    try:
        manifest = drawings_in(str(home))
    except DrawingFileError as bad:
        return Shown(numbers={"trouble": _here(str(bad), job)})
    if manifest is None or not kept.stamp:
        return Shown(numbers={"home": home.name})
    record = read_record(manifest)
    found = places(text, record)
    here = next((p for p in found if p.name == view.get("at")), next(iter(found), None))
    proof, faults, trouble = _proved(job, text)
    marks = _marks(faults, found, here)
    asked = _asked(proof, found) if proof is not None else []
    states = _states(record, proof)
    fields: dict[str, Any] = {"settings": filled(settings(text), text, marks)}
    if here is not None:
        here = _told(here, record, proof, marks, asked)
        fields |= {
            "here": here,
            "places": [(place.name, _look(place, proof), bool(place.first)) for place in found],
        }
    return Shown(
        fields=fields,
        picture=_picture(here, record, states) if here is not None else "",
        numbers={"trouble": trouble} if proof is None else _said(proof, asked, here),
        faults=tuple(marks),
        is_whole=proof is not None,
    )


def proved(job: Path, forms: Mapping[str, str] | None = None) -> Proof:
    """Judge a job's drawings, as ``jiggen verify`` does.

    Args:
        job: the job file.
        forms: as in `jiggen.proof.prove.prove`.

    Raises:
        JobError, DrawingFileError: see there.
    """
    solution = solved(job, Store(job).read().text)
    return prove(solution, folder=str(home_of(job)), forms=forms)


def record_pdf(job: Path) -> bytes:
    """Return the record of the saved readings to sign, a PDF of one page; errors as `proved`."""
    solution, proof = solved(job, Store(job).read().text), proved(job)
    asked, today = solution.job.print, datetime.date.today().isoformat()
    return log_sheet(proof, today=today, paper=asked.paper, margin=asked.margin)


def printed(job: Path) -> bytes:
    """Return ``print.pdf`` as it lies among a job's drawings.

    Raises:
        OSError: it cannot be read.
    """
    return (home_of(job) / PAGES).read_bytes()


def reprint(job: Path) -> str:
    """Put a ``print.pdf`` that is corrected by the saved readings among a job's drawings.

    Args:
        job: the job file.

    Returns:
        Why there is none; empty where it was drawn.

    Raises:
        JobError, DrawingFileError: see `jiggen.reprint.write_outcome`.
    """
    home, version = str(home_of(job)), jiggen.__version__
    with sole_writer(home):
        solution, proof = solved(job, Store(job).read().text), proved(job)
        done = write_outcome(solution, proof, home, reprint=True, record="", version=version)
    return done.not_reprinted or done.nothing_to_correct


def _proved(job: Path, text: str) -> tuple[Proof | None, Sequence[Fault], str]:
    """Return the proof, or the faults of the readings, or what else keeps them from one."""
    path = str(form_file(job).path)
    try:
        return proved(job, {path: text}), (), ""
    except JobError as bad:
        mine = [fault for fault in bad.faults if fault.file == path]
        said = "" if mine else "; ".join(str(fault) for fault in bad.faults)
        return None, mine, _here(said, job)
    except JiggenError as bad:
        return None, (), _here(str(bad), job)


def _here(said: str, job: Path) -> str:
    """Name files as they are called in the job's folder."""
    return said.replace(f"{job.parent}/", "")


def _marks(faults: Sequence[Fault], found: Sequence[Place], here: Place | None) -> list[Mark]:
    """Return faults of the readings at their fields; one of another place leads there first."""
    marks = []
    blanks = [(place, blank) for place in found for blank in place.blanks]
    for fault, mark in zip(faults, marks_of(faults), strict=True):
        for place, blank in blanks:
            key = f"{place.name}.{blank.name}"
            is_of = fault.key == key or fault.key.startswith(f"{key}.")
            if is_of or (fault.key and blank.field.key.startswith(fault.key)):
                label = f"{place.name}, {blank.field.label}"
                tab = "" if here is place else place.name
                mark = replace(mark, keys=(blank.field.key,), label=label, tab=tab)
                break
        marks.append(mark)
    return marks


def _asked(proof: Proof, found: Sequence[Place]) -> list[Mark]:
    """Return what is asked about, with the fields that it is about."""
    sheets = [(sheet.sheet, q) for sheet in proof.sheets.sheets for q in sheet.questions]
    cut = [(piece.name, q) for piece in proof.cut for q in piece.questions]
    coupon = [(COUPON, q) for q in proof.coupon.questions] if proof.coupon else []
    return [
        Mark(
            keys=tuple(
                blank.field.key
                for place in found
                for blank in place.blanks
                if place.name == name and blank.name in question.readings
            ),
            text=question.text.said(proof.units),
        )
        for name, question in (*sheets, *cut, *coupon)
    ]


def _told(
    place: Place, record: Record, proof: Proof | None, marks: Sequence[Mark], look: Sequence[Mark]
) -> Place:
    """Return a place whose fields say what is wrong, and what was read in an older form."""
    read = proof.readings if proof is not None else None
    taken = (*read.sheets.get(place.name, ()), *read.pieces.get(place.name, ())) if read else ()
    known = {one.name: one.measured for one in taken}
    stems = ""
    if place.kind == "test_hole":
        leading = [piece for piece in record.pieces.values() if piece.lean is not None]
        stems = " or ".join(dict.fromkeys(stem_of(piece, record) for piece in leading))

    def blank_told(blank: Blank) -> Blank:
        field = blank.field
        if not field.value and blank.name in known:
            field = replace(field, usual=say_length(known[blank.name], field.unit))
        if field.kind == "text":
            field = replace(field, hint=stems)
        return replace(blank, field=told([field], marks, look)[0])

    return replace(
        place,
        first=tuple(map(blank_told, place.first)),
        more=tuple(map(blank_told, place.more)),
    )


def _states(record: Record, proof: Proof | None) -> dict[str, str]:
    """Return the last word on each piece, by its name: one that is good on its sheet, ``cut``."""
    states = {
        piece.name: "not measured" if piece.is_checked else "no check"
        for sheet in record.sheets
        for piece in sheet.pieces
    }
    if proof is None:
        return states
    for piece in (piece for sheet in proof.sheets.sheets for piece in sheet.pieces):
        if states[piece.name] != "no check" or piece.verdict == DO_NOT_USE:
            states[piece.name] = "cut" if piece.verdict == USE else piece.verdict
    rows = {row.name: [name for name, _ in row.parts] for row in record.rows}
    for judged in (*proof.cut, *proof.answers):
        names = [judged.name, *rows.get(judged.name, ())]
        if judged.stage == "hole":
            names = [piece.name for piece in record.drilled_with(judged.name)] or names
        if judged.stage not in ("page", "bed"):
            states |= dict.fromkeys(names, judged.verdict)
    return states


def _look(place: Place, proof: Proof | None) -> str:
    """Return the verdict on what was measured at a place; empty where nothing was."""
    if proof is None:
        return ""
    if place.kind == "coupon":
        return "" if proof.coupon is None else CANNOT_TELL if proof.coupon.questions else USE
    sheets = [s.verdict for s in proof.sheets.sheets if s.sheet == place.name]
    cut = [piece.verdict for piece in proof.cut if piece.name == place.name]
    holes = [hole.verdict for hole in proof.holes] if place.kind == "test_hole" else []
    words = {"page": sheets, "bed": sheets, "piece": cut, "test_hole": holes}[place.kind]
    return worst_of(words) if words else ""


def _picture(place: Place, record: Record, states: Mapping[str, str]) -> str:
    """Return what is measured at a place, drawn; nothing where it is no drawing."""
    asked = [
        Asked(
            key=blank.field.key,
            mark=blank.mark,
            length=blank.length,
            aside=blank in place.more and bool(place.first),
            state="bad" if blank.field.fault else "look" if blank.field.look else "",
        )
        for blank in place.blanks
        if blank.length is not None
    ]
    target = _target(place.kind, place.name, record)
    if place.kind == "test_hole":
        keys = [blank.field.key for blank in place.blanks if blank.mark]
        return hole_svg(keys[:5])
    if isinstance(target, SheetRecord):
        return sheet_svg(target, asked, states)
    if target is None:
        return f"<p>{escape(place.name)} is not among the drawings now.</p>"
    if target.parts:
        return row_svg(target, asked)
    return piece_svg(target, asked, states[target.name])


def _said(proof: Proof, asked: Sequence[Mark], here: Place | None) -> dict[str, Any]:
    """Return the report: the answer by piece, why, how this place came out, what to do next."""
    units, items = proof.units, []
    for verdict in WORST[:2]:
        for said in reasons(proof, (verdict,)):
            keys = [key for mark in asked if mark.text in said for key in mark.keys]
            items.append({"look": verdict, "text": said, "keys": " ".join(keys)})
    for one in (*proof.cut, *proof.holes):
        is_here = here is not None and here.name == (HOLE if one in proof.holes else one.name)
        if is_here and one.verdict == USE:
            odd = f" But {one.to_decide.said(units)}." if one.to_decide is not None else ""
            said = f"{one.name}: {one.why.said(units)}.{odd}"
            items.append({"look": USE, "text": said, "keys": ""})
    lines = {*coupon_lines(proof), *print_lines(proof.reprint)}
    steps = next_steps(proof, Outcome(), hands=HANDS)
    heads = answer_rows(proof, "Do not use") if proof.answers or proof.coupon else []
    return {
        "heads": sorted(heads, key=lambda head: WORST.index(head[1])),
        "other": bool(proof.readings.outdated) or proof.spent,
        "notes": [note.said(units) for note in proof.notes],
        "items": items,
        "came": came_out(proof),
        "good": reasons(proof, (USE,)),
        "next": [step for step in steps if step not in lines],
        "lines": [step for step in steps if step in lines],
        "corrected": print_lines(proof.record.made_for) if proof.record.corrected_by else (),
        "off": bool(proof.record.pages) and proof.print_is_off and not proof.spent,
        "tables": [(title, columns, rows) for title, columns, _, rows in tables_of(proof) if rows],
    }


CHECK_SCREEN = Screen(
    name="check", label="Check", store=form_file, keys=is_known, draft=draft, show=show
)
