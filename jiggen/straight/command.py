"""The command ``jiggen straight``: reads a survey, judges it, says and draws it."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, Annotated

import typer

from jiggen.errors import Fault, JobError
from jiggen.exits import CHECK_SAYS_NO, DONE, complain

if TYPE_CHECKING:
    from jiggen.straight.judge import Judged


def straight(
    readings: Annotated[
        str, typer.Argument(metavar="READINGS", help="A table (CSV) or a TOML file of readings.")
    ] = "",
    limit: Annotated[
        str, typer.Option(metavar="L", help="The limit from the plans.  [default: none]")
    ] = "",
    limit_on: Annotated[
        str, typer.Option("--limit-on", metavar="zone|ends", help="What the limit is on.")
    ] = "",
    over: Annotated[
        str, typer.Option(metavar="L", help="Length of edge that the limit is for.  [default: all]")
    ] = "",
    step: Annotated[
        str, typer.Option(metavar="L", help="Smallest step of what you read with.")
    ] = "",
    units: Annotated[str, typer.Option(metavar="mm|in", help="What bare numbers count in.")] = "",
    ways: Annotated[
        str,
        typer.Option(metavar="UP,DOWN", help="What above and below zero mean: down,up for gaps."),
    ] = "",
    apart: Annotated[
        str, typer.Option(metavar="L", help="From the front line to the rear line.")
    ] = "",
    datum: Annotated[
        str,
        typer.Option(metavar="one|each", help="One flat surface, or a straightedge for each line."),
    ] = "",
    twist_limit: Annotated[
        str, typer.Option("--twist-limit", metavar="A", help="The limit of the twist, degrees.")
    ] = "",
    plot: Annotated[
        str, typer.Option(metavar="FILE", help="Write the plot too: a .svg or .pdf that is new.")
    ] = "",
    form: Annotated[
        str, typer.Option(metavar="FILE", help="Write a blank form, .toml or .csv, and no more.")
    ] = "",
    as_json: Annotated[
        bool, typer.Option("--json", help="Print one JSON object and nothing else.")
    ] = False,
) -> int:
    """Tell how straight the edge is from readings along it, and where to pin.

    READINGS has a column position and a column deviation; front and rear in place of deviation
    tell bow from twist, upper and lower bow from thickness. The limit is on the width of the zone,
    the strip between two parallel lines that holds every reading, or on what is farthest from the
    line through the ends. Exit status 0: within the limit, or none stated; 1: beyond it, or cannot
    tell.
    """
    if form:
        return _write_form(form, units, readings)
    if not readings:
        return complain(["jiggen straight: which readings? For a blank form: --form FILE"])
    _check_plot(plot)
    from jiggen.straight.judge import judge
    from jiggen.straight.read import read_survey

    options = {
        "limit": limit,
        "limit_on": limit_on,
        "over": over,
        "step": step,
        "units": units,
        "ways": ways,
        "apart": apart,
        "datum": datum,
        "twist_limit": twist_limit,
    }
    judged = judge(read_survey(readings, options))
    return _tell(judged, plot, as_json)


def _tell(judged: Judged, plot: str, as_json: bool) -> int:
    """Write the plot, print the answer, return the exit status."""
    written = []
    if plot:
        from jiggen.straight.chart import chart_bytes
        from jiggen.write.files import write_new

        written = [write_new(plot, chart_bytes(judged, plot[-3:].lower()))]
    if as_json:
        from jiggen.report import json_line
        from jiggen.straight.as_json import straight_as_json

        sys.stdout.write(json_line(straight_as_json(judged, written)))
    else:
        from jiggen.straight.words import straight_text
        from jiggen.terminal import terminal_of

        sys.stdout.write(straight_text(judged, terminal_of(sys.stdout), written))
    return DONE if judged.is_good else CHECK_SAYS_NO


def _write_form(form: str, units: str, readings: str) -> int:
    """Write a blank form; never over a file that is there."""
    from jiggen.straight.form import blank_form
    from jiggen.write.files import write_new

    if readings:
        return complain(["jiggen straight: --form writes a blank form; leave READINGS out"])
    print(f"Wrote {write_new(form, blank_form(form, units or None))}")
    print(f"Put in what you read, then: jiggen straight {form}")
    return DONE


def _check_plot(plot: str) -> None:
    """Refuse a plot that cannot be written before anything is judged."""
    problem = remedy = ""
    if plot and not plot.lower().endswith((".svg", ".pdf")):
        problem, remedy = "is neither SVG nor PDF", "end its name in .svg or .pdf"
    elif plot and os.path.lexists(plot):
        problem, remedy = "is there already", "give --plot the name of a new file"
    if problem:
        raise JobError([Fault(file=plot, key="", problem=problem, remedy=remedy)])
