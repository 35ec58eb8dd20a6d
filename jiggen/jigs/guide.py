r"""Guide: a corner of card or sheet that stands on the solid wedge and shows the drill direction.

It stands on two pads either side of the hole, both on solid wedge: skin that gives cannot turn it.
The back plate's face touches the bit and two lines on it, a bit's width apart, show the way; the
edge plate, glued to that face, turns the lines into a corner that takes the bit; the foot, lapped
in from below square to both, makes it stand, and lies as far from the trailing edge at one end as
at the other. If it were wrong, every hole drilled by it would come out beside the punched hole of
the far skin.

::

       D __________________________ C      v  drill axis
        |        : :               |       |
        |        : : axis lines    |       |
        |  slot  : : (edge plate   |       |____ u  forward, square to the axis
        |   __   : :  from here ->)|       mouth of the hole = (0, 0)
        |__|  |  : :            ___| E
     bench     \\_|  |_arch__   /   clear
               A  nib     |_B|             skin: v = u tan a
           foot here     pad

A bit is brought to the guide, never pressed against it, and never runs while it stands there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from jiggen.drawing.affine import Point
from jiggen.drawing.exploded import Plate, exploded
from jiggen.drawing.face import Face, job_letters
from jiggen.drawing.looks import (
    BAND,
    FINE,
    FINE_WIDE,
    TINT,
    area,
    forward_arrow,
    label,
    line,
)
from jiggen.drawing.page import Picture
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Circle, Dash, Edge, Mark, Path
from jiggen.errors import DoesNotFit
from jiggen.facts.drills import jobber
from jiggen.geometry import drill as bit
from jiggen.geometry import guide as numbers
from jiggen.geometry.guide import GuideSection, cross_width, guide_error, guide_section
from jiggen.geometry.section import Section
from jiggen.jigs.plan import Jig, Plan, Table
from jiggen.jigs.stand import (
    Stand,
    hole_1_left,
    rest_on,
    section_near,
    smallest_pitch,
    stands,
    variant,
)
from jiggen.job.sections import Job
from jiggen.solution import Check, Solution
from jiggen.units import Angle, Length, words

KIND = "guide"

#: mm. Where a job has no holes yet: their line, and the bit.
USUAL_LINE, USUAL_BIT = 10.0, 2.5
#: mm. The arch begins this far beside the bit: a burr has room there. A nib between it and the foot
#: that is narrower than `NIB` would break, and is left out: the foot alone carries then.
BURR, NIB = 0.6, 1.5
#: mm. What a slot is wider than the sheet in it.
FIT = 0.1
#: mm. The hole that the guide hangs by, and the web round it.
HANG, HANG_WEB = 4.0, 4.0
#: mm. A lower guide has no room for it beside name and arrow.
HANG_FROM = 28.0
#: mm. The edge plate is measured across so far from the ends of its edge, and where the two places
#: are that far apart: nearer, a calliper tells nothing about the edge.
EDGE_OFF, EDGE_TELLS = 3.0, 10.0
#: rad. The foot's slot is cut askew where the skin climbs along the span by more.
TILT_SEEN = math.radians(0.1)
#: rad. A long base that lies otherwise than the skin at the hole by more shows the wrong way.
LIES_TRUE = math.radians(0.05)
#: mm. A curved skin may stand so far into the arch.
BULGE_MOST = 0.7
#: mm. How far a long base reaches forward of the hole.
LONG_BASE = 70.0
#: rad. From this skin angle on the foot is laid against a straightedge; a guess by eye, turned by
#: that much, leans the bit as far as a hole bears.
STEEP, BY_EYE = math.radians(15.0), math.radians(1.6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A guide as it stands on its skin.

    Attributes:
        section: its numbers, along the line that its pads lie on.
        bend: how far that line lies off the skin angle at the hole, radians; 0 on a flat skin.
        long: whether its base lies on the skin forward of the solid wedge too.
        pitch: least distance between neighbouring holes, mm, or None.
        wide: width of the foot along the row, mm.
    """

    section: GuideSection
    bend: float
    long: bool
    pitch: float | None
    wide: float

    @property
    def nib(self) -> float:
        """Return the length of the pad between foot and arch, mm; 0 where it would break."""
        s = self.section
        room = -(s.radius + BURR) - s.touch[0]
        return room if room >= NIB else 0.0


def plan_guide(solution: Solution) -> Plan:
    """Return the guides, one for each of the guide set and no twins, with their foot.

    Raises:
        DoesNotFit: no guide that could be trusted; says which way out there is.
    """
    some = stands(solution)
    if not some:
        return Plan(kind=KIND)
    pieces: list[Piece] = []
    feet: dict[tuple[float, ...], list[tuple[Stand, Standing]]] = {}
    checks: list[Check] = []
    standing = [_standing(solution, stand) for stand in some]
    for stand, how in zip(some, standing, strict=True):
        _refuse(solution, how)
        tells = variant(solution, stand, some)
        pieces += [
            replace(
                piece,
                side=stand.side,
                serves=stand.serves,
                allowed_angle=math.degrees(stand.margin),
            )
            for piece in (_back(solution, stand, how, tells), _edge_plate(solution, stand, how))
        ]
        s = how.section
        sizes = (how.wide, s.cross_top - s.touch[1], s.lap, _tilt(solution, stand))
        feet.setdefault(tuple(round(size, 4) for size in sizes), []).append((stand, how))
        checks += _checks(solution, stand, how)
    pieces += [
        replace(
            _foot(solution, *on[0], alone=len(feet) == 1),
            serves=tuple(sorted({number for stand, _ in on for number in stand.serves})),
            allowed_angle=math.degrees(min(stand.margin for stand, _ in on)),
        )
        for on in feet.values()
    ]
    at_work = in_use(solution, standing[0].section, width=64.0, named=False)
    return Plan(
        kind=KIND,
        pieces=tuple(pieces),
        checks=tuple(checks),
        steps=(
            "Stand the pads on the skin over the solid wedge, foot aft of the hole.",
            "Foot as far from the TE at one end as at the other.",
            "Line up with the drill stopped: point in the hole, guide up to the bit.",
            "Paper goes in nowhere, top or bottom? Hold the drill still.",
            "Take the guide away, or back it off 1 mm. Drill. Never run the bit against it.",
        ),
        use=at_work,
        pictures=(
            in_use(solution, standing[0].section, width=64.0),
            filing(),
            _exploded(standing[0]),
        ),
        tables=tuple(_table(solution, s, h) for s, h in zip(some, standing, strict=True)),
        leads_drill=True,
    )


JIG = Jig(kind=KIND, plan=plan_guide, asked_for=lambda solution: True)


# --- how it stands


def _standing(solution: Solution, stand: Stand) -> Standing:
    job, asked = solution.job, solution.job.guide
    guide = stand.guides[0]
    skin = math.pi / 2 - guide.angle
    section = guide_section(
        skin_angle=skin,
        line=_line(job),
        depth=solid_depth(solution),
        drill=job.holes.drill if job.holes else USUAL_BIT,
        room=drill_room(solution),
        sheet=job.guide_sheet,
        margin=asked.margin,
    )
    if asked.base == "skin":
        section = replace(section, forward=LONG_BASE)
    outline = section_near(solution, guide)
    bend = 0.0
    if outline is not None:
        lies = _laid(solution, section, outline, stand, long=asked.base == "skin")
        bend, section = lies - skin, replace(section, skin_angle=lies)
    pitch = smallest_pitch(solution)
    wide = numbers.CROSS_WIDE if pitch is None else cross_width(pitch, asked.pin)
    return Standing(section=section, bend=bend, long=asked.base == "skin", pitch=pitch, wide=wide)


def _line(job: Job) -> float:
    return job.holes.line if job.holes else USUAL_LINE


def solid_depth(solution: Solution) -> float:
    """Return the depth of the solid wedge, mm."""
    if solution.job.wedge.depth is not None:
        return solution.job.wedge.depth
    faces = solution.wedge.faces_at([station.at for station in solution.stations])
    known = faces.depth[np.isfinite(faces.depth)]
    if known.size:
        return float(known.min())
    raise DoesNotFit(
        "jigs stand on the solid wedge, and the job does not say how deep it is",
        key="wedge.depth",
        remedy="state wedge.depth, from the trailing edge to the wedge's front",
    )


def inch_drill(job: Job) -> bool:
    """Return whether the job's drill is of an inch size."""
    name = job.holes.drill_name if job.holes else ""
    return not name.endswith("mm") and (job.units == "in" or "#" in name)


def drill_length(job: Job) -> tuple[float, float, str]:
    """Return length and grip of the job's drill, mm, and where they come from."""
    asked = job.drill
    size = job.holes.drill if job.holes else USUAL_BIT
    found = jobber(size, inch=inch_drill(job))
    if asked.length is not None:
        return asked.length, asked.grip, "the job's own drill"
    if found is None:
        raise DoesNotFit(
            words("no common length is known for a drill of {d}", d=Length(size)),
            key="drill.length",
            remedy="measure the drill over all and state drill.length",
        )
    grip = min(asked.grip, bit.usual_grip(found.overall, found.flutes))
    return (
        found.overall,
        grip,
        "a jobber drill, read" if found.read else "a jobber drill, from memory",
    )


def drill_needs(solution: Solution) -> float:
    """Return how much of the bit goes into the work, mm."""
    job = solution.job
    stacks = [h.grip if h.grip is not None else h.thickness for h in solution.holes if h.drill_now]
    known = [stack for stack in stacks if stack is not None]
    size = job.holes.drill if job.holes else USUAL_BIT
    return bit.needed(max(known, default=10.0), size)


def drill_room(solution: Solution) -> float:
    """Return what may stand on the skin beside the bit, mm."""
    length, grip, _ = drill_length(solution.job)
    return bit.room(length, grip, drill_needs(solution))


def _laid(
    solution: Solution, section: GuideSection, outline: Section, stand: Stand, *, long: bool
) -> float:
    """Lay the base on the outline of a skin, and return the angle that it really lies at.

    The base rests on the aft contact and on the forward pad, each where the skin stands highest
    against it; the two are found turn about.

    Raises:
        DoesNotFit: the skin stands into the arch, or a long base would show another direction.
    """
    side, line = stand.guides[0].side, section.line
    cos = math.cos(section.skin_angle)
    first = section.radius if long else section.forward_pad[0] * cos
    found = rest_on(
        outline,
        side,
        line,
        aft=np.linspace(section.touch[0], min(-(section.radius + BURR), -0.1), 24),
        fore=np.linspace(first, section.forward * cos, 200 if long else 48),
        slope=math.tan(section.skin_angle),
    )
    if found.bulge > BULGE_MOST:
        raise DoesNotFit(
            words("the skin bulges {x} into the arch of a guide", x=Length(found.bulge)),
            key="guide",
            remedy="measure nearer to the trailing edge, or take the block",
        )
    lies = math.atan(found.slope)
    if long and abs(lies - section.skin_angle) > LIES_TRUE:
        raise DoesNotFit(
            words(
                "a long base on this skin would stand {off} off the skin at the hole",
                off=Angle(abs(lies - section.skin_angle)),
            ),
            key="guide.base",
            given='"skin"',
            remedy='guide.base = "solid" stands on the wedge alone',
        )
    return lies


def _refuse(solution: Solution, how: Standing) -> None:
    """Refuse a guide that could not be trusted, with the way out."""
    s, job = how.section, solution.job
    length, grip, _ = drill_length(job)
    needs = drill_needs(solution)
    nose = bit.nose_needs(job.drill.nose, s.slope)
    if drill_room(solution) < nose:
        raise DoesNotFit(
            words(
                "the chuck touches the skin before the drill is through: {room} are left where "
                "{x} are needed",
                room=Length(max(drill_room(solution), 0.0), 1),
                x=Length(nose, 1),
            ),
            key="drill.length",
            given=words("{l}", l=Length(length, 1)),
            remedy="a longer drill, or a collet (drill.grip)",
        )
    for fault in s.faults(how.wide):
        raise _fault(fault, how, job, length, grip, needs)


def _fault(
    fault: str, how: Standing, job: Job, length: float, grip: float, needs: float
) -> DoesNotFit:
    s = how.section
    match fault:
        case "edge":
            return DoesNotFit(
                words(
                    "a drill {l} long shows {s} and {n} of it goes into the work: an edge of {e} "
                    "shows 0.1 mm as {x}",
                    l=Length(length, 1),
                    s=Length(length - grip, 1),
                    n=Length(needs, 1),
                    e=Length(max(s.top, 0.0), 1),
                    x=Angle(math.atan(0.1 / max(s.edge, 1.0))),
                ),
                key="drill.length",
                given=words("{l}", l=Length(length, 1)),
                remedy=words(
                    "{l} or more, a collet, or the block",
                    l=Length(length + numbers.LEAST_TOP - s.top, 1),
                ),
            )
        case "cross plate":
            thin = s.thickest_cross
            return DoesNotFit(
                words("no room for a foot of {t} between the TE and the bit", t=Length(s.sheet)),
                key="guide.sheet",
                given=words("{t}", t=Length(s.sheet)),
                remedy=words("sheet of {x} or thinner", x=Length(math.floor(thin * 10) / 10, 1))
                if thin >= 1.0
                else "the block",
            )
        case "forward foot":
            return DoesNotFit(
                words(
                    "only {x} of solid wedge forward of the hole: no foot there",
                    x=Length(s.forward * math.cos(s.skin_angle) + s.margin, 1),
                ),
                key="wedge.depth",
                remedy="is wedge.depth as it is meant?",
            )
        case "base":
            return DoesNotFit(
                words("the wedge is too narrow to stand on ({b})", b=Length(s.base, 1)),
                key="guide.base",
                remedy='guide.base = "skin" draws the long base and counts its sag',
            )
        case _:
            return DoesNotFit(
                words(
                    "temporary fasteners of {pin} at a pitch of {p} leave {x} for the foot",
                    pin=Length(job.guide.pin, 1),
                    p=Length(how.pitch or 0.0, 1),
                    x=Length(max(how.wide, 0.0), 1),
                ),
                key="guide.pin",
                given=words("{pin}", pin=Length(job.guide.pin, 1)),
                remedy="drill with every other hole pinned, or thinner fasteners",
            )


# --- its plates


def _back(solution: Solution, stand: Stand, how: Standing, tells: str) -> Piece:
    """Return the back plate, which is a whole guide by itself where it is cut from card."""
    job, s = solution.job, how.section
    cos = math.cos(s.skin_angle)
    aft, stands_at = s.cross[0] - FIT, s.touch[0]
    foot_of = s.on_skin(stands_at / cos)
    pad_from = _pad_from(how)
    corners = {
        "A": Point(*(foot_of if how.nib else s.on_skin(pad_from))),
        "B": Point(*s.on_skin(s.forward)),
        "C": Point(s.front, s.top),
        "E": _over(s, numbers.BAR if how.long else numbers.CLEAR),
    }
    arch_from = -(s.radius + BURR) / cos
    under = [foot_of, s.on_skin(arch_from), s.on_skin(arch_from, numbers.ARCH)]
    slot = s.touch[1] + s.lap
    outline = Path.closed(
        [
            *(under if how.nib else [s.on_skin(stands_at / cos, numbers.ARCH)]),
            s.on_skin(pad_from, numbers.ARCH),
            s.on_skin(pad_from),
            corners["B"],
            s.on_skin(s.forward, numbers.BAR if how.long else numbers.CLEAR),
            corners["E"],
            corners["C"],
            (s.back, s.top),
            (s.back, numbers.CLEAR),
            (aft, numbers.CLEAR),
            (aft, slot),
            (stands_at, slot),
        ]
    )
    face = Face(job_letters(job.name), job.units, mirrored=stand.mirrored)
    if s.top >= HANG_FROM:
        face.hole((s.back + HANG_WEB + HANG / 2, s.top - HANG_WEB - HANG / 2), HANG / 2)
    face.cover(Bounds(s.radius, 0.0, s.front, s.top))
    low = s.on_skin(0.0, numbers.ARCH)[1]
    for u in (-s.radius, s.radius):
        face.line((u, low + s.slope * u + 0.01), (u, s.top - 0.01))
    face.angle(
        "forward",
        90.0 - math.degrees(s.skin_angle),
        Edge(corners["A"], corners["B"]),
        Edge(corners["E"], corners["C"]),
    )
    face.over(corners, ("AB", "AE", "AC", "BE", "BC", "EC"))
    return face.piece(
        KIND,
        f"guide-{stand.label}",
        f"GUIDE {stand.label}",
        outline,
        variant=tells,
        number=f"{90.0 - math.degrees(s.skin_angle):.1f}°",
        letters=corners,
        instruction=("BIT HERE", Edge(Point(s.radius, s.top), Point(s.radius, s.edge_foot))),
        name_at=(s.back + HANG_WEB, s.top),
        arrow_at=(aft, numbers.CLEAR),
        least_web=NIB,
        bars=False,
    )


def _edge_plate(solution: Solution, stand: Stand, how: Standing) -> Piece:
    """Return the plate that is glued to the back plate's face; its edge touches the bit."""
    job, s = solution.job, how.section
    cos = math.cos(s.skin_angle)
    corners = {
        "F": Point(s.radius, s.edge_foot),
        "G": Point(s.radius, s.top),
        "C": Point(s.front, s.top),
        "E": _over(s, numbers.BAR if how.long else numbers.CLEAR),
    }
    pad_from = max(_pad_from(how), s.radius / cos + s.relief)
    meets = s.radius / cos + math.sqrt(s.relief**2 - numbers.ARCH**2)
    turn = math.pi / 2 - (s.skin_angle + math.asin(numbers.ARCH / s.relief))
    relief = (*corners["F"], -math.tan(turn / 4))
    outline = Path.closed(
        [
            corners["G"],
            relief,
            s.on_skin(meets, numbers.ARCH),
            s.on_skin(pad_from, numbers.ARCH),
            s.on_skin(pad_from),
            s.on_skin(s.forward),
            s.on_skin(s.forward, numbers.BAR if how.long else numbers.CLEAR),
            corners["E"],
            corners["C"],
        ]
    )
    face = Face(job_letters(job.name), job.units, mirrored=stand.mirrored)
    pad = Edge(Point(*s.on_skin(pad_from)), Point(*s.on_skin(s.forward)))
    face.angle("forward", 90.0 - math.degrees(s.skin_angle), pad, Edge(corners["F"], corners["G"]))
    rows = {"top": s.top - EDGE_OFF, "foot": max(s.edge_foot, corners["E"].y) + EDGE_OFF}
    if rows["top"] - rows["foot"] >= EDGE_TELLS:
        # Glued on with its front flush, it leads the bit as the back plate does if it is parallel.
        front = Edge(corners["E"], corners["C"])
        face.angle("edge to front", 0.0, front, Edge(corners["F"], corners["G"]))
        for name, v in rows.items():
            face.size(name, (s.radius, v), (s.front, v), f"edge to front, at the {name}")
    return face.piece(
        KIND,
        f"guide-{stand.label}-edge",
        f"GUIDE {stand.label}",
        outline,
        variant="edge",
        number=f"{90.0 - math.degrees(s.skin_angle):.1f}°",
        forward=None,
        instruction=("BIT HERE", Edge(corners["G"], corners["F"])),
        name_at=(s.radius, s.top),
        count=s.edge_sheets,
        bars=False,
    )


def _foot(solution: Solution, stand: Stand, how: Standing, *, alone: bool) -> Piece:
    """Return the foot: lapped into the back plate from below, square to it.

    One serves every guide whose foot is the same; where they differ each has its guide's name.
    """
    job, s = solution.job, how.section
    tilt = _tilt(solution, stand)
    high, half = s.cross_top - s.touch[1], how.wide / 2
    if tilt and (s.lap + s.sheet) * abs(math.tan(tilt)) > half / 2:
        raise DoesNotFit(
            words("the skin climbs {t} along the span: no foot stands there", t=Angle(tilt)),
            key="wedge.station",
            remedy="are the stations in the right order?",
        )
    wide = (s.sheet + FIT) / 2 / math.cos(tilt)
    low, top = s.lap * math.tan(tilt), high * math.tan(tilt)
    shift = -low
    corners = {"A": Point(-half, 0.0), "B": Point(half, 0.0)}
    outline = Path.closed(
        [
            corners["A"],
            corners["B"],
            (half, high),
            (shift + top + wide, high),
            (shift + low + wide, s.lap),
            (shift + low - wide, s.lap),
            (shift + top - wide, high),
            (-half, high),
        ]
    )
    base = Edge(corners["A"], corners["B"])
    inside = Edge(Point(shift + low - wide, s.lap), Point(shift + top - wide, high))
    face = Face(job_letters(job.name), job.units, mirrored=stand.mirrored)
    face.angle("foot", 90.0 - math.degrees(tilt), base, inside)
    return face.piece(
        KIND,
        "guide-foot" if alone else f"guide-{stand.label}-foot",
        "GUIDE" if alone else f"GUIDE {stand.label}",
        outline,
        variant="foot",
        forward=None,
        instruction=("THIS FACE FORWARD", base) if tilt else None,
        name_at=(-half, high),
        bars=False,
    )


def _pad_from(how: Standing) -> float:
    """Return where the forward pad begins along the base, mm."""
    s = how.section
    if how.long:
        return s.radius / math.cos(s.skin_angle) + numbers.RELIEF
    return s.forward_pad[0]


def _over(s: GuideSection, off: float) -> Point:
    """Return the foot of the forward end, `off` mm square off the skin."""
    return Point(s.front, s.front * s.slope + off / math.cos(s.skin_angle))


def _tilt(solution: Solution, stand: Stand) -> float:
    """Return how far the skin climbs along the span under a guide, radians; 0 where it is unseen.

    Positive where the foot's slot leans to the right as its lettered face is looked at, side A.
    """
    guide = stand.guides[0]
    served = [
        h.angles
        for h in solution.holes
        if guide.first_hole is not None and guide.first_hole <= h.number <= (guide.last_hole or 0)
    ] or list(solution.stations)
    middle = served[len(served) // 2]
    slope = middle.slope_y_a if guide.side == "a" else middle.slope_y_b
    tilt = math.atan(slope or 0.0) * (-1.0 if hole_1_left(solution.job) else 1.0)
    return tilt if abs(tilt) > TILT_SEEN else 0.0


# --- what it is held to


def _checks(solution: Solution, stand: Stand, how: Standing) -> list[Check]:
    job, s = solution.job, how.section
    made = job.guide_cut
    sag = job.guide.sag if how.long else 0.0
    parts = guide_error(stance=s.stance, edge=s.edge, cut=numbers.CUT[made], sag=sag)
    error = math.sqrt(sum(part**2 for part in parts.values()))
    good = error <= stand.margin
    why = "stand {stand}, touch {touch}, cut by {made} {cut}" + (", sag {sag}" if sag else "")
    if not good:
        why = (
            "the guide may lean {e} as it is cut, the holes bear {x}; file the pads to the taper "
            "gauge, have it cut, or take the block"
        )
    checks = [
        Check(
            id=f"guide-error-{stand.label}",
            name=f"guide {stand.label}, as it is cut",
            status="ok" if good else "fail",
            value=math.degrees(error),
            limit=math.degrees(stand.margin),
            unit="deg",
            why=words(
                why,
                made=made,
                e=Angle(error),
                x=Angle(stand.margin),
                **{name: Angle(part) for name, part in parts.items()},
            ),
            source="derived: root of the sum of squares; grit, gap and cut are common practice, no "
            "published source",
            keys=("guide.cut", "wedge.depth", "allow.drift"),
        )
    ]
    if abs(s.skin_angle) >= STEEP:
        turned = numbers.heading_lean(s.slope, BY_EYE)
        checks.append(
            Check(
                id=f"guide-heading-{stand.label}",
                name=f"guide {stand.label}, laid by eye",
                status="warn",
                value=math.degrees(turned),
                limit=None,
                unit="deg",
                why=words(
                    "1 mm askew over the foot leans the bit along the edge: lay the foot against "
                    "a straightedge along the TE"
                ),
                source="derived: atan(tan a sin k); 1 mm in 36 by eye is common practice",
                keys=(),
            )
        )
    return checks


def _table(solution: Solution, stand: Stand, how: Standing) -> Table:
    job, s = solution.job, how.section
    length, grip, source = drill_length(job)
    units = job.units

    def said(mm: float, places: int = 1) -> str:
        return Length(mm, places).said(units)

    rows = [
        ("forward angle", f"{90.0 - math.degrees(s.skin_angle):.2f}°"),
        ("angle allowed", f"{math.degrees(stand.allowed):.2f}°"),
        ("used by taper", f"{math.degrees(stand.allowed - stand.margin):.2f}°"),
        ("left for you", f"{math.degrees(stand.margin):.2f}°"),
        ("stands on", said(s.stance)),
        ("edge", said(s.edge)),
        ("bit shows", said(length - grip)),
        ("drill over all", f"{said(length)}, {source}"),
    ]
    if not s.stands_alone(_centre(how)):
        rows.append(("by itself", "hold it"))
    return Table(title=f"GUIDE {stand.label}", rows=tuple(rows))


def _centre(how: Standing) -> float:
    """Return u of the guide's centre of gravity: back plate and edge plates, all of one sheet."""
    s = how.section
    plates = [(s.back, s.front, 1), (s.radius, s.front, s.edge_sheets)]
    weights = [(b - a) * (s.top - s.slope * max(0.0, (a + b) / 2)) * n for a, b, n in plates]
    middles = [(a + b) / 2 for a, b, _ in plates]
    return sum(w * m for w, m in zip(weights, middles, strict=True)) / sum(weights)


# --- its pictures


def in_use(solution: Solution, s: GuideSection, width: float, *, named: bool = True) -> Picture:
    """Draw the guide on the wedge, chord plane level, bit and chuck along its edge."""
    job = solution.job
    depth = max(solid_depth(solution), s.line + 8.0)
    cos = math.cos(s.skin_angle)
    other = math.tan(math.pi / 2 - solution.guides[-1].angle)
    rear = 1.2
    top = s.line * s.slope
    floor = -(rear + s.line * other) - top

    def skin(x: float) -> tuple[float, float]:
        return (x - s.line, x * s.slope - top)

    wedge = [
        skin(0.0),
        skin(depth),
        (depth - s.line, floor - (depth - s.line) * other),
        (-s.line, -top - rear),
    ]
    nose, shows = job.drill.nose / 2, s.top + 10.0
    chuck = [
        (-nose * 0.45, shows),
        (nose * 0.45, shows),
        (nose * 0.75, shows + 9.0),
        (nose * 0.75, shows + 20.0),
        (-nose * 0.75, shows + 20.0),
        (-nose * 0.75, shows + 9.0),
    ]
    bar = [
        s.on_skin(s.forward),
        s.on_skin(s.forward, numbers.CLEAR),
        _over(s, numbers.CLEAR),
        (s.front, s.top),
        (s.back, s.top),
        (s.back, numbers.CLEAR),
        (s.cross[0], numbers.CLEAR),
        (s.cross[0], s.touch[1] + 0.5),
        s.on_skin(s.touch[0] / cos, numbers.ARCH),
        s.on_skin(s.forward_pad[0], numbers.ARCH),
        s.on_skin(s.forward_pad[0]),
    ]
    edge = [
        (s.radius, s.top),
        (s.radius, s.edge_foot),
        s.on_skin(s.forward_pad[0], numbers.ARCH),
        s.on_skin(s.forward_pad[0]),
        s.on_skin(s.forward),
        s.on_skin(s.forward, numbers.CLEAR),
        _over(s, numbers.CLEAR),
        (s.front, s.top),
    ]
    foot = [
        (s.cross[0], s.touch[1]),
        (s.cross[1], s.touch[1]),
        (s.cross[1], s.cross_top),
        (s.cross[0], s.cross_top),
    ]
    bit_ = [(-s.radius, shows), (-s.radius, 0.8), (0.0, 0.0), (s.radius, 0.8), (s.radius, shows)]
    level = (skin(depth)[1] + floor - (depth - s.line) * other) / 2
    skins = [
        (skin(0.0), skin(depth + 22.0)),
        (wedge[3], (depth + 22.0 - s.line, floor - (depth + 22.0 - s.line) * other)),
    ]
    marks = [
        area(wedge, 0.0, FINE_WIDE),
        *(line(*ends, width=FINE_WIDE) for ends in skins),
        line((-s.line - 4.0, level), (depth - s.line + 26.0, level), width=FINE, dash=Dash.CHAIN),
        area(bar, 0.0, FINE_WIDE),
        area(edge, 0.0, FINE_WIDE),
        area(foot, 0.0, FINE_WIDE),
        area(bit_, 0.0, FINE_WIDE),
        area(chuck, 0.0, FINE_WIDE),
    ]
    box = Picture.around(marks)
    scale = min(1.0, (width - 16.0) / box.width)
    drawn = [_scaled(mark, scale) for mark in marks]
    arrow = forward_arrow(
        (scale * (depth - s.line) - 22.0, floor * scale - 12.0),
        (scale * (depth - s.line) + 2.0, floor * scale - 12.0),
    )
    drawn += arrow
    if not named:
        return Picture.around(drawn)
    drawn += [
        *label(
            (scale * s.front - 8.0, scale * (s.top + 4.0)),
            "look here",
            (scale * (s.radius + 0.2), scale * s.top * 0.8),
        ),
        *label(
            (scale * s.back - 2.0, scale * (s.top + 9.0)),
            "bit",
            (-scale * s.radius, scale * (s.top + 5.0)),
        ),
    ]
    return Picture.around(drawn)


def _scaled(mark: Mark, scale: float) -> Mark:
    shape = mark.shape
    assert isinstance(shape, Path)
    points = [(e.start.x * scale, e.start.y * scale) for e in shape.edges]
    if shape.is_closed:
        return replace(mark, shape=Path.closed(points))
    last = shape.edges[-1].end
    return replace(mark, shape=Path.open([*points, (last.x * scale, last.y * scale)]))


def filing() -> Picture:
    """Draw the edge under a glass: the line stays, the band is filed away, the tint is sawn off."""
    radius, left, right = 15.0, 1.5, 7.5
    full = math.sqrt(radius**2 - left**2), math.sqrt(radius**2 - right**2)
    rim = Mark(shape=Circle(Point(0.0, 0.0), radius), line=FINE_WIDE)

    def slice_(x0: float, x1: float, fill: float) -> Mark:
        xs = [x0 + (x1 - x0) * k / 12 for k in range(13)]
        ups = [(x, math.sqrt(max(radius**2 - x * x, 0.0))) for x in xs]
        return area([*ups, *((x, -y) for x, y in reversed(ups))], fill)

    marks = [
        slice_(0.0, left, 1.0),
        slice_(left, right, BAND),
        slice_(right, radius - 0.01, TINT),
        rim,
        *label((radius + 4.0, full[0] * 0.5), "file this away", (4.5, full[1] * 0.4)),
        *label((radius + 4.0, -1.2), "line stays", (0.8, 0.0)),
        *label((radius + 4.0, -full[0] * 0.6), "saw here", (10.0, -5.0)),
    ]
    return Picture.around(marks)


def _exploded(how: Standing) -> Picture:
    """Draw back plate, edge plate and foot apart."""
    s = how.section
    cos = math.cos(s.skin_angle)
    back = Path.closed(
        [
            s.on_skin(s.touch[0] / cos, numbers.ARCH),
            s.on_skin(s.forward_pad[0], numbers.ARCH),
            s.on_skin(s.forward_pad[0]),
            s.on_skin(s.forward),
            s.on_skin(s.forward, numbers.CLEAR),
            _over(s, numbers.CLEAR),
            (s.front, s.top),
            (s.back, s.top),
            (s.back, numbers.CLEAR),
            (s.cross[0], numbers.CLEAR),
            (s.cross[0], s.touch[1] + s.lap),
            (s.cross[1], s.touch[1] + s.lap),
        ]
    )
    edge = Path.closed(
        [
            (s.radius, s.top),
            (s.radius, s.edge_foot),
            s.on_skin(s.forward_pad[0], numbers.ARCH),
            s.on_skin(s.forward_pad[0]),
            s.on_skin(s.forward),
            s.on_skin(s.forward, numbers.CLEAR),
            _over(s, numbers.CLEAR),
            (s.front, s.top),
        ]
    )
    high, half = s.cross_top - s.touch[1], how.wide / 2
    foot = Path.closed(
        [
            (-half, 0.0),
            (half, 0.0),
            (half, high),
            (s.sheet / 2, high),
            (s.sheet / 2, s.lap),
            (-s.sheet / 2, s.lap),
            (-s.sheet / 2, high),
            (-half, high),
        ]
    )
    forward, up, along = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)
    drop = s.touch[1] - high - 16.0
    plates = [
        Plate(
            outline=back, origin=(0.0, 0.0, 0.0), right=forward, up=up, thick=-s.sheet, label="back"
        ),
        Plate(
            outline=edge,
            origin=(0.0, -44.0, 0.0),
            right=forward,
            up=up,
            thick=s.sheet,
            label="edge, glued on",
        ),
        Plate(
            outline=foot,
            origin=(s.cross[0], 0.0, drop),
            right=along,
            up=up,
            thick=s.sheet,
            label="foot, from below",
        ),
    ]
    joins = [
        ((s.cross[0], 0.0, drop + high), (s.cross[0], 0.0, s.touch[1] + s.lap)),
        ((s.front, -44.0, s.top), (s.front, 0.0, s.top)),
    ]
    return exploded(plates, joins, width=78.0, height=62.0)
