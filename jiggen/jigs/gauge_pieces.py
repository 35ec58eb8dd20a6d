"""The taper gauges of a job: for each station a thin, a nominal, a thick one, and their master."""

from __future__ import annotations

import math
from dataclasses import replace

from jiggen.drawing.piece import Piece
from jiggen.errors import DoesNotFit
from jiggen.jigs.gauge import build_gauge, build_master, light_gap
from jiggen.jigs.gauge_lettering import PER, GaugeLabels, GaugeSizes
from jiggen.jigs.stand import is_curved, say_short
from jiggen.job.sections import Gauge
from jiggen.solution import Check, Solution, Status
from jiggen.units import or_less, say_length, size, words

#: mm. A gap that an eye sees against a lamp; common practice, no published source.
SEEN = 0.05
#: mm of the wedge that stays out of the V: the mouth must rule, not the wedge's front corner.
STAYS_OUT = 1.0
#: mm. What is taken where neither the wedge's depth nor the gauge's is known, and the most.
USUAL_DEPTH, MOST_DEPTH = 25.0, 60.0
#: Of the tolerance, what the gauge itself may be off by; common practice, no published source.
OWN_SHARE = 0.5
#: radians. Stations whose wedge differs by less than this share their gauges.
SAME = 1e-6


def gauge_pieces(solution: Solution) -> list[Piece]:
    """Return the taper gauges of a job.

    Args:
        solution: the solved job.

    Returns:
        For each station the thin, the nominal and the thick gauge, and the master where the wedge
        is thick enough for its tongue.

    Raises:
        DoesNotFit: curved skins, or a V that would not take the wedge.
    """
    _refuse_curved(solution)
    asked = solution.job.gauge or Gauge()
    pieces: list[Piece] = []
    for number, (sizes, place) in enumerate(_stations(solution, asked), start=1):
        labels = GaugeLabels(
            job=solution.job.name,
            place=place,
            sides=solution.job.sides,
            light=_light(solution, sizes),
        )
        for role, error in (
            ("thin", -asked.tolerance),
            ("nominal", 0.0),
            ("thick", asked.tolerance),
        ):
            pieces.append(build_gauge(f"gauge-{number}-{role}", sizes, error, labels))
        if sizes.takes_master:
            pieces.append(build_master(f"gauge-{number}-master", sizes, labels))
    own = math.degrees(asked.tolerance) * OWN_SHARE
    return [replace(piece, allowed_angle=own) for piece in pieces]


def gauge_checks(solution: Solution) -> tuple[Check, ...]:
    """Return whether the taper gauge's tolerance shows as light that can be seen.

    Args:
        solution: the solved job.

    Returns:
        One check; none where the faces are curved.
    """
    if _curved(solution):
        return ()
    asked = solution.job.gauge or Gauge()
    least = min(sizes.touching for sizes, _ in _stations(solution, asked))
    shows, seen = light_gap(least, asked.tolerance), asked.feeler or SEEN
    enough = shows >= seen
    needed = say_short(seen / math.tan(asked.tolerance), solution.job.units)
    with_what = "the feeler blade that was stated" if asked.feeler else "what an eye sees"
    status: Status = "ok" if enough else "warn"
    return (
        Check(
            id="taper-gauge",
            name="taper gauge",
            status=status,
            value=shows,
            limit=seen,
            unit="mm",
            why="a wedge that is off by the tolerance shows this much light"
            if enough
            else f"a wedge that is off by the tolerance shows less light than {with_what}: it "
            f"takes a V that touches over {needed}, or a larger gauge.tolerance",
            source="derived: length of the V by the tangent of the tolerance; 0.05 mm seen by eye "
            "is common practice, no published source",
        ),
    )


def _curved(solution: Solution) -> bool:
    return any(is_curved(solution, side) for side in ("a", "b"))


def _refuse_curved(solution: Solution) -> None:
    if _curved(solution):
        raise DoesNotFit(
            "no straight V fits a wedge with curved faces: light would show on a good one",
            key="gauge",
            given="an outline whose faces bend",
            remedy="leave out [gauge], and compare thicknesses by calliper at two stated lines",
        )


def _stations(solution: Solution, asked: Gauge) -> list[tuple[GaugeSizes, str]]:
    """Return the V of each station with words for its place; stations alike share one."""
    faces = solution.wedge.faces_at([station.at for station in solution.stations])
    rows = zip(solution.stations, faces.rear.tolist(), faces.depth.tolist(), strict=True)
    found: list[tuple[GaugeSizes, list[float]]] = []
    for station, rear, measured in rows:
        if not math.isfinite(rear):
            raise DoesNotFit(
                "how far the wedge goes into a V depends on how thick its edge is, and the job "
                "does not say",
                key="wedge.rear_thickness",
                remedy="state the thickness at the trailing edge; 0 for a sharp one",
            )
        sizes = GaugeSizes(
            skin_a=station.skin_a,
            skin_b=station.skin_b,
            rear=rear,
            depth=_depth(solution, asked, measured),
        )
        for other, places in found:
            if _alike(sizes, other):
                places.append(station.at)
                break
        else:
            found.append((sizes, [station.at]))
    return [(sizes, _place(solution, places, len(found))) for sizes, places in found]


def _alike(one: GaugeSizes, other: GaugeSizes) -> bool:
    pairs = (
        (one.skin_a, other.skin_a),
        (one.skin_b, other.skin_b),
        (one.rear or 0.0, other.rear or 0.0),
        (one.depth, other.depth),
    )
    return all(abs(a - b) <= SAME for a, b in pairs)


def _depth(solution: Solution, asked: Gauge, measured: float) -> float:
    """Return how much of the wedge goes into the V, mm."""
    whole = solution.job.wedge.depth
    if whole is None:
        whole = measured if math.isfinite(measured) else None
    if asked.depth is not None:
        if whole is not None and asked.depth > whole:
            raise DoesNotFit(
                words(
                    "the V would be deeper than the wedge, which is {whole} deep: what stands out "
                    "in front of it shows no light",
                    whole=size(whole),
                ),
                key="gauge.depth",
                given=size(asked.depth),
                remedy=words(
                    "{stays_out} or less, or leave the key out",
                    stays_out=or_less(whole - STAYS_OUT),
                ),
            )
        return asked.depth
    if whole is None:
        whole = USUAL_DEPTH + STAYS_OUT
    return min(max(whole - STAYS_OUT, 0.5 * whole), MOST_DEPTH)


def _place(solution: Solution, places: list[float], sets: int) -> str:
    if sets == 1:
        return "whole length of the edge"
    ends = {solution.stations[0].at: "zero end", solution.stations[-1].at: "far end"}
    said = [
        f"at {say_short(at, solution.job.units)}" + (f", {ends[at]}" if at in ends else "")
        for at in places
    ]
    return "for the wedge " + " and ".join(said)


def _light(solution: Solution, sizes: GaugeSizes) -> str:
    gap = light_gap(sizes.touching, math.radians(PER))
    places = 4 if solution.job.units == "in" else 3
    return f"{PER:g}° of taper = {say_length(gap, solution.job.units, places)} of light"
