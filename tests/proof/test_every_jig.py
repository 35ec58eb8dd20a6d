"""Every piece of every sample goes through the whole proof: drawn, asked for, measured, judged."""

from pathlib import Path

import pytest
from commandline import PROJECT
from measuring import Bench, blanks

from jiggen.geometry.distortion import Distortion
from jiggen.jigs.plan import all_jigs

#: The canard job draws every jig that a job can ask for; the others are asked for by name.
EVERY = tuple(jig.kind for jig in all_jigs() if jig.kind != "coupon")
ASKED = {
    "canard": EVERY,
    "elevon": ("guide", "block"),
    "flaperon": ("guide", "gauge", "wrap", "block"),
    "split-flap": ("guide", "wrap", "block", "cradle"),
}
SMALL = Distortion(scale_x=0.97, scale_y=0.97)


@pytest.fixture(scope="module", params=ASKED)
def drawn(request, tmp_path_factory) -> Bench:
    """Return a sample on disk with its pages; the canard's part ends are cut aslant."""
    home = PROJECT / "samples" / request.param
    folder = tmp_path_factory.mktemp("every")
    for beside in home.glob("*.dat"):
        (folder / beside.name).write_bytes(beside.read_bytes())
    job = (home / "job.toml").read_text("utf-8")
    bench = Bench(folder=folder, job=job.replace("turn = true", "end_angles = [3.0, -5.0]"))
    bench.make(formats=("pdf",), only=ASKED[request.param])
    return bench


def asked(bench: Bench) -> dict[tuple[str, str], dict[str, float]]:
    """Return the true lengths that the form asks for, mm, by kind and name of the thing."""
    record = bench.record
    known = {("piece", name): piece.sizes for name, piece in record.pieces.items()}
    known |= {("page", page.name): page.measurable() for page in record.pages}
    found: dict[tuple[str, str], dict[str, float]] = {}
    for kind, name, length in blanks(bench.form.read_text("utf-8")):
        if (kind, name) in known:
            found.setdefault((kind, name), {})[length] = known[kind, name][length].nominal
    return found


def filled(bench: Bench, values: dict[tuple[str, str], dict[str, float]], fine: float) -> Path:
    """Return a form of its own with these readings, each give or take so much, mm."""
    form = bench.folder / "filled.toml"
    form.write_text(bench.form.read_text("utf-8"), "utf-8")
    for (kind, name), lengths in values.items():
        read = {length: f"{mm:.2f} mm" for length, mm in lengths.items()}
        bench.fill(kind, name, {"plus_minus": f"{fine} mm", **read}, form)
    return form


def verdicts(bench: Bench, group: str, readings: Path) -> dict[str, str]:
    """Return the verdict on each piece, as ``pieces`` on pages or as ``finished``."""
    return {one["name"]: one["verdict"] for one in bench.verify("--readings", readings)[group]}


def test_every_true_piece_that_the_form_asks_for_is_good(drawn):
    """A jig that cannot be proved true is a jig that is trusted blindly.

    By micrometer: a gauge of an eighth of a degree is beyond a calliper of twentieths.
    """
    pieces = {key: sizes for key, sizes in asked(drawn).items() if key[0] == "piece"}
    found = drawn.verify("--readings", filled(drawn, pieces, 0.01))
    assert {one["name"] for one in found["finished"]} == {name for _, name in pieces}
    assert {one["name"]: one["why"] for one in found["finished"] if one["verdict"] != "use"} == {}
    told = [angle for one in found["finished"] for angle in one["angles"]]
    assert told
    assert all(angle["verdict"] == "use" for angle in told)


def test_any_length_that_is_off_by_3_mm_condemns_its_piece_or_is_asked_about(drawn):
    """A verdict that cannot say no is none."""
    pieces = {key: sizes for key, sizes in asked(drawn).items() if key[0] == "piece"}
    passed = []
    for turn in range(max(len(sizes) for sizes in pieces.values())):
        wrong = {key: list(sizes)[turn] for key, sizes in pieces.items() if turn < len(sizes)}
        off = {
            key: {n: mm + 3.0 * (n == wrong[key]) for n, mm in pieces[key].items()}
            for key in wrong
        }
        found = verdicts(drawn, "finished", filled(drawn, off, 0.01))
        passed += [(n, wrong["piece", n]) for n, verdict in found.items() if verdict == "use"]
    assert passed == []


def test_true_pages_are_good_for_all_that_lies_on_them(drawn):
    """Read under a glass: a coarse rule leaves open what may be off by a hair only."""
    pages = {("page", page.name): drawn.page(name=page.name) for page in drawn.record.pages}
    found = verdicts(drawn, "pieces", filled(drawn, pages, 0.02))
    assert {name for name, verdict in found.items() if verdict != "use"} == set()
    assert {n for n, piece in drawn.record.pieces.items() if piece.angles} <= set(found)


def test_a_small_page_spares_what_is_only_an_angle_and_condemns_what_has_a_length(drawn):
    """Fitted to its paper: guides, seats and gauges are good, templates and strips are not."""
    pages = {("page", page.name): drawn.page(SMALL, page.name) for page in drawn.record.pages}
    found = verdicts(drawn, "pieces", filled(drawn, pages, 0.02))
    has_length = {
        name: piece.allowed_length is not None or not piece.angles
        for name, piece in drawn.record.pieces.items()
    }
    long = {name for name, piece in drawn.record.pieces.items() if piece.sizes}
    for name, verdict in found.items():
        bad = has_length[name] and name in long
        assert verdict == ("do not use" if bad else "use"), name
    assert "do not use" in found.values()
