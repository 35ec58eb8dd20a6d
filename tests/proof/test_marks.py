"""A mark a piece: what did not change keeps its readings, and what changed is told by name."""

from commandline import FLAP
from measuring import FIRST, Bench, flat, words_of

from jiggen.drawing.piece import CheckDimension, Piece
from jiggen.drawing.shapes import Path
from jiggen.geometry.distortion import Distortion
from jiggen.jigs.plan import plan_job
from jiggen.job.read import read_job
from jiggen.proof.folder import FORM
from jiggen.solve import solve

NEW = "readings-new.toml"
OFF = Distortion(scale_x=0.985, scale_y=1.012)


def marks(bench: Bench) -> dict[str, str]:
    return {name: piece.mark for name, piece in bench.record.pieces.items()}


def sizes(bench: Bench, name: str) -> dict[str, float]:
    """Return the sizes of a piece that was cut as drawn, by calliper."""
    lengths = bench.record.pieces[name].sizes.values()
    return {size.name: round(size.nominal / 0.05) * 0.05 for size in lengths}


def test_a_piece_has_one_mark_on_page_and_bed_and_by_itself(bench):
    """Moved, mirrored, drawn with a kerf: it is the same piece, and lettered with one code."""
    found = {}
    for row in bench.manifest["files"]:
        for sheet in row["sheets"]:
            for piece in sheet["pieces"]:
                found.setdefault(piece["name"], set()).add((piece["mark"], piece["code"]))
    assert {len(marks) for marks in found.values()} == {1}
    planned = {p.name: p.mark for p in plan_job(solve(read_job(bench.file))).pieces}
    assert {name: mark for name, ((mark, _),) in found.items()} == planned
    for (mark, code), *_ in found.values():
        assert code.endswith(mark[:4].upper())


def test_the_mark_is_what_the_piece_is_and_not_how_it_is_lettered():
    """Bars, letters and limits may change in the next version; readings stay."""
    square = Path.closed([(0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)])
    size = CheckDimension(name="w", nominal=40.0, start=(0.0, 0.0), end=(40.0, 0.0))
    bar = CheckDimension(name="bar-x", nominal=10.0, start=(0, 0), end=(10, 0), is_bar=True)
    plain = Piece(name="a", kind="k", label="A", outline=square, dimensions=(size,))
    same = Piece(
        name="b", kind="k", label="B", outline=square, dimensions=(size, bar), allowed_length=1.0
    )
    other = Piece(name="a", kind="k", label="A", outline=square)
    assert plain.mark == same.mark != other.mark


def test_another_section_rivet_or_note_leaves_every_reading_valid(bench):
    """An hour with the calliper must survive a line in the job file."""
    bench.fill("page", FIRST, bench.page())
    bench.fill("piece", "guide-a1", sizes(bench, "guide-a1"))
    before = bench.verify()
    assert words_of(before)["guide-a1"] == "use"
    old = marks(bench)
    bench.job += '\n[gauge]\ntolerance = 0.3\n\n[strip]\n\n[rivet]\nsize = "-3"\n'
    bench.job = "# measured on a cold day\n" + bench.job
    untouched = bench.verify()
    assert untouched["changed"] == []
    assert (untouched["finished"], untouched["pieces"]) == (before["finished"], before["pieces"])
    assert bench.make() == NEW
    assert {name: marks(bench)[name] for name in old} == old
    after = bench.verify()
    # The rivet may ask more of a guide than before; what was read on it still stands.
    for group in ("finished", "pieces"):
        was, now = ({p["name"]: p["verdict"] for p in found[group]} for found in (before, after))
        assert was.items() <= now.items()
    assert {row["where"] for row in after["readings"]} == {FIRST, "guide-a1"}
    assert not any("left out" in note for note in after["notes"])


def test_a_piece_that_changed_is_told_with_its_old_and_its_new_code(bench):
    """True to size and two degrees wrong: the wedge was measured again after the page was made."""
    bench.fill("page", FIRST, bench.page())
    was = {name: piece.code for name, piece in bench.record.pieces.items()}
    bench.job = bench.job.replace("[7.5, 3.0]", "[7.2, 3.0]")
    found = bench.verify()
    changed = {one["name"]: one for one in found["changed"]}
    assert set(changed) == {"guide-a1", "guide-a1-edge"}
    assert all(one["was"] == was[name] != one["now"] for name, one in changed.items())
    assert words_of(found) == {
        "guide-a1": "do not use", "guide-a1-edge": "do not use", "guide-b1": "use",
        "guide-b1-edge": "use", "guide-foot": "use",
    }  # fmt: skip
    report = bench.report()
    assert report.splitlines()[0] == "Cut: guide-b1, guide-b1-edge, guide-foot."
    assert "Not: guide-a1, guide-a1-edge." in report
    now = changed["guide-a1"]["now"]
    assert f"it was {was['guide-a1']} when it was drawn, and is {now} now" in flat(report)
    assert "Run jiggen make again, and make guide-a1, guide-a1-edge anew." in flat(report)


def test_readings_of_what_was_drawn_anew_are_left_out_and_the_rest_counts(bench):
    """Last week's guide must not pass for today's; the other one was not touched."""
    for name in ("guide-a1", "guide-b1"):
        bench.fill("piece", name, sizes(bench, name))
    hole = {"piece": "guide-a1", "thickness": 20.0, "entry": [30.0, 25.0], "exit": [27.5, 25.0]}
    bench.fill("test_hole", "", hole)
    bench.fill("page", FIRST, bench.page())
    was = bench.record.pieces["guide-a1"].mark[:4].upper()
    bench.job = bench.job.replace("[7.5, 3.0]", "[7.2, 3.0]")
    assert bench.make() == NEW
    now = bench.record.pieces["guide-a1"].mark[:4].upper()
    found = bench.verify()
    assert [piece["name"] for piece in found["finished"]] == ["guide-b1"]
    assert (found["test_holes"], found["pieces"], found["changed"]) == ([], [], [])
    notes = " ".join(found["notes"])
    assert f"guide-a1 was {was} when it was measured and is {now} now" in notes
    assert f"{FIRST} was" in notes


def test_readings_follow_a_piece_and_a_page_that_are_called_otherwise_now(bench):
    """One guide more, and guide a2 is a3: it is what was measured all the same."""
    form = bench.form.read_text("utf-8")
    form = form.replace('"guide-a1" =', '"guide-a7" =').replace(f'"{FIRST}" =', '"page 9" =')
    bench.form.write_text(form, "utf-8")
    bench.fill("piece", "guide-a7", sizes(bench, "guide-a1"))
    bench.fill("page", "page 9", bench.page())
    found = bench.verify()
    assert [piece["name"] for piece in found["finished"]] == ["guide-a1"]
    assert {row["where"] for row in found["readings"]} == {FIRST, "guide-a1"}


def test_a_corrected_print_drops_what_was_read_on_the_page_before_it_and_nothing_else(bench):
    """After a reprint the old readings would correct the page a second time."""
    bench.fill("page", FIRST, bench.page(OFF))
    bench.fill("piece", "guide-a1", sizes(bench, "guide-a1"))
    before = bench.verify("--reprint")
    assert before["written"] == [str(bench.out / "print.pdf"), str(bench.out / NEW)]
    after = bench.verify()
    assert after["scale_x"] is None
    assert after["finished"] == before["finished"]
    assert {row["where"] for row in after["readings"]} == {"guide-a1"}
    (note,) = (note for note in after["notes"] if "printed again" in note)
    assert note.startswith(f"{FIRST} was printed again since")
    bench.fill("page", FIRST, bench.page(), bench.out / NEW)
    both = bench.verify()
    assert both["scale_x"] is not None
    assert both["finished"] == before["finished"]


def test_of_two_forms_the_newer_reading_of_a_thing_counts(bench):
    """A guide filed true and measured again would be judged by what was filed away."""
    true = sizes(bench, "guide-a1")
    bench.fill("piece", "guide-a1", bench.cut(off=4.0))
    bench.make()
    bench.fill("piece", "guide-a1", true, bench.out / NEW)
    found = bench.verify()
    assert words_of(found) == {"guide-a1": "use"}
    assert FORM in " ".join(found["notes"])
    assert NEW in " ".join(found["notes"])
    named = bench.verify("--readings", bench.form)
    assert words_of(named)["guide-a1"] != "use"


def test_a_form_written_by_hand_without_marks_is_of_what_lies_there(bench):
    """Who types a table of his own has no marks to copy."""
    lengths = "".join(f"{name} = {mm:.2f}\n" for name, mm in sizes(bench, "guide-a1").items())
    bench.form.write_text(f'format = 2\n[[piece]]\nname = "guide-a1"\n{lengths}', "utf-8")
    assert words_of(bench.verify()) == {"guide-a1": "use"}


def test_the_folder_of_another_job_is_called_that(bench, tmp_path):
    """Sent to make and print again, the user loses the drawings of the other job."""
    bench.job = FLAP.replace("Flap edge, left", "Spoiler edge")
    told = bench.refused()
    assert f'is the job "Spoiler edge", but the drawings in {bench.out} are of' in told
    assert "give the folder of its own drawings with --out" in told
    elsewhere = Bench(folder=tmp_path / "none", job=FLAP)
    elsewhere.folder.mkdir()
    assert "holds no drawings: no manifest.json was found there; run jiggen make" in (
        elsewhere.refused()
    )
