"""The real pages as a printer would see them: ink on 600 dots per inch."""

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from samplejobs import a_job, row_of_holes, skins

from jiggen.job.sections import Print
from jiggen.make import make_drawings
from jiggen.solve import solve

PIXEL = 25.4 / 600.0


def tick(ink: np.ndarray, x: float, y: float, along_y: bool) -> float:
    """Return the middle of a tick along its bar's direction, mm from the picture's edge.

    The window is cut beside the bar's own line, from the part of the tick that stands alone.
    """
    height = ink.shape[0]
    half, low, high = 1.1, 0.7, 1.9
    box = (
        (x + low, x + high, y - half, y + half)
        if along_y
        else (x - half, x + half, y + low, y + high)
    )
    columns = slice(round(box[0] / PIXEL), round(box[1] / PIXEL))
    rows = slice(height - round(box[3] / PIXEL), height - round(box[2] / PIXEL))
    weights = ink[rows, columns].sum(axis=1 if along_y else 0)
    first = rows.start if along_y else columns.start
    assert weights.sum() > 0
    return float((weights * (first + np.arange(len(weights)) + 0.5)).sum() / weights.sum()) * PIXEL


@pytest.mark.programs
@pytest.mark.parametrize(
    ("units", "paper", "bar"), [("mm", (210.0, 297.0), 100.0), ("in", (215.9, 279.4), 101.6)]
)
def test_both_bars_of_each_page_with_pieces_measure_true(
    tmp_path: Path, units: str, paper: tuple[float, float], bar: float
) -> None:
    """Within 5 um of 100 mm or 4 in, along x and along y."""
    tool = shutil.which("pdftocairo")
    assert tool, "this test needs pdftocairo: install poppler-utils"
    job = a_job(
        skins(6.5, 3.0), holes=row_of_holes(9), rear_thickness=0.8, depth=24.0, units=units,
        print=Print(paper=paper),
    )  # fmt: skip
    made = make_drawings(solve(job), formats=("pdf",))
    (tmp_path / "print.pdf").write_bytes(made.files["print.pdf"])
    subprocess.run(
        [tool, "-png", "-gray", "-r", "600", "print.pdf", "page"],
        cwd=tmp_path,
        check=True,
        timeout=120,
    )
    pictures = sorted(tmp_path.glob("page*.png"))
    measured = 0
    for picture, sheet in zip(pictures, made.drawn.pages, strict=True):
        bars = [size for size in sheet.dimensions if size.is_bar]
        assert bool(bars) == bool(sheet.placed)
        with Image.open(picture) as image:
            ink = 255.0 - np.asarray(image, dtype=float)
        for size in bars:
            along_y = size.name == "bar-y"
            # The picture is a whole number of dots high; its foot is less than a dot off.
            ends = [tick(ink, end.x, end.y, along_y) for end in (size.start, size.end)]
            assert abs(ends[1] - ends[0]) == pytest.approx(bar, abs=0.005), (picture.name, size)
            measured += 1
    assert measured >= 2
