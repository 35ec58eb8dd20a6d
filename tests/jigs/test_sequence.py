"""The order sheets: every hole once, in the right pass, with its side and its box."""

import re
from itertools import pairwise

import pytest
from samplejobs import a_job, row_of_holes, skins

from jiggen.drawing.lettering import text_width
from jiggen.drawing.shapes import Circle, Path, Text
from jiggen.errors import DoesNotFit
from jiggen.jigs.plan import OwnPage
from jiggen.jigs.sequence import BOX, JIG, drilling, riveting, row_order
from jiggen.job.sections import Print, Rivet, Row, Sequence, Strip
from jiggen.make import paper_of
from jiggen.solution import Solution
from jiggen.solve import solve

RIVET = Rivet(diameter=2.38, head=4.5)


def solved(count: int = 64, **more: object) -> Solution:
    holes = row_of_holes(count, keep_out=more.pop("keep_out", frozenset()),
                         passes=more.pop("passes", 1))  # fmt: skip
    more.setdefault("sequence", Sequence())
    return solve(a_job(skins(5.0, 4.0), holes=holes, rear_thickness=0.8, depth=24.0, **more))


def pages(case: Solution) -> tuple[OwnPage, ...]:
    return JIG.plan(case).pages(paper_of(case))


def texts(page: OwnPage) -> list[Text]:
    return [m.shape for m in page.picture.marks if isinstance(m.shape, Text)]


def ticked(page: OwnPage) -> list[tuple[int, str]]:
    """Return the numbers with their letters that stand at a box, in the order of reading."""
    boxes = [
        m.shape.bounds()
        for m in page.picture.marks
        if isinstance(m.shape, Path) and m.shape.is_closed and len(m.shape.edges) == 4
        and m.shape.bounds().width == pytest.approx(BOX)
    ]  # fmt: skip
    found = []
    for box in sorted(boxes, key=lambda b: (-round(b.top, 3), b.left)):
        beside = [t for t in texts(page) if abs(t.at.y - box.top + 3.5) < 0.01
                  and 0.0 < t.at.x - box.right < 14.0]  # fmt: skip
        number = min(beside, key=lambda t: t.at.x)
        end = number.at.x + text_width(number.text, number.height)
        letters = [t.text for t in beside if t is not number and 0.0 < t.at.x - end < 4.0
                   and t.text.isalpha()]  # fmt: skip
        found.append((int(number.text), "".join(letters)))
    return found


def test_the_first_pass_of_the_design_is_reproduced():
    """With step 10 and 64 holes: 32 42 22 52 12 62 2.

    Source: the design's own worked example; the method is common practice, no published source.
    """
    blocks = riveting(solved(rivet=RIVET, sequence=Sequence(first=10)))
    assert [n for n, _ in blocks[0].holes] == [32, 42, 22, 52, 12, 62, 2]


@pytest.mark.parametrize("count", [1, 2, 7, 64, 200])
@pytest.mark.parametrize("first", [2, 8, 16])
def test_every_hole_is_half_set_once_and_set_fully_once_in_the_same_order(count, first):
    """A rivet that is on no list stays half set for ever."""
    case = solved(count, rivet=RIVET, sequence=Sequence(first=first))
    *half, full = riveting(case)
    order = [n for block in half for n, _ in block.holes]
    assert sorted(order) == list(range(1, count + 1))
    assert [n for n, _ in full.holes] == order
    assert all("half set" in block.said for block in half)
    assert "set fully" in full.said
    assert [b.heading for b in (*half, full)] == [f"PASS {n + 1}" for n in range(len(half) + 1)]


def test_the_side_changes_by_pass_and_stands_at_each_hole_only_where_it_changes_by_hole():
    """Driven from the wrong side, a pass bends what the one before it bent already."""
    blocks = riveting(solved(rivet=RIVET))
    for n, block in enumerate(blocks[:-1]):
        made, shop = ("upper", "lower") if n % 2 == 0 else ("lower", "upper")
        assert f"made heads {made}, shop heads {shop}" in block.said
        assert {letter for _, letter in block.holes} == {""}
    by_hole = riveting(solved(rivet=RIVET, sequence=Sequence(side="hole")))
    sides = {n: letter for block in by_hole[:-1] for n, letter in block.holes}
    assert all(sides[n] != sides[n + 1] for n in range(1, 64))
    assert set(sides.values()) == {"L", "A"} or set(sides.values()) == {"U", "L"}
    one = riveting(solved(rivet=RIVET, sequence=Sequence(side="b")))
    assert all("made heads lower" in block.said for block in one[:-1])


def test_after_each_pass_the_straightedge_is_asked_for():
    """Found after the last rivet, a bow is riveted in."""
    case = solved(rivet=RIVET)
    blocks = riveting(case)
    assert all(block.asks == ("straight? gap, mm", "at hole", "limit") for block in blocks)
    said = [t.text for page in pages(case) for t in texts(page)]
    assert said.count("straight? gap, mm") == len(blocks)
    inches = [t.text for page in pages(solved(rivet=RIVET, units="in")) for t in texts(page)]
    assert "straight? gap, in" in inches


@pytest.mark.parametrize("zero", ["", "left"])
def test_the_sheet_lists_what_the_blocks_hold_in_their_order(zero):
    """What is read off the page is what is riveted."""
    case = solved(rivet=RIVET, keep_out=frozenset({1, 64}), strip=Strip(zero=zero))
    blocks = riveting(case)
    (page,) = pages(case)
    assert [n for n, _ in ticked(page)] == [n for block in blocks for n, _ in block.holes]
    assert any(t.text == "leave alone: 1, 64" for t in texts(page))
    # The dots: hole 1 lies at the zero end, and the block's own are black.
    rows: dict[float, list[tuple[float, bool]]] = {}
    for mark in page.picture.marks:
        if isinstance(mark.shape, Circle):
            rows.setdefault(mark.shape.centre.y, []).append((mark.shape.centre.x, mark.fill == 1.0))
    assert len(rows) == len(blocks)
    for block, y in zip(blocks, sorted(rows, reverse=True), strict=True):
        dots = sorted(rows[y], reverse=not zero)
        assert {n for n, (_, black) in enumerate(dots, start=1) if black} == {
            n for n, _ in block.holes
        }


def test_sixty_four_holes_are_on_one_page_and_boxes_stand_apart():
    """A sheet that runs over three pages is not hung over the bench."""
    (page,) = pages(solved(rivet=RIVET))
    assert not page.figure
    boxes = sorted(
        (m.shape.bounds() for m in page.picture.marks if isinstance(m.shape, Path)
         and m.shape.is_closed), key=lambda b: (b.top, b.left),
    )  # fmt: skip
    for a, b in pairwise(boxes):
        assert a.right + 5.0 < b.left or a.top + 2.0 < b.top
    paper = paper_of(solved())
    for text in texts(page):
        assert paper.margin - 0.5 <= text.bounds().left
        assert text.bounds().right <= paper.width - paper.margin + 0.5


@pytest.mark.parametrize("passes", [1, 2])
def test_without_a_rivet_the_drilling_order_is_listed_with_the_side_of_each_pin(passes):
    """Half way through sixty holes nobody remembers which is next, or from which side."""
    case = solved(passes=passes, keep_out=frozenset({3}))
    blocks = drilling(case)
    listed = [row for page in pages(case) for row in ticked(page)]
    assert listed == [row for block in blocks for row in block.holes]
    order = sorted((h.order, h.number) for h in case.holes if h.order is not None)
    assert [n for n, _ in listed] == [n for _, n in order]
    for number, letter in listed:
        pin = case.holes[number - 1].pin
        assert letter == {"a": "U", "b": "L"}[pin]
    for block in blocks:
        assert f"toward hole {block.holes[-1][0]}" in block.said
        assert "pin from U upper or L lower" in block.said


def test_each_order_of_a_plain_row_works_every_hole_once():
    """A rib is drilled by the same sheet, without wedge or guide."""
    for order in ("middle-out", "every-other", "ends-in"):
        row = Row(name="Rib 1", pitch=20.0, count=11, keep_out=frozenset({2}), order=order)
        assert sorted(row_order(row)) == [1, *range(3, 12)]
    outward = row_order(Row(name="x", pitch=1.0, count=9))
    assert outward == (5, 6, 4, 7, 3, 8, 2, 9, 1)
    assert row_order(Row(name="x", pitch=1.0, count=9, order="ends-in")) == outward[::-1]
    every = row_order(Row(name="x", pitch=1.0, count=9, order="every-other"))
    assert every == (6, 4, 8, 2, 5, 7, 3, 9, 1)  # the pins stand in the last five


def test_plain_rows_need_no_holes_on_the_edge_and_bear_their_names():
    """The sheet of the wrong rib is worse than none."""
    rows = (
        Row(name="Rib 3, upper flange", first=12.0, pitch=25.0, count=18),
        Row(name="Spar web", pitch=30.0, count=40, order="ends-in"),
    )
    job = a_job(skins(5.0, 4.0), rear_thickness=0.8, rows=rows)
    case = solve(job)
    assert JIG.asked_for(case)
    (page,) = pages(case)
    said = [t.text for t in texts(page)]
    for text in ("Rib 3, upper flange", "18 holes, first at 12 mm, pitch 25 mm", "Spar web",
                 "every other hole", "from the middle out", "from the ends in"):  # fmt: skip
        assert text in said
    assert said.count("grip") == said.count("rivet") == said.count("length") == 2
    pinned = [1 + 2 * k for k in range(9)]
    listed = [n for n, _ in ticked(page)]
    assert sorted(listed[:9]) == pinned
    assert sorted(listed[9:27]) == list(range(1, 19))


def test_a_long_order_runs_over_pages_and_loses_no_hole_and_no_heading():
    """A heading at the foot of a page heads nothing."""
    case = solved(400, rivet=RIVET, print=Print(paper=(148.0, 210.0), paper_name="a5"))
    blocks = riveting(case)
    sheets = pages(case)
    assert len(sheets) > 2
    assert [n for page in sheets for n, _ in ticked(page)] == [
        n for block in blocks for n, _ in block.holes
    ]
    for page in sheets:
        lowest = min(texts(page), key=lambda t: t.at.y)
        assert not re.match("PASS", lowest.text)
        assert lowest.at.y > 10.0 + 10.0


def test_who_asks_for_an_order_of_nothing_is_told_what_is_missing():
    """An empty sheet is printed and looked at by nobody."""
    case = solve(a_job(skins(5.0, 4.0), rear_thickness=0.8, sequence=Sequence()))
    assert JIG.asked_for(case)
    with pytest.raises(DoesNotFit) as caught:
        JIG.plan(case)
    assert caught.value.key == "sequence"
    assert not JIG.asked_for(solve(a_job(skins(5.0, 4.0), rear_thickness=0.8)))
