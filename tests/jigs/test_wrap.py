"""The paper wrap: folded round its block, the base line closes on itself at the skin angle."""

import math

import pytest
from shapely_pieces import ink, polygon

from jiggen.drawing.piece import Piece, angle_between
from jiggen.drawing.shapes import Op, Text
from jiggen.errors import DoesNotFit
from jiggen.jigs.wrap import DEPTH_MAX, WIDTH, WrapSizes, build_wrap, wrap_depth


def wrap(angle: float = 84.3, mirrored: bool = False, pitch: float | None = 26.0) -> Piece:
    return build_wrap(
        "wrap-a1",
        angle,
        2.49,
        WrapSizes(height=40.0, pin=12.0),
        "Test edge",
        "upper",
        "holes 1-9",
        "Block a1",
        pitch=pitch,
        mirrored=mirrored,
    )


def corners_in_space(piece: Piece, depth: float) -> list[tuple[float, float, float]]:
    """Fold the wrap: return the base line's corners as (along first face, into the block, up)."""
    base = [e.start for e in piece.outline.edges][:5]
    face = [(0.0, 0.0), (WIDTH, 0.0), (WIDTH, depth), (0.0, depth), (0.0, 0.0)]
    return [(x, y, p.y) for (x, y), p in zip(face, base, strict=True)]


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("angle", [79.0, 84.3, 89.0])
def test_folded_round_the_wood_the_base_is_a_plane_at_the_skin_angle(angle, mirrored):
    """A base line that does not close, or closes as a twist, is sawn crooked."""
    piece = wrap(angle, mirrored)
    depth = next(d.nominal for d in piece.dimensions if d.name == "depth")
    a, b, c, d, again = corners_in_space(piece, depth)
    assert a[2] == pytest.approx(again[2])
    assert b[2] == pytest.approx(c[2])
    assert a[2] == pytest.approx(d[2])
    rise = (b[2] - a[2]) / WIDTH * (-1 if mirrored else 1)
    assert math.degrees(math.atan(rise)) == pytest.approx(90.0 - angle, abs=1e-9)


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_axis_stands_square_to_the_top_on_two_faces(mirrored):
    """It is drawn where the block is bored: in the middle of both side faces."""
    piece = wrap(mirrored=mirrored)
    axes = [m.shape.edges[0] for m in piece.marks if m.op is Op.SCORE and not m.dashed]
    depth = next(d.nominal for d in piece.dimensions if d.name == "depth")
    assert [e.start.x for e in axes] == pytest.approx([WIDTH / 2, WIDTH + depth + WIDTH / 2])
    assert all(e.start.x == e.end.x for e in axes)


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_check_angle_is_the_guide_angle(mirrored):
    """Base line against the block's upright corner, aft side."""
    check = wrap(84.3, mirrored).angles[0]
    assert angle_between(check.base, check.working) == pytest.approx(84.3, abs=1e-9)


@pytest.mark.parametrize(
    "piece",
    [wrap(a, m, p) for a in (78.0, 84.3, 88.6) for m in (False, True) for p in (17.0, 26.0)],
    ids=lambda p: f"{p.angles[0].nominal:.0f} {p.dimensions[1].nominal:g}",
)
def test_no_mark_leaves_the_wrap_or_crosses_another(piece):
    """A wrap is read once it is glued."""
    body = polygon(piece.outline)
    inks = [(m, ink(m)) for m in piece.marks if not m.paper_only]
    for mark, shape in inks:
        assert body.buffer(1e-9).contains(shape), mark.shape
    for mark, rect in inks:
        if isinstance(mark.shape, Text):
            assert body.exterior.distance(rect) > 0.4
            for other, shape in inks:
                if other is not mark:
                    assert not rect.intersects(shape), (mark.shape, other.shape)


def test_the_depth_fits_between_pins():
    """Pins stand in the neighbour holes while the block is clamped."""
    assert wrap_depth(12.0, None) == DEPTH_MAX
    assert wrap_depth(12.0, 17.0) == 20.0
    with pytest.raises(DoesNotFit, match="tips below"):
        wrap_depth(12.0, 14.0)


def test_the_wrap_is_paper_only():
    """Nobody wants it in plywood."""
    assert wrap().for_print
    assert not wrap().for_cut


@pytest.mark.parametrize("pitch", [None, 26.0, 24.0])
def test_in_inches_the_wood_is_what_a_timber_yard_sells(pitch):
    """1.575 x 1.417 in is nobody's stock, and nobody's rule has a line for it."""
    piece = build_wrap(
        "wrap-a1",
        84.3,
        2.49,
        WrapSizes(height=40.0, pin=12.0),
        "Test edge",
        "upper",
        "holes 1-9",
        "Paper wrap a1",
        units="in",
        pitch=pitch,
    )
    sizes = {d.name: d.nominal for d in piece.dimensions}
    assert sizes["width"] == pytest.approx(38.1)
    assert sizes["depth"] / (25.4 / 8) == pytest.approx(round(sizes["depth"] / (25.4 / 8)))
    assert pitch is None or sizes["depth"] <= 2 * (pitch - 6.0) - 2 * 1.0 + 1e-9
    said = " ".join(m.shape.text for m in piece.marks if isinstance(m.shape, Text))
    assert "1 1/2 in chordwise" in said
    assert "in spanwise" in said
    assert "mm chordwise" not in said


@pytest.mark.parametrize("mirrored", [False, True])
def test_every_line_of_the_wrap_is_named(mirrored):
    """An axis that is taken for a fold is folded."""
    piece = wrap(mirrored=mirrored)
    texts = [m.shape for m in piece.marks if isinstance(m.shape, Text)]
    axes = [m.shape.edges[0].start.x for m in piece.marks if m.op is Op.SCORE and not m.dashed]
    folds = [m.shape.edges[0].start.x for m in piece.marks if m.op is Op.SCORE and m.dashed]
    for word, lines in (("axis", axes), ("fold", [folds[0], folds[2]])):
        at = [t.at.x for t in texts if t.text == word]
        assert len(at) == len(lines)
        assert all(min(abs(x - line) for line in lines) < 3.0 for x in at)
    (tab,) = (t for t in texts if t.text == "glue under the first face")
    assert tab.at.x > folds[-1]
    assert sum(t.text == "bore from this edge" for t in texts) == 2


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_narrow_face_says_which_it_is_and_what_wood_it_wants(mirrored):
    """A face that lost its title is glued to the wrong side of the wood."""
    piece = wrap(mirrored=mirrored, pitch=15.0)
    depth = next(d.nominal for d in piece.dimensions if d.name == "depth")
    assert depth < 20.0
    texts = [m.shape for m in piece.marks if isinstance(m.shape, Text)]
    assert not [t.text for t in texts if t.text.endswith("..")]
    folds = [WIDTH, WIDTH + depth, 2 * WIDTH + depth, 2 * WIDTH + 2 * depth]
    for name, left, right in (
        ("aft" if mirrored else "forward", *folds[:2]),
        ("forward" if mirrored else "aft", *folds[2:]),
    ):
        here = [t.text for t in texts if left < t.at.x < right and t.turn == 0.0]
        words = " ".join(here)
        assert f"{name} face bore from this edge" in words
        if right == folds[1]:
            assert f"squared: 40 mm chordwise {depth:g} mm spanwise" in words
        else:
            assert "sawn end on skin" in words
    for one in texts:
        inked = ink(next(m for m in piece.marks if m.shape is one))
        assert polygon(piece.outline).contains(inked)
