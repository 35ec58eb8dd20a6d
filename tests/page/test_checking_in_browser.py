"""Check and Edge in a real browser: bars to red, yellow and green, corners, ticks; by everybody.

Each state is looked at by axe-core in light and in dark, on a desk and on a phone.
"""

import math
import re
import shutil
import tomllib
from pathlib import Path
from typing import Any

import pytest
from browsing import DESK, NARROW, PHONE, WIDE, field, found_by_axe, go_to
from commandline import PROJECT, process, said
from readings_taken import HOME, form_path, guide_read, page_read

pytestmark = pytest.mark.browser

BARS = ("bar-x", "bar-y", "diagonal-1", "diagonal-2")
GLOVES = {"viewport": PHONE, "has_touch": True, "is_mobile": True}


@pytest.fixture
def job(drawn: Path, tmp_path: Path) -> Path:
    """Return the job, its drawings beside it."""
    return shutil.copytree(drawn, tmp_path / "shop") / "trial.toml"


def drawn_strictly(job: Path) -> None:
    """Let the job allow so little that a page can be bad."""
    job.write_text(job.read_text().replace("drift = 0.12", "drift = 0.02"))
    assert said("make", job, "--out", job.parent / HOME).status == 0


def skewed(job: Path, degrees: float) -> dict[str, str]:
    """Return the readings of a page whose corner is off square."""
    off = 240 * math.tan(math.radians(degrees))
    slant = [math.hypot(180 + way * off, 240) / 300 for way in (1, -1)]
    return page_read(job, diagonal_1=slant[0], diagonal_2=slant[1])


def narrow(job: Path) -> dict[str, str]:
    """Return the readings of a page that is 3 % narrow."""
    slant = math.hypot(180 * 0.97, 240) / 300
    return page_read(job, bar_x=0.97, diagonal_1=slant, diagonal_2=slant)


def type_in(page: Any, readings: dict[str, str]) -> None:
    """Type readings into their fields."""
    for key, value in readings.items():
        field(page, key).fill(value)


def at_place(page: Any, name: str) -> None:
    """Go to where something else is measured."""
    tab = page.locator(f"button.tab[value='{name}']")
    if tab.count():
        tab.click()
    else:
        page.select_option("select[name='at']", name)
    page.wait_for_selector(f"legend:has-text('{name}')")
    page.wait_for_load_state()


def test_bars_are_judged_while_they_are_typed_and_kept_where_verify_reads(
    page: Any, job: Path
) -> None:
    """Yellow, red, green; then Enter."""
    drawn_strictly(job)
    go_to(page, "Check")
    assert page.locator(".verdict").count() == 0
    type_in(page, page_read(job, bar_x=0.97))
    page.wait_for_selector(".verdict.cannot-tell")
    page.wait_for_selector(".field[data-look] [id='page[1].bar-x']")
    type_in(page, skewed(job, 1.0))
    page.wait_for_selector(".verdict.do-not-use")
    page.wait_for_selector(".rim.do-not-use")
    assert page.locator(".field[data-look]").count() == 0
    type_in(page, page_read(job))
    page.wait_for_selector(".verdict.use")
    page.wait_for_selector(".verdict.do-not-use", state="detached")
    blank = form_path(job).read_bytes()
    field(page, "page[1].diagonal-2").press("Enter")
    page.wait_for_selector("#state:has-text('Saved.')")
    assert form_path(job).read_bytes() != blank
    assert process("verify", job.name, folder=job.parent).status == 0


def test_the_picture_and_the_fields_lead_to_each_other(page: Any) -> None:
    """A number is tapped; a field is typed in."""
    go_to(page, "Check")
    page.click(".number[data-key='page[1].diagonal-1']")
    assert page.evaluate("document.activeElement.id") == "page[1].diagonal-1"
    field(page, "page[1].bar-y").focus()
    thick = page.locator(".marked .on")
    assert {one.get_attribute("data-key") for one in thick.all()} == {"page[1].bar-y"}


def test_a_cut_piece_is_measured_over_its_corners(page: Any, job: Path) -> None:
    """What is typed for the page goes along, unsaved."""
    go_to(page, "Check")
    type_in(page, page_read(job))
    page.wait_for_selector(".verdict.use")
    at_place(page, "guide-a1")
    assert "".join(sorted(set(page.locator(".corner").all_text_contents()))) == "ABCE"
    type_in(page, guide_read(job))
    page.wait_for_selector(".verdict.use:has-text('Use: guide-a1.')")
    type_in(page, guide_read(job, turn=4.0))
    page.wait_for_selector(".verdict.do-not-use:has-text('Do not use: guide-a1.')")
    page.click("#save")
    page.wait_for_selector("#state:has-text('Saved.')")
    page.wait_for_selector("legend:has-text('guide-a1')")
    kept = tomllib.loads(form_path(job).read_text())
    assert kept["page"][0]["bar-x"] == 100.0


def test_a_fault_of_another_place_leads_there(page: Any) -> None:
    """By a press on its name."""
    go_to(page, "Check")
    field(page, "page[1].bar-x").fill("99,5")
    page.wait_for_selector("[id='page[1].bar-x'][aria-invalid=true]")
    at_place(page, "guide-a1")
    page.click(".marks.bad button")
    page.wait_for_selector("[id='page[1].bar-x'][aria-invalid=true]")


@pytest.mark.parametrize("page", [{"viewport": DESK, "java_script_enabled": False}], indirect=True)
def test_check_and_ticks_work_without_script(page: Any, job: Path) -> None:
    """Show, the places, Save and the corrected print are plain buttons."""
    go_to(page, "Check")
    type_in(page, narrow(job))
    page.click("text=Show")
    page.wait_for_selector(".verdict")
    page.select_option("select[name='at']", "test hole")
    page.click("text=Show")
    page.wait_for_selector("legend:has-text('test hole')")
    page.click("button.tab[value='guide-a1']")
    page.wait_for_selector("legend:has-text('guide-a1')")
    page.click("#save")
    page.wait_for_selector("#state:has-text('Saved.')")
    page.click("button:has-text('again, corrected')")
    page.wait_for_selector("#state:has-text('drawn again, corrected')")
    page.wait_for_selector(".verdict:has-text('another print')")
    go_to(page, "Edge")
    page.click("button.tab:has-text('Pass 1')")
    page.locator("input[type='checkbox']").first.check()
    page.click("#save")
    page.wait_for_selector("#state:has-text('Saved.')")
    assert page.locator("input[type='checkbox']").first.is_checked()


def test_check_by_keyboard_alone(page: Any, job: Path) -> None:
    """Places, then the numbers in their order, each with a ring; Enter saves."""
    go_to(page, "Check")
    places = page.eval_on_selector_all("button.tab", "tabs => tabs.map(tab => tab.value)")
    page.locator("#main").focus()
    order = []
    for _ in range(1 + len(places) + len(BARS)):  # first the list of the rest
        page.keyboard.press("Tab")
        order.append(page.evaluate("document.activeElement.value || document.activeElement.id"))
        ring = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
        assert ring == "3px"
    assert order[1:] == [*places, *(f"page[1].{name}" for name in BARS)]
    field(page, "page[1].bar-x").focus()
    for value in page_read(job).values():
        page.keyboard.type(value)
        page.keyboard.press("Tab")
    page.wait_for_selector(".verdict.use")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Enter")
    page.wait_for_selector("#state:has-text('Saved.')")
    page.wait_for_selector("[id='page[1].diagonal-2']:focus")


@pytest.mark.parametrize("page", [{"viewport": DESK}, GLOVES], indirect=True)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_any_state_of_check(page: Any, job: Path, scheme: str) -> None:
    """Not measured, asked, cannot tell, do not use, use; each kind of place; another print."""
    page.emulate_media(color_scheme=scheme)
    drawn_strictly(job)
    found: dict[str, list[str]] = {}

    def look(state: str) -> None:
        found[state] = found_by_axe(page)
        assert page.evaluate(WIDE) == 0, state

    go_to(page, "Check")
    look("not measured")
    field(page, "page[1].bar-x").fill("100")
    page.wait_for_selector(".verdict.cannot-tell")
    look("cannot tell")
    for state, readings, verdict in (
        ("asked", page_read(job, bar_x=0.97), "cannot-tell"),
        ("bad", skewed(job, 1.0), "do-not-use"),
        ("good", page_read(job), "use"),
    ):
        type_in(page, readings)
        page.wait_for_selector(f".verdict.{verdict}")
        look(state)
    page.click("summary:has-text('All numbers')")
    look("all numbers")
    for place in ("guide-a1", "test hole"):
        at_place(page, place)
        look(place)
    page.click("#save")
    page.wait_for_selector("#state:has-text('Saved.')")
    job.write_text(re.sub(r"(?m)^line = .*$", "line = 14.0", job.read_text()))
    page.reload()
    look("changed since")
    assert said("make", job, "--out", job.parent / HOME).status == 0
    page.reload()
    page.wait_for_selector(".verdict:has-text('another print')")
    look("another print")
    shutil.rmtree(job.parent / HOME)
    page.goto(page.url.partition("?")[0])
    page.wait_for_selector("h2:has-text('No drawings yet')")
    look("no drawings")
    assert {state: lines for state, lines in found.items() if lines} == {}


@pytest.mark.parametrize("page", [{"viewport": NARROW}, GLOVES], indirect=True)
def test_all_of_check_and_edge_fits_a_narrow_window_and_gloves(page: Any, job: Path) -> None:
    """No sideways scroll; what is pressed is 44 px high by touch, and 24 by mouse."""
    least = 44 if page.evaluate("matchMedia('(pointer: coarse)').matches") else 24
    shutil.copy(PROJECT / "templates" / "stock.toml", job)
    go_to(page, "Edge")
    page.wait_for_selector(".trim svg")
    high = "els => els.filter(e => e.offsetParent).map(e => [e.outerHTML.slice(0, 90), "
    high += "e.getBoundingClientRect().height])"
    for tab in ("Readings", "Pass 1"):
        page.click(f"button.tab:has-text('{tab}')")
        page.wait_for_load_state()
        assert page.evaluate(WIDE) == 0
        pressed = page.eval_on_selector_all("button:not(.first), .ticks label, summary", high)
        assert [what for what, height in pressed if height < least] == []
    assert found_by_axe(page) == []


def test_the_corrected_print_and_the_record_are_taken_from_here(page: Any, job: Path) -> None:
    """One press each."""
    go_to(page, "Check")
    type_in(page, narrow(job))
    page.wait_for_selector("button:has-text('again, corrected')")
    page.click("#save")
    page.wait_for_selector("#state:has-text('Saved.')")
    with page.expect_download() as record:
        page.click("text=Record of the saved readings")
    assert Path(record.value.path()).read_bytes().startswith(b"%PDF-1.7")
    old = (job.parent / HOME / "print.pdf").read_bytes()
    page.click("button:has-text('again, corrected')")
    page.wait_for_selector("#state:has-text('drawn again, corrected')")
    with page.expect_download() as printed:
        page.click("a:text-is('print.pdf')")
    new = (job.parent / HOME / "print.pdf").read_bytes()
    assert Path(printed.value.path()).read_bytes() == new != old


def test_rivets_are_ticked_off_and_kept(page: Any, job: Path) -> None:
    """They are counted at once, and are there again tomorrow."""
    go_to(page, "Edge")
    page.click("button.tab:has-text('Pass 1')")
    page.wait_for_selector("legend:has-text('PASS 1')")
    boxes = page.locator("input[type='checkbox']")
    count = boxes.count()
    for box in boxes.all():
        box.check()
    page.wait_for_selector(f"h2:has-text('Pass 1: {count} of {count}')")
    page.wait_for_selector("text=Lay the straightedge on")
    page.click("#save")
    page.wait_for_selector("button.tab.use:has-text('Pass 1')")
    kept = tomllib.loads((job.parent / "trial-edge.toml").read_text())
    assert len(kept["ticked"]["pass-1"]) == count
