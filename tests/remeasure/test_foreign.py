"""Files that jiggen did not write, and files that are cut short: what can be said, and what not."""

import json
import re
from io import BytesIO
from pathlib import Path

import ezdxf
import pikepdf
import pytest
from commandline import FLAP, said
from drawingset import write_set

from jiggen.errors import DrawingFileError
from jiggen.remeasure.measure import read_drawing, remeasure

#: Two plates, one with two round holes in it: invented.
PLATES = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="80mm" viewBox="0 0 120 80">'
    '<g fill="none"><path d="M5 5h60v40h-60z"/><circle cx="20" cy="20" r="5"/>'
    '<circle cx="40" cy="20" r="2"/><path d="M80 10h30v25h-30z"/></g></svg>'
)


def rows_of(report: str) -> list[list[str]]:
    """Return the rows of a report's table of sizes."""
    lines = report.splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith("outline  "))
    assert lines[at].split("  ")[0] == "outline"
    return [line.rsplit(maxsplit=4) for line in lines[at + 2 :]]


def test_the_outlines_of_a_foreign_file_come_with_their_sizes(tmp_path: Path) -> None:
    """A bare list of names says nothing to someone who holds a calliper."""
    path = tmp_path / "plates.svg"
    path.write_text(PLATES, "utf-8")
    answer = said("remeasure", path)
    assert answer.status == 1
    assert rows_of(answer.out) == [
        ["piece 1", "1", "60.000", "40.000", "2"],
        ["piece 2", "1", "30.000", "25.000", "0"],
    ]
    words = " ".join(answer.out.split())
    assert words.startswith("Cannot tell")
    assert "nothing tells what it should measure" in words
    assert "put manifest.json beside it" in words
    found = json.loads(said("remeasure", path, "--json").out)["pieces"]
    assert [(p["width"], p["height"], p["inside"]) for p in found] == [
        (pytest.approx(60.0), pytest.approx(40.0), 2),
        (pytest.approx(30.0), pytest.approx(25.0), 0),
    ]


def test_a_foreign_outline_that_is_drawn_edge_by_edge_is_measured_too(tmp_path: Path) -> None:
    """Most drawing programs write four lines for a plate, and no outline."""
    drawing = ezdxf.new("R2000")
    drawing.header["$INSUNITS"] = 4
    space = drawing.modelspace()
    corners = [(0, 0), (60, 0), (60, 30), (0, 30)]
    for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
        space.add_line(start, end)
    space.add_circle((20, 15), 4)
    path = tmp_path / "plate.dxf"
    drawing.saveas(path)
    assert rows_of(said("remeasure", path).out) == [["piece 1", "1", "60.000", "30.000", "1"]]


def test_a_foreign_plate_that_fills_its_page_is_no_frame(tmp_path: Path) -> None:
    """A page cut down to its one piece is how most files for a cutter come."""
    path = tmp_path / "one.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
        '<path fill="none" d="M0 0h60v40h-60z"/></svg>'
    )
    assert rows_of(said("remeasure", path).out) == [["piece 1", "1", "60.000", "40.000", "0"]]


def test_a_frame_round_foreign_pieces_is_not_taken_for_one(tmp_path: Path) -> None:
    """The border of a sheet would swallow all that lies on it."""
    path = tmp_path / "framed.svg"
    frame = '<path d="M1 1h118v78h-118z"/>'
    path.write_text(PLATES.replace('<g fill="none">', f'<g fill="none">{frame}'), "utf-8")
    assert [row[0] for row in rows_of(said("remeasure", path).out)] == ["piece 1", "piece 2"]


def test_a_foreign_file_without_an_outline_says_that_there_is_none(tmp_path: Path) -> None:
    """No table and no word would look like a file that was not read."""
    path = tmp_path / "lines.svg"
    path.write_text(PLATES.replace("z", "").replace("circle", "g"), "utf-8")
    words = " ".join(said("remeasure", path).out.split())
    assert "no line in it, of 2, closes round 1 cm2 or more" in words


def test_our_own_pieces_keep_their_own_table(tmp_path: Path) -> None:
    """Their angle is what counts; the extent of an outline is for what is not known."""
    made = write_set(tmp_path)
    answer = said("remeasure", made / "cut-1.svg")
    assert "angle deg" in answer.out
    assert "lines inside" not in answer.out
    (first, *_) = json.loads(said("remeasure", made / "cut-1.svg", "--json").out)["pieces"]
    assert first["inside"] is None
    xs = [x for x, _ in first["outline"]]
    assert first["width"] == pytest.approx(max(xs) - min(xs))


@pytest.mark.parametrize("share", [0.0005, 0.3, 0.999])
def test_a_pdf_that_is_cut_short_is_said_to_be(share: float, tmp_path: Path) -> None:
    """A copy broken off on the way to a stick may lack the page that is printed next."""
    whole = (write_set(tmp_path / "made") / "print.pdf").read_bytes()
    path = tmp_path / "short.pdf"
    path.write_bytes(whole[: int(share * len(whole))])
    answer = said("remeasure", path)
    assert answer.status in (1, 2)
    words = " ".join((answer.out + answer.err).split())
    assert "cut short or damaged" in words
    assert "save or copy it again" in words
    assert "BytesIO" not in words
    assert "0x" not in words


@pytest.mark.parametrize("share", [0.3, 0.5, 0.9, 0.99])
@pytest.mark.parametrize("off", [0, 1, 2, 3])
def test_a_dxf_that_is_cut_short_is_said_to_be(share: float, off: int, tmp_path: Path) -> None:
    """Told bar by bar what is missing, nobody thinks of the stick that was pulled too early."""
    lines = (write_set(tmp_path / "made") / "cut-1.dxf").read_text("utf-8").splitlines(True)
    at = lines.index("ENTITIES\n")
    end = at + lines[at:].index("ENDSEC\n")
    path = tmp_path / "short.dxf"
    path.write_text("".join(lines[: at + int(share * (end - at)) + off]), "utf-8")
    answer = said("remeasure", path)
    assert (answer.status, len(answer.faults)) == (2, 1)
    assert "cut short or damaged; save or copy it again" in answer.err


def test_a_dxf_whose_drawing_is_whole_is_measured(tmp_path: Path) -> None:
    """What comes after the drawing, another program may leave out."""
    path = write_set(tmp_path) / "cut-1.dxf"
    text = path.read_text("utf-8")
    at = text.index("ENDSEC\n", text.index("ENTITIES\n"))
    path.write_text(text[: at + len("ENDSEC\n")], "utf-8")
    assert remeasure(path).ok


def test_a_whole_pdf_is_not_called_damaged(tmp_path: Path) -> None:
    """The warning must come from the damage, not from the file."""
    found = remeasure(write_set(tmp_path) / "print.pdf")
    assert found.ok
    assert not any("damaged" in finding.text for finding in found.findings)


def test_a_pdf_without_pages_is_refused_with_a_remedy() -> None:
    """Nothing to measure is not a page that was found empty."""
    stream = BytesIO()
    with pikepdf.new() as empty:
        empty.save(stream)
    with pytest.raises(DrawingFileError, match=r"no pages found.*save or copy it again"):
        read_drawing(stream.getvalue())


@pytest.mark.parametrize("name", ["cut-1.svg", "cut-1.dxf"])
@pytest.mark.parametrize("number", ["nan", "inf", "1e300", "99999999999"])
def test_a_place_that_is_no_number_is_never_true_to_size(
    name: str, number: str, tmp_path: Path
) -> None:
    """Nothing is further off than allowed from a place that is not there."""
    made = write_set(tmp_path)
    text = (made / name).read_text("utf-8")
    # Of a DXF what is drawn; its header and its viewports have numbers that nobody cuts.
    first, last = (text.find(f"\n{s}\n") % (len(text) + 1) for s in ("ENTITIES", "OBJECTS"))
    first = first if first < last else 0
    places = list(re.compile(r"-?\d+\.\d{3,}").finditer(text, first, last))
    assert len(places) > 20
    for match in places[:: max(1, len(places) // 6)]:
        (made / name).write_text(text[: match.start()] + number + text[match.end() :], "utf-8")
        answer = said("remeasure", made / name)
        assert answer.status in (1, 2), (number, match)


def test_a_pdf_whose_operators_lack_their_numbers_is_one_line_and_no_fault_of_ours() -> None:
    """A damaged stick must not send the user to the makers of the program."""
    stream = BytesIO()
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(300, 300))
        for drawn in (b"10 m 20 20 l S", b"1 0 0 1 cm", b"(a) 3 m", b"/X 2 3 4 re S"):
            page.Contents = pdf.make_stream(drawn)
            stream = BytesIO()
            pdf.save(stream)
            with pytest.raises(DrawingFileError, match="cut short or damaged; save or copy"):
                read_drawing(stream.getvalue())
        page.Contents = pdf.make_stream(b"10 10 m 20 20 l S")
        stream = BytesIO()
        pdf.save(stream)
    assert len(read_drawing(stream.getvalue()).pages[0].contours) == 1


def test_a_dxf_with_a_vertex_that_is_no_number_is_one_line(tmp_path: Path) -> None:
    """One broken byte of a download, and the cutter's file asks to be fetched again."""
    made = write_set(tmp_path)
    text = (made / "cut-1.dxf").read_text("utf-8")
    at = text.index("\nLWPOLYLINE")
    match = re.compile(r"\n 10\n.*\n 20\n.*\n 10\n(-?\d+\.\d)").search(text, at)
    assert match
    (made / "cut-1.dxf").write_text(text[: match.start(1)] + "4-" + text[match.start(1) :], "utf-8")
    answer = said("remeasure", made / "cut-1.dxf")
    assert (answer.status, len(answer.faults)) == (2, 1)
    assert "is a damaged DXF" in answer.err
    assert "copy it again" in answer.err


def test_a_page_of_words_is_no_drawing(tmp_path: Path) -> None:
    """A page to read was called true to size, though there is nothing on it to measure."""
    job, out = tmp_path / "flap.toml", tmp_path / "out"
    job.write_text(FLAP, "utf-8")
    assert said("make", job, "--only", "card", "--as", "pdf", "--out", out).status == 0
    answer = said("remeasure", out / "print.pdf")
    assert (answer.status, answer.out) == (2, "")
    assert f"{out / 'print.pdf'}: is no drawing" in answer.err
    assert "such as print.pdf" in answer.err


@pytest.mark.parametrize(
    ("name", "data", "remedy"),
    [
        ("notes.txt", b"A-B 78.0", "give the name of a PDF, SVG or DXF"),
        ("half.svg", PLATES.encode()[:-20], "save or copy it again"),
        ("page.svg", b"<html></html>", "give the drawing itself"),
        ("half.dxf", b"0\nSECTION\n2\nHEADER\n0\nENDSEC\n0\nEOF\n", "save or copy it again"),
        ("odd.dxf", b"0\nSECTION\nHEADER\n2\n", "save or copy it again"),
        ("gone.pdf", None, "give the name of a PDF, SVG or DXF"),
        ("", None, "give one of the drawings in it, such as print.pdf"),
    ],
)
def test_what_cannot_be_measured_is_refused_with_what_to_do(
    name: str, data: bytes | None, remedy: str, tmp_path: Path
) -> None:
    """A parser's complaint helps nobody who holds a broken download."""
    path = tmp_path / name
    if data is not None:
        path.write_bytes(data)
    answer = said("remeasure", path)
    assert (answer.status, answer.out) == (2, "")
    assert answer.err.startswith(f"{path}: ")
    assert f"; {remedy}" in answer.err
