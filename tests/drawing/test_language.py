"""Every page and cut file keeps the drawing language; and each check can fail."""

from __future__ import annotations

import functools
import io
import json
import re
from collections.abc import Callable
from itertools import pairwise
from types import SimpleNamespace

import language
import pikepdf
import pytest
from commandline import PROJECT
from extremes import JOBS, solution_of
from language import Page, read_pages
from msgspec.structs import replace

from jiggen.job.read import read_job
from jiggen.job.starters import starter_files
from jiggen.make import Made, make_drawings
from jiggen.solve import solve

#: Samples and starters by name.
FILES = {path.parent.name: path for path in PROJECT.glob("samples/*/job.toml")} | starter_files()
#: One of each kind in every run: papers, both units, thin and steep, samples and starters.
USUAL = (
    "plain", "a5 lying", "inches", "40 deg a side", "stock",
)  # fmt: skip
#: What is also looked at as a picture, besides the job in inches.
SEEN = ("a5 upright", "a3", "1.5 deg a side", "40 deg a side", "sheet of 1", "canard", "split-flap")
WHOLE = [pytest.param(name, marks=() if name in USUAL else pytest.mark.slow)
         for name in (*JOBS, *FILES)]  # fmt: skip


@functools.cache
def made(name: str) -> Made:
    """Return all that is made of an extreme job, a sample or a starter."""
    if name in JOBS:
        return make_drawings(solution_of(name))
    return make_drawings(solve(read_job(str(FILES[name]))))


@pytest.mark.parametrize("name", WHOLE)
def test_every_page_and_cut_file_keeps_the_drawing_language(name: str) -> None:
    """One word across a line, one hole cut after its outline, and the sheet is not trusted."""
    job = made(name)
    assert language.complaints(job) == []
    assert len(job.pieces) >= 3


@pytest.mark.parametrize(
    "name", [pytest.param(n, marks=pytest.mark.slow) for n in (*SEEN, "inches")]
)
def test_every_page_keeps_it_as_a_picture_too(name: str) -> None:
    """What the operators promise the printer must show: tints in one bit, lines inside edges."""
    job = made(name)
    data = job.files["print.pdf"]
    pages = [page for page in read_pages(data) if page.pieces]
    assert pages
    for page in pages:
        assert language.one_bit(page, data) == []
        assert language.line_inside(page, data) == []


# --- each check fails on a file that breaks its rule


def a_page(kind: str = "trim") -> tuple[int, bytes]:
    """Return the number of the page of a jig in the plain job's PDF, and the PDF."""
    data = made("plain").files["print.pdf"]
    number = next(p.number for p in read_pages(data) if p.pieces and p.pieces[0]["kind"] == kind)
    return number, data


def broken(old: str, new: str, kind: str = "trim", count: int = 1) -> Page:
    """Return a page whose stream was changed: `old`, a pattern, must be there."""
    number, data = a_page(kind)
    return read_pages(changed(data, number, old, new, count))[number - 1]


def changed(data: bytes, number: int, old: str, new: str, count: int = 1) -> bytes:
    """Return a PDF with the content of one page changed."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        page = pdf.pages[number - 1]
        content = page.Contents.read_bytes().decode("latin-1")
        told, times = re.subn(old, new, content, count=count, flags=re.S)
        assert times == count
        page.Contents = pdf.make_stream(told.encode("latin-1"))
        out = io.BytesIO()
        pdf.save(out)
    return out.getvalue()


def good(kind: str = "trim") -> Page:
    """Return the same page as it is."""
    number, data = a_page(kind)
    return read_pages(data)[number - 1]


CASES: dict[str, tuple[Callable[[Page], list[str]], str, str, str]] = {
    "a height between two steps": (language.heights, r" 10\.123\d+ Tf", " 11.3 Tf", "high"),
    "a line of another width": (language.widths, r"\n0\.708661 w\n", "\n0.8 w\n", "is 0.282 wide"),
    "an outline as wide as it is not clipped": (
        language.widths, r"(W\*\nn\n0 J\n0 j\n)2\.834646 w", r"\g<1>1.4 w", "wide"),
    "a third grey": (language.greys, r"\n0\.9 g\n", "\n0.7 g\n", "0.300 black"),
    "grey text": (language.greys, r"q 0 g\nBT", "q 0.5 g\nBT", "in 0.50 black"),
    "a colour": (language.greys, r"q 0 g\nBT", "q 1 0 0 rg\nBT", "operator rg"),
    "an arrow that points aft": (
        lambda page: language.arrows(page, {p["name"]: (0.0, -1.0) if "tag" not in p["name"]
                                            else None for p in page.pieces}),
        r"q", "q", "forward is"),
    "an arrow on what has no forward": (
        lambda page: language.arrows(page, {p["name"]: None for p in page.pieces}),
        r"q", "q", "says FORWARD 1 times"),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_a_broken_rule_is_told(case: str) -> None:
    """A check that cannot fail is none."""
    check, old, new, said = CASES[case]
    assert any(said in line for line in check(broken(old, new)))


def moved_word(page: Page, text: str, by: tuple[float, float]) -> Page:
    """Return a page with one of its words elsewhere."""
    words = [
        replace(w, at=(w.at[0] + by[0], w.at[1] + by[1])) if w.text == text else w
        for w in page.words
    ]
    assert words != page.words
    return replace(page, words=words)


def test_words_that_meet_leave_the_margin_or_lie_on_lines_and_greys_are_told() -> None:
    """A figure on a line is misread."""
    page = good()
    assert language.overlap(page) == []
    assert any("meets" in x for x in language.overlap(moved_word(page, "start", (0.0, 4.0))))
    assert any("margins" in x for x in language.overlap(moved_word(page, "waste", (-12.0, 0.0))))
    grey = language.overlap(moved_word(page, "TE FLUSH BELOW", (0.0, -18.0)))
    assert any("grey" in x for x in grey)
    tilted = language.overlap(moved_word(page, "fairing", (0.0, -4.0)))
    assert any("lies on a line" in x for x in tilted)
    black = [replace(page.areas[0], points=((0.0, 0.0), (200.0, 0.0), (200.0, 290.0),
                                            (0.0, 290.0)), black=1.0)]  # fmt: skip
    assert any("on black" in x for x in language.overlap(replace(page, areas=black)))
    white = [replace(w, black=0.0) for w in page.words]
    assert any("no black area" in x for x in language.overlap(replace(page, words=white)))


def test_words_that_leave_their_piece_or_lie_in_its_hole_are_told() -> None:
    """What is cut away is not read."""
    page = good()
    assert language.inside(page) == []
    assert language.inside(moved_word(page, "D", (2.0, 0.0)))
    hole = page.pieces[0]["holes"][0]["centre"]
    word = next(w for w in page.words if w.text == "TE FLUSH BELOW")
    on_hole = (hole[0] - word.at[0] - 3.0, hole[1] - word.at[1] - 1.0)
    assert any("hole" in x for x in language.inside(moved_word(page, word.text, on_hole)))


def test_a_page_or_a_piece_that_says_too_much_is_told() -> None:
    """Nobody reads a page of sentences."""
    page = good()
    assert language.words(page) == []
    more = replace(page.words[0], text="one two three four five six seven eight nine", piece="")
    assert language.words(replace(page, words=[*page.words, *[more] * 4]))
    own = replace(more, piece=page.pieces[0]["name"])
    assert any(
        "on trim-start" in x for x in language.words(replace(page, words=[*page.words, own]))
    )
    strip = good("strip")
    assert language.words(strip) == []
    assert language.words(replace(strip, words=[*strip.words, *[more] * 4]))


def test_a_font_that_is_another_or_not_in_the_file_is_told() -> None:
    """Another face runs wider than what was measured."""
    page = good()
    assert language.fonts(page) == []
    for name, embedded in (("Helvetica", False), ("AAAAAA+BarlowSemiCondensed-Medium", False),
                           ("BarlowSemiCondensed-Bold", True)):  # fmt: skip
        assert language.fonts(replace(page, fonts={**page.fonts, name: embedded}))


def test_a_figure_that_is_not_what_it_claims_is_told() -> None:
    """A page is judged by its figure: sides, bars, corners, one unit."""
    page = good()
    assert language.figure(page) == []
    frame = next(l for l in page.lines if language._is_rectangle(l.points) and not l.piece
                 and abs(l.width - 0.18) < 1e-3)  # fmt: skip

    def without(line: language.Line, *instead: language.Line) -> Page:
        return replace(page, lines=[l for l in page.lines if l is not line] + list(instead))

    assert language.figure(without(frame)) == ["0 check figures"]
    wider = tuple((x * 1.01, y) for x, y in frame.points)
    assert any("sides" in x for x in language.figure(without(frame, replace(frame, points=wider))))
    right, low = max(x for x, _ in frame.points), min(y for _, y in frame.points)
    bar = next(l for l in page.lines if abs(l.width - 1.0) < 1e-3 and not l.piece
               and language._on_side(l.points, right, low))  # fmt: skip
    assert any("bars" in x for x in language.figure(without(bar)))
    (x0, y0), (x1, y1) = bar.points[0], bar.points[-1]
    longer = replace(bar, points=((x0, y0), (x1 + 0.01 * (x1 - x0), y1 + 0.01 * (y1 - y0))))
    assert any("bars of" in x for x in language.figure(without(bar, longer)))
    cross = next(l for l in page.lines if abs(l.width - 0.25) < 1e-3
                 and abs(l.shape.length - 8.0) < 1e-3)  # fmt: skip
    assert any("no true corner" in x for x in language.figure(without(cross)))
    inch = replace(page.words[0], text="4 in", piece="")
    assert any("two units" in x for x in language.figure(replace(page, words=[*page.words, inch])))
    record = json.loads(json.dumps(page.record))
    record["pieces"][0]["outline"]["corners"][0][0] += 80.0
    assert any("leaves it" in x for x in language.figure(replace(page, record=record)))
    assert language.figure(replace(page, record={})) == ["1 check figures on a page without pieces"]


def test_a_tint_that_is_lost_in_one_bit_is_told() -> None:
    """A printer with black alone shows the waste as white, or the band as the line."""
    number, data = a_page()
    page = good()
    assert language.one_bit(page, data) == []
    pale = changed(data, number, r"\n0\.9 G\n", "\n0.98 G\n", 4)
    assert any("waste" in x for x in language.one_bit(page, pale))
    dark = changed(data, number, r"\n0\.55 G\n", "\n0.2 G\n", 4)
    assert any("band" in x for x in language.one_bit(page, dark))
    inside = changed(data, number, r"q\n1 g\n", "q\n0.9 g\n", 4)
    assert any("inside" in x for x in language.one_bit(page, inside))


def test_a_line_that_lies_astride_its_edge_is_told() -> None:
    """Filed to the outer side of such a line, every piece comes out a quarter of a mm larger."""
    number, data = a_page()
    page = good()
    assert language.line_inside(page, data) == []
    astride = changed(data, number, r"W\*\nn\n0 J\n0 j\n2\.834646 w", "n\n0 J\n0 j\n1.417323 w", 4)
    assert any("+0.2" in x for x in language.line_inside(page, astride))


@pytest.mark.parametrize("suffix", ["svg", "dxf"])
def test_a_cut_file_in_another_order_is_told(suffix: str) -> None:
    """Cut loose before its holes are made, a piece shifts under the beam."""
    data = made("plain").files[f"cut-1.{suffix}"]
    assert language.cut_order(data, suffix) == []
    text = data.decode("utf-8")
    if suffix == "svg":
        inner = re.search(r'<g id="CUT-inner">.*?</g>\s*</g>', text, re.S)
        outer = re.search(r'<g id="CUT-outer">.*?</g>\s*</g>', text, re.S)
        assert inner
        assert outer
        swapped = text.replace(inner[0], "@").replace(outer[0], inner[0]).replace("@", outer[0])
    else:
        # From each group code 0 to the next: one entity.
        lines = text.split("\n")
        start = lines.index("ENTITIES") + 1
        end = next(n for n in range(start, len(lines)) if lines[n] == "ENDSEC") - 1
        marks = [n for n in range(start, end, 2) if lines[n].strip() == "0"]
        entities = [lines[a:b] for a, b in zip(marks, [*marks[1:], end], strict=True)]
        cut = [e for e in entities if any(a.strip() == "8" and b == "CUT" for a, b in pairwise(e))]
        rest = [e for e in entities if e not in cut]
        shuffled = [line for e in [*rest, *reversed(cut)] for line in e]
        swapped = "\n".join([*lines[:start], *shuffled, *lines[end:]])
    assert language.cut_order(swapped.encode(), suffix)


def test_a_piece_that_is_missing_or_called_otherwise_is_told() -> None:
    """A name in the list that no piece bears sends the builder looking."""
    job = made("plain")
    assert language.names(job) == []

    def with_(**more: object) -> SimpleNamespace:
        whole = {"files": job.files, "pieces": job.pieces, "drawn": job.drawn}
        return SimpleNamespace(**(whole | more))

    one = next(p for p in job.pieces if p.name == "trim-end")
    others = [p for p in job.pieces if p is not one]
    assert any("pages show" in x for x in language.names(with_(pieces=others)))
    renamed = [*others, replace(one, variant="far end")]
    assert any("is called" in x for x in language.names(with_(pieces=renamed)))
    extra = [*job.pieces, replace(one, name="trim-third")]
    assert any("no page shows" in x for x in language.names(with_(pieces=extra)))
    files = {k: v for k, v in job.files.items() if k != "pieces/strip.svg"}
    assert any("pieces/*.svg" in x for x in language.names(with_(files=files)))
    number, data = a_page()
    nameless = changed(data, number, r"\(end\) Tj", "() Tj")
    told = language.names(with_(files={**job.files, "print.pdf": nameless}))
    assert told == ["trim-end does not bear its name"]


def test_a_jig_whose_pages_are_apart_is_told() -> None:
    """Two pages of one jig with another between them are taken for two."""
    pages = [p for p in read_pages(made("plain").files["print.pdf"]) if p.pieces]
    assert language.grouping(pages) == []
    assert language.grouping([*pages, pages[0]])
    gauge = next(p for p in pages if p.pieces[0]["kind"] == "gauge")
    assert language.grouping([gauge, *(p for p in pages if p is not gauge)]) == [
        "gauge stands before the guide"
    ]


def test_a_cover_that_says_go_or_lacks_a_part_is_told() -> None:
    """Nobody looks further than the word that is largest."""
    job = made("plain")
    assert language.cover(job) == []
    data = job.files["print.pdf"]
    assert {check.status for check in job.checks} >= {"fail", "ok"}

    def with_(data: bytes) -> SimpleNamespace:
        files = {**job.files, "print.pdf": data}
        return SimpleNamespace(files=files, pieces=job.pieces, checks=job.checks)

    go = changed(data, 1, r"\(STOP\) Tj", "(GO) Tj")
    assert language.cover(with_(go)) == ["it says ['GO'], the checks say STOP"]
    less = changed(data, 1, r"\(GAUGE 1\) Tj", "() Tj")
    assert language.cover(with_(less)) == ["its list lacks GAUGE 1"]
