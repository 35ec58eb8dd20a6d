"""How much of the part's end a trim template shows: whole holes, with white beyond them."""

import pytest

from jiggen.jigs.trim_end import ARM, CLEAR, COLUMN, EndHole, TrimEnd


def end(*rivets: EndHole, lightening: tuple[EndHole, ...] = ()) -> TrimEnd:
    return TrimEnd(rivets=rivets, lightening=lightening, depth=None, fairing=0.0, waste=0.0)


def rivet(inward: float, forward: float = 9.0, radius: float = 1.5) -> EndHole:
    return EndHole(inward=inward, forward=forward, radius=radius, number=1)


@pytest.mark.parametrize("radius", [1.25, 2.4, 4.0])
def test_a_hole_reaches_inward_over_its_far_rim_and_its_cross(radius):
    """Short of its far rim, a hole at the template's end is drawn in half, and takes no pin."""
    assert rivet(40.0, radius=radius).reach == pytest.approx(40.0 + radius + ARM + 0.5)


def test_a_hole_at_the_far_end_is_shown_whole_or_not_at_all():
    """Half a hole leads a drill into the edge of the template."""
    for tenth in range(980, 1120):
        one = end(rivet(20.0), rivet(tenth / 10.0, radius=2.4))
        last, clear = tenth / 10.0 + 2.4, one.length - COLUMN
        shown = one.rivets[1] in one.shown()
        assert shown == (last + ARM + 0.5 <= clear)
        assert shown or last - 2 * 2.4 >= clear


def test_the_template_is_as_deep_as_its_most_forward_hole():
    """Counted from how far inward the holes lie, the template ends below a hole or is all white."""
    holes = (rivet(15.0, forward=31.0), rivet(41.0, forward=12.0))
    assert end(*holes).work_top == pytest.approx(31.0 + 1.5 + ARM + CLEAR)
    big = EndHole(inward=60.0, forward=44.0, radius=10.0)
    assert end(*holes, lightening=(big,)).work_top == pytest.approx(44.0 + 10.0 + ARM + CLEAR)
