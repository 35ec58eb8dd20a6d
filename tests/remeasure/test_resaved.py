"""Files that general-purpose programs saved again: what survives, and what is caught.

mutool, qpdf and pdftocairo run here. What Inkscape 1.2.2 and LibreCAD 2.2.0 made of the single
guide is kept in `saved`, with the manifest of the set that it came from (Debian 12; written by
tests/drawingset.py, kerf 0.15).
"""

import shutil
import subprocess
from pathlib import Path

import pytest
from drawingset import write_set
from samplesheets import CORNER

from jiggen.remeasure.answer import Measurement
from jiggen.remeasure.measure import remeasure

SAVED = Path(__file__).parent / "saved"

#: All that is off when a PDF has only lost its viewer preferences.
NO_PREFERENCES = "the wish to print without scaling"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of drawings with kerf."""
    return write_set(tmp_path_factory.mktemp("made"))


def ran(folder: Path, *words: str) -> None:
    """Run a program in a folder."""
    subprocess.run(words, cwd=folder, check=True, capture_output=True, timeout=60)


def off(measured: Measurement) -> list[str]:
    """Return what is off."""
    return [f.text for f in measured.findings if f.severity == "off"]


def true_to(measured: Measurement, um: float) -> None:
    """Check that both angles are found, and everything lies within some micrometres."""
    angles = [angle for piece in measured.pieces for angle in piece.angles]
    assert angles
    for angle in angles:
        assert angle.nominal == CORNER
        assert angle.measured == pytest.approx(CORNER, abs=0.0015)
    assert (measured.worst_length_error or 0.0) < um / 1000
    assert max(piece.worst_shift or 0.0 for piece in measured.pieces) < um / 1000


@pytest.mark.parametrize(
    "words",
    [
        ("mutool", "clean", "print.pdf", "out.pdf"),
        ("mutool", "clean", "-s", "-z", "print.pdf", "out.pdf"),
        ("mutool", "clean", "-gggg", "-d", "print.pdf", "out.pdf"),
        ("qpdf", "--object-streams=generate", "print.pdf", "out.pdf"),
        ("qpdf", "--qdf", "print.pdf", "out.pdf"),
        ("qpdf", "--linearize", "print.pdf", "out.pdf"),
    ],
    ids=" ".join,
)
def test_a_pdf_that_was_cleaned_or_packed_is_still_true(
    made: Path, tmp_path: Path, words: tuple[str, ...]
) -> None:
    """Mutool and qpdf keep geometry, record and preferences: mailing a smaller PDF is safe."""
    shutil.copy(made / "print.pdf", tmp_path)
    ran(tmp_path, *words)
    measured = remeasure(tmp_path / "out.pdf")
    assert off(measured) == []
    assert measured.ok
    true_to(measured, 1.0)


def test_pdftocairo_shrinks_a_page_to_whole_points_and_is_caught(
    made: Path, tmp_path: Path
) -> None:
    """Found here: poppler 22.12 rounds the page up to whole points and fits the old one into it.

    595.28 points of A4 become 596: 100 mm come out as 99.88 mm, and nothing shows it.
    """
    shutil.copy(made / "manifest.json", tmp_path)
    ran(tmp_path, "pdftocairo", "-pdf", str(made / "print.pdf"), "print.pdf")
    measured = remeasure(tmp_path / "print.pdf")
    assert not measured.ok
    said = " | ".join(off(measured))
    assert NO_PREFERENCES in said
    assert "page 1" not in said
    assert "0.99878" in said
    bar = next(bar for bar in measured.pages[0].bars if bar.name == "bar-x")
    assert bar.measured == pytest.approx(100 * 595.2756 / 596, abs=0.003)
    assert [p.name for p in measured.pieces] == ["guide-a", "block", "guide-a-2", "block"]


def test_a_page_as_svg_is_found_in_the_manifest_by_its_shape(made: Path, tmp_path: Path) -> None:
    """Mutool's SVG has lost everything but the lines, and those are true."""
    shutil.copy(made / "manifest.json", tmp_path)
    ran(tmp_path, "mutool", "draw", "-o", "page-%d.svg", str(made / "print.pdf"), "1")
    measured = remeasure(tmp_path / "page-1.svg")
    assert off(measured) == []
    assert [p.name for p in measured.pieces] == ["guide-a", "block", "guide-a-2"]
    true_to(measured, 1.0)


def test_a_page_as_svg_by_pdftocairo_is_caught(made: Path, tmp_path: Path) -> None:
    """The same shrinking as in its PDF."""
    shutil.copy(made / "manifest.json", tmp_path)
    ran(tmp_path, "pdftocairo", "-svg", "-f", "1", "-l", "1", str(made / "print.pdf"), "page.svg")
    measured = remeasure(tmp_path / "page.svg")
    assert "0.99878" in " | ".join(off(measured))


def test_the_printing_library_keeps_lengths_to_micrometres(made: Path, tmp_path: Path) -> None:
    """Cairo writes a 256th of a point: 1.4 um, which no machine can follow and no check may flag.

    On a page of whole points, which pdftocairo leaves at its size.
    """
    shutil.copy(made / "manifest.json", tmp_path)
    whole = (made / "print.pdf").read_bytes()
    sizes = {
        b"595.2756 841.8898": b"596      842     ",
        b"340.1575 368.5039": b"341      369     ",
    }
    for old, new in sizes.items():
        assert old in whole
        whole = whole.replace(old, new)
    (tmp_path / "whole.pdf").write_bytes(whole)
    ran(tmp_path, "pdftocairo", "-pdf", "whole.pdf", "print.pdf")
    measured = remeasure(tmp_path / "print.pdf")
    assert [t for t in off(measured) if "the page is" not in t and NO_PREFERENCES not in t] == []
    true_to(measured, 4.0)


def test_inkscape_keeps_an_svg_true() -> None:
    """Its own SVG keeps unit, record and arcs."""
    measured = remeasure(SAVED / "inkscape.svg")
    assert measured.ok
    true_to(measured, 1.0)


def test_inkscape_makes_a_true_pdf_that_has_lost_its_preferences() -> None:
    """Lines are true to 3 um; the wish not to be scaled is gone."""
    measured = remeasure(SAVED / "inkscape.pdf")
    (text,) = off(measured)
    assert NO_PREFERENCES in text
    assert [p.name for p in measured.pieces] == ["guide-a"]
    true_to(measured, 4.0)


def test_inkscape_makes_a_dxf_that_is_caught() -> None:
    """R12 without a unit, arcs as chords, and the hole is not in it."""
    measured = remeasure(SAVED / "inkscape.dxf")
    said = " | ".join(off(measured))
    assert "states no unit" in said
    assert "guide-a: hole 1 of 1 is not there" in said
    assert "guide-a: its outline runs 0.06" in said
    assert measured.pieces[0].angles[0].measured == pytest.approx(CORNER, abs=1e-4)


def test_librecad_prints_on_its_own_grid_and_is_caught() -> None:
    """Its print of the DXF is drawn on a grid of 1200 to the inch, on A3."""
    measured = remeasure(SAVED / "librecad.pdf")
    said = " | ".join(off(measured))
    assert "the page is 420.16 x 297.04 mm" in said
    assert "guide-a: bar-40 of 40 mm measures 0.016 mm too long" in said
    assert [p.name for p in measured.pieces] == ["guide-a"]
