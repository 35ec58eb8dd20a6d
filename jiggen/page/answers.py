"""Answers requests: the frame round the screens, drafts, saving, undo, and who changed what.

A form carries the stamp of the bytes that it was made from. What is typed is the text of those
bytes with the form's changes; it stands nowhere but in the form until it is saved::

    /try     shows what is typed          nothing is kept
    /save    writes it                    409 where the file is another by now
    /both    shows was, yours, the file's
    /join    writes what was chosen of them
    /undo    goes back one saved text
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from msgspec import Struct, field

import jiggen
from jiggen.errors import JiggenError
from jiggen.exits import own_fault
from jiggen.job.starters import starter_contents, starter_files
from jiggen.make import SOLIDS, make_drawings
from jiggen.page import frame
from jiggen.page.catalogue import units_of
from jiggen.page.check import CHECK_SCREEN, printed, record_pdf, reprint
from jiggen.page.compare import compare, join
from jiggen.page.edge import EDGE_SCREEN, chart, edge_file
from jiggen.page.edit import CannotEdit, is_toml
from jiggen.page.fields import Mark, marks_of_text
from jiggen.page.form import blanked, solved
from jiggen.page.jigs import Jigs, kinds
from jiggen.page.measure import MEASURE_SCREEN
from jiggen.page.request import Answer, Request
from jiggen.page.screen import Screen, Shown
from jiggen.page.store import (
    CannotSave,
    Changed,
    Kept,
    Store,
    WrittenMeanwhile,
    plain,
)
from jiggen.report.angles import starters_text
from jiggen.write.files import write_all_new
from jiggen.write.manifest import PAGES

HIDDEN = ("_job", "_screen", "_stamp", "_now", "_text", "_part", "as")
"""Names of a form that are no fields."""
STAYS = ("as", "station", "at", "only", "formats")
"""What of a view stays when the page is loaded anew."""
DONE = {
    "saved": "Saved.",
    "undone": "Went back one step.",
    "reprinted": "print.pdf is drawn again, corrected. Print it, throw the old pages away.",
}
CHANGED = "was changed elsewhere. Save is off."


class Refused(JiggenError):
    """A form that this page did not make."""


class Draft(Struct, frozen=True, kw_only=True):
    """What a form holds, beside the file as it is now."""

    kept: Kept  # the file now
    text: str  # as typed
    stamp: str  # of what the form began from
    trouble: str = ""  # why something of the form could not be put into the text
    view: Mapping[str, str] = field(default_factory=dict)  # what the form says beside the text

    @property
    def is_stale(self) -> bool:
        """Return whether the file is not what the form began from."""
        return self.stamp != self.kept.stamp


class Bench:
    """The job files of one folder, and the one that is open.

    Attributes:
        folder: nothing outside of it is read or written.
        job: the job file that is open, or None.
        is_over: the user ended it.
    """

    def __init__(self, folder: Path, job: Path | None = None) -> None:
        self.folder, self.job, self.is_over = folder.resolve(), job, False
        self.is_list = job is None
        self.jigs = Jigs()
        self._stores: dict[tuple[Path, str], Store] = {}  # by the file, and its blank
        self._good: dict[str, str] = {}
        self._routes: dict[tuple[str, str], Callable[[Request], Answer]] = {
            ("GET", "/"): self._start,
            ("GET", "/list"): self._list,
            ("POST", "/open"): self._open,
            ("POST", "/new"): self._new,
            ("POST", "/try"): self._try,
            ("POST", "/save"): self._save,
            ("POST", "/undo"): self._undo,
            ("POST", "/both"): self._both,
            ("POST", "/join"): self._join,
            ("POST", "/make"): self._make,
            ("POST", "/halt"): self._halt,
            ("POST", "/put"): self._put,
            ("POST", "/reprint"): self._reprint,
            ("POST", "/stop"): self._stop,
            ("GET", "/made"): self._made,
            ("GET", "/chart.svg"): self._chart,
            ("GET", "/sheet.pdf"): self._sheet,
            ("GET", "/record.pdf"): self._record,
            ("GET", "/print.pdf"): self._printed,
        }

    @property
    def screens(self) -> tuple[Screen, ...]:
        """Return the screens in the order of their tabs."""
        return MEASURE_SCREEN, self.jigs.screen, CHECK_SCREEN, EDGE_SCREEN

    @property
    def _opened(self) -> Path:
        if self.job is None:
            raise Refused("No job is open.")
        return self.job

    @property
    def is_drawing(self) -> bool:
        """Return whether files are being drawn."""
        return self.jigs.making.is_running

    def answer(self, request: Request) -> Answer:
        """Answer a request that the guard let through."""
        try:
            return self._answer(request)
        except (Refused, CannotEdit) as bad:
            return self._line(400, str(bad))
        except JiggenError as bad:
            return self._line(409, str(bad))
        except OSError as trouble:
            return self._line(409, f"{trouble.filename or self.folder}: {trouble.strerror}")
        except Exception as fault:
            return self._line(500, own_fault(fault))

    def _answer(self, request: Request) -> Answer:
        route = self._routes.get((request.method, request.path))
        if route is not None:
            return route(request)
        top, _, name = request.path.removeprefix("/").partition("/")
        if request.method == "GET" and top == "own" and name in frame.OWN:
            return Answer(body=frame.own(name), kind=frame.OWN[name])
        if request.method == "GET" and top == "file":
            return self.jigs.file(name)
        if request.method == "GET" and top == "picture":
            return self.jigs.picture(name)
        screen = next((each for each in self.screens if each.name == top and not name), None)
        if request.method != "GET" or screen is None:
            return self._line(404, "There is no such page.")
        if self.job is None:
            return Answer.go("/list")
        kept = self._store(screen).read()
        draft = Draft(kept=kept, text=kept.text, stamp=kept.stamp, view=request.query)
        return self._page(screen, draft, said=DONE.get(request.query.get("done", ""), ""))

    # ------------------------------------------------------------ which job

    def jobs(self) -> list[str]:
        """Return the names of the folder's job files, and of files too broken to tell."""
        found = []
        for path in sorted(self.folder.glob("*.toml")):
            if path.name.startswith(".") or not path.resolve().is_relative_to(self.folder):
                continue
            try:
                text = Store(path).read().text
            except CannotSave:
                continue
            if not is_toml(text) or "wedge" in tomllib.loads(text):
                found.append(path.name)
        return found

    def _start(self, request: Request) -> Answer:
        return Answer.go("/list" if self.job is None else "/measure")

    def _list(self, request: Request) -> Answer:
        if not self.is_list:
            return Answer.go("/measure")
        texts = {name: place.read_text("utf-8") for name, place in starter_files().items()}
        lines = [line.split(None, 1) for line in starters_text(texts).splitlines()]
        return Answer(body=frame.page("list.html", jobs=self.jobs(), starters=lines))

    def _open(self, request: Request) -> Answer:
        name = request.form.get("name", "")
        if not self.is_list or name not in self.jobs():
            raise Refused("There is no such job file in this folder.")
        self._take(self.folder / name)
        return Answer.go("/measure")

    def _new(self, request: Request) -> Answer:
        starter, name = (request.form.get(each, "").strip() for each in ("starter", "name"))
        name = name.removesuffix(".toml") or starter
        good = name.replace("-", "").replace("_", "").replace(" ", "").isalnum()
        if not self.is_list or starter not in starter_files() or not good or len(name) > 60:
            raise Refused("A job file's name has letters, figures, spaces and hyphens.")
        contents = starter_contents(starter, self.folder / f"{name}.toml")
        if not request.form.get("example"):
            job = next(iter(contents))
            contents[job] = blanked(contents[job].decode("utf-8")).encode("utf-8")
        write_all_new(contents)
        self._take(next(iter(contents)))
        return Answer.go("/measure")

    def _take(self, job: Path) -> None:
        if self.is_drawing:
            raise Changed("Files are being drawn; wait, or stop it first")
        self.job, self.jigs = job, Jigs()
        self._good.clear()

    # ------------------------------------------------------------ drafts

    def _try(self, request: Request) -> Answer:
        screen, draft = self._draft(request.form)
        return self._page(screen, draft, part=bool(request.form.get("_part")))

    def _save(self, request: Request) -> Answer:
        screen, draft = self._draft(request.form)
        if draft.trouble:
            return self._page(screen, draft, status=400)
        try:
            self._store(screen).save(draft.text, draft.stamp)
        except Changed:
            return self._page(screen, draft, status=409)
        except (CannotSave, WrittenMeanwhile) as bad:
            return self._page(screen, draft, status=409, said=f"{bad}.")
        return _back_to(screen, draft, "saved")

    def _undo(self, request: Request) -> Answer:
        screen, draft = self._draft(request.form)
        try:
            self._store(screen).undo(draft.stamp)
        except (Changed, CannotSave, WrittenMeanwhile) as bad:
            return self._page(screen, draft, status=409, said=f"{bad}.")
        return _back_to(screen, draft, "undone")

    def _both(self, request: Request) -> Answer:
        screen, draft = self._draft(request.form)
        was = self._store(screen).text_of(draft.stamp)
        found = compare(was, draft.text, draft.kept.text)
        return Answer(
            body=frame.page(
                "both.html", **self._frame(screen), draft=draft, found=found, was=was or ""
            )
        )

    def _join(self, request: Request) -> Answer:
        form = {key: value for key, value in request.form.items() if key in HIDDEN}
        screen, draft = self._draft(form)
        store = self._store(screen)
        if form.get("_now") != draft.kept.stamp:
            return self._both(Request(method="POST", path="/both", form=form))
        found = compare(store.text_of(draft.stamp), draft.text, draft.kept.text)
        chosen = {row.key: request.form.get(f"of:{row.key}", "") for row in found.rows}
        if request.form.get("all") == "yours":
            text = draft.text
        elif any(row.is_asked and not chosen[row.key] for row in found.rows) or not found.can_join:
            raise Refused("Choose one of the two at each line that asks.")
        else:
            text = join(draft.kept.text, found.rows, chosen)
        store.save(text, draft.kept.stamp)
        return Answer.go(f"/{screen.name}?done=saved")

    def _draft(self, form: Mapping[str, str]) -> tuple[Screen, Draft]:
        """Return the screen that a form is of, and what is typed in it."""
        screen = next((each for each in self.screens if each.name == form.get("_screen")), None)
        if screen is None:
            raise Refused("This form is of no screen.")
        if form.get("_job") != self._opened.name:
            raise Changed(f"{self._opened.name} was opened in the meantime; open this one again")
        store, fields = self._store(screen), {k: v for k, v in form.items() if k not in HIDDEN}
        kept, stamp = store.read(), form.get("_stamp", "")
        base = store.text_of(stamp)
        base = kept.text if base is None else base
        text = base
        if "_text" in form and screen.has_text and plain(form["_text"]) != plain(base):
            text = kept.with_ends(form["_text"])
        trouble = ""
        if is_toml(text):
            if not screen.keys(text, fields):
                raise Refused("The form holds a field that is not known.")
            try:
                text = screen.draft(text, fields)
            except CannotEdit as bad:
                trouble = str(bad)
        view = fields | {"as": form.get("as", "")}
        return screen, Draft(kept=kept, text=text, stamp=stamp, trouble=trouble, view=view)

    def _store(self, screen: Screen) -> Store:
        store = screen.store(self._opened)
        return self._stores.setdefault((store.path, store.blank), store)

    # ------------------------------------------------------------ pages

    def _page(
        self, screen: Screen, draft: Draft, *, said: str = "", status: int = 200, part: bool = False
    ) -> Answer:
        """Return a screen, or the parts of it that change while somebody types."""
        store, fault = self._store(screen), ""
        shown = Shown(faults=tuple(marks_of_text(draft.text, store.name)))
        line = _line_of(shown.faults)
        try:
            if line is None:
                shown = screen.show(self._opened, draft.text, draft.kept, draft.view)
        except Exception as bad:
            fault, status = own_fault(bad), 500  # the form stays: nothing that was typed is lost
        if shown.is_whole:
            self._good[screen.name] = shown.picture
        good = self._good.get(screen.name, "")
        changes = len(compare(None, draft.text, draft.kept.text).rows)
        state = f"{store.name} {CHANGED}" if draft.is_stale else said or fault or draft.trouble
        if not state and plain(draft.text) != plain(draft.kept.text):
            state = f"{changes or 'Some'} not saved"
        elif not state and draft.kept.read_only:
            state = f"{store.name} is read-only."
        elif not state:
            state = "As in the file." if draft.kept.stamp else "No file yet."
        context = self._frame(screen) | {
            "draft": draft,
            "shown": shown,
            "picture": shown.picture or good or shown.ghost,
            "is_grey": not shown.picture and bool(good),
            "as_text": screen.has_text
            and (line is not None or fault != "" or draft.view.get("as") == "text"),
            "carries": plain(draft.text) != plain(draft.kept.text),
            "line": line,
            "around": _around(draft.text, line),
            "state": state,
            "fault": fault,
            "can_undo": store.can_undo,
            "text": plain(draft.text),
            "jigs": self.jigs.shown(draft.kept.stamp),
        }
        template = "live.html" if part else f"{screen.name}.html"
        return Answer(status=status, body=frame.page(template, **context))

    def _frame(self, screen: Screen) -> dict[str, Any]:
        return {
            "job": self._opened.name,
            "screen": screen,
            "screens": self.screens,
            "is_list": self.is_list,
            "file": self._store(screen).name,
        }

    def _line(self, status: int, text: str) -> Answer:
        """Return one sentence as a page, with the way back."""
        back = "/" if self.job is None else "/measure"
        return Answer(status=status, body=frame.page("line.html", text=text, back=back))

    # ------------------------------------------------------------ files

    def _make(self, request: Request) -> Answer:
        screen, draft = self._draft(request.form)
        only, solids = (request.form.get(name, "") for name in ("only", "formats"))
        if only not in ("", *kinds()) or solids not in ("", *SOLIDS):
            raise Refused("This page has no such choice.")
        if plain(draft.text) != plain(draft.kept.text):
            return self._page(screen, draft, status=409, said="Save first; then draw.")
        self.jigs.start(self._opened, draft.kept, only, solids)
        return _back_to(screen, draft)

    def _halt(self, request: Request) -> Answer:
        screen, draft = self._draft(request.form)
        self.jigs.making.stop()
        self.jigs.making.wait(10.0)
        return self._page(screen, draft)

    def _put(self, request: Request) -> Answer:
        screen, draft = self._draft(request.form)
        self.jigs.put(self._opened)
        return self._page(screen, draft)

    def _made(self, request: Request) -> Answer:
        stamp = Store(self._opened).read().stamp
        return Answer(body=frame.page("made.html", jigs=self.jigs.shown(stamp)))

    def _chart(self, request: Request) -> Answer:
        store = edge_file(self._opened)
        name = f"{self._opened.stem}-edge.svg"
        return Answer(
            body=chart(store.read().text, store.name), kind="image/svg+xml", file_name=name
        )

    def _sheet(self, request: Request) -> Answer:
        is_inch = self.job is not None and units_of(Store(self.job).read().text) == "in"
        starter = starter_files()["tapered-inch" if is_inch else "prismatic"]
        blank = solved(Path(starter.name), starter.read_text("utf-8"))
        made = make_drawings(blank, formats=("pdf",), only=("sheet",), version=jiggen.__version__)
        pdf = made.files[PAGES]
        return Answer(body=pdf, kind="application/pdf", file_name="measuring-sheet.pdf")

    def _record(self, request: Request) -> Answer:
        name = f"{self._opened.stem}-record.pdf"
        return Answer(body=record_pdf(self._opened), kind="application/pdf", file_name=name)

    def _printed(self, request: Request) -> Answer:
        return Answer(body=printed(self._opened), kind="application/pdf", file_name="print.pdf")

    def _reprint(self, request: Request) -> Answer:
        screen, draft = self._draft(request.form)
        is_saved = plain(draft.text) == plain(draft.kept.text)
        why_not = reprint(self._opened) if is_saved else "save the readings first"
        if why_not:
            said = f"print.pdf is as it was: {why_not}."
            return self._page(screen, draft, status=409, said=said)
        return _back_to(screen, draft, "reprinted")

    def _stop(self, request: Request) -> Answer:
        if self.is_drawing:
            raise Changed("Files are being drawn; wait, or stop it first")
        self.is_over = True
        return Answer(
            body=frame.page("line.html", text="The bench has ended. Close this page.", back="")
        )


def _back_to(screen: Screen, draft: Draft, done: str = "") -> Answer:
    """Send the browser to a screen as it is shown now."""
    view = {"done": done} | {name: draft.view.get(name, "") for name in STAYS}
    said = urlencode({name: value for name, value in view.items() if value})
    return Answer.go(f"/{screen.name}{'?' if said else ''}{said}")


def _line_of(marks: Sequence[Mark]) -> int | None:
    """Return the first line that keeps a text from being TOML; None where there is none."""
    for mark in marks:
        if (found := re.fullmatch(r"line (\d+)", mark.label)) is not None:
            return int(found[1])
    return 1 if marks else None


def _around(text: str, line: int | None) -> list[tuple[int, str]]:
    """Return the lines about a broken one, numbered."""
    if line is None:
        return []
    rows = list(enumerate(plain(text).split("\n"), start=1))
    return rows[max(0, line - 3) : line + 2]
