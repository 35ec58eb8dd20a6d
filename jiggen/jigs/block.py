r"""Drill block: a low bar on the solid wedge whose bushing leads the bit; all else only holds it.

Flat layers of sheet lie square to the drill axis, and their round holes hold the bushing all
round. Two ribs, cut to the skin angle, stand at the ends with their tabs in every layer: the foot
beside the bushing, and beyond the index pin the tongue, whose tabs stand out for the clamp. If the
ribs were cut to another angle the whole row would lean by it, and no eye would see it.

::

      plan, forward up                              section at the bushing
      ___________________________________                 | b |
     ||F|           |                |T_|   aft tab    ___| i |___
     |  |           |                |  |              |  | t |  |  layers
     ||F|    (o)    |      (=)       |T_|   fore tab   |__| : |__|
     |__________________________________|               \ |_:_| /   bushing stands out
      foot bushing    index pin  tongue              ____\__:__/____  ribs, cut to the skin
         the hole at work   the hole before             skin : v = u tan a

The bit finds its own place: dropped through the bushing into the punched hole. The pin only keeps
line and heading, in a slot along the row. Turned over before they are glued, the layers make the
block of the other hand, for the other half of the row.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import partial
from itertools import pairwise
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from jiggen.drawing.affine import Point
from jiggen.drawing.exploded import Plate, exploded
from jiggen.drawing.face import Face
from jiggen.drawing.looks import FINE, FINE_WIDE, area, forward_arrow, label, line
from jiggen.drawing.page import Picture
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Circle, Dash, Edge, Mark, Path
from jiggen.errors import DoesNotFit
from jiggen.facts import bushings
from jiggen.facts.drills import jobber, smallest_drill
from jiggen.geometry import block as numbers
from jiggen.geometry.block import BlockSection, block_section
from jiggen.geometry.guide import CUT
from jiggen.jigs.plan import Jig, Plan, Table
from jiggen.jigs.solids import UNDER, block_solids, capsule
from jiggen.jigs.stand import (
    Rest,
    Stand,
    chuck_comes_down,
    climb,
    drill_needs,
    drill_room,
    forward_angle,
    inch_drill,
    needed_holes,
    rest_on_skin,
    smallest_pitch,
    solid_depth,
    stands,
    variant,
)
from jiggen.job.sections import Holes, Job
from jiggen.solution import Check, GuideResult, Solution
from jiggen.units import Angle, Length, or_less, words

KIND = "block"

#: rad. A block that serves both sides bears a lean along the row up to this; it is counted.
LEAN_SEEN = math.radians(0.1)
#: mm. A curved skin may stand so far into the arch of a rib.
BULGE_MOST = 0.3
#: mm. The foot's tabs end so far below the top, which a drill press may stand on.
BELOW_TOP = 0.3
#: mm. A pitch that differs more from the block's takes no pin in the slot.
PIN_FITS = numbers.PLAY / 2.0
#: How often a round index pin is stepped off before a datum hole is due.
DATUM = 10
#: What a job without holes is told.
NO_HOLES = "state [holes]"


class Bushing(Struct, frozen=True, kw_only=True):
    """The bushing that a job is drilled through, mm.

    Attributes:
        name: of its body, e.g. ``13/64 in``.
        body: outside diameter.
        bore: largest bore.
        length: over all.
        bearing: what of it touches the bit.
        clearance: of the smallest drill in the largest bore.
        source: where the sizes come from: ``stated``, ``read`` or ``from memory``.
    """

    name: str
    body: float
    bore: float
    length: float
    bearing: float
    clearance: float
    source: str

    def size(self, units: str) -> str:
        """Return its body as it is called, or as it was measured, in ``mm`` or ``in``."""
        return self.name if self.source != "stated" else Length(self.body).said(units)


class Standing(Struct, frozen=True, kw_only=True):
    """A block as it stands on its skin.

    Attributes:
        stand: which of the guide set.
        bushing: that leads the bit.
        section: its numbers.
        parts: what may make the bit lean in it, each by its name, radians.
        ground: whether the bushing's lower end is ground to the slope.
    """

    stand: Stand
    bushing: Bushing
    section: BlockSection
    parts: dict[str, float]
    ground: bool


def plan_block(solution: Solution) -> Plan:
    """Return a block for each guide of the set.

    Raises:
        DoesNotFit: no block that could be trusted; says which way out there is.
    """
    job = solution.job
    holes = needed_holes(
        job, "a block is made for a drill and a line of holes, and the job has none", NO_HOLES
    )
    bushing = bushing_of(job, holes)
    some = apart(solution, stands(solution))
    if not some:
        return Plan(kind=KIND)
    blocks = [_standing(solution, holes, stand, bushing) for stand in some]
    at_work = in_use(solution, holes, blocks[0].section)
    return Plan(
        kind=KIND,
        pieces=tuple(
            how.stand.led(piece, forward_angle(how.section.slope), how.stand.margin)
            for how in blocks
            for piece in (
                _layer(job, how, variant(solution, how.stand, some)),
                _rib(job, how, tongue=False),
                _rib(job, how, tongue=True),
            )
        ),
        checks=tuple(check for how in blocks for check in _checks(solution, holes, how)),
        slotted=True,
        steps=(
            "Glue the layers on the dowels, lettered up, foot and tongue in their notches.",
            "For the other half of the row glue a second set, lettered down.",
            "Grind the bushing's lower end to the slope. Press it in with a vice, top flush."
            if any(how.ground for how in blocks)
            else "Press the bushing in with a vice, top flush.",
            "Bit through the bushing into the punched hole, pin into a hole beside it.",
            "Press down. Clamp the tongue, a reversed offcut of the wedge below.",
            "Drill. Clamp anew: does the bit still drop in? Then go on.",
        ),
        use=at_work,
        pictures=(
            at_work,
            _exploded(blocks[0].section, job.block.dowel),
            _from_above(job, blocks[0].section),
        ),
        tables=tuple(_table(job, how) for how in blocks),
        leads_drill=True,
        solids=lambda: tuple(
            solid
            for how in blocks
            for solid in block_solids(how.stand, how.section, bushing.size(job.units))
        ),
    )


def _asked_for(solution: Solution) -> bool:
    return any(key.partition(".")[0] == KIND for key in solution.job.stated)


JIG = Jig(kind=KIND, plan=plan_block, asked_for=_asked_for)


# --- the bushing, and how the block stands


def bushing_of(job: Job, holes: Holes) -> Bushing:
    """Return the bushing that a job has, or that is sold for its drill.

    Raises:
        DoesNotFit: none that is known, or one that the bit does not go into.
    """
    asked, drill, inch = job.block, holes.drill, inch_drill(job)
    sold = bushings.body_for(drill, inch=inch)
    limits = bushings.bore_limits(drill, inch=inch)
    if (sold is None and asked.bore is None) or (limits is None and asked.inside is None):
        raise DoesNotFit(
            words("no common bushing is known for a drill of {d}", d=Length(drill)),
            key="block.bore" if sold is None and asked.bore is None else "block.inside",
            remedy="measure the bushing: block.bore outside, block.inside its bore, block.length",
        )
    bore = asked.inside if asked.inside is not None else limits[1] if limits else drill
    clearance = bore - (smallest_drill(drill) or drill)
    if bore < drill:
        raise DoesNotFit(
            words("a bit of {d} does not go into that bushing", d=Length(drill)),
            key="block.inside",
            given=Length(bore),
            remedy="a bushing for this drill, or the drill that it is for",
        )
    body, name, source = asked.bore, "as stated", "stated"
    if body is None:
        assert sold is not None
        body = sum(sold.limits) / 2.0 if sold.limits else sold.nominal
        name, source = sold.name, "read" if sold.bore_read else "from memory"
    if body <= bore + 1.0:
        raise DoesNotFit(
            words(
                "a bushing of {body} has no wall about a bore of {b}",
                body=Length(body),
                b=Length(bore),
            ),
            key="block.bore",
            given=Length(body),
            remedy="block.bore is the bushing's outside diameter",
        )
    usual = bushings.usual_length(sold) if sold else bushings.USUAL_LENGTH
    length = asked.length or usual
    return Bushing(
        name=name,
        body=body,
        bore=bore,
        length=length,
        bearing=min(length, numbers.bearing(length, drill, asked.bearing)),
        clearance=clearance,
        source=source,
    )


def apart(solution: Solution, some: Sequence[Stand]) -> tuple[Stand, ...]:
    """Return the stands, twins made separately where the skin's lean along the row is seen."""
    found: list[Stand] = []
    for stand in some:
        if len(stand.guides) == 1 or _lean(solution, stand) <= LEAN_SEEN:
            found.append(stand)
        else:
            found += [replace(stand, label=g.name, side=g.side, guides=(g,)) for g in stand.guides]
    return tuple(found)


def along(solution: Solution, stand: Stand) -> float:
    """Return the rise of the skin along the row toward the hole before, ratio.

    0 where it is unknown, and for twins, which lean to either hand.
    """
    return 0.0 if len(stand.guides) > 1 else -climb(solution, stand.guides[0])


def _lean(solution: Solution, stand: Stand) -> float:
    return max(abs(math.atan(climb(solution, guide))) for guide in stand.guides)


def _standing(solution: Solution, holes: Holes, stand: Stand, bushing: Bushing) -> Standing:
    job, guide = solution.job, stand.guides[0]
    slope = math.tan(math.pi / 2 - guide.angle)
    gap, ground = numbers.chip_gap(bushing.body, slope, holes.drill)

    def on_skin(slope: float, rest: float, sheet: float = job.cut.sheet) -> BlockSection:
        return block_section(
            slope=slope,
            along=along(solution, stand),
            rest=rest,
            line=holes.line,
            depth=solid_depth(solution),
            margin=job.guide.margin,
            drill=holes.drill,
            body=bushing.body,
            length=bushing.length,
            gap=gap,
            sheet=sheet,
            pitch=smallest_pitch(solution),
            pin=job.guide.pin,
        )

    section = on_skin(slope, 0.0)
    rest = _laid(solution, guide, section)
    if rest is not None:
        # Where the pads stand depends a little on the slope, and that on where they stand.
        section = on_skin(rest.slope, rest.height)
        rest = _laid(solution, guide, section) or rest
        section = replace(section, slope=rest.slope, rest=rest.height)
    for fault in section.faults(room=drill_room(solution), nose=job.drill.nose):
        thinner = (n / 10 for n in range(math.ceil(10 * section.sheet - 1e-9) - 1, 9, -1))
        blocks = ((t, on_skin(section.slope, section.rest, t)) for t in thinner)
        good = (t for t, block in blocks if not block.faults(room=math.inf))
        raise _fault(fault, solution, section, good)
    parts = section.error(
        clearance=bushing.clearance,
        bearing=bushing.bearing,
        cut=CUT[job.guide_cut],
        slack=max(numbers.SLACK, job.block.press),
    )
    lean = _lean(solution, stand)
    if len(stand.guides) > 1 and lean:
        parts["lean"] = lean
    if rest is not None and rest.spread:
        parts["skin"] = rest.spread
    return Standing(stand=stand, bushing=bushing, section=section, parts=parts, ground=ground)


def _laid(solution: Solution, guide: GuideResult, s: BlockSection) -> Rest | None:
    """Lay a rib's pads on the outline of a curved skin; None where the skin is straight."""
    if s.fore <= numbers.PAD or s.aft >= -numbers.PAD:
        return None
    rest = rest_on_skin(
        solution,
        guide,
        aft=np.linspace(s.aft, s.aft + numbers.PAD, 24),
        fore=np.linspace(s.fore - numbers.PAD, s.fore, 24),
        slope=s.slope,
        out=s.fore,
    )
    if rest is not None and rest.bulge > BULGE_MOST:
        raise DoesNotFit(
            words("the skin bulges {x} into the arch of a block's ribs", x=Length(rest.bulge)),
            key="block",
            remedy="measure nearer to the trailing edge, or take the guide",
        )
    return rest


def _fault(
    fault: numbers.BlockFault, solution: Solution, s: BlockSection, sheets: Iterator[float]
) -> DoesNotFit:
    """Return why a block could not be trusted, with the way out, such as one of thinner sheets."""
    match fault:
        case "base":
            return DoesNotFit(
                words(
                    "the wedge is too narrow for a block: {b} to stand on, and a bushing of {body} "
                    "needs {x}",
                    b=Length(max(s.base, 0.0), 1),
                    body=Length(s.body),
                    x=Length(s.body + 2 * numbers.WALL, 1),
                ),
                key="wedge.depth",
                remedy="is wedge.depth as it is meant? else a smaller bushing, or the guide",
            )
        case "stands out":
            out = words(
                "over half of a bushing {l} long would stand out below the layers",
                l=Length(s.length, 1),
            )
            thinner = next(sheets, None)
            if thinner is not None:
                remedy = words("sheet of {t} would do", t=Length(thinner, 1))
                return DoesNotFit(out, key="cut.sheet", given=Length(s.sheet), remedy=remedy)
            return DoesNotFit(
                out,
                key="block.length",
                given=Length(s.length, 1),
                remedy="a longer bushing, or the guide",
            )
        case "pitch":
            pin = Length(solution.job.guide.pin, 1)
            return DoesNotFit(
                words(
                    "fasteners of {pin} at a pitch of {p} leave {x} beside the bushing, and wall "
                    "and foot need {y}",
                    pin=pin,
                    p=Length(s.pitch or 0.0, 1),
                    x=Length(max(s.near, 0.0), 1),
                    y=Length(s.least_near, 1),
                ),
                key="guide.pin",
                given=pin,
                remedy="thinner fasteners, thinner sheet, or the guide",
            )
        case "drill too short":
            high = s.height(solution.job.drill.nose)
            shorter = or_less(max(s.length - (high - drill_room(solution)), 0.0))
            return chuck_comes_down(solution, high, words(", or a bushing of {y}", y=shorter))


# --- its pieces


def _layer(job: Job, how: Standing, tells: str) -> Piece:
    """Return a flat layer: right is toward the hole before, up is forward."""
    s, label = how.section, how.stand.label
    face = Face(job.name, job.units, mirrored=how.stand.mirrored)
    face.hole((0.0, 0.0), (s.body + job.block.press) / 2.0)
    for dowel in _dowels(s, job.block.dowel):
        face.hole(dowel, job.block.dowel / 2.0)
    if s.slot is not None and s.pitch is not None:
        if job.block.index == "round":
            face.hole((s.pitch, 0.0), s.drill / 2.0)
        else:
            face.slot(capsule(s.slot, s.drill / 2.0))
        face.size("pitch", (0.0, 0.0), (s.pitch, 0.0), "middle of bushing hole to that of index")
    face.size("length", (-s.near, s.back), (s.far, s.back), "along the aft edge")
    face.size("width", (0.0, s.back), (0.0, s.front), "fore and aft, at the bushing hole")
    return face.piece(
        KIND,
        f"block-{label}-layer",
        f"BLOCK {label}",
        _around(s),
        variant=_cut(tells or "layer", s.count),
        number=f"{forward_angle(s.slope):.1f}°",
        forward=(0.0, 1.0),
        name_at=(s.foot[1], -s.body / 2.0),
        arrow_at=(s.tongue[0], s.back),
        count=s.count,
        bars=False,
    )


def _rib(job: Job, how: Standing, *, tongue: bool) -> Piece:
    """Return foot or tongue, seen along the row with forward to the right."""
    s, label = how.section, how.stand.label
    what, count = ("tongue", s.tongue_sheets) if tongue else ("foot", s.foot_sheets)
    outline, corners = _outline_of_rib(s, tongue=tongue)
    face = Face(job.name, job.units, mirrored=how.stand.mirrored)
    base, seat = Edge(corners["A"], corners["B"]), Edge(corners["D"], corners["C"])
    face.angle("seat", math.degrees(math.atan(abs(s.slope))), base, seat)
    face.over(corners, ("AB", "AD", "BC", "AC", "BD", "CD"))
    return face.piece(
        KIND,
        f"block-{label}-{what}",
        f"BLOCK {label}",
        outline,
        variant=_cut(what, count),
        forward=None,
        letters=corners,
        least_web=numbers.NECK,
        count=count,
        bars=False,
    )


def _outline_of_rib(s: BlockSection, *, tongue: bool) -> tuple[Path, dict[str, Point]]:
    """Return the outline of foot or tongue, and its lettered corners."""
    lift = s.lift(s.tongue if tongue else s.foot)
    (aft, aft_end), (fore, fore_end) = s.tabs

    def base(u: float, off: float = 0.0) -> Point:
        return Point(u, s.base_at(u, lift) + off * math.hypot(1.0, s.slope))

    def tip(u: float) -> Point:
        return Point(u, s.land_at(u) if tongue else s.top - BELOW_TOP)

    corners = {
        "A": base(s.aft),
        "B": base(s.fore),
        "C": Point(s.fore, s.low),
        "D": Point(s.heel, s.low),
    }
    around = [
        corners["A"],
        base(s.aft + numbers.PAD),
        base(s.aft + numbers.PAD, numbers.ARCH),
        base(s.fore - numbers.PAD, numbers.ARCH),
        base(s.fore - numbers.PAD),
        corners["B"],
        corners["C"],
        (fore_end, s.low),
        tip(fore_end),
        tip(fore),
        (fore, s.low),
        (aft_end, s.low),
        tip(aft_end),
        tip(aft),
        (aft, s.low),
        corners["D"],
        (s.heel, s.heel_at(lift)),
        (s.aft, s.heel_at(lift)),
    ]
    return _closed(around), corners


def _around(s: BlockSection) -> Path:
    """Return the outline of a layer, with the notches of foot and tongue at its ends."""
    (aft, aft_end), (fore, fore_end) = s.tabs
    foot, tongue = s.foot[1], s.tongue[0]
    return _closed(
        [
            (-s.near, s.back),
            (s.far, s.back),
            (s.far, aft),
            (tongue, aft),
            (tongue, aft_end),
            (s.far, aft_end),
            (s.far, fore),
            (tongue, fore),
            (tongue, fore_end),
            (s.far, fore_end),
            (s.far, s.front),
            (-s.near, s.front),
            (-s.near, fore_end),
            (foot, fore_end),
            (foot, fore),
            (-s.near, fore),
            (-s.near, aft_end),
            (foot, aft_end),
            (foot, aft),
            (-s.near, aft),
        ]
    )


def _closed(corners: Sequence[tuple[float, float]]) -> Path:
    """Return a closed outline without the corners that fall on one another."""
    kept = [p for n, p in enumerate(corners) if math.dist(p, corners[n - 1]) > 1e-6]
    return Path.closed(kept)


def _dowels(s: BlockSection, size: float) -> tuple[tuple[float, float], ...]:
    """Return where the two dowels stand: in opposite corners if they can, clear of all holes.

    Raises:
        DoesNotFit: no room for them.
    """
    off = numbers.WEB + size / 2.0
    left, right = s.foot[1] + off, s.tongue[0] - off
    rows = (s.front - off, s.back + off)
    found: list[tuple[float, float]] = []
    for corner, inward, order in ((left, 1.0, rows), (right, -1.0, rows[::-1])):
        for step in range(math.floor(max(right - left, 0.0))):
            spots = [(corner + inward * step, u) for u in order]
            good = [at for at in spots if _off_holes(s, at) >= off]
            good = [at for at in good if all(math.dist(at, other) >= off * 2 for other in found)]
            if good:
                found.append(good[0])
                break
    if len(found) < 2:
        raise DoesNotFit(
            words("no room for two dowels of {d} in the layers", d=Length(size)),
            key="block.dowel",
            given=Length(size),
            remedy="thinner dowels, or the guide",
        )
    return tuple(found)


def _off_holes(s: BlockSection, at: tuple[float, float]) -> float:
    """Return how far a point of a layer lies off bushing and index, mm."""
    off = math.hypot(*at) - s.body / 2.0
    if s.slot is None:
        return off
    reach = s.slot[0] + s.drill / 2.0, s.slot[1] - s.drill / 2.0
    nearest = min(max(at[0], reach[0]), reach[1])
    return min(off, math.hypot(at[0] - nearest, at[1]) - s.drill / 2.0)


def _cut(what: str, count: int) -> str:
    return what if count == 1 else f"{what}, cut {count}"


# --- what it is held to


def _checks(solution: Solution, holes: Holes, how: Standing) -> list[Check]:
    job, stand, bushing = solution.job, how.stand, how.bushing
    tilt, error = how.parts["clearance"], math.hypot(*how.parts.values())
    play = "{c} of play over the {b} that touch the bit"
    why = "bit in bushing {clearance}, bushing set in {set_in}, stand {stand}, cut by {made} {cut}"
    why += "".join(f", {part} {{{part}}}" for part in ("lean", "skin") if part in how.parts)
    if tilt > stand.margin:
        play += ": a closer bore, or a longer bearing"
    if error > stand.margin:
        why = (
            "the block may lean {e} as it is made, the holes bear {x}: file the feet to the line, "
            "take a longer bushing or a closer bore, or have it cut"
        )

    def angle(slug: str, name: str, value: float, **more: Any) -> Check:
        good = value <= stand.margin
        more |= {"value": math.degrees(value), "limit": math.degrees(stand.margin), "unit": "deg"}
        more["act"] = f"Do not use block {stand.label}: it leans too far."
        return _check(stand, slug, name, status="ok" if good else "fail", **more)

    parts = {name.replace(" ", "_"): Angle(part) for name, part in how.parts.items()}
    return [
        angle(
            "tilt",
            "bit in its bushing",
            tilt,
            why=words(play, c=Length(bushing.clearance, 3), b=Length(bushing.bearing, 1)),
            source=f"derived: play over bearing; {bushings.BORE_SOURCE}",
            keys=("block.inside", "block.bearing"),
        ),
        angle(
            "error",
            "as it is made",
            error,
            why=words(why, made=job.guide_cut, e=Angle(error), x=Angle(stand.margin), **parts),
            source="derived: root of the sum of squares; slack, grit and cut are common practice, "
            "no published source",
            keys=("guide.cut", "block.press", "wedge.depth", "allow.drift"),
        ),
        *_of_the_row(solution, holes, how),
    ]


def _check(stand: Stand, slug: str, name: str, **more: Any) -> Check:
    return Check(id=f"block-{slug}-{stand.label}", name=f"block {stand.label}, {name}", **more)


def _of_the_row(solution: Solution, holes: Holes, how: Standing) -> Iterator[Check]:
    """Yield what flutes, index pin and fasteners have to say."""
    job, s = solution.job, how.section
    warn = partial(_check, how.stand, status="warn", unit="mm")
    found, needs = jobber(holes.drill, inch=inch_drill(job)), s.top + drill_needs(solution)
    if found is not None and job.drill.length is None and found.flutes < needs:
        yield warn(
            "flutes",
            "flutes",
            why=words(
                "flutes of {f} end inside the bushing at full depth, {x} are needed: clear the "
                "chips often",
                f=Length(found.flutes, 1),
                x=Length(needs, 1),
            ),
            source=f"jobber drills, {'read' if found.read else 'from memory'}",
            keys=("drill.length",),
            value=found.flutes,
            limit=needs,
        )
    if s.pitch is None:
        return
    steps = [b - a for a, b in pairwise(holes.positions)]
    longer = [step for step in steps if step - s.pitch > PIN_FITS]
    if longer:
        yield warn(
            "pitch",
            "index pin",
            why=words(
                "the slot is for a pitch of {p}; {n} of the row are longer: without the pin there, "
                "lined up by eye along the holes",
                p=Length(s.pitch, 1),
                n=len(longer),
            ),
            source="derived: half of the slot's play",
            keys=("holes",),
            value=max(longer),
            limit=s.pitch + PIN_FITS,
        )
    ends, free = s.far + numbers.CLEAR, 2.0 * s.pitch - job.guide.pin / 2.0
    if ends > free:
        yield warn(
            "fastener",
            "fasteners",
            why="the tongue stands on the fastener two holes back: leave that one out",
            source="derived: lengths along the row",
            keys=("guide.pin",),
            value=ends,
            limit=free,
        )
    if job.block.index == "round" and len(steps) > DATUM:
        likely, most = numbers.index_error(len(steps))
        yield warn(
            "index",
            "stepped off by a round pin",
            why=words(
                "over {n} steps errors add to {a}, {b} where all go one way; strike a datum hole "
                "every {d}",
                n=len(steps),
                a=Length(likely),
                b=Length(most),
                d=DATUM,
            ),
            source="derived from 0.03 mm a step: common practice, no published source",
            keys=("block.index",),
            value=likely,
        )


def _table(job: Job, how: Standing) -> Table:
    stand, bushing, s = how.stand, how.bushing, how.section

    def told(mm: float, places: int = 2) -> str:
        return Length(mm, places).said(job.units)

    rows = [
        ("forward angle", f"{forward_angle(s.slope):.2f}°"),
        ("bushing body", f"{bushing.size(job.units)}, {bushing.source}"),
        ("bushing length", told(bushing.length, 1)),
        ("its hole in the layers", told(bushing.body + job.block.press)),
        ("off the skin at the hole", told(s.gap) + (", ground" if how.ground else "")),
        ("held by the layers", f"{told(s.carried, 1)}, {s.count} of them"),
        ("block over the skin", told(s.top, 1)),
        ("stands on", told(s.base, 1)),
        *((f"tilt by {name}", f"{math.degrees(x):.2f}°") for name, x in how.parts.items()),
        ("left for you", f"{math.degrees(stand.margin):.2f}°"),
        ("printed: drill out, on its top", f"pocket {told(bushing.body - UNDER)}"),
    ]
    return Table(title=f"BLOCK {stand.label}", rows=tuple(rows))


# --- its pictures


def in_use(solution: Solution, holes: Holes, s: BlockSection) -> Picture:
    """Draw the block on the wedge in section through its bushing, chord plane level."""
    line_, r = holes.line, s.drill / 2.0
    depth = max(solid_depth(solution), line_ + 6.0)
    other = math.tan(math.pi / 2 - solution.guides[-1].angle)
    thick = next((h.thickness for h in solution.holes if h.thickness), 2.0)

    def upper(x: float) -> tuple[float, float]:
        return x - line_, (x - line_) * s.slope

    def lower(x: float) -> tuple[float, float]:
        return x - line_, -thick - (x - line_) * other

    out, b = depth + 12.0, s.body / 2.0
    shows = s.top + 14.0
    fore_low = (s.fore, s.base_at(s.fore, s.rest))
    rib = [(s.aft, s.base_at(s.aft, s.rest)), fore_low, (s.fore, s.low), (s.aft, s.low)]
    lands = [[(u, s.top), (v, s.top), (v, s.land_at(v)), (u, s.land_at(u))] for u, v in s.tabs]
    marks = [
        line(upper(0.0), upper(out), width=FINE_WIDE),
        line(lower(0.0), lower(out), width=FINE_WIDE),
        area([upper(0.0), upper(depth), lower(depth), lower(0.0)], 0.0, FINE_WIDE),
        *(area(land, 0.0, FINE_WIDE) for land in lands),
        area(rib, 0.0, FINE_WIDE),
        area(Bounds(s.back, s.low, s.front, s.top).corners, 0.0, FINE_WIDE),
        *(
            line((s.back, s.low + n * s.sheet), (s.front, s.low + n * s.sheet), width=FINE)
            for n in range(1, s.count)
        ),
        area(Bounds(-b, s.gap, b, s.top).corners, 0.0, FINE_WIDE),
        area([(-r, shows), (-r, r), (0.0, 0.0), (r, r), (r, shows)], 0.0, FINE_WIDE),
        line((0.0, lower(line_)[1] - 6.0), (0.0, shows + 4.0), width=FINE, dash=Dash.CHAIN),
    ]
    # Under the lower skin a reversed offcut makes the clamp's two faces parallel.
    under, foot = lower(depth), lower(0.0)
    tall = (s.slope + other) * depth
    way = 1.0 / math.hypot(1.0, s.slope)

    def jaw(u: float, v: float, up: float) -> list[tuple[float, float]]:
        along, off = (4.0 * way, 4.0 * s.slope * way), (-up * s.slope * way, up * way)
        return [
            (u - along[0], v - along[1]),
            (u + along[0], v + along[1]),
            (u + along[0] + off[0], v + along[1] + off[1]),
            (u - along[0] + off[0], v - along[1] + off[1]),
        ]

    middle = (s.tabs[0][1] + s.tabs[1][0]) / 2.0
    beneath = foot[1] - tall + (middle - foot[0]) * s.slope
    marks += [
        area([foot, under, (foot[0], foot[1] - tall)], 0.0, FINE_WIDE),
        area(jaw(middle, s.land_at(middle), 3.0), 0.0, FINE_WIDE),
        area(jaw(middle, beneath, -3.0), 0.0, FINE_WIDE),
    ]
    right, tops = max(out - line_, s.front) + 6.0, s.top + 8.0
    named = (
        ("bit", (r, s.top + 9.0)),
        ("bushing", (b, s.top - 2.0)),
        ("ribs", (s.fore - 1.5, (s.low + fore_low[1]) / 2)),
        ("reversed offcut", (middle + 5.0, beneath + 2.0 + 5.0 * s.slope)),
        ("clamp", (middle + 3.5, beneath - 1.5 + 3.5 * s.slope)),
    )
    for n, (word, tip) in enumerate(named):
        marks += label((right, tops - 6.0 * n), word, tip)
    marks += forward_arrow((right, tops - 36.0), (right + 22.0, tops - 36.0))
    return Picture.around(marks)


def _from_above(job: Job, s: BlockSection) -> Picture:
    """Draw the block from above: the hole at work, the pin in the hole before, clamp, fastener."""
    marks = [
        line((-s.near - 12.0, 0.0), (s.far + 4.0, 0.0), width=FINE, dash=Dash.CHAIN),
        Mark(shape=_around(s), line=FINE_WIDE, fill=0.0),
        *(
            area(Bounds(a, u, b, v).corners, 0.0, FINE_WIDE)
            for a, b in (s.foot, s.tongue)
            for u, v in s.tabs
        ),
        _ring((0.0, 0.0), s.body / 2.0),
        _ring((0.0, 0.0), s.drill / 2.0),
    ]
    high = s.front + 3.0
    (_, aft_end), _ = s.tabs
    marks += [
        *label((s.far - 14.0, s.back - 6.0), "clamp", ((s.tongue[0] + s.far) / 2, aft_end - 4.0)),
        *label((-s.near - 6.0, high), "this hole", (-s.body / 4, s.body / 3)),
    ]
    if s.slot is not None and s.pitch is not None:
        marks += [
            Mark(shape=Path.closed(capsule(s.slot, s.drill / 2)), line=FINE),
            _ring((s.pitch, 0.0), s.drill / 2.0),
            *label((s.pitch + 3.0, high), "index pin", (s.pitch, s.drill / 3)),
            _ring((-s.pitch, 0.0), job.guide.pin / 2.0),
            *label((-s.pitch - 3.0, -high - 2.5), "fastener", (-s.pitch, -job.guide.pin / 2.5)),
        ]
    return Picture.around(marks)


def _ring(centre: tuple[float, float], radius: float) -> Mark:
    return Mark(shape=Circle(Point(*centre), radius), line=FINE_WIDE, fill=0.0)


def _exploded(s: BlockSection, dowel: float) -> Picture:
    """Draw layers, ribs and bushing apart."""
    row, forward, up = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
    step, drop, bore = s.sheet + 6.0, 18.0, Point(0.0, 0.0)
    high = s.low + s.count * step + 6.0
    plates = []
    joins = [((0.0, 0.0, high), (0.0, 0.0, s.low + (s.count - 1) * step + s.sheet))]
    for (start, end), tongue in ((s.foot, False), (s.tongue, True)):
        outline, _ = _outline_of_rib(s, tongue=tongue)
        label = "tongue" if tongue else "foot"
        plates.append(Plate(outline, (start, 0.0, -drop), forward, up, end - start, label))
        for u, v in s.tabs:
            at = ((start + end) / 2, (u + v) / 2)
            tip = s.land_at(at[1]) if tongue else s.top
            joins.append(((*at, tip - drop), (*at, s.low)))
    dowels = (Circle(Point(*at), dowel / 2.0) for at in _dowels(s, dowel))
    holes = (Circle(bore, s.body / 2.0), *dowels)
    for n in range(s.count):
        label = "layers" if n == s.count - 1 else ""
        origin = (0.0, 0.0, s.low + n * step)
        plates.append(Plate(_around(s), origin, row, forward, s.sheet, label, holes))
    turns = [math.tau * n / 16 for n in range(16)]
    body = Path.closed([(s.body / 2 * math.cos(t), s.body / 2 * math.sin(t)) for t in turns])
    inside = (Circle(bore, s.drill / 2.0),)
    plates.append(Plate(body, (0.0, 0.0, high), row, forward, s.length, "bushing", inside))
    return exploded(plates, joins, width=86.0, height=56.0)
