"""Paper wrap: the saw line and the bushing's centre for a drill block of hardwood.

A block is planed square, the wrap is glued round it, and the bushing's hole is bored under a drill
press while all faces are still square. Only then is the base sawn off outside the line and planed
to it: the bore is then square to the chord plane, as far as saw and plane went. A drill in the
hand would wander by degrees, and a saw by tenths of a mm is a degree over so short a base; so the
taper gauge passes judgement, not the line.

::

       ___________________
      |  top    (+)       |   centre of the bushing
      |___________________|_________________________________   top edge, square
      |  aft face         | end  |  front face              |
      |                   |      |                          |
      |                   |   __-|--------------------------|  base line:
      |___________________|_-'                                 saw outside, plane to it

It does less than the block of flat layers and is made only where it is asked for by name.
"""

from __future__ import annotations

import math

from msgspec import Struct

from jiggen.drawing.affine import Point
from jiggen.drawing.exploded import Plate, exploded
from jiggen.drawing.face import Face
from jiggen.drawing.page import Picture
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Edge, Path
from jiggen.errors import DoesNotFit
from jiggen.geometry.block import WALL, beside
from jiggen.geometry.frame import lean_over
from jiggen.jigs.block import NO_HOLES, Bushing, along, apart, bushing_of
from jiggen.jigs.plan import Jig, Plan, Table
from jiggen.jigs.stand import (
    Stand,
    chuck_comes_down,
    drill_room,
    forward_angle,
    needed_holes,
    smallest_pitch,
    solid_depth,
    stands,
    variant,
)
from jiggen.job.sections import Holes, Job
from jiggen.solution import Check, Solution
from jiggen.units import Angle, Length, Words, words

KIND = "wrap"

#: mm. Height of the wood, what is left of it over the hole after sawing, and what a saw needs.
WOOD, LEFT, KERF = 22.0, 18.0, 2.0
#: mm. Length along the row at most, and at least so that it stands by itself.
LONG, LEAST = 60.0, 30.0
#: mm. What a saw line is off by; common practice, no published source.
OFF_LINE = 0.3


class Wood(Struct, frozen=True, kw_only=True):
    """A sawn block over its hole, mm; the bore is the origin, u forward, r toward the hole before.

    The skin's slopes go forward and along r, ratios; aft and front face and both ends, the far one
    toward the hole before, lie so far from the bore.
    """

    slope: float
    along: float
    aft: float
    fore: float
    near: float
    far: float

    @property
    def wide(self) -> float:
        """Return its width fore and aft: that of the wedge."""
        return self.aft + self.fore

    @property
    def long(self) -> float:
        """Return its length along the row."""
        return self.near + self.far

    def base(self, u: float, r: float) -> float:
        """Return the height of the base line over the mouth of the hole."""
        return self.slope * u + self.along * r

    @property
    def high(self) -> float:
        """Return the height of the wood before it is sawn, a whole mm."""
        lowest = min(
            self.base(u, r) for u in (-self.aft, self.fore) for r in (-self.near, self.far)
        )
        return float(max(WOOD, math.ceil(LEFT - lowest + KERF)))


def plan_wrap(solution: Solution) -> Plan:
    """Return a wrap for each guide of the set.

    Raises:
        DoesNotFit: curved skins, or a block that could not stand or not be bored.
    """
    job = solution.job
    holes = needed_holes(
        job, "a wrap is drawn for a drill and a line of holes, and the job has none", NO_HOLES
    )
    if any(solution.is_curved(side) for side in ("a", "b")):
        raise DoesNotFit(
            "a planed base does not lie on a skin that bends",
            key="--only",
            remedy="the block of flat layers stands on ribs there",
        )
    bushing, some = bushing_of(job, holes), apart(solution, stands(solution))
    woods = [_wood(solution, holes, stand, bushing) for stand in some]
    if not some:
        return Plan(kind=KIND)
    return Plan(
        kind=KIND,
        pieces=tuple(
            stand.led(
                _net(job, stand, wood, bushing, variant(solution, stand, some)),
                forward_angle(wood.slope),
                stand.margin,
            )
            for stand, wood in zip(some, woods, strict=True)
        ),
        checks=tuple(_sawn(stand, wood) for stand, wood in zip(some, woods, strict=True)),
        steps=(
            words("Plane hardwood square: {size}.", size=_size(woods[0])),
            "Glue the wrap round it, top edges flush.",
            words(
                "Bore {body} at the cross under a drill press, all faces square. Never by hand.",
                body=bushing.size(job.units),
            ),
            "Saw outside the base line, plane to it. Press the bushing in, top flush.",
            "On the wedge in the taper gauge no light may show under it: that is the judge.",
        ),
        pictures=(_sawing(woods[0]),),
        tables=tuple(_table(solution, s, w, bushing) for s, w in zip(some, woods, strict=True)),
        leads_drill=True,
    )


JIG = Jig(kind=KIND, plan=plan_wrap, asked_for=lambda solution: False)


def _wood(solution: Solution, holes: Holes, stand: Stand, bushing: Bushing) -> Wood:
    pitch, depth, pin = smallest_pitch(solution), solid_depth(solution), solution.job.guide.pin
    near = LONG / 2.0 if pitch is None else beside(pitch, pin)
    far = LONG - near
    if pitch is not None:
        far = min(far, 2.0 * pitch - pin / 2.0 - 1.0)
    wood = Wood(
        slope=math.tan(math.pi / 2 - stand.guides[0].angle),
        along=along(solution, stand),
        aft=holes.line,
        fore=depth - holes.line,
        near=near,
        far=far,
    )
    wall = bushing.body / 2.0 + WALL
    if min(wood.aft, wood.fore) < wall:
        raise DoesNotFit(
            words(
                "a block as wide as the wedge has {x} of wood beside the bore, {y} are needed",
                x=Length(min(wood.aft, wood.fore) - bushing.body / 2.0, 1),
                y=Length(WALL, 1),
            ),
            key="wedge.depth",
            remedy="is wedge.depth as it is meant? else a smaller bushing, or the guide",
        )
    if near < wall or wood.long < LEAST:
        assert pitch is not None
        raise DoesNotFit(
            words(
                "fasteners of {pin} at a pitch of {p} leave no room for a block of wood",
                pin=Length(pin, 1),
                p=Length(pitch, 1),
            ),
            key="guide.pin",
            given=Length(pin, 1),
            remedy="thinner fasteners, or the guide",
        )
    if bushing.length > LEFT:
        raise DoesNotFit(
            words("a bushing of {l} is longer than the block is high", l=Length(bushing.length, 1)),
            key="block.length",
            given=Length(bushing.length, 1),
            remedy=words("{most} or less", most=Length(LEFT, 1)),
        )
    if drill_room(solution) < LEFT:
        raise chuck_comes_down(solution, LEFT)
    return wood


def _net(job: Job, stand: Stand, w: Wood, bushing: Bushing, tells: str) -> Piece:
    """Return the wrap flat: aft face, end toward the hole before, front face, top over the aft."""
    left, first, second, right = 0.0, w.long, w.long + w.wide, 2 * w.long + w.wide
    low = {
        "A": Point(left, w.base(-w.aft, -w.near)),
        "B": Point(first, w.base(-w.aft, w.far)),
        "C": Point(second, w.base(w.fore, w.far)),
        "D": Point(right, w.base(w.fore, -w.near)),
    }
    over = LEFT + w.wide
    face = Face(job.name, job.units, mirrored=stand.mirrored)
    outline = Path.closed(
        [*low.values(), (right, LEFT), (first, LEFT), (first, over), (left, over)]
    )
    face.fold((left, LEFT), (first, LEFT))
    face.fold(low["B"], (first, LEFT))
    face.fold(low["C"], (second, LEFT))
    face.target((w.near, LEFT + w.aft), arm=bushing.body / 2 + 2.0, ring=bushing.body / 2.0)
    base, top = Edge(low["B"], low["C"]), Edge(Point(first, LEFT), Point(second, LEFT))
    face.angle("slope", math.degrees(math.atan(abs(w.slope))), base, top)
    face.must_be_true(Edge(low["A"], low["B"]), Edge(low["C"], low["D"]))
    face.size("aft fold", low["B"], (first, LEFT), "base line to top, along the aft fold")
    face.size("front fold", low["C"], (second, LEFT), "base line to top, along the front fold")
    face.size("width", (first, LEFT), (second, LEFT), "fold to fold at the top")
    face.size("base", low["B"], low["C"], "fold to fold along the base line")
    face.size("forward diagonal", low["B"], (second, LEFT), "base to top, forward and up")
    face.size("aft diagonal", low["C"], (first, LEFT), "base to top, aft and up")
    return face.piece(
        KIND,
        f"wrap-{stand.label}",
        f"WRAP {stand.label}",
        outline,
        variant=tells,
        number=f"{forward_angle(w.slope):.1f}°",
        forward=None,
        instruction=("PLANE TO THE LINE", Edge(low["C"], low["D"])),
        also=(
            ("AFT", Edge(low["A"], low["B"])),
            ("FRONT", Edge(Point(right, LEFT), Point(second, LEFT))),
        ),
        name_at=(second + 2.0, LEFT),
        on_bed=False,
        is_sheet=False,
    )


def _size(w: Wood) -> Words:
    return words(
        "{long} x {wide} x {high}",
        long=Length(w.long, 1),
        wide=Length(w.wide, 1),
        high=Length(w.high, 1),
    )


def _sawn(stand: Stand, w: Wood) -> Check:
    """Return what a saw line that is a little off comes to."""
    off = lean_over(OFF_LINE, w.wide)
    return Check(
        id=f"wrap-sawn-{stand.label}",
        name=f"wrap {stand.label}, sawn by hand",
        status="ok" if off <= stand.margin else "warn",
        value=math.degrees(off),
        limit=math.degrees(stand.margin),
        unit="deg",
        why=words(
            "{x} off the line over {w} is {off}: the taper gauge passes judgement, not the line",
            x=Length(OFF_LINE, 1),
            w=Length(w.wide, 1),
            off=Angle(off),
        ),
        source="derived: off over width; 0.3 mm off a saw line is common practice, no published "
        "source",
        keys=("wedge.depth", "allow.drift"),
    )


def _table(solution: Solution, stand: Stand, w: Wood, bushing: Bushing) -> Table:
    units = solution.job.units
    return Table(
        title=f"WRAP {stand.label}",
        rows=(
            ("hardwood", _size(w).said(units)),
            ("bore", f"{bushing.name} body, {Length(bushing.length, 1).said(units)} long"),
            ("left after sawing", Length(LEFT, 1).said(units)),
            ("bore to aft face", Length(w.aft, 2).said(units)),
            ("bore to near end", Length(w.near, 2).said(units)),
        ),
    )


def _sawing(w: Wood) -> Picture:
    """Draw the block and what is sawn off under it."""
    forward, up = (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
    aft, fore = w.base(-w.aft, 0.0), w.base(w.fore, 0.0)
    under = LEFT - w.high
    block = Path.closed([(-w.aft, aft), (w.fore, fore), (w.fore, LEFT), (-w.aft, LEFT)])
    waste = Path.closed([(-w.aft, under), (w.fore, under), (w.fore, fore), (-w.aft, aft)])
    plates = [
        Plate(block, (0.0, 0.0, 0.0), forward, up, w.long, "block"),
        Plate(waste, (0.0, 0.0, -12.0), forward, up, w.long, "sawn off"),
    ]
    return exploded(plates, width=80.0, height=50.0)
