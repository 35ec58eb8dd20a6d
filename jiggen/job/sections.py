"""Every section and key of the job file, each declared once; the records that the job is read into.

All lengths are in mm and all angles in radians once they are read, defaults filled in. Nothing here
computes: `solve` turns these records into geometry.

    Job ─┬─ Wedge                                                        see `jiggen.job.wedge`
         ├─ Skin, Holes, Drill, Rivet, Countersink, Allow                what is drilled and riveted
         ├─ Guide, Block, Stock, Gauge, Strip, Cradle, Corner,           what is made
         │  Sequence, Row
         └─ Print, Cut                                                   what it is made on
"""

from __future__ import annotations

import math
import re
from itertools import pairwise
from typing import Any

from msgspec import Struct

from jiggen.facts.papers import PAPERS
from jiggen.facts.rivet_names import RivetName, read_rivet_name
from jiggen.facts.rivets import (
    FLUSH_RIVETS,
    INCH_FLUSH_ANGLE,
    METRIC_FLUSH,
    METRIC_FLUSH_ANGLE,
    METRIC_ROUND,
    UNIVERSAL_RIVETS,
)
from jiggen.job.fields import (
    ANY,
    FAULTS_A_LIST,
    LENGTH,
    NOT_NEGATIVE,
    Limits,
    Table,
    nearest,
)
from jiggen.job.schema import (
    NEEDED,
    Key,
    Section,
    choice,
    deg,
    drill,
    flag,
    gone,
    keys_of,
    mm,
    mm_or_drill,
    number,
    own,
    part,
    parts,
    read_section,
    text,
    whole,
)
from jiggen.job.sizes import ask_for_unit
from jiggen.job.wedge import Wedge
from jiggen.units import INCH, LONGEST, Length, UnitError, say_length, size, words

FORMAT = 1
NAME_MOST = 80
SIDE_MOST = 24
"""Longest name of the job and of a side, so that they fit on a piece."""

SIDES = ("side A", "side B")
"""What the sides are called where the job does not say."""

HOLES_MOST = 5000
"""More than anyone has; a longer list is a slip of a program."""

OPERATIONS = ("CUT", "SCORE", "ENGRAVE", "NOTE")
RIVET_SIZES = (*FLUSH_RIVETS, *METRIC_FLUSH)

_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")


# ---------------------------------------------------------------- what is drilled and riveted


class Skin(Section):
    """The two skins over the wedge."""

    thickness: tuple[float, float] = mm(
        NEEDED, "Skin", "thickness of each skin, or [side A, side B]", shape="one or pair"
    )


def _read_numbers(table: Table, key: Key) -> frozenset[int] | None:
    """Return a set of whole numbers from 1 on; how many holes there are, `settle` knows."""
    given = table.raw.get(key.name)
    if not table.has(key.name):
        return None
    if not isinstance(given, list):
        table.fault(key.name, "must be a list of hole numbers", "write [1, 64]")
        return None
    if len(given) > HOLES_MOST:
        table.fault(key.name, f"is a list of more than {HOLES_MOST}", "name each hole once")
        return None
    return frozenset(n for n in given if isinstance(n, int) and not isinstance(n, bool))


def _check_numbers(table: Table, holes: int | None) -> None:
    """Put down what is no hole's number, or stands there twice; `holes` is how many there are."""
    given, most = table.raw.get("keep_out"), holes or HOLES_MOST
    seen: set[int] = set()
    faults = 0
    for place, item in enumerate(given if isinstance(given, list) else [], start=1):
        whole = isinstance(item, int) and not isinstance(item, bool)
        if whole and 1 <= item <= most and item not in seen:
            seen.add(item)
            continue
        twice = whole and item in seen
        problem = "is given twice" if twice else f"is not a hole number from 1 to {most}"
        table.found.add(f"{table.where('keep_out')}[{place}]", problem, item)
        faults += 1
        if faults == FAULTS_A_LIST:
            break


def _row_of(table: Table, found: dict[str, Any], listed: str, *, needed: bool) -> tuple[float, ...]:
    """Return places along an edge: as listed, or by first, pitch and count; empty if at fault."""
    row = [key for key in ("first", "pitch", "count") if table.has(key)]
    if row and table.has(listed):
        either = f"give {listed}, or first, pitch and count, not both"
        table.fault(row[0], f"is given besides {listed}", either, listed)
        return ()
    if table.has(listed) or not (row or needed):
        return found.get(listed) or ()
    alone = table.raw.get("count") == 1
    for key in ("first", "count") if alone else ("first", "pitch", "count"):
        table.require(key, f"give {listed}, or first, pitch and count")
    first, pitch, many = found["first"], found["pitch"], found["count"]
    if first is None or many is None or (pitch is None and not alone):
        return ()
    step = pitch or 0.0
    if first + step * (many - 1) > LONGEST:
        remedy = "check pitch and its unit"
        table.fault("count", "puts the last hole further than 100 m", remedy, "pitch")
        return ()
    return tuple(first + step * n for n in range(many))


def _read_places(table: Table, key: Key) -> tuple[float, ...] | None:
    places = table.values(LENGTH, key.name, key.limits, HOLES_MOST)
    if places is None:
        return None
    if not places:
        table.fault(key.name, "is empty", f"give {key.meaning}")
        return None
    given = table.raw[key.name]
    late = [n for n, (one, two) in enumerate(pairwise(places), start=1) if two <= one]
    for place in late[:FAULTS_A_LIST]:
        item = given[place] if isinstance(given, list) else given
        table.found.add(
            f"{table.where(key.name)}[{place + 1}]",
            "does not come after the hole before it",
            item,
            "sort them; decimals follow a point",
        )
    return None if late else tuple(places)


def places(label: str, meaning: str, limits: Limits = ANY) -> Any:
    """Return a list of places that rise, in place of first, pitch and count."""
    return own("list of lengths", (), label, meaning, _read_places, quantity=LENGTH, limits=limits)


class Holes(Section):
    """The line of rivet holes."""

    drill: float = drill("Drill", 'drill for the holes, such as "#30" or "2.5 mm"')
    drill_name: str = ""
    line: float = mm(NEEDED, "Hole line", "distance of the hole line forward of the trailing edge")
    first: float | None = mm(
        None, "First hole", "place of hole 1 along the span", instead="positions", above=None,
        default_said="*needed*, or `positions`",
    )  # fmt: skip
    pitch: float | None = mm(
        None, "Pitch", "from hole to hole", instead="positions",
        default_said="*needed*, or `positions`",
    )  # fmt: skip
    count: int | None = whole(
        None, "Holes", "how many holes", 1, HOLES_MOST, instead="positions",
        default_said="*needed*, or `positions`",
    )  # fmt: skip
    positions: tuple[float, ...] = places("Places", "place of each hole along the span, rising")
    keep_out: frozenset[int] = own(
        "list of hole numbers", frozenset(), "Leave alone", "holes that are not drilled now",
        _read_numbers,
    )  # fmt: skip
    passes: int = whole(1, "Passes", "2 to drill every other hole first, then those between", 1, 2)

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Lay out the row; name the drill."""
        if found["drill"] is not None:
            found["drill_name"], found["drill"] = found["drill"].name, found["drill"].diameter
        row = _row_of(table, found, "positions", needed=True)
        found["positions"] = row
        _check_numbers(table, len(row) or None)


class Drill(Section):
    """The drill that is there: refines what the tables say of its size."""

    length: float | None = mm(
        None, "Drill length", "overall length of the bit", at_most=500,
        default_said="a jobber drill's, from the table",
    )  # fmt: skip
    grip: float = mm(20.0, "Grip", "how much of the bit the chuck swallows", at_most=100)
    nose: float = mm(36.0, "Nose", "diameter of chuck or collet where it comes down", at_most=150)

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Refuse a bit that the chuck swallows whole."""
        whole, grip = found["length"], found["grip"] or 20.0
        if whole is not None and whole <= grip:
            problem = words("is no longer than the chuck's grip ({grip})", grip=size(grip))
            table.fault("length", problem, "give the overall length of the bit", "grip")


def _read_rivet_name(table: Table, key: Key) -> RivetName | None:
    if not table.has(key.name):
        return None
    try:
        return read_rivet_name(table.raw[key.name])
    except UnitError as error:
        table.fault(key.name, error.problem, error.remedy)
        return None


class Rivet(Section):
    """The rivet: by the size on its bag, or by what a calliper reads."""

    size: str = own(
        'size or part number, `"-3"`, `"3 mm"`, `"3/32 in"`, `"AD3-5"`, `"MS20426AD3-5"`', "",
        "Size", "size, or what stands on the bag", _read_rivet_name, choices=RIVET_SIZES,
    )  # fmt: skip
    bag_length: float | None = None
    """Length that the name on the bag tells, mm; over all of a flush rivet."""
    diameter: float | None = mm(
        None, "Shank", "diameter of the shank, in place of size", at_most=50
    )
    head: float | None = mm(None, "Head", "diameter of the head, in place of size", at_most=50)
    form: str = choice("flush", "Form", "head of the rivet as it comes", "flush", "protruding")
    angle: float = deg(
        INCH_FLUSH_ANGLE, "Head angle", "of a flush head, over all", at_least=60, at_most=130,
        default_said="100 deg; 75 deg for a size in mm",
    )  # fmt: skip
    shop_head: str = choice("", "Shop head", "the head that you make", "bucked", "flush")
    skins: str = choice(
        "dimpled", "Skins", "how a flush head is let into the skins", "dimpled", "countersunk"
    )
    allowance: float | None = number(
        None, "Allowance", "what stands out before it is set, in diameters", at_most=4,
        default_said="the published one, where there is one",
    )  # fmt: skip
    half_sizes: bool = flag(False, "Half sizes", "rivets 1/32 in longer can be had")
    rounding: str = choice(
        "up", "Rounding", "to the next standard length, or to the nearest", "up", "nearest"
    )

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Look a size up; refuse a size besides its numbers, and a head no wider than its shank."""
        name, diameter, head = found["size"], found["diameter"], found["head"]
        for key in ("head", "diameter"):
            if table.has(key) and table.has("size"):
                table.fault("size", f"is given besides {key}", "keep one of them", key)
        if head is not None and diameter is not None and head <= diameter:
            problem = words("is no wider than the shank ({shank})", shank=Length(diameter))
            table.fault("head", problem, "give the diameter of the head", "diameter")
        if name is None:
            return
        found["size"], found["bag_length"] = name.size, name.length
        if name.form and found["form"] not in (None, name.form):
            table.fault("form", f"is not that of the rivet on the bag ({name.form})", "", "size")
        found["form"] = found["form"] or name.form or None
        if not table.has("head") and not table.has("diameter"):
            found["diameter"], found["head"] = _of_size(name.size, found["form"] or "flush")
        if found["angle"] is None and name.size in METRIC_FLUSH:
            found["angle"] = math.radians(METRIC_FLUSH_ANGLE)


def _of_size(rivet_size: str, form: str) -> tuple[float, float | None]:
    """Return diameter and head of a size; no head where the table of that form lacks the size."""
    inch, flush = rivet_size in FLUSH_RIVETS, form == "flush"
    known = FLUSH_RIVETS[rivet_size] if inch else METRIC_FLUSH[rivet_size]
    round_heads = UNIVERSAL_RIVETS if inch else METRIC_ROUND
    one = known if flush else round_heads.get(rivet_size)
    return known.diameter, None if one is None else one.head


class Countersink(Section):
    """How the wedge is countersunk, and with what."""

    square_to: str = choice(
        "chord", "Square to", "what the countersink is square to: chord plane or face", "chord",
        "face",
    )  # fmt: skip
    pilot: float | None = mm(None, "Pilot", "length of the cutter's pilot", at_most=50)
    clearance: float | None = mm(
        None, "Clearance", "how much thinner the pilot is than the hole", at_least=0, at_most=2
    )
    cage: float | None = mm(None, "Cage", "diameter of the foot of the cutter's stop", at_most=150)
    tried: bool = flag(False, "Tried", "the depth was tried in scrap of the same skin")


class Allow(Section):
    """What is allowed."""

    drift: float | None = mm(
        None, "Miss allowed", "how far a hole may miss at the far skin", at_most=5,
        default_said="what the rivet's hole bears, at most 0.1 mm",
    )  # fmt: skip
    angle: float = deg(
        0.5, "Angle allowed", "largest angle error where the thickness is not known", at_most=10
    )
    land: float | None = mm(
        None, "Land", "least straight hole that countersinks may leave; your plans give it",
        at_most=25,
    )  # fmt: skip
    size: str = choice("", "Size", "answers the question whether the sizes are meant", "as stated")


# ---------------------------------------------------------------- what is made


class Guide(Section):
    """Sizes of the angle guides."""

    base: str = choice(
        "solid", "Base", "where the guide stands: on solid wedge, or on the skin too", "solid",
        "skin",
    )  # fmt: skip
    sag: float = mm(
        0.5, "Sag", "how far hollow skin gives under a long base", at_least=0, at_most=5
    )
    margin: float = mm(
        1.0, "Margin", "of the base to the edges of the wedge", at_least=0, at_most=10
    )
    sheet: float | None = mm(
        None, "Material", "thickness of the guide's material", at_least=0.1, at_most=25,
        default_said="`cut.sheet`",
    )  # fmt: skip
    cut: str = choice(
        "", "Cut", "how it is made, which says how true it is", "hand", "printed", "laser",
        default_said='`"laser"` where `cut.kerf` is stated, else `"hand"`',
    )  # fmt: skip
    pin: float = mm(12.0, "Fastener", "diameter of a temporary fastener's body")
    foot: str = gone('the guide stands on the wedge now; guide.base = "skin" for a long base')
    edge: str = gone("the edge is as high as the drill allows; see drill.length")
    height: str = gone("the guide is as high as the drill allows; see drill.length")
    chuck: str = gone("the chuck is drill.nose now")
    relief: str = gone("the edge is relieved by itself now; leave the key out")
    layers: str = gone("an edge plate is glued on now; leave the key out")


class Block(Section):
    """Sizes of the drill blocks."""

    bore: float | None = mm_or_drill(
        None, "Bushing body", "outside of the bushing as measured, or the bit's",
        default_said="the one sold for the drill",
    )  # fmt: skip
    inside: float | None = mm_or_drill(None, "Bushing bore", "bore of the bushing")
    length: float | None = mm(None, "Bushing length", "length of the bushing", at_most=100)
    bearing: float | None = mm(
        None, "Bearing", "how much of the bushing's bore touches the bit", at_most=100
    )
    index: str = choice("slot", "Index", "hole of the index pin", "slot", "round")
    press: float = mm(
        -0.05, "Press fit", "what the bushing's hole is wider than the bushing", at_least=-0.5,
        at_most=0.5,
    )  # fmt: skip
    height: None = gone("the block is as high as its bushing now; see block.length")
    dowel: float = mm(
        4.0, "Dowel", "diameter of the pins that align the layers",
        default_said="4 mm; 5/32 in in an inch job",
    )  # fmt: skip
    fit: None = gone("layers hold the bushing all round now; see block.press")

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Refuse a bushing bore no smaller than its body; take the dowels that are sold."""
        inside, body = found["inside"], found["bore"]
        if inside is not None and body is not None and inside >= body:
            remedy = "bore is the bushing's outside diameter"
            table.fault("inside", "is not smaller than bore", remedy, "bore")
        if found["dowel"] is None and table.units == "in":
            found["dowel"] = 5 / 32 * INCH  # who works in inches has no 4 mm dowels


class LighteningHole(Struct, frozen=True, kw_only=True):
    """A round hole that lightens the stock."""

    at: float  # its middle along the stock, mm from the stock's zero end
    diameter: float  # mm
    line: float  # distance of its middle forward of the trailing edge, mm


class Lightening(Section):
    """One lightening hole, or a row of them."""

    at: float | None = mm(None, "Place", "place of one hole along the stock", at_least=0)
    first: float | None = mm(
        None, "First", "place of the first", instead="at", at_least=0,
        default_said="*needed*, or `at`",
    )  # fmt: skip
    pitch: float | None = mm(
        None, "Pitch", "from one to the next", instead="at", default_said="*needed*, or `at`"
    )
    count: int | None = whole(
        None, "Holes", "how many", 1, HOLES_MOST, instead="at", default_said="*needed*, or `at`"
    )
    diameter: float = mm(NEEDED, "Diameter", "diameter of the lightening hole")
    line: float = mm(NEEDED, "Line", "distance of its middle forward of the trailing edge")
    places: tuple[float, ...] = ()

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Lay out the row."""
        if table.has("at"):
            found["at"] = None if found["at"] is None else (found["at"],)
        elif not any(table.has(key) for key in ("first", "pitch", "count")):
            table.require("at", "give at, or first, pitch and count")
            return
        found["places"] = _row_of(table, found, "at", needed=True)
        found["at"] = None


def _read_lightening(table: Table, key: Key) -> tuple[LighteningHole, ...] | None:
    """Read one table for a row of lightening holes, or a list of tables."""
    given = table.raw.get(key.name)
    if given is None:
        return None
    known = tuple(keys_of(Lightening))
    if isinstance(given, dict):
        given = [given]
    elif not isinstance(given, list):
        table.fault(key.name, "must be a table, or a list of tables")
        return None
    if len(given) > HOLES_MOST:
        table.fault(key.name, f"is a list of more than {HOLES_MOST}", "name each hole once")
        return None
    before, holes = len(table.found.faults), []
    for n, item in enumerate(given, start=1):
        alone = isinstance(table.raw[key.name], dict)
        place = table.where(key.name) + ("" if alone else f"[{n}]")
        if not isinstance(item, dict):
            table.found.add(place, "must be a table", item, "write { at, diameter, line }")
        elif row := read_section(Lightening, Table(item, place, table.found, table.units, known)):
            holes += [
                LighteningHole(at=at, diameter=row.diameter, line=row.line) for at in row.places
            ]
        if len(table.found.faults) - before >= FAULTS_A_LIST:
            break
    return tuple(sorted(holes, key=lambda hole: hole.at))


class Stock(Section):
    """Asks for a trim plan: the wedge as it comes, and the part that is cut from it."""

    length: float = mm(NEEDED, "Stock", "length of the wedge as it comes")
    first: float | None = mm(
        None, "First hole", "place of its first rivet hole", instead="positions", at_least=0
    )
    pitch: float | None = mm(None, "Pitch", "from hole to hole", instead="positions")
    count: int | None = whole(
        None, "Holes", "how many rivet holes it has", 1, HOLES_MOST, instead="positions"
    )
    positions: tuple[float, ...] = places(
        "Places", "place of each rivet hole along the stock, rising", NOT_NEGATIVE
    )
    trim: tuple[float, float] = mm(
        NEEDED, "Trim lines", "the two trim lines along the part, counted as [holes] counts",
        shape="pair", unless="part_length", above=None,
    )  # fmt: skip
    part_length: float | None = mm(
        None, "Part", "length of the part from 0, in place of trim", instead="trim"
    )
    end_angles: tuple[float, float] = deg(
        (0.0, 0.0), "End cuts", "of both cuts from square; + where the front lies farther from "
        "the zero end", shape="pair", at_least=-60, at_most=60,
    )  # fmt: skip
    fairing: tuple[float, float] = mm(
        (0.0, 0.0), "Fairing", "how far in from each trim line the end fairing covers",
        shape="one or pair", at_least=0, default_said="0",
    )  # fmt: skip
    turn: bool | None = flag(None, "Turn", "whether it may be turned end for end")
    match: float = mm(
        0.25, "Match", "how far a hole of the stock may lie beside one of the skins", at_most=3
    )
    lightening: tuple[LighteningHole, ...] = own(
        "table, or list of tables", (), "Lightening holes", "the stock's lightening holes",
        _read_lightening, holds=Lightening,
    )  # fmt: skip

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Lay out the row and the trim lines; refuse what lies beyond the stock's ends."""
        found["positions"] = _row_of(table, found, "positions", needed=False)
        trim = found["trim"]
        if table.has("trim") and table.has("part_length"):
            table.fault("part_length", "is given besides trim", "keep one of them", "trim")
        elif table.has("part_length"):
            trim = None if found["part_length"] is None else (0.0, found["part_length"])
        elif trim is not None and trim[1] <= trim[0]:
            table.fault("trim", "must rise", "give the trim line at the zero end first")
        found["trim"] = trim
        whole = found["length"]
        if whole is None or trim is None:
            return
        if trim[1] - trim[0] > whole:
            problem = words("is shorter than the part ({part})", part=Length(trim[1] - trim[0]))
            table.fault("length", problem, "check both lengths and their unit", "trim")
        lightening = tuple(hole.at for hole in found["lightening"] or ())
        for key, given in {"positions": found["positions"], "lightening": lightening}.items():
            if any(not 0.0 <= at <= whole for at in given):
                long = words("puts a hole beyond the stock, which is {long} long",
                             long=Length(whole))  # fmt: skip
                named = key if table.has(key) else "first"
                table.fault(named, long, "count from the stock's zero end", "length")


class Gauge(Section):
    """Asks for taper gauges."""

    tolerance: float = deg(
        0.25, "Tolerance", "how far the thin and the thick gauge lie from nominal", at_most=3
    )
    depth: float | None = mm(
        None, "Depth", "how much of the wedge goes into the V",
        default_said="the wedge's depth less 1 mm",
    )  # fmt: skip
    feeler: float | None = mm(
        None, "Feeler", "blade that the gap is judged with; none for the eye", at_most=2
    )


class Strip(Section):
    """Asks for a hole strip."""

    width: float = mm(44.0, "Width", "of the strip; three tiles lie on an A4 page")
    overlap: float = mm(
        15.0, "Overlap", "of one page with the next, at least", at_least=8, at_most=60
    )
    side: str = choice("a", "Side", "skin that the strip lies on", "a", "b")
    zero: str = choice(
        "", "Zero end", "where the zero end lies, the trailing edge toward you, that side up",
        "left", "right", default_said='`"right"` on side A, `"left"` on side B',
    )  # fmt: skip
    roll: bool = flag(True, "Roll", "also draw it as one long page")


class Cradle(Section):
    """Asks for cradles that hold the wedge under a drill press."""

    holes: int = whole(5, "Holes", "how many holes it serves without being moved", 1, 40)
    build: str = gone("a cradle is built of ribs now; leave the key out")
    stop_at: str = choice(
        "front", "Stop at", "edge of the wedge that meets the stop", "front", "TE"
    )
    support: float = mm(
        250.0, "Support", "distance of the loose seats under the ends", at_most=2000
    )
    height: float = mm(50.0, "Height", "of the seat above the table")
    fence: str = gone("the stop stands at the front now; see cradle.stop_at")
    stop: float = mm(26.0, "Cutter", "diameter of what turns about the countersink", at_most=150)
    fit: float = mm(0.1, "Fit", "what a slot is wider than the sheet in it", at_least=0, at_most=1)
    error: float = deg(0.5, "Level", "how far from level the chord plane may be", at_most=2)


class Sequence(Section):
    """Asks for the sheet of the riveting sequence."""

    first: int = whole(8, "First pass", "how many holes apart the first pass sets rivets", 2, 16)
    side: str = choice(
        "pass", "Sides", "which side they are driven from: by pass, hole, or one", "pass", "hole",
        "a", "b",
    )  # fmt: skip


class Row(Section):
    """Asks for the sheet of a plain row of holes, without wedge or guide, as in ribs and spars."""

    name: str = text(NEEDED, "Name", "name of the row, printed on its sheet", 40)
    first: float = mm(0.0, "First hole", "place of hole 1", at_least=0)
    pitch: float = mm(NEEDED, "Pitch", "distance from hole to hole")
    count: int = whole(NEEDED, "Holes", "how many holes", 1, HOLES_MOST)
    keep_out: frozenset[int] = own(
        "list of hole numbers", frozenset(), "Leave alone", "holes that are not drilled now",
        _read_numbers,
    )  # fmt: skip
    order: str = choice(
        "middle-out", "Order", "which holes come first", "middle-out", "every-other", "ends-in"
    )

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Refuse numbers that no hole of the row has."""
        _check_numbers(table, found["count"])


# ---------------------------------------------------------------- what it is made on


def _read_paper(table: Table, key: Key) -> tuple[tuple[float, float], str] | None:
    given = table.raw.get(key.name)
    if given is None:
        return None
    if isinstance(given, str) and given.strip().lower() in PAPERS:
        name = given.strip().lower()
        return PAPERS[name], name
    if isinstance(given, list):
        sides = table.pair(LENGTH, key.name, key.limits)
        if sides is None:
            return None
        across, along = (say_length(side, table.units).split()[0] for side in sides)
        return sides, f"{across} x {along} {table.units}"
    near = f', the nearest is "{nearest(given, tuple(PAPERS))}"' if isinstance(given, str) else ""
    table.fault(key.name, "is not known", f"write one of {', '.join(PAPERS)}, or [w, h]{near}")
    return None


class Print(Section):
    """Paper, and the correction of a printer that does not print true."""

    paper: tuple[float, float] = own(
        f"{', '.join(f'`{chr(34)}{name}{chr(34)}`' for name in PAPERS)}, or `[w, h]`", PAPERS["a4"],
        "Paper", "sheet in the printer", _read_paper, quantity=LENGTH,
        limits=Limits(at_least=50.0, at_most=5000.0),
        default_said='`"a4"`; `"letter"` in an inch job',
    )  # fmt: skip
    paper_name: str = "a4"
    margin: float = mm(10.0, "Margin", "stays white on each side", at_least=0)
    scale_x: float = number(
        1.0, "Scale across", "what the printer makes of 1 across the page", at_least=0.5, at_most=2
    )
    scale_y: float = number(
        1.0, "Scale up", "what the printer makes of 1 up the page", at_least=0.5, at_most=2
    )
    skew: float = deg(
        0.0, "Skew", "by how much the printer closes the corner between them", at_least=-5,
        at_most=5,
    )  # fmt: skip

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Name the paper; refuse a margin that leaves none of it."""
        usual = "letter" if table.units == "in" else "a4"
        found["paper"], found["paper_name"] = found["paper"] or (PAPERS[usual], usual)
        margin = 10.0 if found["margin"] is None else found["margin"]
        if 2 * margin >= min(found["paper"]):
            blame = "margin" if table.has("margin") else "paper"
            others = ["paper"] if blame == "margin" else []
            table.fault(blame, "leaves no paper to print on", "", *others)


def _read_colour(table: Table, key: Key) -> str | None:
    given = table.raw.get(key.name)
    if isinstance(given, str) and _COLOUR.fullmatch(given):
        return given.lower()
    if table.has(key.name):
        table.fault(key.name, "is not a colour", 'write "#rrggbb", as in "#d02020"')
    return None


def colour(label: str, meaning: str) -> Any:
    """Return a colour; '' for the project's own."""
    said = "the project's own"
    return own('`"#rrggbb"`', "", label, meaning, _read_colour, default_said=said)


class Colours(Section):
    """Colours of the operations in the cut files."""

    CUT: str = colour("Cut lines", "colour of the cut lines")
    SCORE: str = colour("Scored lines", "colour of the scored lines")
    ENGRAVE: str = colour("Engraved", "colour of what is engraved")
    NOTE: str = colour("Notes", "colour of what is not for the machine")

    def stated(self) -> dict[str, str]:
        """Return the colours that the job states, by operation."""
        return {name: getattr(self, name) for name in OPERATIONS if getattr(self, name)}


class Cut(Section):
    """Sheet material and the machine that cuts it."""

    sheet: float = mm(3.0, "Material", "thickness of the material", at_least=0.1, at_most=50)
    kerf: float | None = mm(
        None, "Kerf", "full width of the slot that the machine burns", at_least=0, at_most=5
    )
    bed: tuple[float, float] = mm(
        (600.0, 400.0), "Bed", "width and height of the largest sheet", shape="pair"
    )
    gap: float = mm(3.0, "Gap", "clear distance between two pieces", at_least=0)
    text: str = choice("strokes", "Lettering", "single strokes, or left as text", "strokes", "live")
    line: float = mm(0.1, "Line", "pen width in the files")
    colours: Colours = part(Colours, "Colours", "of the operations in the files", Colours())


# ---------------------------------------------------------------- the whole file


def _read_format(table: Table, key: Key) -> int | None:
    given = table.raw.get(key.name)
    if isinstance(given, int) and not isinstance(given, bool) and given == FORMAT:
        return FORMAT
    if table.has(key.name):
        problem = "is not a format of job file that is known"
        table.fault(key.name, problem, f"write format = {FORMAT}")
    return None


def _read_units(table: Table, key: Key) -> str | None:
    found = table.choice(key.name, key.choices)
    table.units = table.found.units = found or "mm"
    return found


class Job(Section):
    """A whole job file."""

    file: str = ""
    format: int = own(
        f"{FORMAT}", NEEDED, "Format", f"the format of the file, {FORMAT}", _read_format
    )
    name: str = text(NEEDED, "Name", "name of the job, printed on every piece", NAME_MOST)
    units: str = own(
        '`"mm"` or `"in"`', NEEDED, "Units", "what bare numbers count in", _read_units,
        choices=("mm", "in"),
    )  # fmt: skip
    sides: tuple[str, str] = own(
        f"two texts, at most {SIDE_MOST} characters each", SIDES, "Sides",
        "what you call the two skins", lambda table, key: table.two_texts(key.name, key.most),
        most=SIDE_MOST,
    )  # fmt: skip
    wedge: Wedge = part(Wedge, "Wedge", "table [wedge] with at least one [[wedge.station]]", NEEDED)
    skin: Skin | None = part(Skin, "Skins", "thickness of the skins")
    holes: Holes | None = part(Holes, "Holes", "line of rivet holes")
    drill: Drill = part(Drill, "Drill", "drill that is there", Drill())
    rivet: Rivet | None = part(Rivet, "Rivet", "rivet that goes in")
    countersink: Countersink = part(
        Countersink, "Countersink", "how the wedge is countersunk", Countersink()
    )
    allow: Allow = part(Allow, "Allowed", "what is allowed", Allow())
    guide: Guide = part(Guide, "Guides", "sizes of the angle guides", Guide())
    block: Block = part(Block, "Blocks", "sizes of the drill blocks", Block())
    stock: Stock | None = part(Stock, "Stock", "asks for a trim plan and its templates")
    gauge: Gauge | None = part(Gauge, "Gauges", "asks for taper gauges")
    strip: Strip | None = part(Strip, "Strip", "asks for a hole strip")
    cradle: Cradle | None = part(Cradle, "Cradles", "asks for cradles")
    corner: None = gone("the guide takes the bit into a corner now; see [guide]")
    sequence: Sequence | None = part(Sequence, "Sequence", "asks for the riveting sequence")
    rows: tuple[Row, ...] = parts(
        Row, "Plain rows", "asks for the sheet of a plain row", 50, name="row"
    )
    print: Print = part(Print, "Print", "paper and printer", Print())
    cut: Cut = part(Cut, "Cut", "sheet material and machine", Cut())
    stated: frozenset[str] = frozenset()
    """Every key that the user wrote, dotted, e.g. ``cut.sheet``."""

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Ask for the unit where the sizes are beyond all sense."""
        ask_for_unit(found, table)

    @property
    def guide_sheet(self) -> float:
        """Return the thickness of the guide's material, mm."""
        return self.cut.sheet if self.guide.sheet is None else self.guide.sheet

    @property
    def guide_cut(self) -> str:
        """Return how the guide is made: ``hand``, ``printed`` or ``laser``."""
        return self.guide.cut or ("hand" if self.cut.kerf is None else "laser")
