import math
from pathlib import Path

import pytest
from msgspec.structs import replace

from jiggen.job.read import read_job, read_job_text
from jiggen.job.sections import Allow, Block, Colours, Cut, Drill, Guide, Print
from jiggen.job.wedge import Form

HEAD = 'format = 1\nname = "Tab"\nunits = "mm"\n'
ANGLE = "[[wedge.station]]\nincluded_angle = 9.4\n"


def read(body, head=HEAD, folder=Path()):
    return read_job_text(head + body, "tab.toml", folder)


def station(body):
    return read(f"[[wedge.station]]\n{body}\n").wedge.stations[0]


def test_the_shortest_job_reads_with_the_documented_defaults():
    """Somebody with one protractor reading gets angles without filling in a form."""
    job = read(ANGLE)
    assert job.file == "tab.toml"
    assert job.sides == ("side A", "side B")
    assert job.wedge.stations[0].at == 0.0
    assert (job.holes, job.skin, job.rivet) == (None, None, None)
    assert job.allow == Allow()
    assert job.guide == Guide()
    assert job.block == Block()
    assert job.print == Print()
    assert job.cut == Cut()


@pytest.mark.parametrize(
    ("body", "form", "values"),
    [
        ("included_angle = 9.4", Form.INCLUDED_ANGLE, {"angle": math.radians(9.4)}),
        (
            'skin_angles = [7.5, "3 deg"]',
            Form.SKIN_ANGLES,
            {"a": math.radians(7.5), "b": math.radians(3)},
        ),
        (
            'thickness = { front = 3.9, rear = "1/32 in", width = 16 }',
            Form.THICKNESS,
            {"front": 3.9, "rear": 0.79375, "width": 16.0},
        ),
        (
            "offsets = { front = [2.1, 1.4], rear = [0.4, 0.3], width = 16 }",
            Form.OFFSETS,
            {"front_a": 2.1, "front_b": 1.4, "rear_a": 0.4, "rear_b": 0.3, "width": 16.0},
        ),
        (
            "readings = { a = 5.9, b = -5.6, chord = 0.1 }",
            Form.READINGS,
            {"a": math.radians(5.9), "b": math.radians(-5.6), "chord": math.radians(0.1)},
        ),
        ('taper_rate = "3/16 in per ft"', Form.TAPER_RATE, {"rate": 1 / 64}),
    ],
)
def test_each_form_comes_out_in_mm_and_radians(body, form, values):
    """The sides must not be exchanged, nor front and rear, on the way in."""
    read_station = station(body)
    assert (form, values) == (read_station.form, read_station.values)


def test_thickness_knows_along_what_its_width_was_measured():
    """Along the face or along the chord differ by half a percent of the angle at 6 deg."""
    shape = "thickness = { front = 3.9, rear = 0.7, width = 16.0"
    assert station(shape + " }").thickness.along == "chord"
    assert station(shape + ', along = "face" }').thickness.along == "face"


def test_one_side_may_be_flat_or_even_slope_the_other_way():
    """A one-sided wedge is legal as long as the whole comes together toward the edge."""
    assert station("skin_angles = [9.2, 0]").values["b"] == 0.0
    assert station("skin_angles = [9.2, -1]").values["b"] == math.radians(-1)


@pytest.mark.parametrize(
    ("form", "given", "expected"),
    [
        ("included_angle = 9", "0.5", {"angle": math.radians(0.5)}),
        ("included_angle = 9", "{ angle = 0.5 }", {"angle": math.radians(0.5)}),
        ("skin_angles = [5, 4]", "0.5", {"a": math.radians(0.5), "b": math.radians(0.5)}),
        ("skin_angles = [5, 4]", "{ a = 0.5 }", {"a": math.radians(0.5)}),
        ('taper_rate = "1:8"', '"1/64 in per ft"', {"rate": 1 / 768}),
        (
            "thickness = { front = 3, rear = 1, width = 9 }",
            "0.02",
            {"front": 0.02, "rear": 0.02, "width": 0.02},
        ),
        (
            "readings = { a = 5, b = -5, chord = 0 }",
            '{ a = 0.1, chord = "6 min" }',
            {"a": math.radians(0.1), "chord": math.radians(0.1)},
        ),
        (
            "offsets = { front = [2, 2], rear = [1, 1], width = 9 }",
            "{ front = 0.02, front_b = 0.05, width = 0.3 }",
            {"front_a": 0.02, "front_b": 0.05, "width": 0.3},
        ),
        (
            "offsets = { front = [2, 2], rear = [1, 1], width = 9 }",
            "{ front = 0.02, rear = 0.03 }",
            {"front_a": 0.02, "front_b": 0.02, "rear_a": 0.03, "rear_b": 0.03},
        ),
    ],
)
def test_plus_minus_goes_to_the_readings_that_it_names(form, given, expected):
    """The report says which reading limits the guide; it must be the right one."""
    read_station = station(f"{form}\nplus_minus = {given}")
    assert read_station.plus_minus.keys() == expected.keys()
    assert read_station.plus_minus == pytest.approx(expected, rel=1e-15)


def test_inches_and_millimetres_give_the_same_job():
    """A builder who changes the units of the file must get the same sheets."""
    body = (
        "[wedge]\ndepth = {depth}\n[[wedge.station]]\n"
        "thickness = {{ front = {front}, rear = {rear}, width = {width} }}\n"
        "[holes]\ndrill = {drill}\nline = {line}\npositions = [{first}, {second}]\n"
    )
    in_mm = {
        "depth": 25.4,
        "front": 5.08,
        "rear": 0.889,
        "width": 22.86,
        "drill": 2.4892,
        "line": 10.16,
        "first": 12.7,
        "second": 38.1,
    }
    in_inches = {
        "depth": 1,
        "front": 0.2,
        "rear": 0.035,
        "width": 0.9,
        "drill": '"#40"',
        "line": 0.4,
        "first": 0.5,
        "second": 1.5,
    }
    mm = read(body.format(**in_mm))
    inches = read(body.format(**in_inches), HEAD.replace('"mm"', '"in"'))
    assert mm.wedge == inches.wedge
    assert mm.holes is not None
    assert inches.holes is not None
    assert mm.holes.positions == inches.holes.positions
    assert (mm.holes.drill, mm.holes.line) == (inches.holes.drill, inches.holes.line)


def test_holes_in_a_row_stand_at_first_plus_so_many_pitches():
    """Hole 64 must not have gathered 63 rounding steps on the way."""
    holes = read(
        ANGLE + '[holes]\ndrill = "#40"\nline = 8\nfirst = 15\npitch = 26.1\ncount = 64\n'
        "keep_out = [64, 1]\n"
    ).holes
    assert holes is not None
    assert len(holes.positions) == 64
    assert holes.positions[63] == 15 + 63 * 26.1
    assert holes.keep_out == {1, 64}


def test_a_single_hole_needs_no_pitch():
    """One hole has no neighbour to be a pitch away from."""
    holes = read(ANGLE + '[holes]\ndrill = "#40"\nline = 8\nfirst = 15\ncount = 1\n').holes
    assert holes is not None
    assert holes.positions == (15.0,)


def test_a_rivet_is_known_by_its_dash_number_or_by_its_head():
    """The head's width says how far its edge stands proud."""
    assert read(ANGLE + '[rivet]\nsize = "-3"\n').rivet.head == pytest.approx(0.179 * 25.4)
    assert read(ANGLE + '[rivet]\nhead = "4.5 mm"\n').rivet.head == 4.5


def test_skins_may_differ():
    """The grip at the hole counts both."""
    assert read(ANGLE + "[skin]\nthickness = 0.5\n").skin.thickness == (0.5, 0.5)
    assert read(ANGLE + "[skin]\nthickness = [0.5, 0.4]\n").skin.thickness == (0.5, 0.4)


def test_measured_along_the_ribs_takes_the_sweep():
    """Ribs that are not square to the edge show a smaller angle."""
    wedge = read('[wedge]\nmeasured = "ribs"\nsweep = 12\nextend = true\n' + ANGLE).wedge
    assert (wedge.sweep, wedge.extend) == (math.radians(12), True)


def test_every_size_of_guide_block_paper_and_sheet_can_be_set():
    """A key that is read into the wrong field draws a piece that does not fit."""
    body = """
        [allow]
        drift = 0.2
        angle = 1
        land = 0.3
        [guide]
        base = "skin"
        sag = 0.4
        margin = 1.5
        sheet = 2
        cut = "printed"
        pin = 13
        [drill]
        length = 61
        grip = 15
        nose = 42
        [block]
        bore = 8
        inside = 2.6
        length = 62
        bearing = 5
        index = "round"
        press = 0.05
        dowel = 5
        [print]
        paper = "Letter"
        margin = 12
        scale_x = 0.98
        scale_y = 1.01
        skew = 0.3
        [cut]
        sheet = 4
        kerf = 0.2
        bed = [300, 200]
        gap = 4
        text = "live"
        line = 0.2
        colours = { CUT = "#FF0000", NOTE = "#00ff00" }
    """
    job = read(ANGLE + body)
    letter = (8.5 * 25.4, 11 * 25.4)
    assert job.allow == Allow(drift=0.2, angle=math.radians(1), land=0.3)
    assert job.guide == Guide(base="skin", sag=0.4, margin=1.5, sheet=2, cut="printed", pin=13)
    assert job.drill == Drill(length=61, grip=15, nose=42)
    assert job.block == Block(
        bore=8, inside=2.6, length=62, bearing=5, index="round", press=0.05, dowel=5
    )
    assert job.print == Print(paper=letter, paper_name="letter", margin=12, scale_x=0.98,
                              scale_y=1.01, skew=math.radians(0.3))  # fmt: skip
    assert {"block.bore", "allow.drift", "cut.colours.CUT"} <= job.stated
    colours = Colours(CUT="#ff0000", NOTE="#00ff00")
    cut = Cut(sheet=4, kerf=0.2, bed=(300, 200), gap=4, text="live", colours=colours, line=0.2)
    assert job.cut == cut


def test_paper_of_any_size_is_named_by_its_sides():
    """The page says which paper to put in."""
    job = read(ANGLE + "[print]\npaper = [8.5, 13]\n", HEAD.replace('"mm"', '"in"'))
    assert job.print.paper == pytest.approx((215.9, 330.2))
    assert job.print.paper_name == "8.5000 x 13.0000 in"


def test_a_file_with_a_byte_order_mark_reads(tmp_path):
    """Some editors put one there, and the user cannot see it."""
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + (HEAD + ANGLE).encode())
    assert read_job(path).name == "Tab"


def test_an_outline_is_looked_for_beside_the_job_file(tmp_path):
    """The pair can be moved together to another folder."""
    rows = [(1, 0.01), (0.75, 0.04), (0.5, 0.06), (0.25, 0.05), (0.1, 0.04), (0, 0)]
    rows += [(x, -z) for x, z in reversed(rows[:-1])]
    (tmp_path / "tab.dat").write_text("\n".join(f"{x} {z}" for x, z in rows))
    body = '[[wedge.station]]\noutline = { file = "tab.dat", from = 0.9, chord = 400 }\n'
    path = tmp_path / "tab.toml"
    path.write_text(HEAD + body + 'plus_minus = "0.1 mm"\n')
    read_station = read_job(str(path)).wedge.stations[0]
    assert read_station.outline.points == tuple(rows)
    assert read_station.outline.file == "tab.dat"
    assert read_station.values == {"from": 0.9, "chord": 400.0}
    assert read_station.plus_minus == {"z": 0.1}


@pytest.mark.parametrize(("given", "mm"), [('"#40"', 2.4892), ('"3/8 in"', 9.525), ("6", 6.0)])
def test_a_bushing_may_be_called_by_its_drill(given, mm):
    """A bushing is bought as "#40, 3/8 outside": the job file takes it as it stands on the bag."""
    assert read(ANGLE + f"[block]\nbore = {given}\n").block.bore == pytest.approx(mm)


def test_who_works_in_inches_gets_dowels_that_are_sold_there():
    """A hole of 0.1575 in is for a pin that nobody has."""
    inches = read(ANGLE, head=HEAD.replace('"mm"', '"in"'))
    assert inches.block.dowel == pytest.approx(5 / 32 * 25.4)
    assert replace(inches.block, dowel=Block().dowel) == Block()
    given = read(ANGLE + '[block]\ndowel = "3/16 in"\n', head=HEAD.replace('"mm"', '"in"'))
    assert given.block.dowel == pytest.approx(3 / 16 * 25.4)
