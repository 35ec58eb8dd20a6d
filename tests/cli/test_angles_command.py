"""``jiggen angles``: the numbers, for people and for programs."""

import io
import json
import math
import re
from pathlib import Path

import pytest
from commandline import FLAP, PROJECT, TOO_NEAR, process, said
from msgspec.structs import replace

from jiggen.job.read import read_job_text
from jiggen.job.starters import starter_files
from jiggen.report.angles import angles_text
from jiggen.report.tables import limits
from jiggen.report.terminal import Terminal, terminal_of
from jiggen.solution import Solution
from jiggen.solve import solve

NINE = [
    "skin_angle_a", "skin_angle_b", "included_angle", "guide_forward_a", "guide_aft_a",
    "guide_forward_b", "guide_aft_b", "lean_a", "lean_b",
]  # fmt: skip


def solved(text: str = FLAP) -> Solution:
    """Return a job text solved."""
    return solve(read_job_text(text, "flap.toml", Path()))


def test_the_json_has_the_keys_of_the_contract_in_their_order(flap: Path) -> None:
    """A spreadsheet that reads column by column would put angles under the wrong heading."""
    answer = json.loads(said("angles", flap, "--json").out)
    assert list(answer) == [
        "format", "job", "sides", "stations", "holes", "guides", "checks", "numbers",
    ]  # fmt: skip
    assert list(answer["numbers"][0]) == ["id", "label", "value", "unit", "source", "note"]
    assert list(answer["stations"][0]) == ["at", *NINE, "plus_minus_a", "plus_minus_b"]
    assert list(answer["holes"][0]) == [
        "number", "at", "drill_now", "order", "thickness", "grip", *NINE,
        "drift_if_square_to_a", "drift_if_square_to_b",
    ]  # fmt: skip
    assert list(answer["guides"][0]) == [
        "name", "side", "angle", "first_hole", "last_hole", "worst_angle_error", "worst_drift",
    ]  # fmt: skip
    assert list(answer["checks"][0]) == [
        "name", "status", "value", "limit", "unit", "why", "source", "id", "keys",
    ]  # fmt: skip
    assert answer["format"] == 1
    assert answer["sides"] == ["upper", "lower"]


def test_the_json_is_one_object_and_nothing_else(flap: Path) -> None:
    """A stray line before the object breaks every program that reads it."""
    answer = said("angles", flap, "--json")
    assert answer.status == 0
    assert answer.err == ""
    assert answer.out.endswith("}\n")
    assert answer.out.count("\n") == 1
    assert answer.out.isascii()


def test_the_json_says_degrees_and_mm_unrounded(flap: Path) -> None:
    """An angle rounded for people would cost a second rounding when a program uses it.

    Source: tan(alpha) linear along the span is this project's rule (DERIVED); hole 2 is at 41 mm.
    """
    answer = json.loads(said("angles", flap, "--json").out)
    first, hole = answer["stations"][0], answer["holes"][1]
    assert first["skin_angle_a"] == pytest.approx(7.5, abs=1e-12)
    assert first["guide_forward_a"] == pytest.approx(82.5, abs=1e-12)
    assert first["guide_aft_b"] == pytest.approx(93.0, abs=1e-12)
    assert first["plus_minus_b"] == pytest.approx(0.05, abs=1e-12)
    share = 41.0 / 1700.0
    tan_a = (1 - share) * math.tan(math.radians(7.5)) + share * math.tan(math.radians(5.5))
    tan_b = (1 - share) * math.tan(math.radians(3.0)) + share * math.tan(math.radians(2.6))
    assert hole["skin_angle_a"] == pytest.approx(math.degrees(math.atan(tan_a)), abs=1e-11)
    assert hole["thickness"] == pytest.approx(0.8 + 8.0 * (tan_a + tan_b), abs=1e-11)


def test_every_angle_of_the_json_is_under_its_own_name(flap: Path) -> None:
    """Side A's angle under side B's name is a guide for the wrong skin.

    Source: the definitions of the frame, DERIVED: forward 90 - alpha, aft 90 + alpha, lean
    90 - atan(slope along the span), drift h tan(a) / (1 - tan(a) tan(b)).
    """
    answer = json.loads(said("angles", flap, "--json").out)
    for row in (*answer["stations"], *answer["holes"]):
        a, b = row["skin_angle_a"], row["skin_angle_b"]
        assert a > b + 2
        assert row["included_angle"] == pytest.approx(a + b, abs=1e-10)
        for side, alpha in (("a", a), ("b", b)):
            assert row[f"guide_forward_{side}"] == pytest.approx(90 - alpha, abs=1e-10)
            assert row[f"guide_aft_{side}"] == pytest.approx(90 + alpha, abs=1e-10)
    for side, near, far in (("a", 7.5, 5.5), ("b", 3.0, 2.6)):
        slope = 8.0 * (math.tan(math.radians(far)) - math.tan(math.radians(near))) / 1700.0
        lean = 90 - math.degrees(math.atan(slope))
        assert answer["stations"][0][f"lean_{side}"] == pytest.approx(lean, abs=1e-9)
        assert answer["holes"][30][f"lean_{side}"] == pytest.approx(lean, abs=1e-9)
    hole = answer["holes"][30]
    tan_a, tan_b = (math.tan(math.radians(hole[f"skin_angle_{side}"])) for side in "ab")
    for side, slope in (("a", tan_a), ("b", tan_b)):
        drift = hole["thickness"] * slope / (1 - tan_a * tan_b)
        assert hole[f"drift_if_square_to_{side}"] == pytest.approx(drift, abs=1e-9)
    assert {guide["side"] for guide in answer["guides"]} == {"a", "b"}
    for guide in answer["guides"]:
        served = [
            row[f"guide_forward_{guide['side']}"]
            for row in answer["holes"]
            if guide["first_hole"] <= row["number"] <= guide["last_hole"]
        ]
        assert min(served) <= guide["angle"] <= max(served)


def test_the_job_s_units_change_no_number_in_the_json(tmp_path: Path) -> None:
    """JSON is always mm: a program need not know what the user measured with."""
    inch = tmp_path / "inch.toml"
    text = FLAP.replace('units = "mm"', 'units = "in"')
    for number in ("rear_thickness = 0.8", "depth = 20.0", "thickness = 0.5", "line = 8.0",
                   "first = 15.0", "pitch = 26.0", "kerf = 0.15", "at = 1700.0"):  # fmt: skip
        key, value = number.split(" = ")
        text = text.replace(f"{number}\n", f'{key} = "{value} mm"\n')
    inch.write_text(text, "utf-8")
    plain = tmp_path / "mm.toml"
    plain.write_text(FLAP, "utf-8")
    from_inch = json.loads(said("angles", inch, "--json").out)
    from_mm = json.loads(said("angles", plain, "--json").out)
    assert from_inch["holes"] == from_mm["holes"]
    assert from_inch["stations"] == from_mm["stations"]


def test_what_the_job_does_not_say_is_null_in_the_json(tmp_path: Path) -> None:
    """A made-up grip would be cut as a rivet of the wrong length."""
    job = tmp_path / "bare.toml"
    job.write_text(
        'format = 1\nname = "bare"\nunits = "mm"\n[wedge]\n[[wedge.station]]\nat = 0\n'
        "included_angle = 9.0\n[holes]\ndrill = 2.5\nline = 8\npositions = [10, 40]\n",
        "utf-8",
    )
    hole = json.loads(said("angles", job, "--json").out)["holes"][0]
    assert hole["thickness"] is None
    assert hole["grip"] is None
    assert hole["skin_angle_a"] == pytest.approx(4.5)


def test_the_table_says_what_the_json_says(flap: Path) -> None:
    """The page on the bench and the program must not disagree."""
    numbers = json.loads(said("angles", flap, "--json").out)
    shown = said("angles", flap, "--all").out
    for hole in numbers["holes"]:
        row = next(
            line.split() for line in shown.splitlines() if line.split()[:1] == [str(hole["number"])]
        )
        assert row[1] == f"{hole['at']:.2f}"
        assert f"{hole['thickness']:.2f}" in row
        assert f"{hole['guide_forward_a']:.2f}" in row
        assert f"{hole['drift_if_square_to_b']:.3f}" in row
        assert ("leave" in row) == (not hole["drill_now"])


def test_a_job_in_inches_is_reported_in_inches(tmp_path: Path) -> None:
    """A builder with an inch rule must not read millimetres as thousandths."""
    job = tmp_path / "inch.toml"
    said("new", "tapered-inch", "--out", job)
    number = json.loads(said("angles", job, "--json").out)["holes"][0]
    shown = said("angles", job, "--all").out
    assert "Lengths in inches" in shown
    assert f"{number['at'] / 25.4:.4f}" in shown
    assert f"{number['thickness'] / 25.4:.4f}" in shown
    assert not re.search(r"\d mm\b", said("angles", job).out)


def a_sample_or_a_starter() -> list[Path]:
    """Return the job of every sample and every starter."""
    return [*sorted(PROJECT.glob("samples/*/job.toml")), *starter_files().values()]


@pytest.mark.parametrize("job", a_sample_or_a_starter(), ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_the_answer_is_one_look_and_says_where_the_rest_is(job: Path) -> None:
    """What scrolls off the screen is not read; what is left out must be known to be there."""
    answer = said("angles", job)
    lines = answer.out.splitlines()
    assert (answer.status, answer.err) == (0, "")
    assert len(lines) <= 25
    # The band comes first: its word, and at most three sentences.
    assert lines[0].split()[0] in ("GO", "LOOK", "STOP")
    assert 2 <= lines.index("") <= 4
    guides = [line for line in lines if line.startswith("guide ")]
    assert guides == lines[lines.index("") + 1 :][: len(guides)]
    told = json.loads(said("angles", job, "--json").out)
    for guide in told["guides"]:
        assert any(f" {guide['angle']:.1f} deg " in line for line in guides)
    more = re.fullmatch(r"(\d+) numbers more: jiggen angles (.+) --all", lines[-1])
    assert more
    assert more[2] == str(job)
    assert int(more[1]) > len(told["holes"])
    assert len(said("angles", job, "--all").out.splitlines()) > len(told["holes"]) + len(lines)


def test_the_word_of_the_band_follows_from_the_checks(tmp_path: Path) -> None:
    """GO over a hole that breaks out at the edge is a wedge for the bin."""
    job = tmp_path / "job.toml"
    for text, word in (
        (FLAP.replace("pitch = 26.0", "pitch = 24.0"), "GO"),
        (FLAP, "LOOK"),
        (TOO_NEAR, "STOP"),
    ):
        job.write_text(text, "utf-8")
        checks = json.loads(said("angles", job, "--json").out)["checks"]
        found = {check["status"] for check in checks}
        wanted = "STOP" if "fail" in found else "LOOK" if "warn" in found else "GO"
        assert said("angles", job).out.split()[0] == word == wanted


def test_more_sentences_than_three_are_counted() -> None:
    """The fourth reason to stop must not vanish."""
    text = TOO_NEAR.replace("pitch = 26.0", "pitch = 5.6").replace(
        "[cut]", "[rivet]\nsize = '-3'\n[cut]"
    )
    band = angles_text(solved(text), Terminal()).split("\n\n")[0].splitlines()
    assert len(band) == 4
    assert re.fullmatch(r" +And \d+ more: see angles --all\.", band[3])


#: What the trade does not say, or what means two things.
NOT_SAID = re.compile(
    r"low side|let in\b|\bdrift|\bleans?\b|not now|as counted|\bpins?\b|head edge|dimple axis"
    r"|grey left|along [xy]\b|\bnest\b|\bcheek|low end|practice piece",
    re.IGNORECASE,
)


@pytest.mark.parametrize("job", a_sample_or_a_starter(), ids=lambda p: f"{p.parent.name}-{p.stem}")
def test_the_report_speaks_the_words_of_the_trade(job: Path) -> None:
    """A word that was made up here is looked for in the books in vain.

    Keys of the job file (``allow.drift``) are called what they are called.
    """
    text = re.sub(r"\ballow\.\w+", "", " ".join(said("angles", job, "--all").out.split()))
    assert NOT_SAID.findall(text) == []


def test_every_hole_and_the_order_of_drilling_are_there_on_request(flap: Path) -> None:
    """Holes drilled from one end walk the wedge out from under the last punched hole."""
    whole = said("angles", flap, "--all").out
    numbered = re.compile(r"^ *(\d+) +\d+\.\d\d +(?:\d+|leave) ", re.MULTILINE)
    assert [int(n) for n in numbered.findall(whole)] == list(range(1, 65))
    assert "from the middle out: 33 to 63, then 32 to 2. Leave alone: 1, 64." in whole
    assert "holes 1, 64" in said("angles", flap).out


def test_nothing_is_ever_cut_short_by_dots() -> None:
    """An angle that ends in dots is an angle that somebody guesses."""
    shown = angles_text(solved(), Terminal(width=60), every=True)
    assert max(len(line) for line in shown.splitlines()) > 60
    for text in (shown, angles_text(solved(), Terminal())):
        assert "\u2026" not in text
        assert "..." not in text


def test_a_pipe_gets_plain_text_that_does_not_depend_on_the_window(flap: Path) -> None:
    """A log that is compared with last week's must not change with the size of a window."""
    wide = process("angles", flap, folder=flap.parent, COLUMNS="200")
    narrow = process("angles", flap, folder=flap.parent, COLUMNS="40", FORCE_COLOR="1")
    assert wide == narrow
    assert "\x1b" not in wide.out
    assert all(line == line.rstrip() for line in wide.out.splitlines())


def test_colour_only_with_a_terminal_that_wants_it() -> None:
    """Colour codes in a log, or for someone who asked for none, are noise."""
    solution = solved()
    assert "\x1b[" in angles_text(solution, Terminal(colour=True), every=True)
    assert "\x1b[" not in angles_text(solution, Terminal(colour=False), every=True)


def test_the_terminal_is_asked_before_it_is_coloured(monkeypatch: pytest.MonkeyPatch) -> None:
    """Source: NO_COLOR, no-color.org (from memory): set and not empty means no colour."""

    class Screen(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)
    assert terminal_of(Screen()).colour
    assert not terminal_of(io.StringIO()).colour
    monkeypatch.setenv("NO_COLOR", "")
    assert terminal_of(Screen()).colour
    monkeypatch.setenv("NO_COLOR", "1")
    assert not terminal_of(Screen()).colour
    monkeypatch.delenv("NO_COLOR")
    monkeypatch.setenv("TERM", "dumb")
    assert not terminal_of(Screen()).colour


def test_what_limits_many_stations_alike_is_said_once() -> None:
    """Forty times the same sentence hides the one that differs."""
    alike = [f"station {n}, upper: the width limits it" for n in range(1, 41)]
    other = "station 41, upper: the front limits it"
    assert limits([*alike, other]) == [
        "station 1, upper to station 40, upper, 40 in all: the width limits it",
        other,
    ]
    differing = [f"station {n}: known to {n} deg" for n in range(1, 12)]
    assert limits(differing) == differing


def test_colour_changes_no_word_of_the_report() -> None:
    """What is coloured must say the same to someone who sees no colour."""
    solution = solved()
    coloured = angles_text(solution, Terminal(colour=True), every=True)
    bare = re.sub(r" *$", "", re.sub(r"\x1b\[[0-9;]*m", "", coloured), flags=re.MULTILINE)
    assert bare == angles_text(solution, Terminal(), every=True)


def test_a_terminal_code_in_a_name_is_shown_and_not_obeyed() -> None:
    """A job file from a stranger must not clear the screen or hide a warning."""
    solution = solved()
    job = replace(solution.job, name="flap \x1b[2Jgone\x07")
    named = replace(solution, job=job)
    for colour, every in ((False, False), (True, False), (False, True), (True, True)):
        shown = angles_text(named, Terminal(colour=colour), every=every)
        assert "\x1b[2J" not in shown
        assert "\x07" not in shown
        assert "gone" in shown


def test_a_terminal_of_bare_ascii_is_served(flap: Path) -> None:
    """A shop computer with an old code page must not crash on a plus-minus sign."""
    for changes in ({"PYTHONIOENCODING": "ascii"}, {"LC_ALL": "C", "PYTHONUTF8": "0"}):
        shown = process("angles", flap, folder=flap.parent, **changes)
        assert shown.status == 0, shown.err
    for words, known in (((), "+-0.05 deg"), (("--all",), "7.50 +-0.05")):
        plain = process("angles", flap, *words, folder=flap.parent, PYTHONIOENCODING="ascii")
        assert plain.out.isascii()
        assert known in plain.out


def test_a_failed_check_counts_only_under_strict(tmp_path: Path) -> None:
    """A script that gates on the exit status must see the hole too near to the edge."""
    job = tmp_path / "near.toml"
    job.write_text(TOO_NEAR, "utf-8")
    relaxed, strict = said("angles", job), said("angles", job, "--strict")
    assert (relaxed.status, strict.status) == (0, 1)
    assert relaxed.out == strict.out
    assert relaxed.err == ""
    assert all(line.startswith(f"{job}: check ") for line in strict.faults)
    assert any("edge distance" in line for line in strict.faults)


def test_warnings_do_not_count_under_strict(flap: Path) -> None:
    """A file without its kerf is warned of; that is not a failure."""
    text = "".join(
        line for line in flap.read_text().splitlines(keepends=True) if not line.startswith("kerf")
    )
    flap.write_text(text)
    answer = said("angles", flap, "--strict")
    assert answer.out.startswith("LOOK ")
    assert (answer.status, answer.err) == (0, "")


def test_angles_writes_no_file(flap: Path) -> None:
    """Asking for numbers must leave the folder as it is."""
    said("angles", flap)
    said("angles", flap, "--json")
    assert [path.name for path in flap.parent.iterdir()] == ["flap.toml"]


def test_guides_that_are_drawn_as_one_piece_are_named_as_the_drawing_has_it(
    flap: Path, tmp_path: Path
) -> None:
    """Who looks for guide b1 among the drawings of a symmetric edge finds guide-1 only."""
    job, out = tmp_path / "aileron.toml", tmp_path / "out"
    said("new", "tapered-inch", "--out", job)
    text = said("angles", job).out
    assert re.findall(r"(?m)^guide (\S+) +\S+ deg  upper and lower  ", text) == ["1"]
    said("make", job, "--as", "svg", "--only", "guide", "--out", out)
    drawn = {file.stem for file in (out / "pieces").iterdir()}
    assert "guide-1" in drawn
    assert not any(name.startswith(("guide-a", "guide-b")) for name in drawn)
    assert re.findall(r"(?m)^guide (\S+) ", said("angles", flap).out) == ["a1", "b1"]
