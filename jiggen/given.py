"""Every reading that a verdict rests on, as it was taken: for the record and for other programs."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from pathlib import Path
from typing import Any

from jiggen.errors import JobError
from jiggen.folder import FoundForms, filled_forms
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.job.fields import FaultList
from jiggen.mistaken import HEAD, READINGS, mistaken_for
from jiggen.readings import Readings, print_mark, read_readings
from jiggen.readings.carried import is_of_earlier, laid_over, said_to_count, still_counting
from jiggen.readings.read import of_another_print
from jiggen.trials import piece_named
from jiggen.verify import LengthReading, RecordedSheet, SheetReadings, recorded_sheets


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """One reading as it was taken, for the record.

    Attributes:
        where: the page, sheet or piece.
        name: of the bar or check dimension.
        nominal: as drawn, mm; None for what is on no drawing.
        measured: mm.
        plus_minus: about 95 %, mm.
    """

    where: str
    name: str
    nominal: float | None
    measured: float
    plus_minus: float


def filled_form(
    file: str, folder: str, manifest: Mapping[str, Any], found: FaultList
) -> tuple[Readings, list[str]]:
    """Return the filled-in form, an empty one where there is none, and what to say about it.

    Args:
        file: a form by name; empty for the one that lies among the drawings.
        folder: of the drawings; empty where there are none.
        manifest: of the drawings.
        found: where faults go.
    """
    try:
        if file:
            _refuse_mistaken(file)
            readings = read_readings(file, manifest)
            _refuse_another_job(readings, manifest)
            if not is_of_earlier(readings, manifest):
                return readings, [f"Readings from {file}."]
            counting = still_counting(readings, recorded_sheets(manifest))
            if counting.is_blank:
                _refuse_another_print(readings, manifest)
            return counting, [_carried_words(counting)]
        forms = filled_forms(folder, manifest) if folder else FoundForms(readings=None)
        for one in (*forms.before, *([forms.readings] if forms.readings else [])):
            _refuse_another_job(one, manifest)
    except JobError as bad:
        found.faults.extend(bad.faults)
        return Readings(file=file), []
    return _together(forms, recorded_sheets(manifest))


def _together(forms: FoundForms, sheets: Sequence[RecordedSheet]) -> tuple[Readings, list[str]]:
    """Return all that counts of the forms in a folder, and what to say about each."""
    read = forms.readings
    notes = [f"Readings from {read.file}."] if read else []
    if forms.unused:
        notes.append(f"Not looked at: {', '.join(forms.unused)}.")
    counting = [still_counting(one, sheets) for one in forms.before]
    earlier = [*forms.earlier, *(one.file for one in counting if one.is_blank)]
    carried = [one for one in counting if not one.is_blank]
    notes += [_carried_words(one) for one in carried]
    if earlier:
        notes.append(f"Left out, since it belongs to an earlier print: {', '.join(earlier)}.")
    every = [*carried, *([read] if read else [])]
    return (reduce(laid_over, every) if every else Readings(file="")), notes


def _carried_words(counting: Readings) -> str:
    """Say what still counts of a form that was filled in for a page printed again since."""
    return (
        f"{counting.file} belongs to an earlier print: its readings of printed pages, and of what "
        f"was cut from them, are left out. What a machine cut still counts: "
        f"{said_to_count(counting)}."
    )


def _refuse_another_print(readings: Readings, manifest: Mapping[str, Any]) -> None:
    """Refuse a form of which nothing counts for the page that lies there now."""
    found = FaultList(file=readings.file)
    problem, remedy = of_another_print(print_mark(manifest))
    found.add("print", problem, readings.print, remedy)
    raise JobError(found.faults)


def _refuse_another_job(readings: Readings, manifest: Mapping[str, Any]) -> None:
    """Refuse a form that says it belongs to another job, whose pieces bear the same names."""
    theirs = str(manifest["job"])
    if not readings.job.strip() or readings.job.strip() == theirs.strip():
        return
    found = FaultList(file=readings.file)
    found.add(
        "job",
        f'is not the job of these drawings, which is "{theirs}"',
        readings.job,
        "fill in the form that lies with the drawings, or give their folder with --out DIR",
    )
    raise JobError(found.faults)


def _refuse_mistaken(file: str) -> None:
    """Refuse a job file, a manifest or a drawing in the place of a form, in one line."""
    try:
        with Path(file).open("rb") as stream:
            head = stream.read(HEAD)
    except (OSError, ValueError):
        return  # reading it will say what is wrong
    if mistake := mistaken_for(head, READINGS, file):
        found = FaultList(file=file)
        found.add("", mistake[0], remedy=mistake[1])
        raise JobError(found.faults)


def given_on_sheets(
    matched: Mapping[str, SheetReadings], *, together: Collection[str] = ()
) -> tuple[Given, ...]:
    """Return every reading of a bar or diagonal; those that count for several pages once.

    Args:
        matched: what was measured, by name of the sheet.
        together: names of the pages that one set of readings counts for.
    """
    one_set = [name for name in matched if name in together]
    rows = [(name, taken) for name, taken in matched.items() if name not in together]
    if one_set:
        rows.insert(0, (", ".join(one_set), matched[one_set[0]]))
    return tuple(
        Given(
            where=where,
            name=name,
            nominal=bar.nominal,
            measured=bar.measured,
            plus_minus=COVERAGE * bar.standard,
        )
        for where, taken in rows
        for name, bar in taken.bars.items()
    )


def given_on_pieces(readings: Readings, sheets: Sequence[RecordedSheet]) -> Iterable[Given]:
    """Yield every reading of a cut piece, of the coupon and of a test hole.

    Args:
        readings: of the form.
        sheets: as drawn.
    """
    for where, some in readings.pieces.items():
        piece = piece_named(sheets, where)
        sizes = {n.name: n.nominal for n in piece.lengths} if piece else {}
        for one in some:
            yield _as_given(where, one, sizes[one.name])
    if readings.coupon:
        piece = next(p for s in sheets for p in s.pieces if p.kind == "coupon")
        sizes = {n.name: n.nominal for n in piece.lengths}
        for row in (readings.coupon.fingers_x, readings.coupon.fingers_y):
            if row is not None:
                yield _as_given(piece.name, row, sizes[row.name])
    for hole in readings.test_holes:
        for one in (hole.thickness, *hole.entry, *hole.exit):
            yield _as_given(f"test hole {hole.piece}".strip(), one, None)


def _as_given(where: str, one: LengthReading, nominal: float | None) -> Given:
    return Given(
        where=where,
        name=one.name,
        nominal=nominal,
        measured=one.measured,
        plus_minus=COVERAGE * one.standard,
    )


def mark_of(pages: Mapping[str, SheetReadings]) -> str:
    """Return a mark of the readings of pages, so that one set does not correct twice.

    Args:
        pages: what was measured on each printed page.

    Returns:
        The mark; empty where nothing was measured.
    """
    # Without the pages' names: the same four numbers given for one page or for all are one set;
    # and without the step of the rule: stated anew, it makes no new measurement of them.
    given = {(one.name, one.measured) for one in given_on_sheets(pages)}
    return hashlib.sha256(repr(sorted(given)).encode("utf-8")).hexdigest()[:16] if given else ""
