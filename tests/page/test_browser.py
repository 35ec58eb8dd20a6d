"""The page in a real browser: typed in, pressed, narrowed, darkened, and read by a machine.

Debian's chromium, driven by playwright; axe-core from npm finds what would keep people out (.ci/run
installs all three). A test that fails leaves a screenshot in ``build/screenshots``.
"""

import re
import shutil
import threading
from pathlib import Path
from typing import Any

import pytest
from browsing import AXE, CHROMIUM, DESK, NARROW, PHONE, WAIT, WIDE, field, found_by_axe, go_to
from commandline import said

from jiggen.page.answers import Bench
from jiggen.page.serve import Server

pytestmark = pytest.mark.browser

GOES = ("0", "0.35", "0.45", "0.30", "0")
STOPS = ("0.05", "0.40", "0.50", "0.35", "0.05")


def read_edge(page: Any, limit: str = "0.70") -> None:
    """Type five places read by blades."""
    go_to(page, "Edge")
    for n, (go, no_go) in enumerate(zip(GOES, STOPS, strict=True), start=1):
        field(page, f"readings.go[{n}]").fill(go)
        field(page, f"readings.no_go[{n}]").fill(no_go)
    field(page, "limit").fill(limit)


def test_the_address_bar_loses_the_secret(page: Any, server: Server) -> None:
    """It is what gets photographed."""
    assert page.url == f"http://{server.guard.host}/measure"


def test_what_is_typed_is_judged_while_it_is_typed_and_saved_by_enter(page: Any, job: Path) -> None:
    """From blades to a verdict without a press; then one."""
    read_edge(page)
    page.wait_for_selector(".verdict.within-the-limit")
    page.wait_for_selector(".edge-plot svg .limit")
    assert not (job.parent / "trial-edge.toml").exists()
    assert re.match(r"\d+ not saved", page.inner_text("#state"))
    field(page, "limit").fill("0.30")
    page.wait_for_selector(".verdict.beyond-the-limit")
    field(page, "limit").press("Enter")
    page.wait_for_selector("#state:has-text('Saved.')")
    kept = (job.parent / "trial-edge.toml").read_text()
    assert "go = [0, 0.35, 0.45, 0.30, 0]" in kept
    assert said("straight", job.parent / "trial-edge.toml").status == 1
    page.wait_for_function("document.activeElement.id === 'limit'")
    page.click("text=Undo")
    page.wait_for_selector("#state:has-text('Went back one step.')")
    assert not (job.parent / "trial-edge.toml").exists()


def test_a_fault_marks_its_field_and_leads_to_it(page: Any) -> None:
    """By a link from the list, and by name for those who do not see the rim."""
    read_edge(page)
    page.wait_for_selector(".verdict.within-the-limit")
    field(page, "readings.go[3]").fill("0,45")
    page.wait_for_selector("[id='readings.go[3]'][aria-invalid=true]")
    why = field(page, "readings.go[3]").get_attribute("aria-describedby")
    assert page.locator(f"[id='{why}']").count() == 1
    assert page.locator(".grey .plot").count() == 1
    page.click(".marks.bad a")
    assert page.evaluate("document.activeElement.id") == "readings.go[3]"
    field(page, "readings.go[3]").fill("0.45")
    page.wait_for_selector(".verdict")
    assert page.locator("[aria-invalid=true]").count() == 0


def test_an_editor_that_saves_meanwhile_puts_save_off_until_one_of_two_is_chosen(
    page: Any, job: Path
) -> None:
    """Both changes are in the file in the end."""
    field(page, "wedge.depth").fill("27.50")
    page.wait_for_selector("#state:has-text('1 not saved')")
    job.write_text(job.read_text().replace("line = 11.0", "line = 11.25"))
    page.evaluate("window.dispatchEvent(new Event('focus'))")
    page.wait_for_selector("#save[disabled]")
    page.click("text=See both")
    page.wait_for_selector("h1:has-text('Two versions')")
    assert found_by_axe(page) == []
    page.click("text=Save both together")
    page.wait_for_selector("#state:has-text('Saved.')")
    assert "depth = 27.50" in job.read_text()
    assert "line = 11.25" in job.read_text()


def test_a_broken_file_is_shown_at_its_line_and_can_be_mended(page: Any, job: Path) -> None:
    """The line is selected."""
    job.write_text(job.read_text().replace('drill = "#30"', "drill = #30"))
    page.reload()
    page.wait_for_selector("textarea[data-line]")
    assert found_by_axe(page) == []
    page.wait_for_selector("textarea:focus")
    picked = "(() => { const t = document.activeElement; "
    picked += "return t.value.slice(t.selectionStart, t.selectionEnd) })()"
    assert page.evaluate(picked).startswith("drill = #30")
    page.keyboard.type('drill = "#30"')
    page.wait_for_selector("text=Drill angles")
    page.click("#save")
    page.wait_for_selector("#state:has-text('Saved.')")
    assert 'drill = "#30"\n' in job.read_text()


@pytest.mark.parametrize("page", [{"viewport": DESK, "java_script_enabled": False}], indirect=True)
def test_all_of_it_works_without_script(page: Any, job: Path) -> None:
    """Show, Save and Undo are buttons."""
    read_edge(page)
    page.click("text=Show")
    page.wait_for_selector(".verdict.within-the-limit")
    assert not (job.parent / "trial-edge.toml").exists()
    page.select_option("#reads", "gap")
    page.click("text=Show")
    page.wait_for_selector("[id='readings.gap[1]']")
    go_to(page, "Edge")
    read_edge(page)
    page.click("#save")
    page.wait_for_selector("#state:has-text('Saved.')")
    assert "limit = 0.70" in (job.parent / "trial-edge.toml").read_text()
    page.click("text=More rows")
    page.wait_for_selector("[id='readings.go[17]']")
    page.click("text=Undo")
    page.wait_for_selector("#state:has-text('Went back')")
    go_to(page, "Jigs")
    page.click("text=Draw files")
    for _ in range(100):
        if not page.locator("text=Look again").count():
            break
        with page.expect_navigation():
            page.click("text=Look again")
        page.wait_for_timeout(200)
    page.wait_for_selector("text=Take away")


def test_the_keyboard_alone_is_enough(page: Any, job: Path) -> None:
    """In the order of reading: skip link, tabs, fields."""
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the screen"
    seen = []
    for _ in range(4):
        page.keyboard.press("Tab")
        seen.append(page.evaluate("document.activeElement.textContent").split()[-1])
    assert seen == ["Measure", "Jigs", "Check", "Edge"]
    page.keyboard.press("Enter")
    page.wait_for_selector("nav a[aria-current]:has-text('Edge')")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    ring = "getComputedStyle(document.activeElement).outlineWidth"
    order = []
    for _ in range(12):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") not in ("", "main"):
            order.append(page.evaluate("document.activeElement.id"))
            assert page.evaluate(ring) == "3px"
    assert order[:6] == [
        *("limit", "limit_on", "lines", "reads"), "readings.position[1]", "readings.go[1]",
    ]  # fmt: skip
    field(page, "readings.go[1]").focus()
    for n, (go, no_go) in enumerate(zip(GOES, STOPS, strict=True), start=1):
        for value in (go, no_go):
            page.keyboard.type(value)
            page.keyboard.press("Tab")
        page.keyboard.press("Tab")
        assert field(page, f"readings.no_go[{n}]").input_value() == no_go
    field(page, "limit").focus()
    page.keyboard.type("0.70")
    page.keyboard.press("Enter")
    page.wait_for_selector("#state:has-text('Saved.')")
    assert (job.parent / "trial-edge.toml").exists()


@pytest.mark.parametrize("page", [{"viewport": DESK}, {"viewport": PHONE}], indirect=True)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_any_screen_and_state(page: Any, job: Path, scheme: str) -> None:
    """Empty, faulty, judged in each way, drawn; in light and in dark."""
    page.emulate_media(color_scheme=scheme)
    found: dict[str, list[str]] = {}

    def look(state: str) -> None:
        found[state] = found_by_axe(page)

    look("measure")
    field(page, "wedge.station[1].thickness.front").fill("0.5")
    page.wait_for_selector(".section .wrong")
    look("measure, wrong")
    field(page, "wedge.station[1].thickness.front").fill("")
    page.wait_for_selector(".paper.grey")
    look("measure, half")
    field(page, "wedge.station[1].thickness.front").fill("5.60")
    page.wait_for_selector(".paper:not(.grey)")
    page.select_option("#units", "in")
    page.wait_for_selector(".card.look")
    page.click("summary:has-text('More')")
    look("measure, all open")
    page.click("button:has-text('As text')")
    page.wait_for_selector("#_text")
    look("measure, as text")
    for label in ("Jigs", "Check", "Edge"):
        go_to(page, label)
        look(label)
    read_edge(page)
    for limit, verdict in (("0.70", "within-the-limit"), ("0.30", "beyond-the-limit")):
        field(page, "limit").fill(limit)
        page.wait_for_selector(f".verdict.{verdict}")
        look(verdict)
    field(page, "limit").fill("0.45")
    page.wait_for_selector(".verdict.cannot-tell")
    page.click("summary:has-text('More')")
    look("cannot tell, all open")
    field(page, "limit").fill("nonsense")
    page.wait_for_selector(".marks.bad")
    look("faulty")
    page.wait_for_selector("#limit[aria-invalid=true]")
    assert {state: lines for state, lines in found.items() if lines} == {}


def test_axe_finds_a_label_that_was_taken_away(page: Any) -> None:
    """A reader that finds nothing anywhere proves nothing."""
    go_to(page, "Edge")
    page.evaluate("document.querySelector('label[for=limit]').remove()")
    assert any(line.startswith("label:") for line in found_by_axe(page))


FIXED = """[...document.querySelectorAll("body *")].filter((e) =>
  getComputedStyle(e).position === "fixed").map((e) => e.getBoundingClientRect().height)"""
"""How high the bars are that stay, as a script."""
STUCK = """[...document.querySelectorAll(".columns *")].filter((e) =>
  getComputedStyle(e).position === "sticky" && e.getBoundingClientRect().top <= 0).map((e) =>
  e.getBoundingClientRect().bottom)"""
"""How far what sticks to the top of the window reaches down, as a script."""


@pytest.mark.parametrize(
    "page", [{"viewport": PHONE, "has_touch": True, "is_mobile": True}], indirect=True
)
def test_on_a_phone_most_of_the_window_is_for_what_is_typed(page: Any, job: Path) -> None:
    """Bars, a trim plan or a page that sticks to the top leave a slit to work in."""
    stock = "\n[stock]\nlength = 1100\nfirst = 20\npitch = 28\ncount = 38\ntrim = [0, 1040]\n"
    job.write_text(job.read_text() + stock)
    for label in ("Measure", "Jigs", "Edge"):
        go_to(page, label)
        if label == "Jigs":
            page.wait_for_selector(".pages img")
            assert page.locator("button:has-text('Draw files')").bounding_box()["y"] < PHONE[1] / 2
        if label == "Edge":
            read_edge(page)
            page.wait_for_selector(".trim svg")
        page.evaluate("scrollTo(0, 700)")
        assert sum(page.evaluate(FIXED)) <= PHONE[1] / 8, label
        assert max(page.evaluate(STUCK), default=0.0) <= PHONE[1] * 0.4, label


@pytest.mark.parametrize("page", [{"viewport": NARROW}, {"viewport": PHONE}], indirect=True)
def test_a_narrow_window_has_no_sideways_scroll(page: Any) -> None:
    """A phone, and a desk at four times the size."""
    for label in ("Measure", "Jigs", "Check", "Edge"):
        go_to(page, label)
        assert page.evaluate(WIDE) == 0, label
    read_edge(page)
    page.wait_for_selector(".verdict.within-the-limit")
    assert page.evaluate(WIDE) == 0
    bar = page.locator("footer").bounding_box()
    assert bar["y"] + bar["height"] == pytest.approx(page.viewport_size["height"], abs=1)
    page.evaluate("window.scrollTo(0, 300)")
    assert page.locator(".edge-plot").bounding_box()["y"] == pytest.approx(0.0, abs=1)


@pytest.mark.parametrize(
    ("page", "least", "fields"),
    [
        ({"viewport": DESK}, 24, 24),
        ({"viewport": PHONE, "has_touch": True, "is_mobile": True}, 44, 52),
    ],
    indirect=["page"],
)
def test_what_is_pressed_is_large_enough(page: Any, least: float, fields: float) -> None:
    """24 px by mouse (WCAG 2.2, 2.5.8, MEM); with gloves 44, and 52 for what is typed in."""
    read_edge(page)
    field(page, "readings.go[1]").fill("x")
    page.wait_for_selector(".marks.bad a")
    sizes = "els => els.filter(e => e.offsetParent && e.type != 'hidden').map(e => "
    sizes += "[e.outerHTML.slice(0, 90), e.getBoundingClientRect().height])"
    for label in ("Edge", "Jigs", "Check", "Measure"):
        if label != "Edge":
            go_to(page, label)
        pressed = "nav a, button:not(.first), .button, summary, .marks a, .files a"
        for what, high in page.eval_on_selector_all(pressed, sizes):
            assert high >= least, what
        for what, high in page.eval_on_selector_all("input, select", sizes):
            assert high >= fields, what


@pytest.mark.parametrize(
    "page",
    [{"viewport": DESK, "forced_colors": "active"}],
    indirect=True,
)
def test_forced_colours_are_kept(page: Any) -> None:
    """The user's own colours, on the drawings too."""
    ink = page.evaluate(
        "() => { const p = document.createElement('p'); p.style.color = 'CanvasText';"
        " document.body.append(p); return getComputedStyle(p).color }"
    )
    for shape in (".skin-a", ".skin-b", ".axis", ".arrow"):
        drawn = page.eval_on_selector(f".section {shape}", "e => getComputedStyle(e).stroke")
        assert drawn == ink, shape
    read_edge(page)
    page.wait_for_selector(".verdict.within-the-limit")
    assert page.eval_on_selector(".plot .limit", "e => getComputedStyle(e).stroke") == ink
    sign = page.eval_on_selector(".verdict h2", "e => getComputedStyle(e, '::before').content")
    assert "\N{CHECK MARK}" in sign


def test_a_script_that_was_written_into_the_page_does_not_run(page: Any) -> None:
    """The policy stands even where escaping would fail."""
    blocked: list[str] = []
    page.on("console", lambda line: blocked.append(line.text))
    page.evaluate(
        "() => { const s = document.createElement('script'); s.textContent = 'window.ran = 1';"
        " document.body.append(s) }"
    )
    assert page.evaluate("window.ran") is None
    assert any("Content Security Policy" in line for line in blocked)
    page.troubles.clear()  # that one was wanted


def test_files_are_drawn_and_taken_away(page: Any, job: Path, tmp_path: Path) -> None:
    """The same bytes as the command writes."""
    assert said("make", job, "--out", tmp_path / "made").status == 0
    go_to(page, "Jigs")
    page.click("text=Draw files")
    page.wait_for_selector("text=Take away")
    assert found_by_axe(page) == []
    for name in ("print.pdf", "cut-1.svg", "cut-1.dxf"):
        with page.expect_download() as download:
            page.click(f"text={name}")
        assert Path(download.value.path()).read_bytes() == (tmp_path / "made" / name).read_bytes()
    page.click("button:has-text('Put into')")
    page.wait_for_selector("text=They are in")
    assert (job.parent / "airbrake-edge-trial-piece-jigs" / "manifest.json").is_file()


def test_a_job_is_begun_from_the_list(chromium: Any, job: Path) -> None:
    """The first minute, without a job file."""
    listening = Server(lambda: Bench(job.parent))
    thread = threading.Thread(target=listening.run, daemon=True)
    thread.start()
    window = chromium.new_context(viewport={"width": NARROW[0], "height": NARROW[1]})
    page = window.new_page()
    page.set_default_timeout(WAIT)
    page.goto(listening.address)
    page.wait_for_selector("h1:has-text('Which job?')")
    assert found_by_axe(page) == []
    assert page.evaluate(WIDE) == 0
    field(page, "name").fill("My edge")
    page.click("button:has-text('tapered-inch')")
    page.wait_for_selector("nav")
    assert page.inner_text(".file") == "My edge.toml"
    assert (job.parent / "My edge.toml").is_file()
    page.click(".file a")
    page.click("button:has-text('trial.toml')")
    page.wait_for_selector(".file:has-text('trial.toml')")
    window.close()
    listening.stop()
    thread.join(10.0)


def test_the_end_is_said(page: Any, server: Server) -> None:
    """The page says that it may be closed."""
    page.click("text=End")
    page.wait_for_selector("text=The bench has ended.")
    assert server.bench.is_over


def test_a_bench_that_is_gone_is_told_and_the_form_stays(page: Any, server: Server) -> None:
    """Half an hour was over."""
    read_edge(page)
    page.wait_for_selector(".verdict.within-the-limit")
    server.stop()
    page.wait_for_timeout(1500)
    field(page, "limit").fill("0.60")
    page.wait_for_selector("#state:has-text('does not answer')")
    assert field(page, "readings.go[3]").input_value() == "0.45"
    page.troubles.clear()  # the browser says so too


def test_the_browser_is_there() -> None:
    """Else every other test here would say so less plainly."""
    assert shutil.which("chromium") == CHROMIUM
    assert AXE.is_file()
