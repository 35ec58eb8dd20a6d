"""Jobs with a rivet made by hand, and how to ask what the shop says of them."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace
from samplejobs import a_job, included, row_of_holes, thick

from jiggen.facts import rivets
from jiggen.job.sections import Countersink, Holes, Job, Rivet
from jiggen.solution import Check, ShopLine, Solution
from jiggen.solve import solve

INCH = 25.4
#: A wedge in inches that thins along the span: front, rear and width at both ends.
TAPER = ((0.217, 0.036, 0.97, 0.0), (0.162, 0.034, 0.88, 36.0))


def dash(number: int = 3, **more: Any) -> Rivet:
    """Return a flush inch rivet of the table."""
    tabled = rivets.FLUSH_RIVETS[f"-{number}"]
    given = {"size": f"-{number}", "diameter": tabled.diameter, "head": tabled.head}
    return Rivet(**{**given, **more})


def holes(drill: float = 0.098 * INCH, **changes: Any) -> Holes:
    """Return a row of #40 holes 10 mm forward of the edge."""
    return row_of_holes(**{"drill": drill, "drill_name": "#40", "line": 10.0, **changes})


DASH_3 = dash()


def job(rivet: Rivet | None = DASH_3, *stations: Any, sunk: Any = None, **changes: Any) -> Job:
    """Return a job with a rivet in a wedge of one section; `sunk` is how it is countersunk."""
    more: dict[str, Any] = {
        "rear_thickness": 1.6,
        "depth": 24.0,
        "skin": (0.4, 0.4),
        "holes": holes(),
        "rivet": rivet,
        "countersink": Countersink(**(sunk or {})),
        **changes,
    }
    return a_job(*(stations or (included(10.0),)), **more)


def tapered(rivet: Rivet = DASH_3, **changes: Any) -> Job:
    """Return a wedge in inches that thins along the span from .120 to .099 at the hole line."""
    stations = [
        thick(front * INCH, rear * INCH, width * INCH, at=at * INCH)
        for front, rear, width, at in TAPER
    ]
    row = holes(line=0.45 * INCH, positions=tuple((0.75 + n) * INCH for n in range(35)))
    given = {"skin": (0.016 * INCH,) * 2, "holes": row, "units": "in", **changes}
    return job(rivet, *stations, rear_thickness=None, **given)


def change(of: Job, **changes: Any) -> Job:
    """Return the job with other sections."""
    return replace(of, **changes)


def the_check(ident: str, of: Job) -> Check:
    """Return the check of that id."""
    (found,) = (check for check in solve(of).checks if check.id == ident)
    return found


def the_line(what: str, of: Solution) -> ShopLine:
    """Return the line about something."""
    (found,) = (line for line in of.riveting if line.what == what)
    return found


def words_of(check: Check) -> int:
    """Return how many words its act has."""
    return len(str(check.act).split())
