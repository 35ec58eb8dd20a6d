"""The hole strip and the drilling order from the command line."""

import json
import re
from pathlib import Path

import pytest
from commandline import FLAP, said
from language import read_pages
from measuring import Bench

STRIP = FLAP.replace("count = 64", "count = 24") + "\n[strip]\n"


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Return a job with a strip and the folder of its drawings, made once."""
    folder = tmp_path_factory.mktemp("strip")
    job = folder / "flap.toml"
    job.write_text(STRIP.replace("[1, 64]", "[1, 24]"), "utf-8")
    out = folder / "out"
    assert said("make", job, "--only", "strip", "--out", out).status == 0
    return job, out


def ticked(text: str) -> list[tuple[int, str]]:
    """Return the numbers and the pins' sides behind the boxes, in the order of reading."""
    return [(int(n), side) for n, side in re.findall(r"\[ \] +(\d+) (\S+)", text)]


@pytest.mark.parametrize("passes", [1, 2])
def test_angles_lists_the_order_to_tick_off(tmp_path: Path, passes: int) -> None:
    """Half way through sixty holes nobody remembers which is next, or from which side."""
    job = tmp_path / "flap.toml"
    job.write_text(FLAP.replace("[1, 64]", f"[1, 64]\npasses = {passes}"), "utf-8")
    text = said("angles", job, "--all").out
    listed = ticked(text)
    holes = json.loads(said("angles", job, "--json").out)["holes"]
    order = sorted((h["order"], h["number"]) for h in holes if h["order"] is not None)
    assert [number for number, _ in listed] == [number for _, number in order]
    assert len(listed) == 62
    assert "from the side that is named" in " ".join(text.split())
    block = text[text.index("Tick off") : text.index("Shop checks")]
    assert len(block.splitlines()) <= 15
    assert max(len(line) for line in block.splitlines()) <= 100
    wanted = {1: "Drill from the middle out: 33 to 63, then 32 to 2.", 2: "Drill every other hole"}
    assert wanted[passes] in text
    assert "Leave alone: 1, 64." in " ".join(text.split())
    assert ticked(said("angles", job).out) == []


def test_long_names_of_sides_are_letters_in_the_order_to_tick_off(tmp_path: Path) -> None:
    """One hole a line would push the order off the screen."""
    job = tmp_path / "flap.toml"
    named = 'units = "mm"\nsides = ["upper wing skin", "lower wing skin"]'
    job.write_text(re.sub(r"(?m)^sides = .*\n", "", FLAP).replace('units = "mm"', named), "utf-8")
    text = said("angles", job, "--all").out
    job.write_text(FLAP, "utf-8")
    names = {"A": "upper", "B": "lower"}
    in_full = ticked(said("angles", job, "--all").out)
    assert [(n, names[side]) for n, side in ticked(text)] == in_full != []
    assert "A: the fastener goes in from upper wing skin; B: from lower wing skin" in " ".join(
        text.split()
    )


def test_every_file_of_the_strip_is_true_to_size(drawn: tuple[Path, Path]) -> None:
    """The reader that shares nothing with the writers has the last word."""
    _, out = drawn
    for name in ("print.pdf", "strip-roll.pdf", "pieces/strip.svg", "pieces/strip.dxf"):
        answer = said("remeasure", out / name)
        assert answer.status == 0, answer.out
        assert "True to size" in answer.out


def test_tiles_are_judged_by_the_page_and_the_roll_is_not(drawn: tuple[Path, Path]) -> None:
    """A page that is 1 % small: every tile is off, and nothing is known of the roll."""
    job, out = drawn
    answer = said(
        "verify", job, "--out", out, "--bar-x", "99.0", "--bar-y", "99.0",
        "--diagonal-1", "257.6", "--diagonal-2", "257.6", "--json",
    )  # fmt: skip
    assert answer.status == 1
    told = json.loads(answer.out)
    verdicts = {p["name"]: p["verdict"] for p in told["pieces"]}
    tiles = len([p for page in read_pages((out / "print.pdf").read_bytes()) for p in page.pieces])
    assert verdicts == {f"strip-{n}": "do not use" for n in range(1, tiles + 1)}
    assert not any(p["sheet"] == "strip-roll.pdf" for p in told["pieces"])


def test_a_reprint_leaves_the_roll_as_it_lies(drawn: tuple[Path, Path]) -> None:
    """The correction of one printer in a file for another would spoil what was true."""
    job, out = drawn
    before, page = (out / "strip-roll.pdf").read_bytes(), (out / "print.pdf").read_bytes()
    answer = said(
        "verify", job, "--out", out, "--bar-x", "99.5", "--bar-y", "99.6",
        "--diagonal-1", "258.9", "--diagonal-2", "258.9", "--reprint", "--json",
    )  # fmt: skip
    assert any("print.pdf" in path for path in json.loads(answer.out)["written"])
    assert (out / "print.pdf").read_bytes() != page
    assert (out / "strip-roll.pdf").read_bytes() == before
    rows = {r["file"]: r for r in json.loads((out / "manifest.json").read_text())["files"]}
    assert "correction" in rows["print.pdf"]
    assert "correction" not in rows["strip-roll.pdf"]
    assert said("remeasure", out / "strip-roll.pdf").status == 0


def test_a_roll_is_judged_by_what_was_read_on_it(tmp_path: Path) -> None:
    """A plotter that stretches by 0.2 % moves the last hole by more than its own radius."""
    bench = Bench(folder=tmp_path, job=STRIP.replace("[1, 64]", "[1, 24]"))
    bench.make(formats=("pdf",), only=("strip",))
    form = bench.form.read_text("utf-8")
    sizes = {
        name: float(re.search(rf'(?m)^{name} = "" +# ([0-9.]+) mm', form.split("# strip")[1])[1])
        for name in ("whole", "across")
    }
    for stretch, word in ((1.002, "do not use"), (1.0, "use")):
        bench.form.write_text(form, "utf-8")
        read = {"whole": sizes["whole"] * stretch, "across": sizes["across"]}
        by_tape = {name: {"measured": round(mm, 2), "plus_minus": 0.1} for name, mm in read.items()}
        bench.fill("piece", "strip", by_tape)
        found = bench.verify()
        (roll,) = (one for one in found["finished"] if one["name"] == "strip")
        assert roll["verdict"] == word
