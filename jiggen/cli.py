"""The command line: each command reads, calls the library, says what came of it, and nothing else.

Heavy libraries are imported inside the command that needs them, so that help is quick and
``angles`` never pays for a writer. A command returns its exit status; what it raises ends in
`exits`.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from contextlib import nullcontext
from typing import TYPE_CHECKING, Annotated

import typer

import jiggen
from jiggen.errors import blamed_on, say
from jiggen.exits import CHECK_SAYS_NO, DONE, complain, option, run_words
from jiggen.page.command import bench
from jiggen.straight.command import straight
from jiggen.write.manifest import FORMATS, USUAL

if TYPE_CHECKING:
    from jiggen.solution import Check, Solution

CARD = """\
Drill-angle jigs for a tapered edge: from what you measured to true 1:1 templates.

A solid wedge between two thin skins is drilled square to its chord plane, not square to either
skin. jiggen takes a dozen measurements from one short text file, works out the angle at every
hole, and draws the guides and blocks that stand the drill at it: a page to print and cut by hand,
and SVG and DXF files for a machine that cuts sheet. It says what to measure on the print and on
the finished piece before either is trusted.

\b
Five steps:
  1. jiggen new --list        see the starter job files, then
     jiggen new NAME          write one; every line of it is explained
  2. edit the job file        put in what you measured, and how well
  3. jiggen angles JOB        read the numbers; nothing is drawn
  4. jiggen make JOB          draw the page and the cut files
  5. jiggen verify JOB        print at 100 %, measure the bars, and be
     told which pieces to trust; then cut, measure the piece, and
     drill a scrap of wedge first
  Riveting: jiggen straight READINGS   is the edge still straight?
  More to read: jiggen manual

\b
Cautions:
  Wear eye protection. Clamp the work; never hold it by hand under a
  drill press. Deburr: swarf is sharp. Know the sheet before a laser
  meets it: chlorinated plastics such as PVC give off toxic, corrosive
  gas. Never leave a laser alone. The numbers are shop aids: plans, kit
  or type documents, local rules and the responsible inspector or
  licensed mechanic decide, and where they differ they win.
"""

EXIT_STATUS = """\
\b
Exit status: 0 done and good; 1 a check says no (under --strict);
2 bad input, one line for each fault; 70 a fault of jiggen's own.
"""

app = typer.Typer(
    help=CARD,
    epilog=EXIT_STATUS,
    rich_markup_mode=None,  # markup would swallow bracketed words such as [wedge]
    pretty_exceptions_enable=False,
    add_completion=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)

JobFile = Annotated[str, typer.Argument(metavar="JOB", help="The job file (TOML).")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")]
Strict = Annotated[
    bool,
    typer.Option(
        "--strict",
        help="Exit 1 when a shop check fails, and draw nothing. Warnings do not count.",
    ),
]


@app.callback(invoke_without_command=True)
def card(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> int:
    """Print the shop card when no command is given."""
    if version:
        typer.echo(f"jiggen {jiggen.__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())
    return DONE


@app.command()
def new(
    template: Annotated[
        str, typer.Argument(metavar="TEMPLATE", help="The starter's name; see --list.")
    ] = "",
    out: Annotated[str, option("FILE", "Where to write it.  [default: TEMPLATE.toml]")] = "",
    sheet: Annotated[
        bool, typer.Option("--sheet", help="A page of blanks beside it, to take to the part.")
    ] = False,
    show: Annotated[bool, typer.Option("--list", help="List the starter job files.")] = False,
) -> int:
    """Write a starter job file, well commented. Never overwrites."""
    from jiggen.job.starters import starter_contents, starter_files

    if show:
        from jiggen.report.angles import starters_text

        names = {name: place.read_text("utf-8") for name, place in starter_files().items()}
        sys.stdout.write(starters_text(names))
        return DONE
    if not template:
        return complain(["jiggen new: which starter? See: jiggen new --list"])
    from jiggen.write.files import write_all_new

    contents = starter_contents(template, out or None)
    if sheet:
        from jiggen.make import make_drawings
        from jiggen.write.manifest import PAGES

        blank = _solved(str(starter_files()[template]))
        drawn = make_drawings(blank, formats=("pdf",), only=("sheet",), version=jiggen.__version__)
        job = next(iter(contents))
        contents[job.with_name(f"{job.stem}-sheet.pdf")] = drawn.files[PAGES]
    write_all_new(contents)
    for place in contents:
        print(f"Wrote {place}")
    print(f"Put in what you measured, then: jiggen angles {next(iter(contents))}")
    return DONE


@app.command()
def angles(
    job: JobFile,
    as_json: AsJson = False,
    every: Annotated[
        bool, typer.Option("--all", help="Every number, and where it is from.")
    ] = False,
    strict: Strict = False,
) -> int:
    """Solve the job and report the numbers; draw nothing.

    Angles in degrees, lengths in the job's units (in JSON: mm). "forward" is the angle between
    skin and drill on the forward side of the hole, "aft" on the side of the trailing edge.
    """
    solution = _solved(job)
    if as_json:
        from jiggen.report.record import json_line, solution_as_json

        sys.stdout.write(json_line(solution_as_json(solution)))
    else:
        from jiggen.report.angles import angles_text
        from jiggen.report.terminal import terminal_of

        sys.stdout.write(angles_text(solution, terminal_of(sys.stdout), file=job, every=every))
    return _judged(job, solution.checks, solution.job.units) if strict else DONE


@app.command()
def make(
    job: JobFile,
    out: Annotated[str, option("DIR", "Where to write.  [default: <job name>-jigs]")] = "",
    formats: Annotated[
        str, option("pdf,svg,dxf,3mf,stl", "Which formats to write.", "--as")
    ] = ",".join(USUAL),
    only: Annotated[
        str | None, option("NAME,...", "Only these kinds of piece (guide, block) or names.")
    ] = None,
    strict: Strict = False,
) -> int:
    """Write the drawings and a manifest of them.

    print.pdf is for the printer, cut-1.svg, cut-1.dxf ... hold a bed of sheet material each,
    strip-roll.pdf a hole strip for a roll, pieces/ has every piece by itself, and solids/ what a
    3-D printer makes (as 3mf or stl; needs manifold3d). Files are
    replaced whole or not at all, and a file in DIR that jiggen did not write is never touched.
    """
    wanted = _words(formats)
    if not wanted or not set(wanted) <= set(FORMATS):
        return complain([f"jiggen make: --as takes {', '.join(FORMATS)}, given {formats!r}"])
    if only is not None and not _words(only):
        return complain(["jiggen make: --only is empty; name a kind or a piece, or leave it out"])
    solution = _solved(job)
    from jiggen.make import make_drawings
    from jiggen.proof.folder import folder_of, put_drawings
    from jiggen.report.made import made_text
    from jiggen.report.terminal import progress_on
    from jiggen.write.manifest import MANIFEST

    with blamed_on(job, solution.job.units), progress_on(sys.stderr) as step:
        made = make_drawings(
            solution,
            formats=wanted,
            only=_words(only or ""),
            progress=step,
            version=jiggen.__version__,
        )
    if strict and _judged(job, made.checks, solution.job.units) == CHECK_SAYS_NO:
        return CHECK_SAYS_NO
    if set(made.files) <= {MANIFEST}:
        key, asked = (
            ("--as", "jig of this job") if only is None else ("--only", f"piece of {only!r}")
        )
        units = solution.job.units
        why = [
            f"{' '.join(one.keys) or one.id}: {say(one.why, units)}" for one in made.drawn.refusals
        ]
        nothing = f"{key}: no {asked} is drawn as {', '.join(wanted)}"
        return complain([f"{job}: {line}" for line in (nothing, *why)])
    folder = out or folder_of(solution.job.name)
    _, lost = put_drawings(folder, made.files, _say)
    sys.stdout.write(made_text(made, solution.job.name, solution.job.units, folder, lost))
    return _judged(job, made.drawn.refusals, solution.job.units)


@app.command()
def remeasure(
    file: Annotated[
        str, typer.Argument(metavar="FILE", help="A drawing on disk: PDF, SVG or DXF.")
    ],
    as_json: AsJson = False,
) -> int:
    """Measure a drawing that is on disk, and say what another program did to it.

    Outlines, angles, bars, layers, words, unit and page are read by code that did not write them,
    and compared with the record inside the file or the manifest beside it. Exit status 1 when
    anything is off.
    """
    from jiggen.remeasure.answer import measurement_text
    from jiggen.remeasure.measure import remeasure as measure

    measured = measure(file)
    if as_json:
        from jiggen.report.record import json_line

        sys.stdout.write(json_line(measured.as_json()))
    else:
        from jiggen.report.terminal import harmless, terminal_of

        text = measurement_text(measured, terminal_of(sys.stdout).width)
        sys.stdout.write("".join(f"{harmless(line)}\n" for line in text.split("\n")[:-1]))
    return DONE if measured.ok else CHECK_SAYS_NO


@app.command()
def verify(
    job: JobFile,
    bar_x: Annotated[str, option("L", "The page's bar across, on its lower side.")] = "",
    bar_y: Annotated[str, option("L", "The bar up the page, on its right side.")] = "",
    diagonal_1: Annotated[str, option("L", "From cross to cross, lower left to upper.")] = "",
    diagonal_2: Annotated[str, option("L", "The other one.")] = "",
    step: Annotated[str, option("L", "Step of the rule.  [default: 0.5 mm or 1/64 in]")] = "",
    page: Annotated[int | None, option("N", "The page measured.  [default: one for all]")] = None,
    readings: Annotated[
        str, option("FILE", "A filled-in form.  [default: DIR/readings.toml]")
    ] = "",
    out: Annotated[str, option("DIR", "The drawings.  [default: <job name>-jigs]")] = "",
    as_json: AsJson = False,
    everything: Annotated[
        bool, typer.Option("--all", help="Every reason, number and note.")
    ] = False,
    reprint: Annotated[
        bool, typer.Option("--reprint", help="Write print.pdf again, corrected.")
    ] = False,
    record: Annotated[str, option("FILE", "Write a PDF to sign, for the builder's log.")] = "",
) -> int:
    """Judge a printed page, a cut piece or a test hole by what you measured on it.

    A length L has its unit ("98.5 mm", "3 7/8 in") or counts in the job's. Exit status 0: use;
    1: do not use, cannot tell, or no reprint could be written. A page that is small all over
    spoils strips, blocks and wraps, but no angle guide. No rule that you trust? Try it on a bank
    card: 85.60 x 53.98 mm.
    """
    solution = _solved(job)
    from jiggen.proof.checks import USE
    from jiggen.proof.folder import folder_of
    from jiggen.proof.prove import Outcome, prove
    from jiggen.proof.readings import OPTIONS
    from jiggen.write.files import sole_writer

    folder = out or folder_of(solution.job.name)
    lengths = (bar_x, bar_y, diagonal_1, diagonal_2)
    with (
        blamed_on(job, solution.job.units),
        sole_writer(folder, _say) if reprint else nullcontext(),
    ):
        proof = prove(
            solution,
            folder=folder,
            form=readings,
            typed=dict(zip(OPTIONS, lengths, strict=True)),
            step=step,
            page=page,
        )
        outcome = Outcome()
        if reprint or record:
            from jiggen.reprint import write_outcome

            version = jiggen.__version__
            outcome = write_outcome(
                solution, proof, folder, reprint=reprint, record=record, version=version
            )
    if as_json:
        from jiggen.report import record as report
        from jiggen.report.verdict_json import proof_as_json

        sys.stdout.write(report.json_line(proof_as_json(proof, outcome)))
    else:
        from jiggen.report import terminal
        from jiggen.report.verdict import proof_text

        screen = terminal.terminal_of(sys.stdout)
        sys.stdout.write(proof_text(proof, screen, outcome, everything=everything))
    return DONE if proof.verdict == USE and not outcome.not_reprinted else CHECK_SAYS_NO


app.command()(straight)
app.command()(bench)


@app.command()
def manual(
    topic: Annotated[
        str, typer.Argument(metavar="[TOPIC]", help="What to read about.  [default: list them]")
    ] = "",
) -> int:
    """Show a page of the manual, or without TOPIC what there is to read."""
    from jiggen import manual as book
    from jiggen.report.manual import page_text, topics_text
    from jiggen.report.terminal import terminal_of

    if not topic:
        sys.stdout.write(topics_text({name: book.title(name) for name in book.TOPICS}))
        return DONE
    text = book.without_links(book.page(topic))
    sys.stdout.write(page_text(text, terminal_of(sys.stdout)))
    return DONE


def _solved(job: str) -> Solution:
    from jiggen.job.read import read_job
    from jiggen.solve import solve

    with blamed_on(job):
        return solve(read_job(job))


def _say(line: str) -> None:
    complain([line])


def _judged(job: str, checks: Iterable[Check], units: str) -> int:
    """Say each failed check on stderr, one line each; return the exit status."""
    failed = [check for check in checks if check.status == "fail"]
    complain(f"{job}: check {c.name} says no: {say(c.why, units)}" for c in failed)
    return CHECK_SAYS_NO if failed else DONE


def _words(text: str) -> tuple[str, ...]:
    """Split a comma list, dropping blanks and repeats."""
    return tuple(dict.fromkeys(word for part in text.split(",") if (word := part.strip().lower())))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Args:
        arguments: the words after ``jiggen``; those of the process when left out.

    Returns:
        The exit status.
    """
    return run_words(app, sys.argv[1:] if arguments is None else arguments)
