"""Low, long pieces on the face: one row for the name, words at their places, cuts in a hole."""

import pytest
from msgspec.structs import replace
from shapely.geometry import Polygon, box

from jiggen.drawing.affine import Point
from jiggen.drawing.face import Face
from jiggen.drawing.lettering import text_corners
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Path, Text
from jiggen.errors import DoesNotFit


def bar(long: float, high: float = 44.0) -> Path:
    return Path.closed([(0.0, 0.0), (long, 0.0), (long, high), (0.0, high)])


def flat(long: float, face: Face | None = None, **more: object) -> Piece:
    more = {"variant": "holes 1-7", "forward": (0.0, 1.0), "is_sheet": False} | more
    return (face or Face("TE")).piece("strip", "strip-1", "STRIP 1", bar(long), flat=True, **more)


def texts(piece: Piece) -> dict[str, Text]:
    return {m.shape.text: m.shape for m in piece.marks if isinstance(m.shape, Text)}


def boxes(piece: Piece) -> list[Polygon]:
    return [Polygon([tuple(c) for c in text_corners(t)]) for t in texts(piece).values()]


def test_name_variant_and_code_stand_in_one_row_and_the_arrow_at_the_right():
    """A low piece has no room for a second row, and is read along."""
    piece = flat(150.0)
    said = texts(piece)
    rows = [said[text].at for text in ("STRIP 1", "holes 1-7", piece.code)]
    assert len({p.y for p in rows}) == 1
    assert [p.x for p in rows] == sorted(p.x for p in rows)
    assert said["STRIP 1"].height == 5.0
    assert said["FORWARD"].turn == 0.0
    assert said["FORWARD"].at.x > 100.0
    assert piece.left_out == ()


@pytest.mark.parametrize("long", [150.0, 90.0, 74.0, 62.0])
def test_what_has_no_room_is_left_out_and_told_but_never_the_name_or_the_arrow(long):
    """A piece without a name is laid at the wrong place."""
    piece = flat(long)
    said = texts(piece)
    assert {"STRIP 1", "FORWARD"} <= set(said)
    missing = {"holes 1-7", piece.code} - set(said)
    assert set(piece.left_out) == missing
    body = box(0.0, 0.0, long, 44.0)
    for n, one in enumerate(boxes(piece)):
        assert body.buffer(-1.0).contains(one)
        assert not any(one.intersects(other) for other in boxes(piece)[n + 1 :])
    with pytest.raises(DoesNotFit, match="no room for its name"):
        flat(20.0)


def test_words_at_a_place_stay_there_and_all_else_keeps_off_them():
    """A hole's number that slid to where there was room is the number of the next hole."""
    face = Face("TE")
    for x in range(10, 150, 14):
        face.say((float(x), 16.0), str(x), 5.0)
    piece = flat(150.0, face)
    said = texts(piece)
    for x in range(10, 150, 14):
        assert said[str(x)].at == (float(x), 16.0)
    for n, one in enumerate(boxes(piece)):
        assert not any(one.intersects(other) for other in boxes(piece)[n + 1 :])


def test_on_a_long_piece_the_name_is_looked_for_in_its_window():
    """On three metres nobody looks for the name in the middle."""
    piece = flat(3000.0, window=Bounds(2760.0, 0.0, 3000.0, 44.0))
    assert all(t.bounds().left > 2759.0 for t in texts(piece).values())


def test_a_cut_across_a_hole_falls_out_with_it_and_is_made_before_it():
    """Cut after their window, the bars of a coupon shift under the beam."""
    face = Face("TE")
    face.slot([(20.0, 5.0), (60.0, 5.0), (60.0, 15.0), (20.0, 15.0)])
    face.across((40.0, 5.0), (40.0, 15.0))
    piece = flat(150.0, face)
    assert [p.is_closed for p in piece.inner] == [False, True]
    thin = Face("TE")
    thin.slot([(20.0, 1.0), (60.0, 1.0), (60.0, 15.0), (20.0, 15.0)])
    with pytest.raises(DoesNotFit, match="web"):
        flat(150.0, thin)


def test_what_a_piece_shows_counts_in_its_mark_and_its_code():
    """Readings of a strip with other holes on it are readings of another piece."""
    one, other = flat(150.0, shows="7 at 12.0"), flat(150.0, shows="7 at 12.5")
    assert one.mark != other.mark
    assert one.code != other.code
    assert one.code.split("-")[1] == one.mark[:4].upper()
    assert replace(one, shows="", mark="").mark == flat(150.0).mark


def test_turned_over_the_words_at_a_place_follow_it_and_stay_readable():
    """On side B the number must stand at the same hole."""
    face = Face("TE", mirrored=True)
    face.say((20.0, 10.0), "7")
    face.pointer((20.0, 20.0), (30.0, 20.0))
    piece = flat(150.0, face)
    assert texts(piece)["7"].at == Point(-20.0, 10.0)
    assert texts(piece)["7"].turn == 0.0
