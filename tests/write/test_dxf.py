import io
import itertools
import json
from typing import Any

import dxfgrabber
import ezdxf
import pytest
import readback
from msgspec.structs import replace
from samplesheets import bare_piece, block, full_sheet, guide, one_piece

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.piece import CheckDimension
from jiggen.drawing.shapes import Anchor, Circle, Mark, Op, Path, Text
from jiggen.drawing.sheet import Placed, Sheet
from jiggen.errors import DrawingError
from jiggen.write.colours import COLOURS, Looks
from jiggen.write.cutting import cut_drawing
from jiggen.write.dxf import dxf_bytes as bytes_of
from jiggen.write.dxf import nearest_colour
from jiggen.write.record import piece_record, sheet_record


def dxf_bytes(sheet: Sheet, looks: Looks | None = None) -> bytes:
    looks = looks or Looks()
    return bytes_of(cut_drawing(sheet, live_text=looks.live_text), looks)


def grab(data: bytes) -> Any:
    return dxfgrabber.read(io.StringIO(data.decode("ascii")))


def test_the_unit_is_millimetres() -> None:
    """Left to itself the library says metres, and a 100 mm bar opens 100 m long (measured)."""
    data = dxf_bytes(full_sheet())
    assert grab(data).header["$INSUNITS"] == 4
    assert readback.header(data, "$INSUNITS") == ["4"]
    assert readback.header(data, "$MEASUREMENT") == ["1"]


def test_the_version_is_r2000() -> None:
    """Older files lose the unit, newer ones differ from run to run."""
    assert readback.header(dxf_bytes(full_sheet()), "$ACADVER") == ["AC1015"]


def test_extents_and_limits_are_those_of_the_drawing() -> None:
    """A viewer that zooms to 1e20 shows an empty screen, and one took the default limits for A3."""
    data = dxf_bytes(one_piece(block(), width=150, height=90))
    low, high = (
        [float(v) for v in readback.header(data, name)[:2]] for name in ("$EXTMIN", "$EXTMAX")
    )
    # The block is 41.7 wide with a round end wider than itself; it stands at (20, 20).
    radius = 41.7 * (1 + 1.9**2) / (4 * 1.9)
    assert low == pytest.approx([20 + 41.7 / 2 - radius, 20.0], abs=1e-9)
    assert high[0] == pytest.approx(20 + 41.7 / 2 + radius, abs=1e-9)
    assert high[1] == pytest.approx(20 + 17.3 + 1.9 * 41.7 / 2, abs=1e-9)
    assert readback.header(data, "$LIMMIN") == ["0.0", "0.0"]
    assert [float(v) for v in readback.header(data, "$LIMMAX")] == [150.0, 90.0]


def test_the_four_layers_are_there_and_entities_take_their_looks_from_them() -> None:
    """A machine is set by layer; an entity with a colour of its own is cut at another power."""
    square = Path.closed([(0, 0), (9, 0), (9, 9), (0, 9)])
    for sheet in (full_sheet(), one_piece(bare_piece(square))):
        drawing = grab(dxf_bytes(sheet))
        assert {"CUT", "SCORE", "ENGRAVE", "NOTE"} <= {layer.name for layer in drawing.layers}
        assert {entity.layer for entity in drawing.entities} <= {"CUT", "SCORE", "ENGRAVE", "NOTE"}
        assert {entity.color for entity in drawing.entities} == {dxfgrabber.BYLAYER}


def test_contours_are_closed_polylines_without_a_repeated_corner() -> None:
    """An open contour leaves a tab; a repeated corner is an edge of length 0, and a burn mark."""
    drawing = grab(dxf_bytes(full_sheet()))
    cut = [e for e in drawing.entities if e.layer == "CUT"]
    lines = [e for e in cut if e.dxftype == "LWPOLYLINE"]
    # The block's own hole with corners, then guide, block and guide.
    assert [(e.is_closed, len(e.points)) for e in lines] == [
        (True, 4),
        (True, 5),
        (True, 4),
        (True, 5),
    ]
    assert {e.dxftype for e in cut} == {"LWPOLYLINE", "CIRCLE"}
    assert sorted(e.radius for e in cut if e.dxftype == "CIRCLE") == [2.0, 2.0, 4.05, 4.05]


def test_a_shallow_arc_keeps_its_sagitta() -> None:
    """A bulge of four decimals moves the middle of a metre-long arc by up to 17 um (measured)."""
    bulge = 0.000123456789
    outline = Path.closed([(0.0, 0.0), (1000.0, 0.0, bulge), (1000.0, 500.0), (0.0, 500.0)])
    data = dxf_bytes(one_piece(bare_piece(outline), width=1100, height=600))
    line = next(e for e in grab(data).entities if e.dxftype == "LWPOLYLINE")
    assert abs(line.bulge[1] - bulge) * 500.0 / 2 < 1e-6


def test_small_numbers_have_no_exponent() -> None:
    """Fixed notation is what every reader knows; the library writes 5e-05."""
    outline = Path.closed([(0.00002, 0.0), (30.0, 0.0, 5e-5), (30.0, 10.0), (0.0, 10.0)])
    piece = bare_piece(outline)
    sheet = Sheet(name="s", width=40, height=20, placed=(Placed(piece=piece, place=Affine()),))
    data = dxf_bytes(sheet)
    pairs = readback.dxf_pairs(data)
    start = next(i for i, pair in enumerate(pairs) if pair == (0, "LWPOLYLINE"))
    assert [v for c, v in pairs[start : start + 40] if c == 42] == ["0.00005"]
    assert [v for c, v in pairs if c in (10, 20, 42) and "e-" in v] == []
    assert readback.read_dxf(data)["bare"][0][0] == pytest.approx(0.00002, abs=1e-9)


def test_the_file_is_ascii_whatever_the_job_is_called() -> None:
    """A degree sign comes back as two wrong characters from two of the readers (measured)."""
    sheet = full_sheet("Flügel°")
    for live in (False, True):
        assert dxf_bytes(sheet, Looks(live_text=live)).isascii()


def test_lettering_is_strokes_unless_it_is_to_stay_live() -> None:
    """A machine knows no fonts."""
    strokes = grab(dxf_bytes(full_sheet()))
    assert {e.dxftype for e in strokes.entities} == {"LWPOLYLINE", "CIRCLE"}
    assert any(not e.is_closed for e in strokes.entities if e.layer == "ENGRAVE")


def test_live_text_keeps_its_place_and_spells_the_degree_sign_in_ascii() -> None:
    """%%d is the format's own spelling of the degree sign (from memory)."""
    text = Text(Point(30.0, 40.0), "84.7° → ü", 3.5, 30.0, Anchor.MIDDLE)
    sheet = Sheet(name="s", width=100, height=80, marks=(Mark(shape=text, op=Op.ENGRAVE),))
    (entity,) = grab(dxf_bytes(sheet, Looks(live_text=True))).entities
    assert (entity.dxftype, entity.layer) == ("TEXT", "ENGRAVE")
    assert (entity.height, entity.rotation) == (3.5, 30.0)
    assert entity.align_point[:2] == (30.0, 40.0)
    assert entity.plain_text() == "84.7° ? ?"


def test_nothing_for_paper_only_is_cut() -> None:
    """A witness band is ink on the waste side; burnt, it would undercut the edge."""
    drawing = grab(dxf_bytes(one_piece(guide())))
    notes = [e for e in drawing.entities if e.layer == "NOTE"]
    assert [len(e.points) for e in notes] == [2]  # the axis line alone


def test_each_outline_carries_its_own_record() -> None:
    """A file that lost its manifest must still say what each piece should be."""
    sheet = full_sheet()
    data = dxf_bytes(sheet)
    records = [record for record in readback.polyline_records(data) if record]
    placed = [p.on_sheet for p in sheet.placed]
    assert records == [piece_record(piece) for piece in placed]
    strings = [value for code, value in readback.dxf_pairs(data) if code == 1000]
    assert max(len(value) for value in strings) <= 250
    assert (1001, "JIGGEN") in readback.dxf_pairs(data)


def layer_record(data: bytes) -> str:
    """Return the record that the layer CUT carries, joined."""
    pairs = readback.dxf_pairs(data)
    at = pairs.index((1001, "JIGGEN"))
    parts = itertools.takewhile(lambda pair: pair[0] == 1000, pairs[at + 1 :])
    return "".join(value for _, value in parts)


def test_the_cut_layer_carries_the_sheets_record() -> None:
    """The bars of the sheet belong to no piece."""
    sheet = full_sheet()
    record = json.loads(layer_record(dxf_bytes(sheet)))
    # An outline that is deleted takes its record along: the layer still knows its name.
    assert record.pop("drawn")["pieces"] == ["guide-a", "block", "guide-a"]
    assert record == sheet_record(sheet) | {"pieces": []}


def test_a_piece_with_more_dimensions_than_fit_is_refused() -> None:
    """A record that is cut off in the middle is worse than none."""
    many = tuple(
        CheckDimension(name=f"hole-{i}", nominal=1.0, start=Point(i, 0.0), end=Point(i + 1.0, 0.0))
        for i in range(400)
    )
    square = Path.closed([(0, 0), (9, 0), (9, 9), (0, 9)])
    piece = bare_piece(square)
    crowded = replace(piece, name="strip", dimensions=many)
    with pytest.raises(DrawingError, match="strip has more check dimensions"):
        dxf_bytes(one_piece(crowded))


def test_an_audit_finds_nothing() -> None:
    """A file that a CAD program repairs on opening is one that another refuses."""
    for live in (False, True):
        data = dxf_bytes(full_sheet(), Looks(live_text=live))
        audit = ezdxf.read(io.StringIO(data.decode("ascii"))).audit()
        assert [*audit.errors, *audit.fixes] == []


def test_doubled_cut_edges_are_refused_where_the_audit_is_silent() -> None:
    """The audit has no word for a doubled edge (measured), so we look for it ourselves."""
    outline = Path.closed([(0, 0), (20, 0), (20, 20), (0, 20)])
    slot = Path.closed([(5, 5), (15, 5), (15, 20), (5, 20)])  # its top lies on the outline
    sheet = one_piece(bare_piece(outline, inner=(slot,)))
    with pytest.raises(DrawingError, match="lie on one another"):
        dxf_bytes(sheet)


def test_a_number_that_is_none_is_refused() -> None:
    """The library writes "nan" without a word."""
    hole = Circle(Point(float("nan"), 5.0), 1.0)
    square = Path.closed([(0, 0), (9, 0), (9, 9), (0, 9)])
    with pytest.raises(DrawingError, match="number nan"):
        dxf_bytes(one_piece(bare_piece(square, inner=(hole,))))


def test_the_librarys_global_option_is_put_back() -> None:
    """It belongs to the whole process: another program's files must keep their dates."""
    from ezdxf._options import options

    for before in (False, True):
        options.write_fixed_meta_data_for_testing = before
        dxf_bytes(one_piece(block()))
        assert options.write_fixed_meta_data_for_testing is before
    options.write_fixed_meta_data_for_testing = False


def test_colours_are_the_nearest_of_the_format_and_none_is_a_primary() -> None:
    """The seven first colours are what cutters' programs give a meaning of their own."""
    chosen = [nearest_colour(colour) for colour in COLOURS.values()]
    assert len(set(chosen)) == 4
    assert min(chosen) > 7
    assert nearest_colour("#ff0000") == 1
    assert nearest_colour("#000000") == nearest_colour("#ffffff") == 7


def test_line_width_is_set_by_layer_to_what_the_format_knows() -> None:
    """0.1 mm is not among the widths of the format; 0.09 mm is."""
    drawing = ezdxf.read(io.StringIO(dxf_bytes(full_sheet()).decode("ascii")))
    assert {drawing.layers.get(op).dxf.lineweight for op in Op} == {9}


def test_a_bed_of_more_words_than_fit_is_written_and_its_lines_are_counted() -> None:
    """A long strip with every hole numbered must not be refused for its own labels."""
    words = tuple(
        Mark(shape=Text(Point(5.0, float(at)), f"hole number {at:04d}", 2.5), op=Op.ENGRAVE)
        for at in range(900)
    )
    sheet = full_sheet()
    data = dxf_bytes(replace(sheet, marks=words), Looks(live_text=True))
    drawn = json.loads(layer_record(data))["drawn"]
    assert "words" not in drawn
    assert drawn["lines"]["CUT"] == 8
