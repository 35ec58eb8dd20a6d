"""What was measured, read from a filled-in form or from options; every fault is gathered.

A form names what was measured with its mark, see `jiggen.proof.record`. Readings of what was drawn
anew since are left out and told; whatever did not change keeps them, whichever form they stand in
and whatever it is called now. A blank (``bar-x = ""``) means that nobody measured this.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from jiggen.errors import Fault, JobError
from jiggen.file_kinds import HEAD, READINGS, wrong_kind
from jiggen.geometry.distortion import Bar
from jiggen.geometry.leastsquares import (
    BY_CALLIPER,
    BY_EYE,
    COVERAGE,
    standard_of_reading,
)
from jiggen.job.fields import LENGTH, POSITIVE, FaultList, Limits, Table, nearest, say_given
from jiggen.job.read import beyond_limits, syntax_faults
from jiggen.limits import TooMuch, plain_bytes, toml_tables
from jiggen.proof.record import ROW, LengthRecord, PieceRecord, Record, SheetRecord, alike

FORMAT = 2

FILE_MOST = 5_000_000  # bytes; a larger file is no form

STEPS = {"rule": {"mm": 0.5, "in": 25.4 / 64}, "calliper": {"mm": 0.05, "in": 0.0254}}
"""mm: the finest marks of a common rule, and what a workshop calliper is read to."""

REACH = 200.0  # mm: no common calliper opens wider; what is longer is read by rule

REPEATS = {"rule": BY_EYE, "calliper": BY_CALLIPER}

_STEP = Limits(above=0.0, at_most=10.0)
_TOP = ("format", "job", "units", "rule", "calliper", "date", "by")
_LISTS = ("page", "bed", "piece", "test_hole", "coupon", "marks")
_TOOL = ("step", "plus_minus")
_AS_WRITTEN = 'a reading is written bar-x = 99.5 or bar-x = "3 7/8 in"'


class LengthReading(Struct, frozen=True, kw_only=True):
    """One length as measured."""

    name: str
    measured: float  # mm
    standard: float  # standard uncertainty, mm
    step: float = 0.0  # that it was read to, mm; 0 where a plus-minus was stated instead
    nominal: float | None = None  # as drawn, mm; None for what is on no drawing


class HoleReading(Struct, frozen=True, kw_only=True):
    """A test hole as measured."""

    piece: str  # what it was drilled with
    thickness: LengthReading  # of the scrap
    entry: tuple[LengthReading, LengthReading]  # from the two edges, near face, x and y
    exit: tuple[LengthReading, LengthReading]  # the same on the far face
    thickness_has_unit: bool = False  # written with its unit, so that it is no slip of it


class CouponReading(Struct, frozen=True, kw_only=True):
    """What was measured on a kerf coupon: over all loose bars of each row, pushed together."""

    rows: Mapping[str, LengthReading] = field(default_factory=dict)
    slot: float | None = None  # drawn width of the narrowest that the sheet enters, mm


class Outdated(Struct, frozen=True, kw_only=True):
    """What was measured on a drawing that is another one now."""

    name: str  # as the form has it
    was: str  # the first digits of its mark then, as they are lettered
    now: str = ""  # of what bears the name now; empty where nothing does
    is_print: bool = False  # only its correction is another: the page was printed again since


class Readings(Struct, frozen=True, kw_only=True):
    """All that was measured, in mm, by the names that the drawings have now."""

    files: tuple[str, ...] = ()  # where it was read
    date: str = ""  # as written; empty if not
    by: str = ""  # who measured; empty if not
    sheets: Mapping[str, tuple[LengthReading, ...]] = field(default_factory=dict)
    pieces: Mapping[str, tuple[LengthReading, ...]] = field(default_factory=dict)
    holes: tuple[HoleReading, ...] = ()
    coupon: CouponReading | None = None
    outdated: tuple[Outdated, ...] = ()  # what was left out

    def over(self, older: Readings) -> Readings:
        """Return both as one: where both hold readings of one thing, these count."""
        return replace(
            self,
            files=(*older.files, *self.files),
            date=self.date or older.date,
            by=self.by or older.by,
            sheets={**older.sheets, **self.sheets},
            pieces={**older.pieces, **self.pieces},
            holes=tuple(dict.fromkeys((*older.holes, *self.holes))),
            coupon=self.coupon or older.coupon,
            outdated=tuple(dict.fromkeys((*older.outdated, *self.outdated))),
        )


class Tool(Struct, frozen=True):
    """What was measured with: its step, how well it repeats, or a stated plus-minus, mm."""

    step: float
    repeats: float
    plus_minus: float | None = None

    def refined(self, step: float | None, plus_minus: float | None) -> Tool:
        """Return the tool after what a table says of it; see `_stated`."""
        if step is None and plus_minus is None:
            return self
        return Tool(step or self.step, self.repeats, plus_minus)

    def reading(self, name: str, measured: float, nominal: float | None = None) -> LengthReading:
        """Return one length measured with it, mm."""
        stated = self.plus_minus
        standard = standard_of_reading(self.step, self.repeats)
        return LengthReading(
            name=name,
            measured=measured,
            standard=standard if stated is None else stated / COVERAGE,
            step=self.step if stated is None else 0.0,
            nominal=nominal,
        )


def _stated(table: Table) -> tuple[float | None, float | None]:
    """Return the step and the plus-minus that a table states, mm."""
    return table.value(LENGTH, "step", _STEP), table.value(LENGTH, "plus_minus", _STEP)


def bars_of(sheet: SheetRecord, taken: Iterable[LengthReading]) -> dict[str, Bar]:
    """Return readings of a sheet's lengths as bars of its drawing, by name."""
    drawn = sheet.measurable()
    return {
        one.name: Bar(vector=drawn[one.name].vector, measured=one.measured, standard=one.standard)
        for one in taken
    }


def read_form(path: str | Path, record: Record) -> Readings:
    """Read a form for these drawings from disk.

    Raises:
        JobError: the file cannot be read, or holds faults; it carries all of them.
    """
    file = str(path)
    try:
        data = plain_bytes(path, FILE_MOST, "a form")
    except TooMuch as beyond:
        raise _whole(file, beyond.problem, beyond.remedy) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "bad name"
        raise _whole(file, f"cannot be read ({reason})", "give the name of a form") from None
    if mistake := wrong_kind(data[:HEAD], READINGS, file):
        raise _whole(file, *mistake)
    try:
        return read_form_text(data.decode("utf-8-sig"), file, record)
    except UnicodeDecodeError:
        raise _whole(file, "is not UTF-8 text", "save the file as UTF-8") from None


def read_form_text(text: str, file: str, record: Record) -> Readings:
    """Read a form from its text; arguments and errors as `read_form`."""
    try:
        raw = toml_tables(text)
    except TooMuch as beyond:
        raise JobError([beyond_limits(beyond, file)]) from None
    except ValueError as error:
        raise JobError(syntax_faults(text, file, error, _AS_WRITTEN)) from None
    found = FaultList(file=file)
    readings = _Form(raw, found, record).readings()
    if found.faults:
        raise JobError(found.faults)
    return readings


def _whole(file: str, problem: str, remedy: str) -> JobError:
    return JobError([Fault(file=file, key="", problem=problem, remedy=remedy)])


class _Form:
    """Reads the tables of one form."""

    def __init__(self, raw: Mapping[str, Any], found: FaultList, record: Record) -> None:
        self.raw, self.found, self.record = raw, found, record
        units = raw.get("units", "mm")
        self.units = found.units = units if units in ("mm", "in") else "mm"
        self.marks: Mapping[str, object] = {}
        self.outdated: list[Outdated] = []

    def readings(self) -> Readings:
        """Return all that the form holds."""
        top = self._top()
        marks = self.raw.get("marks", {})
        if isinstance(marks, dict):
            self.marks = marks
        else:
            self.found.add("marks", "must be a table", marks, "keep it as the form had it")
        self.tools = {
            name: Tool(top.value(LENGTH, name, _STEP) or STEPS[name][self.units], repeats)
            for name, repeats in REPEATS.items()
        }
        pages = {sheet.name: sheet for sheet in self.record.pages}
        return Readings(
            files=(self.found.file,),
            date=top.text("date", 60) or "",
            by=top.text("by", 80) or "",
            sheets={
                **self._group("page", pages, SheetRecord.measurable),
                **self._beds(),
            },
            pieces=self._group("piece", self.record.pieces, lambda piece: piece.sizes),
            holes=tuple(
                hole
                for number, raw in self._tables("test_hole")
                if (hole := self._hole(number, raw))
            ),
            coupon=self._coupon(),
            outdated=tuple(dict.fromkeys(self.outdated)),
        )

    def _top(self) -> Table:
        blank = ("date", "by", "job")
        filled = {
            key: str(value) if key == "date" and isinstance(value, datetime.date) else value
            for key, value in self.raw.items()
            if not (key in blank and _is_blank(value))
        }
        top = self._table(filled, "", (*_TOP, *_LISTS))
        if top.require("format", f"write format = {FORMAT}") and self.raw["format"] is not FORMAT:
            top.fault(
                "format", "is not that of this jiggen's forms", "fill in the form of a new make"
            )
        top.choice("units", ("mm", "in"))
        job = top.text("job", 200) or ""
        if job and job != self.record.job.strip():
            top.fault(
                "job",
                f'is not the job of these drawings, which is "{self.record.job}"',
                "fill in the form that lies with the drawings, or give their folder with --out DIR",
            )
        return top

    def _table(self, raw: Mapping[str, Any], path: str, known: Sequence[str]) -> Table:
        return Table(raw, path, self.found, self.units, known)

    def _tables(self, key: str) -> list[tuple[int, dict[str, Any]]]:
        given = self.raw.get(key, [])
        if not isinstance(given, list):
            self.found.add(key, "must be a list of tables", given, f"write [[{key}]] above each")
            return []
        for number, item in enumerate(given, start=1):
            if not isinstance(item, dict):
                self.found.add(f"{key}[{number}]", "must be a table", item)
        return [(n, item) for n, item in enumerate(given, start=1) if isinstance(item, dict)]

    def _group(
        self,
        key: str,
        known: Mapping[str, Any],
        sizes_of: Callable[[Any], Mapping[str, LengthRecord]],
    ) -> dict[str, tuple[LengthReading, ...]]:
        """Return the readings of each page or piece that lies there now, by its name."""
        groups: dict[str, dict[str, LengthReading]] = {}
        for number, raw in self._tables(key):
            target = self._target(f"{key}[{number}].name", raw.get("name"), known, _is_filled(raw))
            if target is not None:
                by_rule = isinstance(target, SheetRecord) or bool(target.parts)
                table = self._table(raw, str(raw["name"]), ("name", *_TOOL, *sizes_of(target)))
                into = groups.setdefault(target.name, {})
                self._lengths(table, sizes_of(target), _stated(table), into, by_rule=by_rule)
        return {name: tuple(some.values()) for name, some in groups.items() if some}

    def _beds(self) -> dict[str, tuple[LengthReading, ...]]:
        """Return the readings of each bed by its name: of bars, each by the piece that bears it."""
        at = {p.name: (bed, p) for bed in self.record.beds for p in bed.pieces if not p.copy_of}
        pieces = {name: piece for name, (_, piece) in at.items()}
        groups: dict[str, dict[str, LengthReading]] = {}
        for number, raw in self._tables("bed"):
            own: dict[str, dict[str, Any]] = {}
            for key, value in raw.items():
                piece, slash, bar = key.partition("/")
                place = f"bed[{number}].{key}"
                target = self._target(place, piece, pieces, not _is_blank(value)) if slash else None
                if target is not None:
                    own.setdefault(target.name, {})[f"{target.name}/{bar}"] = value
            rest = {key: value for key, value in raw.items() if "/" not in key}
            stated = _stated(self._table(rest, f"bed[{number}]", ("name", *_TOOL)))
            for name, values in own.items():
                bed = at[name][0]
                table = self._table(values, bed.name, tuple(bed.measurable()))
                group = groups.setdefault(bed.name, {})
                self._lengths(table, bed.measurable(), stated, group)
        return {name: tuple(some.values()) for name, some in groups.items() if some}

    def _lengths(
        self,
        table: Table,
        sizes: Mapping[str, LengthRecord],
        stated: tuple[float | None, float | None],
        into: dict[str, LengthReading],
        *,
        by_rule: bool = False,
    ) -> None:
        for name in (n for n in table.raw if n in sizes and not _is_blank(table.raw[n])):
            usual = "rule" if by_rule or sizes[name].nominal > REACH else "calliper"
            tool = self.tools[usual].refined(*stated)
            one = self._length(table, sizes[name], name, tool)
            if one is not None and into.setdefault(name, one) != one:
                table.fault(name, "is there twice, with another reading", "keep one of them")

    def _target(self, place: str, name: object, known: Mapping[str, Any], filled: bool) -> Any:
        """Return what a table is of, by its mark; None where that is another one now."""
        if not isinstance(name, str):
            self.found.add(place, "is missing", remedy="keep the name that the form had")
            return None
        mark, now = self.marks.get(name), known.get(name)
        if mark is None:
            if now is None:
                self.found.add_unknown(place, "on the drawings", name, lambda: _near(name, known))
            return now
        same = [one for one in known.values() if one.mark == mark]
        if not same and filled:
            self.outdated.append(_outdated(name, str(mark), now))
        return now if now in same else next(iter(same), None)

    def _length(
        self, table: Table, drawn: LengthRecord, name: str, tool: Tool
    ) -> LengthReading | None:
        given = table.raw[name]
        if isinstance(given, dict):
            inner = self._table(given, table.where(name), ("measured", *_TOOL))
            value = inner.value(LENGTH, "measured", POSITIVE)
            tool = tool.refined(*_stated(inner))
        else:
            value = table.value(LENGTH, name, POSITIVE)
        return None if value is None else tool.reading(name, value, drawn.nominal)

    def _hole(self, number: int, raw: Mapping[str, Any]) -> HoleReading | None:
        """Return one test hole; None where it is blank, outdated or at fault."""
        needed = ("thickness", "entry", "exit")
        filled = [key for key in needed if not _is_blank(raw.get(key, ""))]
        table = self._table(raw, f"test_hole[{number}]", ("piece", *needed, *_TOOL))
        if not filled:
            return None
        before = len(self.found.faults)
        for key in needed:
            if key not in filled:
                table.fault(key, "is blank", "measure it too, or blank the whole test hole")
        if len(self.found.faults) > before:
            return None
        thickness = table.value(LENGTH, "thickness", POSITIVE)
        entry, leave = table.pair(LENGTH, "entry"), table.pair(LENGTH, "exit")
        piece = self._drilled_with(table)
        if thickness is None or entry is None or leave is None or piece is None:
            return None
        tool = self.tools["calliper"].refined(*_stated(table))
        text = raw["thickness"]
        return HoleReading(
            piece=piece,
            thickness=tool.reading("thickness", thickness),
            entry=(tool.reading("entry x", entry[0]), tool.reading("entry y", entry[1])),
            exit=(tool.reading("exit x", leave[0]), tool.reading("exit y", leave[1])),
            thickness_has_unit=isinstance(text, str) and not text.strip()[-1:].isdecimal(),
        )

    def _drilled_with(self, table: Table) -> str | None:
        """Return what a test hole was drilled with; None where that is outdated or at fault."""
        given = table.raw.get("piece", "")
        blank = _is_blank(given)
        name = "" if blank else table.text("piece", 200)
        if name is None:
            return None
        meant = self.record.drilled_with(name)
        if not blank and alike(meant):
            together = self.record.put_together(name)
            changed = [p for p in together if self.marks.get(p.name, p.mark) != p.mark]
            self.outdated += [_outdated(p.name, str(self.marks[p.name]), p) for p in changed]
            return None if changed else stem_of(meant[0], self.record)
        leading = meant or [p for p in self.record.pieces.values() if p.lean is not None]
        names = list(dict.fromkeys(stem_of(piece, self.record) for piece in leading))
        to_name = f"name what the hole was drilled with: {' or '.join(names)}" if names else ""
        if blank:
            table.fault("piece", "is blank, so nobody can tell how the hole should lean", to_name)
        elif meant:
            table.fault("piece", "may be more than one piece", f"write {' or '.join(names)}")
        elif name in self.record.pieces:
            table.fault("piece", "leads no drill, so a test hole says nothing of it", to_name)
        else:
            table.fault("piece", "is not on the drawings", _near(name, names))
        return None

    def _coupon(self) -> CouponReading | None:
        given = self.raw.get("coupon", {})
        piece = next((p for p in self.record.pieces.values() if p.is_coupon), None)
        if not isinstance(given, dict):
            self.found.add("coupon", "must be a table", given, "write [coupon] above it")
            return None
        filled = {key: value for key, value in given.items() if not _is_blank(value)}
        if not set(filled) - set(_TOOL):
            return None
        if piece is None:
            self.found.add("coupon", "there is none on the drawings", remedy="make --only coupon")
            return None
        sizes = {name: size for name, size in piece.sizes.items() if name.startswith(ROW)}
        table = self._table(filled, "coupon", (*sizes, "slot", *_TOOL))
        rows: dict[str, LengthReading] = {}
        self._lengths(table, sizes, _stated(table), rows)
        # The slot as it is lettered on the coupon: in mm, whatever the units.
        lettered = Table(filled, "coupon", self.found, "mm", tuple(filled))
        slot = lettered.value(LENGTH, "slot", POSITIVE)
        return CouponReading(rows=rows, slot=slot)


def _near(name: str, known: Iterable[str]) -> str:
    """Return what to say of the name that is most like one that is not known."""
    some = list(known)
    return f"nearest is {say_given(nearest(name, some))}" if some else ""


def _is_filled(raw: Mapping[str, Any]) -> bool:
    return not all(_is_blank(value) for key, value in raw.items() if key not in ("name", *_TOOL))


def _is_blank(given: object) -> bool:
    if isinstance(given, list):
        return all(_is_blank(item) for item in given)
    return isinstance(given, str) and not given.strip()


def _outdated(name: str, mark: str, now: SheetRecord | PieceRecord | None) -> Outdated:
    there = "" if now is None else now.mark
    return Outdated(
        name=name,
        was=mark[:4].upper(),
        now=there[:4].upper(),
        is_print=bool(mark) and mark[:16] == there[:16] and mark != there,
    )


def stem_of(piece: PieceRecord, record: Record) -> str:
    """Return the name of the guide or block that a piece is a part of; else its own."""
    parts = piece.name.split("-")
    stems = ("-".join(parts[:end]) for end in range(2, len(parts)))
    return next((stem for stem in stems if alike(record.drilled_with(stem))), piece.name)


OPTIONS = ("bar-x", "bar-y", "diagonal-1", "diagonal-2")
"""What can be typed as options, by the page's own names."""

NO_PAGE = (
    "run jiggen make with pdf among its formats (--as pdf,svg) and print it, or fill in the form "
    "for what a machine cut"
)
"""What would do where page readings are typed and no page was made."""


def read_options(
    typed: Mapping[str, str],
    step: str,
    page: int | None,
    record: Record,
    units: str,
    found: FaultList,
) -> dict[str, tuple[LengthReading, ...]]:
    """Return readings typed as options, by the page that they were taken on.

    Pages differ in their figures where some lie: without a page, it is the one that they fit best.

    Args:
        typed: text by name of `OPTIONS`; empty where nothing was typed.
        step: of the rule; empty for the default.
        page: the page that was measured, or None.
        record: of the drawings.
        units: ``mm`` or ``in``: what bare numbers count in.
        found: where faults go.
    """
    given = {f"--{name}": text for name, text in typed.items() if text}
    if step:
        given["--step"] = step
    table = Table(given, "", found, units, tuple(given))
    finest = table.value(LENGTH, "--step", _STEP) if step else STEPS["rule"][units]
    values = {name: table.value(LENGTH, f"--{name}", POSITIVE) for name in typed if typed[name]}
    pages = {sheet.name: sheet for sheet in record.pages}
    if page is not None and f"page {page}" not in pages:
        numbers = ", ".join(name.removeprefix("page ") for name in pages) or "none"
        found.add("--page", "has no piece on it", page, f"pages with pieces: {numbers}")
    if not pages and values:
        found.add("", "there is no printed page among the drawings", remedy=NO_PAGE)
    if finest is None or found.faults:
        return {}
    tool = Tool(finest, BY_EYE)
    taken = {name: mm for name, mm in values.items() if mm is not None}
    if not taken:
        return {}

    def misfit(sheet: SheetRecord) -> tuple[float, float]:
        drawn = sheet.measurable()
        off = [math.log(mm / drawn[name].nominal) for name, mm in taken.items()]
        return round(max(off) - min(off), 2), abs(sum(off))

    on = min(pages.values(), key=misfit) if page is None else pages[f"page {page}"]
    drawn = on.measurable()
    return {on.name: tuple(tool.reading(n, mm, drawn[n].nominal) for n, mm in taken.items())}
