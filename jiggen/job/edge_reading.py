"""Reads the stock and the sections that ask for a jig beyond guide and block.

Defaults are those of the records in `job.edge`, which say what each number is.
"""

from __future__ import annotations

import math
from itertools import pairwise

from jiggen.job.edge import (
    CRADLE_ERROR_MOST,
    CornerInput,
    CradleInput,
    GaugeInput,
    LighteningHole,
    StockInput,
    StripInput,
)
from jiggen.job.fields import FAULTS_A_LIST, Table, given_or
from jiggen.job.holes import HOLES_MOST
from jiggen.job.quantities import ANGLE, ANY, LENGTH, NOT_NEGATIVE, POSITIVE, Limits
from jiggen.units import say_length

TOLERANCE_MOST = math.radians(3.0)
"""A taper gauge that is further off than this tells nothing."""

CRADLE_HOLES_MOST = 40
STOP_MOST = 150.0
"""Nothing wider than this, mm, turns about a countersink."""

FEELER_MOST = 2.0
"""A thicker blade than this, mm, is no feeler."""

FIT_MOST = 1.0
"""A looser slot than this, mm, holds nothing."""

MATCH_MOST = 3.0

_STOCK_KEYS = (
    *("length", "first", "pitch", "count", "positions", "lightening", "trim", "part_length"),
    *("fairing", "turn", "match"),
)
_LIGHTENING_KEYS = ("first", "pitch", "count", "at", "diameter", "line")
_OVERLAP = Limits(at_least=8.0, at_most=60.0)
_FIT = Limits(at_least=0.0, at_most=FIT_MOST)


def read_gauge(job: Table) -> GaugeInput | None:
    """Read the taper gauge's section; None where the job has none.

    Args:
        job: the whole job file.

    Returns:
        The sizes, in mm and radians.
    """
    table = job.table("gauge", ("tolerance", "depth", "feeler"))
    if table is None:
        return None
    usual = GaugeInput()
    tolerance = table.value(ANGLE, "tolerance", Limits(above=0.0, at_most=TOLERANCE_MOST))
    return GaugeInput(
        tolerance=given_or(tolerance, usual.tolerance),
        depth=table.value(LENGTH, "depth", POSITIVE),
        feeler=table.value(LENGTH, "feeler", Limits(above=0.0, at_most=FEELER_MOST)),
    )


def read_strip(job: Table) -> StripInput | None:
    """Read the hole strip's section; None where the job has none.

    Args:
        job: the whole job file.

    Returns:
        The sizes, in mm and radians.
    """
    table = job.table("strip", ("width", "overlap", "side", "zero", "roll"))
    if table is None:
        return None
    usual = StripInput()
    return StripInput(
        width=given_or(table.value(LENGTH, "width", POSITIVE), usual.width),
        overlap=given_or(table.value(LENGTH, "overlap", _OVERLAP), usual.overlap),
        side=given_or(table.choice("side", ("a", "b")), usual.side),
        zero=given_or(table.choice("zero", ("left", "right")), usual.zero),
        roll=given_or(table.flag("roll"), usual.roll),
    )


def read_cradle(job: Table) -> CradleInput | None:
    """Read the cradle's section; None where the job has none.

    Args:
        job: the whole job file.

    Returns:
        The sizes, in mm and radians.
    """
    table = job.table("cradle", ("holes", "build", "height", "fence", "stop", "fit", "error"))
    if table is None:
        return None
    usual = CradleInput()
    error = table.value(ANGLE, "error", Limits(above=0.0, at_most=CRADLE_ERROR_MOST))
    return CradleInput(
        holes=given_or(table.count("holes", 1, CRADLE_HOLES_MOST), usual.holes),
        build=given_or(table.choice("build", ("ribs", "layers")), usual.build),
        height=given_or(table.value(LENGTH, "height", POSITIVE), usual.height),
        fence=given_or(table.value(LENGTH, "fence", POSITIVE), usual.fence),
        stop=given_or(
            table.value(LENGTH, "stop", Limits(above=0.0, at_most=STOP_MOST)), usual.stop
        ),
        fit=given_or(table.value(LENGTH, "fit", _FIT), usual.fit),
        error=given_or(error, usual.error),
    )


def read_corner(job: Table) -> CornerInput | None:
    """Read the corner guide's section; None where the job has none.

    Args:
        job: the whole job file.

    Returns:
        The sizes, in mm and radians.
    """
    table = job.table("corner", ("height", "foot", "fit"))
    if table is None:
        return None
    usual = CornerInput()
    return CornerInput(
        height=given_or(table.value(LENGTH, "height", POSITIVE), usual.height),
        foot=given_or(table.value(LENGTH, "foot", POSITIVE), usual.foot),
        fit=given_or(table.value(LENGTH, "fit", _FIT), usual.fit),
    )


def read_stock(job: Table) -> StockInput | None:
    """Read the stock's section; None where the job has none, or if it is at fault.

    Args:
        job: the whole job file.

    Returns:
        The stock and the part that is cut from it, in mm.
    """
    table = job.table("stock", _STOCK_KEYS)
    if table is None:
        return None
    table.require("length", "give the length of the wedge as it comes")
    length = table.value(LENGTH, "length", POSITIVE)
    trim = _read_trim(table)
    holes = _read_row(table, "positions")
    lightening = _read_lightening(table)
    fairing = _read_fairing(table)
    match = table.value(LENGTH, "match", Limits(above=0.0, at_most=MATCH_MOST))
    turn = table.flag("turn")
    if length is None or trim is None:
        return None
    _check_lengths(table, length, trim, holes, lightening)
    return StockInput(
        length=length,
        holes=holes,
        lightening=lightening,
        trim=trim,
        fairing=fairing,
        may_turn=turn,
        match=given_or(match, StockInput(length=1.0, trim=(0.0, 1.0)).match),
    )


def _check_lengths(
    table: Table,
    length: float,
    trim: tuple[float, float],
    holes: tuple[float, ...],
    lightening: tuple[LighteningHole, ...],
) -> None:
    """Put down what lies beyond the stock's ends, and a part longer than its stock."""
    long = say_length(length, table.units)
    if trim[1] - trim[0] > length:
        part = say_length(trim[1] - trim[0], table.units)
        table.fault(
            "length", f"is shorter than the part ({part})", "check both lengths and their unit"
        )
    places = {"positions": holes, "lightening": tuple(hole.at for hole in lightening)}
    for key, given in places.items():
        if any(not 0.0 <= at <= length for at in given):
            name = key if table.has(key) else "first"
            table.fault(
                name,
                f"puts a hole beyond the stock, which is {long} long",
                "count from the stock's zero end",
            )


def _read_trim(table: Table) -> tuple[float, float] | None:
    """Return the two trim lines, given as such or as a length from the zero end."""
    if table.has("trim") and table.has("part_length"):
        table.fault("part_length", "is given besides trim", "keep one of them")
        return None
    if table.has("part_length"):
        part = table.value(LENGTH, "part_length", POSITIVE)
        return None if part is None else (0.0, part)
    if not table.require(
        "trim", "give the two trim lines along the part, or part_length from the zero end"
    ):
        return None
    trim = table.pair(LENGTH, "trim", ANY)
    if trim is not None and trim[1] <= trim[0]:
        table.fault("trim", "must rise", "give the trim line at the zero end first")
        return None
    return trim


def _read_row(table: Table, listed: str) -> tuple[float, ...]:
    """Return places along the stock: a list, or first, pitch and count; empty if none."""
    row = [key for key in ("first", "pitch", "count") if table.has(key)]
    if table.has(listed):
        if row:
            table.fault(row[0], f"is given besides {listed}", f"keep {listed}, or the row")
            return ()
        places = table.values(LENGTH, listed, NOT_NEGATIVE, HOLES_MOST)
        if places and any(b <= a for a, b in pairwise(places)):
            table.fault(listed, "must rise", "sort the places")
            return ()
        return tuple(places or ())
    if not row:
        return ()
    alone = table.raw.get("count") == 1
    for key in ("first", "count") if alone else ("first", "pitch", "count"):
        table.require(key, f"give first, pitch and count, or {listed}")
    first = table.value(LENGTH, "first", NOT_NEGATIVE)
    pitch = table.value(LENGTH, "pitch", POSITIVE)
    count = table.count("count", 1, HOLES_MOST)
    if first is None or count is None or (pitch is None and not alone):
        return ()
    return tuple(first + given_or(pitch, 0.0) * n for n in range(count))


def _read_lightening(table: Table) -> tuple[LighteningHole, ...]:
    """Return the lightening holes: one table for a row of them, or a list of tables."""
    given = table.raw.get("lightening")
    if given is None:
        return ()
    if isinstance(given, dict):
        one = table.table("lightening", _LIGHTENING_KEYS)
        return () if one is None else _lightening_row(one)
    if not isinstance(given, list):
        table.fault("lightening", "must be a table, or a list of tables")
        return ()
    if len(given) > HOLES_MOST:
        table.fault("lightening", f"is a list of more than {HOLES_MOST}", "name each hole once")
        return ()
    holes: list[LighteningHole] = []
    before = len(table.found.faults)
    for number, item in enumerate(given, start=1):
        place = f"{table.where('lightening')}[{number}]"
        if isinstance(item, dict):
            one = Table(item, place, table.found, table.units, _LIGHTENING_KEYS)
            holes += _lightening_row(one)
        else:
            table.found.add(place, "must be a table", item, "write { at, diameter, line }")
        if len(table.found.faults) - before >= FAULTS_A_LIST:
            break
    return tuple(sorted(holes, key=lambda hole: hole.at))


def _lightening_row(table: Table) -> tuple[LighteningHole, ...]:
    table.require("diameter", "give the diameter of the lightening hole")
    table.require("line", "give the distance of its middle forward of the trailing edge")
    diameter = table.value(LENGTH, "diameter", POSITIVE)
    line = table.value(LENGTH, "line", POSITIVE)
    if table.has("at"):
        at = table.value(LENGTH, "at", NOT_NEGATIVE)
        places: tuple[float, ...] = () if at is None else (at,)
    else:
        places = _read_row(table, "at")
        if not places and not table.has("first"):
            table.require("at", "give at, or first, pitch and count")
    if diameter is None or line is None:
        return ()
    return tuple(LighteningHole(at=at, diameter=diameter, line=line) for at in places)


def _read_fairing(table: Table) -> tuple[float, float]:
    if isinstance(table.raw.get("fairing"), list):
        return given_or(table.pair(LENGTH, "fairing", NOT_NEGATIVE), (0.0, 0.0))
    both = given_or(table.value(LENGTH, "fairing", NOT_NEGATIVE), 0.0)
    return both, both
