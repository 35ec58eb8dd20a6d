"""Rivet and countersink as the command line tells them, and as the cover page does."""

import json
import re
from pathlib import Path

import pytest
from commandline import FLAP, said

RIVET = '\n[rivet]\nsize = "-3"\nshop_head = "bucked"\n'
FLUSH = RIVET.replace("bucked", "flush")
#: A wedge thick enough for two countersinks; FLAP itself is left with a knife edge.
THICK = FLAP.replace("rear_thickness = 0.8", "rear_thickness = 2.0")
RIVET_KEYS = [
    "rivet_length", "rivet_ordered", "rivet_code", "countersink_a", "countersink_b",
    "land_on_axis", "land", "land_square_to_chord", "land_square_to_face", "land_plus_minus",
]  # fmt: skip
SCRAP = "derived geometry: try it in scrap first"


def written(tmp_path: Path, text: str) -> Path:
    job = tmp_path / "job.toml"
    job.write_text(text, "utf-8")
    return job


def test_the_json_gains_the_rivets_keys_and_loses_none(tmp_path: Path) -> None:
    """A program that reads the old keys must go on reading them."""
    plain = json.loads(said("angles", written(tmp_path, THICK), "--json").out)["holes"]
    rivet = json.loads(said("angles", written(tmp_path, THICK + RIVET), "--json").out)["holes"]
    assert list(rivet[0]) == [*plain[0], *RIVET_KEYS]
    for before, after in zip(plain, rivet, strict=True):
        assert {key: after[key] for key in before} == before
    hole = rivet[10]
    assert hole["rivet_length"] == pytest.approx(hole["grip"] + 1.5 * 2.38125)
    assert hole["rivet_code"] == f"3-{hole['rivet_ordered'] * 16 / 25.4:g}"
    assert hole["land"] == hole["land_square_to_chord"] < hole["land_square_to_face"]
    one, other = hole["countersink_a"]["sunk"], hole["countersink_b"]["sunk"]
    assert hole["land"] == pytest.approx(hole["thickness"] - max(one, other))


def test_what_the_job_does_not_say_is_null_in_the_rivets_json(tmp_path: Path) -> None:
    """A length that was guessed at is ordered like any other."""
    text = THICK.replace("[skin]\nthickness = 0.5\n", "") + RIVET
    hole = json.loads(said("angles", written(tmp_path, text), "--json").out)["holes"][0]
    assert [hole[key] for key in RIVET_KEYS] == [None] * 10


def test_the_report_has_a_part_for_rivet_and_countersink(tmp_path: Path) -> None:
    """The builder orders from it and sets the stop by it."""
    answer = said("angles", written(tmp_path, THICK + RIVET), "--all")
    assert answer.status == 0
    part = answer.out.split("\nRivet and countersink\n")[1].split("\nShop checks")[0]
    flat = " ".join(part.split())
    for words in (
        "-3 flush rivet, shank",
        "MS20426",
        "both skins included",
        "3-5 (7.94 mm): holes",
        "bucked head at least",
        "Navy training manual 14018 p. 547",
        "from where the cutter touches the edge of the hole",
        "clicks of .001 in",
        "the head of a loose rivet lies",
        SCRAP,
    ):
        assert words in flat, words
    plain = said("angles", written(tmp_path, THICK), "--all").out
    assert "Rivet and countersink" not in plain


def test_no_length_stands_anywhere_before_the_shop_head_is_stated(tmp_path: Path) -> None:
    """Ordered for a bucked head, a rivet that is set flush is 1/8 in too long."""
    job = written(tmp_path, THICK + '\n[rivet]\nsize = "-3"\n')
    flat = " ".join(said("angles", job, "--all").out.split())
    assert 'state rivet.shop_head, "bucked" or "flush"' in flat
    whole = f"{said('angles', job).out} {flat.split('Shop checks')[0]}"
    for words in ("to buy", "rivets to", "3-4", "3-5", "1.5 D", "by grip"):
        assert words not in whole, words
    hole = json.loads(said("angles", job, "--json").out)["holes"][0]
    assert [hole[key] for key in RIVET_KEYS[:3]] == [None] * 3
    flush = " ".join(said("angles", written(tmp_path, THICK + FLUSH), "--all").out.split())
    assert "by volume" in flush
    assert "try all three in scrap" in flush


def test_every_length_that_the_job_needs_is_named_in_the_short_answer(tmp_path: Path) -> None:
    """Who is told one length of three buys a bag for the whole edge."""
    job = written(tmp_path, THICK + RIVET + "half_sizes = true\n")
    holes = json.loads(said("angles", job, "--json").out)["holes"]
    codes = {hole["rivet_code"] for hole in holes if hole["drill_now"]}
    assert len(codes) >= 2
    (line,) = (t for t in said("angles", job).out.splitlines() if t.startswith("length "))
    assert set(re.findall(r"3-[\d.]+", line)) == codes


def test_a_knife_edge_ends_a_strict_run_with_status_one(tmp_path: Path) -> None:
    """The script that makes the drawings should stop here, not at the drill press."""
    job = written(tmp_path, FLAP + FLUSH)
    answer = said("angles", job, "--strict")
    assert answer.status == 1
    assert any("check land says no" in line and "knife edge" in line for line in answer.faults)
    assert said("angles", written(tmp_path, THICK + RIVET), "--strict").status == 0


def test_a_job_in_inches_is_told_in_inches(tmp_path: Path) -> None:
    """A stop set to 0.0434 mm is no stop."""
    text = THICK.replace('units = "mm"', 'units = "in"') + RIVET
    for number in ("rear_thickness = 2.0", "depth = 20.0", "thickness = 0.5", "line = 8.0",
                   "first = 15.0", "pitch = 26.0", "kerf = 0.15", "at = 1700.0"):  # fmt: skip
        key, value = number.split(" = ")
        text = text.replace(f"{number}\n", f'{key} = "{value} mm"\n')
    job = written(tmp_path, text)
    short, whole = (" ".join(said("angles", job, *more).out.split()) for more in ((), ("--all",)))
    for out in (short, whole):
        assert "countersink wide 0.1933 in" in out
        assert "deep on the axis 0.0400 in" in out
        assert not re.search(r"\d mm\b", out.split("Shop checks")[0])
    assert "3-5 (0.3125 in)" in whole
