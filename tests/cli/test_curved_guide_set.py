"""The guide set of a job with curved skins, as the terminal tells it."""

from samplejobs import a_job, bulging, included, row_of_holes

from jiggen.report import angles_text
from jiggen.report.terminal import Terminal
from jiggen.solve import solve


def test_the_guide_set_says_why_a_guide_on_a_curved_skin_bears_another_figure():
    """Measured against the fitted angle a good guide is filed until it is a bad one."""
    solution = solve(a_job(bulging(), rear_thickness=None, holes=row_of_holes(line=20.0)))
    assert solution.is_curved("a")
    text = " ".join(angles_text(solution, Terminal()).split())
    said = text.split("Guide set")[1].split(" Holes ")[0]
    assert "(a1, b1) a guide stands on two feet" in said
    assert "measure the guide against its own figure" in said
    flat = solve(a_job(included(10.0), holes=row_of_holes()))
    assert "two feet" not in angles_text(flat, Terminal())
