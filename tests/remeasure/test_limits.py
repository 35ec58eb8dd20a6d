"""Small files that ask for more work than a life has: each ends at once, and says why.

What may hang is run in a process of its own, with a guard far above what it takes.
"""

import json
import os
import zlib
from pathlib import Path

import pytest
from commandline import process, said
from drawingset import write_set

from jiggen.remeasure.limits import BUDGET

MILLION = 1_000_000


def svg(body: str, page: str = 'width="210mm" height="297mm" viewBox="0 0 210 297"') -> bytes:
    """Return a document round some elements."""
    return f'<svg xmlns="http://www.w3.org/2000/svg" {page}>{body}</svg>'.encode()


def filled(unit: str, size: int = MILLION) -> str:
    """Return text of about a size."""
    return unit * (size // len(unit))


def path(data: str) -> bytes:
    """Return a document of one path."""
    return svg(f'<path id="p" d="{data}"/>')


def uses() -> bytes:
    """Return 3 kB of groups that use the one before ten times each."""
    again = "".join(
        f'<g id="u{at}">' + f'<use href="#u{at - 1}"/>' * 10 + "</g>" for at in range(1, 12)
    )
    return svg(f'<path id="u0" d="M0 0h9v9z"/>{again}')


def dxf(entities: str, units: str = "4") -> bytes:
    """Return a DXF of some entities."""
    head = f"0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n{units}\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
    return f"{head}{entities}0\nENDSEC\n0\nEOF\n".encode()


def pdf(content: bytes, about: bytes = b"", *more: bytes, resources: bytes = b"<<>>") -> bytes:
    """Return a PDF of one page, its objects written by hand: content is object 4, more follows."""
    objects = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 595 842]/Contents 4 0 R/Resources "
        + resources + b">>",
        stream(content, about),
        *more,
    ]  # fmt: skip
    out, places = b"%PDF-1.7\n", []
    for at, body in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (at, body)
    rows = b"".join(b"%010d 00000 n \n" % place for place in places)
    size = len(objects) + 1
    out, end = out + b"xref\n0 %d\n0000000000 65535 f \n%s" % (size, rows), len(out)
    return out + b"trailer<</Size %d/Root 1 0 R>>\nstartxref\n%d\n%%%%EOF\n" % (size, end)


def stream(data: bytes, about: bytes = b"") -> bytes:
    """Return a stream object."""
    return b"<</Length %d%s>>stream\n%s\nendstream" % (len(data), about, data)


def forms(count: int, draws: int) -> bytes:
    """Return a PDF of forms in forms, each of which draws the next some times."""
    resources = b"<</XObject<</F %d 0 R>>>>"
    about = b"/Type/XObject/Subtype/Form/BBox[0 0 9 9]/Resources" + resources
    chain = [stream(b"/F Do " * draws, about % (6 + at)) for at in range(count)]
    return pdf(
        b"/F Do " * draws, b"", *chain, stream(b"0 0 m 9 9 l S", about % 5), resources=resources % 5
    )


def font(cmap: bytes) -> bytes:
    """Return a PDF that shows text in a font with a map to letters."""
    about = b"<</Type/Font/Subtype/TrueType/BaseFont/AAAAAA+X/ToUnicode 6 0 R>>"
    shown = b"BT /F 9 Tf (a) Tj ET"
    return pdf(shown, b"", about, stream(cmap), resources=b"<</Font<</F 5 0 R>>>>")


FLATE = b"/Filter/FlateDecode"
NOTHING = zlib.compress(b"\0" * 300 * MILLION, 9)

HARMS: dict[str, tuple[bytes, str]] = {
    "arc of 60 digits": (path(f"M0 0A{'1' * 60}"), "a number or a place that is none"),
    "arc of 24 digits": (path(f"M0 0A{'1' * 12} {'1' * 12}"), "path 'p' cannot be read"),
    "digits of an attribute": (svg(f'<rect width="{"1" * 40_000}"/>'), "a number or a place"),
    "arcs": (path("M0 0" + filled("a1 1 0 1 1 1 1")), f"more than {BUDGET['points']:,} points"),
    "uses": (uses(), f"more than {BUDGET['elements']:,} elements"),
    "groups": (svg("<g>" * 20_000 + "</g>" * 20_000), "nested deeper than 100 groups"),
    "elements": (svg(filled("<g/>")), f"more than {BUDGET['elements']:,} elements"),
    "entities": (
        b'<!DOCTYPE s [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><svg><text>&b;</text></svg>',
        "declares entities of its own; save it as a plain SVG",
    ),
    "outlines": (path(filled("M0 0h99v9z", 200_000)), "outlines of which nothing is known"),
    "circles": (dxf(filled("0\nCIRCLE\n40\n9\n", 900_000)), "elements"),
    "nothing but sections": (filled("0\nSECTION\n").encode(), "it has no ENTITIES section"),
    "operators": (pdf(zlib.compress(b"n " * 2 * MILLION), FLATE), "operators and numbers"),
    "forms": (forms(9, 10), f"more than {BUDGET['forms']:,} forms"),
    "deep forms": (forms(300, 1), "nested deeper than 100 groups"),
    "unfolding": (pdf(NOTHING, FLATE), "a stream in it unfolds to more than 16 MB"),
    "unfolding twice": (
        pdf(zlib.compress(NOTHING), b"/Filter[/FlateDecode/FlateDecode]"),
        "a stream in it unfolds to more than 16 MB",
    ),
    "one stream many times": (
        pdf(zlib.compress(b"n " * 6 * MILLION), FLATE).replace(
            b"/Contents 4 0 R", b"/Contents[" + b"4 0 R " * 1000 + b"]"
        ),
        "bytes of unpacked drawing",
    ),
    "an old packing": (pdf(b"\x80\x0b\x60", b"/Filter/LZWDecode"), "packed in an old way, LZW"),
    "an old packing, hidden": (pdf(b"\x80", b"/Filter/L#5aWDecode"), "packed in an old way, LZW"),
    "a map of letters": (font(b"beginbfrange " + b"<0000> <FFFF> <0041> " * 99), "characters of"),
    "pages": (
        pdf(b"n").replace(b"/Kids[3 0 R]", b"/Kids[" + b"3 0 R " * 2000 + b"]"),
        "Too many warnings",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", HARMS)
def test_what_would_take_for_ever_ends_with_one_line(name: str, tmp_path: Path) -> None:
    """The reader of a file from the net must not fill the machine of the one who asks of it."""
    data, words = HARMS[name]
    assert len(data) <= 1.1 * MILLION
    (tmp_path / "harm").write_bytes(data)
    answer = process("remeasure", "harm", folder=tmp_path)
    assert (answer.status, answer.out, len(answer.faults)) == (2, "", 1)
    assert words in answer.err
    assert "; " in answer.err


SLOW: dict[str, bytes] = {
    "a transform of one word": svg(f'<g transform="{"a" * MILLION}"><path d="M0 0h9"/></g>'),
    "2,000 rectangles": svg(
        "".join(
            f'<rect x="{at % 50 * 12}" y="{at // 50 * 12}" width="11" height="11"/>'
            for at in range(2000)
        )
    ),
    "lines from one place": dxf(
        "".join(f"0\nLINE\n10\n0\n20\n0\n11\n{at}\n21\n5\n" for at in range(25_000))
    ),
    "far curves": path("M0 0" + filled("c9e5 0 0 9e5 1 1") + "z"),
    "sections": filled("0\nSECTION\n2\nA\n").encode()
    + dxf("0\nLINE\n10\n0\n20\n0\n11\n1\n21\n5\n"),
    "a map that begins and never ends": font(filled("beginbfchar ").encode()),
    "one array": pdf(b"[" + b"0 " * 450_000 + b"] TJ"),
    "blank metadata": svg("<metadata>" * 29_000 + "</metadata>" * 29_000),
}


@pytest.mark.parametrize("name", SLOW)
def test_what_took_for_ever_is_measured(name: str, tmp_path: Path) -> None:
    """Work that grows with the square of a file made hours of a second."""
    (tmp_path / "slow").write_bytes(SLOW[name])
    answer = process("remeasure", "slow", folder=tmp_path)
    assert (answer.status, answer.err) == (1, "")
    assert len(answer.out.splitlines()) <= 15


def test_blank_lines_alone_are_no_drawing(tmp_path: Path) -> None:
    """Telling what a file is took longer than reading it."""
    (tmp_path / "blank").write_bytes(b"x" + b"\n" * 199_000)
    answer = process("remeasure", "blank", folder=tmp_path)
    assert (answer.status, len(answer.faults)) == (2, 1)
    assert "is neither a PDF nor an SVG nor a DXF" in answer.err


LINE = "0\nLINE\n8\nCUT\n10\n{}\n20\n0\n11\n5\n21\n5\n"


@pytest.mark.parametrize(
    "data",
    [
        path("M0 0L1e999 3"),
        path("M0 0A1e-320 1e-320 0 0 1 5 5"),
        path("M0 0A1e-320 5 0 0 1 5 5"),
        svg('<g transform="scale(1e300) scale(1e300)"><path d="M1 1h9"/></g>'),
        svg('<path d="M0 0h9"/>', 'width="1e999mm" height="3mm"'),
        svg('<path d="M0 0h9"/>', 'width="0mm" height="3mm"'),
        dxf(LINE.format("1e999")),
        dxf(LINE.format("9" * 400)),
        dxf(LINE.format("1"), units="1e999"),
        dxf("0\nLWPOLYLINE\n70\n1e999\n10\n1\n20\n0\n10\n5\n20\n5\n"),
        dxf("0\nLWPOLYLINE\n70\n0\n10\n1\n20\n0\n42\n1e300\n10\n5\n20\n5\n"),
        dxf("0\nELLIPSE\n10\n0\n20\n0\n11\n5\n21\n0\n40\n1\n41\n0\n42\n1e300\n"),
        pdf(b"0 0 m " + b"9" * 400 + b" 9 l S"),
    ],
)
def test_a_number_that_no_drawing_has_is_one_line_and_no_fault_of_ours(
    data: bytes, tmp_path: Path
) -> None:
    """Status 70 sends the user to the makers of the program with a file that is just broken."""
    (tmp_path / "odd").write_bytes(data)
    answer = said("remeasure", tmp_path / "odd")
    assert (answer.status, answer.out, len(answer.faults)) == (2, "", 1)
    assert "copy it again" in answer.err


@pytest.mark.parametrize("radius", ["1e-320", "1e-12"])
def test_an_arc_of_no_size_in_a_dxf_is_a_line_of_no_length(radius: str, tmp_path: Path) -> None:
    """It is a number that can be drawn, if nobody can see it."""
    arc = f"0\nARC\n10\n0\n20\n0\n40\n{radius}\n50\n0\n51\n90\n"
    (tmp_path / "odd").write_bytes(dxf(arc))
    assert said("remeasure", tmp_path / "odd").status == 1


@pytest.mark.parametrize(
    ("number", "words"),
    [
        ("9" * 400, "holds a number that is none, 99999"),
        ("9" * 5000, "holds a number that is none, 99999"),
        ("1e999", "holds a number that is none, 1e999"),
        ("NaN", "holds a number that is none, NaN"),
        ("[" * 90_000, "is nested too deeply"),
    ],
)
@pytest.mark.parametrize("where", ["record", "manifest"])
def test_a_number_beyond_all_measure_in_record_or_manifest_is_one_line(
    number: str, words: str, where: str, tmp_path: Path
) -> None:
    """What the drawing should measure is as much somebody else's as the drawing."""
    made = write_set(tmp_path)
    name = "manifest.json" if where == "manifest" else "cut-1.svg"
    data = (made / name).read_text("utf-8")
    key = '"width": 210.0' if where == "manifest" else '"width":210.0'
    assert key in data
    (made / name).write_text(data.replace(key, f'"width":{number}', 1), "utf-8")
    answer = said("remeasure", made / "cut-1.svg")
    assert (answer.status, answer.out, len(answer.faults)) == (2, "", 1)
    assert words in answer.err
    assert answer.err.startswith(f"{made / 'cut-1.svg'}: ")


def test_the_manifest_of_another_program_is_none_of_ours(tmp_path: Path) -> None:
    """Many programs call a file of theirs so, with numbers of their own."""
    made = write_set(tmp_path)
    (made / "manifest.json").write_text(f'{{"id": {"9" * 40}, "size": NaN}}', "utf-8")
    answer = said("remeasure", made / "cut-1.svg")
    assert (answer.status, answer.err) == (0, "")


def test_a_device_or_a_pipe_is_no_file(tmp_path: Path) -> None:
    """One never ends, the other never begins."""
    os.mkfifo(tmp_path / "pipe")
    for name in ("/dev/zero", "pipe"):
        answer = process("remeasure", name, folder=tmp_path)
        assert (answer.status, answer.out) == (2, "")
        assert f"{name}: is a device or a pipe, not a file; give the name of a PDF" in answer.err


def test_a_drawing_as_large_as_a_film_is_refused(tmp_path: Path) -> None:
    """Nothing but the first bytes of it need be read."""
    with (tmp_path / "film").open("wb") as stream:
        stream.truncate(200 * MILLION)
    answer = said("remeasure", tmp_path / "film")
    assert (answer.status, answer.out) == (2, "")
    assert "is too large to be a drawing" in answer.err


@pytest.mark.parametrize("order", ["utf-16-le", "utf-16-be"])
def test_an_svg_of_two_bytes_a_letter_is_read_as_what_it_is(order: str, tmp_path: Path) -> None:
    """XML may be UTF-16 (XML 1.0, 4.3.3; from memory); it was said to be no drawing at all."""
    made = write_set(tmp_path)
    text = (made / "cut-1.svg").read_text("utf-8").replace("utf-8", "utf-16", 1)
    (made / "cut-1.svg").write_bytes(f"\N{ZERO WIDTH NO-BREAK SPACE}{text}".encode(order))
    answer = said("remeasure", made / "cut-1.svg")
    assert (answer.status, answer.err) == (0, "")
    assert answer.out.startswith("True to size")


CODES = "\x1b[31mred\x9b2J\x07\u202e\nnext line"


def test_terminal_codes_of_a_file_never_reach_the_terminal(tmp_path: Path) -> None:
    """A drawing from the net could clear the screen, and write "True to size" on it."""
    made = write_set(tmp_path)
    text = (made / "cut-1.svg").read_text("utf-8")
    named = text.replace('"name":"guide-a"', f'"name":{json.dumps(CODES)}').replace(
        'id="SCORE"', 'id="SCORE" transform="\x85scale\u202e(2)"', 1
    )
    assert named.count("\\u001b") == 2
    (made / "cut-1.svg").write_text(named, "utf-8")
    answer = said("remeasure", made / "cut-1.svg")
    assert answer.status == 1
    assert "red" in answer.out
    assert all(char.isprintable() for char in answer.out.replace("\n", ""))
    assert not any(line.startswith("next line") for line in answer.out.splitlines())
    (made / "cut-1.svg").write_text(f"<svg \x1b[31m{CODES}", "utf-8")
    broken = said("remeasure", made / "cut-1.svg")
    assert (broken.status, len(broken.faults)) == (2, 1)
    assert all(char.isprintable() for char in broken.faults[0])


def test_thousands_of_faults_of_a_file_are_counted(tmp_path: Path) -> None:
    """The answer stands first, and the rest of it fits on a screen; JSON has it all."""
    made = write_set(tmp_path)
    text = (made / "cut-1.svg").read_text("utf-8")
    start = text.index('{"jiggen"')
    record, _ = json.JSONDecoder().raw_decode(text[start:])
    record["drawn"]["pieces"] = [f"piece-{at}" for at in range(3000)]
    end = text.index("</metadata>")
    (made / "cut-1.svg").write_text(text[:start] + json.dumps(record) + text[end:], "utf-8")
    (made / "manifest.json").unlink()
    answer = said("remeasure", made / "cut-1.svg")
    assert answer.status == 1
    assert len(answer.out.splitlines()) <= 15
    found = json.loads(said("remeasure", made / "cut-1.svg", "--json").out)["findings"]
    assert sum("its outline is not there" in finding["text"] for finding in found) == 3000
    shown = sum(line.startswith(("off ", "note ")) for line in answer.out.splitlines())
    assert 4 <= shown < 10
    assert f"and {len(found) - shown} more: --json has all that there is to say" in answer.out
