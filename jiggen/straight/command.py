"""The command ``jiggen straight``: reads a survey or one gap, judges it, says and draws it."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from typing import Annotated

import typer

from jiggen.errors import Fault, JobError
from jiggen.exits import CHECK_SAYS_NO, DONE, complain, option

SEVERAL_GAPS = (
    "jiggen straight: --gap is given more than once; give the largest, or all with their places: "
    "jiggen straight --form FILE --units mm (or in) writes a form for them"
)


def straight(
    readings: Annotated[
        str, typer.Argument(metavar="READINGS", help="A table (CSV) or a TOML file of readings.")
    ] = "",
    gap: Annotated[
        list[str] | None, option("X[,Y]", "No blade over X goes under; or X goes, Y does not.")
    ] = None,
    limit: Annotated[str, option("L", "The limit from the plans.  [default: none]")] = "",
    limit_on: Annotated[str, option("zone|ends", "What the limit is on.")] = "",
    over: Annotated[str, option("L", "Length of edge that the limit is for.  [default: all]")] = "",
    step: Annotated[str, option("L", "Smallest step of what you read with.")] = "",
    units: Annotated[str, option("mm|in", "What bare numbers count in.")] = "",
    reads: Annotated[str, option("gaps|heights", "What columns hold that do not say it.")] = "",
    ways: Annotated[str, option("UP,DOWN", "Where a number above zero goes, and one below.")] = "",
    apart: Annotated[str, option("L", "From the front line to the rear line.")] = "",
    datum: Annotated[
        str, option("one|each", "One flat surface, or a straightedge for each line.")
    ] = "",
    twist_limit: Annotated[str, option("A", "Limit of the twist, degrees.")] = "",
    plot: Annotated[str, option("FILE", "Write the plot too: a .svg that is new.")] = "",
    form: Annotated[str, option("FILE", "Write a blank form, .toml or .csv; with --units.")] = "",
    everything: Annotated[
        bool, typer.Option("--all", help="Reasons, table and plot in characters too.")
    ] = False,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print one JSON object and nothing else.")
    ] = False,
) -> int:
    """Tell how straight the edge is from readings along it, and where to fasten first.

    READINGS has a column position and a column gap, or go and no go for blades, or height where a
    larger number is higher. Or give --gap alone, for a straightedge that was rocked until its
    largest gap was smallest. The limit is on the width of the narrowest strip between two parallel
    lines that holds every reading, or on what is farthest from the line through the ends. Exit
    status 0: within the limit, or none stated; 1: beyond it, or cannot tell.
    """
    options = {
        "limit": limit,
        "limit_on": limit_on,
        "over": over,
        "step": step,
        "units": units,
        "reads": reads,
        "ways": ways,
        "apart": apart,
        "datum": datum,
        "twist_limit": twist_limit,
    }
    if [bool(readings), bool(gap), bool(form)].count(True) != 1:
        return complain(["jiggen straight: give READINGS, or --gap X, or --form FILE; one of them"])
    if form:
        return _write_form(form, units)
    if gap:
        if len(gap) > 1:
            return complain([SEVERAL_GAPS])
        return _tell_gap({**options, "gap": gap[0], "plot": plot}, as_json)
    return _tell(readings, options, plot, everything=everything, as_json=as_json)


def _tell(
    readings: str, options: Mapping[str, str], plot: str, *, everything: bool, as_json: bool
) -> int:
    _check_plot(plot)
    from jiggen.straight import report
    from jiggen.straight.judge import judge
    from jiggen.straight.read import read_survey

    judged, written = judge(read_survey(readings, options)), []
    if plot:
        from jiggen.straight.chart import Chart
        from jiggen.write.files import write_new

        words = [report.taken(judged), *report.why(judged)]
        written = [write_new(plot, Chart(judged, words).svg())]
    if as_json:
        _print_json(report.straight_as_json(judged, written))
    else:
        from jiggen.report.terminal import terminal_of

        terminal = terminal_of(sys.stdout)
        said = report.straight_text(judged, terminal, written, everything=everything)
        sys.stdout.write(said)
    return DONE if judged.is_good else CHECK_SAYS_NO


def _tell_gap(options: Mapping[str, str], as_json: bool) -> int:
    from jiggen.straight import report
    from jiggen.straight.judge import NO_LIMIT, WITHIN, hold_gap
    from jiggen.straight.read import read_gap

    settings, gaps = read_gap(options)
    held = hold_gap(gaps, settings.limit)
    if as_json:
        _print_json(report.gap_as_json(gaps, held))
    else:
        from jiggen.report.terminal import terminal_of

        terminal = terminal_of(sys.stdout)
        sys.stdout.write(report.gap_text(gaps, held, settings.units or "mm", terminal))
    return DONE if held.verdict in (WITHIN, NO_LIMIT) else CHECK_SAYS_NO


def _print_json(record: Mapping[str, object]) -> None:
    from jiggen.report.record import json_line

    sys.stdout.write(json_line(record))


def _write_form(form: str, units: str) -> int:
    """Write a blank form; never over a file that is there."""
    from jiggen.straight.read import blank_form
    from jiggen.write.files import write_new

    print(f"Wrote {write_new(form, blank_form(form, units))}")
    print(f"Put in what you read, then: jiggen straight {form}")
    return DONE


def _check_plot(plot: str) -> None:
    """Refuse a plot that cannot be written before anything is judged."""
    problem = remedy = ""
    if plot and not plot.lower().endswith(".svg"):
        problem, remedy = "is no SVG", "end its name in .svg"
    elif plot and os.path.lexists(plot):
        problem, remedy = "is there already", "give --plot the name of a new file"
    if problem:
        raise JobError([Fault(file=plot, key="", problem=problem, remedy=remedy)])
