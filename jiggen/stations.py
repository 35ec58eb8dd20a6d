"""From a station as the job states it to the wedge's section there, and what limits it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

from jiggen.errors import Fault, ImpossibleWedge
from jiggen.geometry import measured as forms
from jiggen.geometry.frame import Side
from jiggen.geometry.measured import Measured
from jiggen.geometry.section import Section, measured_from_fit, section_from_outline
from jiggen.geometry.uncertainty import Contribution, contributions, limiting, together
from jiggen.geometry.wedge import Station
from jiggen.job import sections
from jiggen.job.sections import Form, Wedge
from jiggen.units import in_units

SIDES: tuple[Side, Side] = ("a", "b")

REAR_AGREES = 0.02
"""Two statements of the rear thickness agree within this, mm: what a calliper reads twice."""

READING_WORDS = {
    "angle": "the included angle",
    "a": "the reading on {a}",
    "b": "the reading on {b}",
    "chord": "the reading along the chord",
    "front": "the front thickness",
    "rear": "the rear thickness",
    "front_a": "the front offset of {a}",
    "front_b": "the front offset of {b}",
    "rear_a": "the rear offset of {a}",
    "rear_b": "the rear offset of {b}",
    "width": "the width",
    "rate": "the taper rate",
    "z": "the outline's coordinates",
    "bend": "the outline's bend away from a straight face",
}


@dataclass(slots=True)
class Complaints:
    """Gathers what geometry refuses, as faults of the job file."""

    file: str
    units: str = "mm"
    faults: list[Fault] = field(default_factory=list)

    @contextmanager
    def heard(self, place: str = "") -> Iterator[None]:
        """Turn a refusal inside the block into a fault; `place` leads the geometry's own key."""
        try:
            yield
        except ImpossibleWedge as refusal:
            whole = "" if refusal.key.startswith("wedge.") else place
            fault = Fault(
                file=self.file,
                key=".".join(part for part in (whole, refusal.key) if part),
                problem=in_units(refusal.problem, self.units),
                given=in_units(refusal.given, self.units),
                remedy=in_units(refusal.remedy, self.units),
            )
            if fault not in self.faults:  # the sweep is asked about once, not once a station
                self.faults.append(fault)


@dataclass(frozen=True, slots=True, kw_only=True)
class RearConflict:
    """A station whose own rear thickness differs from the one that the job states.

    Attributes:
        station: number of the station, from 1.
        own: the station's own rear thickness, mm.
        stated: ``wedge.rear_thickness``, mm.
        used: the one that was used, mm.
    """

    station: int
    own: float
    stated: float
    used: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One station as read.

    Attributes:
        station: the wedge's section there.
        parts: what each reading adds to the plus-or-minus of the skin angles.
        section: its outline, or None where it was measured otherwise.
        conflict: a rear thickness that contradicts the job's, or None.
    """

    station: Station
    parts: tuple[Contribution, ...]
    section: Section | None
    conflict: RearConflict | None


def read_station(wedge: Wedge, number: int, complaints: Complaints) -> Reading | None:
    """Return what a station's readings say, or None after a complaint.

    Args:
        wedge: the wedge as measured.
        number: which station, from 1.
        complaints: hears what no wedge can be.

    Returns:
        The station square to the trailing edge, with its uncertainty.
    """
    given = wedge.stations[number - 1]
    place = f"wedge.station[{number}]"
    with complaints.heard(f"{place}.{given.form.value}"):
        section = _section(given, wedge.sweep)
        measured = _measured(given, section, wedge.sweep)
        parts: tuple[Contribution, ...] = ()
        with complaints.heard(place):
            parts = _parts(given, measured)
        own = measured.rear_a, measured.rear_b
        if section is not None:
            own = section.height("a", 0.0), section.height("b", 0.0)
        rear, conflict = _rear(number, own, wedge.rear_thickness)
        station = measured.station(given.at, rear=rear, plus_minus=together(parts))
        return Reading(station=station, parts=parts, section=section, conflict=conflict)
    return None


def limit_sentences(sides: tuple[str, str], number: int, read: Reading) -> list[str]:
    """Say for each side of a station how well its angle is known, and what limits it.

    Args:
        sides: what side A and side B are called.
        number: the station, from 1.
        read: what it says.

    Returns:
        A sentence a side; none where no plus-or-minus is known.
    """
    sentences = []
    for side, name in zip(SIDES, sides, strict=True):
        part = limiting(read.parts, side)
        whole = read.station.plus_minus_a if side == "a" else read.station.plus_minus_b
        if part is not None and whole is not None:
            words = READING_WORDS[part.reading].format(a=sides[0], b=sides[1])
            share = math.degrees(part.a if side == "a" else part.b)
            sentences.append(
                f"station {number}, {name}: known to {math.degrees(whole):.3f} deg either way; "
                f"{words} limits it, with {share:.3f} deg"
            )
    return sentences


def worst_limit(sides: tuple[str, str], readings: Sequence[Reading]) -> str:
    """Return the sentence on the station and side that is known least well, or nothing.

    Args:
        sides: what side A and side B are called.
        readings: what each station says.

    Returns:
        One of `limit_sentences`; empty where no plus-or-minus is known.
    """
    worst, sentence = 0.0, ""
    for number, read in enumerate(readings, start=1):
        pair = together(read.parts)
        if pair is not None and max(pair) > worst:
            worst = max(pair)
            sentences = limit_sentences(sides, number, read)
            sentence = sentences[-1] if pair[1] > pair[0] else sentences[0]
    return sentence


def _section(given: sections.Station, sweep: float) -> Section | None:
    if given.outline is None:
        return None
    return section_from_outline(given.outline.points, given.outline.chord, sweep)


def _measured(given: sections.Station, section: Section | None, sweep: float) -> Measured:
    """Return the readings of a station in the section square to the trailing edge."""
    v = given.values
    if section is not None:  # laid square to the edge already
        return measured_from_fit(section.fit(v["from"]))
    match given.form:
        case Form.INCLUDED_ANGLE:
            along_rib = forms.from_included_angle(v["angle"])
        case Form.SKIN_ANGLES:
            along_rib = forms.from_skin_angles(v["a"], v["b"])
        case Form.THICKNESS:
            along_rib = forms.from_thickness(
                v["front"],
                v["rear"],
                v["width"],
                "chord" if given.thickness is None else given.thickness.along,
            )
        case Form.OFFSETS:
            along_rib = forms.from_offsets(
                v["front_a"], v["front_b"], v["rear_a"], v["rear_b"], v["width"]
            )
        case Form.READINGS:
            along_rib = forms.from_readings(v["a"], v["b"], v["chord"])
        case _:
            along_rib = forms.from_taper_rate(v["rate"])
    return forms.square(along_rib, sweep)


def _rear(
    number: int, own: tuple[float | None, float | None], stated: float | None
) -> tuple[tuple[float, float] | None, RearConflict | None]:
    """Choose between a station's own rear heights and the job's rear thickness.

    The job's word wins: it is the thickness at the trailing edge, while a station's rear line is
    often drawn a little forward of it, where the edge is square and free of burr.
    """
    halves = None if stated is None else (stated / 2.0, stated / 2.0)
    if own[0] is None or own[1] is None:
        return halves, None
    if stated is None:
        return (own[0], own[1]), None
    more = (stated - own[0] - own[1]) / 2.0
    used, mine = (own[0] + more, own[1] + more), own[0] + own[1]
    if abs(mine - stated) <= REAR_AGREES:
        return used, None
    return used, RearConflict(station=number, own=mine, stated=stated, used=stated)


def _parts(given: sections.Station, measured: Measured) -> tuple[Contribution, ...]:
    # An outline's bend is known without being stated, and always counts.
    bend = {"bend": 1.0} if given.form is Form.OUTLINE else {}
    return contributions(measured.effects, {**bend, **given.plus_minus})
