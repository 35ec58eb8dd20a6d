import math

import pytest

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.check import doubled_edges, refuse_doubled
from jiggen.drawing.shapes import Circle, Edge, Path
from jiggen.errors import DrawingError


def square(x: float, y: float, size: float = 20.0) -> Path:
    return Path.closed([(x, y), (x + size, y), (x + size, y + size), (x, y + size)])


def arc(first: float, last: float, radius: float = 30.0) -> Path:
    at = Point(5.0, 7.0)

    def on(degrees: float) -> Point:
        a = math.radians(degrees)
        return Point(at.x + radius * math.cos(a), at.y + radius * math.sin(a))

    return Path((Edge(on(first), on(last), math.tan(math.radians(last - first) / 4)),))


def test_pieces_with_a_gap_have_no_doubled_edge() -> None:
    """A clean bed must not be refused, or nobody could cut at all."""
    clean = [square(0, 0), square(23, 0), square(0, 23), Circle(Point(10, 10), 3)]
    assert doubled_edges(clean) == ()
    refuse_doubled(clean)


def test_pieces_that_touch_in_a_corner_have_no_doubled_edge() -> None:
    """A shared point is burnt twice everywhere two edges meet; it is no doubled line."""
    assert doubled_edges([square(0, 0), square(20, 20)]) == ()


@pytest.mark.parametrize("turn", [0.0, 33.3, 90.0, 201.7])
@pytest.mark.parametrize(
    ("first", "second"),
    [
        (Path.open([(0, 0), (50, 12)]), Path.open([(0, 0), (50, 12)])),
        (Path.open([(0, 0), (50, 12)]), Path.open([(50, 12), (0, 0)])),
        (Path.open([(0, 0), (50, 12)]), Path.open([(12.5, 3), (25, 6)])),
        (Path.open([(0, 0), (50, 12)]), Path.open([(25, 6), (75, 18)])),
        (square(0, 0), square(20, 5)),
        (arc(10, 80), arc(10, 80)),
        (arc(10, 80), arc(80, 10)),
        (arc(10, 80), arc(60, 120)),
        (arc(200, 340), arc(330, 400)),
        (arc(-40, 10), arc(350, 365)),
    ],
)
def test_edges_that_share_a_stretch_are_found(first: Path, second: Path, turn: float) -> None:
    """A laser that passes twice burns the check edge wide, whichever way it runs."""
    place = Affine.move(70.0, -20.0) @ Affine.turn(turn)
    assert len(doubled_edges([first.moved(place), second.moved(place)])) == 1


def test_a_circle_drawn_twice_is_found() -> None:
    """A dowel hole cut twice is too wide for its dowel."""
    twice = [Circle(Point(4, 4), 2), Circle(Point(4, 4), 2)]
    assert len(doubled_edges(twice)) == 2  # both halves


def test_an_arc_on_part_of_a_circle_is_found() -> None:
    """The outline's round end must not run along a hole's edge."""
    assert doubled_edges([Circle(Point(5, 7), 30), arc(20, 50)]) != ()


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (Path.open([(0, 0), (50, 12)]), Path.open([(0, 0.01), (50, 12.01)])),
        (Path.open([(0, 0), (50, 12)]), Path.open([(50, 12), (100, 24)])),
        (Path.open([(0, 0), (50, 12)]), Path.open([(0, 12), (50, 0)])),
        (arc(10, 80), arc(80, 120)),
        (arc(10, 80), arc(10, 80, radius=30.01)),
        (arc(10, 80), arc(100, 350)),
        (arc(10, 80), Path.open([(0, 0), (50, 12)])),
    ],
)
def test_edges_that_only_meet_or_run_beside_one_another_are_not(first: Path, second: Path) -> None:
    """A false alarm stops a bed that could be cut."""
    assert doubled_edges([first, second]) == ()


def test_the_refusal_says_where() -> None:
    """Without the place one searches a whole bed for a line that looks like one line."""
    with pytest.raises(DrawingError, match=r"x 20\.000, y 15\.000 mm"):
        refuse_doubled([square(0, 0), square(20, 5)])
