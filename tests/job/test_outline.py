import math
import re

import pytest

from jiggen.job.outline import OutlineError, read_outline, read_outline_file

XS = [1, 0.9, 0.75, 0.5, 0.3, 0.15, 0.05, 0]
UPPER = [(x, round(0.24 * math.sqrt(x) * (1 - x) + 0.004 * x, 6)) for x in XS]
LOWER = [(x, round(-0.17 * math.sqrt(x) * (1 - x) - 0.004 * x, 6)) for x in reversed(XS)]
LOOP = tuple(UPPER + LOWER[1:])
SHARP = tuple([(1.0, 0.0), *LOOP[1:-1], (1.0, 0.0)])


def rows(points, separator=" "):
    return "\n".join(f"{x}{separator}{z}" for x, z in points) + "\n"


@pytest.mark.parametrize(
    "text",
    [
        rows(LOOP),
        "Tab section 1\n" + rows(LOOP),
        "2412\n" + rows(LOOP),
        "# made up\n\nTab section\n! x z\n" + rows(LOOP) + "\n; end\n",
        rows(LOOP, ", "),
        rows(LOOP, "\t"),
        rows(LOOP).replace("\n", "   # a point\n"),
        rows(LOOP, ";"),
        rows(LOOP, " ; "),
        rows(LOOP, ","),
        rows(LOOP).replace("\n", " 0.000\n"),
        rows(LOOP, ", ").replace("\n", ", 0\n"),
        rows(LOOP).replace("\n", " as drawn\n"),
        rows(LOOP).replace("\n", " ; a point\n"),
        rows(LOOP).replace(".", ","),
        rows(LOOP, ";").replace(".", ","),
        rows(LOOP, "\t").replace(".", ","),
        "Tab 12.04 % (smoothed)\nx y\n" + rows(LOOP) + "\nfrom a drawing, 9/11/14\n2 notes\n",
        "Tab\n -2.0 3.0 -2.5 3.5\n" + rows(LOOP),
        rows(LOOP).replace("\n", "\r\n"),
        rows(reversed(LOOP)),
        rows(UPPER[::-1]) + "\n" + rows(LOWER),
        rows(UPPER[::-1]) + rows(LOWER[1:]),
        rows(LOWER) + "\n" + rows(UPPER[::-1]),
        "Tab\n8. 8.\n\n" + rows(UPPER[::-1]) + "\n" + rows(LOWER),
        "Tab\n8 7\n" + rows(UPPER[::-1]) + rows(LOWER[1:]),
        # a blunt trailing edge that the file closes, at a corner or in the middle
        rows((*LOOP, LOOP[0])),
        rows(((1, 0), *LOOP, (1, 0))),
        rows([point for each in LOOP for point in (each, each)]),
    ],
    ids=lambda text: text[:20].replace("\n", "|"),
)
def test_every_usual_order_gives_the_same_loop(text):
    """Read the other way round, side A and side B are exchanged: both guides are wrong."""
    assert read_outline(text) == LOOP


def test_a_sharp_trailing_edge_stays_closed():
    """Both sides end in the one point."""
    assert read_outline(rows(SHARP)) == SHARP
    two_blocks = rows(reversed(SHARP[:8])) + "\n" + rows(SHARP[7:])
    assert read_outline(two_blocks) == SHARP


def test_exponents_and_signs_are_numbers():
    """Programs write coordinates like this."""
    text = rows([(f"{x:+.6E}", f"{z:.6e}") for x, z in LOOP])
    assert read_outline(text) == LOOP


def test_a_section_in_millimetres_or_percent_stays_in_its_unit():
    """The counts of a two-block file must not be mistaken for a first point, nor back."""
    large = tuple((100 * x, 100 * z) for x, z in LOOP)
    assert read_outline(rows(large)) == large
    blunt = ((100, 2), *large[1:-1], (100, -2))
    assert read_outline(rows(blunt)) == blunt


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "has 0 points"),
        ("Tab\n" + rows(LOOP[:9]), "has 9 points"),
        (rows(LOOP[:5]) + "the middle\n" + rows(LOOP[5:]), "line 6 is not two numbers"),
        (rows(LOOP) + "0.98 ......\n", "line 16 is not two numbers"),
        (rows(LOOP) + "0.9O -0.02\n", "line 16 is not two numbers"),
        ("1.O 0.004\n" + rows(LOOP[1:]), "line 1 is not two numbers"),
        (rows(LOOP).replace("0.5 ", "0,5,0,", 1), "line 4 is not two numbers"),
        (rows(LOOP).replace("0.5 ", "nan ", 1), "line 4 is not two numbers"),
        ("nan 0\n" + rows(LOOP), "line 1 is not two numbers"),
        (rows(LOOP).replace("0.5 ", "1e999 ", 1), "line 4 is not two numbers"),
        ("1 2 3\n" + rows(LOOP), "stands open"),
        (rows(LOOP).replace("0.5 ", "0,5 ", 1), "line 4 is not two numbers"),
        ("Tab\n9 9\n" + rows(UPPER[::-1]) + rows(LOWER), "counts 9 + 9 points, but 16 follow"),
        (rows((x, 0.0) for x, _ in LOOP), "encloses no area"),
        (rows([(1.0, z) for _, z in LOOP]), "no chord"),
        (rows((1 - x, z) for x, z in LOOP), "wrong end"),
        (rows(LOOP[:-1]), "not closed: line 14 ends 10.0%"),
        (rows([*UPPER, *UPPER[1:]]), "not closed"),
        (rows(LOOP[:11]), "not closed"),
        (rows([(x, z + (0.3 if i < 2 else 0)) for i, (x, z) in enumerate(LOOP)]), "stands open"),
        (rows((*LOOP[:2], *LOOP[5:11], *(LOOP[10:]))), "gap of"),
        (rows((*LOOP[:3], LOOP[1], *LOOP[3:])), "line 4 turns back"),
        (rows(UPPER[::-1]) + rows([(0.5, 0.1)]), "has 9 points"),
        (rows(UPPER[::-1] + [(0.95 + i / 200, 0.01) for i in range(9)]), "two blocks"),
    ],
)
def test_a_file_that_cannot_be_trusted_is_refused_with_its_line(text, said):
    """Half a section fitted as if it were whole gives an angle that looks right."""
    with pytest.raises(OutlineError, match=re.escape(said)):
        read_outline(text)


def test_every_bad_line_is_told_at_once_and_many_are_counted():
    """Told five at a time, a file with twelve took three runs."""
    text = rows(LOOP[:5]) + "x y\n" * 12 + rows(LOOP[5:])
    with pytest.raises(OutlineError) as refused:
        read_outline(text)
    assert [f"line {n} is not two numbers" for n in range(6, 18)] == list(refused.value.problems)
    assert refused.value.remedy == "delete the line or put # before it"
    mended = re.sub("^x y", "# x y", text, flags=re.MULTILINE)
    assert read_outline(mended) == LOOP
    with pytest.raises(OutlineError) as refused:
        read_outline(rows(LOOP[:5]) + "x y\n" * 500 + rows(LOOP[5:]))
    assert len(refused.value.problems) == 21
    assert refused.value.problems[-1] == "480 more lines are not two numbers"


def test_a_file_that_lies_outside_the_folder_is_refused(tmp_path):
    """A page that is served reads no file that its user did not lay beside the job."""
    inside, outside = tmp_path / "jobs", tmp_path / "elsewhere"
    for folder in (inside, outside):
        folder.mkdir()
        (folder / "tab.dat").write_text(rows(LOOP))
    (inside / "link.dat").symlink_to(outside / "tab.dat")
    assert read_outline_file(inside / "tab.dat", inside) == LOOP
    for place in (inside / "../elsewhere/tab.dat", inside / "link.dat", outside / "tab.dat"):
        assert read_outline_file(place) == LOOP
        with pytest.raises(OutlineError, match="outside the job's folder"):
            read_outline_file(place, inside)


def rounded(points_round: int, half: float = 0.002) -> list[tuple[float, float]]:
    """Return the section with a trailing edge rounded by a half circle, the tip its first point."""
    turn = [math.pi / 2 * k / points_round for k in range(points_round)]
    upper = [(1 - half + half * math.cos(t), half * math.sin(t)) for t in turn]
    sides = [(x, z) for x, z in LOOP if x < 0.95]
    return [*upper, *sides, *((x, -z) for x, z in reversed(upper))]


@pytest.mark.parametrize("points_round", [2, 3, 6])
def test_a_rounded_edge_keeps_its_last_point(points_round):
    """Without its tip on one side the chord line ends beside the edge, and both angles turn."""
    found = read_outline(rows(rounded(points_round)))
    assert found[0][0] == found[-1][0] == 1.0


def test_a_slanted_blunt_edge_is_opened_at_its_corners():
    """It is square to the mean line, not to the chord."""
    blunt = [(0.9992, 0.004), *LOOP[1:-1], (1.0008, -0.004)]
    assert read_outline(rows([(1.0, 0.0), *blunt, (1.0, 0.0)])) == tuple(blunt)


def test_files_that_are_no_text_are_refused(tmp_path):
    """A picture of the section is not its coordinates."""
    picture = tmp_path / "section.png"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n")
    for place in (picture, tmp_path, tmp_path / "no.dat", tmp_path / ("n" * 400)):
        with pytest.raises(OutlineError):
            read_outline_file(place)
    film = tmp_path / "film.dat"
    with film.open("wb") as stream:
        stream.truncate(2_000_001)
    with pytest.raises(OutlineError, match="too large"):
        read_outline_file(film)
