"""A jig for the tests of proof: seven tiles on lying pages, put together and measured as one."""

from jiggen.drawing.face import Face, job_letters
from jiggen.drawing.piece import Joined
from jiggen.drawing.shapes import Path
from jiggen.jigs.plan import Jig, OwnPage, Plan

KIND = "strip"
TILES, LONG, HIGH = 7, 150.0, 32.0
ALLOWED = 0.25


def _tile(solution, number):
    face = Face(job_letters(solution.job.name), solution.job.units)
    face.size("cross to cross", (5.0, 10.0), (5.0 + LONG, 10.0), "along the lower crosses")
    return face.piece(
        KIND,
        f"{KIND}-{number}",
        f"STRIP {number}",
        Path.closed([(0.0, 0.0), (LONG + 10.0, 0.0), (LONG + 10.0, HIGH), (0.0, HIGH)]),
        allowed_length=ALLOWED,
        on_bed=False,
        is_sheet=False,
    )


def _plan(solution):
    tiles = tuple(_tile(solution, number) for number in range(1, TILES + 1))
    whole = Joined(
        name=KIND,
        title="STRIP joined",
        parts=tuple((tile.name, "cross to cross") for tile in tiles),
        how="from the first cross to the last",
        allowed_length=ALLOWED,
    )

    def pages(paper):
        return tuple(
            OwnPage(
                title="STRIP",
                landscape=True,
                pieces=tuple(
                    (tile, (60.0, 40.0 + 45.0 * row)) for row, tile in enumerate(tiles[n : n + 3])
                ),
            )
            for n in range(0, TILES, 3)
        )

    return Plan(kind=KIND, pieces=tiles, joined=(whole,), pages=pages)


JIG = Jig(kind=KIND, plan=_plan, asked_for=lambda solution: solution.job.strip is not None)
