"""What a verdict on a sheet says: what was not measured, and what decides it with which tool."""

import math

from verifysamples import guide, manifest, page, read_on, strip

from jiggen.errors import say
from jiggen.geometry.distortion import Distortion
from jiggen.units import words
from jiggen.verify import LengthReading, judge_sheet, judge_sheets, recorded_sheets, sheet_readings
from jiggen.verify.words import asked_together, rounded_up


def bed_of(**lengths: float):
    """Return a bed with guide-a1 twice, and readings of the first one's bars by calliper."""
    bed = recorded_sheets(manifest([guide()]))[1]
    taken = [
        LengthReading(name=f"guide-a1/{name.replace('_', '-')}", measured=mm, step=0.02)
        for name, mm in lengths.items()
    ]
    return bed, sheet_readings(bed, taken)[0]


def test_one_bar_says_nothing_of_the_sheet_all_over() -> None:
    """Told that the page is small all over, nobody measures the axis that is stretched."""
    sheet = page()
    judged = judge_sheet(sheet.pieces, read_on(sheet, bar_x=98.0))
    assert [piece for piece in judged.pieces if "all over" in str(piece.why)] == []
    both = judge_sheet(sheet.pieces, read_on(sheet, bar_x=98.0, bar_y=98.0))
    assert "2.0% small all over" in str(both.pieces[0].why)


def test_an_axis_that_nobody_measured_has_no_error_of_length() -> None:
    """A number in the table that rests on an assumption is read as a measurement."""
    sheet = page()
    one = judge_sheet(sheet.pieces, read_on(sheet, bar_x=98.0))
    assert {piece.length_error_worst for piece in one.pieces} == {None}
    two = judge_sheet(sheet.pieces, read_on(sheet, bar_x=98.0, bar_y=98.0))
    assert None not in {piece.length_error_worst for piece in two.pieces}


def test_with_one_bar_the_reason_is_the_bar_that_is_missing() -> None:
    """By its numbers alone the piece would be good, and the reader stops believing the rest."""
    sheet = page(guide())
    loose = {"guide-a1": math.radians(2.05)}
    (piece,) = judge_sheet(sheet.pieces, read_on(sheet, bar_x=100.0), allowed_angle=loose).pieces
    assert piece.verdict == "cannot tell"
    assert str(piece.why).startswith("nothing was measured along y; ")
    assert "of error is allowed" not in str(piece.why)


def test_a_bed_is_measured_on_by_the_calliper_and_on_the_same_piece() -> None:
    """A rule on an engraved bar of 30 mm decides nothing, and the form has the other bars blank."""
    bed, readings = bed_of(bar_x_50_mm=50.0)
    judged = judge_sheet(bed.pieces, readings, sheet=bed.name, printed=False)
    (told,) = {str(piece.to_decide) for piece in judged.pieces}
    assert "the 30 mm bar along y of guide-a1 too, with the same calliper" in told
    assert "rule" not in told
    assert "guide-a1-2" not in told


def test_no_calliper_is_asked_for_on_a_diagonal_that_its_jaws_do_not_span() -> None:
    """The diagonals of a page are 260 mm; a workshop calliper opens 150."""
    wide = manifest([guide(), strip()])
    for row in wide["files"][-1]["sheets"][0]["dimensions"]:
        if row["name"].startswith("diagonal"):
            (x0, y0), (x1, y1) = row["ends"]
            row["ends"] = [[x0, y0], [x0 + 1.9 * (x1 - x0), y0 + 1.9 * (y1 - y0)]]
            row["nominal"] *= 1.9
    sheet = recorded_sheets(wide)[0]
    tight = {"guide-a1": math.radians(0.2)}
    coarse = read_on(sheet, step=1.0, bar_x=99.5, bar_y=100, diagonal_1=268.5, diagonal_2=268.5)
    why = str(judge_sheet(sheet.pieces, coarse, allowed_angle=tight).pieces[0].to_decide)
    # The bars, if they are to be finer at all, by calliper; the diagonals by a rule.
    assert "both diagonals (D1 to D1, D2 to D2) with a rule that you read to" in why
    assert "diagonals" not in why.split("with a calliper")[0]


def test_pages_that_agree_within_their_doubt_are_taken_together() -> None:
    """Half a step between two readings of one printer must not refuse the correction."""
    sheets = recorded_sheets(manifest([guide()], [guide("guide-b1")]))
    pages = [sheet for sheet in sheets if sheet.printed]
    readings = {
        "page 1": read_on(pages[0], bar_x=98.5, bar_y=100.0, diagonal_1=140.5, diagonal_2=140.5),
        "page 2": read_on(pages[1], bar_x=98.0, bar_y=100.0, diagonal_1=140.5, diagonal_2=140.0),
    }
    verdict = judge_sheets(pages, readings)
    assert verdict.apart == ()
    assert verdict.found is not None
    assert 0.98 < verdict.found.distortion.scale_x < 0.985


def test_of_edges_that_are_off_alike_the_first_is_shown_judged_or_not() -> None:
    """83.27 on one day and 96.73 on the next, for one guide, looks like another drawing."""
    both = guide()
    (forward,) = both["angles"]
    (x0, y0), (x1, y1) = forward["base"]
    aft = {**forward, "name": "aft", "nominal": 180.0 - forward["nominal"],
           "base": [[x0, y0], [2 * x0 - x1, 2 * y0 - y1]]}  # fmt: skip
    sheet = page({**both, "angles": [forward, aft]})
    blank = judge_sheet(sheet.pieces, None)
    for made in (Distortion(scale_x=0.99), Distortion(skew=math.radians(0.2)), Distortion()):
        read = read_on(
            sheet,
            bar_x=made.length((100.0, 0.0)),
            bar_y=made.length((0.0, 100.0)),
            diagonal_1=made.length((100.0, 100.0)),
            diagonal_2=made.length((100.0, -100.0)),
        )
        judged = judge_sheet(sheet.pieces, read)
        assert judged.pieces[0].angle_name == blank.pieces[0].angle_name == "forward"
        assert judged.pieces[0].angle_nominal == blank.pieces[0].angle_nominal
        assert "angle forward drawn" in str(judged.pieces[0].why)


def test_a_doubt_is_never_said_smaller_than_it_is() -> None:
    """0.09 in the table beside 0.10 in the reason: the reader believes neither."""
    assert rounded_up(0.0901) == 0.10
    assert rounded_up(0.09) == 0.09


def test_a_question_ends_its_sentence() -> None:
    """A question mark before a semicolon reads like a slip of the program."""
    asked = asked_together(["were they swapped?", words("{n} again", n="bar-x"), "and so on"])
    assert str(asked) == "were they swapped? Bar-x again; and so on"


def test_reason_and_table_of_an_inch_job_have_one_number() -> None:
    """0.0898 in the reason beside 0.0899 in the table: rounded twice, and neither is believed."""
    sheet = page()
    small = read_on(
        sheet, step=0.05, bar_x=98.53, bar_y=98.53, diagonal_1=139.36, diagonal_2=139.36
    )
    for piece in judge_sheet(sheet.pieces, small, units="in").pieces:
        if piece.kind == "strip":
            assert piece.length_error_worst is not None
            assert f"came out {piece.length_error_worst / 25.4:.4f} in short" in say(
                piece.why, "in"
            )
            assert "mm" not in say(piece.why, "in")
