"""The PDF reader on pages that are made operator by operator."""

import io
import sys
from typing import Any

import pikepdf
import pytest
from commandline import bringing
from pikepdf import Array, Dictionary, Name

from jiggen.errors import DrawingFileError
from jiggen.remeasure.measure import remeasure
from jiggen.remeasure.pdf import read_pdf
from jiggen.remeasure.shapes import NOTE, OFF, FoundDrawing

PT = 25.4 / 72


def pdf(content: str, *, keep_scale: bool = True, form: Any = None, **page: Any) -> bytes:
    """Return a page of 200 x 100 points with a content stream."""
    with pikepdf.new() as document:
        document.add_blank_page(page_size=(200, 100))
        sheet = document.pages[0]
        sheet.obj["/Contents"] = document.make_stream(content.encode())
        for key, value in page.items():
            sheet.obj[f"/{key}"] = value
        if form is not None:
            stream = document.make_stream(form[0].encode())
            for key, value in form[1].items():
                stream[f"/{key}"] = value
            sheet.obj["/Resources"] = Dictionary(XObject=Dictionary(F=stream))
        if keep_scale:
            document.Root.ViewerPreferences = Dictionary(
                PrintScaling=Name("/None"),
                PickTrayByPDFSize=True,
            )
        out = io.BytesIO()
        document.save(out)
        return out.getvalue()


def lines(data: bytes) -> list[list[tuple[float, float]]]:
    """Return the corners of every contour in points."""
    return [
        [(round(x / PT, 6), round(y / PT, 6)) for x, y in contour.nodes]
        for contour in read_pdf(data).pages[0].contours
    ]


def texts(found: FoundDrawing, severity: str) -> str:
    """Return what is said with a severity."""
    return " | ".join(f.text for f in found.findings if f.severity == severity)


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        ("10 10 m 60 10 l S", [[(10, 10), (60, 10)]]),
        ("2 0 0 3 5 7 cm 10 10 m 60 10 l S", [[(25, 37), (125, 37)]]),
        ("q 2 0 0 2 0 0 cm Q 10 10 m 60 10 l S", [[(10, 10), (60, 10)]]),
        ("2 0 0 2 0 0 cm 1 0 0 1 5 5 cm 0 0 m 10 0 l S", [[(10, 10), (30, 10)]]),
        ("10 20 30 40 re S", [[(10, 20), (40, 20), (40, 60), (10, 60)]]),
        ("0 0 m 9 0 l 9 9 l s 1 1 m 2 2 l S", [[(0, 0), (9, 0), (9, 9)], [(1, 1), (2, 2)]]),
        ("0 0 m 9 0 l 0 0 200 100 re W n 1 1 m 2 2 l S", [[(1, 1), (2, 2)]]),
        ("0 0 m 9 0 l 9 9 l h 5 5 l S", [[(0, 0), (9, 0), (9, 9)], [(0, 0), (5, 5)]]),
        ("Q Q 1 1 m 2 2 l S", [[(1, 1), (2, 2)]]),
    ],
)
def test_operators_are_followed(content: str, expected: list[list[tuple[float, float]]]) -> None:
    """ISO 32000-1, 8.4 and 8.5 (from memory): the last cm is applied first."""
    assert lines(pdf(content)) == expected


def test_the_three_kinds_of_curve_are_one() -> None:
    """V repeats the point where the pen is, y the end."""
    c, v, y = (
        read_pdf(pdf(f"10 10 m {words} S")).pages[0].contours[0].walk.tolist()
        for words in ("10 10 40 60 70 10 c", "40 60 70 10 v", "40 60 70 10 70 10 c")
    )
    assert c == v
    same = read_pdf(pdf("10 10 m 40 60 70 10 y S")).pages[0].contours[0].walk.tolist()
    assert same == y


def test_a_form_is_followed_through_its_own_matrix() -> None:
    """Programs that put several pages on one sheet scale each as a form."""
    form = ("10 10 m 60 10 l S", {"Type": Name.XObject, "Subtype": Name.Form,
                                   "BBox": Array([0, 0, 200, 100]),
                                   "Matrix": Array([0.5, 0, 0, 0.5, 0, 0])})  # fmt: skip
    data = pdf("q 1 0 0 1 100 50 cm /F Do Q 1 1 m 2 2 l S", form=form)
    assert lines(data) == [[(105, 55), (130, 55)], [(1, 1), (2, 2)]]


def test_a_drawing_that_became_a_picture_is_off() -> None:
    """Pixels have no corners to measure, and a printer scales them as it likes."""
    image = ("\x00", {"Type": Name.XObject, "Subtype": Name.Image, "Width": 1, "Height": 1,
                       "ColorSpace": Name.DeviceGray, "BitsPerComponent": 8})  # fmt: skip
    assert "pixels" in texts(read_pdf(pdf("q 200 0 0 100 0 0 cm /F Do Q", form=image)), OFF)
    beside = read_pdf(pdf("0 0 m 9 9 l S /F Do", form=image))
    assert "picture" in texts(beside, NOTE)
    assert texts(beside, OFF) == ""


def test_the_page_begins_in_the_corner_of_its_box() -> None:
    """Tiled pages have boxes far from the origin."""
    data = pdf("110 60 m 160 60 l S", MediaBox=Array([100, 50, 300, 150]))
    assert lines(data) == [[(10, 10), (60, 10)]]


@pytest.mark.parametrize("turn", [90, 180, 270])
def test_a_turned_page_is_measured_as_it_is_drawn(turn: int) -> None:
    """ISO 32000-1, 7.7.3.3 (from memory): /Rotate turns what is shown, and no length of it."""
    data = pdf("10 10 m 60 10 l S", Rotate=turn)
    assert lines(data) == [[(10, 10), (60, 10)]]
    page = read_pdf(data).pages[0]
    assert (page.width, page.height) == pytest.approx((200 * PT, 100 * PT))
    assert f"turned by {turn} degrees" in texts(read_pdf(data), NOTE)


def test_a_page_unit_is_obeyed_and_is_off() -> None:
    """Half of the programs obey it, the others do not: the print has one of two sizes."""
    data = pdf("10 10 m 60 10 l S", UserUnit=2)
    assert lines(data) == [[(20, 20), (120, 20)]]
    assert "UserUnit" in texts(read_pdf(data), OFF)


@pytest.mark.parametrize("name", ["TrimBox", "CropBox", "ArtBox", "BleedBox"])
def test_a_box_inside_the_sheet_is_off(name: str) -> None:
    """Measured with a print filter: a 10 mm inset made 100 mm into 104.18 mm."""
    inside = read_pdf(pdf("1 1 m 2 2 l S", **{name: Array([5, 5, 195, 95])}))
    assert name in texts(inside, OFF)
    same = read_pdf(pdf("1 1 m 2 2 l S", **{name: Array([0, 0, 200, 100])}))
    assert texts(same, OFF) == ""


def test_lost_viewer_preferences_are_off() -> None:
    """Without them the print dialogue starts with "fit to page"."""
    assert "PrintScaling" in texts(read_pdf(pdf("1 1 m 2 2 l S", keep_scale=False)), OFF)
    assert read_pdf(pdf("1 1 m 2 2 l S")).findings == ()


def test_a_damaged_or_locked_file_is_refused() -> None:
    """A file that cannot be opened has not been found good."""
    with pytest.raises(DrawingFileError, match="not a PDF that can be read"):
        read_pdf(b"%PDF-1.7\nnothing else")
    locked = io.BytesIO()
    with pikepdf.open(io.BytesIO(pdf("1 1 m 2 2 l S"))) as document:
        document.save(locked, encryption=pikepdf.Encryption(owner="o", user="u"))
    with pytest.raises(DrawingFileError, match="password"):
        read_pdf(locked.getvalue())


def test_without_the_extra_one_line_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Any
) -> None:
    """Who has only the cutter's formats need not carry a PDF library."""
    path = tmp_path / "print.pdf"
    path.write_bytes(pdf("1 1 m 2 2 l S"))
    monkeypatch.setitem(sys.modules, "pikepdf", None)
    monkeypatch.delitem(sys.modules, "jiggen.remeasure.pdf")
    with pytest.raises(DrawingFileError) as said:
        remeasure(path)
    assert str(said.value).count("\n") == 0
    assert str(said.value).endswith(f": {bringing('proof')}")
