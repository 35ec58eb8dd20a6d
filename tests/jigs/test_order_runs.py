"""The drilling order's runs are called after the hole that they end at."""

from samplejobs import a_job, row_of_holes, skins

from jiggen.drawing.shapes import Bounds, Text
from jiggen.jigs import order_page
from jiggen.jigs.order_page import strip_pages
from jiggen.jigs.strip_pieces import strip_pieces
from jiggen.job.sections import Strip
from jiggen.solve import solve


def test_each_run_is_headed_by_the_end_that_it_goes_toward():
    """Headed by the hole that it begins at, a run is drilled the wrong way."""
    job = a_job(skins(7.5, 3.0), holes=row_of_holes(20), depth=24.0, strip=Strip())
    solution = solve(job)
    pages = strip_pages(solution, strip_pieces(solution), Bounds(10.0, 10.0, 200.0, 287.0), {})
    said = [m.shape.text for page in pages for m in page if isinstance(m.shape, Text)]
    headed = sorted(text for text in said if text.startswith("toward hole"))
    assert headed == ["toward hole 1", "toward hole 20"]


def test_an_inch_job_has_its_places_in_inches():
    """A place in mm under a heading in inches is looked for 25 times too far along."""
    job = a_job(skins(7.5, 3.0), holes=row_of_holes(6), depth=24.0, strip=Strip(), units="in")
    solution = solve(job)
    pages = strip_pages(solution, strip_pieces(solution), Bounds(10.0, 10.0, 200.0, 287.0), {})
    said = {m.shape.text for page in pages for m in page if isinstance(m.shape, Text)}
    places = {f"{hole.at / 25.4:.4f}" for hole in solution.holes}
    assert places <= said


def test_each_line_has_the_hole_its_place_in_the_order_and_its_place_on_the_edge():
    """Hole and order exchanged, the page sends the drill to the wrong hole first."""
    solution = solve(a_job(skins(7.5, 3.0), holes=row_of_holes(7), depth=24.0, strip=Strip()))
    pages = strip_pages(solution, strip_pieces(solution), Bounds(10.0, 10.0, 200.0, 287.0), {})
    texts = [m.shape for page in pages for m in page if isinstance(m.shape, Text)]
    bold = {text.text for text in texts if text.bold and text.text.isdigit()}
    assert bold == {str(hole.number) for hole in solution.holes}
    # On one line stand, from the left: order, hole, place.
    for hole in solution.holes:
        place = next(t for t in texts if t.text == f"{hole.at:.2f}")
        beside = sorted(
            (
                t
                for t in texts
                if t.text.isdigit()
                and abs(t.at.y - place.at.y) < 0.3
                and place.at.x - 40.0 < t.at.x < place.at.x
            ),
            key=lambda t: t.at.x,
        )
        assert [t.text for t in beside[-2:]] == [str(hole.order), str(hole.number)]


def test_the_guides_are_looked_up_once_however_many_holes_there_are(monkeypatch):
    """Looked up for every line, the order page of 960 holes took most of a minute."""
    looked, real = [], order_page.stands
    monkeypatch.setattr(order_page, "stands", lambda solution: looked.append(1) or real(solution))
    for count in (7, 70):
        holes = row_of_holes(count)
        solution = solve(a_job(skins(7.5, 3.0), holes=holes, depth=24.0, strip=StripInput()))
        pieces = strip_pieces(solution)
        looked.clear()
        strip_pages(solution, pieces, Bounds(10.0, 10.0, 200.0, 287.0), {})
        assert len(looked) == 1
