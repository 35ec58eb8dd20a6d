"""What is declared of a key is what the reader, its faults and the tables of the manual say."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from jiggen.errors import Fault, JobError
from jiggen.job.fields import FaultList, Table
from jiggen.job.read import read_job_text
from jiggen.job.schema import (
    NEEDED,
    Key,
    Section,
    gone,
    key_rows,
    keys_of,
    mm,
    read_section,
    tables_of,
)
from jiggen.job.sections import Job
from jiggen.job.wedge import Station

HEAD = 'format = 1\nname = "Tab"\nunits = "{}"\n[[wedge.station]]\nincluded_angle = 9.4\n'


class Lamp(Section):
    """A section of this test alone."""

    height: float = mm(NEEDED, "Height", "height of the lamp over the bench", above=0, at_most=508)
    reach: float | None = mm(None, "Reach", "of its arm", unless="")
    wick: None = gone("there is no wick any more; see [lamp] height")


def read_lamp(raw: dict[str, object], units: str = "mm") -> tuple[Lamp | None, list[Fault]]:
    found = FaultList(file="lamp.toml", units=units)
    return read_section(Lamp, Table(raw, "lamp", found, units, tuple(keys_of(Lamp)))), found.faults


def every_key(holds: type = Job, above: str = "") -> Iterator[tuple[str, Key]]:
    for name, key in key_rows(holds):
        yield f"{above}{name}", key
        if key.holds is not None and key.is_list:
            yield from every_key(key.holds, f"{above}{name}.")


def faults_of(text: str) -> list[Fault]:
    with pytest.raises(JobError) as refused:
        read_job_text(text, "tab.toml", Path())
    return list(refused.value.faults)


def test_every_key_has_a_label_and_a_meaning_for_one_line() -> None:
    """The form's fields, the manual and the starters' comments all take them from here."""
    keys = dict(every_key())
    assert len(keys) > 150
    assert {"wedge.station.thickness.front", "drill.nose", "row.keep_out", "cut.kerf"} <= set(keys)
    for name, key in keys.items():
        assert 0 < len(key.label) <= 22, name
        assert 0 < len(key.meaning) <= 82, name
        assert not key.meaning.endswith("."), name


def test_the_measuring_forms_are_declared_key_by_key() -> None:
    """A page in the browser asks for exactly what the file takes."""
    rows = dict(key_rows(Station))
    assert [name for name in rows if name.startswith("thickness.")] == [
        f"thickness.{key}" for key in ("front", "rear", "width", "along")
    ]
    assert rows["thickness.front"].unit("in") == "in"
    assert rows["readings.a"].unit("in") == "deg"
    assert rows["thickness.along"].choices == ("chord", "face")
    assert rows["outline.from"].unit("in") == ""


def test_a_needed_key_that_is_missing_is_asked_for_by_its_meaning() -> None:
    """The remedy says what to measure, not what the program lacks."""
    lamp, (fault,) = read_lamp({})
    assert lamp is None
    assert (
        str(fault) == "lamp.toml: lamp.height: is missing; give height of the lamp over the bench"
    )


@pytest.mark.parametrize(("units", "limit"), [("mm", "508 mm"), ("in", "20 in")])
def test_a_limit_is_said_in_the_jobs_own_unit(units: str, limit: str) -> None:
    """Who works in inches cannot tell whether he broke a limit in millimetres."""
    _, (fault,) = read_lamp({"height": 600.0}, units)
    assert f"must be at most {limit}, given 600.0" in str(fault)
    _, (fault,) = read_lamp({"height": 0}, units)
    assert "must be more than 0" in str(fault)


def test_a_key_that_is_gone_is_answered_with_where_it_went() -> None:
    """The nearest known key would send the reader elsewhere."""
    lamp, (fault,) = read_lamp({"height": 300, "wick": 2})
    assert lamp == Lamp(height=300.0)
    assert str(fault).startswith("lamp.toml: lamp.wick: there is no wick any more")


def test_a_pair_at_fault_marks_both_its_keys_and_offers_the_exchange() -> None:
    """A form marks front and rear, and one press puts them right."""
    text = 'format = 1\nname = "T"\nunits = "mm"\n[[wedge.station]]\n'
    (fault,) = faults_of(text + "thickness = { front = 1, rear = 4, width = 20 }\n")
    both = ("wedge.station[1].thickness.front", "wedge.station[1].thickness.rear")
    assert fault.keys == both
    assert fault.action is not None
    assert fault.action.exchange == both
    mended = read_job_text(
        text + "thickness = { front = 4, rear = 1, width = 20 }\n", "tab.toml", Path()
    )
    assert mended.wedge.stations[0].values["front"] == 4.0


def test_the_tables_of_the_manual_hold_each_key_once_with_its_default_and_limits() -> None:
    """A key that is in no table is not used; a wrong default is found when the part is cut."""
    tables = tables_of(Job)
    drift = "| `drift` | length up to 5 mm | what the rivet's hole bears, at most 0.1 mm |"
    assert f"{drift} how far a hole may miss" in tables
    assert "| `tolerance` | angle up to 3 deg | 0.25 deg |" in tables
    assert '| `side` | `"pass"`, `"hole"`, `"a"` or `"b"` | `"pass"` |' in tables
    assert "| `thickness` | length, or two | *needed* |" in tables
    assert "### `[[wedge.station]]`" in tables
    rows = [line for line in tables.splitlines() if line.startswith("| `")]
    assert len(rows) == len(dict(every_key()))
    for name, key in every_key():
        in_table = re.sub(r"^(wedge\.station|\w+)\.", "", name).removeprefix("wedge.")
        assert any(row.startswith(f"| `{in_table}` |") and key.meaning in row for row in rows), name


def test_more_unknown_keys_than_anyone_reads_are_counted() -> None:
    """A list that was pasted in by mistake must not hide the one fault that matters."""
    many = "".join(f"x{n} = 1\n" for n in range(500))
    faults = faults_of(HEAD.format("mm") + "[guide]\n" + many)
    assert len(faults) == 21
    assert "nor are 479 more" in str(faults[-1])


def test_what_was_stated_is_known_key_by_key() -> None:
    """A default that was taken in silence is asked about; one that was written is not."""
    body = "[cut]\nsheet = 3\n[[row]]\nname = 'r'\npitch = 20\ncount = 3\n"
    job = read_job_text(HEAD.format("mm") + body, "tab.toml", Path())
    assert {"cut.sheet", "wedge.station[1].included_angle", "row[1].pitch"} <= job.stated
    assert "cut.kerf" not in job.stated


def test_how_a_guide_is_cut_follows_from_the_kerf_unless_it_is_stated() -> None:
    """Who states a kerf has a laser; who does not, a knife."""
    for body, how in (("", "hand"), ("[cut]\nkerf = 0.1\n", "laser"),
                      ('[cut]\nkerf = 0.1\n[guide]\ncut = "printed"\n', "printed")):  # fmt: skip
        job = read_job_text(HEAD.format("mm") + body, "tab.toml", Path())
        assert job.guide_cut == how
        assert job.guide_sheet == 3.0
    thick = read_job_text(HEAD.format("mm") + "[guide]\nsheet = 4\n", "tab.toml", Path())
    assert thick.guide_sheet == 4.0


def test_an_inch_job_takes_letter_paper_and_the_dowels_that_are_sold_there() -> None:
    """A page for A4 does not fit the paper in that printer."""
    inch, mm_job = (read_job_text(HEAD.format(u), "tab.toml", Path()) for u in ("in", "mm"))
    assert (inch.print.paper_name, mm_job.print.paper_name) == ("letter", "a4")
    assert inch.print.paper == pytest.approx((215.9, 279.4))
    assert inch.block.dowel == pytest.approx(3.96875)


def test_plain_rows_are_read_one_by_one() -> None:
    """A rib and a spar each have their own sheet."""
    body = (
        '[[row]]\nname = "rib 3"\npitch = "3/4 in"\ncount = 12\nkeep_out = [1, 12]\n'
        '[[row]]\nname = "spar"\nfirst = 10\npitch = 25\ncount = 40\norder = "ends-in"\n'
    )
    rib, spar = read_job_text(HEAD.format("mm") + body, "tab.toml", Path()).rows
    assert (rib.pitch, rib.keep_out, rib.order) == (19.05, frozenset({1, 12}), "middle-out")
    assert (spar.first, spar.order) == (10.0, "ends-in")
    (fault,) = faults_of(HEAD.format("mm") + body.replace("[1, 12]", "[1, 13]"))
    assert fault.key == "row[1].keep_out[2]"


@pytest.mark.parametrize("line", ["sheet = 0.00002", "sheet = 51"])
def test_material_that_nobody_cuts_is_refused(line):
    """A block of half a million layers is no block: laying them out took for ever."""
    with pytest.raises(JobError) as caught:
        read_job_text(HEAD.format("mm") + f"[cut]\n{line}\n", "tab.toml", Path())
    assert caught.value.faults[0].key == "cut.sheet"
