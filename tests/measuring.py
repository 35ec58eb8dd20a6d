"""What the tests of proof do at a bench: draw a job, measure, fill in forms, ask for a verdict."""

import json
import math
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from commandline import said

from jiggen.geometry.distortion import Distortion
from jiggen.job.read import read_job
from jiggen.make import make_drawings
from jiggen.proof.folder import FORM, put_drawings
from jiggen.proof.record import PieceRecord, Record, read_record
from jiggen.solve import solve

TRUE = Distortion()
FIRST, SECOND = "page 2", "page 3"
"""Pages with pieces: page 1 is the cover."""

FIGURE = ("bar-x", "bar-y", "diagonal-1", "diagonal-2")


@dataclass(kw_only=True)
class Bench:
    """A job on disk and the folder of its drawings.

    Attributes:
        folder: where both lie.
        job: text of the job.
    """

    folder: Path
    job: str

    @property
    def file(self) -> Path:
        """Return the job file, as it is now."""
        path = self.folder / "job.toml"
        path.write_text(self.job, "utf-8")
        return path

    @property
    def out(self) -> Path:
        """Return the folder of the drawings."""
        return self.folder / "out"

    @property
    def form(self) -> Path:
        """Return the form that lies among the drawings."""
        return self.out / FORM

    @property
    def manifest(self) -> dict[str, Any]:
        """Return the manifest."""
        return json.loads((self.out / "manifest.json").read_text("utf-8"))

    @property
    def record(self) -> Record:
        """Return what the drawings should measure."""
        return read_record(self.manifest)

    def make(self, *, formats: tuple[str, ...] = ("pdf", "svg"), only: tuple[str, ...] = ()) -> str:
        """Draw the job as it is now; return the name of the blank form."""
        return put_drawings(str(self.out), _drawn(str(self.file), self.job, formats, only))[0]

    def cut(self, name: str = "guide-a1", off: float = 0.0, step: float = 0.05) -> dict[str, float]:
        """Return the lengths over the corners of a guide whose front edge is so many degrees off.

        As a calliper of this step reads them, mm; a positive angle opens the forward corner.
        """
        piece = self.record.pieces[name]
        at = corners(piece)
        turn = math.radians(off) * (1 if opens(piece) > 0.0 else -1)
        x, y = (c - e for c, e in zip(at["C"], at["E"], strict=True))
        at["C"] = (
            at["E"][0] + x * math.cos(turn) - y * math.sin(turn),
            at["E"][1] + x * math.sin(turn) + y * math.cos(turn),
        )
        true = {size: math.dist(at[size[0]], at[size[2]]) for size in piece.sizes}
        return {size: round(mm / step) * step for size, mm in true.items()}

    def bed(self, made: Distortion = TRUE) -> dict[str, float]:
        """Return what the engraved bars of the first bed measure that a machine made so, mm."""
        sizes = self.record.beds[0].measurable()
        return {n: made.length(size.vector) for n, size in sizes.items()}

    def page(self, made: Distortion = TRUE, name: str | None = None) -> dict[str, float]:
        """Return what the check figure of a page measures that a printer made so, mm."""
        pages = self.record.pages
        sheet = pages[0] if name is None else next(s for s in pages if s.name == name)
        return {n: made.length(size.vector) for n, size in sheet.measurable().items()}

    def options(self, made: Distortion = TRUE, step: float = 0.5) -> list[str]:
        """Return the four readings of a page as options, as a rule of this step reads them."""
        sizes = self.page(made)
        unit = 25.4 if 'units = "in"' in self.job else 1.0
        return [
            word
            for name in FIGURE
            for word in (f"--{name}", f"{round(sizes[name] / step) * step / unit:.4f}")
        ]

    def fill(self, kind: str, name: str, values: dict[str, Any], form: Path | None = None) -> None:
        """Write readings into a form, as one more table of it: before its marks."""
        place = form or self.form
        text = place.read_text("utf-8")
        rows = "".join(f'"{key}" = {_as_toml(value)}\n' for key, value in values.items())
        table = f"\n[[{kind}]]\n{f'name = {json.dumps(name)}' if name else ''}\n{rows}\n"
        at = text.find("[marks]")
        at = len(text) if at < 0 else at
        place.write_text(text[:at] + table + text[at:], "utf-8")

    def verify(self, *words: object) -> dict[str, Any]:
        """Return the JSON verdict of a run that has nothing to complain about."""
        answer = said("verify", self.file, "--out", self.out, "--json", *words)
        assert answer.err == "", answer.err
        found = json.loads(answer.out)
        assert answer.status == (0 if found["verdict"] == "use" else answer.status)
        return found

    def report(self, *words: object) -> str:
        """Return the report of a run that has nothing to complain about."""
        answer = said("verify", self.file, "--out", self.out, *words)
        assert answer.err == "", answer.err
        return answer.out

    def refused(self, *words: object) -> str:
        """Return the complaints of a run that says nothing else."""
        answer = said("verify", self.file, "--out", self.out, *words)
        assert (answer.status, answer.out) == (2, "")
        return answer.err


def _as_toml(value: Any) -> str:
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{key} = {json.dumps(one)}' for key, one in value.items())} }}"
    return json.dumps(value)


def corners(piece: PieceRecord) -> dict[str, tuple[float, float]]:
    """Return the lettered corners of a guide's back plate as drawn, mm."""
    return {
        letter: end
        for name, size in piece.sizes.items()
        for letter, end in ((name[0], size.start), (name[2], size.end))
    }


def opens(piece: PieceRecord) -> float:
    """Return more than 0 where a guide's front edge lies to the left of its base, as drawn."""
    at = corners(piece)
    (ux, uy), (vx, vy) = (
        (at[end][0] - at[start][0], at[end][1] - at[start][1]) for start, end in ("AB", "EC")
    )
    return ux * vy - uy * vx


_DRAWN: dict[tuple[str, tuple[str, ...], tuple[str, ...]], dict[str, bytes]] = {}


def _drawn(
    file: str, job: str, formats: tuple[str, ...], only: tuple[str, ...]
) -> dict[str, bytes]:
    """Return the files of a job, drawn once however many tests measure them."""
    key = (job, formats, only)
    if key not in _DRAWN:
        _DRAWN[key] = make_drawings(solve(read_job(file)), formats=formats, only=only).files
    return _DRAWN[key]


def page_readings(sizes: dict[str, float], plus_minus: float) -> dict[str, Any]:
    """Return readings of a page as a table of the form has them, give or take so much, mm."""
    return {
        "plus_minus": f"{plus_minus} mm",
        **{name: f"{mm:.3f} mm" for name, mm in sizes.items()},
    }


def words_of(found: dict[str, Any]) -> dict[str, str]:
    """Return the last word on each piece by its name."""
    return {answer["name"]: answer["verdict"] for answer in found["answers"]}


def flat(text: str) -> str:
    """Return a report on one line."""
    return " ".join(text.split())


_BLANK = re.compile(r'"?([^"=]+?)"? = (""|\["", ""\]) ')


def blanks(form: str) -> list[tuple[str, str, str]]:
    """Return what a form asks for: kind and name of the table, and name of the length."""
    found = []
    kind = name = ""
    for line in form.splitlines():
        if head := re.fullmatch(r"\[\[?(\w+)\]\]?", line):
            kind, name = head[1], ""
        elif kind and line.startswith("name = "):
            name = tomllib.loads(line)["name"]
        elif kind not in ("", "marks") and (blank := _BLANK.match(line)):
            found.append((kind, name, blank[1]))
    return found
