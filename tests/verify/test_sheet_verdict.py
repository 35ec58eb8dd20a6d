import math

import pytest
from verifysamples import ANGLE, guide, length, manifest, page, read_on, strip

from jiggen.geometry.distortion import Distortion, from_matrix
from jiggen.verify import (
    LengthReading,
    PlacedPiece,
    SheetReadings,
    judge_sheet,
    judge_sheets,
    readings_of_options,
    recorded_sheets,
    sheet_readings,
    verdict_as_json,
)
from jiggen.verify.limits import Check

BAD_PRINTER = Distortion(scale_x=0.985, scale_y=1.012, skew=math.radians(0.3))


def printed(sheet, made: Distortion, step: float = 0.05) -> SheetReadings:
    """Return what a rule reads on all the sheet's own lengths after `made` printed it."""
    taken = [
        LengthReading(name=name, measured=made.length(n.vector), step=step)
        for name, n in sheet.to_measure().items()
    ]
    return sheet_readings(sheet, taken)[0]


def by_name(verdict) -> dict:
    return {piece.name: piece for piece in verdict.pieces}


def test_a_uniformly_small_page_condemns_the_strip_and_spares_the_guide() -> None:
    """Fit-to-page is the commonest fault; throwing good guides away costs trust in the tool."""
    sheet = page()
    judged = by_name(
        judge_sheet(sheet.pieces, printed(sheet, Distortion(scale_x=0.96, scale_y=0.96)))
    )
    assert judged["guide-a1"].verdict == "use"
    assert "changes no angle" in str(judged["guide-a1"].why)
    assert judged["strip-a"].verdict == "do not use"
    assert judged["strip-a"].length_error_worst == pytest.approx(6.4, abs=1e-6)
    assert "spares the angle guides" in str(judged["strip-a"].why)


def test_the_same_guide_passes_along_the_axes_and_fails_aslant() -> None:
    """The verdict is for the piece as it lies, not for the page."""
    sheet = page(guide(), guide("aslant", turn=45.0))
    judged = by_name(judge_sheet(sheet.pieces, printed(sheet, Distortion(scale_y=0.985))))
    assert judged["guide-a1"].verdict == "use"
    assert judged["aslant"].verdict == "do not use"


def test_one_per_cent_moves_an_upright_corner_a_little_and_a_slanting_one_a_lot() -> None:
    """The design's own numbers: 84.3 deg, 1 %: 0.06 deg along the axes, 0.56 deg at 45 deg."""
    sheet = page(guide(), guide("aslant", turn=45.0))
    judged = by_name(judge_sheet(sheet.pieces, printed(sheet, Distortion(scale_y=0.99))))
    off = {n: abs(math.degrees(p.angle_as_printed) - ANGLE) for n, p in judged.items()}
    assert off["guide-a1"] == pytest.approx(0.06, abs=0.005)
    assert off["aslant"] == pytest.approx(0.56, abs=0.02)


def test_a_coarse_rule_cannot_tell_and_says_what_would() -> None:
    """The user needs to know which reading to take again, not that the tool is unsure."""
    sheet = page()
    coarse = read_on(sheet, step=1.0, bar_x=99.0, bar_y=101.0, diagonal_1=141, diagonal_2=141)
    tight = {"guide-a1": math.radians(0.2)}
    verdict = by_name(judge_sheet(sheet.pieces, coarse, allowed_angle=tight))["guide-a1"]
    assert verdict.verdict == "cannot tell"
    assert "to decide, measure" in str(verdict.why)
    assert "0.05 mm" in str(verdict.why)
    fine = printed(sheet, Distortion(scale_x=0.99, scale_y=1.01), step=0.05)
    decided = by_name(judge_sheet(sheet.pieces, fine, allowed_angle=tight))["guide-a1"]
    assert decided.verdict == "use"


def test_unmeasured_diagonals_are_named_when_they_would_decide() -> None:
    """Two good bars do not prove an upright edge upright."""
    sheet = page(guide())
    bars = read_on(sheet, step=0.05, bar_x=100.0, bar_y=100.0)
    tight = {"guide-a1": math.radians(0.3)}
    verdict = judge_sheet(sheet.pieces, bars, allowed_angle=tight).pieces[0]
    assert verdict.verdict == "cannot tell"
    assert "both diagonals (D1 to D1, D2 to D2) too, with the same rule" in str(verdict.why)
    more = read_on(sheet, step=0.05, bar_x=100.0, bar_y=100.0, diagonal_1=141.4, diagonal_2=141.45)
    assert judge_sheet(sheet.pieces, more, allowed_angle=tight).pieces[0].verdict == "use"


def test_an_error_right_at_the_limit_asks_for_a_reprint_rather_than_a_finer_rule() -> None:
    """No calliper decides a tie; sending the user to buy one would be a bad joke."""
    sheet = page(guide())
    made = Distortion(skew=math.radians(0.5))
    verdict = judge_sheet(sheet.pieces, printed(sheet, made)).pieces[0]
    assert verdict.verdict == "cannot tell"
    assert "print it again" in str(verdict.why)


def test_an_error_at_the_limit_on_a_cut_bed_asks_for_the_machine_and_not_for_a_print() -> None:
    """A router prints nothing."""
    sheet = page(guide())
    made = Distortion(skew=math.radians(0.5))
    verdict = judge_sheet(sheet.pieces, printed(sheet, made), sheet="cut-1", printed=False)
    (piece,) = verdict.pieces
    assert piece.verdict == "cannot tell"
    assert "set the machine right and cut again" in str(piece.why)
    assert "print" not in str(piece.why)


def test_one_bar_alone_never_says_use() -> None:
    """A printer that stretches one axis would pass on the other."""
    sheet = page()
    loose = {"guide-a1": math.radians(20.0)}
    judged = judge_sheet(sheet.pieces, read_on(sheet, bar_x=100.0), allowed_angle=loose)
    assert {piece.verdict for piece in judged.pieces} == {"cannot tell"}
    assert "nothing was measured along y" in str(judged.pieces[0].why)
    assert "the 100 mm bar along y too, with the same rule" in str(judged.pieces[0].to_decide)


def test_a_sheet_that_nobody_measured_cannot_be_told() -> None:
    """Silence is not a pass."""
    verdict = judge_sheets([page()], {})
    assert verdict.verdict == "cannot tell"
    assert "nothing was measured" in str(verdict.sheets[0].pieces[0].why)
    assert verdict_as_json(verdict)["scale_x"] is None


def test_a_doubtful_reading_is_asked_about_and_not_averaged_in() -> None:
    """A 10 mm slip must end in a question that names the bar, with no number built on it."""
    sheet = page()
    verdict = judge_sheets(
        [sheet],
        {"page 1": read_on(sheet, bar_x=90.0, bar_y=100.0, diagonal_1=141.5, diagonal_2=141.5)},
    )
    as_json = verdict_as_json(verdict)
    assert as_json["verdict"] == "cannot tell"
    assert as_json["scale_x"] is None
    assert as_json["reprint"] == {"scale_x": 1.0, "scale_y": 1.0, "skew": 0.0}
    assert as_json["questions"][0]["likely"] == "slip"
    assert all("bar-x" in piece["why"] for piece in as_json["pieces"])


def test_a_bed_at_another_scale_is_asked_about_as_a_machine_is() -> None:
    """A bed at 80 % was imported at another size; "print it at 100 %" mends no laser."""
    sheet = page()
    readings = printed(sheet, Distortion(scale_x=0.8, scale_y=0.8))
    bed = judge_sheet(sheet.pieces, readings, sheet="cut-1", printed=False)
    assert "import it in millimetres" in str(bed.pieces[0].why)
    paper = judge_sheet(sheet.pieces, readings)
    assert "print it again at 100 %" in str(paper.pieces[0].why)


def test_the_block_is_judged_by_angle_and_by_length() -> None:
    """A block that is small all over has the right tilt and a channel too tight for its bush."""
    block = {**guide("block-a1"), "kind": "block"}
    sheet = page(block)
    verdict = judge_sheet(sheet.pieces, printed(sheet, Distortion(scale_x=0.98, scale_y=0.98)))
    assert verdict.pieces[0].verdict == "do not use"
    assert verdict.pieces[0].angle_as_printed == pytest.approx(math.radians(ANGLE), abs=1e-9)


def test_the_limits_of_the_pieces_record_are_used_and_a_callers_go_first() -> None:
    """Each guide has its own allowed error, from the thickness at its holes."""
    record = {**guide(), "allowed_angle": 0.05}
    sheet = page(record)
    made = printed(sheet, Distortion(scale_y=0.985))
    assert judge_sheet(sheet.pieces, made).pieces[0].verdict == "do not use"
    wide = {"guide-a1": math.radians(1.0)}
    assert judge_sheet(sheet.pieces, made, allowed_angle=wide).pieces[0].verdict == "use"
    short = page(strip())
    small = printed(short, Distortion(scale_x=0.998, scale_y=0.998))
    assert judge_sheet(short.pieces, small).pieces[0].verdict == "do not use"
    loose = judge_sheet(short.pieces, small, allowed_length={"strip": 1.0})
    assert loose.pieces[0].verdict == "use"


def test_a_piece_that_nothing_can_be_measured_on_is_not_passed() -> None:
    """No check, no proof."""
    sheet = page()
    judged = judge_sheet([PlacedPiece(name="label", kind="label")], printed(sheet, Distortion()))
    assert judged.pieces[0].verdict == "cannot tell"


def test_two_rounds_of_reprint_on_a_bad_printer_end_true() -> None:
    """The loop that the tool promises: measure, reprint, measure again, and be there."""
    sheet = page()
    correction = Distortion()
    for _ in range(2):
        whole = from_matrix(BAD_PRINTER.matrix @ correction.inverse)
        verdict = judge_sheets([sheet], {"page 1": printed(sheet, whole)}, printed_with=correction)
        correction = verdict.reprint
    left = from_matrix(BAD_PRINTER.matrix @ correction.inverse)
    assert left.scale_x == pytest.approx(1.0, abs=2e-4)
    assert left.scale_y == pytest.approx(1.0, abs=2e-4)
    assert abs(math.degrees(left.skew)) < 0.01
    assert verdict.verdict == "use"
    assert verdict.reprint.scale_x == pytest.approx(0.985, abs=1e-6)


def test_a_wrong_first_correction_is_put_right_in_one_round() -> None:
    """What the page was drawn with comes first, what it measures after; not the other way."""
    sheet = page()
    wrong = Distortion(scale_x=0.97, scale_y=1.03, skew=math.radians(-0.5))
    whole = from_matrix(BAD_PRINTER.matrix @ wrong.inverse)
    verdict = judge_sheets([sheet], {"page 1": printed(sheet, whole)}, printed_with=wrong)
    assert verdict.reprint.scale_x == pytest.approx(BAD_PRINTER.scale_x, abs=1e-9)
    assert verdict.reprint.scale_y == pytest.approx(BAD_PRINTER.scale_y, abs=1e-9)
    assert verdict.reprint.skew == pytest.approx(BAD_PRINTER.skew, abs=1e-9)


def test_every_page_is_judged_by_its_own_readings() -> None:
    """One page may have slipped in the feed; its neighbours are none the worse."""
    sheets = recorded_sheets(manifest([guide("guide-a1")], [guide("guide-b1", turn=45.0)]))
    pages = [sheet for sheet in sheets if sheet.printed]
    readings = {
        "page 1": printed(pages[0], Distortion()),
        "page 2": printed(pages[1], Distortion(scale_y=0.98)),
    }
    verdict = judge_sheets(pages, readings)
    assert [sheet.verdict for sheet in verdict.sheets] == ["use", "do not use"]
    assert verdict.verdict == "do not use"
    # One correction for both would spoil the good page and leave the bad one bad.
    assert verdict.apart == ("page 1", "page 2")
    assert verdict.found is None
    assert verdict.reprint == Distortion()
    assert verdict_as_json(verdict)["pages_apart"] == ["page 1", "page 2"]


def test_a_cut_bed_never_corrects_the_printer() -> None:
    """The laser's scale is the laser's."""
    sheets = recorded_sheets(manifest([guide()]))
    assert [(s.name, s.printed) for s in sheets] == [("page 1", True), ("cut-1", False)]
    bed = sheets[1]
    verdict = judge_sheets(sheets, {"cut-1": printed(bed, Distortion(scale_x=0.97, scale_y=0.97))})
    assert verdict.reprint == Distortion()
    assert verdict.sheets[1].verdict == "use"


def test_the_json_has_the_keys_of_the_interface_in_degrees() -> None:
    """Other programs read this; a radian here is a guide off by a factor of 57."""
    sheet = page()
    judged = judge_sheets([sheet], {"page 1": printed(sheet, BAD_PRINTER)})
    as_json = verdict_as_json(judged)
    assert list(as_json)[:6] == ["scale_x", "scale_y", "skew", "pieces", "verdict", "reprint"]
    assert as_json["skew"] == pytest.approx(0.3, abs=1e-9)
    assert as_json["reprint"]["skew"] == pytest.approx(0.3, abs=1e-9)
    first = as_json["pieces"][0]
    assert list(first)[:7] == [
        *("name", "angle_nominal", "angle_as_printed", "plus_minus"),
        *("length_error_worst", "verdict", "why"),
    ]
    assert first["angle_nominal"] == pytest.approx(ANGLE)
    expected = BAD_PRINTER.vector((math.cos(math.radians(ANGLE)), math.sin(math.radians(ANGLE))))
    assert first["angle_as_printed"] == pytest.approx(
        math.degrees(math.atan2(expected[1], expected[0])), abs=1e-6
    )
    assert as_json["pieces"][1]["angle_nominal"] is None
    assert set(as_json["sheets"][0]["residuals"]) == {n.name for n in sheet.lengths}


def test_options_find_the_sheets_own_bars() -> None:
    """The metric and the inch bar differ by 1.6 %: taking one for the other is a false scale."""
    sheet = page()
    assert [r.name for r in readings_of_options(sheet, bar_x=98.5)] == ["bar-x"]
    assert [r.name for r in readings_of_options(sheet, bar_x=101.6, units="in")] == ["bar-x-in"]
    assert [r.name for r in readings_of_options(sheet, bar_y=100.0, units="in")] == ["bar-y"]
    bare = page(bars=[length("bar-x", (0, 0), (100, 0))])
    with pytest.raises(ValueError, match="no bar-y"):
        readings_of_options(bare, bar_y=100.0)
    with pytest.raises(ValueError, match="no diagonal-2"):
        readings_of_options(bare, diagonal_2=141.0)


def test_copies_of_a_piece_on_a_bed_have_verdicts_and_names_of_their_own() -> None:
    """Two copies may lie differently, and one may be good while the other is not."""
    bed = recorded_sheets(manifest([guide()]))[1]
    assert [piece.name for piece in bed.pieces] == ["guide-a1", "guide-a1-2"]
    assert set(bed.to_measure()) == {
        *("guide-a1/bar-x-50-mm", "guide-a1/bar-y-30-mm", "guide-a1/bar-to-bar")
    }
    silent = judge_sheet(bed.pieces, None, sheet=bed.name, printed=False)
    assert "bars on its pieces" in str(silent.pieces[0].why)


def test_a_reading_of_a_bar_that_is_not_there_is_handed_back() -> None:
    """A misspelt bar must not vanish."""
    sheet = page()
    taken = [
        LengthReading(name="bar-z", measured=100.0),
        LengthReading(name="strip-a/over-all", measured=159.0),
    ]
    readings, strange = sheet_readings(sheet, taken)
    assert strange == ("bar-z",)
    assert readings.bars["strip-a/over-all"].nominal == pytest.approx(160.0)


def test_a_bed_has_a_length_aslant_from_bar_to_bar_that_no_kerf_changes() -> None:
    """Without one nobody knows whether the machine's axes are square, and long pieces stay open."""
    bed = recorded_sheets(manifest([guide()]))[1]
    aslant = bed.to_measure()["guide-a1/bar-to-bar"]
    # The bars run from (85, 95) to (135, 95) and from (85, 95) to (85, 125): far end to far end.
    assert {aslant.start, aslant.end} == {(135.0, 95.0), (85.0, 125.0)}
    assert aslant.nominal == pytest.approx(math.hypot(50.0, 30.0))
    assert "right end of bar-x-50-mm to the upper end of bar-y-30-mm" in aslant.how
    page_1 = recorded_sheets(manifest([guide()]))[0]
    assert not any("bar-to-bar" in name for name in page_1.measurable())


@pytest.mark.parametrize(
    ("error", "doubt", "expected"),
    [
        (0.4, 0.05, "use"),
        (0.4, 0.2, "cannot tell"),
        (0.6, 0.2, "cannot tell"),
        (0.6, 0.05, "do not use"),
    ],
)
def test_a_doubt_that_reaches_over_the_limit_decides_neither_way(
    error: float, doubt: float, expected: str
) -> None:
    """A good piece thrown away for the rule's sake, or a bad one kept for it."""
    for sign in (1.0, -1.0):
        check = Check(what="angle", nominal=1.0, error=sign * error, doubt=doubt, limit=0.5)
        assert check.verdict == expected


def test_a_pieces_own_bars_do_not_count_as_its_size() -> None:
    """A long bar beside a short slot would condemn a slot that is good."""
    slot = {
        "name": "slot",
        "kind": "strip",
        "angles": [],
        "dimensions": [
            length("wide", (20, 20), (40, 20)),
            length("bar-x-100-mm", (20, 30), (120, 30), bar=True),
        ],
    }
    sheet = page(slot)
    judged = judge_sheet(sheet.pieces, printed(sheet, Distortion(scale_x=0.99, scale_y=0.99)))
    assert judged.pieces[0].length_error_worst == pytest.approx(0.2, abs=1e-9)
    assert judged.pieces[0].verdict == "use"


def test_a_size_that_is_drawn_with_kerf_is_judged_by_what_it_should_be() -> None:
    """On a bed the outline is half a slot wider all round; that is no error of the machine."""
    drawn = {**length("wide", (20, 20), (61.2, 20)), "nominal": 40.0}
    piece = {"name": "plate", "kind": "block", "angles": [], "dimensions": [drawn]}
    sheet = page(piece)
    made = Distortion(scale_x=0.98, scale_y=0.98)
    judged = judge_sheet(sheet.pieces, printed(sheet, made), printed=False)
    assert judged.pieces[0].length_error_worst == pytest.approx(0.8, abs=1e-9)


def test_one_reading_that_counts_for_all_pages_is_one_reading() -> None:
    """Counted once for each page, a coarse rule would pass for a fine one."""
    sheets = [s for s in recorded_sheets(manifest([guide()], [guide("guide-b1")])) if s.printed]
    readings = {s.name: read_on(s, bar_x=99.5, bar_y=99.5) for s in sheets}
    alone = judge_sheets(sheets[:1], readings).found
    together = judge_sheets(sheets, readings, one_run=True).found
    each = judge_sheets(sheets, readings).found
    assert alone is not None
    assert together is not None
    assert each is not None
    assert together.standards == pytest.approx(alone.standards)
    assert each.standards[0] < 0.8 * alone.standards[0]


def test_of_two_angles_the_one_that_came_out_worst_is_shown() -> None:
    """The table has room for one angle of a piece; the better one would hide the reason."""
    steep, slanting = guide(), guide("aslant", turn=45.0)
    both = [*steep["angles"], {**slanting["angles"][0], "name": "aslant", "nominal": 84.3001}]
    sheet = page({**steep, "angles": both})
    for made in (Distortion(scale_y=0.985), Distortion(scale_x=0.985)):
        (piece,) = judge_sheet(sheet.pieces, printed(sheet, made)).pieces
        assert math.degrees(piece.angle_nominal) == pytest.approx(84.3001, abs=1e-6)
        assert piece.verdict == "do not use"


def with_inch_bars(name: str, at: tuple[float, float]) -> dict:
    """Return the record of a guide that has its bars in mm and in inches."""
    x, y = at
    record = guide(name)
    record["dimensions"] += [
        length("bar-x-2-in", (x, y), (x + 50.8, y), bar=True),
        length("bar-y-1-in", (x, y), (x, y + 25.4), bar=True),
    ]
    return record


def test_on_a_bed_nobody_is_sent_to_a_length_that_is_not_on_the_form() -> None:
    """The form has one length from bar to bar; three of other pieces were asked for."""
    bed = recorded_sheets(
        {
            **manifest(),
            "files": [
                {
                    "file": "cut-1.svg",
                    "format": "svg",
                    "sheets": [
                        {
                            "sheet": "cut-1",
                            "pieces": [
                                with_inch_bars("guide-a1", (85, 99)),
                                with_inch_bars("guide-b1", (300, 20)),
                            ],
                            "dimensions": [],
                        }
                    ],
                }
            ],
        }
    )[0]
    one = [LengthReading(name="guide-a1/bar-x-50-mm", measured=50.0, step=0.05)]
    unread = list(sheet_readings(bed, one)[0].unread)
    assert [name for name in unread if "bar-to-bar" in name] == ["guide-a1/bar-to-bar"]
    assert unread[0] == "guide-a1/bar-y-30-mm"
    inch = [LengthReading(name="guide-a1/bar-x-2-in", measured=50.8, step=0.025)]
    unread = list(sheet_readings(bed, inch)[0].unread)
    assert unread[0] == "guide-a1/bar-y-1-in"
    assert [name for name in unread if "bar-to-bar" in name] == ["guide-a1/bar-to-bar-in"]
    assert "bar-x-2-in" in bed.measurable()["guide-a1/bar-to-bar-in"].how
    square = [*one, LengthReading(name="guide-b1/bar-to-bar", measured=58.3, step=0.05)]
    assert not any("bar-to-bar" in name for name in sheet_readings(bed, square)[0].unread)
