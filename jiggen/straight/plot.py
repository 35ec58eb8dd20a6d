"""The edge as a picture of plain characters, for a terminal or a log file."""

from __future__ import annotations

from jiggen.straight.curves import Picture, picture_of
from jiggen.straight.judge import Judged
from jiggen.units import say_length

ROWS = 15
"""Rows of the picture; odd, so that the straight line has one of its own."""

MARKS = "ox"
BOTH = "*"
"""Where two readings of different lines fall on one place."""


def plot_lines(judged: Judged, width: int) -> list[str]:
    """Return the readings over the straight line as lines of plain text.

    Args:
        judged: the survey.
        width: columns, at least 40.

    Returns:
        The picture, its scale and what its marks mean; no line is longer than `width`.
    """
    picture, units = picture_of(judged), judged.survey.units
    places = (3 if picture.reach < 0.1 else 2) if units == "mm" else 4
    labels = {
        row: say_length(_height(row, picture.reach), units, places) for row in range(0, ROWS, 7)
    }
    room = max(len(label) for label in labels.values())
    columns = width - room - 3
    cells = _cells(picture, columns)
    lines = [
        f"{labels.get(row, ''):>{room}} |{''.join(cells[row]).rstrip()}" for row in range(ROWS)
    ]
    lines.append(f"{'':{room}} +{'-' * columns}")
    first, last = (say_length(mm, units, 1 if units == "mm" else 2) for mm in picture.span)
    lines.append(f"{'':{room}}  {first}{last:>{columns - len(first)}}")
    if judged.survey.ways[0] != "up":
        lines.insert(0, f"{'':{room}} ^ {judged.survey.ways[0]}")
    return [*lines, *_key(picture, width)]


def _height(row: int, reach: float) -> float:
    return reach * (1.0 - 2.0 * row / (ROWS - 1))


def _row(height: float, reach: float) -> int:
    return round((1.0 - height / reach) * (ROWS - 1) / 2.0)


def _cells(picture: Picture, columns: int) -> list[list[str]]:
    """Return the picture's characters, row by row from the top."""
    cells = [[" "] * columns for _ in range(ROWS)]
    for half, sign, every in ((0.0, ".", 2), (picture.zone, "-", 2), (picture.limit, "=", 1)):
        if half is not None:
            for row in {_row(half, picture.reach), _row(-half, picture.reach)}:
                cells[row] = [sign if n % every == 0 else old for n, old in enumerate(cells[row])]
    first, last = picture.span
    for mark, curve in zip(MARKS, picture.curves, strict=False):
        other = MARKS.replace(mark, "")
        for at, off in zip(curve.at.tolist(), curve.off.tolist(), strict=True):
            column = round((at - first) / (last - first) * (columns - 1))
            row = _row(off, picture.reach)
            cells[row][column] = BOTH if cells[row][column] in (other, BOTH) else mark
    return cells


def _key(picture: Picture, width: int) -> list[str]:
    """Return what the marks mean, broken to the width."""
    words = [f"{m} {c.name}" for m, c in zip(MARKS, picture.curves, strict=False)]
    words += [f"{BOTH} both"] if len(picture.curves) > 1 else []
    words += [f". {picture.about}"]
    words += ["- - zone"] if picture.zone is not None else []
    words += ["=== limit"] if picture.limit is not None else []
    lines = [""]
    for word in words:
        joined = f"{lines[-1]}   {word}" if lines[-1] else word
        if len(joined) > width:
            lines.append(word)
        else:
            lines[-1] = joined
    return lines
