"""From a station as the job states it to the wedge's section there, and what limits it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager

from msgspec import Struct, field
from msgspec.structs import replace

from jiggen.errors import Fault, ImpossibleWedge, faults_of
from jiggen.geometry import measured as forms
from jiggen.geometry.frame import Side
from jiggen.geometry.measured import Measured
from jiggen.geometry.section import Section, measured_from_fit, section_from_outline
from jiggen.geometry.uncertainty import Parts, contributions, limiting, together
from jiggen.geometry.wedge import Station
from jiggen.job import wedge as wedge_section
from jiggen.job.wedge import REAR_LINED, Form, Wedge

SIDES: tuple[Side, Side] = ("a", "b")

REAR_AGREES = 0.02
"""Two statements of the rear thickness agree within this, mm: what a calliper reads twice."""

SHARP = 1e-6
"""An edge is sharp whose thickness lies no further below 0 than this, mm: what adding leaves."""

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


_FORMS: Mapping[Form, Callable[..., Measured]] = {
    Form.INCLUDED_ANGLE: forms.from_included_angle,
    Form.SKIN_ANGLES: forms.from_skin_angles,
    Form.OFFSETS: forms.from_offsets,
    Form.READINGS: forms.from_readings,
    Form.TAPER_RATE: forms.from_taper_rate,
}
"""What turns a form's values, by their names, into slopes."""


class Complaints(Struct):
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
            (fault,) = faults_of(refusal, self.file, self.units)
            whole = "" if refusal.key.startswith("wedge.") else place
            key = ".".join(part for part in (whole, refusal.key) if part)
            fault = replace(fault, key=key)
            if fault not in self.faults:  # the sweep is asked about once, not once a station
                self.faults.append(fault)


class Reading(Struct, frozen=True, kw_only=True):
    """One station as read."""

    station: Station  # the wedge's section there
    parts: Parts  # what each reading adds to the plus-or-minus of the skin angles
    section: Section | None  # its outline, or None where it was measured otherwise
    edge: float | None  # thickness at the trailing edge by the station's own readings, mm
    edge_doubt: float  # plus-or-minus of it by the stated readings, mm
    lined: bool  # whether it was measured from a rear line
    # how far that line is said to lie forward of the edge, mm; None where it is not
    rear_at: float | None


def read_station(wedge: Wedge, number: int, complaints: Complaints) -> Reading | None:
    """Return what the readings of station `number`, from 1, say; None after a complaint.

    The job's rear thickness wins over the station's own: it is measured at the edge itself.
    """
    given = wedge.stations[number - 1]
    place = f"wedge.station[{number}]"
    measured: Measured | None = None
    with complaints.heard(f"{place}.{given.form.value}"):
        section = _section(given, wedge.sweep)
        measured = _along_the_ribs(given) if section is None else _fitted(given, section)
    if measured is None:
        return None
    doubt = _edge_doubt(given, measured)
    with complaints.heard(place):
        if given.rear_at is not None:
            stands_in = wedge.rear_thickness is not None
            within = math.inf if stands_in else max(REAR_AGREES, doubt)
            measured = forms.carried_to_edge(measured, _along_the_chord(given, measured), within)
            doubt = _edge_doubt(given, measured)
    with complaints.heard(f"{place}.{given.form.value}"):
        if section is None:  # an outline is laid square to the edge already
            measured = forms.square(measured, wedge.sweep)
        parts: Parts = {}
        with complaints.heard(place):
            parts = _parts(given, measured)
        own = measured.rear_a, measured.rear_b
        if section is not None:
            own = section.height("a", 0.0), section.height("b", 0.0)
        rear = _rear(own, wedge.rear_thickness)
        return Reading(
            station=measured.station(given.at, rear=rear, plus_minus=together(parts)),
            parts=parts,
            section=section,
            edge=None if own[0] is None or own[1] is None else own[0] + own[1],
            edge_doubt=doubt,
            lined=given.form in REAR_LINED,
            rear_at=given.rear_at,
        )
    return None


def as_typed(given: wedge_section.Station) -> Measured:
    """Return what a station's readings say along the chord, whether a wedge can have them or not.

    Raises:
        ImpossibleWedge: there is nothing to draw.
    """
    section = _section(given, 0.0)
    if section is not None:
        return _fitted(given, section)
    measured = _along_the_ribs(given)
    return forms.carried_to_edge(measured, _along_the_chord(given, measured), math.inf)


def limit_sentences(sides: tuple[str, str], number: int, read: Reading) -> list[str]:
    """Say for each side of a station how well its angle is known, and what limits it."""
    sentences = []
    for side, name in zip(SIDES, sides, strict=True):
        part = limiting(read.parts, side)
        whole = read.station.plus_minus_a if side == "a" else read.station.plus_minus_b
        if part is not None and whole is not None:
            words = READING_WORDS[part[0]].format(a=sides[0], b=sides[1])
            sentences.append(
                f"station {number}, {name}: known to {math.degrees(whole):.3f} deg either way; "
                f"{words} limits it, with {math.degrees(part[1]):.3f} deg"
            )
    return sentences


def worst_limit(sides: tuple[str, str], readings: Sequence[Reading]) -> str:
    """Return the sentence on the station and side that is known least well, or nothing."""
    worst, sentence = 0.0, ""
    for number, read in enumerate(readings, start=1):
        pair = together(read.parts)
        if pair is not None and max(pair) > worst:
            worst = max(pair)
            sentences = limit_sentences(sides, number, read)
            sentence = sentences[-1] if pair[1] > pair[0] else sentences[0]
    return sentence


def _section(given: wedge_section.Station, sweep: float) -> Section | None:
    if given.outline is None:
        return None
    return section_from_outline(given.outline.points, given.outline.chord, sweep)


def _fitted(given: wedge_section.Station, section: Section) -> Measured:
    return measured_from_fit(section.fit(given.values["from"]))


def _along_the_ribs(given: wedge_section.Station) -> Measured:
    """Return the readings of a station as they were taken, along the ribs of a swept edge."""
    if given.thickness is not None:
        return forms.from_thickness(**given.values, along=given.thickness.along)
    return _FORMS[given.form](**given.values)


def _along_the_chord(given: wedge_section.Station, measured: Measured) -> float:
    """Return how far the rear line lies forward of the edge, mm, measured as the width was."""
    rear_at = given.rear_at or 0.0
    if given.thickness is None or given.thickness.along == "chord":
        return rear_at
    return rear_at * math.cos(math.atan(measured.slope_a))


def _edge_doubt(given: wedge_section.Station, measured: Measured) -> float:
    """Return the plus-or-minus of the thickness at the edge, mm, by the readings' own."""
    return math.hypot(
        *(measured.rear_effects.get(name, 0.0) * doubt for name, doubt in given.plus_minus.items())
    )


def _rear(
    own: tuple[float | None, float | None], stated: float | None
) -> tuple[float, float] | None:
    """Choose between a station's own heights at the edge and the job's rear thickness."""
    if own[0] is None or own[1] is None:
        return None if stated is None else (stated / 2.0, stated / 2.0)
    edge = own[0] + own[1]
    if stated is None and -SHARP <= edge < 0.0:  # a sharp edge, out in its last digit
        middle = (own[0] - own[1]) / 2.0
        return middle, -middle
    more = 0.0 if stated is None else (stated - edge) / 2.0
    return own[0] + more, own[1] + more


def _parts(given: wedge_section.Station, measured: Measured) -> Parts:
    # An outline's bend is known without being stated, and always counts.
    bend = {"bend": 1.0} if given.form is Form.OUTLINE else {}
    return contributions(measured.effects, {**bend, **given.plus_minus})
