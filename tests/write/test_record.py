import json

import pytest
from samplesheets import block, full_sheet, guide

from jiggen.drawing.affine import Affine
from jiggen.drawing.sheet import Placed, Sheet
from jiggen.write.record import record_text, sheet_record, told_apart


def test_the_record_names_the_check_edges_where_they_lie_on_the_sheet() -> None:
    """A reader that looks for the product in the wrong place measures the wrong angle."""
    record = sheet_record(full_sheet())
    assert record["jiggen"] == 1
    assert (record["sheet"], record["width"], record["height"]) == ("cut-1", 210.0, 297.0)
    assert [piece["name"] for piece in record["pieces"]] == ["guide-a", "block", "guide-a"]
    angle = record["pieces"][0]["angles"][0]
    assert angle["base"] == [[25.7, 33.1], [82.823457, 33.1]]
    # The third piece is turned by a quarter: its base runs up the sheet.
    assert record["pieces"][2]["angles"][0]["base"] == [[110.0, 154.0], [110.0, 211.123457]]
    assert record["dimensions"][0]["bar"] is True
    assert record["pieces"][1]["dimensions"][0]["bar"] is False


def test_the_record_is_one_line_of_ascii() -> None:
    """A DXF of this kind holds nothing but ASCII, and a line break would end its string."""
    text = record_text({"name": "Flügel\n84.7°", "value": 0.1})
    assert text.isascii()
    assert "\n" not in text
    assert json.loads(text) == {"name": "Flügel\n84.7°", "value": 0.1}


def test_equal_pieces_get_names_of_their_own() -> None:
    """Two outlines with one id make a reader see one piece only."""
    names = [placed.piece.name for placed in full_sheet().placed]
    assert told_apart(names) == ["guide-a", "block", "guide-a-2"]


def test_a_second_piece_does_not_take_the_name_of_another_one() -> None:
    """The second "guide" next to a piece that is called "guide-2" would pass for it."""
    names = ("guide", "guide", "guide-2", "guide", "guide-2")
    given = told_apart(names)
    assert given == ["guide", "guide-3", "guide-2", "guide-4", "guide-2-2"]
    assert len(set(given)) == len(names)


@pytest.mark.parametrize("make", [guide, block])
def test_the_record_of_each_piece_is_plain_json(make: object) -> None:
    """Numbers of another kind would break the file only when it is read, months later."""
    piece = make()  # type: ignore[operator]
    sheet = Sheet(
        name="s", width=200, height=200, placed=(Placed(piece=piece, place=Affine.turn(12.3)),)
    )
    assert json.loads(record_text(sheet_record(sheet))) == sheet_record(sheet)
