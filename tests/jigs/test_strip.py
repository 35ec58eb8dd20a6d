"""The hole strip: all on it is at its place, its tiles join up, and it lies the right way round."""

import math
import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from samplejobs import a_job, row_of_holes, skins
from shapely.geometry import LineString, box
from shapely.geometry import Point as GeometryPoint
from shapely_pieces import points

from jiggen.drawing.affine import Point
from jiggen.drawing.crossing import rim_parts
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Circle, Dash, Path, Text
from jiggen.errors import DoesNotFit
from jiggen.jigs.plan import Planned
from jiggen.jigs.stand import side_letters
from jiggen.jigs.strip import (
    JIG,
    LOWER,
    ROLL_PAGE,
    UPPER,
    cross_to_cross,
    strip_of_job,
    tiles,
    whole_tile,
)
from jiggen.job.sections import Job, LighteningHole, Print, Stock, Strip
from jiggen.make import paper_of
from jiggen.solution import Solution
from jiggen.solve import solve

STOCK = Stock(
    length=1800.0,
    positions=tuple(25.0 + 26.0 * n for n in range(66)),
    lightening=tuple(
        LighteningHole(at=38.0 + 52.0 * n, diameter=10.0, line=17.0) for n in range(34)
    ),
    trim=(2.0, 1668.0),
)
LETTER = Print(paper=(215.9, 279.4), paper_name="letter")


def edge(**changes: object) -> Job:
    """Return a tapered edge of 64 holes with stock and a strip."""
    holes = row_of_holes(64, keep_out=frozenset({1, 22, 64}))
    base = a_job(
        skins(7.5, 3.0),
        skins(5.5, 2.6, at=1700.0),
        holes=holes,
        rear_thickness=0.8,
        depth=24.0,
        extend=True,
        stock=STOCK,
        strip=Strip(),
    )
    return replace(base, **changes)


def sorts() -> dict[str, Job]:
    """Return jobs whose strips have little in common."""
    sparse = row_of_holes(4, positions=(10.0, 19.0, 40.0, 300.0), drill=6.5, line=9.0)
    dense = row_of_holes(300, positions=tuple(5.0 + 9.0 * n for n in range(300)))
    return {
        "tapered": edge(),
        "letter, side b": edge(print=LETTER, strip=Strip(side="b"), units="in"),
        "zero at the left": edge(strip=Strip(zero="left")),
        "two passes": edge(holes=row_of_holes(64, passes=2)),
        "short tiles": edge(
            print=Print(paper=(148.0, 210.0), paper_name="a5"), strip=Strip(overlap=40.0)
        ),
        "sparse": a_job(skins(4.5, 4.5), holes=sparse),
        "dense": a_job(skins(4.5, 3.5), holes=dense),
        "wide": edge(strip=Strip(width=75.0), stock=None),
        "lying page": edge(print=Print(paper=(297.0, 210.0), paper_name="297 x 210")),
        "one hole": a_job(skins(4.5, 4.5), holes=row_of_holes(1)),
    }


def drawn(case: Solution) -> tuple[list[Piece], Piece]:
    """Return the tiles, and the strip in one length."""
    *of_paper, whole = JIG.plan(case).pieces
    return of_paper, whole


def texts(piece: Piece) -> list[Text]:
    return [m.shape for m in piece.marks if isinstance(m.shape, Text)]


def places(case: Solution) -> list[float]:
    """Return where along the edge the x = 0 of each tile lies, by its crosses and its sizes."""
    strip, asked = strip_of_job(case), case.job.strip or Strip()
    of_paper, _ = drawn(case)
    starts, at = [], whole_tile(strip, asked.overlap, case.job.units).crosses[0]
    for piece in of_paper:
        size = piece.dimensions[0]
        starts.append(at - strip.hand * size.start.x)
        at += size.nominal
    return starts


@pytest.mark.parametrize("name", sorts())
def test_every_hole_is_shown_whole_and_at_its_place(name):
    """A hole drilled a millimetre beside its mate in the other skin is a hole too many.

    The place of a tile follows from the crosses alone, chained from the first one.
    """
    case = solve(sorts()[name])
    strip, job = strip_of_job(case), case.job
    radius = job.holes.drill / 2
    of_paper, whole = drawn(case)
    starts = places(case)
    for some, origins in ((of_paper, starts), ([whole], [strip.start])):
        seen: dict[int, list[Point]] = {}
        for piece, origin in zip(some, origins, strict=True):
            marked = [
                m.shape.centre
                for m in piece.marks
                if isinstance(m.shape, Circle) and m.shape.radius == radius
            ]
            marked += [_middle(m.shape) for m in piece.marks if _is_square(m.shape)]
            for centre in marked:
                at = origin + strip.hand * centre.x
                hole = min(case.holes, key=lambda h: abs(h.at - at))
                assert abs(hole.at - at) < 1e-9
                seen.setdefault(hole.number, []).append(centre)
        assert sorted(seen) == [hole.number for hole in case.holes]
        for number, centres in seen.items():
            skin = case.holes[number - 1].angles.skin(strip.side)
            for centre in centres:
                assert centre.y == pytest.approx(job.holes.line / math.cos(skin), abs=1e-9)


def _is_square(shape: object) -> bool:
    if not isinstance(shape, Path) or len(shape.edges) != 4 or not shape.is_closed:
        return False
    box = shape.bounds()
    return box.width == pytest.approx(box.height)


def _middle(shape: Path) -> Point:
    box = shape.bounds()
    return Point((box.left + box.right) / 2, (box.bottom + box.top) / 2)


@pytest.mark.parametrize("name", sorts())
def test_each_hole_has_its_number_and_its_order_over_it_once(name):
    """The number over the wrong hole moves the whole order by one."""
    case = solve(sorts()[name])
    strip = strip_of_job(case)
    of_paper, whole = drawn(case)
    letters = side_letters(case.job.sides)
    for some, origins in ((of_paper, places(case)), ([whole], [strip.start])):
        told: dict[int, list[str]] = {}
        for piece, origin in zip(some, origins, strict=True):
            for text in texts(piece):
                if text.at.y not in (strip.order_at, strip.number_at):
                    continue
                at = origin + strip.hand * text.at.x
                hole = min(case.holes, key=lambda h: abs(h.at - at))
                assert abs(hole.at - at) < 1e-9
                told.setdefault(hole.number, []).append(text.text)
        assert sorted(told) == [hole.number for hole in case.holes]
        for hole in case.holes:
            order = "WAIT" if hole.order is None else f"{hole.order} {letters[hole.pin]}"
            assert told[hole.number] in ([str(hole.number), order], [str(hole.number)])
            # Only where holes are crowded has the order at a join no room.
            assert len(told[hole.number]) == 2 or name == "dense"


def test_numbers_stand_where_the_eye_finds_them():
    """The same heights on every tile of every job: number 5 at 20.5, order 2.5 at 15."""
    of_paper, _ = drawn(solve(edge()))
    for piece in of_paper:
        rows = {(t.at.y, t.height) for t in texts(piece) if re.fullmatch(r"[1-9]\d*", t.text)}
        assert rows == {(20.5, 5.0)}
        rows = {(t.at.y, t.height) for t in texts(piece) if re.fullmatch(r"\d+ [A-Z]", t.text)}
        assert rows == {(15.0, 2.5)}
        assert piece.outline.bounds().height == 44.0


def test_where_holes_are_crowded_what_has_no_room_is_left_out_and_told():
    """Two numbers on one another are read as one."""
    at = tuple(14.0 + 5.0 * n for n in range(130))
    case = solve(a_job(skins(4.5, 4.5), holes=row_of_holes(130, positions=at, drill=2.0)))
    of_paper, _ = drawn(case)
    for piece in of_paper:
        assert piece.left_out == ("order of crowded holes: angles --all",)
        boxes = sorted((t.bounds().left, t.bounds().right) for t in texts(piece) if t.at.y == 20.5)
        assert len(boxes) > 5
        assert all(a[1] < b[0] for a, b in pairwise(boxes))


@pytest.mark.parametrize(
    ("names", "letters"),
    [(("top", "bottom"), "TB"), (("upper", "under"), "AB"), (("inner", "outer"), "AB"),
     (("left", "right"), "LR"), (("1st", "2nd"), "AB")],
)  # fmt: skip
def test_a_side_is_called_by_its_first_letter_unless_that_is_taken_for_a_figure(names, letters):
    """12 I is read as 121."""
    assert "".join(side_letters(names).values()) == letters


@pytest.mark.parametrize("name", sorts())
def test_every_length_between_crosses_ends_on_crosses_that_are_drawn(name):
    """Drawn elsewhere than they are told, a true print is corrected until it is a wrong one."""
    case = solve(sorts()[name])
    of_paper, whole = drawn(case)
    high = strip_of_job(case).width - UPPER
    for piece in (*of_paper, whole):
        ends = {_near(p) for d in piece.dimensions for p in (d.start, d.end)}
        assert ends <= _crosses(piece)
        assert len(_crosses(piece)) == 4
        assert {y for _, y in _crosses(piece)} == {LOWER, high}
        for size in piece.dimensions:
            assert math.dist(size.start, size.end) == pytest.approx(size.nominal)
            assert not size.is_bar


def _near(point: Point) -> tuple[float, float]:
    return (round(point.x, 6), round(point.y, 6))


def _crosses(piece: Piece) -> set[tuple[float, float]]:
    """Return the middles of strokes 5 mm long along both axes."""
    lying, upright = set(), set()
    for mark in piece.marks:
        if not isinstance(mark.shape, Path) or len(mark.shape.edges) != 1 or mark.dash:
            continue
        box = mark.shape.bounds()
        if box.width == pytest.approx(5.0) and box.height == pytest.approx(0.0, abs=1e-9):
            lying.add(_near(_middle(mark.shape)))
        if box.height == pytest.approx(5.0) and box.width == pytest.approx(0.0, abs=1e-9):
            upright.add(_near(_middle(mark.shape)))
    return lying & upright


@pytest.mark.parametrize("name", sorts())
def test_the_whole_is_measured_from_the_first_cross_to_the_last_of_the_joined_tiles(name):
    """Judged tile by tile, a tenth too long on each of eight is a hole's width at the end."""
    of_paper, whole = drawn(solve(sorts()[name]))
    assert whole.dimensions[0].name == "whole"
    assert sum(map(cross_to_cross, of_paper)) == pytest.approx(cross_to_cross(whole), abs=1e-9)
    assert {p.dimensions[0].name for p in of_paper} == {"crosses"}
    assert (whole.is_sheet, whole.on_bed, whole.on_paper) == (True, False, False)
    for tile in of_paper:
        assert (tile.is_sheet, tile.on_bed, tile.on_paper) == (False, False, True)
        assert len(tile.true_edges) == 1
        assert tile.waste == 3.0


def test_a_strip_with_other_holes_or_another_order_is_another_piece():
    """Its readings do not count for what it now shows, though it is as long as before."""
    job = edge(stock=None)
    before = {p.name: p.mark for p in JIG.plan(solve(job)).pieces}
    holes = replace(job.holes, keep_out=frozenset({1, 64}))
    after = {p.name: p.mark for p in JIG.plan(solve(edge(stock=None, holes=holes))).pieces}
    assert set(before) == set(after)
    changed = {name for name in before if before[name] != after[name]}
    # Hole 22 no longer waits: its own tile, those drilled after it, and the whole.
    assert {"strip", "strip-1", "strip-4"} <= changed
    assert "strip-8" not in changed
    again = {p.name: p.mark for p in JIG.plan(solve(job)).pieces}
    assert again == before
    assert len(set(before.values())) == len(before)


def test_lightening_holes_lie_as_the_best_trim_plan_lays_the_stock():
    """A strip that shows them elsewhere hides the rivet hole that has no metal round it."""
    case = solve(edge())
    strip, best = strip_of_job(case), case.trim.best
    _, whole = drawn(case)
    hidden = [m.shape for m in whole.marks if m.dash is Dash.HIDDEN]
    middles = {
        round(strip.start + strip.hand * c.x, 3)
        for s in hidden
        for c in [s.centre if isinstance(s, Circle) else s.edges[0].centre]
    }
    wanted = {round(h.at, 3) for h in best.lightening if 2.0 - 5.0 < h.at < 1668.0 + 5.0}
    assert len(wanted) > 25
    assert middles == wanted


def test_the_zero_line_and_the_trim_lines_are_drawn_where_they_are():
    """Counted from another line, every hole is beside its own by as much."""
    case = solve(edge())
    strip = strip_of_job(case)
    _, whole = drawn(case)
    said = {t.text: strip.start + strip.hand * t.at.x for t in texts(whole)}
    assert said["0"] == pytest.approx(0.0)
    ends = [strip.start + strip.hand * t.at.x for t in texts(whole) if t.text == "TRIM"]
    assert sorted(ends) == pytest.approx([1668.0]) or sorted(ends) == pytest.approx([2.0, 1668.0])
    upright = {
        round(strip.start + strip.hand * m.shape.edges[0].start.x, 6)
        for m in whole.marks
        if isinstance(m.shape, Path) and len(m.shape.edges) == 1
        and m.shape.bounds().width < 1e-9 and m.shape.bounds().bottom == 0.5
    }  # fmt: skip
    assert {0.0, 2.0, 1668.0} <= upright


@pytest.mark.parametrize("name", sorts())
def test_forward_is_up_and_the_zero_end_lies_at_its_hand(name):
    """A tile turned end for end looks right, and has every hole at the wrong end."""
    case = solve(sorts()[name])
    strip, asked = strip_of_job(case), case.job.strip or Strip()
    hand = {"left": 1, "right": -1, "": -1 if asked.side == "a" else 1}[asked.zero]
    assert strip.hand == hand
    for piece in (*drawn(case)[0], drawn(case)[1]):
        assert piece.forward == (0.0, 1.0)
        assert sum(t.text == "FORWARD" for t in texts(piece)) == 1
        box = piece.outline.bounds()
        assert box.bottom == 0.0
        assert (box.left, box.right)[0 if hand > 0 else 1] == pytest.approx(0.0)


@pytest.mark.parametrize(
    ("changes", "key", "words"),
    [
        ({"holes": None, "stock": None}, "holes", "needs holes"),
        ({"strip": Strip(width=30.0), "stated": frozenset({"strip.width"})}, "strip.width",
         "too narrow"),
        ({"strip": Strip(width=180.0)}, "strip.width", "wider than the room"),
    ],
)  # fmt: skip
def test_a_strip_that_could_not_be_used_is_refused_with_what_would_do(changes, key, words):
    """A strip without its words, or off its page, is worse than none."""
    case = solve(edge(**changes))
    with pytest.raises(DoesNotFit, match=words) as caught:
        JIG.plan(case)
    assert caught.value.key == key
    assert caught.value.remedy
    if words == "too narrow":
        least = float(str(caught.value.remedy).split(" ")[0])
        wide = solve(edge(strip=Strip(width=least), stated=frozenset({"strip.width"})))
        assert JIG.plan(wide).pieces


def test_where_no_width_is_stated_a_strip_is_as_wide_as_its_holes_need():
    """A hole line far forward must not cost the builder a riddle."""
    for line in (8.0, 9.0, 12.0, 16.0):
        case = solve(edge(holes=row_of_holes(64, line=line), stock=None))
        of_paper, _ = drawn(case)
        wide = {p.outline.bounds().height for p in of_paper}
        assert len(wide) == 1
        assert min(wide) >= 44.0
        for piece in of_paper:
            low = min(t.at.y for t in texts(piece) if re.fullmatch(r"\d+ [A-Z]|WAIT", t.text))
            assert low >= line + 5.4


def test_three_tiles_lie_on_a_page_six_apart_as_they_follow_on_the_edge():
    """A page that is not read from the top is joined in another order."""
    case = solve(edge())
    plan = JIG.plan(case)
    pages = plan.pages(paper_of(case))
    names = [[piece.name for piece, _ in page.pieces] for page in pages]
    tiles_of_job = [p.name for p in plan.pieces if p.on_paper]
    assert [n for some in names for n in some] == tiles_of_job
    assert {len(some) for some in names[:-1]} == {3}
    for page in pages:
        assert page.landscape
        ys = [y for _, (_, y) in page.pieces]
        assert all(a - b == pytest.approx(50.0) for a, b in pairwise(ys))


def test_a_roll_is_drawn_if_it_is_asked_for_and_viewers_bear_it():
    """A viewer that refuses the page prints nothing, or prints it at half size.

    Source: from memory, 14 400 units of 1/72 in are 5080 mm.
    """
    from jiggen.jigs.pages import roll_sheets

    def sheets(job: Job) -> tuple:
        case = solve(job)
        return roll_sheets(Planned(plans=(JIG.plan(case),)), paper_of(case))

    (sheet,) = sheets(edge())
    (placed,) = sheet.placed
    assert placed.piece.name == "strip"
    box = placed.on_sheet.outline.bounds()
    assert min(box.left, box.bottom, sheet.width - box.right, sheet.height - box.top) >= 10.0
    said = " ".join(m.shape.text for m in sheet.marks)
    assert "1676.00 mm" in said
    assert "100 %" in said
    assert sheets(edge(strip=Strip(roll=False))) == ()
    far = row_of_holes(200, positions=tuple(15.0 + 26.0 * n for n in range(200)))
    assert ROLL_PAGE < 26.0 * 200
    assert sheets(a_job(skins(4.5, 4.5), holes=far, strip=Strip())) == ()


@st.composite
def cases(draw: st.DrawFn) -> tuple[float, float, float, float, list[float]]:
    """Return start, end, room, overlap and holes of a strip."""
    start = draw(st.floats(-300.0, 50.0))
    room = draw(st.floats(110.0, 400.0))
    overlap = draw(st.floats(8.0, 30.0))
    pitch = draw(st.floats(4.0, 120.0))
    count = draw(st.integers(2, 60))
    first = start + 12.0 + draw(st.floats(0.0, 20.0))
    gaps = draw(st.lists(st.sampled_from([1.0, 1.0, 1.0, 2.5]), min_size=count, max_size=count))
    holes = [first]
    for gap in gaps[1:]:
        holes.append(holes[-1] + gap * pitch)
    return start, holes[-1] + 12.0 + draw(st.floats(0.0, 40.0)), room, overlap, holes


@given(case=cases())
def test_tiles_cover_the_strip_and_share_what_was_asked(case):
    """A gap between two tiles is a hole that nobody sees; too little overlap cannot be joined."""
    start, end, room, overlap, holes = case
    found = tiles(start, end, room, overlap, holes)
    assert found[0].start == pytest.approx(start)
    assert found[-1].end == pytest.approx(end)
    assert all(tile.end - tile.start <= room + 1e-6 for tile in found)
    for tile, following in pairwise(found):
        assert tile.end - following.start == pytest.approx(overlap)
        assert tile.crosses[1] == following.crosses[0]
        assert tile.end - tile.crosses[1] == pytest.approx(overlap / 2)


@given(case=cases())
def test_tiles_are_joined_half_way_between_two_holes_where_one_can_be_reached(case):
    """A hole under the tape of a join is a hole in the wrong place."""
    start, end, room, overlap, holes = case
    found = tiles(start, end, room, overlap, holes)
    middles = [(a + b) / 2 for a, b in pairwise(holes)]
    for tile in found[:-1]:
        join = tile.crosses[1]
        off = min(abs(join - m) for m in middles)
        reach = [
            m for m in middles if tile.crosses[0] + 1e-6 < m <= tile.crosses[0] + room - overlap
        ]
        assert off < 1e-9 or not reach or min(abs(join - h) for h in holes) > 6.9


@pytest.mark.parametrize("pitch", [18.0, 26.0, 55.0])
def test_at_a_usual_pitch_every_join_is_half_way_and_no_tile_is_wasted(pitch):
    """Each tile more is a join more, and paper."""
    holes = [15.0 + pitch * n for n in range(int(1600 / pitch))]
    found = tiles(-12.0, holes[-1] + 12.0, 198.0, 15.0, holes)
    for tile in found[:-1]:
        assert (tile.crosses[1] - holes[0]) % pitch == pytest.approx(pitch / 2)
    held = math.floor((198.0 - 15.0) / pitch)
    assert len(found) <= math.ceil(len(holes) / held) + 1
    longs = [tile.end - tile.start for tile in found]
    assert min(longs) > 0.6 * max(longs)


@pytest.mark.parametrize("x", [-11.0, -9.0, -3.0, 0.0, 4.0, 9.0, 30.0])
def test_a_rim_is_drawn_as_far_as_it_lies_on_the_tile_and_off_the_words(x):
    """An opening that ends with the page must go on at the same place on the next."""
    tile = Path.closed([(-8.0, 0.0), (25.0, 0.0), (25.0, 40.0), (-8.0, 40.0)])
    words = [Bounds(2.0, 12.0, 8.0, 17.0)]
    for y in (2.0, 20.0):
        shapes = rim_parts(Circle(Point(x, y), 5.0), tile, words)
        long = sum(
            2 * math.pi * s.radius if isinstance(s, Circle) else LineString(points(s, 400)).length
            for s in shapes
        )
        ring = GeometryPoint(x, y).buffer(5.0, quad_segs=2000).exterior
        wanted = ring.intersection(box(-8.0, 0.0, 25.0, 40.0)).difference(box(2.0, 12.0, 8.0, 17.0))
        assert long == pytest.approx(wanted.length, abs=0.25)


@pytest.mark.parametrize("zero", ["left", "right"])
def test_a_slanting_cut_slants_on_the_strip_too(zero):
    """Drawn square, the line tells to saw off the metal of the last rivet.

    Source: derived: the cut is y = t + x tan e in the chord plane, x = h cos a up the face.
    """
    angles = (math.radians(20.0), math.radians(-30.0))
    stock = replace(STOCK, trim=(40.0, 1640.0), end_angles=angles)
    solution = solve(edge(stock=stock, strip=Strip(zero=zero)))
    strip = strip_of_job(solution)
    _, whole = drawn(solution)
    rays = [
        (shape.edges[0].start, shape.edges[-1].end)
        for shape in (mark.shape for mark in whole.marks)
        if isinstance(shape, Path) and len(shape.edges) == 1
    ]
    for at, e in zip(stock.trim, angles, strict=True):
        foot = strip.hand * (at - strip.start)
        lean = strip.hand * math.tan(e) * math.cos(solution.skin_at(at, strip.side))
        from_foot = [ray for ray in rays if abs(ray[0].x - foot - lean * ray[0].y) < 1e-6]
        tall = [(low, top) for low, top in from_foot if top.y - low.y > 3.0]
        assert tall
        assert all(abs(top.x - foot - lean * top.y) < 1e-6 for _, top in tall)
