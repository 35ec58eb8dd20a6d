"""The DXF reader against hand-written files and against dxfgrabber, a third reader."""

import io
import math

import dxfgrabber
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jiggen.errors import DrawingFileError
from jiggen.remeasure.dxf import read_dxf
from jiggen.remeasure.shapes import NOTE, OFF, Contour, bulge_cubics, joined


def dxf(*entities: str, units: int | None = 4) -> bytes:
    """Return a minimal file: header and entities, each given as words ``code value``."""
    words = ["0 SECTION", "2 HEADER", "9 $ACADVER", "1 AC1015"]
    words += [] if units is None else ["9 $INSUNITS", f"70 {units}"]
    words += ["0 ENDSEC", "0 SECTION", "2 ENTITIES"]
    for entity in entities:
        words += [word.strip() for word in entity.split(";")]
    words += ["0 ENDSEC", "0 EOF"]
    pairs = (word.split(" ", 1) for word in words)
    return "".join(f"{code}\n{value}\n" for code, value in pairs).encode()


def only(*entities: str, units: int | None = 4) -> Contour:
    """Return the single contour of a file, its loose lines joined."""
    (contour,) = joined(read_dxf(dxf(*entities, units=units)).pages[0].contours)
    return contour


SQUARE = "0 LWPOLYLINE;8 CUT;90 4;70 1;10 0;20 0;10 40;20 0;10 40;20 30;10 0;20 30"


@pytest.mark.parametrize(
    ("units", "mm"),
    # Codes of $INSUNITS: the DXF reference, HEADER (from memory).
    [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0), (13, 0.001)],
)
def test_the_unit_of_the_file_is_obeyed(units: int, mm: float) -> None:
    """A cutter that obeys $INSUNITS makes a 40 m guide out of metres."""
    found = read_dxf(dxf(SQUARE, units=units))
    assert found.findings == ()
    (contour,) = found.pages[0].contours
    assert contour.area == pytest.approx(1200 * mm * mm)


@pytest.mark.parametrize("units", [None, 0, 77])
def test_a_file_without_a_known_unit_is_off(units: int | None) -> None:
    """Such a file is 40 mm on one machine and 40 inches on the next."""
    found = read_dxf(dxf(SQUARE, units=units))
    assert [f.severity for f in found.findings] == [OFF]
    assert found.pages[0].contours[0].area == pytest.approx(1200)


@given(st.floats(-3, 3).filter(lambda b: abs(b) > 1e-3))
def test_a_bulge_is_the_tangent_of_a_quarter_of_the_turn(bulge: float) -> None:
    """DXF reference, LWPOLYLINE, code 42 (from memory): sagitta over half the chord."""
    start, end = (3.0, 4.0), (13.0, 28.0)
    cubics = bulge_cubics(start, end, bulge)
    contour = Contour(nodes=(start, end), curves={0: cubics})
    half = math.dist(start, end) / 2
    left = (-12 / 13, 5 / 13)  # to the left of the chord
    heights = [(x - 8) * left[0] + (y - 16) * left[1] for x, y in contour.walk.tolist()]
    # Counter-clockwise bulges to the right of the way from start to end.
    reach = min(heights) if bulge > 0 else max(heights)
    assert reach == pytest.approx(-bulge * half, abs=2e-3)
    assert cubics[-1][2] == end


def test_polylines_read_as_another_reader_reads_them() -> None:
    """Light and old polylines, closed and open, with bulges of either sign."""
    light = (
        "0 LWPOLYLINE;8 CUT;90 4;70 1;10 1.5;20 2.5;42 0.3;10 40;20 0;"
        "10 40;20 30;42 -1.2;10 0;20 30"
    )
    old = (
        "0 POLYLINE;8 CUT;66 1;70 0;0 VERTEX;8 CUT;10 5;20 6;42 0.5;0 VERTEX;8 CUT;10 50;20 60;"
        "0 VERTEX;8 CUT;10 70;20 60;0 SEQEND;8 CUT"
    )
    data = dxf(light, old)
    drawing = dxfgrabber.read(io.StringIO(data.decode()))
    ours = read_dxf(data).pages[0].contours
    assert len(ours) == len(drawing.entities) == 2
    for contour, theirs in zip(ours, drawing.entities, strict=True):
        assert [tuple(p[:2]) for p in theirs.points] == list(contour.nodes)
        assert theirs.is_closed == contour.closed
        curved = [n for n, bulge in enumerate(theirs.bulge) if bulge]
        assert sorted(contour.curves) == curved


def test_arcs_and_circles_have_their_radius() -> None:
    """A bore that measures as its own polygon is too small."""
    circle = only("0 CIRCLE;8 CUT;10 5;20 6;40 4")
    assert circle.closed
    assert circle.area == pytest.approx(16 * math.pi, rel=2e-4)
    assert all(math.dist(p, (5, 6)) == pytest.approx(4, abs=1e-6) for p in circle.nodes)
    arc = only("0 ARC;8 CUT;10 0;20 0;40 10;50 350;51 80")
    assert not arc.closed
    assert arc.nodes[0] == pytest.approx((10 * math.cos(math.radians(350)), -1.7364817766693033))
    assert max(x for x, _ in arc.walk.tolist()) == pytest.approx(10, abs=1e-3)
    half = only("0 ELLIPSE;8 CUT;10 0;20 0;11 0;21 20;40 0.5;41 0;42 3.141592653589793")
    assert half.walk.min(axis=0).tolist() == pytest.approx([-10, -20], abs=1e-3)


def test_loose_lines_and_arcs_are_joined_to_the_outline_that_they_draw() -> None:
    """Programs break an outline into its edges; a cutter sees one contour all the same."""
    parts = [
        "0 LINE;8 CUT;10 0;20 0;11 40;21 0",
        "0 ARC;8 CUT;10 40;20 15;40 15;50 270;51 90",
        "0 LINE;8 CUT;10 0;20 30;11 40;21 30",
        "0 LINE;8 CUT;10 0;20 30;11 0;21 0",
    ]
    for order in (parts, parts[::-1], [parts[i] for i in (2, 0, 3, 1)]):
        contour = only(*order)
        assert contour.closed
        assert abs(contour.area) == pytest.approx(1200 + 112.5 * math.pi, rel=1e-4)


def test_lines_that_branch_or_lie_in_other_layers_are_not_joined() -> None:
    """A score line that ends on the outline is no part of it."""
    lines = [
        "0 LINE;8 CUT;10 0;20 0;11 40;21 0",
        "0 LINE;8 CUT;10 40;20 0;11 40;21 30",
        "0 LINE;8 CUT;10 40;20 0;11 80;21 0",
        "0 LINE;8 SCORE;10 40;20 30;11 0;21 30",
    ]
    assert len(joined(read_dxf(dxf(*lines)).pages[0].contours)) == 4


def test_a_spline_of_bezier_curves_is_followed_and_another_is_told() -> None:
    """Some programs write every curve as a spline."""
    bezier = (
        "0 SPLINE;8 CUT;70 8;71 3;72 8;73 4;40 0;40 0;40 0;40 0;40 1;40 1;40 1;40 1;"
        "10 0;20 0;10 0;20 10;10 10;20 20;10 20;20 20"
    )
    contour = only(bezier)
    assert contour.walk[len(contour.walk) // 2].tolist() == pytest.approx([6.25, 13.75], abs=0.3)
    found = read_dxf(dxf(bezier.replace("40 1;40 1;40 1;40 1", "40 .5;40 1;40 1;40 1")))
    assert [(f.severity, f.text) for f in found.findings] == [
        (NOTE, "1 SPLINE in it cannot be measured")
    ]


def test_what_is_not_followed_is_said() -> None:
    """A piece that hides in a block would pass for one that is not there."""
    found = read_dxf(dxf(SQUARE, "0 INSERT;8 CUT;2 PART;10 0;20 0", "0 TEXT;8 NOTE;1 hello"))
    assert [f.text for f in found.findings] == ["1 inserted block in it cannot be measured"]
    assert found.pages[0].words == ("hello",)


def test_an_entity_that_is_drawn_from_behind_is_mirrored() -> None:
    """Extrusion (0, 0, -1) turns x over: DXF reference, object coordinates (from memory)."""
    contour = only(SQUARE + ";210 0;220 0;230 -1")
    assert contour.nodes[1] == (-40, 0)


def test_layout_sheets_are_left_out() -> None:
    """A cutter cuts the drawing itself, not the frame on a layout sheet."""
    assert len(read_dxf(dxf(SQUARE, SQUARE.replace("8 CUT", "67 1;8 CUT"))).pages[0].contours) == 1


@pytest.mark.parametrize(
    "data",
    [
        b"AutoCAD Binary DXF\r\n\x1a\x00",
        b"0\nSECTION\n2\nHEADER\n0\nENDSEC\n0\nEOF\n",
        b"0\nSECTION\nhello\nworld\n",
        dxf(SQUARE).replace(b"ENTITIES", b"OBJECTS"),
    ],
)
def test_what_is_no_dxf_is_refused(data: bytes) -> None:
    """A file that cannot be read has not been found good."""
    with pytest.raises(DrawingFileError):
        read_dxf(data)


def test_a_number_that_is_none_is_told() -> None:
    """One damaged corner must not be read as 0."""
    found = read_dxf(dxf(SQUARE, "0 LINE;8 CUT;10 0;20 x;11 40;21 0"))
    assert [f.severity for f in found.findings] == [OFF]
