import json
import math
import re

import pytest
import readback
from samplesheets import bare_piece, full_sheet, guide, one_piece

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.shapes import Anchor, Mark, Op, Path, Text, Weight
from jiggen.drawing.sheet import Placed, Sheet
from jiggen.errors import DrawingError
from jiggen.write.colours import COLOURS, Looks
from jiggen.write.cutting import cut_drawing
from jiggen.write.record import sheet_record
from jiggen.write.svg import svg_bytes as bytes_of


def svg_bytes(sheet: Sheet, looks: Looks | None = None) -> bytes:
    looks = looks or Looks()
    return bytes_of(cut_drawing(sheet, live_text=looks.live_text), looks)


def test_width_height_and_view_box_are_millimetres() -> None:
    """Without units some programs read 96 to the inch: 26.46 mm for 100 mm (measured)."""
    root = readback.svg_root(svg_bytes(full_sheet()))
    assert root.get("width") == "210mm"
    assert root.get("height") == "297mm"
    assert root.get("viewBox") == "0 0 210 297"


def test_the_four_groups_stand_in_their_order_even_when_empty() -> None:
    """A shop sets its machine by the order of the groups; one that comes and goes shifts them."""
    square = Path.closed([(0, 0), (9, 0), (9, 9), (0, 9)])
    for sheet in (full_sheet(), one_piece(bare_piece(square))):
        root = readback.svg_root(svg_bytes(sheet))
        assert [g.get("id") for g in root.findall("g")] == ["ENGRAVE", "SCORE", "CUT", "NOTE"]


def test_each_piece_has_its_group_and_its_outline_an_id() -> None:
    """Without them nobody can pick one guide out of a bed."""
    root = readback.svg_root(svg_bytes(full_sheet()))
    cut = root.findall("g")[2]
    # Holes first: a piece that is cut out already may lie askew under the next cut.
    assert [g.get("id") for g in cut.findall("g")] == ["CUT-inner", "CUT-outer"]
    for part, counts in zip(cut.findall("g"), ([1, 3, 1], [1, 1, 1]), strict=True):
        groups = part.findall("g")
        assert [(g.get("id"), g.get("data-piece")) for g in groups] == [
            (f"{part.get('id')}-guide-a", "guide-a"),
            (f"{part.get('id')}-block", "block"),
            (f"{part.get('id')}-guide-a-2", "guide-a"),
        ]
        assert [len(g) for g in groups] == counts
    assert [g[0].get("id") for g in cut[1]] == ["guide-a", "block", "guide-a-2"]
    ids = [element.get("id") for element in root.iter() if element.get("id")]
    assert len(ids) == len(set(ids))


def test_coordinates_are_absolute_and_without_exponents() -> None:
    """1000 relative steps of 0.4 that are rounded one by one end 400 short (measured)."""
    root = readback.svg_root(svg_bytes(full_sheet()))
    paths = [str(p.get("d")) for p in root.iter("path")]
    assert len(paths) > 10
    for data in paths:
        assert set(re.findall("[A-Za-z]", data)) <= set("MLAZ"), data
        assert all(re.fullmatch(r"-?\d+(\.\d{1,6})?|[MLAZ]", w) for w in data.split()), data


def test_arcs_stay_arcs_and_circles_stay_circles() -> None:
    """Chords would make a machine stutter and a check measure the chords."""
    root = readback.svg_root(svg_bytes(one_piece(guide())))
    outline = next(p for p in root.iter("path") if p.get("id") == "guide-a")
    # Two of them are below a third of a turn; the relief, 218 degrees, is written in two parts.
    assert str(outline.get("d")).count("A") == 4
    assert [c.get("r") for c in root.iter("circle")] == ["4.05"]


def test_there_is_no_fill_and_nothing_for_paper_only() -> None:
    """A filled area is hatched by a machine; a witness band would be burnt into the part."""
    data = svg_bytes(full_sheet())
    root = readback.svg_root(data)
    fills = {element.get("fill") for element in root.iter() if element.get("fill")}
    assert fills == {"none"}
    assert b"style" not in data
    # On either guide the axis line, and the sheet's own heading; no witness band.
    notes = next(g for g in root.findall("g") if g.get("id") == "NOTE")
    assert len(list(notes.iter("path"))) == 3


def test_lettering_is_strokes_and_says_what_it_reads() -> None:
    """A laser knows no fonts; text that stays text may come out in another face, or not at all."""
    root = readback.svg_root(svg_bytes(full_sheet()))
    assert list(root.iter("text")) == []
    letters = [p for p in root.iter("path") if p.get("data-text") == "84.7° (A) FORWARD"]
    assert len(letters) == 2
    # Strokes stay on the height of the capital: 2.5 mm, and the baseline is 49.1 mm up.
    ys = [297 - float(y) for _, y in re.findall(r"[ML] (\S+) (\S+)", str(letters[0].get("d")))]
    assert min(ys) > 49.1 - 1.0
    assert max(ys) < 49.1 + 2.5 + 1.0
    assert max(ys) - min(ys) > 2.4


def test_live_text_keeps_its_place_size_and_direction() -> None:
    """Who asks for text wants to edit it where it stands."""
    text = Text(Point(30.0, 40.0), "TE & <A>", 3.5, 90.0, Anchor.MIDDLE, Weight.BOLD)
    sheet = Sheet(name="s", width=100, height=80, marks=(Mark(shape=text, op=Op.ENGRAVE),))
    element = next(readback.svg_root(svg_bytes(sheet, Looks(live_text=True))).iter("text"))
    assert element.text == "TE & <A>"
    assert (element.get("x"), element.get("y")) == ("30", "40")
    assert element.get("transform") == "rotate(-90 30 40)"
    assert element.get("text-anchor") == "middle"
    assert element.get("font-weight") == "bold"
    assert float(str(element.get("font-size"))) == pytest.approx(3.5 / 0.729, abs=1e-6)


def test_title_description_and_role_are_there_for_a_screen_reader() -> None:
    """Half of a small shop may be looking at the drawing through one."""
    root = readback.svg_root(svg_bytes(full_sheet()))
    assert root.get("role") == "img"
    assert root[0].tag == "title"
    assert root[0].text == "Invented flap, sheet 1"
    assert "Pieces: GUIDE 1 skin A, BLOCK 1, GUIDE 1 skin A." in str(root[1].text)


def test_the_record_travels_in_the_metadata() -> None:
    """After another program has re-saved the file, only the record knows what it should be."""
    sheet = full_sheet()
    metadata = next(readback.svg_root(svg_bytes(sheet)).iter("metadata"))
    assert metadata.get("id") == "jiggen-record"
    record = json.loads(str(metadata.text))
    del record["drawn"]
    assert record == sheet_record(sheet)


@pytest.mark.parametrize("live", [True, False])
def test_the_record_counts_the_lines_of_each_layer_and_the_live_words(live: bool) -> None:
    """A score that another program drops is missed only by who knows that there was one."""
    root = readback.svg_root(svg_bytes(full_sheet(), Looks(live_text=live)))
    drawn = json.loads(str(next(root.iter("metadata")).text))["drawn"]
    found = {}
    for group in root.iter("g"):
        if group.get("id") in ("CUT", "SCORE", "ENGRAVE", "NOTE"):
            paths = "".join(path.get("d", "") for path in group.iter("path"))
            found[group.get("id")] = paths.count("M") + len(list(group.iter("circle")))
    assert drawn["lines"] == found
    texts = [str(element.text) for element in root.iter("text")]
    assert sorted(drawn.get("words", [])) == sorted(texts)
    assert bool(texts) == live


def test_colours_and_pen_width_are_the_jobs_to_set() -> None:
    """A service may ask for its own; the rest keep the project's."""
    looks = Looks(colours={"CUT": "#123456"}, line=0.254)
    groups = readback.svg_root(svg_bytes(full_sheet(), looks)).findall("g")
    assert [g.get("stroke") for g in groups] == [
        COLOURS["ENGRAVE"],
        COLOURS["SCORE"],
        "#123456",
        COLOURS["NOTE"],
    ]
    assert {g.get("stroke-width") for g in groups} == {"0.254"}


def test_doubled_cut_edges_are_refused_before_anything_is_written() -> None:
    """Two guides laid edge to edge would have their shared edge, the product, burnt twice."""
    square = bare_piece(Path.closed([(0, 0), (20, 0), (20, 20), (0, 20)]))
    sheet = Sheet(
        name="s",
        width=60,
        height=40,
        placed=(
            Placed(piece=square, place=Affine.move(5, 5)),
            Placed(piece=square, place=Affine.move(25, 5)),
        ),
    )
    with pytest.raises(DrawingError, match="lie on one another"):
        svg_bytes(sheet)


@pytest.mark.parametrize("turn", [0.0, 17.0, 90.0, 180.0, 271.5])
@pytest.mark.parametrize("bulge", [0.05, 0.999, 1.0, 1.001, 4.0, -0.05, -1.0, -4.0])
def test_every_kind_of_arc_comes_back_on_its_own_side(bulge: float, turn: float) -> None:
    """Y points down in SVG: a sweep flag that is not turned over bends the arc the other way."""
    outline = Path.closed([(0.0, 0.0), (11.0, 3.0, bulge), (13.0, 12.0), (-30.0, 60.0)])
    sheet = Sheet(
        name="s",
        width=200,
        height=210,
        placed=(Placed(piece=bare_piece(outline), place=Affine.move(100, 90) @ Affine.turn(turn)),),
    )
    walk = readback.read_svg(svg_bytes(sheet))["bare"]
    expected = readback.model_walk(sheet.placed[0].on_sheet.outline)
    assert readback.worst_distance(expected, walk) < readback.MICROMETRE
    assert math.isfinite(readback.worst_distance(expected, walk))
