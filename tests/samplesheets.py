"""Invented pieces and sheets, made by hand from the drawing model, for tests of the writers.

Nothing lies on round numbers or along the axes unless that is the point: an exchanged x and y, a
lost sign or a rounded place must show.
"""

from __future__ import annotations

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.piece import CheckAngle, CheckDimension, Piece
from jiggen.drawing.shapes import Anchor, Circle, Dash, Edge, Mark, On, Op, Path, Text
from jiggen.drawing.sheet import Placed, Sheet

#: The corner of the guide: base along x, working edge at this angle to it, degrees.
CORNER = 84.7


def guide(name: str = "guide-a") -> Piece:
    """Return a corner of 84.7 degrees with a relieved corner, a hole and a shallow arc."""
    up = Affine.turn(CORNER)
    foot, top = Point(61.123456789, 0.0), up.point((73.987654321, 0.0))
    # The relief bites 270 degrees out of the corner: an arc of more than half a turn, clockwise.
    relief_end, relief_start = Point(4.0, 0.0), up.point((4.0, 0.0))
    outline = Path(
        (
            Edge(relief_end, foot),
            Edge(foot, Point(58.0, 31.25), 0.0625),  # shallow: two hundred mm of radius
            Edge(Point(58.0, 31.25), top, 0.31),
            Edge(top, relief_start),
            Edge(relief_start, relief_end, -1.4),
        )
    )
    band = Path.closed([(8.0, 0.0), (50.0, 0.0), (50.0, -0.7), (8.0, -0.7)])
    return Piece(
        name=name,
        kind="guide",
        label="GUIDE 1",
        variant="skin A",
        number="84.7°",
        outline=outline,
        inner=(Circle(Point(33.3, 22.2), 4.05),),
        marks=(
            Mark(shape=band, op=Op.NOTE, fill=0.45, on=On.PAPER),
            Mark(shape=Path.open([(10.0, 8.0), (40.0, 11.0)]), op=Op.SCORE),
            Mark(shape=Path.open([(12.0, 14.0), (30.0, 14.0)]), op=Op.NOTE, dash=Dash.HIDDEN),
            *bar_marks(Point(6.0, 5.0), 40.0),
            Mark(shape=Text(Point(12.0, 16.0), "84.7° (A) FORWARD", 2.5), op=Op.ENGRAVE),
            Mark(shape=Text(Point(25.0, 40.0), "TE", 3.5, 90.0, Anchor.MIDDLE), op=Op.ENGRAVE),
            Mark(shape=Text(Point(20.0, 50.0), "  ", 3.5), op=Op.ENGRAVE),
        ),
        angles=(
            CheckAngle(
                name="forward",
                nominal=CORNER,
                base=Edge(relief_end, foot),
                working=Edge(relief_start, top),
            ),
        ),
        dimensions=(
            CheckDimension(
                name="bar-40",
                nominal=40.0,
                start=Point(6.0, 5.0),
                end=Point(46.0, 5.0),
                is_bar=True,
            ),
        ),
        true_edges=(Edge(relief_end, foot),),
        side="a",
    )


def block(name: str = "block") -> Piece:
    """Return a lamination with a round end of more than half a turn, and two dowel holes."""
    return Piece(
        name=name,
        kind="block",
        label="BLOCK 1",
        outline=Path.closed([(0.0, 0.0), (41.7, 0.0), (41.7, 17.3, 1.9), (0.0, 17.3)]),
        inner=(
            Circle(Point(7.0, 8.0), 2.0),
            Circle(Point(34.7, 8.0), 2.0),
            Path.closed([(18.0, 4.0), (18.0, 12.0), (23.0, 12.0, -1.0), (23.0, 4.0)]),
        ),
        marks=(Mark(shape=Circle(Point(20.0, 25.0), 1.5), op=Op.SCORE),),
        dimensions=(
            CheckDimension(name="width", nominal=41.7, start=Point(0.0, 2.0), end=Point(41.7, 2.0)),
        ),
        count=2,
    )


def bar_marks(start: Point, length: float, *, along_y: bool = False) -> tuple[Mark, ...]:
    """Return the two filled ticks of a bar, 0.5 mm wide, their middles `length` mm apart."""
    place = Affine.move(*start) @ Affine.turn(90.0 if along_y else 0.0)
    ticks = []
    for x in (0.0, length):
        box = [(x - 0.25, -1.5), (x + 0.25, -1.5), (x + 0.25, 1.5), (x - 0.25, 1.5)]
        ticks.append(Mark(shape=Path.closed(box).moved(place), op=Op.ENGRAVE, fill=1.0))
    return tuple(ticks)


def full_sheet(name: str = "cut-1") -> Sheet:
    """Return two equal guides, one of them turned, and a block, with bars along both axes."""
    return Sheet(
        name=name,
        width=210.0,
        height=297.0,
        placed=(
            Placed(piece=guide(), place=Affine.move(21.7, 33.1)),
            Placed(piece=block(), place=Affine.move(120.5, 60.25) @ Affine.turn(30.0)),
            Placed(piece=guide(), place=Affine.move(110.0, 150.0) @ Affine.turn(90.0)),
        ),
        marks=(
            *bar_marks(Point(31.0, 270.0), 100.0),
            *bar_marks(Point(15.0, 140.0), 100.0, along_y=True),
            Mark(
                shape=Text(Point(105.0, 285.0), "print at 100 %", 3.0, 0.0, Anchor.MIDDLE),
                op=Op.NOTE,
            ),
        ),
        dimensions=(
            CheckDimension(
                name="bar-x",
                nominal=100.0,
                start=Point(31.0, 270.0),
                end=Point(131.0, 270.0),
                is_bar=True,
            ),
        ),
        title="Invented flap, sheet 1",
    )


def one_piece(
    piece: Piece, name: str = "one", width: float = 120.0, height: float = 130.0
) -> Sheet:
    """Return a sheet with a single piece, 20 mm from its lower left corner."""
    return Sheet(
        name=name,
        width=width,
        height=height,
        placed=(Placed(piece=piece, place=Affine.move(20.0, 20.0)),),
    )


def bare_piece(outline: Path, inner: tuple[Path | Circle, ...] = (), name: str = "bare") -> Piece:
    """Return a piece that is an outline and nothing else."""
    return Piece(name=name, kind="guide", label=name, outline=outline, inner=inner)
