"""Job files that somebody's program, editor or cat has been at: never a traceback."""

import copy
import json
import math
import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from jiggen.errors import JobError
from jiggen.job.read import read_job_text
from jiggen.job.sections import Job
from jiggen.job.starters import starter_files

TEMPLATES = Path(str(starter_files()["outline"])).parent
BASES = [tomllib.loads(place.read_text("utf-8")) for place in starter_files().values()]
BASES.append(
    {
        "format": 1,
        "name": "Everything",
        "units": "in",
        "wedge": {
            "measured": "ribs",
            "sweep": "9 deg 30 min",
            "station": [
                {"taper_rate": "3/16 in per ft", "at": 0, "plus_minus": {"rate": "1:200"}},
                {"included_angle": "0.16 rad", "at": "2 ft", "plus_minus": 0.5},
                {"outline": {"file": "outline-section.dat", "from": 0.9, "chord": 20}, "at": 30},
            ],
        },
        "skin": {"thickness": [0.02, "0.5 mm"]},
        "holes": {"drill": "letter F", "line": "3/8 in", "positions": [1, 2, 3.5], "keep_out": [2]},
        "allow": {"drift": 0.01, "angle": 1},
        "guide": {"base": "skin", "sag": 0.01, "margin": 0.05, "pin": 0.5, "sheet": 0.125},
        "drill": {"length": 4, "nose": 1.5},
        "block": {"bore": "5/16 in", "inside": "3/8 in", "length": 3, "press": 0},
        "print": {"paper": [8.5, 11], "margin": 0.5, "scale_x": 0.98, "skew": -0.2},
        "cut": {"kerf": 0.01, "text": "live", "colours": {"CUT": "#ff0000"}, "bed": [20, 12]},
    }
)
WORDS = [
    *("format", "name", "units", "wedge", "station", "at", "holes", "drill", "pitch", "positions"),
    *("thickness", "offsets", "readings", "outline", "plus_minus", "print", "cut", "colours", "x"),
]
MEASURED = st.sampled_from(
    [
        *("2.5 mm", "3/32 in", "1 1/4 in", "0/0 in", "1/0 in", "#40", "#0", "letter F", "F", "5"),
        *("5 deg 42 min", "5 deg 99 min", "0.1 rad", "1:8", "0:0", "3/16 in per ft", "per", ""),
        *("a4", "ribs", "face", "live", "nan", "inf", "1e309", "-0", "\u0000", "\u202e", "-3"),
        *("outline-section.dat", "..", "/", "tapered-inch.toml", "a" * 5000, "9" * 300 + " mm"),
    ]
)
# Written as lists of 6000 by `as_toml`, so that mangling need not walk through them.
HUGE, HUGE_ROW = ("huge", 0), ("huge", 1)
LEAVES = st.one_of(
    st.none().map(lambda _: True),
    st.booleans(),
    st.integers(-(10**18), 10**18),
    st.integers(-3, 9),
    st.floats(),
    st.floats(-10, 100),
    st.dates(),
    st.text(max_size=12),
    MEASURED,
    st.sampled_from([HUGE, HUGE_ROW]),
)
VALUES = st.recursive(
    LEAVES,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.sampled_from(WORDS), inner, max_size=3)
    ),
    max_leaves=4,
)
KEYS = st.one_of(st.sampled_from(WORDS), st.text(max_size=8))


def as_toml(value):
    """Return a value as inline TOML; escapes as JSON does, which TOML understands."""
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return json.dumps(value).replace("\x7f", "\\u007f")
        case float():
            return repr(value) if math.isfinite(value) else str(value)
        case ("huge", step):
            return f"[{', '.join(str(number * step) for number in range(6000))}]"
        case list():
            return f"[{', '.join(map(as_toml, value))}]"
        case dict():
            return f"{{{', '.join(f'{as_toml(key)} = {as_toml(v)}' for key, v in value.items())}}}"
        case _:
            return str(value)


def as_file(table):
    return "".join(f"{as_toml(key)} = {as_toml(value)}\n" for key, value in table.items())


def places_in(value):
    """Return every (container, key) below a value."""
    keys = list(value) if isinstance(value, dict) else range(len(value))
    found = [(value, key) for key in keys]
    for key in keys:
        if isinstance(value[key], dict | list):
            found += places_in(value[key])
    return found


@st.composite
def mangled_jobs(draw):
    job = copy.deepcopy(draw(st.sampled_from(BASES)))
    for _ in range(draw(st.integers(0, 4))):
        places = places_in(job)
        if not places:
            break
        holder, key = draw(st.sampled_from(places))
        match draw(st.sampled_from(["replace", "replace", "drop", "add", "double"])):
            case "replace":
                holder[key] = copy.deepcopy(draw(VALUES))
            case "drop":
                del holder[key]
            case "add" if isinstance(holder, dict):
                holder[draw(KEYS)] = copy.deepcopy(draw(VALUES))
            case "add" | "double" if isinstance(holder, list):
                holder.append(copy.deepcopy(holder[key]))
    return as_file(job)


def check_faults(faults):
    assert faults
    for fault in faults:
        assert fault.file == "job.toml"
        assert fault.key
        assert str(fault.problem)
        line = str(fault)
        assert line.startswith(f"job.toml: {fault.key}: ")
        assert line.isprintable()
        assert len(line) < 500


def check_reading(text):
    """Read, and hold every fault to the promise: file, key and problem on one harmless line."""
    faults = ()
    try:
        job = read_job_text(text, "job.toml", TEMPLATES)
    except JobError as refused:
        job, faults = None, refused.faults
    if job is None:
        check_faults(faults)
        return "refused"
    assert isinstance(job, Job)
    numbers = [value for station in job.wedge.stations for value in station.values.values()]
    numbers += [*job.print.paper, *job.cut.bed, job.print.scale_x]
    numbers += job.holes.positions if job.holes else ()
    assert all(math.isfinite(number) for number in numbers)
    assert all(station.values for station in job.wedge.stations)
    return "read"


def test_the_bases_of_the_fuzzing_are_good_jobs():
    """Mangling files that are refused anyway would test nothing."""
    for base in BASES[:-1]:
        assert check_reading(as_file(base)) == "read"
    with pytest.raises(JobError) as refused:
        read_job_text(as_file(BASES[-1]), "job.toml", TEMPLATES)
    # A bushing as wide inside as outside: the one fault that is left in on purpose.
    assert [fault.key for fault in refused.value.faults] == ["block.inside"]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(text=mangled_jobs())
def test_a_mangled_job_is_read_or_refused_with_its_keys(text):
    """A traceback tells a builder nothing; a line with the key tells where to look."""
    assert check_reading(text) in ("read", "refused")


@pytest.mark.slow
@settings(max_examples=1000, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(text=mangled_jobs())
def test_many_mangled_jobs_are_read_or_refused_with_their_keys(text):
    """The same with a larger budget."""
    assert check_reading(text) in ("read", "refused")


@settings(max_examples=100, deadline=None)
@given(text=st.text(max_size=60))
def test_text_that_is_no_job_is_refused(text):
    """Whatever was pasted into the file, the answer is a line that names the file."""
    with pytest.raises(JobError) as refused:
        read_job_text(text, "job.toml", TEMPLATES)
    assert all(str(fault).startswith("job.toml: ") for fault in refused.value.faults)
    assert all(str(fault).isprintable() for fault in refused.value.faults)
