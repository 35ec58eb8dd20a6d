"""What the cover, the card and the steps tell: each side's own, at the right end, and STOP."""

from __future__ import annotations

import math
import re

import pytest
from commandline import PROJECT
from extremes import solution_of
from msgspec.structs import replace
from shapely.geometry import LineString
from shapely_pieces import polygon

from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import On, Text
from jiggen.errors import say
from jiggen.jigs.cards import card_marks
from jiggen.jigs.plan import plan_job
from jiggen.jigs.stand import thick_end
from jiggen.job.read import read_job
from jiggen.make import paper_of
from jiggen.solution import Solution
from jiggen.solve import solve


def sample(name: str) -> Solution:
    return solve(read_job(PROJECT / "samples" / name / "job.toml"))


def card(solution: Solution) -> list[str]:
    marks = card_marks(solution, paper_of(solution), plan_job(solution), "XX-0000")
    return [mark.shape.text for mark in marks if isinstance(mark.shape, Text)]


def test_a_stop_is_told_for_each_side_where_the_skins_differ():
    """The stop for the thick skin, used on the thin one, goes 0.3 mm too deep."""
    solution = sample("split-flap")
    told = say(dict(solution.brief)["stop from touch"], "mm")
    outside, inside = re.fullmatch(r"outside (.*), inside (.*)", told).groups()
    for said, cones in (
        (outside, [hole.countersink_a for hole in solution.holes]),
        (inside, [hole.countersink_b for hole in solution.holes]),
    ):
        stops = [cone.stop for cone in cones]
        numbers = [float(x) for x in re.findall(r"[\d.]+", said)]
        assert numbers[0] == pytest.approx(min(stops), abs=0.005)
        assert numbers[-1] == pytest.approx(max(stops), abs=0.005)


def test_lengths_are_told_with_the_holes_that_take_them():
    """Too short a rivet ends in the thick end."""
    solution = sample("flaperon")
    told = say(dict(solution.brief)["length"], "in")
    found = re.findall(r"(4-\d) holes (\d+)-(\d+)", told)
    assert len(found) == 2
    for code, first, last in found:
        of = solution.holes[int(first) - 1 : int(last)]
        assert {hole.rivet_code for hole in of} == {code}


@pytest.mark.parametrize("name", ["flaperon", "split-flap"])
def test_the_thick_end_is_the_thick_end(name):
    """A guide taken at the wrong end is off by the taper."""
    solution = sample(name)
    first, last = solution.holes[0].thickness, solution.holes[-1].thickness
    assert thick_end(solution) == f"hole 1 at the {'thick' if first > last else 'thin'} end"
    assert "hole 1 at the" in " ".join(card(solution))
    turned = tuple(reversed(solution.holes))
    assert thick_end(replace(solution, holes=turned)) != thick_end(solution)


def test_nothing_is_said_of_ends_that_are_alike():
    """An empty word is no word."""
    assert thick_end(sample("elevon")) == ""
    assert "" not in card(sample("elevon"))


def test_the_card_says_stop_where_the_job_does():
    """It hangs over the bench when the cover has gone."""
    assert "STOP: see cover" in card(solution_of("sheet of 12"))
    assert "STOP: see cover" not in card(sample("flaperon"))


def test_the_pins_go_into_the_holes_of_the_stock_that_are_counted():
    """A pin one hole off moves the cut by a pitch."""
    solution = sample("canard")
    stock, best = solution.job.stock, solution.trim.best
    holes = [12.0 + 29.0 * k for k in range(44)]  # as the job file has them
    (step,) = (
        text for plan in plan_job(solution, ["trim"]).plans for text in map(str, plan.steps)
        if "stock's holes" in text
    )  # fmt: skip
    first, last = map(int, re.search(r"holes (\d+) to (\d+) from there", step).groups())
    start, end = best.cuts
    for cut, from_end in ((start, holes), (end, [stock.length - at for at in reversed(holes)])):
        # The first hole that is not cut off, and three more on the template.
        whole = [n for n, at in enumerate(from_end, start=1) if at > cut.left + 5.0]
        assert whole[0] == first
        assert last == first + 3


def corners_named(piece: Piece) -> dict[str, tuple[float, float]]:
    """Return the corners that the sizes of a piece are named by, ``A-B`` from A to B."""
    found = {}
    for size in piece.dimensions:
        if re.fullmatch("[A-F]-[A-F]", size.name):
            found[size.name[0]], found[size.name[2]] = size.start, size.end
    return found


@pytest.mark.parametrize("name", ["canard", "elevon", "flaperon", "split-flap"])
def test_a_letter_stands_at_its_own_corner_with_no_cut_between(name):
    """Across the slot for the foot it names another corner, and a good piece is thrown away."""
    seen = 0
    for piece in plan_job(sample(name)).pieces:
        corners = corners_named(piece)
        edge = polygon(piece.outline).boundary
        for mark in piece.marks:
            of = corners.get(mark.shape.text) if isinstance(mark.shape, Text) else None
            if of is None or mark.on is On.PAPER:  # beside the piece it has a leader
                continue
            box = mark.shape.bounds().middle
            near = tuple(c + 0.02 * (b - c) for b, c in zip(box, of, strict=True))
            assert math.dist(box, of) <= 8.5, (piece.name, mark.shape.text)
            assert not LineString([box, near]).intersects(edge), (piece.name, mark.shape.text)
            seen += 1
    assert seen > 3


@pytest.mark.parametrize("name", ["canard", "elevon", "flaperon", "split-flap"])
def test_the_corner_that_is_printed_is_that_of_the_holes_it_serves(name):
    """Half a degree more on paper than in the metal, and the wrong guide is taken for good."""
    solution = sample(name)
    leading = [piece for piece in plan_job(solution).pieces if piece.leads is not None]
    assert leading
    for piece in leading:
        for side in piece.side:
            served = [hole for hole in solution.holes if hole.number in piece.serves]
            slopes = [math.degrees(getattr(hole.angles, f"skin_{side}")) for hole in served]
            least, most = 90.0 - max(slopes), 90.0 - min(slopes)
            # On a skin that bends a guide lies up to a tenth off the tangent at the hole.
            assert least - 0.1 <= piece.leads <= most + 0.1, (piece.name, side)
