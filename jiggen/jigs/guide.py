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

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.exploded import Plate, exploded
from jiggen.drawing.face import Face
from jiggen.drawing.looks import BAND, FINE, FINE_WIDE, TINT, Spot, area, label, line
from jiggen.drawing.page import Picture
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Circle, Dash, Edge, Mark, Op, Path
from jiggen.drawing.sketch import Sketch
from jiggen.errors import DoesNotFit
from jiggen.geometry import drill as bit
from jiggen.geometry import guide as numbers
from jiggen.geometry.frame import Side, rise_out
from jiggen.geometry.guide import (
    ARCH,
    CLEAR,
    LOW,
    GuideFault,
    GuideSection,
    cross_width,
    guide_error,
    guide_section,
)
from jiggen.geometry.uncertainty import root_of_squares
from jiggen.jigs.plan import Jig, Plan, Table
from jiggen.jigs.stand import (
    Rest,
    Stand,
    bit_size,
    climb,
    drill_length,
    drill_needs,
    drill_room,
    hole_line,
    rest_on_skin,
    smallest_pitch,
    solid_depth,
    stands,
    variant,
)
from jiggen.job.sections import Job
from jiggen.solution import Check, GuideResult, Solution
from jiggen.units import Angle, Length, or_less, or_more, words

KIND = "guide"

#: mm. What a slot is wider than the sheet in it.
FIT = 0.1
#: mm. The hole that the guide hangs by, and the web round it.
HANG, HANG_WEB = 4.0, 4.0
#: mm. The edge plate is measured across so far from the ends of its edge, and where the two places
#: are that far apart: nearer, a calliper tells nothing about the edge.
EDGE_OFF, EDGE_TELLS = 3.0, 10.0
#: rad. The foot's slot is cut askew where the skin climbs along the span by more.
TILT_SEEN = math.radians(0.1)
#: rad. A long base that lies otherwise than the skin at the hole by more shows the wrong way.
LIES_TRUE = math.radians(0.05)
#: mm. The edge plate's name stands clear of what is said of its edge.
BESIDE_BIT = 6.0
#: mm. A curved skin may stand so far into the arch, and rise so far under the guide's forward end.
BULGE_MOST, RISE_MOST = ARCH - 0.3, CLEAR - 0.5
#: rad. From this skin angle on the foot is laid against a straightedge; a guess by eye, turned by
#: that much, leans the bit as far as a hole bears.
STEEP, BY_EYE = math.radians(15.0), math.radians(1.6)
#: mm. The thinnest sheet that a foot is cut from.
THINNEST = 1.0


class Standing(Struct, frozen=True, kw_only=True):
    """A guide as it stands on its skin.

    Attributes:
        stand: which of the guide set.
        section: its numbers, along the line that its pads lie on.
        margin: what is left at its worst hole for cutting and drilling, radians.
        wide: width of the foot along the row, mm.
        tilts: how far the skin climbs along the span under it, on each side that it serves,
            radians, see `_tilt`.
    """

    stand: Stand
    section: GuideSection
    margin: float
    wide: float
    tilts: tuple[float, ...]

    @property
    def foot_high(self) -> float:
        """Return the height of the foot, mm."""
        return self.section.cross_top - self.section.touch[1]


class Foot(Struct, frozen=True, kw_only=True):
    """A foot: the guide and side that it was drawn for first, and how its slot leans, radians."""

    how: Standing
    side: Side
    tilt: float

    @property
    def sizes(self) -> tuple[float, ...]:
        """Return what makes it another foot than a neighbour's, mm and radians."""
        sizes = (self.how.wide, self.how.foot_high, self.how.section.lap)
        return (*(round(size, 4) for size in sizes), round(self.tilt, 5))


def plan_guide(solution: Solution) -> Plan:
    """Return the guides, one for each of the guide set and no twins, with their foot.

    Raises:
        DoesNotFit: no guide that could be trusted; says which way out there is.
    """
    job = solution.job
    some = [_standing(solution, stand) for stand in stands(solution)]
    if not some:
        return Plan(kind=KIND)
    for how in some:
        _refuse(solution, how)
    all_stands = tuple(how.stand for how in some)
    pieces = [
        how.stand.led(piece, _degrees(how.section), how.margin)
        for how in some
        for piece in (_back(job, how, variant(solution, how.stand, all_stands)), _edge(job, how))
    ]
    feet: dict[tuple[float, ...], list[Foot]] = {}
    for how in some:
        for guide, tilt in zip(how.stand.guides, how.tilts, strict=True):
            foot = Foot(how=how, side=guide.side, tilt=tilt)
            feet.setdefault(foot.sizes, []).append(foot)
    pieces += [_foot(job, shared, alone=len(feet) == 1) for shared in feet.values()]
    at_work = [_at_work(solution, some[0].section, named=named) for named in (False, True)]
    return Plan(
        kind=KIND,
        pieces=tuple(pieces),
        checks=tuple(check for how in some for check in _checks(job, how)),
        slotted=True,
        steps=(
            "Glue the edge to the plate along the forward line. Foot into the slot.",
            "Pads on the skin over the solid wedge, foot aft of the hole.",
            "Foot as far from the TE at one end as at the other.",
            "Line up with the drill stopped: point in the hole, guide up to the bit.",
            "Paper goes in at the bit? Tilt the drill. Guide off; never drill against it.",
        ),
        use=at_work[0],
        pictures=(at_work[1], _apart(some[0]), _filing()),
        tables=tuple(_table(job, how) for how in some),
        leads_drill=True,
    )


JIG = Jig(kind=KIND, plan=plan_guide, asked_for=lambda solution: True)


# --- how it stands


def _standing(solution: Solution, stand: Stand) -> Standing:
    job, asked = solution.job, solution.job.guide
    section = guide_section(
        skin_angle=math.pi / 2 - stand.guides[0].angle,
        line=hole_line(job),
        depth=solid_depth(solution),
        drill=bit_size(job),
        room=drill_room(solution),
        sheet=job.guide_sheet,
        margin=asked.margin,
        long=asked.base == "skin",
    )
    section, spread = _laid(solution, stand, section)
    pitch = smallest_pitch(solution)
    return Standing(
        stand=stand,
        section=section,
        margin=max(stand.margin - spread, 0.0),
        wide=numbers.CROSS_WIDE if pitch is None else cross_width(pitch, asked.pin),
        tilts=tuple(_tilt(solution, guide) for guide in stand.guides),
    )


def _laid(solution: Solution, stand: Stand, s: GuideSection) -> tuple[GuideSection, float]:
    """Lay the base on the outline of a skin, and return it as it lies; a straight skin as it is.

    Returns:
        The section, and how far the guide turns off it at the hole that it fits least, radians.

    Raises:
        DoesNotFit: the skin stands into it, or a long base would show another direction.
    """
    rest = _rest(solution, stand, s)
    if rest is not None and (rest.slope < 0.0) != (s.slope < 0.0):
        # It leans to the other hand of square, and the foot stands on its other corner.
        rest = _rest(solution, stand, replace(s, skin_angle=math.atan(rest.slope)))
    if rest is None:
        return s, 0.0
    for much, most, what in (
        (rest.bulge, BULGE_MOST, "the skin bulges {x} into the arch of a guide"),
        (rest.beyond, RISE_MOST, "the skin rises {x} into a guide, forward of its pad"),
    ):
        if much > most:
            raise DoesNotFit(
                words(what, x=Length(much)),
                key="holes.line",
                remedy="a line of holes where the skin is flatter",
            )
    lies = math.atan(rest.slope)
    if s.long and abs(lies - s.skin_angle) + rest.spread > LIES_TRUE:
        raise DoesNotFit(
            words(
                "a long base on this skin would stand {off} off the skin at the hole",
                off=Angle(abs(lies - s.skin_angle) + rest.spread),
            ),
            key="guide.base",
            given='"skin"',
            remedy='guide.base = "solid" stands on the wedge alone',
        )
    return replace(s, skin_angle=lies), rest.spread


def _rest(solution: Solution, stand: Stand, s: GuideSection) -> Rest | None:
    """Lay foot, nib and forward pad on the outline of a skin; None where the skin is straight."""
    cos, foot = math.cos(s.skin_angle), s.touch[0]
    nib = np.linspace(s.cross[1], s.cross[1] + s.nib, 24) if s.nib else ()
    return rest_on_skin(
        solution,
        stand.guides[0],
        aft=np.array([foot, *nib]),
        fore=np.linspace(s.forward_pad[0] * cos, s.forward * cos, 200 if s.long else 48),
        slope=s.slope,
        out=s.front,
        square=(s.cross[0] - foot, s.cross[1] - foot),
    )


def _tilt(solution: Solution, guide: GuideResult) -> float:
    """Return how far the skin climbs along the span under a guide, radians; 0 where it is unseen.

    Positive where the foot's slot leans to the right as its lettered face is looked at, side A.
    """
    tilt = math.atan(climb(solution, guide))
    return tilt if abs(tilt) > TILT_SEEN else 0.0


# --- what is refused


def _refuse(solution: Solution, how: Standing) -> None:
    """Refuse a guide that could not be trusted, with the way out."""
    s, job = how.section, solution.job
    length, room = drill_length(job)[0], drill_room(solution)
    nose = rise_out(job.drill.nose, s.slope)
    if room < nose:
        raise DoesNotFit(
            words(
                "the chuck touches the skin before the drill is through: {room} are left where "
                "{x} are needed",
                room=Length(max(room, 0.0), 1),
                x=Length(nose, 1),
            ),
            key="drill.length",
            given=Length(length, 1),
            remedy=words(
                "{l} or more, or a collet (drill.grip)",
                l=or_more(max(length + nose - room, _long_enough(length, s))),
            ),
        )
    for fault in s.faults(how.wide):
        raise _fault(fault, solution, how)
    steepest = max(how.tilts, key=abs)
    if (s.lap + s.sheet) * abs(math.tan(steepest)) > how.wide / 4:
        raise DoesNotFit(
            words("the skin climbs {t} along the span: no foot stands there", t=Angle(steepest)),
            key="wedge.station",
            remedy="are the stations in the right order?",
        )


def _long_enough(length: float, s: GuideSection) -> float:
    """Return how long a drill must be, mm, for an edge that shows an error to the eye."""
    return length + math.ceil(s.least_top) - s.top


def _fault(fault: GuideFault, solution: Solution, how: Standing) -> DoesNotFit:
    s, job = how.section, solution.job
    match fault:
        case "edge":
            length, grip, _ = drill_length(job)
            return DoesNotFit(
                words(
                    "a drill {l} long shows {s} and {n} of it goes into the work: an edge of {e} "
                    "shows 0.1 mm as {x}",
                    l=Length(length, 1),
                    s=Length(length - grip, 1),
                    n=Length(drill_needs(solution), 1),
                    e=Length(max(s.top, 0.0), 1),
                    x=Angle(math.atan(0.1 / max(s.edge, 1.0))),
                ),
                key="drill.length",
                given=Length(length, 1),
                remedy=words(
                    "{l} or more, a collet, or the block",
                    l=or_more(_long_enough(length, s)),
                ),
            )
        case "cross plate":
            return DoesNotFit(
                words("no room for a foot of {t} between the TE and the bit", t=Length(s.sheet)),
                key="guide.sheet",
                given=Length(s.sheet),
                remedy=words("sheet of {x} or thinner", x=or_less(s.thickest_cross))
                if s.thickest_cross >= THINNEST
                else "take the block",
            )
        case "forward foot":
            return DoesNotFit(
                words(
                    "only {x} of solid wedge forward of the hole: no foot there",
                    x=Length(solid_depth(solution) - s.line, 1),
                ),
                key="wedge.depth",
                given=Length(solid_depth(solution), 1),
                remedy=words(
                    '{w} or more, if it is; guide.base = "skin" draws the long base and counts '
                    "its sag",
                    w=or_more(s.least_depth),
                ),
            )
        case "base":
            return DoesNotFit(
                words("the wedge is too narrow to stand on ({b})", b=Length(s.base, 1)),
                key="guide.base",
                remedy='guide.base = "skin" draws the long base and counts its sag',
            )
        case "cross width":
            pin = job.guide.pin
            widest = pin - (numbers.CROSS_LEAST - how.wide)
            return DoesNotFit(
                words(
                    "temporary fasteners of {pin} at a pitch of {p} leave {x} for the foot",
                    pin=Length(pin, 1),
                    p=Length(smallest_pitch(solution) or 0.0, 1),
                    x=Length(max(how.wide, 0.0), 1),
                ),
                key="guide.pin",
                given=Length(pin, 1),
                remedy=words("fasteners of {x} or thinner", x=or_less(widest))
                if widest >= bit_size(job)
                else "take the block",
            )


# --- its outlines


def corners(s: GuideSection) -> dict[str, Point]:
    """Return the lettered corners of back plate and edge plate, see the head; mm."""
    over = s.front * s.slope + s.bar / math.cos(s.skin_angle)
    pad, end = s.forward_pad
    return {
        "A": Point(*s.on_skin(s.cross[1] / math.cos(s.skin_angle) if s.nib else pad)),
        "B": Point(*s.on_skin(end)),
        "C": Point(s.front, s.top),
        "E": Point(s.front, over),
        "F": Point(s.radius, s.edge_foot),
        "G": Point(s.radius, s.top),
    }


def back_outline(s: GuideSection) -> Path:
    """Return the back plate, its slot for the foot from below, mm in the axis frame."""
    at, (pad, end), (aft, fore) = corners(s), s.forward_pad, s.cross
    cos = math.cos(s.skin_angle)
    arch = -(s.radius + numbers.BURR) / cos
    slot = s.touch[1] + s.lap
    return Path.closed(
        [
            *((at["A"], s.on_skin(arch)) if s.nib else ()),
            s.on_skin(arch if s.nib else fore / cos, ARCH),
            s.on_skin(pad, ARCH),
            s.on_skin(pad),
            at["B"],
            s.on_skin(end, s.bar),
            at["E"],
            at["C"],
            (s.back, s.top),
            (s.back, s.tail),
            (aft - FIT, s.tail),
            (aft - FIT, slot),
            (fore, slot),
        ]
    )


def edge_outline(s: GuideSection) -> Path:
    """Return the edge plate: the back plate forward of the bit, relieved at the foot of its edge.

    mm in the axis frame; its edge runs from F up to G.
    """
    at, (pad, end) = corners(s), s.forward_pad
    turn = math.pi / 2 - (s.skin_angle + math.asin(ARCH / s.relief))
    meets = s.radius / math.cos(s.skin_angle) + math.sqrt(s.relief**2 - ARCH**2)
    return Path.closed(
        [
            at["G"],
            (*at["F"], -math.tan(turn / 4)),
            s.on_skin(meets, ARCH),
            s.on_skin(pad, ARCH),
            s.on_skin(pad),
            at["B"],
            s.on_skin(end, s.bar),
            at["E"],
            at["C"],
        ]
    )


def foot_outline(foot: Foot) -> tuple[Path, Edge]:
    """Return the foot with its slot from above, and that slot's left wall; mm, its base at y = 0.

    The slot is square in itself and leans: the back plate rides on the whole of its bottom, `lap`
    above the skin along its own plane.
    """
    how, s = foot.how, foot.how.section
    half, sin, cos = how.wide / 2, math.sin(foot.tilt), math.cos(foot.tilt)
    walls = []
    for off in (-(s.sheet + FIT) / 2, (s.sheet + FIT) / 2):
        low = Point(s.lap * sin + off * cos, s.lap * cos - off * sin)
        walls.append(Edge(low, Point(low.x + (how.foot_high - low.y) * sin / cos, how.foot_high)))
    left, right = walls
    outline = Path.closed(
        [
            (-half, 0.0),
            (half, 0.0),
            (half, how.foot_high),
            right.end,
            right.start,
            left.start,
            left.end,
            (-half, how.foot_high),
        ]
    )
    return outline, left


# --- its plates


def _back(job: Job, how: Standing, tells: str) -> Piece:
    """Return the back plate, which is a whole guide by itself where it is cut from card."""
    s, at = how.section, corners(how.section)
    face = Face(job.name, job.units, mirrored=how.stand.mirrored)
    if s.top >= LOW:  # a lower guide has no room for it beside name and arrow
        face.hole((s.back + HANG_WEB + HANG / 2, s.top - HANG_WEB - HANG / 2), HANG / 2)
    face.cover(Bounds(s.radius, 0.0, s.front, s.top))
    arch = s.on_skin(0.0, ARCH)[1]
    for u in (-s.radius, s.radius):
        face.line((u, arch + s.slope * u + 0.01), (u, s.top - 0.01))
    base = Edge(at["A"], at["B"])
    face.angle("forward", _degrees(s), base, Edge(at["E"], at["C"]))
    letters = {name: at[name] for name in "ABCE"}
    face.over(letters, ("AB", "AE", "AC", "BE", "BC", "EC"))
    return face.piece(
        KIND,
        f"guide-{how.stand.label}",
        f"GUIDE {how.stand.label}",
        back_outline(s),
        variant=tells,
        number=_number(s),
        letters=letters,
        instruction=("EDGE HERE", Edge(at["G"], at["F"])),
        name_at=(s.back + HANG_WEB, s.top),
        arrow_at=(s.cross[0] - FIT, s.tail),
        least_web=numbers.LEAST_NIB,
        bars=False,
    )


def _edge(job: Job, how: Standing) -> Piece:
    """Return the plate that is glued to the back plate's face; its edge touches the bit."""
    s, at = how.section, corners(how.section)
    face = Face(job.name, job.units, mirrored=how.stand.mirrored)
    rows = {"top": s.top - EDGE_OFF, "foot": max(s.edge_foot, at["E"].y) + EDGE_OFF}
    if rows["top"] - rows["foot"] >= EDGE_TELLS:
        # Flush in front with the back plate, it leads the bit as that does if it is parallel.
        face.angle("edge to front", 0.0, Edge(at["E"], at["C"]), Edge(at["F"], at["G"]))
        for name, v in rows.items():
            face.size(name, (s.radius, v), (s.front, v), f"edge to front, at the {name}")
    return face.piece(
        KIND,
        f"guide-{how.stand.label}-edge",
        f"GUIDE {how.stand.label}",
        edge_outline(s),
        variant="edge" if s.edge_sheets == 1 else f"edge, cut {s.edge_sheets}",
        number=_number(s),
        forward=None,
        instruction=("BIT HERE", Edge(at["G"], at["F"])),
        name_at=(at["G"].x + BESIDE_BIT, at["G"].y),
        count=s.edge_sheets,
        bars=False,
    )


def _foot(job: Job, some: list[Foot], *, alone: bool) -> Piece:
    """Return the foot: lapped into the back plate from below, square to it.

    One serves every guide whose foot is the same; where they differ each has its guide's name. One
    whose slot leans is turned round for the other side.
    """
    foot, how = some[0], some[0].how
    outline, wall = foot_outline(foot)
    base = outline.edges[0]
    sides = dict(zip("ab", job.sides, strict=True))
    own = len(set(how.tilts)) > 1
    forward = "THIS FACE FORWARD"
    if len({one.side for one in some}) > 1:
        forward = f"{sides[foot.side].upper()}: {forward}"
    face = Face(job.name, job.units, mirrored=foot.side == "b")
    face.angle("foot", 90.0 - math.degrees(foot.tilt), base, wall)
    served = {number for one in some for number in one.how.stand.serves}
    return face.piece(
        KIND,
        "guide-foot" if alone else f"guide-{how.stand.label}-foot{f'-{foot.side}' if own else ''}",
        "GUIDE" if alone else f"GUIDE {how.stand.label}",
        outline,
        variant=f"foot, {sides[foot.side]}" if own else "foot",
        forward=None,
        instruction=(forward, base) if foot.tilt else None,
        name_at=(-how.wide / 2, how.foot_high),
        bars=False,
        side="".join(sorted({one.side for one in some})),
        serves=tuple(sorted(served)),
        allowed_angle=math.degrees(min(one.how.margin for one in some)),
    )


def _degrees(s: GuideSection) -> float:
    return 90.0 - math.degrees(s.skin_angle)


def _number(s: GuideSection) -> str:
    return f"{_degrees(s):.1f}°"


# --- what it is held to


def _checks(job: Job, how: Standing) -> list[Check]:
    s, name, made = how.section, f"guide {how.stand.label}", job.guide_cut
    parts = guide_error(
        stance=s.stance,
        edge=s.edge,
        cut=numbers.CUT[made],
        sag=job.guide.sag if s.long else 0.0,
        climb=max(s.climb(tilt, how.wide) for tilt in how.tilts),
    )
    error = root_of_squares(parts)
    good = error <= how.margin
    why = "stand {stand}, touch {touch}, cut by {made} {cut}"
    why += "".join(f", {part} {{{part}}}" for part in ("sag", "climb") if parts[part])
    if not good:
        why = (
            "the guide may lean {e} as it is cut, the holes bear {x}; file the pads to the taper "
            "gauge, have it cut, or take the block"
        )
    checks = [
        Check(
            id=f"guide-error-{how.stand.label}",
            name=f"{name}, as it is cut",
            status="ok" if good else "fail",
            value=math.degrees(error),
            limit=math.degrees(how.margin),
            unit="deg",
            why=words(
                why,
                made=made,
                e=Angle(error),
                x=Angle(how.margin),
                **{part: Angle(much) for part, much in parts.items()},
            ),
            source="derived: root of the sum of squares; grit, gap and cut are common practice, no "
            "published source",
            keys=("guide.cut", "wedge.depth", "allow.drift"),
            act="" if good else f"Have {name} cut truer, or take the block.",
        )
    ]
    if abs(s.skin_angle) >= STEEP:
        turned = abs(numbers.heading_lean(s.slope, BY_EYE))
        checks.append(
            Check(
                id=f"guide-heading-{how.stand.label}",
                name=f"{name}, laid by eye",
                status="warn",
                value=math.degrees(turned),
                unit="deg",
                why=words(
                    "1 mm askew over the foot leans the bit along the edge by {turned}: lay the "
                    "foot against a straightedge along the TE",
                    turned=Angle(turned),
                ),
                source="derived: atan(tan a sin k); 1 mm in 36 by eye is common practice",
                act="Lay the foot against a straightedge along the TE.",
            )
        )
    return checks


def _table(job: Job, how: Standing) -> Table:
    s, stand = how.section, how.stand
    length, grip, source = drill_length(job)
    bends = bit.bend(s.drill, length - grip)

    def said(mm: float) -> str:
        return Length(mm, 1).said(job.units)

    rows = [
        ("forward angle", f"{_degrees(s):.2f}°"),
        ("angle allowed", f"{math.degrees(stand.allowed):.2f}°"),
        ("used by taper", f"{math.degrees(stand.allowed - how.margin):.2f}°"),
        ("left for you", f"{math.degrees(how.margin):.2f}°"),
        ("stands on", said(s.stance)),
        ("edge", said(s.edge)),
        ("bit shows", said(length - grip)),
        (
            "a newton bends it",
            f"{Length(bends.aside).said(job.units)}, {math.degrees(bends.turned):.2f}°",
        ),
        ("drill over all", f"{said(length)}, {source}"),
    ]
    if not s.stands_alone(_centre(s)):
        rows.append(("by itself", "hold it"))
    return Table(title=f"GUIDE {stand.label}", rows=tuple(rows))


def _centre(s: GuideSection) -> float:
    """Return u of the guide's centre of gravity, mm: back plate and edge plates, of one sheet."""
    plates = [(s.back, s.front, 1), (s.radius, s.front, s.edge_sheets)]
    weights = [(b - a) * (s.top - s.slope * max(0.0, (a + b) / 2)) * n for a, b, n in plates]
    middles = [(a + b) / 2 for a, b, _ in plates]
    return sum(w * m for w, m in zip(weights, middles, strict=True)) / sum(weights)


# --- its pictures

#: mm. What of the bit shows over the guide in a picture, how thick the edge is drawn, how far the
#: skins run on forward of the wedge.
OVER, REAR, RUN_ON = 10.0, 1.2, 22.0
#: mm. How wide the picture of the guide at work is, and room for FORWARD and names round it.
AT_WORK, ARROW_ROOM = 52.0, 14.0


def _at_work(solution: Solution, s: GuideSection, *, named: bool) -> Picture:
    """Draw the guide on the wedge, chord plane level, bit and chuck along its edge."""
    depth = max(solid_depth(solution), s.line + 8.0)
    other = math.tan(math.pi / 2 - solution.guides[-1].angle)
    thick, shows, r = REAR + s.line * (s.slope + other), s.top + OVER, s.radius

    def upper(x: float) -> Spot:
        return x - s.line, (x - s.line) * s.slope

    def lower(x: float) -> Spot:
        return x - s.line, -thick - (x - s.line) * other

    level = (upper(depth)[1] + lower(depth)[1]) / 2
    (aft, _), high = s.cross, s.cross_top
    marks = [
        area([upper(0.0), upper(depth), lower(depth), lower(0.0)], 0.0, FINE_WIDE),
        *(line(face(0.0), face(depth + RUN_ON), width=FINE_WIDE) for face in (upper, lower)),
        line(
            (upper(-4.0)[0], level),
            (upper(depth + RUN_ON + 4.0)[0], level),
            width=FINE,
            dash=Dash.CHAIN,
        ),
        *(
            Mark(shape=path, op=Op.NOTE, line=FINE_WIDE, fill=0.0)
            for path in (back_outline(s), edge_outline(s))
        ),
        area(Bounds(aft, s.touch[1], s.cross[1], high).corners, 0.0, FINE_WIDE),
        area([(-r, shows), (-r, 0.8), (0.0, 0.0), (r, 0.8), (r, shows)], 0.0, FINE_WIDE),
        area(_chuck(solution.job.drill.nose / 2, shows), 0.0, FINE_WIDE),
    ]
    box = Bounds.union(mark.bounds() for mark in marks)
    scale = min(1.0, AT_WORK / box.width)
    small = Affine(a=scale, d=scale)
    sketch = Sketch(box.moved(small).grown(ARROW_ROOM))
    sketch.draw([mark.moved(small) for mark in marks])
    tip = small.point((depth - s.line + 2.0, box.bottom))
    sketch.forward((tip.x, tip.y - 9.5))
    for said, wish, what in (
        ("bit", (r + 14.0, s.top + OVER / 2), (r, s.top + OVER / 2)),
        ("foot", (s.back - 18.0, high - 6.0), (aft, high - 6.0)),
        ("TE", (upper(-16.0)[0], level + 4.0), (upper(0.0)[0], level)),
    ):
        if named:
            sketch.name(small.point(wish), said, small.point(what))
    return Picture.around(sketch.marks)


def _chuck(nose: float, low: float) -> list[Spot]:
    """Return a chuck of that radius, its lower end at that height."""
    rows = ((0.45, 0.0), (0.75, 9.0), (0.75, 20.0))
    right = [(nose * share, low + up) for share, up in rows]
    return [*right, *((-x, y) for x, y in reversed(right))]


def _filing() -> Picture:
    """Draw the edge under a glass: the line stays, the band is filed away, the tint is sawn off."""
    radius, left, right = 15.0, 1.5, 7.5

    def rim(x: float) -> float:
        return math.sqrt(max(radius**2 - x * x, 0.0))

    def slice_(x0: float, x1: float, fill: float) -> Mark:
        xs = [x0 + (x1 - x0) * k / 12 for k in range(13)]
        return area([*((x, rim(x)) for x in xs), *((x, -rim(x)) for x in reversed(xs))], fill)

    marks = [
        slice_(0.0, left, 1.0),
        slice_(left, right, BAND),
        slice_(right, radius - 0.01, TINT),
        Mark(shape=Circle(Point(0.0, 0.0), radius), op=Op.NOTE, line=FINE_WIDE),
        *label((radius + 4.0, rim(left) * 0.5), "file this away", (4.5, rim(left) * 0.4)),
        *label((radius + 4.0, -1.2), "line stays", (0.8, 0.0)),
        *label((radius + 4.0, -rim(left) * 0.6), "saw here", (10.0, -5.0)),
    ]
    return Picture.around(marks)


def _apart(how: Standing) -> Picture:
    """Draw back plate, edge plate and foot apart."""
    foot = Foot(how=how, side=how.stand.guides[0].side, tilt=how.tilts[0])
    s, high = how.section, how.foot_high
    forward, up, along = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)
    out, drop, at = -64.0, s.touch[1] - high - 26.0, s.cross[0]
    plates = [
        Plate(back_outline(s), (0.0, 0.0, 0.0), forward, up, -s.sheet),
        Plate(edge_outline(s), (0.0, out, 0.0), forward, up, s.sheet, "edge"),
        Plate(foot_outline(foot)[0], (at, 0.0, drop), along, up, s.sheet, "foot"),
    ]
    joins = [
        ((at, 0.0, drop + high), (at, 0.0, s.touch[1] + s.lap)),
        ((s.front, out, s.top), (s.front, 0.0, s.top)),
    ]
    return exploded(plates, joins, width=54.0, height=48.0)
