"""The corner guides of a job, one for each of its guide set, and the check of their slots' play."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from jiggen.drawing.piece import Piece
from jiggen.errors import DoesNotFit
from jiggen.geometry.guideset import left_over
from jiggen.jigs.corner_guide import CornerLabels, build_corner_guide
from jiggen.jigs.corner_plates import CornerSizes, Standing
from jiggen.jigs.stand import (
    Stand,
    bit_reach,
    edge_ends,
    hole_1_left,
    is_curved,
    say_short,
    short_sides,
    smallest_pitch,
    stands,
)
from jiggen.jigs.stand_pieces import stand_words
from jiggen.job.sections import Corner
from jiggen.solution import Check, GuideResult, HoleResult, Solution, Status
from jiggen.units import INCH, say_length

#: Radians. A side that leans less along the span is taken as level, and one guide serves both: no
#: file takes off less, and the plates are cut square.
NO_LEAN = math.radians(0.02)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Corner:
    """One corner guide: where it stands, how its skin rises, and what its holes leave it.

    Attributes:
        stand: the guide of the set, with its range of holes.
        rise: of the skin along the span, ratio: the middle of its holes'.
        left: of the error that its holes allow, radians, after what the hole that it fits least
            is off in both planes.
    """

    stand: Stand
    rise: float
    left: float


def corner_pieces(solution: Solution) -> list[Piece]:
    """Return the plates of a job's corner guides, one guide for each of the guide set.

    Args:
        solution: the solved job.

    Raises:
        DoesNotFit: curved skins, no holes, a lean that is not known, or sizes that leave no guide.
    """
    job = solution.job
    _refuse(solution)
    pieces: list[Piece] = []
    for one in _corners(solution):
        stand, sizes = one.stand, _sizes(solution)
        standing = _standing(solution, one)
        play = standing.play()
        wider, places = (0.1, 1) if job.units == "mm" else (0.004 * INCH, 3)
        side_name, holes, _ = stand_words(solution, stand)
        said = (
            f"slot play: the bit may lean {math.degrees(play.both):.2f} deg "
            f"({math.degrees(play.spanwise):.2f} along the span, "
            f"{math.degrees(play.chordwise):.2f} chordwise)",
            f"a slot wider by {say_length(wider, job.units, places)} adds "
            f"{math.degrees(math.atan2(wider, standing.engaged)):.2f} deg"
            + ("" if job.cut.kerf is not None else "; cut.kerf is not stated: a machine adds it"),
            "glue cheek and stop back to back, bases level, scrap sheet through both slots",
            f"set a degree askew on the skin it leans {_askew(standing.slope):.2f} deg: keep the "
            "cross plate along the row of holes",
        )
        plates = build_corner_guide(
            f"corner-{stand.label}",
            math.pi / 2 - stand.guides[0].angle,
            one.rise,
            2 * standing.radius,
            sizes,
            _labels(solution, stand, side_name, holes),
            pitch=smallest_pitch(solution),
            mirrored=stand.mirrored,
            side=stand.side,
            notes=said,
        )
        pieces += (replace(p, allowed_angle=math.degrees(one.left)) for p in plates)
    return pieces


def corner_checks(solution: Solution) -> tuple[Check, ...]:
    """Return a check of the lean that each corner guide's slots permit.

    Args:
        solution: the solved job.

    Returns:
        One check a corner guide; none where the job does not ask for one.

    Source: derived: play by the length that the slot holds, see DEVELOPERS.md, Corner guide.
    """
    job = solution.job
    if job.corner is None or job.holes is None or _curved(solution):
        return ()
    if any(_rise(hole, side) is None for hole in solution.holes for side in ("a", "b")):
        # The plates are refused for it, with the remedy.
        return ()
    checks = []
    for one in _corners(solution):
        standing = _standing(solution, one)
        play = standing.play()
        good, inches = play.both <= one.left, job.units == "in"
        why = (
            f"play of {say_length(standing.sizes.fit, job.units, 3 if inches else 2)} over "
            f"{say_length(standing.engaged, job.units, 2 if inches else 1)} of slot leans the bit "
            f"{math.degrees(play.spanwise):.2f} deg along the span, and plates askew in their "
            f"slots {math.degrees(play.chordwise):.2f} deg chordwise; the holes allow "
            f"{math.degrees(one.stand.allowed):.2f} deg, and this range of holes leaves "
            f"{math.degrees(one.left):.2f} of it"
        )
        status: Status = "ok" if good else "warn"
        if not good:
            why += "; " + _remedy(standing, one.left, job.units)
        if job.cut.kerf is None:
            status = "not checked" if good else "warn"
            why += "; " + _without_kerf(solution, one)
        checks.append(
            Check(
                id=f"slot-play-{one.stand.label}",
                name=f"slot play, corner guide {one.stand.label}",
                status=status,
                value=math.degrees(play.both),
                limit=math.degrees(one.left),
                unit="deg",
                why=why,
                source="derived: atan(play / length held)",
            )
        )
    return tuple(checks)


def _without_kerf(solution: Solution, one: _Corner) -> str:
    """Say what a kerf that is not allowed for makes of the slots' play."""
    units, drawn = solution.job.units, _standing(solution, one)
    wider, places = (0.1, 1) if units == "mm" else (0.004 * INCH, 3)
    sizes = replace(drawn.sizes, fit=drawn.sizes.fit + wider)
    play = Standing(drawn.skin, drawn.rise, 2 * drawn.radius, sizes).play()
    return (
        "that is for slots as drawn: a machine cuts them wider by its kerf, and "
        f"{say_length(wider, units, places)} of it makes {math.degrees(play.both):.2f} deg: state "
        "cut.kerf"
    )


def _remedy(standing: Standing, left: float, units: str) -> str:
    """Say which height or which fit keeps the play's lean within what the holes leave."""
    allowed = math.sqrt(max(left**2 - standing.play().chordwise ** 2, 0.0))
    if allowed <= 0.0:
        return (
            "no slot is tight enough, since the range of holes uses up what they allow: sight the "
            "bit in both planes as well, or use a larger allow.drift"
        )
    sizes = standing.sizes
    places = 0 if units == "mm" else 2
    more = sizes.fit / math.tan(allowed) - standing.engaged
    tighter = math.tan(allowed) * standing.engaged
    return (
        "would do: corner.height = "
        f"{say_length(math.ceil(sizes.height + more), units, places)}, or "
        f"corner.fit = {say_length(math.floor(tighter * 100) / 100, units)} "
        "with slots filed to the sheet"
    )


def _refuse(solution: Solution) -> None:
    if solution.job.holes is None:
        raise DoesNotFit(
            "a corner guide holds the bit, and the job has no holes",
            key="holes",
            remedy="state [holes] with drill, line, first, pitch and count",
        )
    if _curved(solution):
        raise DoesNotFit(
            "a corner guide stands on three straight bases, which rock on a curved skin",
            key="corner",
            remedy="leave out [corner]; the angle guides stand on two feet there",
        )


def _curved(solution: Solution) -> bool:
    return any(is_curved(solution, side) for side in ("a", "b"))


def _corners(solution: Solution) -> list[_Corner]:
    """Return the corner guides; a twin that leans along the span is one for each side."""
    found = []
    for stand in stands(solution):
        parts = [_on_skin(solution, guide) for guide in stand.guides]
        if len(parts) == 1:
            ((rise, left),) = parts
            found.append(_Corner(stand=stand, rise=rise, left=left))
            continue
        if max(abs(math.atan(rise)) for rise, _ in parts) <= NO_LEAN:
            # Cut square it fits both; what that is off at each hole is counted.
            left = min(_on_skin(solution, guide, lean=0.0)[1] for guide in stand.guides)
            found.append(_Corner(stand=stand, rise=0.0, left=left))
            continue
        found += [
            _Corner(
                stand=replace(stand, label=guide.name, side=guide.side, guides=(guide,)),
                rise=rise,
                left=left,
            )
            for guide, (rise, left) in zip(stand.guides, parts, strict=True)
        ]
    return sorted(found, key=lambda one: one.stand.side == "b")


def _on_skin(
    solution: Solution, guide: GuideResult, lean: float | None = None
) -> tuple[float, float]:
    """Return the rise that a guide is cut to, and the least error that its holes leave, radians.

    Args:
        solution: the solved job.
        guide: one of its guides.
        lean: what the guide is cut to, radians; the middle of its holes' where None.
    """
    first, last = guide.first_hole, guide.last_hole
    assert first is not None
    assert last is not None
    served = [h for h in solution.holes if h.drill_now and first <= h.number <= last]
    leans = [_lean(hole, guide) for hole in served]
    middle = (min(leans) + max(leans)) / 2 if lean is None else lean
    allow = solution.job.allow
    left = []
    for hole, own in zip(served, leans, strict=True):
        thick = hole.thickness
        allowed = allow.angle if thick is None else math.atan2(allow.drift, thick)
        off = hole.angles.skin(guide.side) - (math.pi / 2 - guide.angle)
        left.append(left_over(allowed, math.hypot(off, own - middle)))
    # A rise away from hole 1 is one toward the stop's face where the plates stand turned about.
    turned = -1.0 if hole_1_left(solution.job) else 1.0
    return turned * math.tan(middle), min(left)


def _lean(hole: HoleResult, guide: GuideResult) -> float:
    """Return how steeply the skin rises along the span at a hole, radians."""
    rise = _rise(hole, guide.side)
    if rise is None:
        raise DoesNotFit(
            "the cross plate of a corner guide is cut to the lean, which is not known",
            key="wedge.rear_thickness",
            remedy="state the thickness at the trailing edge of every station",
        )
    return math.atan(rise)


def _rise(hole: HoleResult, side: str) -> float | None:
    return hole.angles.slope_y_a if side == "a" else hole.angles.slope_y_b


def _sizes(solution: Solution) -> CornerSizes:
    """Return the sizes of the job's corner guides, mm."""
    asked, guide = solution.job.corner or Corner(), solution.job.guide
    return CornerSizes(
        height=asked.height,
        foot=asked.foot,
        fit=asked.fit,
        stock=solution.job.cut.sheet,
        relief=guide.relief,
        pin=guide.pin,
        chuck=guide.chuck,
    )


def _standing(solution: Solution, one: _Corner) -> Standing:
    holes = solution.job.holes
    assert holes is not None
    skin = math.pi / 2 - one.stand.guides[0].angle
    return Standing(skin, one.rise, holes.drill, _sizes(solution))


def _labels(solution: Solution, stand: Stand, side_name: str, holes: str) -> CornerLabels:
    job = solution.job
    assert job.holes is not None
    right, left = edge_ends(job)
    if stand.side == "ab":
        # On side B the whole guide is turned end for end, so its faces change places.
        a, b = short_sides(job.sides)
        faces = (
            f"on {a}: this face to {right}; on {b}: to {left}",
            f"on {a}: this face to {left}; on {b}: to {right}",
            "this face to the TE, the stop on the side of its arrow",
        )
        ends = ("STOP", "CHEEK")
    else:
        faces = (
            f"this face to {right}",
            f"this face to {left}",
            f"this face to the TE, the stop on the side of {right}",
        )
        ends = (right.removeprefix("the ").upper(), left.removeprefix("the ").upper())
    extra = [f"for drill {job.holes.drill_name}"]
    reach = bit_reach(solution, _sizes(solution).height)
    if reach is not None:
        extra.append(f"{say_short(reach, job.units)} of bit out of the chuck")
    return CornerLabels(
        job=job.name,
        title=f"Corner {stand.label}",
        side=side_name,
        holes=holes,
        faces=faces,
        ends=ends,
        extra=tuple(extra),
    )


def _askew(slope: float) -> float:
    """Return the lean in degrees of a guide that is set a degree askew on a skin of a slope."""
    return math.degrees(math.atan(slope * math.sin(math.radians(1.0))))
