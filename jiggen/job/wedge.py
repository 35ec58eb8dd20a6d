"""The wedge as it was measured: its stations, and at each one of seven ways to know the angles.

What is declared here is what the file takes, and what a form asks for: which numbers, in which
unit, and what each of them is.

    Wedge ── Station ─┬─ included_angle, skin_angles, taper_rate      one or two numbers
                      ├─ Thickness, Offsets                          between a front and a rear line
                      ├─ Readings                                    of a level
                      └─ Outline                                     from a coordinate file

Faults that need no geometry are found here: a taper that is upside down, a face steeper than
45 deg, a list that does not go forward. What needs the whole wedge is left to `geometry`.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Any

from jiggen.errors import Action
from jiggen.job.fields import LENGTH, NOT_NEGATIVE, Table
from jiggen.job.outline import OutlineError, Points, read_outline_file
from jiggen.job.schema import (
    NEEDED,
    Key,
    Section,
    choice,
    deg,
    flag,
    keys_of,
    mm,
    number,
    own,
    part,
    parts,
    rate,
    read_section,
    text,
)
from jiggen.units import Angle, words

STATIONS_MOST = 500
"""More stations than anyone measures; a longer list is a slip of a program."""

STEEPEST = 45.0
"""Degrees: a face steeper than this to the chord plane is not a trailing edge but a slip."""

_INVERTED = "taper inverted: the faces must come together toward the trailing edge"
_TURN_ROUND = "measure again, or exchange front and rear"


class Form(StrEnum):
    """The ways to know the skin angles; each is a key of a station in the job file."""

    INCLUDED_ANGLE = "included_angle"
    SKIN_ANGLES = "skin_angles"
    THICKNESS = "thickness"
    OFFSETS = "offsets"
    READINGS = "readings"
    TAPER_RATE = "taper_rate"
    OUTLINE = "outline"


REAR_LINED = (Form.THICKNESS, Form.OFFSETS)
"""The forms that are measured from a rear line, which may lie forward of the trailing edge."""


class Thickness(Section):
    """Thickness over both faces at two lines, and how far these lie apart."""

    front: float = mm(NEEDED, "Front", "thickness at the front line")
    rear: float = mm(NEEDED, "Rear", "thickness at the rear line", at_least=0)
    width: float = mm(NEEDED, "Width", "distance between the two lines")
    along: str = choice("chord", "Width along", "which way the width was measured", "chord", "face")

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Refuse a taper that is upside down, or steeper than any edge."""
        front, rear, width = found["front"], found["rear"], found["width"]
        if front is None or rear is None or width is None:
            return
        slope, steep = (front - rear) / (2 * width), math.radians(STEEPEST)
        if slope <= 0:
            both = (table.where("front"), table.where("rear"))
            swap = Action(said="exchange front and rear", exchange=both) if slope < 0 else None
            table.fault(
                "front", f"must be more than rear ({_INVERTED})", _TURN_ROUND, "rear", action=swap
            )
        elif slope > (math.sin(steep) if found["along"] == "face" else math.tan(steep)):
            table.fault(
                "width",
                "is too short: no more than 45 deg a side",
                "measure again",
                "front",
                "rear",
            )


class Offsets(Section):
    """Heights of each face off the chord plane at two lines, `[side A, side B]`."""

    front: tuple[float, float] = mm(
        NEEDED, "Front", "heights of both faces off the chord plane at the front", shape="pair",
        above=None,
    )  # fmt: skip
    rear: tuple[float, float] = mm(
        NEEDED, "Rear", "heights of both faces off the chord plane at the rear", shape="pair",
        above=None,
    )  # fmt: skip
    width: float = mm(NEEDED, "Width", "distance between the two lines, along the chord")

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Refuse faces that cross, or that no trailing edge has."""
        front, rear, width = found["front"], found["rear"], found["width"]
        if front is None or rear is None or width is None:
            return
        if sum(rear) < 0:
            remedy = "measure both from the chord plane"
            table.fault("rear", "adds up to a negative thickness", remedy)
        a, b = (math.atan2(ahead - aft, width) for ahead, aft in zip(front, rear, strict=True))
        _check_faces(table, "", a, b, "front", "rear")


class Readings(Section):
    """A level on both faces and along the chord, in one frame, positive where it rises forward."""

    a: float = deg(NEEDED, "Face A", "level on face A", above=None)
    b: float = deg(NEEDED, "Face B", "level on face B, not turned over", above=None)
    chord: float = deg(NEEDED, "Chord", "level along the chord plane", above=None)

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Refuse readings whose faces no trailing edge has."""
        a, b, chord = found["a"], found["b"], found["chord"]
        if a is not None and b is not None and chord is not None:
            _check_faces(table, "", a - chord, chord - b, "a", "b", "chord")


class Outline(Section):
    """The coordinates of the whole section, from a file."""

    file: str = text(NEEDED, "File", "coordinate file, looked for beside the job file", 200)
    begin: float = number(
        NEEDED, "From", "share of the chord where the wedge begins", below=1, name="from"
    )
    chord: float = mm(NEEDED, "Chord", "length of that chord on the part")
    points: Points = ()

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Read the points; None of them where the file is at fault."""
        if found["file"] is not None and table.found.folder is not None:
            try:
                place = table.found.folder / found["file"]
                found["points"] = read_outline_file(place, table.found.within)
            except OutlineError as error:
                for problem in error.problems:
                    table.fault("file", problem, error.remedy)


def _check_faces(table: Table, key: str, a: float, b: float, *others: str) -> None:
    """Put down a fault if these skin angles (radians) are not those of a trailing edge."""
    both = words("makes skin angles of {a} and {b}", a=Angle(a), b=Angle(b))
    # 45 deg reached by a difference of readings may be out in the last digit.
    if a + b <= 0:
        problem = words("{both} ({inverted})", both=both, inverted=_INVERTED)
        table.fault(key, problem, _TURN_ROUND, *others)
    elif max(abs(a), abs(b)) > math.radians(STEEPEST) + 1e-12:
        problem = words("{both}: no more than 45 deg a side", both=both)
        table.fault(key, problem, "measure again", *others)


class PlusMinus(Section):
    """How well each reading is known, in its own unit; a form has those of its own names."""

    angle: float | None = deg(None, "± angle", "of included_angle", at_least=0)
    a: float | None = deg(None, "± A", "of side A in skin_angles or readings", at_least=0)
    b: float | None = deg(None, "± B", "of side B in skin_angles or readings", at_least=0)
    chord: float | None = deg(None, "± chord", "of the chord in readings", at_least=0)
    front: float | None = mm(None, "± front", "of thickness, or of both offsets", at_least=0)
    rear: float | None = mm(None, "± rear", "of thickness, or of both offsets", at_least=0)
    front_a: float | None = mm(None, "± front A", "of the offset of side A alone", at_least=0)
    front_b: float | None = mm(None, "± front B", "of the offset of side B alone", at_least=0)
    rear_a: float | None = mm(None, "± rear A", "of the offset of side A alone", at_least=0)
    rear_b: float | None = mm(None, "± rear B", "of the offset of side B alone", at_least=0)
    width: float | None = mm(None, "± width", "of the width between the lines", at_least=0)
    rate: float | None = rate(None, "± taper", "of taper_rate", at_least=0)
    z: float | None = mm(None, "± outline", "how well the part follows its coordinates", at_least=0)


MEASURED: dict[Form, tuple[str, ...]] = {
    Form.INCLUDED_ANGLE: ("angle",),
    Form.SKIN_ANGLES: ("a", "b"),
    Form.THICKNESS: ("front", "rear", "width"),
    Form.OFFSETS: ("front_a", "front_b", "rear_a", "rear_b", "width"),
    Form.READINGS: ("a", "b", "chord"),
    Form.TAPER_RATE: ("rate",),
    Form.OUTLINE: ("z",),
}
"""What is measured in each form, by the names of `Station.values` and of `PlusMinus`."""

# For offsets, `front` counts for front_a and front_b unless these are given too.
_BOTH_SIDES = {"front": ("front_a", "front_b"), "rear": ("rear_a", "rear_b")}


class Station(Section):
    """One measured place along the span, known in exactly one of the seven ways."""

    at: float = mm(
        0.0, "Place", "place along the span", above=None,
        default_said="0 where there is one station, else *needed*",
    )  # fmt: skip
    included_angle: float | None = deg(
        None, "Included angle", "between the faces, shared equally", at_most=90
    )
    skin_angles: tuple[float, float] | None = deg(
        None, "Skin angles", "of side A and of side B to the chord plane", shape="pair",
        at_least=-STEEPEST, at_most=STEEPEST,
    )  # fmt: skip
    thickness: Thickness | None = part(Thickness, "Thickness", "over both faces, at two lines")
    offsets: Offsets | None = part(Offsets, "Offsets", "of each face from the chord plane")
    readings: Readings | None = part(Readings, "Level readings", "of a level, on the part")
    taper_rate: float | None = rate(
        None, "Taper", 'thickness gained per length; "3/16 in per ft", "1:8", or a ratio', at_most=2
    )
    outline: Outline | None = part(Outline, "Outline", "of the section, from a file")
    rear_at: float | None = mm(
        None, "Rear line at", "how far the rear line lies forward of the trailing edge; 0 if on it",
        at_least=0, default_said="0, which is asked about",
    )  # fmt: skip
    plus_minus: dict[str, float] = own(
        "one value, or a table", {}, "Plus-minus", "how well the readings are known",
        lambda table, key: None, holds=PlusMinus, default_said="none",
    )  # fmt: skip

    @property
    def form(self) -> Form:
        """Return which way the angles are known."""
        return next(form for form in Form if getattr(self, form) is not None)

    @property
    def values(self) -> dict[str, float]:
        """Return the form's numbers by name, as in `MEASURED`; of an outline its chord and from."""
        given = getattr(self, self.form)
        match given:
            case tuple():
                return {"a": given[0], "b": given[1]}
            case Offsets():
                values = (*given.front, *given.rear, given.width)
                return dict(zip(MEASURED[Form.OFFSETS], values, strict=True))
            case Outline():
                return {"from": given.begin, "chord": given.chord}
            case float():
                return {MEASURED[self.form][0]: given}
        return {name: getattr(given, name) for name in MEASURED[self.form]}

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Refuse none or two ways to know the angles; read how well they are known."""
        forms = [form for form in Form if table.has(form.value)]
        if len(forms) != 1:
            said = f"found {', '.join(forms)}" if forms else "found none"
            remedy = f"give one of {', '.join(form.value for form in Form)}"
            problem = f"needs exactly one way to know the skin angles, {said}"
            table.fault("", problem, remedy, *forms)
            return
        form = forms[0]
        if found["skin_angles"] is not None:
            _check_faces(table, "skin_angles", *found["skin_angles"])
        if found["rear_at"] is not None and form not in REAR_LINED:
            table.fault("rear_at", f"is not used with {form}", "drop it")
        found["plus_minus"] = _plus_minus(table, form)


def _plus_minus(table: Table, form: Form) -> dict[str, float]:
    """Return the uncertainty of each value by name; empty when not stated."""
    names, keys = MEASURED[form], keys_of(PlusMinus)
    if not isinstance(table.raw.get("plus_minus"), dict):
        quantity = keys[names[0]].quantity or LENGTH
        same = table.value(quantity, "plus_minus", NOT_NEGATIVE)
        return {} if same is None else dict.fromkeys(names, same)
    groups = _BOTH_SIDES if form is Form.OFFSETS else {}
    known = (*groups, *names)
    below = table.table("plus_minus", known)
    if below is None or not below.raw:
        table.fault("plus_minus", "is empty", f"give one of {', '.join(known)}")
        return {}
    read: dict[str, float] = {}
    for name in known:
        value = keys[name].read(below, keys[name])
        if value is not None:
            read.update(dict.fromkeys(groups.get(name, (name,)), value))
    return read


def _read_stations(table: Table, key: Key) -> tuple[Station, ...] | None:
    tables = table.tables(key.name, tuple(keys_of(Station)), key.most)
    stations: list[Station | None] = []
    last: float | None = None
    for one in tables:
        if len(tables) > 1:
            one.require("at", "give its place along the span")
        station = read_section(Station, one)
        at = station.at if station is not None and (one.has("at") or len(tables) == 1) else None
        if at is not None and last is not None and at <= last:
            one.fault("at", "does not come after the station before it", "sort them by at")
        last = at if at is not None else last
        stations.append(station)
    found = [station for station in stations if station is not None]
    return tuple(found) if found else None


class Wedge(Section):
    """The wedge as measured, at one station or more."""

    rear_thickness: float | None = mm(
        None, "Rear thickness", "thickness at the trailing edge itself", at_least=0
    )
    measured: str = choice(
        "square", "Measured", "which way to the trailing edge it was measured", "square", "ribs"
    )
    sweep: float = deg(
        0.0, "Sweep", "between a rib and the square to the trailing edge", at_least=-60, at_most=60,
        default_said='none; needed with `"ribs"`',
    )  # fmt: skip
    depth: float | None = mm(None, "Depth", "from the trailing edge to the front of the wedge")
    extend: bool = flag(False, "Extend", "hold the end stations' sections beyond them")
    stations: tuple[Station, ...] = parts(
        Station, "Stations", "at least one [[wedge.station]] with one way to know the skin angles",
        STATIONS_MOST, NEEDED, name="station", read=_read_stations,
    )  # fmt: skip

    @staticmethod
    def settle(found: dict[str, Any], table: Table) -> None:
        """Refuse ribs without their sweep, and a sweep without ribs."""
        if found["measured"] == "ribs":
            table.require("sweep", "give the angle between the ribs and the square to the edge")
        elif table.has("sweep") and (found["measured"] or not table.has("measured")):
            remedy = 'say measured = "ribs" or drop sweep'
            table.fault("sweep", "is not used", remedy, "measured")
