"""The Edge screen: its numbers are those of straight, its passes those of the sheet, kept."""

import json
import re
import shutil
import tomllib
from html import unescape
from pathlib import Path

import pytest
from asking import form_in, form_of, got, posted, text_of
from commandline import PROJECT, said
from hypothesis import given, settings
from hypothesis import strategies as st

from jiggen.page.answers import Bench
from jiggen.page.plot import LEFT, RIGHT
from jiggen.page.request import Answer


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return a job with a rivet and with stock, in a folder of its own."""
    (tmp_path / "shop").mkdir()
    return Path(shutil.copy(PROJECT / "templates" / "stock.toml", tmp_path / "shop" / "trial.toml"))


def boxes(answer: Answer) -> dict[int, bool]:
    """Return the holes of the pass that is shown, in order, and which are ticked."""
    found = re.findall(r'name="tick\[(\d+)\]" value="1"( checked)?', answer.body.decode())
    return {int(hole): bool(ticked) for hole, ticked in found}


def passes(answer: Answer) -> list[str]:
    """Return the names of the passes that can be picked."""
    return re.findall(r'name="at" value="(pass-\d+)"', answer.body.decode())


def form_at(bench: Bench, which: str, *holes: int) -> dict[str, str]:
    """Return the form at a pass with these boxes ticked, as a browser would send it."""
    form = form_of(bench, "edge", at=which)
    every = boxes(got(bench, "/edge", at=which))
    form = {name: value for name, value in form.items() if not name.startswith("tick[")}
    return form | {f"tick[{hole}]": "1" for hole in every if hole in holes}


@settings(max_examples=12, deadline=None)
@given(
    gaps=st.lists(st.integers(0, 120), min_size=3, max_size=9),
    limit=st.integers(1, 150),
    units=st.sampled_from(["mm", "in"]),
)
def test_each_number_is_that_of_straight(
    gaps: list[int], limit: int, units: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """On random gaps: verdict, zone, bow and pin, the plot's own places too."""
    folder = tmp_path_factory.mktemp("edge")
    job = folder / "trial.toml"
    text = (PROJECT / "templates" / "prismatic.toml").read_text()
    job.write_text(text.replace('units = "mm"', f'units = "{units}"'))
    bench = Bench(folder, job)
    one, mm = (1.0, 1.0) if units == "mm" else (0.001, 25.4)
    form = form_of(bench, "edge") | {"reads": "gap"}
    assert posted(bench, "/save", **form).status == 303
    form = form_of(bench, "edge") | {"limit": f"{limit * 0.01 * one:.5f}"}
    for n in range(1, 20):
        form[f"readings.position[{n}]"] = f"{n * 100 * one * 25:g}" if n <= len(gaps) else ""
        form[f"readings.gap[{n}]"] = f"{gaps[n - 1] * 0.01 * one:.5f}" if n <= len(gaps) else ""
    shown = posted(bench, "/try", **form)
    assert posted(bench, "/save", **form).status == 303
    numbers = json.loads(said("straight", folder / "trial-edge.toml", "--json").out)
    for answer in (shown, got(bench, "/edge")):
        page = answer.body.decode()
        verdict = re.search(r'class="verdict ([\w-]+)"', page)
        assert verdict is not None
        assert verdict[1] == numbers["verdict"].replace(" ", "-")
        zone = numbers["lines"]["deviation"]["minimum_zone"]["width"]
        wide = re.search(rf"zone, (\d+\.(\d+)) {units} wide", text_of(answer))
        assert wide is not None
        assert float(wide[1]) == pytest.approx(zone / mm, abs=0.51 * 0.1 ** len(wide[2]))
        for bow in numbers["bows"][:1]:
            pin = re.search(rf"pin first, at ([\d.]+) {units}", text_of(answer))
            assert pin is not None
            assert float(pin[1]) == pytest.approx(bow["position"] / mm, abs=0.051)
        points = re.findall(r'<circle class="dot line-0" cx="([\d.]+)" cy="([\d.]+)"', page)
        read = numbers["lines"]["deviation"]
        assert len(points) - 1 == len(read["position"])  # the legend has one
        dots = [(float(x), float(y)) for x, y in points if x != "20"]
        places, highs = zip(*dots, strict=True)
        assert (places[0], places[-1]) == (LEFT, RIGHT)
        strip = read["minimum_zone"]
        pairs = zip(read["position"], read["deviation"], strict=True)
        off = [dev - strip["at_zero"] - strip["slope"] * at for at, dev in pairs]
        low, high = min(off), max(off)
        if high - low > 0.001:  # a picture of heights, whatever its scale
            drawn = [(max(highs) - y) / (max(highs) - min(highs)) for y in highs]
            assert drawn == pytest.approx([(one - low) / (high - low) for one in off], abs=0.01)
        span = read["position"][-1] - read["position"][0]
        shares = [(at - read["position"][0]) / span for at in read["position"]]
        found = [(x - places[0]) / (places[-1] - places[0]) for x in places]
        assert found == pytest.approx(shares, abs=1e-3)


def cells_in(form: dict[str, str], *names: str) -> list[list[str]]:
    """Return the columns of a form, down to the last row that has anything."""
    rows = range(1, 1 + sum(key.startswith("readings.position[") for key in form))
    columns = [[form.get(f"readings.{name}[{n}]", "") for n in rows] for name in names]
    used = max((n for column in columns for n, cell in enumerate(column, 1) if cell), default=0)
    return [column[:used] for column in columns]


BLADES = [["100", "200", "300"], ["0.10", "0.22", "0"], ["0.15", "0.25", "0.05"]]
NAMES = ("position", "go", "no_go")


@pytest.mark.parametrize("saves", [False, True])
@pytest.mark.parametrize("pick", [{"reads": "height"}, {"lines": "sides"}, {"reads": "gap"}])
def test_what_was_read_one_way_comes_back_after_another(
    bench: Bench, pick: dict[str, str], saves: bool
) -> None:
    """Saved or only typed, with a cell that was changed in the same moment."""

    def pressed(form: dict[str, str]) -> dict[str, str]:
        if saves:
            assert posted(bench, "/save", **form).status == 303
            return form_of(bench, "edge")
        return form_in(posted(bench, "/try", **form))

    form = form_of(bench, "edge") | {f"readings.position[{n}]": "" for n in range(1, 6)}
    for name, column in zip(NAMES, BLADES, strict=True):
        form |= {f"readings.{name}[{n}]": cell for n, cell in enumerate(column, 1)}
    form = pressed(form | {"readings.go[2]": "0.20"})
    other = pressed(form | {"readings.go[2]": "0.22"} | pick)
    assert not cells_in(other, "go", "no_go")[0]
    again = pressed(other | {"lines": "one", "reads": "blades"})
    assert cells_in(again, *NAMES) == BLADES
    other = pressed(again | pick)  # a place that is given up there goes with what was read at it
    other |= {key: "" for key in other if key.startswith("readings.") and key.endswith("[2]")}
    again = pressed(other | {"lines": "one", "reads": "blades"})
    assert cells_in(again, *NAMES) == [[column[0], column[2]] for column in BLADES]


def test_the_passes_are_those_of_the_sheet(bench: Bench, job: Path) -> None:
    """Each hole to rivet once, half set, from the middle out; then all of them once more."""
    holes = json.loads(said("angles", job, "--json").out)["holes"]
    drilled = {hole["number"] for hole in holes if hole["drill_now"]}
    names = passes(got(bench, "/edge"))
    found = [list(boxes(got(bench, "/edge", at=name))) for name in names]
    *half, full = found
    assert sorted(hole for some in half for hole in some) == sorted(drilled)
    assert full == [hole for some in half for hole in some]
    assert "half set" in text_of(got(bench, "/edge", at=names[0]))
    assert "set fully, same order" in text_of(got(bench, "/edge", at=names[-1]))


def test_what_is_ticked_is_kept_with_the_readings_and_straight_passes_over_it(
    bench: Bench, job: Path
) -> None:
    """In the order of the pass; readings and other passes stay as they are."""
    first, second = passes(got(bench, "/edge"))[:2]
    all_first = list(boxes(got(bench, "/edge", at=first)))
    kept = job.with_name("trial-edge.toml")
    form = form_of(bench, "edge") | {"limit": "0.70"}
    for n, gap in enumerate(("0", "0.35", "0"), start=1):
        form |= {f"readings.go[{n}]": gap, f"readings.no_go[{n}]": f"{float(gap) + 0.05:.2f}"}
    assert posted(bench, "/save", **form).status == 303
    before = said("straight", kept, "--json").out
    form = form_at(bench, first, *all_first[:2])
    assert f"2 of {len(all_first)}" in text_of(posted(bench, "/try", **form))
    assert "ticked" not in tomllib.loads(kept.read_text())
    assert posted(bench, "/save", **form).place == f"/edge?done=saved&at={first}"
    assert tomllib.loads(kept.read_text())["ticked"] == {first: all_first[:2]}
    form = form_at(bench, second, *boxes(got(bench, "/edge", at=second)))
    page = posted(bench, "/save", **form)
    page = got(bench, "/edge", at=second)
    assert all(boxes(page).values())
    assert "Lay the straightedge on" in text_of(page)
    assert said("straight", kept, "--json").out == before
    posted(bench, "/save", **form_at(bench, first))
    assert tomllib.loads(kept.read_text())["ticked"][first] == []
    assert not any(boxes(got(bench, "/edge", at=first)).values())


def test_ticks_that_are_not_saved_yet_go_along_to_another_pass(bench: Bench, job: Path) -> None:
    """The tab that is pressed is not the pass whose boxes are sent."""
    first, second = passes(got(bench, "/edge"))[:2]
    hole = next(iter(boxes(got(bench, "/edge", at=first))))
    moved = posted(bench, "/try", **form_at(bench, first, hole) | {"at": second})
    assert hole not in boxes(moved)
    assert "1 not saved" in text_of(moved)
    carried = re.search(r'name="_text" hidden>\n(.*?)</textarea>', moved.body.decode(), re.DOTALL)
    assert carried is not None
    assert tomllib.loads(unescape(carried[1]))["ticked"] == {first: [hole]}


def test_a_job_without_a_rivet_has_its_drilling_order(bench: Bench, job: Path) -> None:
    """With the side that each pin goes in from."""
    text = job.read_text()
    start = text.index("[rivet]")
    job.write_text(text[:start] + text[text.index("\n[", start + 1) + 1 :])
    numbers = json.loads(said("angles", job, "--json").out)
    order = {hole["order"]: hole["number"] for hole in numbers["holes"] if hole["order"]}
    names = passes(got(bench, "/edge"))
    found = [hole for name in names for hole in boxes(got(bench, "/edge", at=name))]
    assert found == [order[n] for n in sorted(order)]
    assert "Run 1" in text_of(got(bench, "/edge"))


def test_the_trim_plan_is_drawn_on_the_stock(bench: Bench, job: Path) -> None:
    """With the cuts that ``angles`` tells; without stock there is none."""
    best = json.loads(said("angles", job, "--json").out)["trim"]["placements"][0]
    answer = got(bench, "/edge")
    assert answer.body.count(b'class="trim"') == 1
    for cut in best["cuts"]:
        assert f"from the stock's zero end {cut['on_stock']:.2f} mm" in text_of(answer)
    text = job.read_text()
    start = text.index("[stock]")
    after = re.search(r"\n\[(?!\[?stock)", text[start:])
    job.write_text(text[:start] + (text[start + after.start() + 1 :] if after else ""))
    assert b'class="trim"' not in got(bench, "/edge").body


def test_the_edge_is_judged_while_the_job_is_half_typed(bench: Bench, job: Path) -> None:
    """Straightness needs no angles; the order and the trim plan wait."""
    job.write_text(job.read_text().replace("[holes]", "[holes]\nnonsense = 1"))
    form = form_of(bench, "edge") | {"limit": "0.70"}
    for n in (1, 2, 3):
        form |= {f"readings.go[{n}]": "0.1", f"readings.no_go[{n}]": "0.2"}
    answer = posted(bench, "/try", **form)
    assert b'class="plot"' in answer.body
    assert passes(answer) == []


@pytest.mark.parametrize(
    "more", [{"ticks": "pass-1", "tick[0]": "1"}, {"tick[1": "1"}, {"ticks": "elsewhere"}]
)
def test_what_is_no_tick_is_refused_or_changes_nothing(
    bench: Bench, job: Path, more: dict[str, str]
) -> None:
    """A form that this page did not make."""
    answer = posted(bench, "/try", **form_of(bench, "edge") | more)
    assert answer.status == 400 or "not saved" not in text_of(answer)
