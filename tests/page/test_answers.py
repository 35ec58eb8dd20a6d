"""The page without a server: what a form shows, what it writes, and what it never writes."""

import re
import tomllib
from pathlib import Path

import pytest
from asking import AS_TEXT, form_in, form_of, got, posted, text_of
from commandline import PROJECT, files_in, said

from jiggen.drawing.shapes import Text
from jiggen.job.starters import starter_files
from jiggen.make import draw
from jiggen.page import form as job_form
from jiggen.page.answers import Bench
from jiggen.page.store import BEFORE

GOES = ("0", "0.35", "0.45", "0.30", "0")
STOPS = ("0.05", "0.40", "0.50", "0.35", "0.05")


def read_edge(bench: Bench, **more: str) -> dict[str, str]:
    """Return the form of the edge with five places read by blades."""
    form = form_of(bench, "edge")
    for n, (go, no_go) in enumerate(zip(GOES, STOPS, strict=True), start=1):
        form |= {f"readings.go[{n}]": go, f"readings.no_go[{n}]": no_go}
    return form | more


def test_the_frame_has_the_file_and_four_numbered_tabs(bench: Bench) -> None:
    """The order of the job."""
    assert [screen.label for screen in bench.screens] == ["Measure", "Jigs", "Check", "Edge"]
    for screen in bench.screens:
        answer = got(bench, f"/{screen.name}")
        assert answer.status == 200
        assert "trial.toml End" not in text_of(answer).split("1 Measure")[0]
        assert "1 Measure 2 Jigs 3 Check 4 Edge" in text_of(answer)
        assert answer.body.count(b"<h1") == 1
        assert answer.body.count(b'aria-current="page"') == 1


def test_an_untouched_form_changes_nothing(bench: Bench, job: Path) -> None:
    """A press of Save on a page that was only looked at."""
    before = files_in(job.parent)
    for screen in ("measure", "edge"):
        form = form_of(bench, screen)
        assert "not saved" not in text_of(posted(bench, "/try", **form))
    assert (
        posted(bench, "/save", **form_of(bench, "measure")).place == "/measure?done=saved&station=1"
    )
    assert files_in(job.parent) == before


def test_only_a_press_writes(bench: Bench, job: Path) -> None:
    """Looking, typing and drawing leave the folder as it is."""
    before = files_in(job.parent)
    form = form_of(bench, "measure") | {"wedge.depth": "25.0"}
    posted(bench, "/try", **form)
    posted(bench, "/both", **form)
    posted(bench, "/try", **read_edge(bench))
    posted(bench, "/make", **form_of(bench, "jigs"))
    bench.jigs.making.wait(60.0)
    assert bench.jigs.making.drawn is not None
    for path in (
        *("/", "/measure", "/jigs", "/check", "/edge", "/made", "/list", "/file/print.pdf"),
        *("/sheet.pdf", "/chart.svg", "/record.pdf", "/print.pdf", "/file/all.zip"),
    ):
        got(bench, path)
    assert got(bench, "/jigs", look="1").body.count(b"<img") > 2
    assert files_in(job.parent) == before


def test_text_is_saved_as_typed_and_taken_back(bench: Bench, job: Path) -> None:
    """The whole round, line ends of a form included."""
    old = job.read_text()
    form = form_of(bench, "measure", **AS_TEXT)
    form["_text"] = form["_text"].replace("27.0 ", "25.50").replace("\n", "\r\n")
    assert "1 not saved" in text_of(posted(bench, "/try", **form))
    assert posted(bench, "/save", **form).status == 303
    assert job.read_text() == old.replace("27.0 ", "25.50")
    assert "Saved." in text_of(got(bench, "/measure", done="saved"))
    assert (
        posted(bench, "/undo", **form_of(bench, "measure")).place
        == "/measure?done=undone&station=1"
    )
    assert job.read_text() == old


def test_a_file_that_was_changed_elsewhere_is_not_written_over(bench: Bench, job: Path) -> None:
    """An editor saves between the page and the press."""
    form = form_of(bench, "measure") | {"wedge.depth": "25.5"}
    editors = job.read_text().replace("line = 11.0", "line = 11.25")
    job.write_text(editors)
    shown = posted(bench, "/try", **form)
    assert "changed elsewhere. Save is off" in text_of(shown)
    assert re.search(rb'id="save" disabled', shown.body)
    answer = posted(bench, "/save", **form)
    assert answer.status == 409
    assert 'name="wedge.depth" value="25.5"' in answer.body.decode()
    assert job.read_text() == editors
    both = posted(bench, "/both", **form)
    assert "wedge.depth 27.0 25.5 joined 27.0" in text_of(both)
    assert "holes.line 11.0 11.0 11.25 joined" in text_of(both)
    joined = posted(bench, "/join", **form_in(both))
    assert joined.status == 303
    assert job.read_text() == editors.replace("depth = 27.0", "depth = 25.5")


def test_what_both_sides_changed_is_asked(bench: Bench, job: Path) -> None:
    """And nothing is written before it is answered."""
    form = form_of(bench, "measure") | {"wedge.depth": "25.5"}
    job.write_text(job.read_text().replace("depth = 27.0", "depth = 26.5"))
    both = posted(bench, "/both", **form)
    assert both.body.count(b'type="radio"') == 2
    form = form_in(both)
    del form["of:wedge.depth"]
    assert posted(bench, "/join", **form).status == 400
    assert "26.5" in job.read_text()
    assert posted(bench, "/join", **form, **{"of:wedge.depth": "yours"}).status == 303
    assert "depth = 25.5" in job.read_text()


def test_a_third_change_while_two_are_compared_is_shown_first(bench: Bench, job: Path) -> None:
    """The answer was given to another question."""
    form = form_of(bench, "measure") | {"wedge.depth": "25.5"}
    job.write_text(job.read_text().replace("line = 11.0", "line = 11.25"))
    job.write_text(job.read_text().replace("line = 11.25", "line = 11.30"))
    answer = posted(bench, "/join", **form, _now="of an earlier moment", all="yours")
    assert "Two versions of trial.toml" in text_of(answer)
    assert "11.30" in job.read_text()


def test_a_file_that_an_editor_left_broken_is_shown_at_its_line(bench: Bench, job: Path) -> None:
    """The text can be mended on the page."""
    old = job.read_text()
    row = next(n for n, line in enumerate(old.splitlines(), 1) if line.startswith("drill"))
    job.write_text(old.replace('drill = "#30"', "drill = #30"))
    answer = got(bench, "/measure")
    assert f"Line {row} of trial.toml cannot be read" in text_of(answer)
    assert re.search(rf"line {row} (has|is) .*; write", text_of(answer))
    assert f'data-line="{row}"'.encode() in answer.body
    form = form_of(bench, "measure")
    form["_text"] = form["_text"].replace("drill = #30", 'drill = "#30"')
    assert posted(bench, "/save", **form).status == 303
    assert job.read_text() == old


def test_a_half_typed_file_can_be_saved(bench: Bench, job: Path) -> None:
    """Faults are told, and what was measured so far is kept."""
    form = form_of(bench, "measure") | {"wedge.station[1].thickness.front": ""}
    assert "Still to type Front 1 not saved" in text_of(posted(bench, "/try", **form))
    assert posted(bench, "/save", **form).status == 303
    assert 'thickness = { front = "", rear = 2.00' in job.read_text()


def test_a_read_only_file_is_told_and_the_form_keeps_what_was_typed(
    bench: Bench, job: Path
) -> None:
    """Another page of the browser can be saved from."""
    job.chmod(0o444)
    assert "read-only" in text_of(got(bench, "/measure"))
    form = form_of(bench, "measure") | {"wedge.depth": "25.5"}
    answer = posted(bench, "/save", **form)
    assert answer.status == 409
    assert "read-only; nothing was written" in text_of(answer)
    assert b'name="wedge.depth" value="25.5"' in answer.body
    assert "depth = 27.0" in job.read_text()


@pytest.mark.parametrize(
    "more",
    [
        {"wedge.depth": "1"},
        {"readings.nonsense[1]": "1"},
        {"readings.go[0]": "1"},
        {"readings.go[2001]": "1"},
        {"": "1"},
        {"_screen": "nonsense"},
        {"limit\x00": "1"},
    ],
)
def test_a_field_that_is_not_of_the_screen_is_refused(bench: Bench, more: dict[str, str]) -> None:
    """The page never made such a form."""
    for path in ("/try", "/save", "/both", "/undo"):
        answer = posted(bench, path, **(form_of(bench, "edge") | more))
        assert answer.status == 400, path
        assert "Back" in text_of(answer)


def test_a_form_of_another_job_is_refused(bench: Bench, job: Path) -> None:
    """Two windows, two jobs, one bench."""
    form = form_of(bench, "measure") | {"_job": "other.toml"}
    answer = posted(bench, "/save", **form)
    assert answer.status == 409
    assert "opened in the meantime" in text_of(answer)


def test_a_fault_of_jiggens_own_is_one_line_and_the_form_stays(
    bench: Bench, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was typed is worth more than the page."""

    def broken(*_: object) -> object:
        raise ZeroDivisionError("by purpose")

    form = form_of(bench, "measure") | {"wedge.depth": "25.5"}
    monkeypatch.setattr(job_form, "solve", broken)
    answer = posted(bench, "/try", **form)
    assert answer.status == 500
    assert "please send this line" in text_of(answer)
    assert "depth = 25.5" in form_in(answer)["_text"]
    assert posted(bench, "/save", **form_in(answer)).status == 303
    assert "depth = 25.5" in job.read_text()


def test_markup_in_what_is_typed_is_text(bench: Bench) -> None:
    """A name is printed on pieces, never obeyed."""
    sign = '<script>alert(1)</script>"&'
    form = form_of(bench, "measure") | {"name": "<script>x</script>", "sides[1]": '<b>"&'}
    answer = posted(bench, "/try", **form)
    edge = posted(bench, "/try", **read_edge(bench, name=sign, limit=sign))
    for page in (answer, edge):
        assert page.status == 200
        assert b"<script>" not in page.body
        assert b'<b>"' not in page.body


@pytest.mark.parametrize("file", ["../secret.dat", "/etc/passwd", "link.dat"])
def test_an_outline_outside_of_the_folder_is_refused(
    bench: Bench, job: Path, tmp_path: Path, file: str
) -> None:
    """Its faults would quote it."""
    (tmp_path / "secret.dat").write_text("hidden words")
    (job.parent / "link.dat").symlink_to(tmp_path / "secret.dat")
    form = form_of(bench, "measure", **AS_TEXT)
    station = re.search(r"thickness = \{.*\}\nrear_at.*\nplus_minus.*", form["_text"])
    assert station is not None
    form["_text"] = form["_text"].replace(
        station[0], f'outline = {{ file = "{file}", from = 0.9, chord = 800.0 }}'
    )
    answer = text_of(posted(bench, "/try", **form))
    assert "lies outside the job's folder" in answer
    assert "hidden" not in answer
    assert "root" not in answer


# ---------------------------------------------------------------- the edge


def test_readings_are_kept_in_a_form_beside_the_job(bench: Bench, job: Path) -> None:
    """``jiggen straight`` reads the same file and says the same."""
    form = read_edge(bench, limit="0.70")
    shown = text_of(posted(bench, "/try", **form))
    assert "Within the limit" in shown
    assert not (job.parent / "trial-edge.toml").exists()
    assert posted(bench, "/save", **form).place == "/edge?done=saved"
    kept = (job.parent / "trial-edge.toml").read_text()
    assert "go = [0, 0.35, 0.45, 0.30, 0]" in kept
    assert "limit = 0.70        # from the plans" in kept
    command = said("straight", job.parent / "trial-edge.toml")
    assert command.status == 0
    words = " ".join(command.out.split())
    page = text_of(got(bench, "/edge"))
    for sentence in re.split(r"(?<=\.) ", words)[0:4]:
        assert sentence.removeprefix("WITHIN THE LIMIT ") in page
    assert posted(bench, "/undo", **form_of(bench, "edge")).status == 303
    assert not (job.parent / "trial-edge.toml").exists()


@pytest.mark.parametrize(
    ("limit", "verdict"),
    [("0.70", "within"), ("0.30", "beyond"), ("0.45", "cannot-tell"), ("", "no-limit-stated")],
)
def test_each_verdict_has_words_and_a_look_of_its_own(
    bench: Bench, limit: str, verdict: str
) -> None:
    """Green, red, yellow and none."""
    answer = posted(bench, "/try", **read_edge(bench, limit=limit))
    found = re.search(rb'class="verdict ([\w-]+)"', answer.body)
    assert found is not None
    assert found[1].decode().startswith(verdict)
    assert "pin first, at 500.0 mm" in text_of(answer)
    assert "--" not in text_of(answer)


def test_a_fault_stands_at_its_field(bench: Bench) -> None:
    """With the key that the command would name."""
    form = read_edge(bench) | {"readings.go[2]": "0,35", "readings.position[3]": ""}
    answer = posted(bench, "/try", **form)
    assert "2 to mend" in text_of(answer)
    for number, key in enumerate(("readings.go[2]", "readings.position[3]"), start=1):
        tag = re.search(rf'<input id="{re.escape(key)}"[^>]*>', answer.body.decode())
        assert tag is not None
        assert 'aria-invalid="true"' in tag[0]
        assert f'aria-describedby="fault-{number}"' in tag[0]
        assert f'id="fault-{number}"' in answer.body.decode()
        assert f'href="#{key}"' in answer.body.decode()
    assert "Goes, row 2 has a comma" in text_of(answer)
    assert "Place, row 3 is blank" in text_of(answer)
    part = posted(bench, "/try", **form, _part="1")
    assert b'data-keys="readings.go[2]"' in part.body
    assert b"<html" not in part.body


def test_the_last_good_plot_stays_grey_while_a_reading_is_wrong(bench: Bench) -> None:
    """Half a number is no reason for an empty page."""
    good = posted(bench, "/try", **read_edge(bench))
    assert b'class="paper"' in good.body
    wrong = posted(bench, "/try", **(read_edge(bench) | {"readings.go[2]": "0.3x"}))
    assert b'class="paper grey"' in wrong.body


def test_another_way_of_reading_has_other_columns(bench: Bench, job: Path) -> None:
    """What was read the old way stays in the file as a comment."""
    posted(bench, "/save", **read_edge(bench))
    form = form_of(bench, "edge") | {"lines": "front", "reads": "height"}
    shown = posted(bench, "/try", **form)
    assert b'name="readings.front_height[1]"' in shown.body
    assert b'name="readings.apart"' not in shown.body
    assert b'name="apart"' in shown.body
    form |= {
        f"readings.{line}_height[{n}]": f"0.{n}" for line in ("front", "rear") for n in range(1, 6)
    }
    assert posted(bench, "/save", **form).status == 303
    kept = (job.parent / "trial-edge.toml").read_text()
    assert "front_height = [0.1, 0.2, 0.3, 0.4, 0.5]" in kept
    assert "# was: go = [0, 0.35, 0.45, 0.30, 0]" in kept


def test_rows_come_and_go(bench: Bench, job: Path) -> None:
    """Between two passes other places are read."""
    posted(bench, "/save", **read_edge(bench))
    form = form_of(bench, "edge")
    form |= {"readings.position[2]": "", "readings.go[2]": "", "readings.no_go[2]": ""}
    form |= {"readings.position[6]": "1100", "readings.go[6]": "0.1", "readings.no_go[6]": "0.2"}
    assert posted(bench, "/save", **form).status == 303
    kept = (job.parent / "trial-edge.toml").read_text()
    assert "position = [0, 500, 750, 1000, 1100]" in kept
    assert "go = [0, 0.45, 0.30, 0, 0.1]" in kept
    more = posted(bench, "/try", **form_of(bench, "edge"), more="30")
    assert b'name="readings.go[30]"' in more.body


def test_the_edge_of_an_inch_job_is_read_in_inches(bench: Bench, job: Path) -> None:
    """A factor of 25 between pass and scrap."""
    job.write_bytes((PROJECT / "templates" / "tapered-inch.toml").read_bytes())
    form = form_of(Bench(job.parent, job), "edge")
    assert "readings.go[1]" in form
    posted(bench, "/save", **(form_of(bench, "edge") | {"readings.go[1]": "1/64"}))
    kept = (job.parent / "trial-edge.toml").read_text()
    assert 'units = "in"' in kept
    assert 'go = ["1/64 in", "", "", "", ""]' in kept


def test_the_chart_for_the_log_is_that_of_the_command(
    bench: Bench, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Byte by byte."""
    monkeypatch.chdir(job.parent)
    posted(bench, "/save", **read_edge(bench, limit="0.70"))
    assert said("straight", "trial-edge.toml", "--plot", "plot.svg").status == 0
    answer = got(bench, "/chart.svg")
    assert answer.file_name == "trial-edge.svg"
    assert answer.body == Path("plot.svg").read_bytes()


def test_what_cannot_be_had_is_one_line_and_no_fault_of_jiggens_own(
    bench: Bench, job: Path, tmp_path: Path
) -> None:
    """A chart of nothing, a folder that is in the way, a disk that refuses."""
    answer = got(bench, "/chart.svg")
    assert answer.status == 409
    assert "holds no reading" in text_of(answer)
    posted(bench, "/make", **form_of(bench, "jigs"))
    bench.jigs.making.wait(60.0)
    (job.parent / "airbrake-edge-trial-piece-jigs").write_text("a file of the user's")
    answer = posted(bench, "/put", **form_of(bench, "jigs"))
    assert answer.status == 409
    assert "is a file, not a folder" in text_of(answer)
    assert (job.parent / "airbrake-edge-trial-piece-jigs").read_text() == "a file of the user's"
    gone = Bench(tmp_path / "gone")
    answer = posted(gone, "/new", starter="prismatic", name="x")
    assert answer.status == 409
    assert "No such file" in text_of(answer)


# ---------------------------------------------------------------- which job


def test_without_a_job_the_folders_jobs_and_the_starters_are_listed(
    job: Path, tmp_path: Path
) -> None:
    """Names from a list; what lies elsewhere is not in it."""
    folder = job.parent
    (folder / "readings.toml").write_text("format = 1\n[readings]\n")
    (folder / "broken.toml").write_text("drill = #40\nx = = 1\n")
    outside = tmp_path / "outside.toml"
    outside.write_bytes(job.read_bytes())
    (folder / "link.toml").symlink_to(outside)
    bench = Bench(folder)
    assert bench.jobs() == ["broken.toml", "trial.toml"]
    page = text_of(got(bench, "/list"))
    assert "trial.toml" in page
    assert "tapered-inch" in page
    assert page.lower().count("example numbers") == 1
    for name in ("link.toml", "../outside.toml", str(outside), ""):
        assert posted(bench, "/open", name=name).status == 400
    assert got(bench, "/measure").place == "/list"
    assert posted(bench, "/open", name="trial.toml").place == "/measure"
    assert got(bench, "/measure").status == 200


def test_a_new_job_is_begun_from_a_starter_and_overwrites_nothing(job: Path) -> None:
    """The first minute of somebody who has never seen a TOML file."""
    bench = Bench(job.parent)
    assert posted(bench, "/new", starter="flap-mm", name="Left flap").place == "/measure"
    shown = text_of(got(bench, "/measure"))
    assert "Type what you measured" in shown
    kept = (job.parent / "Left flap.toml").read_text()
    starter = (PROJECT / "templates" / "flap-mm.toml").read_text()
    assert re.sub(r"#.*", "", kept) != re.sub(r"#.*", "", starter)
    assert (
        posted(bench, "/new", starter="flap-mm", example="1", name="Right flap").place == "/measure"
    )
    assert (job.parent / "Right flap.toml").read_text() == starter
    assert posted(bench, "/new", starter="prismatic", name="trial").status == 409
    for name in ("../x", "a/b", ".hidden", "x" * 61, "a\x00b"):
        assert posted(bench, "/new", starter="prismatic", name=name).status == 400
    assert posted(bench, "/new", starter="nonsense", name="x").status == 400
    found = sorted(path.name for path in job.parent.iterdir())
    assert found == ["Left flap.toml", "Right flap.toml", "trial.toml"]


@pytest.mark.parametrize("starter", sorted(starter_files()))
def test_a_new_job_holds_no_number_that_nobody_typed(starter: str, tmp_path: Path) -> None:
    """A rivet, a miss allowed or a place that is another's judges the part of this one."""
    assert posted(Bench(tmp_path), "/new", starter=starter, name="mine").place == "/measure"
    kept = tomllib.loads((tmp_path / "mine.toml").read_text())
    assert not re.search(r"\d", str(kept | {"format": "", "print": ""}))
    assert kept.get("print", {}).keys() <= {"paper"}
    assert kept.get("rivet", {}) == kept.get("allow", {}) == {}
    assert not any("plus_minus" in station for station in kept["wedge"]["station"])


@pytest.mark.parametrize("other", ["included_angle", "offsets", "skin_angles"])
def test_what_was_said_of_a_reading_comes_back_with_its_way_of_measuring(
    bench: Bench, job: Path, other: str
) -> None:
    """Its plus-minus, and how far its rear line lies from the edge; never another way's."""
    was = job_form.draft(job.read_text(), {"wedge.station[1].plus_minus.rear": "0.03"})
    there = job_form.draft(was, {"way": other})
    doubt = "plus_minus.angle" if other == "included_angle" else "plus_minus"
    there = job_form.draft(there, {f"wedge.station[1].{doubt}": "0.25"})
    back = job_form.draft(there, {"way": "thickness"})
    assert tomllib.loads(back) == tomllib.loads(was)
    again = job_form.draft(back, {"way": other})
    assert tomllib.loads(again) == tomllib.loads(there)


def test_a_check_leads_to_each_value_that_it_is_about(bench: Bench, job: Path) -> None:
    """A drill that does not go with the rivet: the rivet may be what is wrong."""
    job.write_text(job.read_text().replace('drill = "#30"', 'drill = "#40"'))
    page = got(bench, "/measure").body.decode()
    stop = re.search(r'<li data-look="holes.drill rivet.size".*?</li>', page, re.DOTALL)
    assert stop is not None
    links = re.findall(r'href="#([^"]*)">([^<]*)<', stop[0])
    assert links == [("holes.drill", "drill for the rivet"), ("rivet.size", "Rivet: Size")]
    assert 'id="rivet.size"' in page


@pytest.mark.parametrize("strip", ["", 'zero = "left"\n', 'zero = "right"\n'])
def test_hole_1_lies_at_the_hand_of_the_strip_on_paper(bench: Bench, job: Path, strip: str) -> None:
    """Both with side A up, the trailing edge toward the builder; the picture says so."""
    job.write_text(f"{job.read_text()}\n[strip]\n{strip}")
    picture = got(bench, "/measure").body.decode().partition('class="drawn span"')[2]
    seen = re.findall(r'x="([\d.]+)"[^>]*>hole (1|36)<', picture)
    assert "trailing edge toward you, side A up" in picture.partition("</svg>")[0]
    drawn = draw(job_form.solved(job, job.read_text()), formats=("pdf",), only=("strip",))
    roll = drawn.rolls[0].placed[0].piece
    texts = [mark.shape for mark in roll.marks if isinstance(mark.shape, Text)]
    paper = [(text.at[0], text.text) for text in texts if text.text in ("1", "36")]
    assert len(seen) == len(paper) == 2
    order = [n for _, n in sorted((float(x), n) for x, n in seen)]
    assert order == [n for _, n in sorted(paper)]
    assert order == (["1", "36"] if "left" in strip else ["36", "1"])


def test_a_unit_is_set_apart_from_what_is_measured(bench: Bench, job: Path) -> None:
    """An inch is written as a word that runs on: "Skin in", "Rear line at in"."""
    job.write_text(job.read_text().replace('units = "mm"', 'units = "in"'))
    for screen, apart in (("measure", "Skin, in"), ("jigs", "Kerf, in"), ("edge", "Place, in")):
        page = got(bench, f"/{screen}")
        labels = re.findall(r"<(?:label|th)\b[^>]*>(.*?)</(?:label|th)>", page.body.decode())
        words = [re.sub(r"<[^>]*>", "", label) for label in labels]
        assert apart in words
        assert [word for word in words if re.search(r"[^,] (in|mm|deg)$", word)] == []


def test_the_old_file_stays_beside_the_new_one(bench: Bench, job: Path) -> None:
    """Until the next Save."""
    form = form_of(bench, "measure") | {"wedge.depth": "25.5"}
    old = job.read_bytes()
    posted(bench, "/save", **form)
    assert (job.parent / f"{BEFORE}trial.toml").read_bytes() == old


def test_the_measuring_sheet_is_that_of_the_command(bench: Bench, job: Path) -> None:
    """To take to the part before any job file; in the job's unit where there is one."""
    for units, starter in (("mm", "prismatic"), ("in", "tapered-inch")):
        job.write_text(job.read_text().replace('units = "mm"', f'units = "{units}"'))
        out = job.with_name(f"{starter}.toml")
        assert said("new", starter, "--sheet", "--out", out).status == 0
        answer = got(bench, "/sheet.pdf")
        assert answer.body == out.with_name(f"{starter}-sheet.pdf").read_bytes()
