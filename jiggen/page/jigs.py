"""The Jigs screen: what will be drawn, shown as pages and beds, and the files to take away.

The form changes the job file, as that of Measure does. What is drawn is the job as it is saved::

    laid     pages and beds, laid out when somebody looks      pictures, one at a time
    made     every file of it, as ``jiggen make`` writes them  one by one, as a ZIP, into the folder
"""

from __future__ import annotations

import importlib.util
import mimetypes
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct

import jiggen
from jiggen.drawing.shapes import On
from jiggen.drawing.sheet import Sheet
from jiggen.errors import DoesNotFit, JiggenError, JobError, faults_of
from jiggen.exits import own_fault
from jiggen.jigs.plan import all_jigs
from jiggen.make import PAGES, SOLIDS, draw, make_drawings
from jiggen.page import frame
from jiggen.page.catalogue import field_of, label_of
from jiggen.page.fields import Mark, marks_of, told
from jiggen.page.form import (
    DRAWN,
    draft,
    is_blank,
    is_known,
    looked_at,
    marks_at,
    placed,
    sections,
    solved,
)
from jiggen.page.making import Making
from jiggen.page.request import Answer
from jiggen.page.screen import Screen, Shown
from jiggen.page.store import Changed, Kept
from jiggen.proof.folder import folder_of, put_drawings
from jiggen.write.manifest import MANIFEST, USUAL
from jiggen.write.screen import screen_svg

KINDS = {
    ".pdf": "print at 100 %",
    ".svg": "to cut, mm",
    ".dxf": "to cut, mm",
    ".3mf": "for a 3-D printer",
    ".stl": "for a 3-D printer",
}
"""What a file is for, by its ending."""
SHEET = ("print.paper", "print.margin", "guide.cut", "cut.sheet", "cut.kerf", "cut.bed")
"""Keys that most jobs state, above the others."""


class Laid(Struct, frozen=True, kw_only=True):
    """Pages and beds of a job as it is saved.

    Attributes:
        stamp: of the job file.
        sheets: by the name in their address, with what they are.
        look: what the jigs ask to look at.
        refused: why there are none.
    """

    stamp: str
    sheets: Mapping[str, tuple[Sheet, On]]
    look: tuple[Mark, ...] = ()
    refused: str = ""


class Jigs:
    """Pages and files of the job that is open.

    Attributes:
        making: draws the files.
    """

    def __init__(self) -> None:
        self.making = Making()
        self.screen = Screen(name="jigs", label="Jigs", keys=is_known, draft=draft, show=self._show)
        self._job_name = self._put_into = self._refused = ""
        self._lost: tuple[str, ...] = ()
        self._laid: dict[str, Laid] = {}  # by stamp: now, and what is shown grey until then

    # ------------------------------------------------------------ what will be drawn

    def _show(self, job: Path, text: str, kept: Kept, view: Mapping[str, str]) -> Shown:
        marks, missing, is_good = list[Mark](), list[Mark](), True
        try:
            solved(job, text)
        except JobError as bad:
            is_good = False
            blank = [fault for fault in bad.faults if is_blank(text, fault.key)]
            marks = marks_at([fault for fault in bad.faults if fault not in blank], text, DRAWN)
            missing = [
                placed(Mark(keys=(one.key,), text="", label=label_of(one.key, text)), DRAWN)
                for one in blank
            ]
        laid = self._laid.get(kept.stamp)
        is_saved = text == kept.text
        if laid is None and is_saved and is_good and view.get("look"):
            laid = lay(job, kept)
            self._laid = {**dict([*self._laid.items()][-1:]), kept.stamp: laid}
        optional, always = sections(DRAWN, text, SHEET)
        shown = laid is not None and is_saved
        return Shown(
            fields={
                "sheet": told([field_of(path, text) for path in SHEET], marks),
                "jigs": [one | {"fields": told(one["fields"], marks)} for one in optional],
                "more": [one | {"fields": told(one["fields"], marks)} for one in always],
                "added": view.get("do", "").removeprefix("add "),
                "only": [("", "all that the job asks for"), *((kind, kind) for kind in kinds())],
                "formats": formats(),
                "picked": {name: view.get(name, "") for name in ("only", "formats")},
            },
            picture=_pages(laid) if laid is not None and shown else "",
            later="" if shown or not (is_saved and is_good) else "/jigs?look=1",
            faults=tuple(marks),
            missing=tuple(missing),
            is_whole=shown,
        )

    def picture(self, name: str) -> Answer:
        """Return a page or a bed to look at, by ``STAMP/NAME.svg``."""
        stamp, _, sheet = name.partition("/")
        sheet = sheet.removesuffix(".svg")
        laid = self._laid.get(stamp)
        if laid is None or sheet not in laid.sheets:
            return Answer.line(404, "There is no such picture; look at the pages again.")
        drawn, on = laid.sheets[sheet]
        return Answer(body=screen_svg(drawn, on=on), kind="image/svg+xml")

    # ------------------------------------------------------------ files

    def start(self, job: Path, kept: Kept, only: str = "", solids: str = "") -> None:
        """Begin to draw the files of a job as it stands on disk.

        Args:
            job: its file.
            kept: what stands there.
            only: a kind of piece; empty for all that the job asks for.
            solids: a format of a 3-D printer's; empty for none.
        """
        self._put_into = self._refused = ""
        try:
            solution = solved(job, kept.text)
        except JiggenError as bad:
            faults = getattr(bad, "faults", ())
            self._refused = "; ".join(mark.text for mark in marks_of(faults)) or str(bad)
            return
        self._job_name = solution.job.name
        self._units = solution.job.units
        self.making.start(
            kept.stamp,
            lambda progress: make_drawings(
                solution,
                formats=(*USUAL, *([solids] if solids else [])),
                only=[only] if only else [],
                progress=progress,
                version=jiggen.__version__,
            ),
        )

    def file(self, name: str) -> Answer:
        """Return one of the files by its exact name, or all of them as a ZIP."""
        drawn = self.making.drawn
        if drawn is not None and name == "all.zip":
            whole = f"{folder_of(self._job_name)}.zip"
            return Answer(body=drawn.archive(), kind="application/zip", file_name=whole)
        if drawn is None or name not in drawn.files:
            return Answer.line(404, "There is no such file; draw the files first.")
        kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
        return Answer(body=drawn.files[name], kind=kind, file_name=name.rpartition("/")[2])

    def put(self, job: Path) -> None:
        """Put the files into the folder of the drawings, as ``jiggen make`` does.

        Raises:
            Changed: nothing is drawn.
            DrawingFileError: see `jiggen.proof.folder.put_drawings`.
        """
        if self.making.drawn is None:
            raise Changed("Nothing is drawn yet")
        folder = job.parent / folder_of(self._job_name)
        _, lost = put_drawings(str(folder), self.making.drawn.files)
        self._put_into, self._lost = folder.name, lost

    def shown(self, stamp: str) -> dict[str, Any]:
        """Return what is shown of the files.

        Args:
            stamp: of the job file: files of another are older.
        """
        making = self.making
        drawn = None if making.is_running else making.drawn
        names = [] if drawn is None else [name for name in drawn.files if name != MANIFEST]
        files = [(name, KINDS.get(Path(name).suffix, "")) for name in names]
        return {
            "is_running": making.is_running,
            "done": making.done,
            "total": making.total,
            "files": [(n, said) for n, said in files if said and not n.startswith("pieces/")],
            "count": 0 if drawn is None else len(drawn.files),
            "is_old": drawn is not None and drawn.stamp != stamp,
            "trouble": self._refused or self._trouble(making.trouble),
            "folder": folder_of(self._job_name),
            "put_into": self._put_into,
            "lost": self._lost,
        }

    def _trouble(self, trouble: Exception | None) -> str:
        if isinstance(trouble, DoesNotFit):
            return "; ".join(map(str, faults_of(trouble, self._job_name, self._units)))
        if isinstance(trouble, JiggenError):
            return str(trouble)
        return "" if trouble is None else own_fault(trouble)


def kinds() -> tuple[str, ...]:
    """Return what can be drawn alone, as after ``--only``."""
    return (*(jig.kind for jig in all_jigs()), *PAGES)


def formats() -> list[tuple[str, str]]:
    """Return what can be picked beside the usual files; nothing where no solids can be built."""
    if importlib.util.find_spec("manifold3d") is None:
        return []
    return [("", "no"), *((name, name.upper()) for name in sorted(SOLIDS))]


def lay(job: Path, kept: Kept) -> Laid:
    """Lay out the pages and beds of a job as it is saved."""
    solution = solved(job, kept.text)
    try:
        drawn = draw(solution, formats=("pdf", "svg"), version=jiggen.__version__)
    except DoesNotFit as bad:
        said = "; ".join(str(fault) for fault in faults_of(bad, job.name, solution.job.units))
        return Laid(stamp=kept.stamp, sheets={}, refused=said)
    sheets = {
        sheet.name.replace(" ", "-"): (sheet, on)
        for some, on in ((drawn.pages + drawn.rolls, On.PAPER), (drawn.beds.sheets, On.CUT))
        for sheet in some
    }
    new = [one for one in drawn.checks if one not in solution.checks]
    look = looked_at(new, kept.text, solution.job.units, DRAWN)
    return Laid(stamp=kept.stamp, sheets=sheets, look=tuple(look))


def _pages(laid: Laid) -> str:
    """Return the pages and beds as HTML, each with what is on it."""
    rows = []
    for name, (sheet, on) in laid.sheets.items():
        counts: dict[str, int] = {}
        for one in sheet.placed:
            title = one.piece.title.partition(",")[0]
            counts[title] = counts.get(title, 0) + (1 if on is On.CUT else one.piece.count)
        said = ", ".join(
            f"{n} \N{MULTIPLICATION SIGN} {t}" if n > 1 else t for t, n in counts.items()
        )
        rows.append((name, sheet, said or sheet.title))
    return frame.page("pages.html", laid=laid, rows=rows).decode("utf-8")
