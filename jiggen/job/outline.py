"""Reads a section's coordinate file: one x y pair a line, in either of the two usual orders.

The order that comes out is one loop: from the trailing edge over the upper side to the leading
edge and back along the lower side. Upper is where the second number is larger. Files differ in
which way they go round, whether they come in two blocks from the leading edge, and whether they
close a blunt trailing edge; read the wrong way, side A and side B would be exchanged without a
word, so every file is turned to that order or refused with the line that is to blame.
"""

from __future__ import annotations

import math
import re
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from jiggen.errors import JiggenError

POINTS_LEAST = 10
"""Fewer points than this do not describe a section."""

POINTS_MOST = 20_000
FILE_MOST = 2_000_000
"""A coordinate file is never so large (bytes); a larger one is some other file."""

LONGEST_GAP = 0.5
"""Longest way between two points, as a share of the chord; longer means that lines are lost."""

OPEN_MOST = 0.2
"""Widest trailing edge, as a share of the chord; wider means that the loop is not closed."""

SHORT_MOST = 0.05
"""How far before the trailing edge a side may end, as a share of the chord."""

BACK_MOST = 0.02
"""How far x may turn back within one side, as a share of the chord: round a drooped nose."""

SAME_PLACE = 1e-6
"""Points nearer than this share of the chord are in the same place."""

FLAT_EDGE = 0.08
"""How far what runs across a blunt edge may lie beside the straight line from corner to corner, as
a share of its length; further, the edge is rounded."""

UPRIGHT_EDGE = 0.15
"""How far a blunt edge may slant where a loop begins and ends at one corner of it, the same way."""

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)
_COMMA_NUMBER = re.compile(r"[+-]?\d+,\d+", re.ASCII)
_COMMENT = re.compile(r"[#!].*|^\s*;.*")
# A number, perhaps with a letter O or l in it, or one that is none.
_LIKE_NUMBER = re.compile(r"[+-]?(?:[\dol]*\.[\dol]*(?:e[+-]?\d+)?|nan|inf)", re.ASCII)
_PROBLEMS_MOST = 20
_REMEDY = "write one x y pair a line, from the trailing edge round the leading edge and back"
_DELETE = "delete the line or put # before it"

Points = tuple[tuple[float, float], ...]


class OutlineError(JiggenError, ValueError):
    """A coordinate file that cannot be understood.

    Attributes:
        problems: what is wrong, each with its line where it has one.
        remedy: what would do.
    """

    def __init__(self, *problems: str, remedy: str = _REMEDY) -> None:
        self.problems = problems
        self.remedy = remedy
        super().__init__(f"{'; '.join(problems)}; {remedy}")


class _Row(NamedTuple):
    x: float
    z: float
    line: int


def read_outline_file(path: Path, within: Path | None = None) -> Points:
    """Read a section's coordinate file from disk.

    Args:
        path: the file.
        within: a folder that the file must lie in, links followed; None for anywhere.

    Returns:
        x, z pairs in the file's own unit, in the order that `read_outline` gives.

    Raises:
        OutlineError: the file cannot be read, or see `read_outline`.
    """
    there = "write its name relative to the job file's folder"
    try:
        if within is not None and not path.resolve().is_relative_to(within.resolve()):
            raise OutlineError("lies outside the job's folder", remedy="put it beside the job file")
        if not path.is_file():
            problem = "is a folder" if path.is_dir() else "there is no such file"
            raise OutlineError(problem, remedy=there)
        with path.open("rb") as stream:
            data = stream.read(FILE_MOST + 1)
        text = data.decode("utf-8-sig")
    except OutlineError:
        raise
    except UnicodeDecodeError:
        raise OutlineError("is not a text file in UTF-8", remedy=_REMEDY) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else None
        raise OutlineError(f"cannot be read ({reason or 'bad name'})", remedy=there) from None
    if len(data) > FILE_MOST:
        raise OutlineError("is too large to be a section's coordinates")
    return read_outline(text)


def read_outline(text: str) -> Points:
    """Read a section's coordinates: x z pairs, as one loop or as two blocks.

    Two numbers begin a line of coordinates, parted by blanks, ``;`` or a comma; what follows them
    there is left alone, and decimals may have a comma where blanks or ``;`` part the two. Lines of
    words before the first pair and after the last are a name and notes; what follows ``#`` or
    ``!`` is a comment. Two blocks run from the leading to the trailing edge each, with or without
    a line of counts before them. A trailing edge may be sharp or blunt, closed or open.

    Args:
        text: the file's text.

    Returns:
        x, z pairs in the file's own unit: trailing edge, upper side, leading edge, lower side.

    Raises:
        OutlineError: not numbers, too few points, a gap, or not a closed loop from the trailing
            edge.
    """
    rows = _without_counts(_rows_of(text))
    if len(rows) < POINTS_LEAST:
        raise OutlineError(f"has {len(rows)} points where a section has {POINTS_LEAST} or more")
    if len(rows) > POINTS_MOST:
        raise OutlineError(f"has more than {POINTS_MOST} points")
    chord = max(row.x for row in rows) - min(row.x for row in rows)
    if not 0 < chord < 1e9:
        raise OutlineError("has no chord: all x are the same or absurd")
    loop = _open_edge(_one_loop(_distinct(rows, chord), chord))
    _check_edge(loop, chord)
    _check_way_round(loop, chord)
    area = _area(loop)
    if abs(area) < SAME_PLACE * chord * chord:
        raise OutlineError("encloses no area: its two sides are the same line")
    return tuple((row.x, row.z) for row in (loop if area > 0 else reversed(loop)))


def _rows_of(text: str) -> list[_Row]:
    rows: list[_Row] = []
    others: list[tuple[int, str]] = []
    for line, raw in enumerate(text.splitlines(), start=1):
        said = _COMMENT.sub("", raw).strip()
        pair = _pair(said)
        if pair is None:
            others += [(line, said)] if said else []
        elif rows or not _is_extent(said):
            rows.append(_Row(*pair, line))
    first, last = (rows[0].line, rows[-1].line) if rows else (0, 0)
    # Words above and below are a name and notes; a number that is none may be a point lost.
    bad = [
        line for line, said in others if first < line < last or not rows or _looks_like_pair(said)
    ]
    if not rows and not any(_looks_like_pair(said) for _, said in others):
        bad = []
    if bad:
        problems = [f"line {line} is not two numbers" for line in bad[:_PROBLEMS_MOST]]
        if len(bad) > _PROBLEMS_MOST:
            problems.append(f"{len(bad) - _PROBLEMS_MOST} more lines are not two numbers")
        raise OutlineError(*problems, remedy=_DELETE)
    return rows


def _is_extent(said: str) -> bool:
    """Return whether a line holds four numbers: the extent of a grid, above the coordinates."""
    words = said.split()
    return len(words) == 4 and all(_NUMBER.fullmatch(word) for word in words)


def _pair(said: str) -> tuple[float, float] | None:
    """Return the two numbers that a line begins with; None where nobody can tell."""
    words = [word.rstrip(",") for word in said.replace(";", " ").split()[:2]]
    if not words:
        return None
    commas = [_COMMA_NUMBER.fullmatch(word) is not None for word in words]
    first = words[0].split(",")
    if len(words) == 2 and any(commas):  # decimals after a comma, or a comma between: not both
        if any("." in word for word in words):
            return None
        words = [word.replace(",", ".") for word in words]
    elif len(first) == 2 or (len(first) > 2 and all("." in part for part in first[:2])):
        words = first[:2]
    if len(words) < 2 or not all(_NUMBER.fullmatch(word) for word in words):
        return None
    x, z = float(words[0]), float(words[1])
    return (x, z) if math.isfinite(x) and math.isfinite(z) else None


def _looks_like_pair(said: str) -> bool:
    """Return whether a line was meant as coordinates: nan 0.1, 1.0O 0.001, or 1.0 ......"""
    one, other = [*said.replace(";", " ").replace(",", " ").split(), "", ""][:2]
    plain = not re.search(r"[a-z]", other, re.IGNORECASE | re.ASCII)
    like = _LIKE_NUMBER.fullmatch(other.lower()) is not None
    return bool(other) and _LIKE_NUMBER.fullmatch(one.lower()) is not None and (plain or like)


def _without_counts(rows: list[_Row]) -> list[_Row]:
    """Drop a first line that counts the points of two blocks, such as 35. 35."""
    if len(rows) < 2:
        return rows
    first, rest = rows[0], rows[1:]
    whole = first.x == int(first.x) and first.z == int(first.z)
    if not whole or min(first.x, first.z) < 2:
        return rows
    if first.x + first.z == len(rest):
        return rest
    if max(abs(row.x) for row in rest) <= 1.5:
        counted = f"counts {first.x:.0f} + {first.z:.0f} points, but {len(rest)} follow"
        raise OutlineError(f"line {first.line} {counted}", remedy="mend the counts, or drop them")
    return rows


def _distinct(rows: list[_Row], chord: float) -> list[_Row]:
    kept = rows[:1]
    for row in rows[1:]:
        if _apart(kept[-1], row) > SAME_PLACE * chord:
            kept.append(row)
    return kept


def _apart(one: _Row, other: _Row) -> float:
    return math.hypot(other.x - one.x, other.z - one.z)


def _one_loop(rows: list[_Row], chord: float) -> list[_Row]:
    """Join two blocks that run from the leading to the trailing edge into one loop."""
    jumps = [i for i, (one, two) in enumerate(pairwise(rows), 1) if one.x - two.x > chord / 2]
    begins_ahead = rows[0].x < rows[-1].x - chord / 2
    if not begins_ahead:
        return rows
    if len(jumps) != 1:
        raise OutlineError("begins at the leading edge but does not come in two blocks")
    first, second = rows[: jumps[0]], rows[jumps[0] :]
    same_nose = _apart(first[0], second[0]) <= SAME_PLACE * chord
    return [*reversed(first), *(second[1:] if same_nose else second)]


def _open_edge(loop: list[_Row]) -> list[_Row]:
    """Take away what runs across a blunt trailing edge, so that each side ends at its corner.

    A rounded edge keeps its last point: without it the chord line would end beside the edge.
    """
    start, stop = 0, len(loop)
    while stop - start > POINTS_LEAST and _runs_across(loop[start], loop[start + 1]):
        start += 1
    while stop - start > POINTS_LEAST and _runs_across(loop[stop - 1], loop[stop - 2]):
        stop -= 1
    one, other = loop[start], loop[stop - 1]
    wide = _apart(one, other)
    across = [*loop[:start], *loop[stop:]]
    if wide == 0.0 or not across:
        return loop
    between = all(_is_between(row, one, other) for row in across)
    # A loop that begins and ends at one corner has nothing beside the line, be it round or flat.
    upright = abs(other.x - one.x) <= UPRIGHT_EDGE * wide
    closed = max(_apart(row, other) for row in across) == 0.0
    return loop[start:stop] if between and (upright or not closed) else loop


def _is_between(row: _Row, one: _Row, other: _Row) -> bool:
    """Return whether a point lies on the straight way from one corner to another, or nearly."""
    x, z = other.x - one.x, other.z - one.z
    wide = math.hypot(x, z)
    beside = ((row.x - one.x) * z - (row.z - one.z) * x) / wide
    along = ((row.x - one.x) * x + (row.z - one.z) * z) / wide
    return abs(beside) <= FLAT_EDGE * wide and -FLAT_EDGE * wide <= along <= (1 + FLAT_EDGE) * wide


def _runs_across(one: _Row, other: _Row) -> bool:
    # Steeper than 63 deg: no face of a trailing edge is, see `STEEPEST` of the stations.
    return abs(other.z - one.z) > 2 * abs(other.x - one.x)


def _check_edge(loop: list[_Row], chord: float) -> None:
    edge = max(row.x for row in loop)
    first, last = loop[0], loop[-1]
    if max(first.x, last.x) < edge - chord / 2:
        raise OutlineError(
            "has its trailing edge at the wrong end: it begins where x is smallest",
            remedy="x runs from the leading edge to the trailing edge, and the loop begins there",
        )
    for row, name in ((first, "begins"), (last, "ends")):
        if edge - row.x > SHORT_MOST * chord:
            problem = f"{name} {(edge - row.x) / chord:.1%} of the chord before the trailing edge"
            raise OutlineError(f"is not closed: line {row.line} {problem}")
    if abs(first.z - last.z) > OPEN_MOST * chord:
        wide = abs(first.z - last.z) / chord
        raise OutlineError(
            f"is not closed: its trailing edge stands open by {wide:.1%} of the chord"
        )


def _check_way_round(loop: list[_Row], chord: float) -> None:
    nose = min(range(len(loop)), key=lambda i: loop[i].x)
    for place, (one, two) in enumerate(pairwise(loop)):
        gap = _apart(one, two) / chord
        if gap > LONGEST_GAP:
            problem = f"has a gap of {gap:.0%} of the chord before line {two.line}"
            raise OutlineError(problem, remedy="put the missing points in, along a straight too")
        back = two.x - one.x if place < nose else one.x - two.x
        if back > BACK_MOST * chord:
            raise OutlineError(f"line {two.line} turns back toward where the side came from")


def _area(loop: list[_Row]) -> float:
    """Return the enclosed area, positive where the loop goes over the upper side first."""
    around = pairwise([*loop, loop[0]])
    return sum(one.x * two.z - two.x * one.z for one, two in around) / 2
