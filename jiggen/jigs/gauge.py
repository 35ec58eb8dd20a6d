"""Taper gauge: a plate with a V that fits the wedge, its thin and thick mates, and their master.

The wedge goes into the V with its trailing edge first. In a V of its own taper it touches all
along both faces and no light comes through. In one that is too open only its rear corners touch,
and there is light at the mouth; in one too narrow the mouth touches, and there is light at the
trailing edge. Between a V that is thin by the tolerance and one that is thick by it, the light
tells whether the wedge is inside. A gauge that is wrong calls a good wedge bad, or lets the wrong
piece through to the drill: so a male V of the same taper, which a calliper can measure, checks it.

Only the angle between the two flanks is the product; nothing rests on the plate's outer edges.

::

      ____________________________ top
     /                            |
    |                       ___---| Ma
    |                 R  _--      |
    )  words          (o_    V    |   mouth, FORWARD ->
    |        chord plane   --__   |
    |                          ---| Mb
    |_____________________________|
    ^ notches: one thin, two nominal, three thick
"""

from __future__ import annotations

import math

from msgspec import Struct
from msgspec.structs import replace

from jiggen.drawing.affine import Point
from jiggen.drawing.face import Face, notches
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Edge, Path
from jiggen.errors import DoesNotFit
from jiggen.jigs.plan import Jig, Plan
from jiggen.job.sections import Gauge, Job
from jiggen.solution import Check, Solution
from jiggen.units import Angle, Length, words

KIND = "gauge"

#: mm. Radius of the hole that relieves the apex: a burr or a thick edge must not hold the wedge up.
RELIEF = 1.5
#: Widest kerf that still leaves the flanks apart where the V meets its relief, in shares of it.
KERF_ROOM = 1.25
#: mm of plate behind the apex, and above and below the V: room for words, and stiffness.
BEHIND, BESIDE = 50.0, 29.0
#: mm. The corner cut off on side A, where the two sides differ.
CHAMFER = 9.0
#: mm. The master's tongue goes this much beyond the mouth, and is at least so thick at its tip.
BEYOND, TIP = 3.0, 0.8
#: mm. The master's handle.
HANDLE, HANDLE_HALF = 56.0, 22.0
#: The least share of the V that a wedge of nominal taper must still go into when the V is thin.
LEAST_SHARE = 0.5
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

#: By role: how many notches, and how it is called on the piece.
ROLES = {"thin": (1, "thin"), "nominal": (2, "true"), "thick": (3, "thick")}


class V(Struct, frozen=True, kw_only=True):
    """A nominal V; mm and radians. `rear` is the wedge's edge, `depth` how much of it goes in."""

    skin_a: float
    skin_b: float
    rear: float
    depth: float

    @property
    def opening(self) -> float:
        """Return what the V opens by for each mm forward."""
        return math.tan(self.skin_a) + math.tan(self.skin_b)

    @property
    def edge(self) -> float:
        """Return where the trailing edge stands, mm forward of the apex."""
        return self.rear / self.opening

    @property
    def mouth(self) -> float:
        """Return where the mouth is, mm forward of the apex."""
        return self.edge + self.depth

    @property
    def tip(self) -> float:
        """Return where the master's tongue ends, mm forward of the apex."""
        return max(RELIEF + 0.5, TIP / self.opening)

    @property
    def takes_master(self) -> bool:
        """Return whether the tongue is stout enough to be a master."""
        return self.tip <= 0.5 * self.mouth

    def root(self, kerf: float) -> float:
        """Return where the flanks begin, mm forward of the apex: a kerf has room between them."""
        return max(RELIEF, KERF_ROOM * kerf / self.opening)

    def touching(self, kerf: float) -> float:
        """Return the length along which a true wedge touches, mm along the chord plane."""
        return self.mouth - max(self.edge, self.root(kerf))

    def is_like(self, other: V) -> bool:
        """Return whether one gauge serves both."""
        mine, theirs = ((v.skin_a, v.skin_b, v.rear, v.depth) for v in (self, other))
        return all(abs(a - b) <= SAME for a, b in zip(mine, theirs, strict=True))


def plan_gauge(solution: Solution) -> Plan:
    """Return for each station a thin, a true and a thick gauge, and the master if it can be.

    Raises:
        DoesNotFit: curved skins, or a V that would not take the wedge.
    """
    if any(solution.is_curved(side) for side in ("a", "b")):
        raise DoesNotFit(
            "no straight V fits a wedge with curved faces: light would show on a good one",
            key="gauge",
            given="an outline whose faces bend",
            remedy="leave out [gauge], and compare thicknesses by calliper at two stated lines",
        )
    job = solution.job
    tolerance = _asked(job).tolerance
    pieces: list[Piece] = []
    stations = _stations(solution)
    for number, v in enumerate(stations, start=1):
        for role, error in (("thin", -tolerance), ("nominal", 0.0), ("thick", tolerance)):
            pieces.append(_plate(job, number, role, v, error))
        if v.takes_master:
            pieces.append(_master(job, number, v))
    own = math.degrees(tolerance) * OWN_SHARE
    return Plan(
        kind=KIND,
        pieces=tuple(replace(piece, allowed_angle=own) for piece in pieces),
        checks=(_light(solution, stations),),
        steps=(
            "First the master into the true V: light, and the gauge is wrong.",
            "Push the bare wedge into the V, TE first, against a lamp.",
            "True: no light anywhere.",
            "Thin: light at the TE is good, light at the mouth is too thin.",
            "Thick: light at the mouth is good, light at the TE is too thick.",
        ),
    )


JIG = Jig(kind=KIND, plan=plan_gauge, asked_for=lambda solution: solution.job.gauge is not None)


def _asked(job: Job) -> Gauge:
    return job.gauge or Gauge()


def light_gap(touching: float, error: float) -> float:
    """Return the gap that an error of taper shows as, mm, the wedge held against one flank.

    Source: derived: two lines through one end, apart by the error (radians) at the other.
    """
    return touching * math.tan(abs(error))


def _light(solution: Solution, some: list[V]) -> Check:
    """Return whether the gauge's tolerance shows as light that can be seen."""
    asked = _asked(solution.job)
    least = min(v.touching(solution.job.cut.kerf or 0.0) for v in some)
    shows, seen = light_gap(least, asked.tolerance), asked.feeler or SEEN
    good = shows >= seen
    why = "a wedge that is off by {off} shows {gap} of light"
    if not good:
        why += "; {seen} can be seen: a V that touches over {long}, or a larger gauge.tolerance"
    return Check(
        id="taper-gauge",
        name="taper gauge",
        status="ok" if good else "warn",
        value=shows,
        limit=seen,
        unit="mm",
        why=words(
            why,
            off=Angle(asked.tolerance),
            gap=Length(shows),
            seen=Length(seen),
            long=Length(seen / math.tan(asked.tolerance), 1),
        ),
        source="derived: length of the V by the tangent of the tolerance; 0.05 mm seen by eye is "
        "common practice, no published source",
        keys=("gauge.tolerance", "gauge.depth"),
    )


def _plate(job: Job, number: int, role: str, v: V, error: float) -> Piece:
    """Return one plate, its V more open than the nominal one by `error`; chord plane along x."""
    a, b, mouth = v.skin_a + error / 2, v.skin_b + error / 2, v.mouth
    _refuse_narrow(v, a, b)
    start = v.root(job.cut.kerf or 0.0)
    relief, centre = RELIEF, start - RELIEF
    if centre * math.sin(max(abs(a), abs(b))) >= relief:
        raise DoesNotFit(
            "so wide a beam cannot cut the root of this V",
            key="cut.kerf",
            given=Length(job.cut.kerf or 0.0),
            remedy="cut.kerf is the full width of the slot, 0.1 to 0.3 mm for most lasers",
        )
    flank_a, flank_b = _flank(a, centre, relief, mouth), _flank(-b, centre, relief, mouth)
    top, low, back = flank_a.end.y + BESIDE, flank_b.end.y - BESIDE, -BEHIND
    sided = abs(v.skin_a - v.skin_b) > SAME
    count, said = ROLES[role]
    chamfer = CHAMFER if sided else 0.0
    face = Face(job.name, job.units)
    face.angle("V", math.degrees(a + b), flank_b, flank_a)
    _sizes(face, flank_a, flank_b, _OF_V)
    upper = Edge(Point(mouth, top), Point(back + CHAMFER, top))
    outline = Path.closed(
        [
            (back, low),
            (mouth, low),
            flank_b.end,
            *_round(Point(centre, 0.0), relief, flank_b.start, flank_a.start),
            flank_a.start,
            flank_a.end,
            (mouth, top),
            *([(back + chamfer, top)] if sided else []),
            (back, top - chamfer),
            *notches(count, back, (top - chamfer + low) / 2, -1.0),
        ]
    )
    return face.piece(
        KIND,
        f"gauge-{number}-{role}",
        f"GAUGE {number}",
        outline,
        variant=said,
        number=f"{math.degrees(a + b):.1f}°",
        instruction=(f"{job.sides[0]} up", upper) if sided else None,
    )


def _master(job: Job, number: int, v: V) -> Piece:
    """Return the male V that the true gauge is checked with; chord plane along x, tip aft."""
    shoulder = v.mouth + BEYOND
    flank_a, flank_b = _tongue(v.skin_a, v.tip, shoulder), _tongue(-v.skin_b, v.tip, shoulder)
    right = shoulder + HANDLE
    half = max(HANDLE_HALF, flank_a.end.y + 8.0, 8.0 - flank_b.end.y)
    degrees = math.degrees(v.skin_a + v.skin_b)
    face = Face(job.name, job.units)
    face.angle("V", degrees, flank_b, flank_a)
    _sizes(face, flank_a, flank_b, _OF_TONGUE)
    handle = [(shoulder, -half), (right, -half), (right, half), (shoulder, half)]
    ends = [flank_b.start, flank_b.end, *handle, flank_a.end, flank_a.start]
    sided = abs(v.skin_a - v.skin_b) > SAME
    return face.piece(
        KIND,
        f"gauge-{number}-master",
        f"GAUGE {number}",
        Path.closed(ends),
        variant="master",
        number=f"{degrees:.1f}°",
        name_at=(shoulder, half),
        least_web=min(TIP, math.dist(flank_a.start, flank_b.start)) - 1e-6,
        instruction=(f"{job.sides[0]} up", Edge(Point(right, half), Point(shoulder, half)))
        if sided
        else None,
    )


#: What fixes a V: which ends of the flanks, and how it is measured.
_OF_V = (
    ("mouth", "across the V at the mouth, inside jaws"),
    ("root", "across the V where it meets the relief, by feeler blades or a drill's shank"),
    ("flank-a", "along side A's flank, relief to mouth"),
    ("flank-b", "along side B's flank, relief to mouth"),
    ("across", "from side B's flank at the relief to A's mouth"),
    ("back", "from side A's flank at the relief to B's mouth"),
)
_OF_TONGUE = (
    ("root", "over the tongue at the shoulder"),
    ("tip", "over the tongue at its tip"),
    ("flank-a", "along side A, tip to shoulder"),
    ("flank-b", "along side B, tip to shoulder"),
    ("across", "from the tip on side B to the shoulder on side A"),
    ("back", "from the tip on side A to the shoulder on side B"),
)


def _sizes(face: Face, a: Edge, b: Edge, rows: tuple[tuple[str, str], ...]) -> None:
    ends = (
        (a.end, b.end),
        (a.start, b.start),
        (a.start, a.end),
        (b.start, b.end),
        (b.start, a.end),
        (a.start, b.end),
    )
    for (name, how), (start, end) in zip(rows, ends, strict=True):
        face.size(name, start, end, how)


def _refuse_narrow(v: V, a: float, b: float) -> None:
    goes_in = (v.mouth * (math.tan(a) + math.tan(b)) - v.rear) / v.opening
    if a + b <= 0.0 or goes_in < LEAST_SHARE * v.depth:
        inc = math.degrees(v.skin_a + v.skin_b)
        # What the V may close by until half of the depth no longer goes in, rounded down.
        closes = (1.0 - LEAST_SHARE) * v.depth * v.opening / v.mouth
        would_do = math.floor(95.0 * math.degrees(closes)) / 100.0
        raise DoesNotFit(
            f"a V of {math.degrees(a + b):.2f} deg takes only {max(goes_in, 0.0):.1f} mm of a "
            f"wedge of {inc:.2f} deg",
            key="gauge.tolerance",
            given=f"{inc - math.degrees(a + b):.4g} deg",
            remedy=f"{would_do:.2f} deg or less"
            if would_do > 0.0
            else "the wedge is too slight for a thin gauge; leave out [gauge]",
        )


def _flank(slope: float, centre: float, relief: float, end: float) -> Edge:
    """Return a flank from the relief, a circle about (`centre`, 0), to `end` mm forward.

    Downward where the slope is negative.
    """
    tan, cos = math.tan(slope), math.cos(slope)
    start = centre * cos**2 + cos * math.sqrt(relief**2 - (centre * math.sin(slope)) ** 2)
    return Edge(Point(start, start * tan), Point(end, end * tan))


def _tongue(slope: float, start: float, end: float) -> Edge:
    tan = math.tan(slope)
    return Edge(Point(start, start * tan), Point(end, end * tan))


def _round(
    centre: Point, radius: float, start: Point, end: Point
) -> list[tuple[float, float, float]]:
    """Return the hole round the apex from flank B clockwise to flank A, as corners of four arcs.

    One arc of nearly a whole turn would lose its middle in the last digit of its ends.
    """
    first = math.atan2(start.y - centre.y, start.x - centre.x)
    last = math.atan2(end.y - centre.y, end.x - centre.x) - math.tau
    step = (last - first) / 4
    between = [
        (centre.x + radius * math.cos(turn), centre.y + radius * math.sin(turn))
        for turn in (first + step, first + 2 * step, first + 3 * step)
    ]
    return [(x, y, math.tan(step / 4)) for x, y in (start, *between)]


def _stations(solution: Solution) -> list[V]:
    """Return the V of each station; stations alike share one."""
    faces = solution.wedge.faces_at([station.at for station in solution.stations])
    rows = zip(solution.stations, faces.rear.tolist(), faces.depth.tolist(), strict=True)
    found: list[V] = []
    for station, rear, measured in rows:
        if not math.isfinite(rear):
            raise DoesNotFit(
                "how far the wedge goes into a V depends on how thick its edge is, and the job "
                "does not say",
                key="wedge.rear_thickness",
                remedy="state the thickness at the trailing edge; 0 for a sharp one",
            )
        v = V(
            skin_a=station.skin_a,
            skin_b=station.skin_b,
            rear=rear,
            depth=_depth(solution.job, measured),
        )
        if not any(v.is_like(other) for other in found):
            found.append(v)
    return found


def _depth(job: Job, measured: float) -> float:
    """Return how much of the wedge goes into the V, mm."""
    whole = job.wedge.depth
    asked = _asked(job).depth
    if whole is None:
        whole = measured if math.isfinite(measured) else None
    if asked is not None:
        if whole is not None and asked > whole:
            raise DoesNotFit(
                words(
                    "the V would be deeper than the wedge, which is {whole} deep: what stands out "
                    "in front of it shows no light",
                    whole=Length(whole),
                ),
                key="gauge.depth",
                given=Length(asked),
                remedy=words("{most} or less", most=Length(whole - STAYS_OUT)),
            )
        return asked
    if whole is None:
        whole = USUAL_DEPTH + STAYS_OUT
    return min(max(whole - STAYS_OUT, 0.5 * whole), MOST_DEPTH)
