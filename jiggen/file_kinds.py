"""Which of the job's files a file is: one given in another's place is named in one line.

The files lie beside each other and four of them end alike; the wrong one, read to its end, would
give a dozen faults of which none says what happened.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

JOB, READINGS, MANIFEST, DRAWING = "job", "readings", "manifest", "drawing"

HEAD = 200_000  # bytes that are looked at: a file shows what it is long before

NAMES: Mapping[str, str] = {
    JOB: "a job file",
    READINGS: "a readings form",
    MANIFEST: "the manifest of a set of drawings",
    DRAWING: "a drawing",
}

REMEDIES: Mapping[tuple[str, str], str] = {
    (READINGS, JOB): "give the job file, e.g. jiggen verify JOB --readings {file}",
    (MANIFEST, JOB): "give the job file that these drawings were made from",
    (DRAWING, JOB): "give the job file that it was made from; jiggen remeasure {file} measures it",
    (JOB, READINGS): "give the form that jiggen make left beside the drawings, readings.toml",
    (MANIFEST, READINGS): "give the form that lies beside it, readings.toml",
    (DRAWING, READINGS): "give the form that jiggen make left beside the drawings, readings.toml",
    (JOB, DRAWING): "jiggen make {file} draws it; give one of the drawings, e.g. print.pdf",
    (READINGS, DRAWING): "jiggen verify JOB --readings {file} judges it; give a PDF, SVG or DXF",
    (MANIFEST, DRAWING): "give one of the drawings that it lists",
}
"""By what was given and what was wanted: what to do."""

# Possessive, and within a line: a file of blank lines alone took minutes.
_JOB_TABLE = re.compile(r"^[ \t]*+\[++[ \t]*+wedge\b", re.MULTILINE)
_FORM_TABLE = re.compile(
    r"^[ \t]*+(?:\[\[[ \t]*+(?:page|bed|piece|test_hole)\s*\]\]|\[[ \t]*+coupon\s*\])",
    re.MULTILINE,
)
_DXF = re.compile(r"\s*+(?:999\s[^\n]*+\n\s*+)*+0\s++SECTION\b")


def kind_of(data: bytes) -> str:
    """Return which of the job's files a file is, by what is in it, whatever it is called.

    `JOB`, `READINGS`, `MANIFEST` or `DRAWING`; empty for what is none of them.
    """
    head = data[:HEAD]
    if b"%PDF-" in head[:1024] or head.startswith(b"AutoCAD Binary DXF"):
        return DRAWING
    text = head.decode("utf-8-sig", "replace").lstrip()
    if text.startswith("<") and "<svg" in text:
        return DRAWING
    if _DXF.match(text):
        return DRAWING
    if text.startswith("{"):
        return MANIFEST if '"jiggen"' in text and '"files"' in text else ""
    if _JOB_TABLE.search(text):
        return JOB
    return READINGS if _FORM_TABLE.search(text) else ""


def wrong_kind(data: bytes, wanted: str, file: str) -> tuple[str, str] | None:
    """Return problem and remedy of a file that was given in the place of another.

    The name is as the user gave it. None where the file is what was wanted, or nothing that is
    known.
    """
    kind = kind_of(data)
    if kind in ("", wanted):
        return None
    problem = f"is {NAMES[kind]}, not {NAMES[wanted]}"
    return problem, REMEDIES[kind, wanted].format(file=file)
