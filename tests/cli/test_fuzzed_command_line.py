"""Job files that somebody's finger, program or cat has been at, through the whole command line.

Whatever is in the file: no traceback, no fault of jiggen's own, no warning from a library; bad
input is exit 2 with lines that name file and key, and nothing is written.
"""

import json
import re
import tempfile
from pathlib import Path

import pytest
from commandline import Said, files_in, said
from hypothesis import given, settings
from hypothesis import strategies as st

BASE = """\
format = 1
name = "Tab edge"
units = "mm"
sides = ["top", "bottom"]
wedge.rear_thickness = 0.8
wedge.depth = 20.0
wedge.measured = "square"
wedge.station = [{ at = 0.0, thickness = { front = 3.9, rear = 0.8, width = 18.0 } }]
skin.thickness = 0.5
holes.drill = "#40"
holes.line = 8.0
holes.first = 15.0
holes.pitch = 26.0
holes.count = 9
holes.keep_out = [1]
allow.drift = 0.1
drill.length = 100.0
drill.nose = 36.0
guide.base = "solid"
guide.sag = 0.5
guide.margin = 1.0
guide.pin = 12.0
guide.sheet = 3.0
guide.cut = "laser"
block.bearing = 8.0
block.dowel = 4.0
block.press = -0.05
print.paper = "a4"
print.margin = 10.0
print.scale_x = 1.0
print.skew = 0.0
cut.sheet = 3.0
cut.kerf = 0.15
cut.bed = [600.0, 400.0]
cut.gap = 3.0
"""

STATIONS = st.sampled_from(
    [
        "{ at = 0, included_angle = 8.2 }",
        "{ at = 0, included_angle = 88 }",
        "{ at = 0, skin_angles = [9, 0] }",
        "{ at = 0, skin_angles = [44.9, -44.8] }",
        "{ at = 0, readings = { a = 5.9, b = -5.6, chord = 0.1 }, plus_minus = 0.1 }",
        "{ at = 0, taper_rate = '3/16 in per ft' }, { at = 900, taper_rate = '1:8' }",
        "{ at = 0, thickness = { front = 3, rear = 3, width = 16 } }",
        "{ at = 0, thickness = { front = 1e9, rear = 0, width = 1e-9 } }",
        "{ at = 0, offsets = { front = [2, 1], rear = [0.4, 0.3], width = 16 } }",
        "{ at = 0, outline = { file = 'none.dat', from = 0.9, chord = 800 } }",
        "{ at = 0 }, { at = 0 }",
        "",
    ]
).map(lambda stations: f"[{stations}]")
TOKENS = st.one_of(
    st.sampled_from(
        [
            *("nan", "-inf", "true", "[]", "{}", '""', "1979-05-27", "[[1]]", "0", "-1", "1e308"),
            *('"1/0 in"', '"2.5 mm"', '"#0"', '"letter F"', '"\\u001b[2J"', '"\\u4e00"', "1e-300"),
            *("[1, 2, 3]", "[3, 2, 1]", "{ a = 1 }", '"a4"', '"legal-ish"', "= 5", "[", '"'),
            f"[{', '.join(str(n) for n in range(6000))}]",
        ]
    ),
    st.floats(allow_nan=False, allow_infinity=False).map(repr),
    st.integers(-(10**25), 10**25).map(str),
    st.text(max_size=8).map(lambda text: json.dumps(text).replace("\x7f", "\\u007f")),
    STATIONS,
)
FACTORS = st.sampled_from([0.0, -1.0, 1e-6, 0.1, 0.5, 0.9, 1.1, 2.0, 5.0, 25.4, 1e3, 1e9])


@st.composite
def spoilt_files(draw: st.DrawFn) -> str:
    """Return the text of a job of which one to three lines were spoilt."""
    lines = BASE.splitlines()
    for _ in range(draw(st.integers(1, 3))):
        index = draw(st.integers(0, len(lines) - 1))
        key, _, value = lines[index].partition(" = ")
        match draw(st.sampled_from([*["replace"] * 5, *["scale"] * 5, "drop", "key", "twice"])):
            case "replace":
                lines[index] = f"{key} = {draw(TOKENS)}"
            case "scale" if re.fullmatch(r"[0-9.]+", value):
                lines[index] = f"{key} = {float(value) * draw(FACTORS)}"
            case "key":
                lines[index] = (
                    f"{key}{draw(st.sampled_from(['x', '_', '.y', ' z', '#']))} = {value}"
                )
            case "twice":
                lines.append(lines[index])
            case _:
                lines[index] = ""
    return "\n".join(lines) + "\n"


@st.composite
def sizes(draw: st.DrawFn) -> str:
    """Return a sound job whose jigs, paper and bed have sizes that may or may not go together."""
    text = BASE
    numbers = {
        "drill.length": st.floats(20, 300), "drill.nose": st.floats(5, 80),
        "guide.sag": st.floats(0, 5), "guide.margin": st.floats(0, 10),
        "guide.pin": st.floats(1, 40), "guide.sheet": st.floats(0.5, 25),
        "block.bearing": st.floats(1, 100), "block.dowel": st.floats(1, 12),
        "block.press": st.floats(-0.5, 0.5),
        "cut.sheet": st.floats(0.3, 20), "cut.kerf": st.floats(0, 3), "cut.gap": st.floats(0, 10),
        "holes.pitch": st.floats(8, 60), "holes.line": st.floats(2, 18),
        "print.margin": st.floats(0, 60),
    }  # fmt: skip
    for key in draw(
        st.lists(st.sampled_from(sorted(numbers)), min_size=1, max_size=4, unique=True)
    ):
        text = re.sub(rf"^{key} = .*$", f"{key} = {draw(numbers[key]):.3f}", text, flags=re.M)
    return text.replace('"a4"', draw(st.sampled_from(['"a4"', '"letter"', "[120, 90]"])))


def check_refusal(answer: Said, job: Path, folder: Path) -> None:
    """Bad input: exit 2, each line names the file and a key, and no file was written."""
    assert answer.status == 2, answer.err
    assert answer.out == ""
    assert answer.faults
    for line in answer.faults:
        assert re.match(rf"{re.escape(str(job))}: [^\s:][^:]*: \S", line), line
        assert line.isprintable()
    assert list(files_in(folder)) == [job.name]


def run_both(text: str, formats: str) -> None:
    """Run `angles` and `make` on a job text: the two agree, and neither falls over."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        job = folder / "job.toml"
        job.write_text(text, "utf-8", errors="surrogatepass")
        solved = said("angles", job)
        if solved.status != 0:
            check_refusal(solved, job, folder)
        made = said("make", job, "--as", formats, "--only", "guide,block", "--out", folder / "out")
        if made.status in (0, 1):
            assert solved.status == 0
            assert "manifest.json" in files_in(folder / "out")
            # What cannot be made stops no other jig, and each is told.
            assert bool(made.faults) == (made.status == 1)
            assert all("cannot be made says no: " in line for line in made.faults)
        else:
            check_refusal(made, job, folder)


def test_the_job_that_is_spoilt_is_a_good_one(tmp_path: Path) -> None:
    """If the base itself were refused, nothing behind that refusal would be tried."""
    job = tmp_path / "job.toml"
    job.write_text(BASE, "utf-8")
    assert said("make", job, "--as", "svg", "--out", tmp_path / "out").status == 0


@settings(max_examples=40, deadline=None)
@given(spoilt_files())
def test_a_spoilt_job_file_is_refused_with_its_key_or_drawn(text: str) -> None:
    """A traceback in the shop ends the evening; a half-drawn set ends the wedge."""
    run_both(text, "svg")


@settings(max_examples=10, deadline=None)
@given(sizes())
def test_sizes_that_do_not_go_together_are_refused_with_their_key(text: str) -> None:
    """A guide that cannot be cut must be refused by name, never drawn wrong or crashed over."""
    run_both(text, "pdf,svg")


@pytest.mark.slow
@settings(max_examples=300, deadline=None)
@given(st.one_of(spoilt_files(), sizes()))
def test_many_spoilt_job_files_are_refused_or_drawn(text: str) -> None:
    """The same with a large budget: rare slips are the ones nobody tried by hand."""
    run_both(text, "svg,dxf")
