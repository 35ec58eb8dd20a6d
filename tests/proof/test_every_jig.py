"""Every piece of every sample and starter goes through the whole proof: drawn, measured, judged."""

import math
from pathlib import Path

import pytest
from commandline import PROJECT
from measuring import Bench, blanks, page_readings

from jiggen.geometry.distortion import Distortion
from jiggen.jigs.plan import all_jigs
from jiggen.proof.checks import Judged
from jiggen.proof.form import MORE
from jiggen.proof.pieces import judge_pieces
from jiggen.proof.readings import Tool
from jiggen.proof.record import PieceRecord
from jiggen.report.verdict import LINES

#: Every jig that a job can ask for; the kerf coupon is measured, not judged.
EVERY = tuple(jig.kind for jig in all_jigs() if jig.kind != "coupon")
JOBS = (*(PROJECT / "samples").glob("*/job.toml"), *(PROJECT / "templates").glob("*.toml"))
SMALL = Distortion(scale_x=0.97, scale_y=0.97)
#: mm. By micrometer: a gauge of an eighth of a degree is beyond a calliper of twentieths.
FINE = 0.01
#: mm. What a piece is cut wrong by.
OFF = 3.0


@pytest.fixture(
    scope="module",
    params=[job for job in sorted(JOBS) if "format = 1" in job.read_text("utf-8")],
    ids=lambda job: job.parent.name if job.name == "job.toml" else job.stem,
)
def drawn(request, tmp_path_factory) -> Bench:
    """Return a sample or a starter with every jig that can be made for it, on paper."""
    folder = tmp_path_factory.mktemp("every")
    for beside in request.param.parent.glob("*.dat"):
        (folder / beside.name).write_bytes(beside.read_bytes())
    bench = Bench(folder=folder, job=request.param.read_text("utf-8"))
    bench.make(formats=("pdf",), only=EVERY)
    return bench


def judged(bench: Bench, lengths: dict[str, dict[str, float]]) -> dict[str, Judged]:
    """Return the verdict on pieces whose lengths were read so, mm, by name."""
    tool = Tool(FINE, 0.0)
    taken = {
        n: [tool.reading(size, mm) for size, mm in some.items()] for n, some in lengths.items()
    }
    return judge_pieces(bench.record, taken)


def blank(bench: Bench) -> Path:
    """Return a blank form of its own."""
    form = bench.folder / "filled.toml"
    form.write_text(bench.form.read_text("utf-8"), "utf-8")
    return form


def printed(bench: Bench, made: Distortion) -> dict[str, str]:
    """Return the last word on each piece on pages that a printer made so, read under a glass."""
    form = blank(bench)
    for page in bench.record.pages:
        bench.fill("page", page.name, page_readings(bench.page(made, page.name), 0.02), form)
    return {one["name"]: one["verdict"] for one in bench.verify("--readings", form)["answers"]}


def true_sizes(bench: Bench) -> dict[str, dict[str, float]]:
    """Return the lengths of all pieces that have some, as drawn, mm."""
    pieces = bench.record.pieces.values()
    return {p.name: {n: s.nominal for n, s in p.sizes.items()} for p in pieces if p.sizes}


def cut_wrong(piece: PieceRecord, off: float) -> dict[str, float]:
    """Return the lengths of a piece whose working edge ends so far beside its line, mm.

    All of them: what was cut has a shape, and no length contradicts another.
    """
    (angle,) = piece.angles
    (x0, y0), (x1, y1) = angle.working
    long = math.dist(*angle.working)
    ends = [end for size in piece.sizes.values() for end in (size.start, size.end)]
    far = min(ends, key=lambda end: math.dist(end, angle.working[1]))
    there = (far[0] + off * (y0 - y1) / long, far[1] + off * (x1 - x0) / long)

    def at(end):
        return there if math.dist(end, far) < 1e-6 else end

    return {name: math.dist(at(s.start), at(s.end)) for name, s in piece.sizes.items()}


def test_a_true_piece_is_good_and_every_angle_is_told(drawn):
    """A jig that cannot be proved true is a jig that is trusted blindly."""
    form = blank(drawn)
    for name, some in true_sizes(drawn).items():
        read = {length: f"{mm:.3f} mm" for length, mm in some.items()}
        drawn.fill("piece", name, {"plus_minus": f"{FINE} mm", **read}, form)
    found = {one["name"]: one for one in drawn.verify("--readings", form)["finished"]}
    assert set(found) == set(true_sizes(drawn))
    assert {name: one["why"] for name, one in found.items() if one["verdict"] != "use"} == {}
    told = [angle for one in found.values() for angle in one["angles"]]
    assert all(angle["determined"] and angle["verdict"] == "use" for angle in told)
    record = drawn.record
    kinds = {record.pieces[name].kind for name in found}
    assert kinds >= {"guide", "block", "strip"}
    # The form asks for every one of these lengths, and the foot of a guide has none to ask for.
    parts = {name for row in record.rows for name, _ in row.parts}
    asked = {(name, length) for kind, name, length in blanks(drawn.form.read_text("utf-8"))}
    every = {(name, length) for name, some in true_sizes(drawn).items() for length in some}
    assert {name for name, _ in every - asked} <= parts
    silent = {name for name, piece in record.pieces.items() if piece.angles and not piece.sizes}
    assert all(name.startswith("guide-") and "foot" in name for name in silent)


@pytest.mark.parametrize("off", [OFF, -OFF])
def test_a_piece_whose_edge_was_cut_3_mm_off_is_not_used(off, drawn):
    """A verdict that cannot say no is none. What is off by a tenth of a length is asked about."""
    pieces = [piece for piece in drawn.record.pieces.values() if piece.angles and piece.sizes]
    found = judged(drawn, {piece.name: cut_wrong(piece, off) for piece in pieces})
    assert all(one.verdict == "do not use" or one.questions for one in found.values())
    bad = {piece.kind for piece in pieces if found[piece.name].verdict == "do not use"}
    # Where its short side is all but gone, a block's foot looks like a slip of the unit.
    assert bad >= ({"guide", "block"} if off > 0 else {"guide"})


def test_any_one_length_that_is_3_mm_off_bars_its_piece(drawn):
    """Cut wrong or misread: no piece of which one length is so far off is called good."""
    true, pieces = true_sizes(drawn), drawn.record.pieces
    passed = []
    for turn in range(max(len(sizes) for sizes in true.values())):
        wrong = {name: list(sizes)[turn] for name, sizes in true.items() if turn < len(sizes)}
        off = {name: {**true[name], size: true[name][size] + OFF} for name, size in wrong.items()}
        found = judged(drawn, off)
        passed += [(n, wrong[n]) for n, one in found.items() if one.verdict == "use"]
        told = {name: one for name, one in found.items() if not pieces[name].angles}
        assert all(one.verdict == "do not use" or one.questions for one in told.values())
    assert passed == []


def test_true_pages_are_good_for_all_that_is_checked_on_them(drawn):
    """A page without a single length on it bars nothing that lies on it."""
    found = printed(drawn, Distortion())
    assert {name: verdict for name, verdict in found.items() if verdict != "use"} == {}
    parts = {name for row in drawn.record.rows for name, _ in row.parts}
    on_pages = {piece.name: piece for page in drawn.record.pages for piece in page.pieces}
    checked = {name for name, piece in on_pages.items() if piece.is_checked} - parts
    assert checked <= set(found)
    assert not {name for name, piece in on_pages.items() if not piece.is_checked} & set(found)


def test_a_small_page_spares_what_is_only_an_angle_and_condemns_what_has_a_length(drawn):
    """Fitted to its paper: guides, seats and gauges keep their angle, templates their size not."""
    found = printed(drawn, SMALL)
    pieces = drawn.record.pieces
    long = {n for n, p in pieces.items() if p.allowed_length is not None or not p.angles}
    bad = {name for name, verdict in found.items() if verdict == "do not use"}
    assert bad == long & set(found)
    assert {verdict for name, verdict in found.items() if name not in bad} == {"use"}
    assert "strip-joined" in bad


def first_asked(bench: Bench) -> list[tuple[str, str, str]]:
    """Return what the form asks before the line "more, if you like"."""
    return blanks(bench.form.read_text("utf-8").partition(MORE)[0])


def test_the_form_asks_few_numbers_first_and_they_prove_the_guide(drawn):
    """A form of a hundred blanks stays blank: twelve for a guide, eight more for each further."""
    guides = {p.name for p in drawn.record.pieces.values() if p.kind == "guide" and p.leads}
    backs = {name for name in guides if not name.endswith("-edge")}
    first = first_asked(drawn)
    assert len(first) <= 4 + 8 * len(backs)
    assert {name for kind, name, _ in first if kind == "piece"} <= guides
    assert backs <= {name for _, name, _ in first}


@pytest.mark.parametrize("state", ["nothing", "true page", "small page", "cut", "cut wrong"])
def test_the_answer_comes_first_and_takes_at_most_fifteen_lines(state, drawn):
    """It is read at the bench, with gloves on."""
    form = blank(drawn)
    words = {"true page": [*drawn.options()], "small page": [*drawn.options(SMALL)]}.get(state, [])
    pieces = [piece for piece in drawn.record.pieces.values() if piece.sizes]
    for piece in pieces if state.startswith("cut") else ():
        wrong = state == "cut wrong" and piece.angles
        true = {name: size.nominal for name, size in piece.sizes.items()}
        lengths = cut_wrong(piece, OFF) if wrong else true
        read = {name: f"{mm:.2f} mm" for name, mm in lengths.items()}
        drawn.fill("piece", piece.name, {"plus_minus": "0.03 mm", **read}, form)
    lines = drawn.report("--readings", form, *words).splitlines()
    assert len(lines) <= LINES == 15
    assert all(len(line) <= 100 for line in lines)
    begins = {
        "nothing": "Cannot tell: nothing was measured.",
        "true page": "Cut: guide-",
        "small page": "Cut: guide-",
        "cut": "Use: guide-",
        "cut wrong": "",
    }[state]
    assert lines[0].startswith(begins)
    says_no = any(line.startswith("Not: ") for line in lines)
    assert says_no == (state in ("small page", "cut wrong"))
