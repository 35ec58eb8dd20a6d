"""The hole strip: all on it is at its place, can be read, and lies the right way round."""

import dataclasses
import math
from itertools import pairwise

import pytest
from samplejobs import a_job, row_of_holes, skins
from shapely.geometry import LineString, box
from shapely.geometry import Point as GeometryPoint
from shapely_pieces import ink, points, polygon

from jiggen.drawing.affine import Point
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Circle, Mark, Path, Text
from jiggen.errors import DoesNotFit
from jiggen.jigs.cover import CAUTION
from jiggen.jigs.strip_marks import circle_within
from jiggen.jigs.strip_pieces import roll_pieces, strip_pieces, strip_plan, strip_tiles
from jiggen.job.sections import Job, LighteningHole, Print, Stock, Strip
from jiggen.sheets import roll_sheets
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
CROSSES = ("crosses", "bar-x-crosses", "bar-x-crosses-in")
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
    return dataclasses.replace(base, **changes)


def solved(**changes: object) -> Solution:
    return solve(edge(**changes))


def sorts() -> dict[str, Job]:
    """Return jobs whose strips have little in common."""
    sparse = row_of_holes(4, positions=(10.0, 19.0, 40.0, 300.0), drill=6.5, line=9.0)
    dense = row_of_holes(300, positions=tuple(5.0 + 9.0 * n for n in range(300)))
    allow = dataclasses.replace(edge().allow, drift=0.01)
    return {
        "tapered": edge(),
        "many guides": edge(allow=allow),
        "letter, side b": edge(print=LETTER, strip=Strip(side="b"), units="in"),
        "two passes": edge(holes=row_of_holes(64, passes=2)),
        "kept out at a change of guide": edge(
            holes=row_of_holes(64, keep_out=frozenset({10, 16, 17, 31, 32})), allow=allow
        ),
        "short tiles": edge(
            print=Print(paper=(148.0, 210.0), paper_name="a5"),
            strip=Strip(overlap=40.0),
        ),
        "sparse": a_job(skins(4.5, 4.5), holes=sparse),
        "dense": a_job(skins(4.5, 3.5), holes=dense),
        "narrow": edge(strip=Strip(width=75.0), stock=None),
        "lying page": edge(print=Print(paper=(297.0, 210.0), paper_name="297 x 210")),
    }


def texts(piece: Piece) -> list[Text]:
    return [m.shape for m in piece.marks if isinstance(m.shape, Text)]


def place_of(piece: Piece, solution: Solution) -> float:
    """Return where along the edge the piece's x = 0 lies, from the words beside its crosses."""
    said = [t.text.split(" ")[2] for t in texts(piece) if t.text.startswith("crosses at")]
    mm = [float(word) * (25.4 if solution.job.units == "in" else 1.0) for word in said]
    near = min((d.start for d in piece.dimensions if d.name in CROSSES), key=lambda p: abs(p.x))
    return min(mm) - abs(near.x)


def hand_of(solution: Solution) -> int:
    return strip_plan(solution).hand


@pytest.mark.parametrize("name", sorts())
def test_every_hole_is_shown_whole_and_at_its_place(name):
    """A hole drilled a millimetre beside its mate in the other skin is a hole too many."""
    solution = solve(sorts()[name])
    job = solution.job
    radius, tolerance = job.holes.drill / 2, 1e-9 if job.units == "mm" else 2e-3
    for pieces in (strip_pieces(solution)[:-1], strip_pieces(solution)[-1:]):
        seen: dict[int, list[Point]] = {}
        for piece in pieces:
            origin, hand = place_of(piece, solution), hand_of(solution)
            for mark in piece.marks:
                if isinstance(mark.shape, Circle) and mark.shape.radius == radius:
                    at = origin + hand * mark.shape.centre.x
                    number = min(solution.holes, key=lambda h: abs(h.at - at)).number
                    assert abs(solution.holes[number - 1].at - at) < tolerance
                    seen.setdefault(number, []).append(mark.shape.centre)
        assert sorted(seen) == [hole.number for hole in solution.holes]
        for number, centres in seen.items():
            skin = solution.holes[number - 1].angles.skin(strip_side(job))
            for centre in centres:
                assert centre.y == pytest.approx(job.holes.line / math.cos(skin), abs=1e-9)


def strip_side(job: Job) -> str:
    return job.strip.side if job.strip else "a"


@pytest.mark.parametrize("name", sorts())
def test_each_hole_has_its_number_order_and_pin_above_it(name):
    """The number over the wrong hole moves the whole order by one."""
    solution = solve(sorts()[name])
    whole = strip_pieces(solution)[-1]
    origin, hand = place_of(whole, solution), hand_of(solution)
    top = strip_plan(solution).work_top
    by_row: dict[float, dict[str, list[Text]]] = {}
    for text in texts(whole):
        if top < text.at.y < top + 11.0 and text.turn == 0.0:
            by_row.setdefault(round(text.at.y, 6), {}).setdefault(text.text, []).append(text)
    rows = [by_row[y] for y in sorted(by_row)]
    for hole in solution.holes:
        x = hand * (hole.at - origin)
        said = []
        for row in rows[:3]:
            said += [t.text for some in row.values() for t in some if abs(t.at.x - x) < 2e-3]
        if hole.drill_now:
            assert said == [str(hole.number), str(hole.order), hole.pin.upper()]
        else:
            assert said == [str(hole.number), "no"]


@pytest.mark.parametrize("name", sorts())
def test_all_that_is_drawn_lies_on_the_tile(name):
    """What runs off the piece is cut away with the waste."""
    for piece in strip_pieces(solve(sorts()[name])):
        body = polygon(piece.outline).buffer(1e-6)
        for mark in piece.marks:
            if mark.fill is None:
                assert body.covers(ink(mark)), (piece.name, mark.shape)


@pytest.mark.parametrize("name", sorts())
def test_no_text_covers_another_or_a_line(name):
    """Lettering across a line is misread in a cold workshop."""
    for piece in strip_pieces(solve(sorts()[name])):
        words = [(m.shape.text, ink(m).buffer(-0.12)) for m in piece.marks if is_text(m)]
        lines = [ink(m) for m in piece.marks if not is_text(m) and m.fill is None]
        for n, (text, area) in enumerate(words):
            assert not area.is_empty
            for other, its in words[n + 1 :]:
                assert not area.intersects(its), (piece.name, text, other)
            for line in lines:
                assert not area.intersects(line), (piece.name, text, line.wkt[:80])


@pytest.mark.parametrize("name", sorts())
def test_every_tile_has_its_name_and_its_holes_in_letters_that_can_be_read(name):
    """A tile without its number is laid where it does not belong."""
    for piece in strip_pieces(solve(sorts()[name])):
        (title,) = [t for t in texts(piece) if t.text.startswith(f"{piece.title}: hole")]
        assert title.height >= 1.8
        assert title.text == f"{piece.title}: {piece.notes[0]}"


def is_text(mark: Mark) -> bool:
    return isinstance(mark.shape, Text)


@pytest.mark.parametrize(
    ("asked", "right"),
    [
        (Strip(), True),
        (Strip(side="b"), False),
        (Strip(zero="left"), False),
        (Strip(side="b", zero="right"), True),
    ],
)
def test_hole_1_lies_where_the_job_says_and_the_cut_corner_beside_it(asked, right):
    """Seen from above side A, forward up, y runs to the left: x forward, z up, right-handed.

    A strip the wrong way round puts hole 64 where hole 1 belongs, and the guides with it.
    Source: DERIVED, the cross product of the frame's axes.
    """
    piece = strip_pieces(solved(strip=asked))[-1]
    body = piece.outline.bounds()
    number = next(t for t in texts(piece) if t.text == "2")
    assert (number.at.x > (body.left + body.right) / 2) == right
    missing = box(body.left, body.bottom, body.right, body.top).difference(polygon(piece.outline))
    assert missing.area == pytest.approx(12.5)
    assert missing.centroid.y > body.top - 5.0
    assert (missing.centroid.x > (body.left + body.right) / 2) == right
    where = {t.text: t.at for t in texts(piece)}
    assert where["FORWARD"].y > where["TE"].y


def test_a_hole_that_is_not_drilled_now_is_hatched_and_crossed_out():
    """Colour is no help on a grey print: a hole of another part must look different."""
    solution = solved()
    whole, plan = strip_pieces(solution)[-1], strip_plan(solution)
    origin = place_of(whole, solution)
    kept = {hole.number for hole in solution.holes if not hole.drill_now}
    assert kept == {1, 22, 64}
    for hole in plan.holes:
        x, arm = plan.hand * (hole.at - origin), plan.arm
        near = box(x - arm, hole.forward - arm, x + arm, hole.forward + arm).buffer(1e-6)
        lines = [
            ink(m)
            for m in whole.marks
            if isinstance(m.shape, Path) and not m.shape.is_closed and near.covers(ink(m))
        ]
        slants = [
            math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) % 180.0
            for a, b in (list(line.coords) for line in lines)
        ]
        slanted = [s for s in slants if 40.0 < s < 50.0 or 130.0 < s < 140.0]
        if hole.number in kept:
            assert len(slanted) >= 6
            assert any(130.0 < s < 140.0 for s in slanted)
        else:
            assert slanted == []


def lines_at(piece: Piece, x: float) -> list[Mark]:
    """Return the upright lines at x that begin at the trailing edge."""
    found = []
    for mark in piece.marks:
        if isinstance(mark.shape, Path) and not mark.shape.is_closed:
            own = mark.shape.bounds()
            if own.width < 1e-9 and abs(own.left - x) < 1e-6 and own.bottom < 1.0:
                found.append(mark)
    return found


def test_trim_lines_the_zero_end_and_stations_stand_at_their_places():
    """The saw follows the line that is drawn."""
    solution = solved()
    whole, plan = strip_pieces(solution)[-1], strip_plan(solution)
    origin = place_of(whole, solution)
    for at, dashed in ((2.0, False), (1668.0, False), (1700.0, True)):
        (line,) = lines_at(whole, plan.hand * (at - origin))
        assert line.dashed == dashed
    assert lines_at(whole, plan.hand * (0.0 - origin))
    said = " ".join(t.text for t in texts(whole))
    for words in (
        "TRIM at 2.00 mm",
        "TRIM at 1668.00 mm",
        "station 1700.00 mm: forward corner on upper 84.50°",
    ):
        assert words in said


def test_a_trim_line_at_the_zero_end_is_called_so():
    """Two lines in one place are one line to the eye: the saw's name must stand at it."""
    stock = dataclasses.replace(STOCK, trim=(0.0, 1668.0))
    said = [t.text for t in texts(strip_pieces(solved(stock=stock))[-1])]
    assert "0: zero end, TRIM here" in said
    assert not [text for text in said if text.startswith("TRIM at 0")]
    apart = [t.text for t in texts(strip_pieces(solved())[-1])]
    assert "0: zero end, TRIM here" not in apart
    assert "TRIM at 2.00 mm" in apart


@pytest.mark.parametrize("name", sorted(set(sorts()) - {"dense", "sparse"}))
def test_each_row_over_the_holes_says_what_it_is_where_the_tile_stays(name):
    """A, 39, 8 over a hole: which of them is the order? Cut off with the join, nobody tells."""
    solution = solve(sorts()[name])
    plan = strip_plan(solution)
    number = plan.work_top
    rows = {"hole": number, "order": number + 4.4, "pin": number + 4.4 + 3.4}
    key = f"pin from: A {solution.job.sides[0]}, B {solution.job.sides[1]}"
    for piece, tile in zip(strip_pieces(solution), strip_tiles(solution), strict=False):
        low, high = sorted(plan.hand * (at - tile.start) for at in tile.crosses)
        for words, low_y in rows.items():
            (text,) = [t for t in texts(piece) if t.text == words]
            assert low_y < text.at.y < low_y + 3.4
            assert text.height >= 1.8
            assert low < text.bounds().left < text.bounds().right < high
        (text,) = [t for t in texts(piece) if t.text == key]
        assert low < text.bounds().left < text.bounds().right < high


def test_where_holes_are_crowded_the_title_says_what_their_rows_are():
    """There is no room between the holes, and the rows must not go without."""
    for name, told in (("dense", True), ("tapered", False)):
        words = strip_plan(solve(sorts()[name])).words
        assert any(text.startswith("Over a hole: number, drilling order") for text in words) == told


@pytest.mark.parametrize("name", sorts())
def test_an_arrow_toward_hole_1_stays_on_every_tile_when_its_end_is_cut_for_the_join(name):
    """The cut corner goes with that end; a tile turned end for end then looks right."""
    solution = solve(sorts()[name])
    hand = hand_of(solution)
    for piece, tile in zip(strip_pieces(solution), strip_tiles(solution), strict=False):
        low, high = sorted(hand * (at - tile.start) for at in tile.crosses)
        (word,) = [t for t in texts(piece) if t.text == "HOLE 1"]
        (arrow,) = [
            mark.shape
            for mark in piece.marks
            if isinstance(mark.shape, Path)
            and mark.shape.is_closed
            and mark.shape.bounds().width == pytest.approx(9.0)
        ]
        box = arrow.bounds()
        for bounds in (box, word.bounds()):
            assert low < bounds.left < bounds.right < high
        # Its one corner on the middle line is the tip.
        middle = (box.bottom + box.top) / 2
        (tip,) = [e.start.x for e in arrow.edges if abs(e.start.y - middle) < 1e-9]
        assert tip == pytest.approx(box.left if hand > 0 else box.right)


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("paper", [Print(), LETTER], ids=lambda p: p.paper_name)
def test_every_sentence_of_the_title_is_on_every_tile_in_letters_that_can_be_read(units, paper):
    """What is left out of tile 3 is what tile 3 is held without."""
    solution = solved(units=units, print=paper)
    for piece in strip_pieces(solution)[:-1]:
        small = [t for t in texts(piece) if t.height < 1.8 - 1e-9]
        assert not small
        said = " ".join(t.text for t in texts(piece))
        for sentence in strip_plan(solution).words:
            assert sentence in said


def test_the_strip_in_one_length_repeats_its_name_its_arrows_and_its_guide():
    """Who works at the middle of 1.7 m sees neither end."""
    solution = solved()
    whole = strip_pieces(solution)[-1]
    for words in ("FORWARD", "TE", "Strip, whole: flap", "guide a1, "):
        at = sorted(t.at.x for t in texts(whole) if t.text.startswith(words))
        assert len(at) >= 3, words
    ahead = sorted(t.at.x for t in texts(whole) if t.text == "FORWARD")
    assert max(b - a for a, b in pairwise(ahead)) < 330.0


def test_a_roll_has_the_caution_on_it_whatever_its_margin():
    """It goes to the bench without the cover."""
    for margin in (2.0, 10.0):
        solution = solved(print=Print(margin=margin))
        (sheet,) = roll_sheets(solution, strip_pieces(solution))
        said = {m.shape.text: m for m in sheet.marks if isinstance(m.shape, Text)}
        box = said[CAUTION].bounds()
        assert box.top < sheet.height
        (placed,) = sheet.placed
        assert box.bottom > placed.piece.bounds().moved(placed.place).top


def test_lightening_holes_lie_as_the_best_trim_plan_lays_the_stock():
    """A strip that shows them elsewhere hides the rivet hole that has no metal round it."""
    solution = solved()
    best = solution.trim.best
    assert best is not None
    whole, plan = strip_pieces(solution)[-1], strip_plan(solution)
    origin = place_of(whole, solution)
    drawn = sorted(
        origin + plan.hand * m.shape.centre.x
        for m in whole.marks
        if isinstance(m.shape, Circle) and m.shape.radius == 5.0
    )
    wanted = sorted(h.at for h in best.lightening if 2.0 - 5.0 < h.at < 1668.0 + 5.0)
    assert len(wanted) > 25
    assert drawn == pytest.approx(wanted)


def test_one_guide_hands_over_to_the_next_midway_between_their_holes():
    """The wrong guide one hole further is the drift that the set was made to keep out."""
    solution = solve(sorts()["many guides"])
    whole, plan = strip_pieces(solution)[-1], strip_plan(solution)
    origin = place_of(whole, solution)
    own = [g for g in solution.guides if g.side == "a"]
    assert len(own) >= 3
    at = {hole.number: hole.at for hole in solution.holes}
    for before, after in pairwise(own):
        assert after.first_hole > before.last_hole
        middle = (at[before.last_hole] + at[before.last_hole + 1]) / 2
        assert any(m.dashed for m in lines_at(whole, plan.hand * (middle - origin)))
    said = {t.text.split(",")[0] for p in strip_pieces(solution)[:-1] for t in texts(p)}
    assert {f"guide {g.name}" for g in solution.guides} <= said


def test_a_roll_longer_than_viewers_bear_is_cut_into_pages_that_overlap():
    """A viewer that refuses the page prints nothing, or prints it at half size.

    Source: MEM, 14 400 units of 1/72 in are 5080 mm.
    """
    far = row_of_holes(300, positions=tuple(15.0 + 40.0 * n for n in range(300)))
    solution = solve(a_job(skins(4.5, 4.5), holes=far, strip=Strip()))
    pieces = roll_pieces(solution)
    assert len(pieces) == 3
    assert all(p.bounds().width + 2 * solution.job.print.margin < 5080.0 for p in pieces)
    (one,) = roll_pieces(solved())
    assert one.name == "strip"


@pytest.mark.parametrize(
    ("changes", "key", "words"),
    [
        ({"holes": None, "stock": None}, "holes", "needs holes"),
        ({"strip": Strip(width=60.0)}, "strip.width", "too narrow"),
        ({"strip": Strip(width=180.0)}, "strip.width", "wider than the room"),
        (
            {"holes": row_of_holes(9, drill=9.0), "stock": None, "strip": Strip(overlap=8.0)},
            "strip.overlap",
            "share too little",
        ),
    ],
)
def test_a_strip_that_could_not_be_used_is_refused_with_what_would_do(changes, key, words):
    """A strip without its words, or with half a hole, is worse than none."""
    with pytest.raises(DoesNotFit, match=words) as caught:
        strip_pieces(solved(**changes))
    assert caught.value.key == key
    assert str(caught.value.remedy)


def test_what_the_refusal_of_a_narrow_strip_says_would_do_does():
    """A remedy that is refused in turn sends the user in a circle."""
    with pytest.raises(DoesNotFit) as caught:
        strip_pieces(solved(strip=Strip(width=60.0)))
    would_do = float(str(caught.value.remedy).split(" ")[0])
    assert strip_pieces(solved(strip=Strip(width=would_do)))


@pytest.mark.parametrize("x", [-11.0, -9.0, -3.0, 0.0, 4.0, 9.0, 30.0])
def test_a_circle_is_cut_at_the_tiles_ends(x):
    """An opening that ends with the page must go on at the same place on the next."""
    tile = Bounds(-8.0, 0.0, 25.0, 40.0)
    for y in (2.0, 20.0):
        shapes = circle_within(Point(x, y), 5.0, tile)
        drawn = sum(
            2 * math.pi * s.radius if isinstance(s, Circle) else LineString(points(s, 400)).length
            for s in shapes
        )
        ring = GeometryPoint(x, y).buffer(5.0, quad_segs=2000).exterior
        inside = ring.intersection(box(tile.left, tile.bottom, tile.right, tile.top)).length
        assert drawn == pytest.approx(inside, abs=1e-2)
