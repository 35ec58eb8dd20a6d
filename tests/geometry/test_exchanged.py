"""Readings written down for one another: two sides at one station, or two stations."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from samplejobs import a_job, included, skins, thick
from shopjobs import INCH

from jiggen.job.wedge import Station
from jiggen.solution import Check, band_of
from jiggen.solve import solve


def asked(*stations: Station, **more: object) -> dict[str, Check]:
    """Return what is asked about an exchange, by id."""
    found = solve(a_job(*stations, **more)).checks
    return {check.id: check for check in found if check.id.endswith("-exchanged")}


def row(*pairs: tuple[float, float], **more: object) -> list[Station]:
    return [skins(a, b, at=500.0 * n, **more) for n, (a, b) in enumerate(pairs)]


def test_sides_exchanged_at_one_station_are_asked_about() -> None:
    """The guide for the upper skin was cut for the lower one at the far end, with no word."""
    (check,) = asked(*row((7.5, 3.0), (2.8, 7.1)), sides=("top", "2 mm skin")).values()
    assert (check.id, check.status) == ("sides-exchanged", "warn")
    assert "the top angle changes by -4.70 deg and the 2 mm skin angle by +4.10" in str(check.why)
    assert check.keys == ("wedge.station[1].skin_angles", "wedge.station[2].skin_angles")
    assert "sides-exchanged" in asked(*row((7.5, 3.0), (2.8, 7.1), (6.8, 2.6)))


@given(
    a=st.floats(3.0, 12.0), b=st.floats(1.0, 12.0), thinner=st.floats(0.5, 1.0), flip=st.booleans()
)
def test_an_even_taper_is_never_asked_about_and_an_exchanged_end_always(
    a: float, b: float, thinner: float, flip: bool
) -> None:
    """A question about every good wedge is answered without being read."""
    stations = [skins(a, b), skins(a * thinner, b * thinner, at=900.0)]
    assert not asked(*stations)
    far = skins(b * thinner, a * thinner, at=900.0)
    changes = (b * thinner - a, a * thinner - b)
    crossing = changes[0] * changes[1] < 0 and min(map(abs, changes)) > abs(sum(changes)) + 0.01
    if crossing and min(map(abs, changes)) > 0.21:
        assert "sides-exchanged" in asked(
            *((stations[0], far) if flip else (far, skins(a, b, 1e3)))
        )


def test_what_a_protractor_cannot_tell_apart_is_no_exchange() -> None:
    """Two readings that differ by their own step go up on one side and down on the other."""
    assert not asked(*row((5.70, 3.05), (5.75, 3.00)))
    coarse = {"plus_minus": {"a": math.radians(0.5), "b": math.radians(0.5)}}
    assert not asked(*row((6.0, 3.0), (5.4, 3.7), **coarse))
    assert asked(*row((6.0, 3.0), (5.4, 3.7)))


def test_an_edge_that_twists_a_little_while_it_tapers_is_no_exchange() -> None:
    """Where the taper is the larger change, both sides are what they seem."""
    assert not asked(*row((7.0, 4.0), (5.0, 4.6)))


@pytest.mark.parametrize(
    ("angles", "told"),
    [
        ((12.8, 10.0, 11.4), True),
        ((12.8, 11.4, 10.0), False),
        ((10.0, 11.4, 12.8, 12.2), True),
        ((11.4, 11.45, 11.4), False),
        ((12.8, 10.0), False),
    ],
)
def test_stations_out_of_turn_are_asked_about_from_three_on(
    angles: tuple[float, ...], told: bool
) -> None:
    """Two ends exchanged among three stations show; of two, nothing in the numbers tells which."""
    stations = [included(angle, at=400.0 * n) for n, angle in enumerate(angles)]
    assert ("ends-exchanged" in asked(*stations)) == told


def test_stations_that_differ_by_more_than_a_taper_does_are_asked_about_first() -> None:
    """0.240 typed 0.420: it said to drill undersize and ream, and gave four guides for one."""
    row = {"width": 0.85 * INCH, "rear": 0.04 * INCH}
    slip, good = (
        a_job(*(thick(front * INCH, at=at, **row) for front, at in ((first, 0.0), (0.230, 508.0))))
        for first in (0.420, 0.240)
    )
    (check,) = (c for c in solve(slip).checks if c.id == "stations-apart")
    included = [2 * math.degrees(math.atan((f - 0.04) / 2 / 0.85)) for f in (0.420, 0.230)]
    assert check.value == pytest.approx(included[0] - included[1])
    assert check.act == f"Stations 1 and 2 differ by {check.value:.1f} deg: measured right?"
    assert (check.status, check.limit) == ("warn", 8.0)
    assert not [c for c in solve(good).checks if c.id == "stations-apart"]
    failed = replace(check, id="hole-limit", act="Drill undersize and ream.", status="fail")
    band = band_of((failed, check))
    assert (band.word, band.lines) == ("STOP", (check.act, failed.act))


@pytest.mark.parametrize(("change", "asked_"), [(7.9, False), (8.1, True), (-8.1, True)])
def test_the_largest_step_between_neighbours_is_what_is_asked_about(
    change: float, asked_: bool
) -> None:
    """A long wedge may lose more than that from end to end, a little at each station."""
    row = [included(20.0), included(16.0, at=500.0), included(16.0 + change, at=900.0)]
    found = [c for c in solve(a_job(*row)).checks if c.id == "stations-apart"]
    assert bool(found) == asked_
    for check in found:
        assert check.act == "Stations 2 and 3 differ by 8.1 deg: measured right?"
        assert check.keys == tuple(f"wedge.station[{n}].included_angle" for n in (2, 3))
