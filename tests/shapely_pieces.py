"""Pieces as shapely polygons: an independent judge of what lies inside what."""

from shapely.geometry import LineString, Point, Polygon

from jiggen.drawing.lettering import text_corners
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Circle, Mark, Path, Text


def points(path: Path, steps: int = 24) -> list[tuple[float, float]]:
    """Return points along a path, arcs as `steps` chords."""
    found = [tuple(path.edges[0].start)]
    for edge in path.edges:
        n = 1 if edge.bulge == 0.0 else steps
        found += [tuple(edge.at(k / n)) for k in range(1, n)]
        found.append(tuple(edge.end))
    if path.is_closed:
        # The same point to the last bit: a closing edge of 1e-15 mm makes a polygon invalid.
        found[-1] = found[0]
    return found


def polygon(path: Path) -> Polygon:
    """Return a closed path as a polygon."""
    return Polygon(points(path))


def material(piece: Piece) -> Polygon:
    """Return what is left of the sheet: the outline less its holes."""
    body = polygon(piece.outline)
    for shape in piece.inner:
        hole = (
            polygon(shape)
            if isinstance(shape, Path)
            else Point(shape.centre).buffer(shape.radius, quad_segs=32)
        )
        body = body.difference(hole)
    return body


def ink(mark: Mark):
    """Return a mark's extent: a text's box, a path's line, a circle's rim."""
    shape = mark.shape
    if isinstance(shape, Text):
        return Polygon([tuple(p) for p in text_corners(shape)])
    if isinstance(shape, Circle):
        return Point(shape.centre).buffer(shape.radius).exterior
    return LineString(points(shape))


def badly_placed(piece: Piece, clear: float = 0.4, hair: float = 0.11) -> list[str]:
    """Return what is wrong with a piece's marks: off the piece, at a cut line, or over another.

    A box is as deep and as tall as its line's worst letters: two lines of one block may share a
    `hair` of their boxes, in heights of a capital, without any ink being touched.
    """
    body, found = material(piece), []
    inks = [(mark, ink(mark)) for mark in piece.marks if not mark.paper_only]
    for mark, shape in inks:
        if not body.contains(shape) or body.boundary.distance(shape) <= clear:
            found.append(f"{mark.shape} leaves the piece or lies at its edge")
    for mark, box in inks:
        if isinstance(mark.shape, Text):
            found += [
                f"{mark.shape} lies over {other.shape}"
                for other, shape in inks
                if other is not mark and box.buffer(-hair * mark.shape.height).intersects(shape)
            ]
    return found


def check_marks(piece: Piece) -> None:
    """Assert that every mark lies on the piece, clear of its edge, and no text meets another."""
    body = material(piece)
    inks = [(m, ink(m)) for m in piece.marks if not m.paper_only]
    for mark, shape in inks:
        assert body.contains(shape), mark.shape
        assert body.exterior.distance(shape) > 0.4, mark.shape
    for mark, box in ((m, s) for m, s in inks if isinstance(m.shape, Text)):
        for other, shape in inks:
            if other is not mark:
                assert not box.intersects(shape), (mark.shape, other.shape)
