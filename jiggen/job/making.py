"""Reads what the pieces are made to and made of: allowances, guide, block, paper, sheet.

Every key is optional. The defaults are those of the records in `job.model`, which say what each
number is.
"""

from __future__ import annotations

import math
import re

from jiggen.facts.papers import PAPERS
from jiggen.job.fields import Table, given_or, nearest
from jiggen.job.model import AllowInput, BlockInput, CutInput, GuideInput, PrintInput
from jiggen.job.quantities import ANGLE, BORE, LENGTH, NOT_NEGATIVE, NUMBER, POSITIVE, Limits
from jiggen.units import INCH, say_length

DRIFT_MOST = 5.0
"""A larger mismatch than this, mm, is no mismatch but another hole."""

ALLOWED_ANGLE_MOST = math.radians(10.0)
LAND_MOST = 25.0
"""No edge is so thick, mm, that a land of this could be asked for."""

DOWEL_INCH = 5 / 32 * INCH
"""Aligning pins that are sold by the inch, mm."""

LAYERS_MOST = 20
KERF_MOST = 5.0
"""No machine that cuts templates burns or mills a wider slot, mm."""

PAPER_SIZES = Limits(at_least=50.0, at_most=5000.0)
"""Sides of a sheet of paper, mm; a PDF page cannot be larger than 5080."""

SCALES = Limits(at_least=0.5, at_most=2.0)
"""What a printer makes of 1. More is not a printer's error but a wrong setting."""

SKEW_MOST = math.radians(5.0)
OPERATIONS = ("CUT", "SCORE", "ENGRAVE", "NOTE")

_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")


def read_allow(job: Table) -> AllowInput:
    """Read what is allowed; defaults as in `AllowInput`.

    Args:
        job: the whole job file.

    Returns:
        The allowances, in mm and radians.
    """
    usual = AllowInput()
    table = job.section("allow", ("drift", "angle", "land"))
    drift = table.value(LENGTH, "drift", Limits(above=0.0, at_most=DRIFT_MOST))
    angle = table.value(ANGLE, "angle", Limits(above=0.0, at_most=ALLOWED_ANGLE_MOST))
    return AllowInput(
        drift=given_or(drift, usual.drift),
        drift_given=drift is not None,
        angle=given_or(angle, usual.angle),
        land=table.value(LENGTH, "land", Limits(above=0.0, at_most=LAND_MOST)),
    )


def read_guide(job: Table) -> GuideInput:
    """Read the sizes of the angle guide; defaults as in `GuideInput`.

    Args:
        job: the whole job file.

    Returns:
        The sizes, in mm.
    """
    usual = GuideInput()
    keys = ("foot", "edge", "height", "pin", "chuck", "relief", "layers")
    table = job.section("guide", keys)
    guide = GuideInput(
        foot=given_or(table.value(LENGTH, "foot", POSITIVE), usual.foot),
        edge=given_or(table.value(LENGTH, "edge", POSITIVE), usual.edge),
        height=given_or(table.value(LENGTH, "height", POSITIVE), usual.height),
        pin=given_or(table.value(LENGTH, "pin", POSITIVE), usual.pin),
        chuck=given_or(table.value(LENGTH, "chuck", POSITIVE), usual.chuck),
        relief=given_or(table.value(LENGTH, "relief", NOT_NEGATIVE), usual.relief),
        layers=given_or(table.count("layers", 1, LAYERS_MOST), usual.layers),
    )
    if guide.edge > guide.height:
        blame = "edge" if table.has("edge") else "height"
        edge, height = (say_length(size, job.units) for size in (guide.edge, guide.height))
        problem = f"leaves an edge of {edge} on a guide {height} high"
        table.fault(blame, problem, "the height must be at least the edge's")
    return guide


def read_block(job: Table) -> BlockInput:
    """Read the sizes of the drill block; defaults as in `BlockInput`.

    Who works in inches has no 4 mm dowels: there the pins are 5/32 in thick.

    Args:
        job: the whole job file.

    Returns:
        The sizes, in mm.
    """
    usual = BlockInput(dowel=DOWEL_INCH) if job.units == "in" else BlockInput()
    table = job.section("block", ("bore", "inside", "height", "length", "dowel", "fit"))
    block = BlockInput(
        bore=table.value(BORE, "bore", POSITIVE),
        inside=table.value(BORE, "inside", POSITIVE),
        height=given_or(table.value(LENGTH, "height", POSITIVE), usual.height),
        length=given_or(table.value(LENGTH, "length", POSITIVE), usual.length),
        dowel=given_or(table.value(LENGTH, "dowel", POSITIVE), usual.dowel),
        fit=given_or(table.value(LENGTH, "fit", NOT_NEGATIVE), usual.fit),
        asked=job.has("block"),
    )
    if block.inside is not None and block.bore is not None and block.inside >= block.bore:
        table.fault("inside", "is not smaller than bore", "bore is the bushing's outside diameter")
    return block


def read_print(job: Table) -> PrintInput:
    """Read paper and printer; defaults as in `PrintInput`.

    Args:
        job: the whole job file.

    Returns:
        Paper in mm, scales as ratios, skew in radians.
    """
    usual = PrintInput()
    table = job.section("print", ("paper", "margin", "scale_x", "scale_y", "skew"))
    paper, name = _read_paper(table)
    margin = given_or(table.value(LENGTH, "margin", NOT_NEGATIVE), usual.margin)
    if 2 * margin >= min(paper):
        table.fault("margin" if table.has("margin") else "paper", "leaves no paper to print on")
    skew = table.value(ANGLE, "skew", Limits(at_least=-SKEW_MOST, at_most=SKEW_MOST))
    return PrintInput(
        paper=paper,
        paper_name=name,
        margin=margin,
        scale_x=given_or(table.value(NUMBER, "scale_x", SCALES), usual.scale_x),
        scale_y=given_or(table.value(NUMBER, "scale_y", SCALES), usual.scale_y),
        skew=given_or(skew, usual.skew),
    )


def _read_paper(table: Table) -> tuple[tuple[float, float], str]:
    usual = PrintInput()
    given = table.raw.get("paper", usual.paper_name)
    if isinstance(given, str) and given.strip().lower() in PAPERS:
        name = given.strip().lower()
        return PAPERS[name], name
    if isinstance(given, list):
        size = table.pair(LENGTH, "paper", PAPER_SIZES)
        if size is not None:
            across, along = (say_length(side, table.units).split()[0] for side in size)
            return size, f"{across} x {along} {table.units}"
    else:
        near = (
            f', the nearest is "{nearest(given, tuple(PAPERS))}"' if isinstance(given, str) else ""
        )
        table.fault("paper", "is not known", f"write one of {', '.join(PAPERS)}, or [w, h]{near}")
    return usual.paper, usual.paper_name


def read_cut(job: Table) -> CutInput:
    """Read sheet material and machine; defaults as in `CutInput`.

    Args:
        job: the whole job file.

    Returns:
        Sizes in mm, colours as ``#rrggbb``.
    """
    usual = CutInput()
    keys = ("sheet", "kerf", "bed", "gap", "text", "line", "colours")
    table = job.section("cut", keys)
    return CutInput(
        sheet=given_or(table.value(LENGTH, "sheet", POSITIVE), usual.sheet),
        kerf=table.value(LENGTH, "kerf", Limits(at_least=0.0, at_most=KERF_MOST)),
        bed=given_or(table.pair(LENGTH, "bed", POSITIVE), usual.bed),
        gap=given_or(table.value(LENGTH, "gap", NOT_NEGATIVE), usual.gap),
        live_text=table.choice("text", ("strokes", "live")) == "live",
        colours=_read_colours(table),
        line=given_or(table.value(LENGTH, "line", POSITIVE), usual.line),
    )


def _read_colours(table: Table) -> dict[str, str]:
    colours = table.section("colours", OPERATIONS)
    read: dict[str, str] = {}
    for name in OPERATIONS:
        given = colours.raw.get(name)
        if isinstance(given, str) and _COLOUR.fullmatch(given):
            read[name] = given.lower()
        elif colours.has(name):
            colours.fault(name, "is not a colour", 'write "#rrggbb", as in "#d02020"')
    return read
