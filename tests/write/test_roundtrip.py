"""Each format read back by readers that share no code with the writers, and against the others."""

import functools
import io
import math
from collections.abc import Callable
from pathlib import Path as FilePath

import pyogrio.raw
import pytest
import readback
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from readback import MICROMETRE, Walk
from samplesheets import CORNER, bare_piece, full_sheet

from jiggen.drawing.affine import Affine
from jiggen.drawing.shapes import Path
from jiggen.drawing.sheet import Placed, Sheet
from jiggen.write.colours import Looks
from jiggen.write.cutting import cut_drawing
from jiggen.write.dxf import dxf_bytes
from jiggen.write.pdf import pdf_bytes
from jiggen.write.svg import svg_bytes

NAMES = ("guide-a", "block", "guide-a-2")


def written(sheet: Sheet) -> dict[str, bytes]:
    cut, looks = cut_drawing(sheet, live_text=False), Looks()
    pdf, _ = pdf_bytes([sheet], title="t")
    return {"svg": svg_bytes(cut, looks), "dxf": dxf_bytes(cut, looks), "pdf": pdf}


@functools.cache
def full_files() -> dict[str, bytes]:
    return written(full_sheet())


def pdf_outlines(data: bytes, expected: dict[str, Walk]) -> dict[str, Walk]:
    """Return from a PDF, for each outline, the drawn path that is nearest to it."""
    (page,) = readback.read_pdf(data)
    return {
        name: min(
            page.paths[name.removesuffix("-2")],
            key=lambda walk, wanted=wanted: readback.worst_distance(wanted, walk),
        )
        for name, wanted in expected.items()
    }


def model_outlines() -> dict[str, Walk]:
    pieces = [placed.on_sheet for placed in full_sheet().placed]
    return {
        name: readback.model_walk(piece.outline) for name, piece in zip(NAMES, pieces, strict=True)
    }


def outlines(form: str) -> dict[str, Walk]:
    data = full_files()[form]
    if form == "pdf":
        return pdf_outlines(data, model_outlines())
    return readback.read_svg(data) if form == "svg" else readback.read_dxf(data)


@pytest.mark.parametrize("form", ["svg", "dxf", "pdf"])
def test_every_outline_comes_back_within_a_micrometre(form: str) -> None:
    """What the machine follows is what was computed; a lost digit is a wrong guide."""
    expected, found = model_outlines(), outlines(form)
    assert set(found) == set(NAMES)
    for name in NAMES:
        assert readback.worst_distance(expected[name], found[name]) < MICROMETRE


@pytest.mark.parametrize("form", ["svg", "dxf", "pdf"])
def test_the_check_angle_comes_back_within_a_thousandth_of_a_degree(form: str) -> None:
    """The corner is the product."""
    for name in ("guide-a", "guide-a-2"):
        walk = outlines(form)[name]
        # The two straight edges: from the first point, and the longest one.
        at = max(range(0, len(walk) - 2, 2), key=lambda i: math.dist(walk[i], walk[i + 2]))
        angle = readback.corner_degrees([walk[0], walk[2]], [walk[at + 2], walk[at]])
        assert angle == pytest.approx(CORNER, abs=1e-3)


def test_the_formats_agree_with_one_another() -> None:
    """Who checks on paper and cuts from the DXF must have checked the same piece."""
    svg, dxf, pdf = (outlines(form) for form in ("svg", "dxf", "pdf"))
    for name in NAMES:
        # The DXF alone has every arc in one part; the others may have more points.
        assert readback.worst_distance(dxf[name], svg[name]) < MICROMETRE
        assert readback.worst_distance(dxf[name], pdf[name]) < MICROMETRE


def test_gdal_sees_the_same_corners_in_the_dxf(tmp_path: FilePath) -> None:
    """A second reader of another make: one alone may share a misunderstanding with the writer."""
    (tmp_path / "cut-1.dxf").write_bytes(full_files()["dxf"])
    meta, _, geometry, values = pyogrio.raw.read(tmp_path / "cut-1.dxf")
    layers = values[list(meta["fields"]).index("Layer")]
    lines = [
        line
        for line, layer in zip(shapely.from_wkb(geometry), layers, strict=True)
        if layer == "CUT"
    ]
    assert set(layers) == {"CUT", "SCORE", "ENGRAVE", "NOTE"}
    for walk in model_outlines().values():
        corners = shapely.MultiPoint(walk[::2])
        nearest = min(
            max(
                shapely.distance(shapely.MultiPoint(line.coords), corner)
                for corner in corners.geoms
            )
            for line in lines
        )
        assert nearest < MICROMETRE


def test_holes_come_back_in_every_format() -> None:
    """A dowel hole in the wrong place tilts a whole block."""
    files, sheet = full_files(), full_sheet()
    holes = sorted(
        (hole.centre.x, hole.centre.y, hole.radius)
        for placed in sheet.placed
        for hole in placed.on_sheet.inner
        if not isinstance(hole, Path)
    )
    in_svg = sorted(
        (float(c.get("cx", "")), 297 - float(c.get("cy", "")), float(c.get("r", "")))
        for group in readback.svg_root(files["svg"]).findall("g")
        if group.get("id") == "CUT"
        for c in group.iter("circle")
    )
    import dxfgrabber

    drawing = dxfgrabber.read(io.StringIO(files["dxf"].decode("ascii")))
    in_dxf = sorted(
        (e.center[0], e.center[1], e.radius)
        for e in drawing.entities
        if e.dxftype == "CIRCLE" and e.layer == "CUT"
    )
    (page,) = readback.read_pdf(files["pdf"])
    round_paths = []
    for walk in (walk for walks in page.paths.values() for walk in walks):
        left, right = min(p[0] for p in walk), max(p[0] for p in walk)
        low, high = min(p[1] for p in walk), max(p[1] for p in walk)
        centre, radius = ((left + right) / 2, (low + high) / 2), (right - left) / 2
        if len(walk) > 9 and all(abs(math.dist(p, centre) - radius) < 2e-5 for p in walk):
            round_paths.append((*centre, radius))
    scored = {(p[0], p[1]) for p in round_paths if abs(p[2] - 1.5) < 2e-5}
    in_pdf = sorted(p for p in round_paths if (p[0], p[1]) not in scored)
    # On paper a hole is tinted and then outlined.
    assert in_pdf[::2] == in_pdf[1::2]
    in_pdf = in_pdf[::2]
    for found in (in_svg, in_dxf, in_pdf):
        assert len(found) == len(holes) == 4
        for a, b in zip(holes, found, strict=True):
            assert a == pytest.approx(b, abs=MICROMETRE)


def _arc_reversed(walk: Walk) -> Walk:
    start, middle, end = walk[2:5]
    other = (start[0] + end[0] - middle[0], start[1] + end[1] - middle[1])
    return [*walk[:3], other, *walk[4:]]


@pytest.mark.parametrize("name", ["guide-a", "block"])
@pytest.mark.parametrize(
    "tamper",
    [
        pytest.param(lambda w: [(x + 0.01, y) for x, y in w], id="0.01 mm to the right"),
        pytest.param(lambda w: [(y, x) for x, y in w], id="x and y exchanged"),
        pytest.param(lambda w: [(-x, y) for x, y in w], id="mirrored"),
        pytest.param(lambda w: [(x * 1.0001, y) for x, y in w], id="one in ten thousand wider"),
        pytest.param(lambda w: w[::-1], id="run the other way"),
        pytest.param(lambda w: w[:-2], id="an edge lost"),
        pytest.param(lambda w: [*w[:5], (w[4][0] + 0.01, w[4][1]), *w[6:]], id="a middle moved"),
        pytest.param(lambda w: [*w[:2], (w[2][0], w[2][1] - 0.01), *w[3:]], id="a corner moved"),
    ],
)
def test_the_comparator_sees_a_wrong_outline(name: str, tamper: Callable[[Walk], Walk]) -> None:
    """A comparison that passes everything proves nothing."""
    expected = model_outlines()[name]
    assert readback.worst_distance(expected, expected) < 1e-9
    assert readback.worst_distance(expected, tamper(expected)) > MICROMETRE


def test_the_comparator_sees_a_reversed_arc() -> None:
    """The corners are right, and the arc bulges the other way."""
    expected = model_outlines()["guide-a"]
    assert readback.worst_distance(expected, _arc_reversed(expected)) > 1.0


@pytest.mark.parametrize(
    ("form", "old", "new"),
    [
        ("svg", b"A 126.113545 126.113545 0 0 0", b"A 126.113545 126.113545 0 0 1"),
        ("svg", b"M 25.7 263.9 L 82.823457", b"M 25.7 263.9 L 82.833457"),
        ("svg", b'width="210mm"', b'width="210px"'),
        ("dxf", b"42\n0.0625\n", b"42\n-0.0625\n"),
        ("dxf", b"82.823457", b"82.833457"),
        ("pdf", b" 93.826772 m", b" 93.855118 m"),
    ],
)
def test_a_tampered_file_is_seen_by_its_reader(form: str, old: bytes, new: bytes) -> None:
    """From the bytes up: an arc turned over, a corner 0.01 mm off, a lost unit."""
    data = full_files()[form]
    assert data.count(old) >= 1
    broken = data.replace(old, new)
    if form == "pdf":
        found = pdf_outlines(broken, model_outlines())
    else:
        found = readback.read_svg(broken) if form == "svg" else readback.read_dxf(broken)
    worst = max(readback.worst_distance(model_outlines()[name], found[name]) for name in NAMES)
    assert worst > MICROMETRE


@settings(max_examples=60, deadline=None)
@given(
    turn=st.floats(0, 360),
    x=st.floats(40, 300),
    y=st.floats(40, 300),
    bulges=st.lists(
        st.one_of(st.just(0.0), st.floats(0.01, 3), st.floats(-3, -0.01)), min_size=4, max_size=4
    ),
    wide=st.floats(3, 200),
)
def test_any_outline_comes_back(
    turn: float, x: float, y: float, bulges: list[float], wide: float
) -> None:
    """Whatever the job's numbers are; crossings do not matter to a writer."""
    corners = [(0.0, 0.0), (wide, 1.7), (wide * 0.9, 71.3), (-5.5, 64.0)]
    outline = Path.closed([(*corner, bulge) for corner, bulge in zip(corners, bulges, strict=True)])
    sheet = Sheet(
        name="s",
        width=350.0,
        height=350.0,
        placed=(Placed(piece=bare_piece(outline), place=Affine.move(x, y) @ Affine.turn(turn)),),
    )
    expected = readback.model_walk(sheet.placed[0].on_sheet.outline)
    files = written(sheet)
    (page,) = readback.read_pdf(files["pdf"])
    for walk in (
        readback.read_svg(files["svg"])["bare"],
        readback.read_dxf(files["dxf"])["bare"],
        page.paths["bare"][0],
    ):
        assert readback.worst_distance(expected, walk) < MICROMETRE
