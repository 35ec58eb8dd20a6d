"""What a reader found in a file, before anything is judged."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from jiggen.remeasure.contour import Contour

#: Exit status 1: the drawing, or what a printer or cutter will make of it, is not as it should be.
OFF = "off"
#: Worth knowing, and harmless.
NOTE = "note"


#: What to do about a file that is cut short or damaged.
DAMAGED = "save or copy it again from where it came, or run jiggen make again"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing to say about a file.

    Attributes:
        severity: `OFF` or `NOTE`.
        text: a sentence.
        page: number of the page it is about, from 1; 0 for the whole file.
    """

    severity: str
    text: str
    page: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundPage:
    """One page or sheet as the file draws it.

    Attributes:
        width: of the page, mm; None in a format without pages.
        height: of the page, mm.
        contours: every line that is drawn, in order, mm, y up from the page's lower left corner.
        record: the record of nominal sizes that travels with the drawing; None when there is none.
        has_text: live text was found.
    """

    width: float | None
    height: float | None
    contours: tuple[Contour, ...]
    record: dict[str, Any] | None = None
    has_text: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundDrawing:
    """A file as a reader found it.

    Attributes:
        kind: ``pdf``, ``svg`` or ``dxf``.
        pages: in order.
        findings: what the reader itself has to say: units, boxes, what it cannot read.
        unit: the unit that the file states for its numbers, in words; empty where it states none.
        as_stated: mm that one of its numbers is worth by that unit.
    """

    kind: str
    pages: tuple[FoundPage, ...]
    findings: tuple[Finding, ...] = ()
    unit: str = ""
    as_stated: float = 1.0
