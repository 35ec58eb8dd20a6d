"""A jig that does not fit: left out where nobody asked for it, refused where somebody did."""

import math
from dataclasses import replace

import pytest
from samplejobs import a_job, included, row_of_holes, skins

from jiggen.drawing.shapes import Text
from jiggen.errors import DoesNotFit
from jiggen.jigs import build_pieces, jig_checks
from jiggen.jigs.stand import SIDE_MOST, short_sides
from jiggen.job.sections import Block, Corner, Cut, Gauge
from jiggen.solve import solve

#: mm. A pair of holes so close that no block of thick sheet goes between their pins.
CLOSE = (15.0, 41.0, 56.2)
THICK = Cut(sheet=6.35)


def crowded(**more):
    holes = row_of_holes(positions=CLOSE)
    return solve(
        a_job(included(11.0), holes=holes, rear_thickness=0.8, **{"cut": THICK, **more}),
    )


def said(piece) -> str:
    return " ".join(m.shape.text for m in piece.marks if isinstance(m.shape, Text))


def test_a_block_nobody_asked_for_does_not_stop_the_guides():
    """Somebody who wants card guides gets nothing at all because of a block of thick sheet."""
    solution = crowded()
    pieces = build_pieces(solution)
    kinds = {p.kind for p in pieces}
    assert "guide" in kinds
    assert "block" not in kinds
    told = {c.name: c for c in jig_checks(solution, pieces)}
    assert told["block"].status == "warn"
    assert "does not fit between pins" in str(told["block"].why)
    assert "pin every other hole" not in str(told["block"].why)
    assert "bushing" not in str(told["block"].why)


def test_the_sheet_that_is_told_to_do_makes_a_block():
    """Somebody buys that sheet."""
    for solution in (crowded(), crowded(block=Block(bore=5.0))):
        (check,) = (c for c in jig_checks(solution, build_pieces(solution)) if c.name == "block")
        sheet = float(str(check.why).split("sheet ")[1].split(" mm thick would do")[0])
        bore = solution.job.block
        thin = crowded(cut=Cut(sheet=sheet), block=bore)
        assert "block" in {p.kind for p in build_pieces(thin)}


@pytest.mark.parametrize(("asked", "only"), [({"block"}, ()), (set(), ("block",))])
def test_a_block_that_was_asked_for_is_refused(asked, only):
    """Silence would send somebody to the machine without it."""
    with pytest.raises(DoesNotFit, match="does not fit between pins") as caught:
        build_pieces(crowded(stated=frozenset(asked)), only)
    assert caught.value.key == "cut.sheet"
    assert ("--only guide,foot,wrap draws the rest" in str(caught.value.remedy)) == (not only)


def test_the_way_round_a_refused_block_draws_the_rest():
    """A remedy that is refused in its turn costs an evening."""
    solution = crowded(stated=frozenset({"block"}), gauge=Gauge())
    with pytest.raises(DoesNotFit) as caught:
        build_pieces(solution)
    kinds = str(caught.value.remedy).split("--only ")[1].split(" ")[0].split(",")
    pieces = build_pieces(solution, tuple(kinds))
    assert {p.kind for p in pieces} == set(kinds) == {"guide", "foot", "wrap", "gauge"}
    assert "block" not in {c.name for c in jig_checks(solution, pieces, kinds)}


def test_a_wrap_that_tips_is_left_out_with_its_reason():
    """Holes half an inch apart have room for a guide, and for no block of wood."""
    holes = row_of_holes(positions=(15.0, 28.0))
    solution = solve(a_job(included(11.0), holes=holes, rear_thickness=0.8))
    pieces = build_pieces(solution)
    assert "guide" in {p.kind for p in pieces}
    (check,) = (c for c in jig_checks(solution, pieces) if c.name == "wrap")
    assert check.status == "warn"
    assert "guide.pin" in str(check.why)
    pin = float(str(check.why).split("pins of ")[-1].split(" mm or thinner")[0])
    thin = replace(solution.job, guide=replace(solution.job.guide, pin=pin))
    assert "wrap" in {p.kind for p in build_pieces(solve(thin))}
    with pytest.raises(DoesNotFit):
        build_pieces(solution, ("wrap",))


def test_the_name_of_one_sides_guide_finds_the_piece_that_serves_both():
    """The report calls it guide a1; the piece in the drawer is guide 1."""
    solution = solve(a_job(included(11.0), holes=row_of_holes(9), rear_thickness=0.8))
    for side in "ab":
        for kind in ("guide", "block", "wrap"):
            found = build_pieces(solution, (f"{kind}-{side}1",))
            assert found == build_pieces(solution, (f"{kind}-1",))
    one = build_pieces(solution, ("block-b1-solid",))
    assert [p.name for p in one] == ["block-1-solid"]
    square = {p.name for p in build_pieces(solution, ("corner-a1",))}
    assert square == {p.name for p in build_pieces(solution, ("corner-1",))}
    with pytest.raises(DoesNotFit, match="no piece of this job has that name"):
        build_pieces(solution, ("guide-a2",))


def test_a_corner_guide_that_is_one_for_each_side_keeps_its_name():
    """A tapered wedge leans to opposite hands: side A's plates are not side B's."""
    wedge = a_job(
        included(12.0), included(10.0, at=400.0), holes=row_of_holes(9), rear_thickness=0.8
    )
    found = {p.name for p in build_pieces(solve(wedge), ("corner-a1",))}
    assert found == {"corner-a1-stop", "corner-a1-cheek", "corner-a1-cross"}


def test_the_known_names_are_of_all_pieces_of_the_job():
    """Who mistypes a plate's name looks for it in the list."""
    job = a_job(
        skins(6.5, 3.0),
        holes=row_of_holes(9),
        rear_thickness=0.8,
        corner=Corner(),
        gauge=Gauge(),
    )
    solution = solve(job)
    with pytest.raises(DoesNotFit) as caught:
        build_pieces(solution, ("corer-a1",))
    known = str(caught.value.remedy).removeprefix("known are ").split(", ")
    assert {p.name for p in build_pieces(solution)} <= set(known)
    assert "corner-a1-cheek" in known


def test_long_names_of_sides_leave_the_guide_its_words():
    """A guide that does not say its holes, or that it is turned over, drills the wrong row."""
    names = ("inboard skin with name", "outboard skin long name")
    solution = solve(a_job(included(11.0), holes=row_of_holes(9), rear_thickness=0.8, sides=names))
    pieces = {p.kind: p for p in build_pieces(solution)}
    for kind in ("guide", "wrap"):
        words = said(pieces[kind])
        assert "side A + side B" in words
        assert "holes 1-9" in words
        assert ".." not in words
    assert "fits both sides: side B, turn it over" in said(pieces["guide"])


def test_the_longest_name_that_is_kept_fits_the_guide():
    """What is kept must be lettered whole, on the guide with the widest range too."""
    names = ("W" * SIDE_MOST, "M" * SIDE_MOST)
    assert short_sides(names) == names
    assert short_sides((names[0] + "W", "B")) == ("side A", "side B")
    holes = row_of_holes(120, positions=tuple(15.0 + 26.0 * n for n in range(120)))
    solution = solve(a_job(included(11.0), holes=holes, rear_thickness=0.8, sides=names))
    (guide,) = build_pieces(solution, ("guide",))
    words = said(guide)
    for wanted in (*names, "holes 1-120", f"fits both sides: {names[1]}, turn it over"):
        assert wanted in words
    assert math.isclose(guide.angles[0].nominal, 84.5)
