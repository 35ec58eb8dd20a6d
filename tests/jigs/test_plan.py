"""Which pieces a job needs: twins made once, ranges named, bores judged."""

import math

import pytest
from jiggen.jigs.judge import bore_checks, skin_checks
from samplejobs import a_job, bulging, included, row_of_holes, skins, thick

from jiggen.drawing.shapes import Text
from jiggen.errors import DoesNotFit
from jiggen.jigs import build_pieces, jig_checks, stands
from jiggen.jigs.stand import bit_reach, say_at_most, say_short
from jiggen.job.sections import Allow, Block, Cut
from jiggen.solve import solve


def symmetric(**more):
    return solve(
        a_job(included(11.0), holes=row_of_holes(9), rear_thickness=0.8, skin=(0.5, 0.5), **more)
    )


def tapered(**more):
    return solve(
        a_job(
            thick(4.2, 0.8, 16.0),
            thick(2.6, 0.6, 12.0, at=400.0),
            holes=row_of_holes(15),
            skin=(0.5, 0.5),
            **more,
        )
    )


def said(piece) -> str:
    return " ".join(m.shape.text for m in piece.marks if isinstance(m.shape, Text))


def test_a_symmetric_wedge_gets_one_guide_for_both_sides():
    """Twins are cut twice and mixed up once."""
    pieces = build_pieces(symmetric())
    assert [p.name for p in pieces if p.kind == "guide"] == ["guide-1"]
    guide = next(p for p in pieces if p.kind == "guide")
    assert guide.side == "ab"
    assert "fits both sides: lower, turn it over" in said(guide)
    assert "upper + lower" in said(guide)


def test_an_asymmetric_wedge_gets_a_mirrored_guide_for_side_b():
    """Side B's forward edge is on the other hand."""
    solution = solve(a_job(skins(6.5, 3.0), holes=row_of_holes(9), rear_thickness=0.8))
    guides = [p for p in build_pieces(solution) if p.kind == "guide"]
    assert [(p.name, p.side) for p in guides] == [("guide-a1", "a"), ("guide-b1", "b")]
    a, b = (p.angles[0] for p in guides)
    assert (a.nominal, b.nominal) == pytest.approx((83.5, 87.0))
    assert a.base.end.x > a.base.start.x
    assert b.base.end.x < b.base.start.x


def test_every_drilled_hole_is_named_on_exactly_one_guide_of_its_side():
    """A hole without a guide gets drilled by eye."""
    solution = tapered(allow=Allow(drift=0.01))
    some = stands(solution)
    assert len(some) > 2
    for side in ("a", "b"):
        served = sorted(
            number
            for stand in some
            for g in stand.guides
            if g.side == side
            for number in range(g.first_hole, g.last_hole + 1)
        )
        assert served == list(range(1, 16))


def test_what_is_left_for_cutting_is_the_worst_holes_rest():
    """Allowed atan(drift / h) less what the hole is off, smallest over the range."""
    solution = tapered(allow=Allow(drift=0.02))
    for stand in stands(solution):
        for guide in stand.guides:
            rest = min(
                math.atan2(0.02, h.thickness) - abs(h.angles.guide_forward_a - guide.angle)
                for h in solution.holes
                if guide.first_hole <= h.number <= guide.last_hole
            )
            assert stand.margin <= rest + 1e-12
    made = [p for p in build_pieces(solution) if p.kind == "guide"]
    for piece, stand in zip(made, stands(solution), strict=True):
        assert piece.allowed_angle == pytest.approx(math.degrees(stand.margin))


def test_each_guide_has_a_block_and_a_wrap():
    """Same angle, same range, same name."""
    pieces = build_pieces(symmetric())
    assert {p.kind for p in pieces} == {"guide", "foot", "block", "wrap"}
    for piece in pieces:
        if piece.kind in ("block", "wrap"):
            # Two things called Block 1 would be taken for one.
            assert {"block": "Block 1", "wrap": "Paper wrap 1"}[piece.kind] in said(piece)
        for check in piece.angles:
            assert min(check.nominal, 180 - check.nominal) == pytest.approx(84.5)


def test_only_picks_kinds_and_names():
    """A builder who wants one block should not have to print the rest."""
    solution = symmetric()
    assert {p.kind for p in build_pieces(solution, ("foot",))} == {"foot"}
    assert {p.name for p in build_pieces(solution, ("guide-1",))} == {"guide-1"}
    block = build_pieces(solution, ("block-1",))
    assert {p.kind for p in block} == {"block"}
    assert len(block) >= 3
    with pytest.raises(
        DoesNotFit, match=r"known are guide, foot, block, wrap, coupon, .*guide-1"
    ) as caught:
        build_pieces(solution, ("gide",))
    assert caught.value.key == "--only"


def test_a_rattling_bore_is_warned_of_with_what_would_do():
    """The length or the sheet that is named really does."""
    solution = symmetric(allow=Allow(drift=0.02))
    (check,) = bore_checks(solution)
    assert check.status == "warn"
    assert check.value == pytest.approx(math.degrees(math.atan(math.hypot(0.05, 0.5) / 40)))
    assert check.value > check.limit
    assert "would do: " in str(check.why)
    assert "sheet 2.50 mm thick" in str(check.why)
    length = float(str(check.why).split("block.height = ")[1].split(" ")[0])
    longer = symmetric(allow=Allow(drift=0.02), block=Block(height=length))
    assert bore_checks(longer)[0].status == "ok"


def test_a_snug_bore_passes():
    """A bushing in nesting layers holds."""
    good = symmetric(block=Block(bore=6.0, inside=2.52))
    assert bore_checks(good)[0].status == "ok"


def test_a_base_that_overhangs_the_trailing_edge_is_told():
    """Aft of the hole there are 8 mm of skin and 84 mm of base."""
    solution = symmetric()
    rest = solution.base_aft_of_hole
    assert rest == pytest.approx(8.0 / math.cos(math.radians(5.5)) - 1.25 - 3.0)
    told = {number.id: number for number in solution.numbers}["base-aft"]
    assert told.value == rest
    assert "stand the guide forward" in str(told.note)


def curved():
    """A section whose skins bulge: two parabolas, 800 mm chord."""
    return solve(a_job(bulging(), holes=row_of_holes(5)))


def test_on_a_curved_skin_the_corner_is_cut_for_its_own_feet():
    """Set on its feet on the outline, the working edge stands square to the chord plane."""
    solution = curved()
    section = solution.section_at[0]
    guides = [p for p in build_pieces(solution) if p.kind == "guide"]
    assert len(guides) == 2
    for piece in guides:
        check = piece.angles[0]
        # Distances from the hole to the feet's middles, in the guide's own base line.
        ends = sorted((abs(check.base.start.x), abs(check.base.end.x)))
        near, far = ends[0] + 2.0, ends[1] - 2.0
        slope = math.pi / 2 - math.radians(check.nominal)
        x0, x1 = (8.0 + 1.25 + d * math.cos(slope) for d in (near, far))
        z0, z1 = (section.height(piece.side, x) for x in (x0, x1))
        assert math.atan2(z1 - z0, x1 - x0) == pytest.approx(slope, abs=math.radians(0.02))


def test_on_a_curved_skin_the_block_stands_on_two_pads_that_give_its_corner():
    """Set on its pads on the outline, the bore stands square to the chord plane."""
    solution = curved()
    section = solution.section_at[0]
    solids = [p for p in build_pieces(solution, ("block",)) if p.name.endswith("solid")]
    assert [p.side for p in solids] == ["a", "b"]
    for piece in solids:
        check = piece.angles[0]
        touching = [e for e in piece.outline.edges if e.start.y == 0.0 == e.end.y]
        assert [e.chord for e in touching] == pytest.approx([4.0, 4.0])
        near, far = sorted(abs(e.start.x + e.end.x) / 2 for e in touching)
        slope = math.pi / 2 - math.radians(check.nominal)
        x0, x1 = (8.0 + d * math.cos(slope) for d in (near, far))
        z0, z1 = (section.height(piece.side, x) for x in (x0, x1))
        assert math.atan2(z1 - z0, x1 - x0) == pytest.approx(slope, abs=math.radians(0.02))


def test_on_a_curved_skin_no_wrap_is_drawn_and_it_is_said():
    """A flat base rocks."""
    solution = curved()
    assert {p.kind for p in build_pieces(solution)} == {"guide", "block"}
    assert any(c.name == "wraps" and c.status == "warn" for c in skin_checks(solution))


def test_no_room_for_cutting_is_warned_of():
    """The fewest guides can be too few for a knife."""
    solution = tapered(allow=Allow(drift=0.007))
    assert any(c.name.startswith("room for cutting") for c in skin_checks(solution))


def test_checks_are_only_of_jigs_that_are_made():
    """A warning about a block that nobody asked for hides the one that matters."""
    solution = solve(a_job(skins(6.0, 6.0), holes=row_of_holes()))
    foot = jig_checks(solution, build_pieces(solution, ("foot",)))
    everything = jig_checks(solution, build_pieces(solution))
    assert foot == ()
    assert any(check.name.startswith("bore tilt") for check in everything)


def test_the_aft_edge_of_a_guide_whose_base_overhangs_says_so():
    """It looks as good as the forward edge, and the guide tips on it."""
    (guide,) = (p for p in build_pieces(symmetric()) if p.kind == "guide")
    assert "second look only, guide aft 95.50°" in said(guide)
    assert "aft edge: a second look only, its base overhangs the TE" in said(guide)
    assert "bit here, guide forward 84.50°" in said(guide)
    holes = row_of_holes(line=60.0)
    deep = solve(a_job(skins(5.5, 5.5), holes=holes, depth=100.0, rear_thickness=1.0))
    (guide,) = (p for p in build_pieces(deep) if p.kind == "guide")
    assert "second look" not in said(guide)
    assert "bit here, guide aft" in said(guide)


def test_in_inches_foot_and_bit_are_told_as_an_inch_rule_has_them():
    """Slots for 3.175 mm say nothing to whoever bought eighth-inch sheet."""
    job = a_job(
        skins(5.5, 5.5),
        holes=row_of_holes(),
        rear_thickness=1.0,
        units="in",
        cut=Cut(sheet=25.4 / 8),
    )
    solution = solve(job)
    pieces = {p.kind: p for p in build_pieces(solution)}
    assert "slots for 1/8 in" in said(pieces["foot"])
    reach = bit_reach(solution, job.guide.edge)
    assert reach / 6.35 == pytest.approx(round(reach / 6.35))
    assert reach >= job.guide.edge
    assert "mm of bit" not in said(pieces["guide"])


@pytest.mark.parametrize(
    ("mm", "units", "said"),
    [(0.4699, "in", "0.018 in"), (0.96, "mm", "0.9 mm"), (0.9, "mm", "0.9 mm")],
)
def test_a_limit_on_a_label_is_rounded_down(mm, units, said):
    """0.018 in told as 0.02 lets a guide pass that is a tenth beyond what it may be off."""
    assert say_at_most(mm, units) == said


@pytest.mark.parametrize(
    ("mm", "units", "said"),
    [
        (25.4, "in", "1.00 in"),
        (63.5, "in", "2.50 in"),
        (25.4, "mm", "25.4 mm"),
        (3.0, "mm", "3 mm"),
    ],
)
def test_a_short_length_on_a_label_is_in_the_unit_that_it_names(mm, units, said):
    """25.4 in on a label is 645 mm to whoever reads it."""
    assert say_short(mm, units) == said


def test_the_bit_reaches_through_the_jig_the_grip_and_a_little_more():
    """A bit that is short by the wedge stops inside it, with the chuck on the jig."""
    solution = solve(a_job(skins(6.0, 6.0), holes=row_of_holes(line=40.0), rear_thickness=3.0))
    grip = max(hole.thickness for hole in solution.holes)
    assert grip == pytest.approx(3.0 + 2 * 40.0 * math.tan(math.radians(6.0)))
    reach = bit_reach(solution, 58.0)
    # 6 mm more for the point and the chips, then up to the next 5 mm.
    assert reach == pytest.approx(5.0 * math.ceil((58.0 + grip + 6.0) / 5.0))
