"""The parts of a job beyond its wedge and holes: the stock as it comes, and the jigs asked for.

A section that stands in the job file asks for its jig; one that is left out is None, and its jig is
made only when it is named. All in mm and radians, defaults filled in.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class LighteningHole:
    """A round hole that lightens the stock.

    Attributes:
        at: its middle along the stock, mm from the stock's zero end.
        diameter: mm.
        line: distance of its middle forward of the trailing edge, mm.
    """

    at: float
    diameter: float
    line: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StockInput:
    """The wedge as it comes, longer than needed, and the part that is cut from it.

    Attributes:
        length: of the stock, mm.
        holes: its own rivet holes along it, mm from its zero end, rising; empty if undrilled.
        lightening: its lightening holes.
        trim: the two trim lines, mm along the part, as the job's holes count.
        fairing: how far in from each trim line the end fairing covers, mm; 0 if there is none.
        may_turn: whether the stock may be turned end for end; None where the job does not say.
        match: how far a hole of the stock may lie beside a hole of the skins, mm.
    """

    length: float
    holes: tuple[float, ...] = ()
    lightening: tuple[LighteningHole, ...] = ()
    trim: tuple[float, float]
    fairing: tuple[float, float] = (0.0, 0.0)
    may_turn: bool | None = None
    match: float = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeInput:
    """The taper gauge.

    Attributes:
        tolerance: how far the thin and the thick gauge lie from nominal, radians of included angle.
        depth: of the V along the chord plane, mm; None to follow from the wedge's depth.
        feeler: the feeler blade that the gap is judged with, mm; None for the eye.
    """

    tolerance: float = math.radians(0.25)
    depth: float | None = None
    feeler: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StripInput:
    """The hole strip.

    Attributes:
        width: of the strip, mm; three of the default lie on an A4 or Letter page.
        overlap: of one tile with the next, mm, at least.
        side: ``a`` or ``b``: the skin, or the face of the wedge, that it lies on.
        zero: ``left`` or ``right``: where the zero end lies with the trailing edge toward the
            reader and that side up; empty for the right on side A and the left on side B. All jigs
            follow it.
        roll: also draw it as one long page.
    """

    width: float = 44.0
    overlap: float = 15.0
    side: str = "a"
    zero: str = ""
    roll: bool = True


#: Radians. The most that a cradle may be allowed to hold the chord plane off level.
CRADLE_ERROR_MOST = math.radians(2.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class CradleInput:
    """The cradle that holds the wedge under a drill press.

    Attributes:
        holes: how many holes it serves without being moved along the wedge.
        build: ``ribs`` (upright ribs and a seat plate) or ``layers`` (profiles glued together).
        height: of the seat above the table at the fence, mm.
        fence: height of the fence above the seat, mm; lower by itself where the stop turns.
        stop: diameter of what turns about the countersink on the upper face, mm.
        fit: what a slot is wider than the sheet that goes into it, mm.
        error: how far the chord plane may be from level, radians. The rim of a head 4.5 mm wide
            then stands 0.02 mm proud on one side.
    """

    holes: int = 5
    build: str = "ribs"
    height: float = 50.0
    fence: float = 6.0
    stop: float = 26.0
    fit: float = 0.1
    error: float = math.radians(0.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class CornerInput:
    """The corner guide: plates that stand square to each other.

    Attributes:
        height: of the corner that the bit rests in, mm.
        foot: length of the stop and of the cross plate along the skin, mm.
        fit: what a slot is wider than the sheet that goes into it, mm.
    """

    height: float = 55.0
    foot: float = 70.0
    fit: float = 0.1
