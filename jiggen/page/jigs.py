"""The Jigs screen: draws the files and hands them out; they are what ``jiggen make`` writes."""

from __future__ import annotations

import mimetypes
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import jiggen
from jiggen.errors import DoesNotFit, JiggenError, faults_of
from jiggen.exits import own_fault
from jiggen.make import make_drawings
from jiggen.page.fields import marks_of
from jiggen.page.making import Making
from jiggen.page.measure import solved
from jiggen.page.request import Answer
from jiggen.page.screen import Screen, Shown
from jiggen.page.store import Changed, Kept
from jiggen.proof.folder import folder_of, put_drawings

KINDS = {".pdf": "print at 100 %", ".svg": "to cut, mm", ".dxf": "to cut, mm"}
"""What a file is for, by its ending."""


class Jigs:
    """The files of the job that is open.

    Attributes:
        making: draws them.
    """

    def __init__(self) -> None:
        self.making = Making()
        self._job_name = self._put_into = self._refused = ""
        self._lost: tuple[str, ...] = ()

    def start(self, job: Path, kept: Kept) -> None:
        """Begin to draw the files of a job as it stands on disk."""
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
            lambda progress: make_drawings(solution, progress=progress, version=jiggen.__version__),
        )

    def file(self, name: str, job: str) -> Answer:
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
        """Return what the screen shows of the files, and whether they are older than the job."""
        making = self.making
        drawn = None if making.is_running else making.drawn
        files = [] if drawn is None else [name for name in drawn.files if "/" not in name]
        return {
            "is_running": making.is_running,
            "done": making.done,
            "total": making.total,
            "files": [(n, KINDS[Path(n).suffix]) for n in files if Path(n).suffix in KINDS],
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


def show(job: Path, text: str, kept: Kept, view: Mapping[str, str]) -> Shown:
    """Return what the screen shows beside the files: nothing of the text."""
    return Shown()


JIGS_SCREEN = Screen(name="jigs", label="Jigs", show=show, has_text=False)
