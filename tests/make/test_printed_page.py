"""The real pages as a printer would see them: ink on 600 dots per inch."""

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from jiggen.sheets import print_sheets
from PIL import Image
from samplejobs import a_job, row_of_holes, skins

from jiggen.jigs import build_pieces
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
@pytest.mark.parametrize("paper", [(210.0, 297.0), (215.9, 279.4)], ids=["a4", "letter"])
def test_all_four_bars_of_each_page_measure_true(
    tmp_path: Path, paper: tuple[float, float]
) -> None:
    """Within 5 um of 100 mm and 101.6 mm, along x and along y, on every page."""
    tool = shutil.which("pdftocairo")
    assert tool, "this test needs pdftocairo: install poppler-utils"
    job = a_job(
        skins(6.5, 3.0), holes=row_of_holes(9), rear_thickness=0.8, print=Print(paper=paper)
    )
    solution = solve(job)
    (tmp_path / "print.pdf").write_bytes(
        make_drawings(solution, formats=("pdf",)).files["print.pdf"]
    )
    subprocess.run(
        [tool, "-png", "-gray", "-r", "600", "print.pdf", "page"],
        cwd=tmp_path,
        check=True,
        timeout=120,
    )
    pictures = sorted(tmp_path.glob("page*.png"))
    # The same bars stand on every page; how long the cover is does not matter here.
    sheet = print_sheets(solution, build_pieces(solution), ())[0]
    assert len(pictures) >= 2
    for picture in pictures:
        with Image.open(picture) as image:
            ink = 255.0 - np.asarray(image, dtype=float)
        for bar in sheet.dimensions:
            if not bar.name.startswith("bar"):
                continue
            along_y = "y" in bar.name
            # The picture is a whole number of dots high; its foot is less than a dot off.
            measured = abs(
                tick(ink, bar.end.x, bar.end.y, along_y)
                - tick(ink, bar.start.x, bar.start.y, along_y)
            )
            assert measured == pytest.approx(bar.nominal, abs=0.005), (picture.name, bar.name)
