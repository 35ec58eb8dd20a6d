"""What is missing is missed, with and without the manifest: outlines, layers, pages and words."""

import json
import re
import shutil
from io import BytesIO
from pathlib import Path

import pikepdf
import pypdfium2
import pytest
from commandline import FLAP, said
from drawingset import write_set

from jiggen.remeasure.answer import Measurement
from jiggen.remeasure.measure import remeasure
from jiggen.remeasure.pdf import read_pdf

alone_or_not = pytest.mark.parametrize("alone", [True, False], ids=["alone", "with manifest"])


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of drawings with kerf."""
    return write_set(tmp_path_factory.mktemp("made"))


@pytest.fixture(scope="module")
def flap(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The drawings of a job whose lettering stays text."""
    folder = tmp_path_factory.mktemp("flap")
    job = folder / "flap.toml"
    job.write_text(FLAP.replace("[cut]\n", '[cut]\ntext = "live"\n'), "utf-8")
    assert said("make", job, "--out", folder / "out").status == 0
    return folder / "out"


def again(source: Path, folder: Path, data: bytes | str, alone: bool) -> Measurement:
    """Return the measurement of other bytes under a file's name, with its manifest or without."""
    if not alone:
        shutil.copy(source.parent / "manifest.json", folder)
    path = folder / source.name
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    return remeasure(path)


def off(measured: Measurement) -> list[str]:
    """Return what is off."""
    return [f.text for f in measured.findings if f.severity == "off"]


def entities(text: str) -> tuple[str, list[str], str]:
    """Return a DXF's entities, and what stands before and behind them."""
    head, mark, body = text.partition("ENTITIES\n")
    body, end, tail = body.partition("  0\nENDSEC")
    return head + mark, re.split(r"(?m)^  0\n", body), end + tail


def is_outline(entity: str) -> bool:
    """Return whether an entity of a DXF carries a piece's record."""
    return "JIGGEN" in entity


@alone_or_not
@pytest.mark.parametrize("name", ["guide-a", "block", "guide-a-2"])
def test_an_outline_that_was_deleted_from_a_dxf_is_missed_by_its_name(
    made: Path, tmp_path: Path, name: str, alone: bool
) -> None:
    """Its record went with it: the bed was called true, and a piece was not cut."""
    source = made / "cut-1.dxf"
    head, parts, tail = entities(source.read_text("utf-8"))
    which = ["guide-a", "block", "guide-a-2"].index(name)
    outlines = [at for at, part in enumerate(parts) if is_outline(part)]
    del parts[outlines[which]]
    found = off(again(source, tmp_path, head + "  0\n".join(parts) + tail, alone))
    missing = [text for text in found if "its outline is not there" in text]
    # The two guides are equal: which of them is gone, only the manifest's places can tell.
    wanted = "guide-a-2" if alone and name == "guide-a" else name
    assert missing == [f"{wanted}: its outline is not there"]
    assert not any("another run" in text for text in found)


@alone_or_not
def test_an_outline_in_another_layer_is_named_with_it(
    made: Path, tmp_path: Path, alone: bool
) -> None:
    """A machine that scores where it should cut leaves the piece in its sheet."""
    source = made / "cut-1.dxf"
    head, parts, tail = entities(source.read_text("utf-8"))
    at = next(at for at, part in enumerate(parts) if is_outline(part))
    parts[at] = parts[at].replace("  8\nCUT\n", "  8\nSCORE\n", 1)
    found = off(again(source, tmp_path, head + "  0\n".join(parts) + tail, alone))
    assert found == ["guide-a: its outline is in layer SCORE, not in CUT"]


@alone_or_not
def test_a_line_that_a_layer_lost_is_counted(made: Path, tmp_path: Path, alone: bool) -> None:
    """A guide without its axis, or a plate without its letters, is not the one that was drawn."""
    source = made / "cut-1.svg"
    text = source.read_text("utf-8")
    at = text.index('id="SCORE-guide-a"')
    text = text[:at] + re.sub(r'<path d="[^"]*" />', "", text[at:], count=1)
    assert off(again(source, tmp_path, text, alone)) == ["SCORE holds 2 lines, where it had 3"]


def test_a_drawing_whose_layers_are_gone_is_said_to_have_none(made: Path, tmp_path: Path) -> None:
    """Without names for its groups nothing says what is to be cut, and what is a mark."""
    source = made / "cut-1.svg"
    text = re.sub(r' id="(CUT|SCORE|ENGRAVE|NOTE)"', "", source.read_text("utf-8"))
    (found,) = off(again(source, tmp_path, text, alone=True))
    assert found.startswith("its layers ENGRAVE, SCORE, CUT, NOTE are gone")


@pytest.mark.parametrize("names", [("CUT-INNER", "CUT"), ("CUT", "CUT-INNER")])
def test_holes_may_have_a_layer_of_their_own(
    made: Path, tmp_path: Path, names: tuple[str, str]
) -> None:
    """Inner cuts before outer cuts, each in a group: both are cut."""
    source = made / "cut-1.svg"
    text = source.read_text("utf-8")
    start, end = text.index('<g fill="none" id="CUT"'), text.index('<g fill="none" id="NOTE"')
    holes = re.findall(r"<circle[^>]*/>", text[start:end])
    assert len(holes) == 4
    rest = re.sub(r"\s*<circle[^>]*/>", "", text[start:end]).replace('"CUT"', f'"{names[1]}"', 1)
    inner = f'<g id="{names[0]}" fill="none">{"".join(holes)}</g>'
    text = text[:start] + inner + rest + text[end:]
    assert again(source, tmp_path, text, alone=True).ok


@alone_or_not
@pytest.mark.parametrize(("gone", "missing"), [(0, "1"), (1, "2"), (-1, "{last}")])
def test_a_pdf_short_of_a_page_says_which(
    flap: Path, tmp_path: Path, gone: int, missing: str, alone: bool
) -> None:
    """The page that is missing may be the one with the guide that is drilled with next."""
    source = flap / "print.pdf"
    out = BytesIO()
    with pikepdf.open(source) as pdf:
        last = len(pdf.pages)
        del pdf.pages[gone]
        pdf.save(out)
    found = off(again(source, tmp_path, out.getvalue(), alone))
    wanted = f"it has {last - 1} pages, where it had {last}: missing is {missing.format(last=last)}"
    assert found == [wanted]


@alone_or_not
@pytest.mark.parametrize("name", ["cut-1.svg", "cut-1.dxf"])
def test_an_angle_that_was_changed_in_live_text_is_off(
    flap: Path, tmp_path: Path, name: str, alone: bool
) -> None:
    """The guide is true, and its label sends the hand to the wrong end of the wedge."""
    source = flap / name
    text = source.read_text("utf-8")
    angle = re.search(r"(?:>|  1\n)(8\d\.\d)", text)
    assert angle is not None
    other = f"{float(angle[1]) - 3:.1f}"
    text = text[: angle.start(1)] + other + text[angle.end(1) :]
    (found,) = off(again(source, tmp_path, text, alone))
    assert found.startswith(f'words are not there, or were changed: "{angle[1]}')


@alone_or_not
def test_words_that_were_changed_in_a_pdf_are_off(flap: Path, tmp_path: Path, alone: bool) -> None:
    """An angle on paper is read by a person, who has nothing else to go by."""
    source = flap / "print.pdf"
    words = read_pdf(source.read_bytes()).pages[1].words or ()
    out = BytesIO()
    with pikepdf.open(source) as pdf:
        drawn = list(pikepdf.parse_content_stream(pdf.pages[1]))
        shown = [at for at, (_, operator) in enumerate(drawn) if str(operator) == "Tj"]
        codes = [bytes(drawn[at].operands[0]) for at in shown]
        assert list(map(len, codes)) == list(map(len, words))
        code_of = {
            letter: code[at : at + 1]
            for word, code in zip(words, codes, strict=True)
            for at, letter in enumerate(word)
        }
        which = next(n for n, word in enumerate(words) if re.match(r"8\d\.\d", word))
        # Three degrees less, in the codes of the same font.
        other = words[which][:1] + str(int(words[which][1]) - 3) + words[which][2:]
        string = pikepdf.String(b"".join(code_of[letter] for letter in other))
        drawn[shown[which]] = pikepdf.ContentStreamInstruction([string], pikepdf.Operator("Tj"))
        pdf.pages[1].Contents = pdf.make_stream(pikepdf.unparse_content_stream(drawn))
        pdf.save(out)
    measured = again(source, tmp_path, out.getvalue(), alone)
    assert off(measured) == [f'words are not there, or were changed: "{words[which]}"']


def test_the_words_of_a_pdf_are_those_that_another_reader_finds(flap: Path) -> None:
    """A font is a code of its own: only its map says which letter a byte stands for."""
    data = (flap / "print.pdf").read_bytes()
    pages = read_pdf(data).pages
    document = pypdfium2.PdfDocument(data)
    assert len(document) == len(pages) > 2
    for theirs, page in zip(document, pages, strict=True):
        text = "".join(theirs.get_textpage().get_text_range().split())
        assert page.words
        for word in page.words:
            assert "".join(word.split()) in text
    document.close()


@pytest.mark.parametrize(
    ("subtype", "shown", "cmap"),
    [
        ("/TrueType", "<0102>", "1 begincodespacerange <00> <FF> endcodespacerange 2 beginbfchar "
         "<01> <0038> <02> <00B0> endbfchar"),
        ("/TrueType", "<4142>", "1 beginbfrange <41> <42> [<0038> <00B0>] endbfrange"),
        ("/Type0", "<00050006>", "1 begincodespacerange <0000> <FFFF> endcodespacerange "
         "1 beginbfrange <0005> <0006> <0038> endbfrange"),
    ],
)  # fmt: skip
def test_a_map_to_letters_is_read_in_each_of_its_forms(subtype: str, shown: str, cmap: str) -> None:
    """ISO 32000-1, 9.10.3 (from memory): single codes, ranges, and ranges with a list."""
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(100, 100))
        font = pikepdf.Dictionary(
            Type=pikepdf.Name.Font,
            Subtype=pikepdf.Name(subtype),
            BaseFont=pikepdf.Name("/AAAAAA+Invented"),
            ToUnicode=pdf.make_stream(cmap.encode()),
        )
        page.obj.Resources = pikepdf.Dictionary(Font=pikepdf.Dictionary(F=font))
        page.Contents = pdf.make_stream(f"BT /F 9 Tf {shown} Tj [{shown}] TJ ET".encode())
        out = BytesIO()
        pdf.save(out)
    second = "9" if subtype == "/Type0" else "\N{DEGREE SIGN}"
    assert read_pdf(out.getvalue()).pages[0].words == (f"8{second}", f"8{second}")


def test_words_without_a_map_are_not_called_changed(flap: Path, tmp_path: Path) -> None:
    """What cannot be read cannot be judged: it is said, and no reason to throw a page away."""
    out = BytesIO()
    with pikepdf.open(flap / "print.pdf") as pdf:
        for page in pdf.pages:
            for font in page.Resources.get("/Font", {}).values():
                if "/ToUnicode" in font:
                    del font["/ToUnicode"]
        pdf.save(out)
    measured = again(flap / "print.pdf", tmp_path, out.getvalue(), alone=True)
    assert measured.ok
    assert any("words are not compared" in f.text for f in measured.findings)


@alone_or_not
def test_a_drawing_that_was_saved_on_a_grid_of_2000_to_the_inch_is_still_true(
    made: Path, tmp_path: Path, alone: bool
) -> None:
    """Six micrometres are less than a machine can follow; true files were condemned for five."""
    source = made / "cut-1.svg"
    # Straight edges and holes: the ends of an arc move it by more than they are moved.
    step = 25.4 / 2000
    place = re.compile(r'(?<= L )[\d.]+ [\d.]+(?= L| Z)|(?<=c[xy]=")[\d.]+')
    text = place.sub(
        lambda match: " ".join(f"{round(float(v) / step) * step:.6f}" for v in match[0].split()),
        source.read_text("utf-8"),
    )
    measured = again(source, tmp_path, text, alone)
    assert off(measured) == []
    assert max(piece.worst_shift or 0.0 for piece in measured.pieces) > 0.005


@pytest.mark.parametrize(("by", "is_off"), [(0.009, False), (0.01, True)])
def test_a_length_is_off_from_a_hundredth_of_a_millimetre(
    made: Path, tmp_path: Path, by: float, is_off: bool
) -> None:
    """One limit for bars, outlines and holes, so that it can be written down."""
    source = made / "cut-1.svg"
    text = source.read_text("utf-8")
    radius = re.search(r'r="(3\.975)"', text)
    assert radius is not None
    text = text.replace('r="3.975"', f'r="{3.975 + by:.6f}"', 1)
    assert bool(off(again(source, tmp_path, text, alone=True))) == is_off


def test_a_record_of_before_the_counts_is_still_judged(made: Path, tmp_path: Path) -> None:
    """What lies in a drawer since last year must not become unreadable."""
    source = made / "cut-1.svg"
    text = source.read_text("utf-8")
    record = json.loads(re.search(r"<metadata[^>]*>(.*?)</metadata>", text, re.DOTALL)[1])  # type: ignore[index]
    old = {key: value for key, value in record.items() if key != "drawn"}
    text = re.sub(
        r"(<metadata[^>]*>).*?(</metadata>)", lambda m: m[1] + json.dumps(old) + m[2], text,
        flags=re.DOTALL,
    )  # fmt: skip
    assert again(source, tmp_path, text, alone=True).ok
