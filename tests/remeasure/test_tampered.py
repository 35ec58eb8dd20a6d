"""Files that somebody or some program changed: each change must be found and called by its name."""

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest
from drawingset import write_set

from jiggen.remeasure.answer import Measurement
from jiggen.remeasure.measure import remeasure

Change = Callable[[str], str]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of drawings with kerf."""
    return write_set(tmp_path_factory.mktemp("made"))


def changed(made: Path, tmp_path: Path, name: str, change: Change, *, alone: bool) -> Measurement:
    """Return the measurement of a file after a change of its text."""
    if not alone:
        shutil.copy(made / "manifest.json", tmp_path)
    before = (made / name).read_bytes().decode("latin-1")
    after = change(before)
    assert after != before
    path = tmp_path / Path(name).name
    path.write_bytes(after.encode("latin-1"))
    return remeasure(path)


def said(measured: Measurement) -> str:
    """Return all that is off in one line."""
    assert not measured.ok
    return " | ".join(f.text for f in measured.findings if f.severity == "off")


def replaced(old: str, new: str, count: int = 0) -> Change:
    """Return a change by a pattern; it must bite."""
    return lambda text: re.sub(old, new, text, count=count)


def outline_of(name: str) -> str:
    """Return a pattern up to and into the path data of an outline's SVG element."""
    return rf'(<path d=")([^"]*)(" id="{name}" />)'


def in_outline(name: str, change: Change) -> Change:
    """Return a change of an outline's path data."""
    return lambda text: re.sub(
        outline_of(name), lambda m: m[1] + change(m[2]) + m[3], text, count=1
    )


def group(transform: str) -> Change:
    """Return a change that wraps all of an SVG's layers into a transformed group."""
    first = '<g fill="none" id="ENGRAVE"'
    return lambda text: text.replace(first, f'<g transform="{transform}">{first}', 1).replace(
        "</svg>", "</g></svg>"
    )


def _a_bit_more(number: re.Match[str]) -> str:
    return f"{float(number[0]) + 0.01:.6f}"


both = pytest.mark.parametrize("alone", [True, False], ids=["alone", "with manifest"])


@both
@pytest.mark.parametrize(
    ("change", "words"),
    [
        # The long shallow arc, its sweep flag turned; the relief, turned; a small arc made a chord.
        (in_outline("guide-a", replaced(r"0 0 0 ", "0 0 1 ", 1)), "guide-a: its outline runs"),
        (in_outline("block", replaced(r"0 0 0 ", "0 0 1 ", 1)), "block: its outline runs"),
        (
            in_outline("guide-a", replaced(r"A (?:[\d.]+ ){5}([\d.]+ [\d.]+) Z$", r"L \1 Z")),
            "guide-a: its outline runs",
        ),
        # One corner by 0.01 mm.
        (
            in_outline("guide-a", lambda d: re.sub(r"(?<=L )[\d.]+", _a_bit_more, d, count=1)),
            "guide-a: its outline runs 0.010 mm off",
        ),
        # A cut into the piece and back again: every old corner is still in its place.
        (
            in_outline("guide-a", replaced(r"( L [\d.]+ [\d.]+)", r"\1 L 60 230\1", 1)),
            "guide-a: its outline runs",
        ),
        # x and y exchanged in one outline only.
        (
            in_outline("block", replaced(r"([\d.]{3,}) ([\d.]{3,})(?= |$)(?! 0 0 [01])", r"\2 \1")),
            "block: its outline",
        ),
        # A tick of a bar by 0.02 mm, and a bar gone.
        (lambda t: _shift_tick(t, 0.02), "guide-a: bar-40 of 40 mm measures 0.0"),
        (lambda t: _drop_tick(t), "guide-a: bar-40 of 40 mm is not there"),
        (replaced(r'<circle[^>]*r="3\.975"[^>]*/>', "", 1), "hole 1 of 1 is not there"),
        (replaced(r'(<circle[^>]*r=")3\.975', r"\g<1>3.985", 1), "hole 1 of 1 runs 0.010 mm off"),
        (replaced(outline_of("block"), ""), "block: its outline is not there"),
        (replaced(outline_of("block"), r"\1\2\3\1\2\3"), "CUT holds 9 lines, where"),
    ],
)  # fmt: skip
def test_a_change_in_one_piece_is_found(
    made: Path, tmp_path: Path, change: Change, words: str, alone: bool
) -> None:
    """Each of these cuts a wrong piece from a file that opens without complaint."""
    measured = changed(made, tmp_path, "cut-1.svg", change, alone=alone)
    assert words in said(measured)


def _shift_tick(text: str, by: float) -> str:
    """Move the first tick of the first guide's bar along x: a closed line of four corners."""
    return _tick(
        text,
        lambda m: re.sub(r"(?<=[ML] )[\d.]+", lambda x: f"{float(x[0]) + by:.6f}", m[0]),
    )


def _drop_tick(text: str) -> str:
    return _tick(text, lambda _: "")


def _tick(text: str, change: Callable[[re.Match[str]], str]) -> str:
    at = text.index('id="ENGRAVE-guide-a"')
    pattern = r'<path d="M [\d. ]+( L [\d. ]+){3} Z" />'
    return text[:at] + re.sub(pattern, change, text[at:], count=1)


@both
@pytest.mark.parametrize(
    ("change", "words"),
    [
        (group("scale(0.264583333333)"), "0.264583 of true size"),
        (group("scale(0.264583333333)"), "mm were taken as pixels (96 to the inch)"),
        (group("scale(3.7795275591)"), "pixels (96 to the inch) were taken as mm"),
        (group("scale(0.9375)"), "pixels (90 to the inch) were taken as pixels (96 to the inch)"),
        (group("translate(3 4) scale(0.97)"), "0.97 of true size"),
        (group("translate(3 4) scale(0.97)"), "fitted to the printable part of a sheet"),
        (group("scale(1.0002)"), "1.0002 of true size"),
        (group("scale(0.985 1.012)"), "0.985 of true size along x and 1.012 along y"),
        (group("translate(3 4) scale(25.4)"), "mm were taken as inches"),
        (replaced(r'(height|width)="(\d+)mm"', r'\1="\2"'), "0.264583 of true size"),
        (replaced(r'(height|width)="(\d+)mm"', r'\1="\2"'), "has no unit"),
        (replaced(r' (height|width)="\d+mm"', ""), "states no size"),
        (replaced(r'(height|width)="(\d+)mm"', r'\1="\2cm"'), "mm were taken as cm"),
        (replaced(r'viewBox="0 0 210 297"', 'viewBox="0 0 200 300"'), "of true size"),
    ],
)
def test_a_change_of_the_whole_sheet_is_found_and_named(
    made: Path, tmp_path: Path, change: Change, words: str, alone: bool
) -> None:
    """Who knows the factor and its cause mends the export; who sees "wrong" tries again."""
    assert words in said(changed(made, tmp_path, "cut-1.svg", change, alone=alone))


@both
def test_without_its_record_a_changed_sheet_is_found_by_the_manifest(
    made: Path, tmp_path: Path, alone: bool
) -> None:
    """Most programs throw the record away: then names and sizes come from beside the file."""

    def change(text: str) -> str:
        text = re.sub(r"<metadata.*?</metadata>", "", text, flags=re.DOTALL)
        return group("translate(20 10) scale(0.9)")(text)

    measured = changed(made, tmp_path, "cut-1.svg", change, alone=alone)
    if alone:
        assert not measured.known
        assert "cannot be judged" in said(measured)
        assert [p.name for p in measured.pieces] == ["piece 1", "piece 2", "piece 3"]
    else:
        assert "0.9 of true size" in said(measured)
        assert [p.name for p in measured.pieces] == ["guide-a", "block", "guide-a-2"]
        # 100 mm at nine tenths: what is said of the whole sheet is also what its bars measure.
        assert measured.worst_length_error == pytest.approx(10.0, abs=1e-4)


def test_moving_does_no_harm(made: Path, tmp_path: Path) -> None:
    """A program that puts several sheets on one moves each as a whole."""
    measured = changed(made, tmp_path, "cut-1.svg", group("translate(3 -4)"), alone=True)
    assert measured.ok
    assert any("moved by (3.00, 4.00) mm" in f.text for f in measured.findings)
    assert (measured.worst_length_error or 0.0) < 1e-5


@both
@pytest.mark.parametrize(
    ("transform", "spans"),
    [
        ("translate(210 0) scale(-1 1)", "143.22 x 255.12"),  # mirrored
        ("translate(0 297) scale(1 -1)", "143.22 x 255.12"),  # y counted the other way
        ("rotate(90 105 148.5)", "255.12 x 143.22"),
        ("rotate(180 105 148.5)", "143.22 x 255.12"),
        ("matrix(0 -1 -1 0 297 210)", "255.12 x 143.22"),  # x and y exchanged
        ("skewX(3)", "151.56 x 255.12"),
    ],
)
def test_what_lies_elsewhere_cannot_be_judged_and_is_told_what_it_spans(
    made: Path, tmp_path: Path, transform: str, spans: str, alone: bool
) -> None:
    """A mirror image that passes is a guide for the other skin; one that is guessed at may pass."""
    measured = changed(made, tmp_path, "cut-1.svg", group(transform), alone=alone)
    assert not measured.known
    text = said(measured)
    assert "turned, mirrored, sheared, changed, or another drawing" in text
    assert f"its lines span {spans} mm, where they should span 143.22 x 255.12 mm" in text
    # What is there is measured all the same.
    assert [p.name for p in measured.pieces] == ["piece 1", "piece 2", "piece 3"]


@both
@pytest.mark.parametrize(
    ("change", "words"),
    [
        (replaced(r"(\$INSUNITS\n *70\n *)4", r"\g<1>1"), "the file says inches"),
        (replaced(r"(\$INSUNITS\n *70\n *)4", r"\g<1>6"), "the file says metres"),
        (replaced(r"(\$INSUNITS\n *70\n *)4", r"\g<1>0"), "states no unit"),
        (replaced(r" +9\n\$INSUNITS\n *70\n *4\n", ""), "states no unit"),
        (lambda t: _radii(_places(t, lambda x, y: (x / 25.4, y / 25.4))), "0.0393701 of true size"),
        (lambda t: _places(t, lambda x, y: (-x, y)), "mirrored, sheared, changed"),
        (lambda t: _places(t, lambda x, y: (y, x)), "mirrored, sheared, changed"),
    ],
)
def test_a_dxf_in_another_unit_or_frame_is_found(
    made: Path, tmp_path: Path, change: Change, words: str, alone: bool
) -> None:
    """The number 100 is 100 mm, 2.54 m or 100 m, as one variable in the header says."""
    text = said(changed(made, tmp_path, "cut-1.dxf", change, alone=alone))
    assert words in text


def _places(text: str, change: Callable[[float, float], tuple[float, float]]) -> str:
    """Change every place in the entities of a DXF; radii and bulges stay as they are."""
    head, mark, body = text.partition("ENTITIES\n")
    body, end, tail = body.partition("ENDSEC")

    def moved(m: re.Match[str]) -> str:
        x, y = change(float(m[1]), float(m[2]))
        return f" 10\n{x:.9f}\n 20\n{y:.9f}\n"

    return head + mark + re.sub(r" 10\n(.*)\n 20\n(.*)\n", moved, body) + end + tail


def _radii(text: str) -> str:
    """Make the radii in the entities of a DXF inches."""
    head, mark, body = text.partition("ENTITIES\n")
    return head + mark + re.sub(r"(?<=\n 40\n)[\d.]+", lambda m: str(float(m[0]) / 25.4), body)


def test_holes_that_kept_their_size_when_all_else_was_halved_are_found(
    made: Path, tmp_path: Path
) -> None:
    """A program that scales a drawing and forgets its circles leaves bores for another bushing."""

    def half(text: str) -> str:
        return _places(text, lambda x, y: (x / 2, y / 2))

    text = said(changed(made, tmp_path, "cut-1.dxf", half, alone=True))
    assert "0.5 of true size" in text
    assert "guide-a: hole 1 of 1 is not there" in text


def _drawn(old: str, new: str) -> Change:
    """Return a change of the first such place among a DXF's entities."""

    def change(text: str) -> str:
        at = text.index("ENTITIES\n")
        return text[:at] + re.sub(old, new, text[at:], count=1)

    return change


@both
@pytest.mark.parametrize(
    ("change", "words"),
    [
        # The guide's first and its last arc: turned the other way, and made a chord.
        (_drawn(r"(\n 42\n)0\.(\d)", r"\1-0.\2"), "its outline runs"),
        (_drawn(r"\n 42\n-1\.[1-9][^\n]*", "\n 42\n0"), "its outline runs"),
        (_drawn(r"(\n 40\n)3\.975", r"\g<1>4.075"), "hole 1 of 1 runs 0.100 mm off"),
    ],
)
def test_a_changed_arc_in_a_dxf_is_found(
    made: Path, tmp_path: Path, change: Change, words: str, alone: bool
) -> None:
    """A relief with its bulge turned becomes a bump, right where the guide must seat."""
    assert words in said(changed(made, tmp_path, "cut-1.dxf", change, alone=alone))


Tampering = Callable[[pikepdf.Pdf], None]


def _scaled(pdf: pikepdf.Pdf) -> None:
    for page in pdf.pages:
        page.contents_add(b"q 0.97 0 0 0.97 9 12 cm", prepend=True)
        page.contents_add(b"Q")


def _user_unit(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj["/UserUnit"] = 2


def _no_preferences(pdf: pikepdf.Pdf) -> None:
    del pdf.Root["/ViewerPreferences"]


def _trim(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj["/TrimBox"] = pikepdf.Array([28, 28, 560, 800])


def _letter(pdf: pikepdf.Pdf) -> None:
    pdf.pages[1].mediabox = pikepdf.Array([0, 0, 612, 792])


def _one_page_less(pdf: pikepdf.Pdf) -> None:
    del pdf.pages[0]


@pytest.mark.parametrize(
    ("tamper", "words"),
    [
        (_scaled, ("pages 1, 2: everything is drawn at 0.97 of", "fitted to the printable")),
        (_user_unit, ("UserUnit", "at 2 of true size")),
        (_no_preferences, ("PrintScaling",)),
        (_trim, ("/TrimBox lies up to",)),
        (_letter, ("the page is 215.90 x 279.40 mm, where it was 120.00 x 130.00 mm",)),
        (_one_page_less, ("it has 1 page, where it had 2: missing is 1",)),
    ],
)
@both
def test_a_change_of_the_pdf_is_found_and_named(
    made: Path, tmp_path: Path, tamper: Tampering, words: tuple[str, ...], alone: bool
) -> None:
    """The print dialogue, not the drawing, decides the size of the print."""
    if not alone:
        shutil.copy(made / "manifest.json", tmp_path)
    with pikepdf.open(made / "print.pdf") as pdf:
        tamper(pdf)
        pdf.save(tmp_path / "print.pdf")
    text = said(remeasure(tmp_path / "print.pdf"))
    for word in words:
        assert word in text


def test_a_turned_page_does_no_harm(made: Path, tmp_path: Path) -> None:
    """A viewer's "rotate" button changes nothing of a size."""
    with pikepdf.open(made / "print.pdf") as pdf:
        pdf.pages[0].rotate(90, relative=True)
        pdf.save(tmp_path / "print.pdf")
    measured = remeasure(tmp_path / "print.pdf")
    assert measured.ok
    assert any("turned by 90 degrees, which does no harm" in f.text for f in measured.findings)


def test_a_sheet_that_shows_something_else_is_not_called_good(made: Path, tmp_path: Path) -> None:
    """A record that was copied into another drawing vouches for nothing."""
    record = re.search(r"<metadata.*?</metadata>", (made / "cut-1.svg").read_text(), re.DOTALL)
    assert record is not None
    path = tmp_path / "other.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="210mm" height="297mm" '
        f'viewBox="0 0 210 297">{record[0]}<path d="M9 9H60V70H9Z"/></svg>'
    )
    assert "or another drawing; its lines span 51.00 x 61.00 mm" in said(remeasure(path))


@both
@pytest.mark.parametrize(
    ("transform", "words"),
    [
        ("scale(1.01)", "block: its outline runs 2."),
        ("skewX(1)", "guide-a: its outline is not there"),
        ("translate(3 0)", "block: its outline runs 3.000 mm off"),
    ],
)
def test_outlines_that_were_changed_alone_are_not_blamed_on_page_and_bars(
    made: Path, tmp_path: Path, transform: str, words: str, alone: bool
) -> None:
    """Bars that are true were called missing, and a paper accused that a laser never saw."""
    first = '<g fill="none" id="CUT"'

    def cut_alone(text: str) -> str:
        return text.replace(first, f'<g transform="{transform}" fill="none" id="CUT"', 1)

    measured = changed(made, tmp_path, "cut-1.svg", cut_alone, alone=alone)
    text = said(measured)
    assert words in text
    assert "bar" not in text
    assert "another paper" not in text
    assert all(bar.error == pytest.approx(0, abs=1e-6) for p in measured.pieces for bar in p.bars)
