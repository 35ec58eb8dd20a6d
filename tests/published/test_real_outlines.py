"""Two thousand section files as people really share them, read and fitted.

Source: the coordinate files that the wheel of aerosandbox 4.2 ships (MIT; collected there from
public data bases of sections). `.ci/run` fetches the wheel, which is opened as the archive that it
is: the library itself, and what it needs, is not installed.
"""

from __future__ import annotations

import os
import re
import zipfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from samplejobs import a_job, row_of_holes

from jiggen.errors import JobError
from jiggen.job.outline import OutlineError, read_outline
from jiggen.job.wedge import Outline, Station
from jiggen.solve import solve

pytestmark = pytest.mark.programs

WHEEL = "JIGGEN_SECTIONS"
"""The variable of the environment that names the wheel."""

BEGIN, CHORD, LINE = 0.93, 450.0, 9.0
UNREADABLE = {
    # A number lost in the middle, or a note there; sides that do not reach the edge; no edge.
    "naca23021.dat", "nacak6s.dat", "nm26-3smoothed.dat", "mh112.dat", "ah93w480b.dat",
}  # fmt: skip


@cache
def files() -> dict[str, str]:
    """Return the text of every section file by its name."""
    place = Path(os.environ[WHEEL])
    with zipfile.ZipFile(place) as wheel:
        names = [name for name in wheel.namelist() if name.endswith(".dat")]
        return {Path(name).name: wheel.read(name).decode("utf-8-sig") for name in names}


def readable() -> Iterator[tuple[str, tuple[tuple[float, float], ...]]]:
    for name, text in files().items():
        try:
            yield name, read_outline(text)
        except OutlineError:
            continue


def pairs_of(text: str) -> list[tuple[float, float]]:
    """Return the plain pairs of a file by a reader of this test's own: two numbers at the start."""
    found = re.findall(r"^\s*(-?\d*\.\d+)[\s,;]+(-?\d*\.\d*(?:[eE][-+]?\d+)?)\s*$", text, re.M)
    return [(float(x), float(z)) for x, z in found]


def test_all_but_a_handful_are_read_and_those_are_refused_with_what_to_do() -> None:
    """17 % were refused for a header or a note, five lines at a time."""
    assert len(files()) > 2000
    refused = {}
    for name, text in files().items():
        try:
            read_outline(text)
        except OutlineError as error:
            refused[name] = error
    assert set(refused) == UNREADABLE
    assert all(error.remedy and error.problems for error in refused.values())


def test_no_point_of_a_plain_file_is_lost_or_moved() -> None:
    """A line of coordinates taken for a note is a face with a dent in it."""
    compared = 0
    for name, points in readable():
        given = list(dict.fromkeys(pairs_of(files()[name])))
        if len(given) < 10 or max(abs(x) for x, _ in given) > 1.5:
            continue
        compared += 1
        kept = set(points)
        chord = max(x for x, _ in given) - min(x for x, _ in given)
        lost = [p for p in given if p not in kept]
        # What runs across a blunt edge goes, and points in one place are one.
        near = np.array(points)
        for x, z in lost:
            across = x > max(x for x, _ in given) - 0.01 * chord
            beside = float(np.hypot(*(near - (x, z)).T).min())
            assert across or beside <= 2e-6 * chord, (name, x, z)
    assert compared > 1500


def test_every_loop_goes_over_the_upper_side_first() -> None:
    """Read the other way round, side A and side B are exchanged."""
    for name, points in readable():
        x, z = np.array(points).T
        assert 0.5 * float(np.sum(x * np.roll(z, -1) - np.roll(x, -1) * z)) > 0.0, name


def test_the_fitted_angles_are_those_of_a_fit_by_other_code() -> None:
    """A rounded or a blunt edge, or a note, must not turn a face.

    By numpy alone: the chord line from the middle of the edge to the farthest point, each face
    sampled evenly from `from` to the edge, a straight line through it.
    """
    fitted, worst, refused = 0, 0.0, []
    for name, points in readable():
        outline = Outline(file=name, begin=BEGIN, chord=CHORD, points=points)
        try:
            job = a_job(Station(outline=outline), holes=row_of_holes(3, line=LINE))
            at = solve(job).stations[0]
        except JobError:  # faces that cross, or stand steeper than any edge
            refused.append(name)
            continue
        p = np.array(points)
        edge = (p[0] + p[-1]) / 2.0
        nose = p[np.argmax(np.hypot(*(p - edge).T))]
        axis = (nose - edge) / np.hypot(*(nose - edge))
        along = (p - edge) @ axis / np.hypot(*(nose - edge))
        off = (p - edge) @ np.array([axis[1], -axis[0]]) / np.hypot(*(nose - edge))
        split = int(np.argmax(along))
        for side, sign, skin in (
            (slice(0, split + 1), 1.0, at.skin_a), (slice(None, split - 1, -1), -1.0, at.skin_b),
        ):  # fmt: skip
            s, h = along[side], sign * off[side]
            if np.any(np.diff(s) <= 0.0):
                continue
            places = np.linspace(0.0, 1.0 - BEGIN, 400)
            slope = float(np.polyfit(places, np.interp(places, s, h), 1)[0])
            worst = max(worst, abs(np.degrees(np.arctan(slope) - skin)))
            fitted += 1
    assert fitted > 3000
    assert worst < 0.05
    assert len(refused) < 15
