"""The page computes nothing by itself: what it shows is what the commands print for the file."""

import json
import math
import re
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from commandline import PROJECT, said
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from offsetjobs import job_text
from svgelements import Path as Drawn

from jiggen.page.answers import Bench
from jiggen.page.request import Request

SIDES = ("a", "b")
SOME = settings(
    max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
"""The fixtures hold a folder, which each example writes anew."""


@st.composite
def jobs(draw: st.DrawFn) -> str:
    """Return a job of two stations, each side with a slope and a lean of its own."""
    return job_text(
        draw(st.floats(0.5, 14.0)),
        draw(st.floats(0.5, 14.0)),
        lean_a=draw(st.floats(-0.6, 0.6)),
        lean_b=draw(st.floats(-0.6, 0.6)),
        rear=draw(st.floats(0.3, 2.5)),
        line=draw(st.floats(4.0, 12.0)),
        pitch=draw(st.floats(12.0, 60.0)),
        count=draw(st.integers(2, 40)),
        units=draw(st.sampled_from(["mm", "in"])),
    )


def page_of(bench: Bench, path: str, **query: str) -> str:
    """Return a page as it is sent."""
    answer = bench.answer(Request(method="GET", path=path, query=query))
    assert answer.status == 200
    return answer.body.decode()


def words(page: str) -> str:
    """Return a page's words, without its tags."""
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", page)).split())


def angles_shown(page: str) -> list[str]:
    """Return the table of drill angles, in the order of reading: side A, then side B."""
    table = re.search(r'<table class="angles">.*?</table>', page, re.DOTALL)
    assert table is not None
    return re.findall(r"<td>([\d.-]+)°</td>", table[0])


def looked_at(page: str) -> list[str]:
    """Return the names of what the page says is to be looked at."""
    found = re.findall(r"<li data-look=[^>]*><b>(.*?)</b>", page, re.DOTALL)
    return [words(name).removesuffix(" STOP") for name in found]


def is_taken(job: Path) -> bool:
    """Whether the command takes a random job; its thicknesses can be beyond all sense."""
    answer = said("angles", job, "--json")
    assert answer.out or "which no such part has" in answer.err, answer.err
    return bool(answer.out)


def compared(job: Path, bench: Bench) -> dict[str, Any]:
    """Hold the Measure screen, station by station, against ``angles --json``; return that."""
    numbers: dict[str, Any] = json.loads(said("angles", job, "--json").out)
    for at, station in enumerate(numbers["stations"], start=1):
        page = page_of(bench, "/measure", station=str(at))
        wanted = [
            f"{station[key.format(side)]:.2f}"
            for side in SIDES
            for key in ("skin_angle_{}", "guide_forward_{}", "guide_aft_{}")
        ]
        assert angles_shown(page) == wanted
        assert all(f">{angle}°</text>" in page for angle in (*wanted[1:3], *wanted[4:]))
        if len(numbers["stations"]) > 1:
            assert f"Station {at}: {station['included_angle']:.2f}°" in page
    guides = {f"{guide['angle']:.2f}" for guide in numbers["guides"]}
    assert set(re.findall(r"<li><b>Guide [^<]*? ([\d.]+)°</b>", page)) == guides
    drilled = sum(hole["drill_now"] for hole in numbers["holes"])
    assert f"{drilled} of {len(numbers['holes'])} holes to drill" in page
    odd = [check for check in numbers["checks"] if check["status"] in ("warn", "fail")]
    assert sorted(looked_at(page)) == sorted(check["name"] for check in odd)
    assert all(" ".join(check["why"].split()) in words(page) for check in odd)
    return numbers


@SOME
@given(text=jobs())
def test_angles_guides_and_checks_of_random_jobs(job: Path, bench: Bench, text: str) -> None:
    """Every angle of the table and of the drawing, every guide, every warning."""
    job.write_text(text)
    assume(is_taken(job))
    compared(job, bench)


def slopes_drawn(page: str) -> tuple[float, float]:
    """Return the slope of each face in the picture, degrees, measured by another library."""
    found = re.search(r'<path class="wedge" d="([^"]*)"/>', page)
    assert found is not None
    corners = {
        (point.x, point.y) for part in Drawn(found[1]) for point in (part.start, part.end) if point
    }
    left, right = min(x for x, _ in corners), max(x for x, _ in corners)
    ends = [sorted(y for x, y in corners if abs(x - at) < 0.2) for at in (left, right)]
    rises = (ends[0][0] - ends[1][0], ends[1][-1] - ends[0][-1])
    a, b = (math.degrees(math.atan2(rise, right - left)) for rise in rises)
    return a, b


@SOME
@given(text=jobs())
def test_what_is_drawn_is_what_is_said(job: Path, bench: Bench, text: str) -> None:
    """The wedge of the picture has the angles of the command, to its own tenth of a unit."""
    job.write_text(text)
    assume(is_taken(job))
    station = json.loads(said("angles", job, "--json").out)["stations"][0]
    a, b = slopes_drawn(page_of(bench, "/measure"))
    assert a == pytest.approx(station["skin_angle_a"], abs=0.12)
    assert b == pytest.approx(station["skin_angle_b"], abs=0.12)


@pytest.mark.parametrize("name", ["canard", "elevon", "flaperon", "split-flap"])
def test_angles_guides_and_checks_of_the_samples(tmp_path: Path, name: str) -> None:
    """The same of whole jobs, which every way of the page must bear."""
    sample = PROJECT / "samples" / name
    for file in sample.iterdir():
        if file.is_file():
            (tmp_path / file.name).write_bytes(file.read_bytes())
    job = tmp_path / "job.toml"
    assert compared(job, Bench(tmp_path, job))["job"] in page_of(Bench(tmp_path, job), "/measure")


def test_a_number_that_differs_is_seen(job: Path, bench: Bench) -> None:
    """The comparison is no empty one: another file's page is not this file's."""
    other = job.with_name("other.toml")
    text = job.read_text()
    other.write_text(text.replace("front = 5.60", "front = 5.62"))
    with pytest.raises(AssertionError):
        compared(other, bench)
    assert compared(job, bench)["guides"]
