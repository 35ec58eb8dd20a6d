"""The hole strip end to end: 3 m of edge, read back from every file and chained by its crosses."""

import functools
import io
import json
import math
from typing import Any

import pikepdf
import pytest
from msgspec.structs import replace
from readback import read_pdf
from samplejobs import a_job, row_of_holes, skins

from jiggen.jigs import plan
from jiggen.job.sections import Job, Print, Strip
from jiggen.make import Made, make_drawings
from jiggen.solve import solve

#: 127 holes over 3000.8 mm, at a pitch that no tile is a multiple of.
PLACES = tuple(17.3 + 23.7 * n + 7.0 * (n > 60) + 7.5 * (n > 99) for n in range(127))
#: mm. What the strip is held to from end to end; half and whole of a cross.
EXACT, ARM = 0.01, 5.0
A4, LETTER = Print(), Print(paper=(215.9, 279.4), paper_name="letter")
LYING = Print(paper=(420.0, 297.0), paper_name="420 x 297")

Spot = tuple[float, float]
#: Middles of circles with their radii, and the ends of straight strokes; mm.
Drawn = tuple[list[tuple[Spot, float]], list[tuple[Spot, Spot]]]


def long_edge(places: tuple[float, ...] = PLACES, **changes: Any) -> Job:
    holes = row_of_holes(len(places), positions=places)
    job = a_job(skins(6.0, 4.0), holes=holes, rear_thickness=0.8, depth=24.0, strip=Strip())
    return replace(job, **changes)


def made(job: Job, formats: tuple[str, ...]) -> Made:
    """Return what is made of the strip alone."""
    known = plan.JIGS
    plan.JIGS = ("jiggen.jigs.strip",)
    try:
        return make_drawings(solve(job), formats=formats, only=("strip",))
    finally:
        plan.JIGS = known


@functools.cache
def usual() -> Made:
    """Return the A4 drawings of the long edge in every format."""
    return made(long_edge(), ("pdf", "svg", "dxf"))


def pdf_pieces(data: bytes) -> dict[str, Drawn]:
    """Return circles and straight strokes by piece, from the operators of a PDF."""
    found: dict[str, Drawn] = {}
    for page in read_pdf(data):
        for name, walks in page.paths.items():
            circles, strokes = found.setdefault(name, ([], []))
            for walk in walks:
                if (circle := _circle(walk)) is not None:
                    circles.append(circle)
                elif len(walk) == 3:
                    strokes.append((walk[0], walk[-1]))
    found.pop("", None)
    return found


def _circle(walk: list[Spot]) -> tuple[Spot, float] | None:
    """Return middle and radius of a walk that goes round; no corner of a rectangle does."""
    xs, ys = [p[0] for p in walk], [p[1] for p in walk]
    middle, radius = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2), (max(xs) - min(xs)) / 2
    if len(walk) > 9 and all(abs(math.dist(p, middle) - radius) < 1e-4 for p in walk):
        return middle, radius
    return None


def svg_piece(data: bytes) -> Drawn:
    """Return circles and straight strokes of an SVG in mm, its units applied by svgelements."""
    from svgelements import SVG, Circle, Line
    from svgelements import Path as SvgPath

    mm = 25.4 / 96.0
    circles, strokes = [], []
    for element in SVG.parse(io.BytesIO(data), ppi=96.0).elements():
        if isinstance(element, Circle):
            circles.append(((element.cx * mm, -element.cy * mm), element.rx * mm))
        elif isinstance(element, SvgPath):
            lines = [s for s in element if isinstance(s, Line)]
            if len(lines) == 1:
                ends = [(p.x * mm, -p.y * mm) for p in (lines[0].start, lines[0].end)]
                strokes.append((ends[0], ends[1]))
    return circles, strokes


def dxf_piece(data: bytes) -> Drawn:
    """Return circles and straight strokes of a DXF, by dxfgrabber."""
    import dxfgrabber

    entities = dxfgrabber.read(io.StringIO(data.decode("ascii"))).entities
    circles = [((e.center[0], e.center[1]), e.radius) for e in entities if e.dxftype == "CIRCLE"]
    strokes = [
        ((e.points[0][0], e.points[0][1]), (e.points[1][0], e.points[1][1]))
        for e in entities
        if e.dxftype == "LWPOLYLINE" and len(e.points) == 2
    ]
    return circles, strokes


def measured(drawn: Drawn) -> tuple[float, list[float]]:
    """Return a tile's length from cross to cross, and its holes from the cross at the zero end.

    Nothing but the shapes is used: forward is up, and the zero end lies at the right.
    """
    circles, strokes = drawn
    middles: dict[bool, set[Spot]] = {True: set(), False: set()}
    for p, q in strokes:
        if math.dist(p, q) == pytest.approx(ARM, abs=1e-5):
            lying = abs(p[1] - q[1]) < 1e-5
            middles[lying].add((round((p[0] + q[0]) / 2, 4), round((p[1] + q[1]) / 2, 4)))
    crosses = sorted(middles[True] & middles[False])
    assert len(crosses) == 4
    (x0, low), (_, high), (x1, _), _ = crosses
    assert high - low > 30.0
    # The exact ends, from the lying strokes of the two lower crosses.
    exact = sorted((p[0] + q[0]) / 2 for p, q in strokes if abs(p[1] - low) < 1e-3
                   and math.dist(p, q) == pytest.approx(ARM, abs=1e-5)
                   and abs(p[1] - q[1]) < 1e-5)  # fmt: skip
    assert len(exact) == 2
    assert exact == pytest.approx([x0, x1], abs=1e-3)
    holes = sorted(exact[1] - c[0] for c, radius in circles if abs(radius - 1.25) < 1e-4)
    return exact[1] - exact[0], holes


def chained(tiles: list[Drawn]) -> tuple[float, list[float]]:
    """Return first cross to last, and every hole from the first, tiles laid cross on cross."""
    at, holes = 0.0, []
    for drawn in tiles:
        length, own = measured(drawn)
        holes += [at + along for along in own]
        at += length
    return at, sorted(holes)


def assert_true(total: float, holes: list[float], nominal: float) -> None:
    """Check every hole against the job's own numbers, from the first hole on, over all tiles."""
    assert total == pytest.approx(nominal, abs=EXACT)
    wanted = [place - PLACES[0] for place in PLACES]
    found = [hole - holes[0] for hole in holes]
    for hole in found:
        assert min(abs(hole - place) for place in wanted) < EXACT
    for place in wanted:
        assert min(abs(hole - place) for hole in found) < EXACT
    assert found[-1] == pytest.approx(wanted[-1], abs=EXACT)


def whole_length(some: Made) -> float:
    whole = next(p for p in some.pieces if p.name == "strip")
    return next(d.nominal for d in whole.dimensions if d.name == "whole")


@pytest.mark.parametrize("paper", [A4, LETTER, LYING], ids=lambda p: p.paper_name)
def test_tiles_chained_by_their_crosses_are_true_over_three_metres(paper):
    """A tile that is a tenth short puts the last hole of sixteen a millimetre and a half off."""
    some = usual() if paper is A4 else made(long_edge(print=paper), ("pdf",))
    pieces = pdf_pieces(some.files["print.pdf"])
    assert len(pieces) >= 8
    tiles = [pieces[f"strip-{n}"] for n in range(1, len(pieces) + 1)]
    assert_true(*chained(tiles), whole_length(some))


def test_the_roll_is_one_page_as_long_as_the_strip_and_true_over_three_metres():
    """A plotter's page is joined by nobody: it must be right by itself."""
    some = usual()
    (name, drawn), *others = pdf_pieces(some.files["strip-roll.pdf"]).items()
    assert (name, others) == ("strip", [])
    assert_true(*chained([drawn]), whole_length(some))
    with pikepdf.open(io.BytesIO(some.files["strip-roll.pdf"])) as pdf:
        (page,) = pdf.pages
        width = float(page.MediaBox[2]) * 25.4 / 72
        assert "/UserUnit" not in page
    whole = next(p for p in some.pieces if p.name == "strip")
    assert width == pytest.approx(whole.bounds().width + 26.0, abs=1e-3)
    assert width < 5080.0


def test_svg_and_dxf_hold_the_whole_strip_true_over_three_metres():
    """A strip engraved on a long bed has no joins to check it at."""
    some = usual()
    cut = {path for path in some.files if path.endswith(("svg", "dxf"))}
    assert cut == {"pieces/strip.svg", "pieces/strip.dxf"}
    for drawn in (
        svg_piece(some.files["pieces/strip.svg"]),
        dxf_piece(some.files["pieces/strip.dxf"]),
    ):
        assert_true(*chained([drawn]), whole_length(some))


def test_the_records_hold_the_whole_length_once_and_each_tiles_own():
    """The strip is judged over its whole length: a record without it judges no strip."""
    some = usual()
    rows = {row["file"]: row for row in json.loads(some.files["manifest.json"])["files"]}
    on_pages = [p for s in rows["print.pdf"]["sheets"] for p in s["pieces"]]
    assert {p["dimensions"][0]["name"] for p in on_pages} == {"crosses"}
    for file in ("strip-roll.pdf", "pieces/strip.svg"):
        ((piece,),) = [s["pieces"] for s in rows[file]["sheets"]]
        (size,) = [d for d in piece["dimensions"] if d["name"] == "whole"]
        assert size["nominal"] == pytest.approx(whole_length(some))
    tiles = sum(p["dimensions"][0]["nominal"] for p in on_pages)
    assert tiles == pytest.approx(whole_length(some), abs=1e-5)


def test_only_the_pages_are_corrected_and_the_roll_is_not():
    """The roll comes from another machine: this printer's inverse would bend it."""
    some = made(long_edge(print=Print(scale_x=0.985, scale_y=1.012)), ("pdf",))
    rows = {row["file"]: row for row in json.loads(some.files["manifest.json"])["files"]}
    assert "correction" in rows["print.pdf"]
    assert "correction" not in rows["strip-roll.pdf"]
    drawn = pdf_pieces(some.files["strip-roll.pdf"])["strip"]
    assert_true(*chained([drawn]), whole_length(some))


def test_without_being_asked_for_no_roll_is_made():
    """A page of three metres in the folder is sent to the office printer by somebody."""
    some = made(long_edge(PLACES[:9], strip=Strip(roll=False)), ("pdf",))
    assert "strip-roll.pdf" not in some.files
