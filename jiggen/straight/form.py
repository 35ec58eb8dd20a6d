"""The blank form for a walk along the edge: where to read, and what goes with the readings."""

from __future__ import annotations

from jiggen.errors import Fault, JobError

PLACES = 11
"""Places of the blank form; more is better, fewer than five says little of the shape."""

_STEPS = {"mm": 100, "in": 4}
"""From place to place on the form, in the units."""

TOML_FORM = """\
# Readings along an edge, for: jiggen straight {file}
# Support a long straightedge where it sags least, about two ninths of its length from each end.
# Read it, roll it half a turn about its own length, both ends where they were, and read again as
# "turned": the mean of both is free of the straightedge's own bow. Sag is not taken out by that.
format = 1
units = "{units}"      # what bare numbers count in; "0.3 mm" and "1/64 in" carry their own
name = ""
date = ""
by = ""
step = ""         # smallest step of what you read with: feeler blades, dial gauge, rule
limit = ""        # from the plans; without it nothing is judged
limit_on = "zone" # "zone": strip between two parallel lines; "ends": off the line through the ends
over = ""         # length of edge that the limit is for, where the plans say one
ways = ["up", "down"]   # which way a deviation above zero goes, and one below. A gap under a
                        # straightedge is a hollow: write ["down", "up"] where you put in gaps

# Two lines instead of one tell bow from twist: name the lists front and rear, read both against
# one flat surface, and say how far apart they lie:
# apart = ""
# twist_limit = ""      # degrees, from the plans
# datum = "each"        # where each line had a straightedge of its own
# Or one line on each face, humps above zero: name the lists upper and lower.

[readings]               # "" where nothing was read
position = [{position}]
deviation = [{blanks}]
"""

CSV_FORM = """\
# Readings along an edge, for: jiggen straight {file} --limit L --step L
# Two lines tell bow from twist: a column front and a column rear in place of deviation.
position ({units}),deviation ({units})
{rows}
"""


def blank_form(file: str, units: str | None) -> bytes:
    """Return a blank form.

    Args:
        file: name of the form; its ending, .toml or .csv, says which kind.
        units: ``mm`` or ``in``; mm where it was not said.

    Returns:
        The bytes of the form, UTF-8.

    Raises:
        JobError: another ending, or other units.
    """
    count = units or "mm"
    if count not in _STEPS:
        raise JobError([_fault("--units", "is not known", count, "write mm or in")])
    places = [_STEPS[count] * n for n in range(PLACES)]
    if file.lower().endswith(".toml"):
        text = TOML_FORM.format(
            file=_plain(file),
            units=count,
            position=", ".join(map(str, places)),
            blanks=", ".join(['""'] * PLACES),
        )
    elif file.lower().endswith(".csv"):
        rows = "\n".join(f"{at}," for at in places)
        text = CSV_FORM.format(file=_plain(file), units=count, rows=rows)
    else:
        raise JobError([_fault("--form", "is neither", file, "end its name in .toml or .csv")])
    return text.encode("utf-8")


def _fault(key: str, problem: str, given: str, remedy: str) -> Fault:
    return Fault(file="jiggen straight", key=key, problem=problem, given=given, remedy=remedy)


def _plain(name: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in name)
