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
    for mark in piece.inner:
        shape = mark.shape
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
