"""Engraved lettering: legible signs, true height, and a width that holds in every format."""

import struct
from itertools import pairwise
from pathlib import Path as FilePath

import pytest
import reportlab
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase.ttfonts import TTFontFile

from jiggen.drawing import lettering, stroke_font, vera_widths
from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.lettering import fitted, stroke_width, strokes, text_corners, text_width, wrap
from jiggen.drawing.shapes import Anchor, Bounds, Path, Text
from jiggen.errors import DoesNotFit

EVERY_SIGN = "".join(stroke_font.HERSHEY) + "".join(stroke_font.OWN) + "äöüÄÖÜéèêåÅñÑïîíčŠşÇq\u0301"
FONTS = FilePath(reportlab.__file__).parent / "fonts"


def ink(paths: tuple[Path, ...]) -> Bounds:
    return Bounds.union(p.bounds() for p in paths)


def drawn(text: str, height: float = 21.0) -> list[list[tuple[float, float]]]:
    return [
        [tuple(round(v, 6) for v in p) for p in (path.edges[0].start, *(e.end for e in path.edges))]
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
        assert box.contains(path.moved(place).bounds())


def glyph_boxes(name: str) -> dict[str, tuple[float, float, float, float, float]]:
    """Each character's advance and ink (left, bottom, right, top) in caps, from the font file.

    Source of the layout: the OpenType specification, tables loca, glyf, hhea, hmtx (from memory).
    """
    font = TTFontFile(str(FONTS / name))
    glyf, loca = font.get_table("glyf"), font.get_table("loca")
    long = struct.unpack(">h", font.get_table("head")[50:52])[0]
    count = len(loca) // (4 if long else 2)
    offsets = struct.unpack(f">{count}{'L' if long else 'H'}", loca)
    hmtx, metrics = font.get_table("hmtx"), struct.unpack(">H", font.get_table("hhea")[34:36])[0]
    cap = vera_widths.CAP_EM
    boxes = {}
    for code, glyph in font.charToGlyph.items():
        at, end = (o * (1 if long else 2) for o in offsets[glyph : glyph + 2])
        box = struct.unpack(">4h", glyf[at + 2 : at + 10]) if end > at else (0, 0, 0, 0)
        row = 4 * min(glyph, metrics - 1)
        advance = struct.unpack(">H", hmtx[row : row + 2])[0]
        boxes[chr(code)] = tuple(v / vera_widths.EM / cap for v in (advance, *box))
    return boxes


@pytest.mark.parametrize(
    ("name", "bold", "table"),
    [("Vera.ttf", False, vera_widths.PLAIN), ("VeraBd.ttf", True, vera_widths.BOLD)],
)
def test_the_corners_hold_the_print_face_too_and_its_widths_are_the_fonts(name, bold, table):
    """Print text placed by a wrong width crosses a check edge.

    Source: the font files themselves (Bitstream Vera 1.10, as shipped in reportlab).
    """
    boxes = glyph_boxes(name)
    assert boxes["H"][4] == pytest.approx(1.0, abs=1e-12)
    for char, width in table.items():
        advance, left, bottom, right, top = boxes[char]
        assert width / vera_widths.EM / vera_widths.CAP_EM == pytest.approx(advance, abs=1e-12)
        run = text_width(char, 1.0, bold)
        assert run >= advance - 1e-12
        corners = text_corners(Text(at=Point(0, 0), text=char, height=1.0, bold=bold))
        assert Bounds.around(corners).contains(Bounds(left, bottom, right, top)), char
        end = Text(at=Point(0, 0), text=char, height=1.0, bold=bold, anchor=Anchor.END)
        shifted = Bounds(left - advance, bottom, right - advance, top)
        assert Bounds.around(text_corners(end)).contains(shifted), char


def test_the_width_is_that_of_the_wider_face_and_grows_with_the_height():
    """Strokes and print differ by a tenth and more; the narrower would be placed by hope."""
    narrow, wide = "lili", "-m-m"
    assert text_width(narrow, 4) > stroke_width(narrow, 4)
    assert text_width(wide, 4) == stroke_width(wide, 4)
    assert text_width("FORWARD", 8) == pytest.approx(2 * text_width("FORWARD", 4))
    assert text_width("FORWARD", 4, bold=True) > text_width("FORWARD", 4)
    assert text_width("→", 4) == stroke_width("→", 4)
    assert text_width("", 4) == 0


@given(st.text(st.sampled_from(EVERY_SIGN), min_size=1, max_size=20), st.floats(5, 200))
def test_fitted_lettering_fits_and_is_as_large_as_may_be(text, width):
    """Lettering that is shrunk more than need be is not read at arm's length."""
    largest = min(5.0, width / text_width(text, 1.0))
    if largest < 1.0:
        with pytest.raises(DoesNotFit):
            fitted(text, width, 5.0, 1.0)
        return
    height = fitted(text, width, 5.0, 1.0)
    assert height == pytest.approx(largest, rel=1e-12)
    assert text_width(text, height) <= width * (1 + 1e-12)


@given(st.lists(st.text("abMW.1-", min_size=1, max_size=12), max_size=12), st.floats(12, 60))
def test_wrapped_lines_fit_and_lose_no_letter(words, width):
    """A caution with its last word cut off is worse than none."""
    lines = wrap(" ".join(words), 3.0, width)
    assert all(text_width(line, 3.0) <= width for line in lines)
    assert "".join(lines).replace(" ", "") == "".join(words)
    if any(text_width(word, 3.0) > width for word in words):
        return  # a word that had to be cut begins on a line of its own
    for before, after in pairwise(lines):
        assert text_width(f"{before} {after.split()[0]}", 3.0) > width


def test_wrap_breaks_between_words_and_refuses_a_strip_too_narrow_for_a_letter():
    """The reader must not guess where a word ends."""
    assert wrap("measure the bars before cutting", 3.0, 45.0) == [
        "measure the bars",
        "before cutting",
    ]
    assert wrap("   ", 3.0, 45.0) == []
    with pytest.raises(DoesNotFit, match="give the text more room"):
        wrap("M", 3.0, 2.0)


def test_the_acknowledgement_goes_with_the_letters():
    """The letters may be passed on only together with it. Source: the Hershey notice (READ)."""
    notice = FilePath(lettering.__file__).with_name("NOTICE-lettering").read_text(encoding="utf-8")
    for words in ("Dr. A. V. Hershey", "National Bureau of Standards", "James Hurt", "Cognition"):
        assert words in " ".join(notice.split())
