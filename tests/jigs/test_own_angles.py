"""On a tapered wedge every hole lies on the face by the angle that the face has at that hole."""

import math

import pytest
from samplejobs import a_job, row_of_holes, skins

from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Circle, Mark, Path
from jiggen.jigs.strip_pieces import strip_pieces, strip_plan
from jiggen.jigs.trim_pieces import trim_pieces
from jiggen.job.sections import Job, LighteningHole, Stock, Strip
from jiggen.solution import Solution
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
        strip=Strip(side=side, width=110.0),
        **changes,
    )


def on_face(forward: float, at: float, ends: tuple[float, float]) -> float:
    """Return a place's distance from the TE along the face: the tangent runs straight along."""
    share = min(max(at / FAR, 0.0), 1.0)
    slope = (1 - share) * math.tan(math.radians(ends[0])) + share * math.tan(math.radians(ends[1]))
    return forward * math.hypot(1.0, slope)


def circles(marks: tuple[Mark, ...], radius: float) -> list[Circle]:
    found = [m.shape for m in marks if isinstance(m.shape, Circle) and not m.paper_only]
    return [shape for shape in found if shape.radius == pytest.approx(radius)]


@pytest.mark.parametrize(("number", "cut", "inward"), [(0, 0.0, 1.0), (1, 299.0, -1.0)])
def test_a_trim_template_has_each_hole_where_the_face_under_it_has_it(number, cut, inward):
    """0.15 mm off, every pin goes in with force, and the cut is scribed askew.

    The cut at 299 mm lies midway between two stations, and no hole lies at either.
    """
    piece: Piece = trim_pieces(solve(tapered()))[number]
    edge = piece.angles[0].base.start.x
    holes = circles(piece.inner, 1.25)
    assert len(holes) >= 3
    for hole in holes:
        at = cut + inward * abs(hole.centre.x - edge)
        assert hole.centre.y == pytest.approx(on_face(LINE, at, STEEP), abs=1e-9)
    rings = circles(piece.marks, 4.5)
    assert rings
    for ring in rings:
        at = cut + inward * abs(ring.centre.x - edge)
        assert ring.centre.y == pytest.approx(on_face(OPENING, at, STEEP), abs=1e-9)
    fronts = [
        mark.bounds()
        for mark in piece.marks
        if isinstance(mark.shape, Path) and mark.dashed and mark.bounds().height < 1e-9
    ]
    (front,) = [box for box in fronts if box.width > 60.0]
    assert front.bottom == pytest.approx(on_face(30.0, cut, STEEP), abs=1e-9)


def test_the_template_and_the_strip_agree_on_the_same_holes():
    """Two drawings of one hole in two places: the drill believes one of them.

    The zero end's template and the strip of side A both count along from 0.
    """
    solution = solve(tapered())
    start, end = trim_pieces(solution)
    by_strip = {round(hole.at, 6): hole.forward for hole in strip_plan(solution).holes}
    for piece, cut, inward in ((start, 0.0, 1.0), (end, 299.0, -1.0)):
        edge = piece.angles[0].base.start.x
        for hole in circles(piece.inner, 1.25):
            at = round(cut + inward * abs(hole.centre.x - edge), 6)
            assert hole.centre.y == pytest.approx(by_strip[at], abs=1e-9)


@pytest.mark.parametrize(("side", "ends"), [("a", STEEP), ("b", FLAT)])
def test_a_strip_has_lightening_holes_by_the_angle_of_the_face_that_it_lies_on(side, ends):
    """Drawn by the other face, or by the thick end, the ring lies beside the hole."""
    solution = solve(tapered(side))
    whole, plan = strip_pieces(solution)[-1], strip_plan(solution)
    rings = circles(whole.marks, 4.5)
    assert len(rings) >= 5
    at = {round(opening.at, 6) for opening in plan.openings}
    assert at == {round(h.at, 6) for h in lightening(solution)}
    drawn = sorted((plan.hand * ring.centre.x, ring.centre.y) for ring in rings)
    for (_, forward), opening in zip(drawn, sorted(lightening(solution), key=by_at), strict=True):
        assert forward == pytest.approx(on_face(OPENING, opening.at, ends), abs=1e-9)


def lightening(solution: Solution):
    best = solution.trim.best
    return [h for h in best.lightening if -h.radius < h.at < 299.0 + h.radius]


def by_at(hole) -> float:
    return hole.at


@pytest.mark.parametrize(("side", "steepest"), [("a", 12.0), ("b", 3.0)])
def test_the_rows_of_a_strip_begin_ahead_of_the_front_of_the_wedge(side, steepest):
    """A number printed over the work is read as something on it; the front lies there as well."""
    solution = solve(tapered(side, depth=50.0))
    front = 50.0 / math.cos(math.radians(steepest))
    assert strip_plan(solution).work_top == pytest.approx(front + 2.0)
    whole = strip_pieces(solution)[-1]
    number = next(m for m in whole.marks if getattr(m.shape, "text", "") == "7")
    assert number.bounds().bottom > front
