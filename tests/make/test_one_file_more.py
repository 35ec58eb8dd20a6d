"""A jig is one file and one line of the registry; all that draws, lists and judges follows."""

import json
import math

import pypdfium2
import pytest
from commandline import FLAP, said
from measuring import Bench, blanks, flat
from readback import read_dxf, read_pdf, read_svg

from jiggen.jigs import plan

NAME = "square-1"


@pytest.fixture
def bench(tmp_path, monkeypatch) -> Bench:
    """Return a job that was drawn with one jig more."""
    monkeypatch.setattr(plan, "JIGS", (*plan.JIGS, "try_square"))
    bench = Bench(folder=tmp_path, job=FLAP + "# with a try square\n")
    bench.make(formats=("pdf", "svg", "dxf"))
    return bench


def texts(bench: Bench) -> list[str]:
    """Return the words of each page, by a reader of another house."""
    document = pypdfium2.PdfDocument((bench.out / "print.pdf").read_bytes())
    try:
        return [flat(page.get_textpage().get_text_bounded()) for page in document]
    finally:
        document.close()


def size(walk) -> tuple[float, float]:
    """Return how wide and how high an outline is, mm."""
    x, y = zip(*walk, strict=True)
    return max(x) - min(x), max(y) - min(y)


def test_it_is_drawn_true_in_every_format(bench):
    """By the readers of other houses: on a page, on a bed, and in files of its own."""
    cut, lying = (pytest.approx(both, abs=1e-3) for both in ((90.15, 80.15), (80.15, 90.15)))
    svg, dxf = ((bench.out / "pieces" / f"{NAME}.{kind}").read_bytes() for kind in ("svg", "dxf"))
    assert size(read_svg(svg)[NAME]) == cut
    assert size(read_dxf(dxf)[NAME]) == cut
    assert size(read_svg((bench.out / "cut-1.svg").read_bytes())[NAME]) in (cut, lying)
    assert size(read_dxf((bench.out / "cut-1.dxf").read_bytes())[NAME]) in (cut, lying)
    pages = read_pdf((bench.out / "print.pdf").read_bytes())
    (walks,) = (page.paths[NAME] for page in pages if NAME in page.paths)
    drawn = (90.0, 80.0)
    assert any(size(walk) == pytest.approx(drawn, abs=1e-3) for walk in walks)


def test_it_is_lettered_and_listed_on_cover_and_numbers(bench):
    """Nobody finds on the bench what the cover does not name."""
    pages = texts(bench)
    assert "SQUARE 1" in pages[0]
    (own,) = (n for n, page in enumerate(pages) if n and "SQUARE 1 90.0° FORWARD" in page)
    code = bench.record.pieces[NAME].code
    assert code in pages[own]
    assert any("NUMBERS" in page and "SQUARE 1" in page for page in pages[own + 1 :])
    (row,) = (r for r in bench.manifest["files"] if r["file"] == f"pieces/{NAME}.svg")
    assert row["sheets"][0]["pieces"][0]["name"] == NAME


def test_it_is_asked_for_by_name_like_any_other(bench):
    """What ``--only`` does not know, nobody gets alone."""
    out = bench.folder / "alone"
    answer = said("make", bench.file, "--only", "square", "--out", out)
    assert (answer.status, answer.err) == (0, "")
    names = {p.name for p in (out / "pieces").iterdir()}
    assert names == {f"{NAME}.svg", f"{NAME}.dxf"}
    assert "square" in said("make", bench.file, "--only", "sqare", "--out", out).err


@pytest.mark.parametrize(("off", "verdict"), [(0.0, "use"), (2.0, "do not use")])
def test_it_is_asked_in_the_form_and_judged_as_cut(off, verdict, bench):
    """By plain vectors: the blade turned about its foot by so many degrees."""
    turn = math.radians(off)
    at = {"A": (0.0, 0.0), "B": (90.0, 0.0)}
    for letter, (x, y) in (("C", (40.0, 80.0)), ("D", (0.0, 80.0))):
        at[letter] = (
            x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn),
        )  # fmt: skip
    asked = [name for kind, piece, name in blanks(bench.form.read_text("utf-8")) if piece == NAME]
    assert set(asked) == {"A-B", "A-D", "B-D", "A-C", "B-C", "C-D"}
    bench.fill("piece", NAME, {n: round(math.dist(at[n[0]], at[n[2]]), 2) for n in asked})
    found = bench.verify()
    assert [(a["name"], a["verdict"]) for a in found["answers"]] == [(NAME, verdict)]
    word = "Use" if verdict == "use" else "Not"
    assert bench.report().startswith(f"{word}: {NAME}.")


def test_it_is_judged_on_its_page_and_read_back_from_its_files(bench):
    """The verdict on a print, and the reader of written files, hold no list of jigs either."""
    found = bench.verify(*bench.options())
    assert {p["name"]: p["verdict"] for p in found["pieces"]}[NAME] == "use"
    for file in (bench.out / "pieces" / f"{NAME}.svg", bench.out / "cut-1.dxf"):
        answer = said("remeasure", file, "--json")
        assert answer.status == 0
        pieces = {p["name"]: p for p in json.loads(answer.out)["pieces"]}
        assert pieces[NAME]["angle"] == pytest.approx(90.0, abs=1e-3)
