"""The hole strip end to end: 3 m of edge, read back from every file and chained by its crosses."""

import dataclasses
import functools
import io
import json
import math
import re
from typing import Any

import pytest
from readback import read_pdf
from samplejobs import a_job, row_of_holes, skins

from jiggen.drawing.shapes import Path, Text
from jiggen.drawing.sheet import Sheet
from jiggen.jigs import build_pieces
from jiggen.jigs.order_page import OrderLine, in_columns
from jiggen.job.sections import Job, Print, Strip
from jiggen.make import Made, drawn_records, make_drawings
from jiggen.sheets import print_sheets
from jiggen.solution import Solution
from jiggen.solve import solve
from jiggen.verify import recorded_sheets

#: 127 holes over 3000.8 mm, at a pitch that no tile is a multiple of.
PLACES = tuple(17.3 + 23.7 * n + 7.0 * (n > 60) + 7.5 * (n > 99) for n in range(127))
#: mm. What the strip is held to from end to end.
EXACT = 0.01
A4, LETTER = Print(), Print(paper=(215.9, 279.4), paper_name="letter")
LYING = Print(paper=(420.0, 297.0), paper_name="420 x 297")

Spot = tuple[float, float]
Drawn = tuple[list[tuple[Spot, float]], list[list[Spot]]]


def long_edge(places: tuple[float, ...] = PLACES, **changes: Any) -> Job:
    holes = row_of_holes(len(places), positions=places, keep_out=frozenset({1, 50}))
    job = a_job(skins(6.0, 4.0), holes=holes, rear_thickness=0.8, depth=24.0, strip=Strip())
    return dataclasses.replace(job, **changes)


def made(job: Job, formats: tuple[str, ...]) -> Made:
    return make_drawings(solve(job), formats=formats, only=("strip",))


@functools.cache
def usual() -> Made:
    """Return the A4 drawings of the long edge in every format."""
    return made(long_edge(), ("pdf", "svg", "dxf"))


@functools.cache
def usual_pages() -> tuple[Sheet, ...]:
    """Return the pages of the same, before they are written."""
    solution = solve(long_edge())
    return tuple(print_sheets(solution, build_pieces(solution, ("strip",)), ()))


def pdf_pieces(data: bytes) -> dict[str, Drawn]:
    """Return circles and polygons by piece, from the operators of a PDF."""
    found: dict[str, Drawn] = {}
    for page in read_pdf(data):
        for name, walks in page.paths.items():
            circles, polygons = found.setdefault(name, ([], []))
            for walk in walks:
                if math.dist(walk[0], walk[-1]) > 1e-6:
                    continue
                if len(walk) > 40:
                    circles.append(_circle(walk))
                else:
                    polygons.append(walk[:-1:2])
    found.pop("", None)
    return found


def _circle(walk: list[Spot]) -> tuple[Spot, float]:
    xs, ys = [p[0] for p in walk], [p[1] for p in walk]
    middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    return middle, (max(xs) - min(xs)) / 2


def svg_piece(data: bytes) -> Drawn:
    """Return circles and polygons of an SVG in mm, its units applied by svgelements."""
    from svgelements import SVG, Circle, Line
    from svgelements import Path as SvgPath

    mm = 25.4 / 96.0
    svg = SVG.parse(io.BytesIO(data), ppi=96.0)
    circles, polygons = [], []
    for element in svg.elements():
        if isinstance(element, Circle):
            circles.append(((element.cx * mm, -element.cy * mm), element.rx * mm))
        elif isinstance(element, SvgPath):
            lines = [s for s in element if isinstance(s, Line)]
            polygons.append([(s.start.x * mm, -s.start.y * mm) for s in lines])
            if element and element[-1].end == element[0].end and lines:
                last = lines[-1].end
                polygons[-1].append((last.x * mm, -last.y * mm))
    return circles, polygons


def dxf_piece(data: bytes) -> Drawn:
    """Return circles and polygons of a DXF, by dxfgrabber."""
    import dxfgrabber

    entities = dxfgrabber.read(io.StringIO(data.decode("ascii"))).entities
    circles = [((e.center[0], e.center[1]), e.radius) for e in entities if e.dxftype == "CIRCLE"]
    polygons = [
        [(p[0], p[1]) for p in e.points]
        for e in entities
        if e.dxftype == "LWPOLYLINE" and e.is_closed
    ]
    return circles, polygons


def measured(drawn: Drawn) -> tuple[float, list[tuple[float, float]]]:
    """Return a tile's length from cross to cross, and its holes along and forward of them, mm.

    Nothing but the shapes is used: the outline with its cut corner tells which cross is which.
    """
    circles, polygons = drawn
    outline = max(polygons, key=lambda p: max(math.dist(p[0], q) for q in p))
    assert len(outline) == 5
    sides = list(zip(outline, [*outline[1:], outline[0]], strict=True))
    cut = min(sides, key=lambda side: math.dist(*side))
    assert math.dist(*cut) == pytest.approx(5.0 * math.sqrt(2.0), abs=0.2)
    crosses = [_middle(p) for p in polygons if _is_diamond(p)]
    assert len(crosses) == 4
    corner = _middle(list(cut))
    near_up = min(crosses, key=lambda c: math.dist(c, corner))
    near, far_up, far = sorted(
        (c for c in crosses if c != near_up), key=lambda c: math.dist(c, near_up)
    )
    length, high = math.dist(near, far), math.dist(near, near_up)
    along = ((far[0] - near[0]) / length, (far[1] - near[1]) / length)
    up = ((near_up[0] - near[0]) / high, (near_up[1] - near[1]) / high)
    assert abs(along[0] * up[0] + along[1] * up[1]) < 1e-6
    assert math.dist(near_up, far_up) == pytest.approx(length, abs=1e-5)
    holes = [
        tuple((c[0] - near[0]) * d[0] + (c[1] - near[1]) * d[1] for d in (along, up))
        for c, radius in circles
        if radius == pytest.approx(1.25, abs=1e-5)
    ]
    return length, sorted(holes)


def _middle(some: list[Spot]) -> Spot:
    return (sum(p[0] for p in some) / len(some), sum(p[1] for p in some) / len(some))


def _is_diamond(corners: list[Spot]) -> bool:
    if len(corners) != 4:
        return False
    sides = [math.dist(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)]
    return all(side == pytest.approx(1.3 * math.sqrt(2.0), abs=1e-4) for side in sides)


def chained(tiles: list[Drawn]) -> tuple[float, list[float]]:
    """Return first cross to last, and every hole from the first, tiles laid cross on cross."""
    at, holes = 0.0, []
    for drawn in tiles:
        length, own = measured(drawn)
        holes += [at + along for along, _ in own]
        at += length
    return at, sorted(holes)


def assert_true(
    total: float, holes: list[float], places: tuple[float, ...], nominal: float
) -> None:
    """Check every hole against the job's own numbers, from the first hole on, over all tiles."""
    assert total == pytest.approx(nominal, abs=EXACT)
    wanted = [place - places[0] for place in places]
    found = [hole - holes[0] for hole in holes]
    for hole in found:
        assert min(abs(hole - place) for place in wanted) < EXACT
    for place in wanted:
        assert min(abs(hole - place) for hole in found) < EXACT
    assert found[-1] == pytest.approx(wanted[-1], abs=EXACT)


def whole_length(some: Made) -> float:
    whole = next(p for p in some.pieces if p.name == "strip")
    return next(d.nominal for d in whole.dimensions if d.name == "bar-x-crosses")


@pytest.mark.parametrize(
    ("paper", "side"), [(A4, "a"), (LETTER, "b"), (LYING, "a")], ids=lambda p: str(p)[:1]
)
def test_tiles_chained_by_their_crosses_are_true_over_three_metres(paper, side):
    """A tile that is a tenth short puts the last hole of fourteen a millimetre and a half off."""
    asked = Strip(side=side, roll=False)
    some = usual() if paper is A4 else made(long_edge(print=paper, strip=asked), ("pdf",))
    pieces = pdf_pieces(some.files["print.pdf"])
    count = len(pieces)
    assert count >= 8
    total, holes = chained([pieces[f"strip-{n}"] for n in range(1, count + 1)])
    assert_true(total, holes, PLACES, whole_length(some))
    # The words on the last tile say this very length.
    last = next(p for p in some.pieces if p.name == f"strip-{count}")
    said = [m.shape.text for m in last.marks if hasattr(m.shape, "text")]
    assert any(f"{total:.2f} mm" in text for text in said)
    # And what the file's rounding adds up to, which is no less than what it is.
    (figure,) = re.findall(rf"Rounding(?:, {count} tiles)?: ([0-9.]+) mm max", " ".join(said))
    assert abs(total - whole_length(some)) <= float(figure) + 1e-9
    assert float(figure) < EXACT / 100


@pytest.mark.parametrize("paper", [A4, LETTER], ids=lambda p: p.paper_name)
def test_a_page_holds_two_tiles_that_lie_along_its_long_side(paper):
    """Fourteen tiles on fourteen pages waste half of the paper and are twice the work."""
    asked = Strip(roll=False)
    some = usual() if paper is A4 else made(long_edge(print=paper, strip=asked), ("pdf",))
    pages = [set(p.paths) - {""} for p in read_pdf(some.files["print.pdf"])]
    with_tiles = [page for page in pages if page]
    assert all(len(page) >= 2 for page in with_tiles[:-1])
    order = [n for page in with_tiles for n in sorted(int(name[6:]) for name in page)]
    assert order == sorted(order)
    room = max(paper.paper) - 2 * paper.margin
    tile = next(p for p in some.pieces if p.name == "strip-1")
    assert tile.outline.bounds().width > 0.8 * room


def test_the_roll_is_one_page_as_long_as_the_strip_and_true_over_three_metres():
    """A plotter's page is joined by nobody: it must be right by itself."""
    import pikepdf

    some = usual()
    (name, drawn), *others = pdf_pieces(some.files["strip-roll.pdf"]).items()
    assert (name, others) == ("strip", [])
    assert_true(*chained([drawn]), PLACES, whole_length(some))
    with pikepdf.open(io.BytesIO(some.files["strip-roll.pdf"])) as pdf:
        (page,) = pdf.pages
        width = float(page.MediaBox[2]) * 25.4 / 72
        assert "/UserUnit" not in page
    whole = next(p for p in some.pieces if p.name == "strip")
    assert width == pytest.approx(whole.bounds().width + 20.0, abs=1e-3)
    assert width < 5080.0


def test_a_roll_beyond_what_viewers_open_is_two_pages_that_chain():
    """A page over 5080 mm opens in no viewer.

    Source: MEM, 14 400 units of 1/72 in.
    """
    places = tuple(20.0 + 41.3 * n for n in range(170))
    some = made(long_edge(places), ("pdf",))
    pages = pdf_pieces(some.files["strip-roll.pdf"])
    assert list(pages) == ["strip-roll-1", "strip-roll-2"]
    total, holes = chained(list(pages.values()))
    assert_true(total, holes, places, whole_length(some))


def test_svg_and_dxf_hold_the_whole_strip_true_over_three_metres():
    """A strip engraved on a long bed has no joins to check it at."""
    some = usual()
    assert {path for path in some.files if path.endswith(("svg", "dxf"))} == {
        "pieces/strip.svg",
        "pieces/strip.dxf",
    }
    nominal = whole_length(some)
    for drawn in (
        svg_piece(some.files["pieces/strip.svg"]),
        dxf_piece(some.files["pieces/strip.dxf"]),
    ):
        assert_true(*chained([drawn]), PLACES, nominal)


def test_only_the_pages_are_corrected_and_the_roll_is_not():
    """The roll comes from another machine: this printer's inverse would bend it."""
    bad = Print(scale_x=0.985, scale_y=1.012)
    some = made(long_edge(print=bad), ("pdf",))
    rows = {row["file"]: row for row in json.loads(some.files["manifest.json"])["files"]}
    assert "correction" in rows["print.pdf"]
    assert "correction" not in rows["strip-roll.pdf"]
    drawn = pdf_pieces(some.files["strip-roll.pdf"])["strip"]
    assert_true(*chained([drawn]), PLACES, whole_length(some))


def test_a_roll_is_measured_by_its_own_bars_and_is_no_page():
    """Bars read on the office printer say nothing of the plotter in the copy shop."""
    some = usual()
    sheets = recorded_sheets(json.loads(some.files["manifest.json"]))
    (roll,) = [sheet for sheet in sheets if sheet.name.startswith("roll")]
    assert not roll.printed
    assert {"strip/bar-x-crosses", "strip/bar-y-crosses", "strip/diagonal"} <= set(
        roll.to_measure()
    )
    as_planned = recorded_sheets(drawn_records(solve(long_edge()), ("strip",)))
    assert [sheet for sheet in as_planned if sheet.name == "roll 1"] == [roll]


def test_without_the_section_nothing_of_it_is_drawn():
    """A user who asked for no strip gets the pages that he had before."""
    some = make_drawings(solve(long_edge(strip=None)), formats=("pdf",))
    assert not [p for p in some.pieces if p.kind == "strip"]
    assert "strip-roll.pdf" not in some.files
    without = made(long_edge(PLACES[:9], strip=Strip(roll=False)), ("pdf",))
    assert "strip-roll.pdf" not in without.files


def test_the_order_page_lists_every_hole_once_with_its_box_and_its_guide():
    """A hole that is missing from the list is drilled by guess."""
    solution = solve(long_edge())
    pages = [s for s in usual_pages() if any(_says(m, "Drilling order") for m in s.marks)]
    listed: dict[int, tuple[str, ...]] = {}
    for sheet in pages:
        words = [m.shape for m in sheet.marks if isinstance(m.shape, Text)]
        for box in (m.shape.bounds() for m in sheet.marks if _is_box(m)):
            beside = sorted(
                (w.at.x, w.text)
                for w in words
                if abs(w.at.y - box.bottom) < 2.0 and 0 < w.at.x - box.right < 46.0
            )
            order, number, *rest = (text for _, text in beside)
            assert int(number) not in listed
            listed[int(number)] = (order, *rest)
    drilled = [hole for hole in solution.holes if hole.drill_now]
    assert sorted(listed) == [hole.number for hole in drilled]
    guides = {hole.number: serving(solution, hole.number) for hole in drilled}
    for hole in drilled:
        order, at, *guide, pin = listed[hole.number]
        # The strip has the same number over the hole.
        assert int(order) == hole.order
        assert at == f"{hole.at:.2f}"
        if len(set(map(frozenset, guides.values()))) > 1:
            assert set(guide[0].split()) == guides[hole.number]
        else:
            assert guide == [] or set(guide[0].split()) == guides[hole.number]
        assert pin == solution.job.sides["ab".index(hole.pin)]
    assert all(any(_says(m, "Not drilled now: 1, 50.") for m in s.marks) for s in pages)


def serving(solution: Solution, number: int) -> set[str]:
    """Return the names of the guides that serve a hole."""
    return {g.name for g in solution.guides if g.first_hole <= number <= g.last_hole}


def pages_of_strip(job: Job) -> list[Sheet]:
    solution = solve(job)
    sheets = print_sheets(solution, build_pieces(solution, ("strip",)), ())
    wanted = ("Hole strip", "Drilling order")
    return [s for s in sheets if any(_says(m, word) for m in s.marks for word in wanted)]


def words_of(sheet: Sheet) -> list[str]:
    return [m.shape.text for m in sheet.marks if isinstance(m.shape, Text)]


def test_one_guide_for_all_is_said_once_and_long_names_of_sides_become_letters():
    """A column that is 1 all the way down hides the one that matters."""
    job = long_edge(PLACES[:30])
    one = a_job(skins(5.0, 5.0), holes=job.holes, rear_thickness=0.8, depth=24.0)
    one = dataclasses.replace(one, strip=Strip())
    said = [text for sheet in pages_of_strip(one) for text in words_of(sheet)]
    assert any("Guide 1 serves every hole" in text for text in said)
    assert "guide" not in said
    assert "upper" in said
    long = dataclasses.replace(job, sides=("upper skin of the inboard flap", "its lower skin"))
    said = [text for sheet in pages_of_strip(long) for text in words_of(sheet)]
    assert "A" in said
    assert "guide" in said
    assert any("A is upper skin of the inboard flap" in text for text in said)


def test_every_column_of_the_order_begins_with_what_its_holes_are():
    """Holes under no heading are drilled toward the wrong end."""
    for sheet in (s for s in pages_of_strip(long_edge()) if "Drilling order" in words_of(s)):
        boxes = [m.bounds() for m in sheet.marks if _is_box(m)]
        words = [m.shape for m in sheet.marks if isinstance(m.shape, Text)]
        for left in {round(box.left, 3) for box in boxes}:
            column = [box for box in boxes if abs(box.left - left) < 0.01]
            top = max(box.top for box in column)
            above = [
                w
                for w in words
                if "toward hole" in w.text and abs(w.at.x - left) < 1.0 and 0 < w.at.y - top < 5.4
            ]
            assert len(above) == 1
        # Nor does a heading stand at a column's foot.
        for word in (w for w in words if "toward hole" in w.text):
            below = [
                b for b in boxes if abs(b.left - word.at.x) < 1.0 and 0 < word.at.y - b.top < 5.4
            ]
            assert len(below) == 1


@pytest.mark.parametrize("deep", [2, 3, 4, 5, 9, 40])
def test_no_heading_of_the_order_stands_at_a_columns_foot_and_no_hole_is_lost(deep):
    """A heading under which nothing stands is taken for that of the next column."""
    runs = [
        (which, f"toward hole {last}", [OrderLine(number=f"{last}.{n}") for n in range(count)])
        for which, last, count in (("", 9, 3), ("every other, ", 1, 7), ("", 5, 1), ("", 2, 4))
    ]
    columns = in_columns(runs, deep)
    assert [line.number for column in columns for line in column if line.number] == [
        line.number for _, _, lines in runs for line in lines
    ]
    for column in columns:
        assert 2 <= len(column) <= deep
        assert not column[0].number
        assert column[-1].number
        way = ""
        for line in column:
            way = line.words or way
            assert not line.number or way.endswith(f"toward hole {line.number[0]}")


def test_map_and_order_share_a_page_where_both_fit():
    """Paper that is half empty is looked for among the others."""
    assert len(pages_of_strip(long_edge(PLACES[:30]))) == 1
    many = pages_of_strip(long_edge())
    assert "Drilling order" not in words_of(many[0])
    assert len(many) > 1


def test_the_steps_of_joining_stand_one_on_a_line():
    """Six steps in one paragraph are read once and then done from memory."""
    said = words_of(usual_pages()[1]) + words_of(usual_pages()[2])
    for number in range(1, 7):
        assert len([text for text in said if text.startswith(f"{number}. ")]) == 1


@pytest.mark.parametrize("side", ["a", "b"])
def test_the_map_shows_every_tile_apart_in_its_order_with_hole_1_where_it_is_on_the_part(side):
    """A map whose boxes lie on one another is worse than none."""
    job = long_edge(strip=Strip(side=side, roll=False))
    sheet = pages_of_strip(job)[0]
    labels = {
        int(m.shape.text.split(", page ")[0]): m.shape
        for m in sheet.marks
        if ", page " in getattr(m.shape, "text", "")
    }
    boxes = [
        m.bounds()
        for m in sheet.marks
        if isinstance(m.shape, Path) and m.shape.is_closed and len(m.shape.edges) == 5
    ]
    boxes = [b for b in boxes if b.height == pytest.approx(7.4)]
    assert len(boxes) == len(labels) >= 8
    for n, box in enumerate(boxes):
        assert sum(box.contains(label.bounds()) for label in labels.values()) == 1
        for other in boxes[n + 1 :]:
            apart_x = box.right <= other.left or other.right <= box.left
            assert apart_x or box.top <= other.bottom or other.top <= box.bottom
    ways = [labels[n + 1].at.x - labels[n].at.x for n in (1, 2, 3)]
    assert all((way < 0) == (side == "a") for way in ways)
    end = "right" if side == "a" else "left"
    assert any(f"hole 1's end at the {end}" in text for text in words_of(sheet))


def _is_box(mark: Any) -> bool:
    """Tell whether a mark is a box to tick."""
    shape = mark.shape
    return (
        isinstance(shape, Path)
        and shape.is_closed
        and shape.bounds().width == pytest.approx(3.2)
        and shape.bounds().height == pytest.approx(3.2)
    )


def _says(mark: Any, words: str) -> bool:
    return words in getattr(mark.shape, "text", "")


def test_the_map_says_on_which_page_each_tile_lies():
    """Fourteen tiles without a map are a puzzle."""
    pages = usual_pages()
    lies_on = {
        placed.piece.name.removeprefix("strip-"): number
        for number, sheet in enumerate(pages, start=1)
        for placed in sheet.placed
    }
    said = {
        m.shape.text.split(", page ")[0]: int(m.shape.text.split(", page ")[1])
        for sheet in pages
        for m in sheet.marks
        if ", page " in getattr(m.shape, "text", "")
    }
    assert said == lies_on
