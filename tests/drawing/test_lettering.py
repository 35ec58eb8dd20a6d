"""Engraved lettering: legible signs, true height, and a width that holds in every format."""

import struct
from functools import cache
from itertools import pairwise
from pathlib import Path as FilePath

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase.ttfonts import TTFontFile
from shapely_pieces import holds

from jiggen.drawing import fonts
from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.fonts import CUTS, advances
from jiggen.drawing.fonts import strokes as stroke_font
from jiggen.drawing.lettering import (
    STROKE_SCALE,
    shortened,
    strokes,
    text_corners,
    text_width,
    wrap,
)
from jiggen.drawing.shapes import Anchor, Bounds, Path, Text, Weight

EVERY_SIGN = "".join((*stroke_font.HERSHEY, *stroke_font.OWN)) + "äöüÄÖÜéèêåÅñÑïîíčŠşÇq\u0301"
FONTS = FilePath(fonts.__file__).parent
#: Heights of a capital.
LOOSE = 0.06


def ink(paths: tuple[Path, ...]) -> Bounds:
    return Bounds.union(p.bounds() for p in paths)


def stroke_width(text: str, height: float) -> float:
    """Return the advances of the published glyphs of a text, mm."""
    glyphs = stroke_font.HERSHEY | stroke_font.OWN
    return height * STROKE_SCALE / stroke_font.CAP * sum(glyphs[char][0] for char in text)


def drawn(text: str, height: float = 21.0) -> list[list[tuple[float, float]]]:
    """Return the strokes in the units that they were published in."""
    return [
        [
            (round(x / STROKE_SCALE, 6), round(y, 6))
            for x, y in (path.edges[0].start, *(e.end for e in path.edges))
        ]
        for path in strokes(Text(at=Point(0, 0), text=text, height=height))
    ]


@pytest.mark.parametrize("height", [1.5, 3.5, 4.801])
@pytest.mark.parametrize("capital", "EHITX")
def test_a_capital_is_exactly_as_high_as_asked_and_stands_on_the_baseline(capital, height):
    """The font's own scale makes capitals 0.75 of the height: small lettering burns shut."""
    box = ink(strokes(Text(at=Point(7, 11), text=capital, height=height)))
    assert box.bottom == pytest.approx(11, abs=1e-12)
    assert box.height == pytest.approx(height, abs=1e-12)


def test_the_letter_h_is_the_published_one():
    """A slip in the conversion would engrave nonsense.

    Source: letter H of the Simplex Roman rows as Hershey-Fonts 2.1.0 carries them (READ): stems
    from 21 to 0 at x = 4 and 18, the bar at 11.
    """
    assert drawn("H") == [[(4, 21), (4, 0)], [(18, 21), (18, 0)], [(4, 11), (18, 11)]]


@pytest.mark.parametrize("char", sorted(set(EVERY_SIGN) - {" ", "\u0301"}))
def test_every_sign_leaves_ink_that_a_pen_can_follow(char):
    """A dot shorter than the beam is wide does not show; an edge without length breaks files."""
    paths = strokes(Text(at=Point(0, 0), text=char, height=1.0))
    assert paths
    for path in paths:
        assert path.bounds().width + path.bounds().height >= 0.05


def test_a_text_turns_about_its_anchor_and_the_anchor_chooses_the_end():
    """A label that swings away from its arrow points at the wrong edge."""
    for anchor, share in ((Anchor.START, 0.0), (Anchor.MIDDLE, 0.5), (Anchor.END, 1.0)):
        text = Text(at=Point(3, 4), text="TE 84", height=5, anchor=anchor)
        level = strokes(text)
        shifted = strokes(Text(at=Point(3, 4), text="TE 84", height=5))
        back = Affine.move(-share * stroke_width("TE 84", 5), 0)
        for here, there in zip(level, shifted, strict=True):
            assert here.edges[0].start == pytest.approx(back.point(there.edges[0].start))
        turned = strokes(text.moved(Affine.turn(30)))
        for here, there in zip(level, turned, strict=True):
            assert there.edges[-1].end == pytest.approx(
                Affine.turn(30).point(here.edges[-1].end), abs=1e-9
            )


@pytest.mark.parametrize(
    ("text", "same"),
    [
        ("Straße", "Strasse"),
        ("1½ in", "1 1/2 in"),
        ("½ in", "1/2 in"),
        ("0.098”", '0.098"'),
        ("a\u2212b", "a-b"),
        ("漢", "?"),
        ("10²", "10?"),
        ("a ≠ b", "a ? b"),
        ("é", "e\u0301"),
        ("ọ", "o"),
        ("\u0301", "?"),
        ("a\tb", "a?b"),
    ],
)
def test_what_the_strokes_lack_is_spelled_out_and_never_changes_its_meaning(text, same):
    """1½ engraved as 11/2, or "not equal" as "equal", spoils a part; a dropped sign does too."""
    assert drawn(text) == drawn(same)


def test_accents_are_drawn_and_an_i_loses_its_dot():
    """Names on a piece are the user's own."""
    assert len(drawn("Ä")) == len(drawn("A")) + 2
    assert len(drawn("é")) == len(drawn("e")) + 1
    assert len(drawn("î")) == len(drawn("i"))
    assert max(y for line in drawn("Å") for _, y in line) <= 1.4 * 21


@given(
    st.text(st.sampled_from(EVERY_SIGN), min_size=1, max_size=12),
    st.floats(1, 20),
    st.floats(-360, 360),
    st.sampled_from(list(Anchor)),
)
def test_the_corners_hold_all_the_strokes(text, height, turn, anchor):
    """Lettering outside its own box runs over the cut line or its neighbour."""
    line = Text(at=Point(50, -20), text=text, height=height, turn=turn, anchor=anchor)
    place = Affine.turn(-turn) @ Affine.move(-50, 20)
    box = Bounds.around(place.point(p) for p in text_corners(line))
    for path in strokes(line):
        assert holds(box, path.moved(place).bounds())


@cache
def glyph_boxes(cut: str) -> dict[str, tuple[float, ...]]:
    """Each character's advance and ink (left, bottom, right, top) in caps, from the font file.

    Source of the layout: the OpenType specification, tables loca, glyf, hhea, hmtx (from memory);
    the file is opened, and its characters are found, by reportlab.
    """
    font = TTFontFile(str(FONTS / f"BarlowSemiCondensed-{cut}.ttf"))
    glyf, loca = font.get_table("glyf"), font.get_table("loca")
    long = struct.unpack(">h", font.get_table("head")[50:52])[0]
    count = len(loca) // (4 if long else 2)
    offsets = struct.unpack(f">{count}{'L' if long else 'H'}", loca)
    hmtx, metrics = font.get_table("hmtx"), struct.unpack(">H", font.get_table("hhea")[34:36])[0]
    # sCapHeight of OS/2 version 2 and later.
    cap = struct.unpack(">h", font.get_table("OS/2")[88:90])[0]
    boxes = {}
    for code, glyph in font.charToGlyph.items():
        at, end = (o * (1 if long else 2) for o in offsets[glyph : glyph + 2])
        box = struct.unpack(">4h", glyf[at + 2 : at + 10]) if end > at else (0, 0, 0, 0)
        row = 4 * min(glyph, metrics - 1)
        advance = struct.unpack(">H", hmtx[row : row + 2])[0]
        boxes[chr(code)] = tuple(v / cap for v in (advance, *box))
    return boxes


@pytest.mark.parametrize("weight", list(Weight))
def test_the_corners_hold_the_print_face_too_and_its_widths_are_the_fonts(weight: Weight) -> None:
    """Print text placed by a wrong width crosses a check edge.

    A degree sign and the dots of an accent may stand out of the box by `LOOSE`: 0.15 mm at the
    lettering that stands 1.5 mm off every edge.
    """
    boxes = glyph_boxes(weight.value)
    assert boxes["H"][4] == pytest.approx(1.0, abs=1e-12)
    table = advances(weight.value)
    assert {chr(code) for code in table} == set(boxes) - {"\uffff"}  # the end of the table
    for code, width in table.items():
        char = chr(code)
        advance, left, bottom, right, top = boxes[char]
        assert width == pytest.approx(advance, abs=1e-12)
        if char not in EVERY_SIGN:
            continue  # the strokes spell it otherwise, and may be lower
        assert text_width(char, 1.0, weight) >= advance - 1e-12
        corners = text_corners(Text(at=Point(0, 0), text=char, height=1.0, weight=weight))
        assert holds(Bounds.around(corners).grown(LOOSE), Bounds(left, bottom, right, top)), char
        end = Text(at=Point(0, 0), text=char, height=1.0, weight=weight, anchor=Anchor.END)
        shifted = Bounds(left - advance, bottom, right - advance, top)
        assert holds(Bounds.around(text_corners(end)).grown(LOOSE), shifted), char


@pytest.mark.parametrize("cut", CUTS)
def test_figures_stand_under_one_another(cut: str) -> None:
    """A column of numbers whose points wander is read a place wrong."""
    widths = {advances(cut)[ord(figure)] for figure in "0123456789"}
    assert len(widths) == 1


def test_the_width_is_that_of_the_wider_face_and_grows_with_the_height() -> None:
    """Strokes and print differ by a tenth and more; the narrower would be placed by hope."""

    def on_paper(text: str) -> float:
        return 4 * sum(advances("Medium")[ord(char)] for char in text)

    words = ["lili", "-m-m", "FORWARD", "84.3", "TE FLUSH BELOW", ""]
    for text in words:
        assert text_width(text, 4) == pytest.approx(max(on_paper(text), stroke_width(text, 4)))
    assert {text_width(text, 4) > stroke_width(text, 4) for text in words} == {True, False}
    assert text_width("FORWARD", 8) == pytest.approx(2 * text_width("FORWARD", 4))
    assert text_width("FORWARD", 4, Weight.BOLD) > text_width("FORWARD", 4)


@given(st.text(st.sampled_from(EVERY_SIGN), min_size=1, max_size=60), st.floats(5, 200))
def test_a_text_that_is_cut_short_says_so_and_fits(text: str, width: float) -> None:
    """Half a name that looks whole is another name."""
    told = shortened(text, 2.5, width)
    if text_width(text, 2.5) <= width:
        assert told == text
        return
    assert told.endswith("\u2026")
    kept = told.removesuffix("\u2026").rstrip()
    assert "".join(text.split()).startswith("".join(kept.split()))
    assert text_width(told, 2.5) <= width or len(kept) <= 1


@given(st.lists(st.text("abMW.1-", min_size=1, max_size=12), max_size=12), st.floats(12, 60))
def test_wrapped_lines_fit_and_lose_no_word(words: list[str], width: float) -> None:
    """A caution with its last word cut off is worse than none."""
    lines = wrap(" ".join(words), 3.0, width)
    assert " ".join(lines) == " ".join(words)
    assert all(text_width(line, 3.0) <= width or " " not in line for line in lines)
    for before, after in pairwise(lines):
        assert text_width(f"{before} {after.split()[0]}", 3.0) > width


def test_the_acknowledgement_goes_with_the_letters():
    """The letters may be passed on only together with it. Source: the Hershey notice (READ)."""
    notice = (FONTS / "NOTICE-strokes").read_text(encoding="utf-8")
    for words in ("Dr. A. V. Hershey", "National Bureau of Standards", "James Hurt", "Cognition"):
        assert words in " ".join(notice.split())


def test_the_licence_goes_with_the_face() -> None:
    """It may be passed on with its licence alone. Source: OFL 1.1, conditions (READ)."""
    licence = (FONTS / "OFL.txt").read_text(encoding="utf-8")
    assert "SIL Open Font License, Version 1.1" in licence
    assert "PERMISSION & CONDITIONS" in licence
    assert "Barlow" in licence
