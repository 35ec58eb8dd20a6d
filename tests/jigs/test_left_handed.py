"""A part with hole 1 at the left hand: every jig says so, and none contradicts another."""

import pytest
from jiggen.jigs.corner_pieces import corner_pieces
from jiggen.jigs.picture import section_picture
from jiggen.jigs.stand_pieces import guide_pieces, wrap_pieces
from samplejobs import a_job, row_of_holes, skins

from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Text
from jiggen.jigs.stand import edge_ends, hole_1_left, stands
from jiggen.jigs.strip import strip_of_job
from jiggen.job.sections import Corner, Stock, Strip
from jiggen.solve import solve

STOCK = Stock(
    length=300.0, positions=tuple(8.0 + 26.0 * n for n in range(11)), trim=(0.0, 190.0), turn=False
)


def solution(zero: str = "", side: str = "a", rise: float = 0.0):
    job = a_job(
        skins(7.5, 3.0),
        skins(7.5 - rise, 3.0, at=200.0),
        holes=row_of_holes(7),
        rear_thickness=0.8,
        depth=30.0,
        stock=STOCK,
        strip=Strip(zero=zero, side=side),
        corner=Corner(),
        extend=True,
    )
    return solve(job)


def lettered(piece: Piece) -> str:
    return " ".join(mark.shape.text for mark in piece.marks if isinstance(mark.shape, Text))


@pytest.mark.parametrize(
    ("side", "zero", "left"),
    [
        ("a", "", False),
        ("a", "right", False),
        ("a", "left", True),
        ("b", "", False),
        ("b", "left", False),
        ("b", "right", True),
    ],
)
def test_the_hand_of_the_part_follows_from_the_strip_on_either_side(side, zero, left):
    """Read with the wrong side up, every guide would be ordered to be turned the wrong way."""
    found = solution(zero, side)
    assert hole_1_left(found.job) is left
    # Side B up shows the part mirrored: the strip's own hand is then the other.
    assert (strip_of_job(found).hand > 0) == (left == (side == "a"))
    assert edge_ends(found.job)[0] == ("the last hole" if left else "hole 1")


def test_guides_and_wraps_face_the_end_at_which_their_arrow_points_forward():
    """Obeying "toward hole 1" on such a part turns FORWARD aft: every hole leans the wrong way."""
    for zero, toward, other in (("", "hole 1", "last hole"), ("left", "the last hole", "hole 1")):
        found = solution(zero)
        pieces = guide_pieces(found, stands(found)) + wrap_pieces(found, stands(found))
        assert len(pieces) >= 4
        for piece in pieces:
            said = " ".join((lettered(piece), *piece.notes))
            assert f"face toward {toward}" in said
            assert f"toward {other}" not in said


def test_the_plates_of_a_corner_guide_change_ends():
    """The stop would stand on the far side of the bit, with its arrow to the wrong end."""
    right, left = (
        {piece.name: lettered(piece) for piece in corner_pieces(solution(zero))}
        for zero in ("", "left")
    )
    assert "this face to hole 1" in right["corner-a1-stop"]
    assert "this face to the last hole" in left["corner-a1-stop"]
    assert "this face to hole 1" in left["corner-a1-cheek"]
    assert "on the side of the last hole" in " ".join(left["corner-a1-cross"].split())


def test_a_cross_plate_on_a_skin_that_rises_along_the_edge_leans_the_other_way():
    """Words alone would stand the bit off plumb by twice the lean along the edge."""
    angles = []
    for zero in ("", "left"):
        (plate,) = [
            p for p in corner_pieces(solution(zero, rise=1.5)) if p.name == "corner-a1-cross"
        ]
        (lean,) = [angle.nominal for angle in plate.angles if angle.name == "lean"]
        angles.append(lean - 90.0)
    assert abs(angles[0]) > 0.02
    assert angles[1] == pytest.approx(-angles[0])


def test_the_section_is_seen_from_the_end_that_shows_forward_to_the_right():
    """A picture named after the wrong end shows the wedge the wrong way round."""
    for zero, named in (("", "hole 1"), ("left", "the last hole")):
        strips = section_picture(solution(zero), 180.0)
        said = " ".join(m.shape.text for s in strips for m in s.marks if isinstance(m.shape, Text))
        assert f"seen from {named}." in said
