"""The way of a builder through the page, in a real browser: from calliper to printed guide.

What is typed is seen in the drawing before it is read in a sentence: each mistake here is found by
its drawing.
"""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from browsing import DESK, WIDE, field, found_by_axe, go_to
from commandline import PROJECT, files_in, said

pytestmark = pytest.mark.browser

STATION = "wedge.station[1]."
THICKNESS = f"{STATION}thickness."


def angles_of(page: Any) -> list[str]:
    """Return the table of drill angles."""
    return [each.rstrip("°") for each in page.locator("table.angles td").all_inner_texts()]


def corners(page: Any, shape: str = ".section .wedge") -> list[tuple[float, float]]:
    """Return the corners of a shape in the picture."""
    pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", page.locator(shape).get_attribute("d"))
    return [(float(x), float(y)) for x, y in pairs]


def high_at_ends(page: Any, shape: str) -> tuple[float, float]:
    """Return how high a shape is drawn at its left and at its right end."""
    points = corners(page, shape)
    ends = [min(x for x, _ in points), max(x for x, _ in points)]
    heights = [[y for x, y in points if abs(x - end) < 0.2] for end in ends]
    return tuple(max(ys) - min(ys) for ys in heights)  # type: ignore[return-value]


def test_from_calliper_numbers_to_a_printed_guide(page: Any, job: Path, tmp_path: Path) -> None:
    """On the page alone: what was read is typed, saved, drawn, taken away."""
    for key, value in {
        f"{THICKNESS}rear": "1.90", f"{THICKNESS}front": "5.20", f"{THICKNESS}width": "21.5",
        f"{STATION}rear_at": "2.5", "wedge.depth": "26", "holes.count": "30",
    }.items():  # fmt: skip
        field(page, key).fill(value)
    page.wait_for_selector("#state:has-text('6 not saved')")
    page.wait_for_selector("text=30 of 30 holes to drill")
    before = job.read_bytes()
    page.click("#save")
    page.wait_for_selector("#state:has-text('Saved.')")
    assert job.read_bytes() != before
    numbers = json.loads(said("angles", job, "--json").out)["stations"][0]
    names = ("skin_angle_{}", "guide_forward_{}", "guide_aft_{}")
    wanted = [f"{numbers[name.format(side)]:.2f}" for side in "ab" for name in names]
    assert angles_of(page) == wanted
    go_to(page, "Jigs")
    page.wait_for_selector(".pages img")
    page.click("text=Draw files")
    page.wait_for_selector("text=Take away")
    assert said("make", job, "--out", tmp_path / "made").status == 0
    with page.expect_download() as download:
        page.click("text=print.pdf")
    made = files_in(tmp_path / "made")
    assert Path(download.value.path()).read_bytes() == made["print.pdf"]
    page.click("button:has-text('Put into')")
    page.wait_for_selector("text=They are in")
    assert files_in(job.parent / "airbrake-edge-trial-piece-jigs") == made


WAYS = {
    "thickness": {"thickness.rear": "2.0", "thickness.front": "5.6", "thickness.width": "22"},
    "offsets": {
        "offsets.rear[1]": "1.0", "offsets.rear[2]": "0.8", "offsets.front[1]": "3.1",
        "offsets.front[2]": "2.2", "offsets.width": "20",
    },
    "included_angle": {"included_angle": "9.4"},
    "skin_angles": {"skin_angles[1]": "6.5", "skin_angles[2]": "1.25"},
    "readings": {"readings.a": "4.9", "readings.b": "-4.4", "readings.chord": "0.2"},
    "taper_rate": {"taper_rate": "3/16 in per ft"},
    "outline": {
        "outline.file": "outline-section.dat", "outline.from": "0.94", "outline.chord": "520",
    },
}  # fmt: skip


@pytest.mark.parametrize("way", WAYS)
def test_each_way_of_measuring_is_typed_and_drawn(page: Any, job: Path, way: str) -> None:
    """Its own fields, its own words in the drawing, and the old way kept as a comment."""
    dat = PROJECT / "templates" / "outline-section.dat"
    (job.parent / dat.name).write_bytes(dat.read_bytes())
    if way != "thickness":
        page.select_option("#way", way)
        page.wait_for_selector(f"[id^='{STATION}{next(iter(WAYS[way]))}']")
        page.wait_for_selector("#state:has-text('to type')")
        page.wait_for_selector(".paper.grey .section")
    for key, value in WAYS[way].items():
        field(page, f"{STATION}{key}").fill(value)
    page.wait_for_selector("text=holes to drill")
    assert found_by_axe(page) == []
    assert page.locator(f".section [data-key^='{STATION}{way}']").count() > 0
    shown = angles_of(page)
    page.click("#save")
    page.wait_for_selector("#state:has-text('Saved.')")
    numbers = json.loads(said("angles", job, "--json").out)["stations"][0]
    assert shown[1] == f"{numbers['guide_forward_a']:.2f}"
    assert shown[4] == f"{numbers['guide_forward_b']:.2f}"
    assert ("# was: thickness = {" in job.read_text()) is (way != "thickness")
    if way != "thickness":
        page.select_option("#way", "thickness")
        page.wait_for_selector(f"[id='{THICKNESS}front']")
        assert field(page, f"{THICKNESS}front").input_value() == "5.60"


def test_swapped_front_and_rear_are_seen_and_mended_by_one_press(page: Any, job: Path) -> None:
    """The wedge thins the wrong way, its rim is broken, both fields are marked."""
    left, right = high_at_ends(page, ".section .wedge")
    assert left < right
    field(page, f"{THICKNESS}front").fill("2.00")
    field(page, f"{THICKNESS}rear").fill("5.60")
    page.wait_for_selector(".section .drawn.wrong .bad:has-text('rear 5.60')")
    left, right = high_at_ends(page, ".section .wedge")
    assert left > right
    for name in ("front", "rear"):
        assert field(page, THICKNESS + name).get_attribute("aria-invalid") == "true"
        assert page.locator(f".section .bad[data-key='{THICKNESS}{name}']").count() >= 2
    before = job.read_bytes()
    page.click("text=Exchange front and rear")
    page.wait_for_selector(".section .drawn.ok")
    assert field(page, f"{THICKNESS}front").input_value() == "5.60"
    assert field(page, f"{THICKNESS}rear").input_value() == "2.00"
    assert page.locator("[aria-invalid=true]").count() == 0
    assert job.read_bytes() == before


def test_swapped_sides_are_seen(page: Any) -> None:
    """The steeper skin is drawn where it was typed, with the letter and the name of its side."""
    page.select_option("#way", "skin_angles")
    page.wait_for_selector(f"[id='{STATION}skin_angles[1]']")
    slopes = []
    for a, b in (("9", "1"), ("1", "9")):
        field(page, f"{STATION}skin_angles[1]").fill(a)
        field(page, f"{STATION}skin_angles[2]").fill(b)
        page.wait_for_selector(f".side-A td:has-text('{90 - int(a)}.00°')")
        page.wait_for_selector(f".side-B td:has-text('{90 - int(b)}.00°')")
        points = corners(page)
        left, right = min(x for x, _ in points), max(x for x, _ in points)
        upper = [min(y for x, y in points if abs(x - end) < 0.2) for end in (left, right)]
        slopes.append(upper[0] - upper[1])
    assert slopes[0] > 4 * slopes[1]
    assert page.text_content(".section .name-a") == "A top"


def test_swapped_ends_are_seen(page: Any, server: Any, job: Path) -> None:
    """Along the span the edge is thick at the other end."""
    job.write_bytes((PROJECT / "templates" / "tapered-inch.toml").read_bytes())
    page.goto(f"http://{server.guard.host}/measure")
    before = high_at_ends(page, ".span .wedge")
    front = {n: f"wedge.station[{n}].thickness.front" for n in (1, 2)}
    values = {1: "0.270", 2: "0.290"}
    field(page, front[1]).fill(values[1])
    page.click("#at-2")
    page.wait_for_selector("#at-2[aria-current]")
    field(page, front[2]).fill(values[2])
    page.wait_for_selector(".section .label:has-text('front 0.290')")
    after = high_at_ends(page, ".span .wedge")
    assert (before[0] < before[1]) is not (after[0] < after[1])
    page.click("#at-1")
    page.wait_for_selector("#at-1[aria-current]")
    assert field(page, front[1]).input_value() == values[1]


def test_millimetres_typed_as_inches_are_seen_and_mended_by_one_press(page: Any) -> None:
    """Beside a bank card; the angles come out the same."""
    assert page.locator(".card.ok").count() == 1
    page.select_option("#units", "in")
    page.wait_for_selector(".card.look")
    card = page.locator(".card svg .card").bounding_box()
    wedge = page.locator(".card svg .wedge").bounding_box()
    assert wedge["width"] > 5 * card["width"]
    assert "Millimetres typed?" in page.inner_text("figure.card")
    assert field(page, "wedge.depth").get_attribute("aria-invalid") == "true"
    assert page.locator("label[for='wedge.depth']").inner_text() == "Depth, in"
    page.click('text=Set units = "mm"')
    page.wait_for_selector(".card.ok")
    assert page.locator("label[for='wedge.depth']").inner_text() == "Depth, mm"


def test_a_rear_line_forward_of_the_edge_is_seen(page: Any) -> None:
    """Its jaws stand in the metal, not at the end of it; and where nothing is said, it is asked."""
    assert page.locator(f".section .arrow[data-key='{STATION}rear_at']").count() == 1
    assert page.locator("text== rear line").count() == 0
    thick = high_at_ends(page, ".section .wedge")[0]
    field(page, f"{STATION}rear_at").fill("8")
    page.wait_for_selector(f".label[data-key='{STATION}rear_at']:has-text('rear at 8')")
    assert high_at_ends(page, ".section .wedge")[0] < 0.8 * thick
    field(page, f"{STATION}rear_at").fill("")
    page.wait_for_selector("text== rear line")
    page.wait_for_selector("h2:has-text('2 to look at')")
    assert page.locator(".field[data-look] label:has-text('Rear line at')").count() == 1


def test_a_dimension_leads_to_its_field_and_the_field_to_its_dimension(page: Any) -> None:
    """A tap on what is drawn; and what is typed in is thick."""
    page.click(f".section .label[data-key='{THICKNESS}width']")
    assert page.evaluate("document.activeElement.id") == f"{THICKNESS}width"
    assert page.locator(f".section .arrow.on[data-key='{THICKNESS}width']").count() == 1
    field(page, "holes.line").focus()
    assert page.locator(".section .arrow.on[data-key='holes.line']").count() == 1
    assert page.locator(".section .arrow.on").count() == 1


def test_nobody_leaves_by_mistake_what_is_not_saved(page: Any) -> None:
    """The browser asks; after Save it does not."""
    asked: list[str] = []

    def stay(dialog: Any) -> None:
        asked.append(dialog.type)
        dialog.dismiss()

    page.on("dialog", stay)
    field(page, "wedge.depth").fill("26")
    page.wait_for_selector("#state:has-text('1 not saved')")
    page.click("nav a:has-text('Edge')", no_wait_after=True)
    page.wait_for_timeout(500)
    assert asked == ["beforeunload"]
    assert field(page, "wedge.depth").input_value() == "26"
    page.click("#save")
    page.wait_for_selector("#state:has-text('Saved.')")
    go_to(page, "Edge")
    assert asked == ["beforeunload"]


def test_jigs_are_asked_for_and_drawing_stops(page: Any, job: Path) -> None:
    """By a press; what is shown is grey until it is saved."""
    go_to(page, "Jigs")
    page.wait_for_selector(".pages img")
    page.click("text=+ Gauges")
    page.wait_for_selector(".paper.grey .pages")
    assert found_by_axe(page) == []
    page.click("#save")
    page.wait_for_selector("figcaption:has-text('GAUGE 1')")
    assert "[gauge]" in job.read_text()
    page.evaluate("document.querySelectorAll('.pages img').forEach(e => e.loading = 'eager')")
    drawn = "[...document.images].every(e => e.complete && e.naturalWidth > 0)"
    for _ in range(40):
        if page.evaluate(drawn):
            break
        page.wait_for_timeout(250)
    assert page.evaluate(drawn)
    assert page.evaluate(WIDE) == 0
    page.click("text=Draw files")
    page.click("button:has-text('Stop')")
    page.wait_for_selector("text=From the job as it is saved")
    assert found_by_axe(page) == []


def test_measuring_by_keyboard_alone(page: Any, job: Path) -> None:
    """In the order of reading, from the way of measuring to Save by Enter."""
    field(page, "way").focus()
    order = []
    for _ in range(9):
        page.keyboard.press("Tab")
        order.append(page.evaluate("document.activeElement.id || document.activeElement.value"))
    assert order == [
        "add wedge.station", f"{THICKNESS}rear", f"{THICKNESS}front", f"{THICKNESS}width",
        *(f"{STATION}plus_minus.{name}" for name in ("rear", "front", "width")),
        f"{STATION}rear_at", "wedge.depth",
    ]  # fmt: skip
    page.keyboard.press("Control+a")
    page.keyboard.type("26.5")
    page.keyboard.press("Enter")
    page.wait_for_selector("#state:has-text('Saved.')")
    assert "depth = 26.5 " in job.read_text()
    page.wait_for_function("document.activeElement.id === 'wedge.depth'")


@pytest.mark.parametrize("page", [{"viewport": DESK, "java_script_enabled": False}], indirect=True)
def test_measuring_and_drawing_without_script(page: Any, job: Path) -> None:
    """Show, Save and the remedies are buttons of a plain form."""
    field(page, f"{THICKNESS}front").fill("2.00")
    field(page, f"{THICKNESS}rear").fill("5.60")
    page.click("text=Show")
    page.click("text=Exchange front and rear")
    field(page, "wedge.depth").fill("26.5")
    page.click("#save")
    page.wait_for_selector("#state:has-text('Saved.')")
    assert "depth = 26.5 " in job.read_text()
    assert "front = 5.60, rear = 2.00" in job.read_text()
    go_to(page, "Jigs")
    page.click("text=Show the pages")
    page.wait_for_selector("figcaption:has-text('page 2')")


@pytest.mark.parametrize("starter", ["prismatic", "tapered-inch"])
def test_all_of_it_is_seen_at_once_on_a_small_laptop(
    page: Any, server: Any, job: Path, starter: str
) -> None:
    """Nothing that is measured, drawn or said lies below the edge of the window."""
    job.write_bytes((PROJECT / "templates" / f"{starter}.toml").read_bytes())
    page.goto(f"http://{server.guard.host}/measure")
    foot = page.locator("footer").bounding_box()["y"]
    for part in (".picture", ".fields", ".numbers"):
        box = page.locator(part).bounding_box()
        assert box["y"] + box["height"] <= foot, part
