"""Pieces as shapely polygons: an independent judge of what lies inside what."""

from shapely.geometry import LineString, MultiPoint, Point, Polygon

from jiggen.drawing.lettering import text_corners
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Circle, Mark, Path, Text


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


def holds(outer: Bounds, inner: Bounds) -> bool:
    """Return whether a rectangle lies wholly in another; touching counts."""
    return Polygon(outer.grown(1e-6).corners).covers(MultiPoint(inner.corners))


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


def assert_sound(piece: Piece, least: float) -> None:
    """Assert that nothing on a piece is thinner than that, and that all words lie on material."""
    body, found = polygon(piece.outline), material(piece)
    assert body.is_valid
    holes = [Polygon(ring) for ring in found.interiors]
    assert len(holes) == len([cut for cut in piece.inner if closed(cut)]), "a cut leaves the piece"
    for n, hole in enumerate(holes):
        assert body.exterior.distance(hole) >= least
        assert all(hole.distance(other) >= least for other in holes[:n])
    # What is left when the rim is eaten from all sides is still one piece.
    assert body.buffer(-(least / 2 - 0.05)).geom_type == "Polygon"
    texts = [m.shape for m in piece.marks if isinstance(m.shape, Text) and m.on.value != "paper"]
    boxes = [Polygon([tuple(p) for p in text_corners(t)]) for t in texts]
    for n, words in enumerate(boxes):
        assert found.contains(words)
        assert all(words.intersection(other).area < 0.3 for other in boxes[:n])
    said = [text.text for text in texts] + list(piece.left_out)
    assert piece.code in said
    if piece.forward is not None:
        assert said.count("FORWARD") == 1


def closed(cut: Path | Circle) -> bool:
    """Tell whether a cut goes round."""
    return isinstance(cut, Circle) or cut.is_closed
