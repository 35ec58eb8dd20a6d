"""On a tapered wedge every hole lies on the face by the angle that the face has at that hole."""

import math

import pytest
from samplejobs import a_job, row_of_holes, skins

from jiggen.drawing.affine import Point
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Circle, Dash, Path
from jiggen.jigs.strip import JIG as STRIP
from jiggen.jigs.strip import strip_of_job
from jiggen.jigs.trim import JIG as TRIM
from jiggen.job.sections import Job, LighteningHole, Stock, Strip
from jiggen.solve import solve

LINE, FAR = 12.0, 600.0
#: Degrees at the zero end and 600 mm on: side A tapers strongly, side B a little.
STEEP, FLAT = (12.0, 4.0), (3.0, 2.0)
OPENING = 22.0


def tapered(side: str = "a", depth: float = 30.0, **changes: object) -> Job:
    """Return a wedge of 12 to 4 degrees, cut at 0 and at 299 mm, its lightening holes at 22 mm."""
    stock = Stock(
        length=340.0,
        lightening=tuple(
            LighteningHole(at=20.0 + 52.0 * n, diameter=9.0, line=OPENING) for n in range(6)
        ),
        trim=(0.0, 299.0),
        turn=False,
    )
    return a_job(
        skins(STEEP[0], FLAT[0]),
        skins(STEEP[1], FLAT[1], at=FAR),
        holes=row_of_holes(12, line=LINE, positions=tuple(12.0 + 26.0 * n for n in range(12))),
        rear_thickness=1.0,
        depth=depth,
        extend=True,
        stock=stock,
        strip=Strip(side=side),
        **changes,
    )


def on_face(forward: float, at: float, ends: tuple[float, float]) -> float:
    """Return a place's distance from the TE along the face: the tangent runs straight along."""
    share = min(max(at / FAR, 0.0), 1.0)
    slope = (1 - share) * math.tan(math.radians(ends[0])) + share * math.tan(math.radians(ends[1]))
    return forward * math.hypot(1.0, slope)


def hidden(piece: Piece, radius: float) -> set[Point]:
    """Return the middles of the rims of that radius which are drawn as hidden, whole or in part."""
    found = set()
    for mark in piece.marks:
        one = mark.shape
        if mark.dash is not Dash.HIDDEN:
            continue
        if isinstance(one, Path) and one.edges[0].bulge:
            one = Circle(one.edges[0].centre, one.edges[0].radius)
        if isinstance(one, Circle) and one.radius == pytest.approx(radius):
            found.add(Point(round(one.centre.x, 9), round(one.centre.y, 9)))
    return found


@pytest.mark.parametrize(("number", "cut", "inward"), [(0, 0.0, 1.0), (1, 299.0, -1.0)])
def test_a_trim_template_has_each_hole_where_the_face_under_it_has_it(number, cut, inward):
    """0.15 mm off, every pin goes in with force, and the cut is scribed askew.

    The cut at 299 mm lies midway between two stations, and no hole lies at either.
    """
    piece = TRIM.plan(solve(tapered())).pieces[number]
    edge = piece.angles[0].base.start.x
    assert len(piece.inner) >= 3
    for hole in piece.inner:
        at = cut + inward * abs(hole.centre.x - edge)
        assert hole.radius == 1.25
        assert hole.centre.y == pytest.approx(on_face(LINE, at, STEEP), abs=1e-9)
    rings = hidden(piece, 4.5)
    assert rings
    for ring in rings:
        at = cut + inward * abs(ring.x - edge)
        assert ring.y == pytest.approx(on_face(OPENING, at, STEEP), abs=1e-6)
    fronts = [
        mark.shape.bounds()
        for mark in piece.marks
        if mark.dash is Dash.HIDDEN and mark.shape.bounds().height < 1e-9
    ]
    (front,) = [box for box in fronts if box.width > 60.0]
    assert front.bottom == pytest.approx(on_face(30.0, cut, STEEP), abs=1e-9)


def test_the_template_and_the_strip_agree_on_the_same_holes():
    """Two drawings of one hole in two places: the drill believes one of them.

    The zero end's template and the strip of side A both count along from 0.
    """
    case = solve(tapered())
    start, end, *_ = TRIM.plan(case).pieces
    strip = strip_of_job(case)
    by_strip = {round(hole.at, 6): hole.forward for hole in strip.holes}
    for piece, cut, inward in ((start, 0.0, 1.0), (end, 299.0, -1.0)):
        edge = piece.angles[0].base.start.x
        for hole in piece.inner:
            at = round(cut + inward * abs(hole.centre.x - edge), 6)
            assert hole.centre.y == pytest.approx(by_strip[at], abs=1e-9)


@pytest.mark.parametrize(("side", "ends"), [("a", STEEP), ("b", FLAT)])
def test_a_strip_has_lightening_holes_by_the_angle_of_the_face_that_it_lies_on(side, ends):
    """Drawn by the other face, or by the thick end, the ring lies beside the hole."""
    case = solve(tapered(side))
    strip, whole = strip_of_job(case), STRIP.plan(case).pieces[-1]
    rings = hidden(whole, 4.5)
    assert len(rings) >= 5
    places = {round(h.at, 6) for h in case.trim.best.lightening if -4.5 < h.at < 299.0 + 4.5}
    assert {round(strip.start + strip.hand * ring.x, 6) for ring in rings} == places
    for ring in rings:
        at = strip.start + strip.hand * ring.x
        assert ring.y == pytest.approx(on_face(OPENING, at, ends), abs=1e-6)
