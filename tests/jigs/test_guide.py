"""The guide from a job file: sound at every angle, or refused with a way out that works.

Its numbers have their own tests, and so has how it stands in space.
"""

from __future__ import annotations

import math
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from offsetjobs import solved
from shapely.geometry import MultiPoint
from shapely_pieces import assert_sound, material, points, polygon

from jiggen.drawing.affine import Affine
from jiggen.drawing.face import unlettered
from jiggen.drawing.piece import Piece, angle_between
from jiggen.drawing.shapes import On, Path, Text
from jiggen.errors import DoesNotFit
from jiggen.jigs.guide import plan_guide
from jiggen.jigs.plan import Plan

#: mm. A nib of the back plate beside the foot may be that narrow, and no other web below 2.
NIB, WEB = 1.5, 2.0
#: A job as `solved` takes it.
Given = dict[str, object]


def job(
    degrees: float, depth: float, sheet: float, share: float = 0.5, base: str = "solid"
) -> Given:
    sections = {"guide": f'sheet = "{sheet:.4f} mm"\nbase = "{base}"'}
    line = max(min(share * depth, depth - 6.0), 5.0)
    return {"a": degrees, "b": degrees, "depth": depth, "line": line, "sections": sections}


def plan(of: Given) -> Plan:
    return plan_guide(solved(**of))  # type: ignore[arg-type]


def changed(of: Given, section: str, line: str) -> Given:
    """Return a job with one more line in a section, in place of any that sets the same key."""
    key = line.split(" ")[0]
    sections = dict(of["sections"])  # type: ignore[call-overload]
    kept = [row for row in sections.get(section, "").split("\n") if row.split(" ")[0] != key]
    return {**of, "sections": {**sections, section: "\n".join([*kept, line]).strip()}}


def as_told(of: Given, trouble: DoesNotFit) -> Given | None:
    """Do what a refusal tells; None where it tells to take the block."""
    told, section = str(trouble.remedy), trouble.key.partition(".")[0]
    if told == "the block":
        return None
    if 'guide.base = "skin"' in told and trouble.key == "guide.base":
        return changed(of, "guide", 'base = "skin"')
    number = float(next(word for word in told.split() if word[0].isdigit()))
    if trouble.key == "wedge.depth":
        return {**of, "depth": number}
    return changed(of, section, f'{trouble.key.partition(".")[2]} = "{number} mm"')


def made(of: Given) -> tuple[Plan | None, int]:
    """Return the plan, after as many of the told remedies as it takes; None ends at the block."""
    keys: list[str] = []
    while True:
        try:
            return plan(of), len(keys)
        except DoesNotFit as refused:
            trouble = refused
        assert trouble.key not in keys, f"{trouble.key} was told, and did not do: {trouble}"
        keys.append(trouble.key)
        then = as_told(of, trouble)
        if then is None:
            return None, len(keys)
        of = then


def least_web(piece: Piece) -> float:
    return NIB if piece.variant in ("", "upper", "lower") else WEB


def assert_whole(piece: Piece) -> None:
    """Assert that a plate is in one piece, its cuts inside, and that it has no neck."""
    body, least = material(piece), least_web(piece)
    assert body.geom_type == "Polygon"
    assert body.is_valid
    assert len(body.interiors) == len(piece.inner)
    core = body.buffer(-(least / 2 - 1e-3), quad_segs=8)
    assert core.geom_type == "Polygon"
    assert body.difference(core.buffer(1.9 * least, quad_segs=8)).area < 1e-3


def assert_drawn(made: Plan, degrees: float) -> None:
    """Assert that pieces are sound, and that what is claimed of them is so."""
    back, edge, _ = made.pieces
    twice = f"edge, cut {edge.count}" if edge.count > 1 else "edge"
    assert [p.variant for p in made.pieces] == ["", twice, "foot"]
    for piece in (back, edge):
        assert float(piece.number.removesuffix("°")) == pytest.approx(90 - degrees, abs=0.0501)
    for piece in made.pieces:
        assert_whole(piece)
        for check in piece.angles:
            found = angle_between(check.base, check.working)
            assert found == pytest.approx(check.nominal, abs=1e-9)
        rim = polygon(piece.outline).exterior.buffer(1e-6)
        for size in piece.dimensions:
            assert math.dist(size.start, size.end) == pytest.approx(size.nominal, abs=1e-9)
            assert rim.covers(MultiPoint([tuple(size.start), tuple(size.end)]))
    assert back.angles[0].nominal == pytest.approx(90.0 - degrees, abs=1e-6)
    assert any(check.id.startswith("guide-heading") for check in made.checks) == (degrees >= 15)


RANGES = {
    "degrees": st.floats(1.0, 44.0), "depth": st.floats(14.0, 30.0), "sheet": st.floats(1.0, 6.0),
    "share": st.floats(0.3, 0.7), "base": st.sampled_from(["solid", "skin"]),
}  # fmt: skip


@settings(max_examples=30)
@given(st.fixed_dictionaries(RANGES))
def test_any_guide_is_sound_and_lettered_or_refused_with_a_way_out_that_works(of):
    """A web of 0.3 mm, a name over a cut line, a remedy that is refused in its turn."""
    _one_of_the_sweep(of)


@pytest.mark.slow
@settings(max_examples=250)
@given(st.fixed_dictionaries(RANGES))
def test_many_guides_are_sound_and_lettered_or_refused_with_a_way_out_that_works(of):
    """The same, for many more of them."""
    _one_of_the_sweep(of)


def _one_of_the_sweep(of):
    found, _ = made(job(**of))
    if found is not None:
        assert_drawn(found, of["degrees"])
        for piece in found.pieces:
            assert_sound(piece, least_web(piece))


@pytest.mark.slow
def test_every_angle_wedge_and_sheet_is_drawn_sound_or_refused_with_a_way_out_that_works():
    """Every degree from 1 to 44, every mm of wedge from 14 to 30 and of sheet from 1 to 6."""
    count: dict[object, int] = {}
    for degrees, depth, sheet in product(range(1, 45), range(14, 31), range(1, 7)):
        with unlettered():
            found, told = made(job(float(degrees), float(depth), float(sheet)))
        if found is not None:
            assert_drawn(found, degrees)
        key = "the block" if found is None else told
        count[key] = count.get(key, 0) + 1
    assert count[0] > 2000
    assert count[1] > 500


def test_side_bs_guide_is_side_as_turned_over():
    """Cut as side A's, it would lean the drill the wrong way by twice the angle."""
    (a, *_), (*_, b, _, _) = (
        [p for p in plan_guide(solved(*angles)).pieces] for angles in ((6.5, 3.0), (3.0, 6.5))
    )
    assert (a.name, a.side, b.name, b.side) == ("guide-a1", "a", "guide-b1", "b")
    over = b.outline.moved(Affine.mirror_x())
    assert polygon(over).symmetric_difference(polygon(a.outline)).area == pytest.approx(0, abs=1e-9)
    assert (a.number, a.forward.x) == (b.number, -b.forward.x) == ("83.5°", 1.0)


@pytest.mark.parametrize("side", ["a", "b"])
def test_the_arrow_points_to_where_the_skin_rises(side):
    """FORWARD the other way round is believed."""
    back = next(p for p in plan_guide(solved(6.5, 3.0)).pieces if p.side == side)
    pad = back.angles[0].base
    up = 1.0 if pad.end.x > pad.start.x else -1.0
    assert back.forward.x == up == (1.0 if side == "a" else -1.0)
    shapes = [mark.shape for mark in back.marks]
    (words,) = [s.bounds() for s in shapes if isinstance(s, Text) and s.text == "FORWARD"]
    cut = [mark.shape for mark in back.marks if mark.on is not On.PAPER]  # not a letter's leader
    (head,) = [points(s)[:3] for s in cut if isinstance(s, Path) and s.is_closed]
    tip = max(head, key=lambda at: sum(math.dist(at, other) for other in head))
    assert (tip[0] - sum(x for x, _ in head) / 3) * up > 0.0
    assert (tip[0] - (words.left + words.right) / 2) * up > 0.0


def test_alike_sides_have_one_guide_and_all_guides_one_foot():
    """Twins are cut twice and mixed up once."""
    assert [p.name for p in plan_guide(solved(5.0, 5.0)).pieces] == [
        "guide-1", "guide-1-edge", "guide-foot",
    ]  # fmt: skip
    assert [(p.name, p.side) for p in plan_guide(solved(6.5, 3.0)).pieces][::2] == [
        ("guide-a1", "a"), ("guide-b1", "b"), ("guide-foot", "ab"),
    ]  # fmt: skip


def test_edge_and_foot_are_as_many_sheets_as_the_bit_needs():
    """An edge that ends below the bit's widest line lets the bit ride over it."""
    for sheet, count in ((1.0, 2), (2.0, 1)):
        back, edge, foot = plan(job(5.7, 20.0, sheet)).pieces
        assert (back.count, edge.count, foot.count) == (1, count, 1)


@pytest.mark.parametrize(
    ("of", "status"),
    [
        ({}, "ok"),
        ({"depth": 14.0, "line": 7.0, "rear": 5.0}, "fail"),
        ({"depth": 14.0, "line": 7.0, "rear": 5.0, "sections": {"guide": 'cut = "laser"'}}, "ok"),
    ],
)
def test_a_guide_that_leans_more_than_the_holes_bear_fails(of, status):
    """A short base cut by hand on a deep hole: nobody sees it until the far skin is drilled."""
    (check,) = plan_guide(solved(5.7, 5.7, **of)).checks
    assert check.status == status
    assert (check.value <= check.limit) == (status == "ok")
    if status == "fail":
        assert "file the pads to the taper gauge, have it cut, or take the block" in str(check.why)


def test_a_part_of_the_numbers_page_says_hold_it_where_it_does_not_stand():
    """A guide that topples is let go of once, over the work."""
    told = [dict(plan(job(a, 20.0, 3.0)).tables[0].rows).get("by itself") for a in (5.0, 30.0)]
    assert told == [None, "hold it"]


@pytest.mark.parametrize(
    ("changes", "key", "said"),
    [
        ({"sections": {"drill": "length = 45"}}, "drill.length", "an edge of 18.0 mm shows 0.1 mm"),
        ({"sections": {"drill": "length = 27"}}, "drill.length", "touches the skin before"),
        ({"line": 5.0}, "guide.sheet", "no room for a foot of 3.00 mm between the TE and the bit"),
        ({"depth": 11.5, "line": 7.0}, "wedge.depth", "of solid wedge forward of the hole"),
        ({"pitch": 13.0}, "guide.pin", "13.0 mm leave 12.0 mm for the foot"),
        ({"drill": "0.4 mm"}, "drill.length", "no common length is known"),
    ],
)
def test_what_a_guide_is_refused_for(changes, key, said):
    """Each refusal names the key that would mend it, and the lengths that do not go together."""
    with pytest.raises(DoesNotFit, match=said) as refused:
        plan_guide(solved(5.7, 5.7, **changes))
    assert refused.value.key == key
    assert str(refused.value.remedy)
