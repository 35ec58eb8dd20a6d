"""Rivet and countersink as the command line tells them, and as the cover page does."""

import json
import re
from itertools import pairwise
from pathlib import Path

import pytest
from commandline import FLAP, said

from jiggen.drawing.shapes import Text
from jiggen.jigs import build_pieces
from jiggen.job.read import read_job_text
from jiggen.sheets import print_sheets
from jiggen.solve import solve

RIVET = '\n[rivet]\nsize = "-3"\n'
BUCKED = f'{RIVET}shop_head = "bucked"\n'
#: A wedge thick enough for two countersinks; FLAP itself is left with a knife edge.
THICK = FLAP.replace("rear_thickness = 0.8", "rear_thickness = 2.0")
RIVET_KEYS = [
    "rivet_length", "rivet_ordered", "rivet_code", "countersink_a", "countersink_b",
    "land_on_axis", "land",
]  # fmt: skip
SCRAP = "derived geometry: try it in scrap first"


def written(tmp_path: Path, text: str) -> Path:
    job = tmp_path / "job.toml"
    job.write_text(text, "utf-8")
    return job


def cover(text: str) -> str:
    """Return all words of the first page."""
    solution = solve(read_job_text(text, "job.toml", Path()))
    sheet = print_sheets(solution, build_pieces(solution), solution.checks)[0]
    return " ".join(mark.shape.text for mark in sheet.marks if isinstance(mark.shape, Text))


def test_the_json_gains_the_rivets_keys_and_loses_none(tmp_path: Path) -> None:
    """A program that reads the old keys must go on reading them."""
    plain = json.loads(said("angles", written(tmp_path, THICK), "--json").out)["holes"]
    rivet = json.loads(said("angles", written(tmp_path, THICK + BUCKED), "--json").out)["holes"]
    assert list(rivet[0]) == [*plain[0], *RIVET_KEYS]
    for before, after in zip(plain, rivet, strict=True):
        assert {key: after[key] for key in before} == before
    hole = rivet[10]
    assert hole["rivet_length"] == pytest.approx(hole["grip"] + 1.5 * 2.38125)
    assert hole["rivet_code"] == f"3-{hole['rivet_ordered'] * 16 / 25.4:g}"
    deepest = max(hole["countersink_a"]["depth"], hole["countersink_b"]["depth"])
    assert hole["land_on_axis"] == pytest.approx(hole["thickness"] - deepest)


def test_without_a_shop_head_no_length_is_told_anywhere(tmp_path: Path) -> None:
    """The rivets that are ordered from it are an eighth of an inch too long."""
    job = written(tmp_path, THICK + RIVET)
    for hole in json.loads(said("angles", job, "--json").out)["holes"]:
        assert (hole["rivet_length"], hole["rivet_ordered"], hole["rivet_code"]) == (None,) * 3
        assert hole["grip"] > 0.0
    for text in (said("angles", job).out, said("angles", job, "--all").out, cover(THICK + RIVET)):
        flat = " ".join(text.split())
        assert not re.search(r"\b3-\d+(\.5)?\b", flat)
        assert "to buy" not in flat
        assert "rivet must" not in flat
        assert "rivet.shop_head" in flat


def test_what_the_job_does_not_say_is_null_in_the_rivets_json(tmp_path: Path) -> None:
    """A length that was guessed at is ordered like any other."""
    text = THICK.replace("[skin]\nthickness = 0.5\n", "") + RIVET
    hole = json.loads(said("angles", written(tmp_path, text), "--json").out)["holes"][0]
    assert [hole[key] for key in RIVET_KEYS] == [None] * 7


def test_the_report_has_a_part_for_rivet_and_countersink(tmp_path: Path) -> None:
    """The builder orders from it and sets the stop by it."""
    answer = said("angles", written(tmp_path, THICK + BUCKED))
    assert answer.status == 0
    part = answer.out.split("\nRivet and countersink\n")[1].split("\nShop checks")[0]
    flat = " ".join(part.split())
    for words in (
        "-3 flush rivet",
        "head included",
        "3-5 (7.94 mm): holes",
        "for the dimple 4.91 mm wide and 1.02 mm deep",
        "pilot in the hole",
        "of straight hole under the one countersink",
        SCRAP,
        "dimple square",
    ):
        assert words in flat, words
    assert "MS20426" not in flat
    every = said("angles", written(tmp_path, THICK + BUCKED), "--all").out
    assert "MS20426" in every
    assert "Navy training manual 14018 p. 547" in " ".join(every.split())
    assert "Rivet and countersink" not in said("angles", written(tmp_path, THICK)).out


def test_the_hole_where_the_length_changes_stands_in_the_short_table(tmp_path: Path) -> None:
    """Nobody asks for --all before the wrong rivet is in."""
    text = THICK + BUCKED + "half_sizes = true\n"
    holes = json.loads(said("angles", written(tmp_path, text), "--json").out)["holes"]
    changes = [b["number"] for a, b in pairwise(holes[1:]) if a["rivet_code"] != b["rivet_code"]]
    assert changes
    table = said("angles", written(tmp_path, text)).out.split("skin down")[1]
    rows = [line.split()[0] for line in table.splitlines() if line[:4].strip().isdigit()]
    assert {str(number) for number in changes} <= set(rows)


def test_a_knife_edge_ends_a_strict_run_with_status_one(tmp_path: Path) -> None:
    """The script that makes the drawings should stop here, not at the drill press."""
    job = written(tmp_path, FLAP + RIVET)
    answer = said("angles", job, "--strict")
    assert answer.status == 1
    assert any("check land says no" in line and "knife edge" in line for line in answer.faults)
    assert said("angles", written(tmp_path, THICK + RIVET), "--strict").status == 0


def test_the_cover_says_what_to_order_and_what_to_set() -> None:
    """The cover hangs over the bench; the terminal does not."""
    words = cover(THICK + BUCKED)
    for part in ("Rivet: -3 flush", "3-5 (7.94 mm): holes 22 to 63", "4.91 mm wide", "Least land",
                 "Derived geometry: try it in scrap first"):  # fmt: skip
        assert part in words, part
    assert "Rivet:" not in cover(THICK)
    assert "No land at hole 63" in cover(FLAP + RIVET)


def test_a_job_in_inches_is_told_in_inches(tmp_path: Path) -> None:
    """A stop set to 0.0434 mm is no stop."""
    text = THICK.replace('units = "mm"', 'units = "in"') + BUCKED
    for number in ("rear_thickness = 2.0", "depth = 20.0", "thickness = 0.5", "line = 8.0",
                   "first = 15.0", "pitch = 26.0", "kerf = 0.15", "at = 1700.0"):  # fmt: skip
        key, value = number.split(" = ")
        text = text.replace(f"{number}\n", f'{key} = "{value} mm"\n')
    out = " ".join(said("angles", written(tmp_path, text)).out.split())
    assert "0.1933 in wide and 0.0400 in deep" in out
    assert "3-5 (0.3125 in)" in out
