"""The job as frozen records: what the user wrote, in mm and radians, defaults filled in.

Nothing here computes: `job.read` makes these records from TOML, `solve` turns them into geometry.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from enum import StrEnum

from jiggen.job.edge import CornerInput, CradleInput, GaugeInput, StockInput, StripInput
from jiggen.job.rivet import RivetInput


class Form(StrEnum):
    """The ways to know the skin angles; each is a key of a station in the job file."""

    INCLUDED_ANGLE = "included_angle"
    SKIN_ANGLES = "skin_angles"
    THICKNESS = "thickness"
    OFFSETS = "offsets"
    READINGS = "readings"
    TAPER_RATE = "taper_rate"
    OUTLINE = "outline"


@dataclass(frozen=True, slots=True, kw_only=True)
class StationInput:
    """One measured station.

    Attributes:
        at: position along the span, mm.
        form: which way the angles are known.
        values: the form's numbers by name, mm or radians (a pure ratio for `taper_rate`):
            included_angle: ``angle``; skin_angles: ``a``, ``b``; thickness: ``front``, ``rear``,
            ``width``; offsets: ``front_a``, ``front_b``, ``rear_a``, ``rear_b``, ``width``;
            readings: ``a``, ``b``, ``chord``; taper_rate: ``rate``; outline: ``from``
            (share of the chord, 0 to 1), ``chord`` (mm).
        along: thickness form only: ``chord`` or ``face``, the way `width` was measured.
        plus_minus: uncertainty of each value by name, same units; empty when not stated.
            For outline: ``z``, the uncertainty of a coordinate in mm.
        outline: outline form only: the file's points as x, y pairs in the file's own unit.
        outline_file: outline form only: the file's name as given.
    """

    at: float
    form: Form
    values: dict[str, float]
    along: str = "chord"
    plus_minus: dict[str, float] = field(default_factory=dict)
    outline: tuple[tuple[float, float], ...] = ()
    outline_file: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WedgeInput:
    """The wedge as measured.

    Attributes:
        stations: at least one, by increasing `at`.
        rear_thickness: thickness at the trailing edge, mm, or None.
        sweep: radians between the rib line and the square to the trailing edge; 0 if square.
        depth: chordwise length of the wedge in mm, square to the trailing edge, or None.
        extend: hold the end stations' values beyond them instead of raising an error.
    """

    stations: tuple[StationInput, ...]
    rear_thickness: float | None = None
    sweep: float = 0.0
    depth: float | None = None
    extend: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class HolesInput:
    """The hole line.

    Attributes:
        drill: drill diameter, mm.
        drill_name: the drill as the user wrote it, e.g. ``#40``.
        line: distance of the hole line forward of the trailing edge, mm.
        positions: y of each hole, mm; hole 1 first.
        keep_out: numbers (from 1) of holes that are not drilled now.
        passes: 1 to drill hole after hole; 2 to drill every other hole first, then those between.
    """

    drill: float
    drill_name: str
    line: float
    positions: tuple[float, ...]
    keep_out: frozenset[int] = frozenset()
    passes: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class GuideInput:
    """Sizes of the angle guide, mm; `job.read` documents the defaults.

    Attributes:
        foot: length of the base along the skin.
        edge: height of the working edge above the skin, where the chuck's cut-back begins.
        height: height of the whole guide.
        pin: diameter of a sheet-holding pin's body.
        chuck: outside diameter of the drill's chuck.
        relief: radius of the relieved inside corner.
        layers: sheets glued side by side into one guide.
    """

    foot: float = 84.0
    edge: float = 58.0
    height: float = 84.0
    pin: float = 12.0
    chuck: float = 36.0
    relief: float = 3.0
    layers: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockInput:
    """Sizes of the drill block, mm.

    Attributes:
        bore: diameter of the bushing (or of the bit) that the channel holds; None for the drill's.
        inside: bore of the bushing; None where the bit runs in the channel itself.
        height: length of the bore along the drill axis, at the channel.
        length: length of the block along x.
        dowel: diameter of the pins that align the layers.
        fit: what the channel is wider than `bore`.
        asked: whether the job has a section for the block: then one that does not fit is refused.
            It draws nothing, so it is no part of the job's mark.
    """

    bore: float | None = None
    inside: float | None = None
    height: float = 40.0
    length: float = 80.0
    dowel: float = 4.0
    fit: float = 0.05
    asked: bool = field(default=False, repr=False, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintInput:
    """Paper, and the correction of a printer that does not print true.

    Attributes:
        paper: width and height of the sheet, mm.
        paper_name: as the user wrote it, e.g. ``a4``.
        margin: mm that stay white on each side.
        scale_x: what the printer makes of 1 along x (1 is true); the inverse is applied.
        scale_y: the same along y.
        skew: radians by which the printer closes the corner between x and y.
    """

    paper: tuple[float, float] = (210.0, 297.0)
    paper_name: str = "a4"
    margin: float = 10.0
    scale_x: float = 1.0
    scale_y: float = 1.0
    skew: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CutInput:
    """Sheet material and the machine that cuts it.

    Attributes:
        sheet: thickness of the material, mm.
        kerf: full width of the slot that the machine burns or mills, mm; None when not stated.
        bed: width and height of the largest sheet, mm.
        gap: clear distance between two pieces, mm.
        live_text: leave text as text in SVG and DXF instead of strokes.
        colours: ``#rrggbb`` by operation name; empty for the project's own.
        line: pen width in mm for SVG and DXF.
    """

    sheet: float = 3.0
    kerf: float | None = None
    bed: tuple[float, float] = (600.0, 400.0)
    gap: float = 3.0
    live_text: bool = False
    colours: dict[str, str] = field(default_factory=dict)
    line: float = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class CountersinkInput:
    """How the wedge is countersunk, and with what, mm."""

    square_to: str = "chord"
    pilot: float | None = None
    clearance: float | None = None
    cage: float | None = None
    tried: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class AllowInput:
    """What is allowed.

    Attributes:
        drift: largest mismatch at the exit of a hole, mm; None for what the rivet's hole bears.
        drift_given: whether the job stated it.
        angle: largest angle error where the thickness at the holes is not known, radians.
        land: least land between opposed countersinks, mm; None where the job does not say.
    """

    drift: float | None = None
    drift_given: bool = False
    angle: float = 0.5 * 3.141592653589793 / 180.0
    land: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A whole job file.

    Attributes:
        file: the path it was read from, as given.
        name: printed on every piece.
        units: ``mm`` or ``in``: how lengths are said to the user; all fields are in mm.
        sides: what side A and side B are called.
        skin: thickness of skin A and of skin B, mm, or None.
        rivet_head: diameter of the rivet's head, mm, or None.
        rivet: the rivet, or None where the job has no such section.
        stock: the wedge as it comes and the part to be cut from it, or None.
        gauge: the taper gauge, None where the job does not ask for it; so the others.
    """

    file: str
    name: str
    units: str
    sides: tuple[str, str]
    wedge: WedgeInput
    holes: HolesInput | None
    skin: tuple[float, float] | None
    rivet_head: float | None
    allow: AllowInput
    guide: GuideInput
    block: BlockInput
    print: PrintInput
    cut: CutInput
    stock: StockInput | None = None
    gauge: GaugeInput | None = None
    strip: StripInput | None = None
    cradle: CradleInput | None = None
    corner: CornerInput | None = None
    rivet: RivetInput | None = None
    countersink: CountersinkInput = CountersinkInput()


def drawn_from(job: Job, *, only_coupon: bool = False) -> str:
    """Return a short mark of all in a job that its drawings follow from.

    Two jobs with one mark draw the same pieces. The file's place and the printer's correction do
    not count: a corrected print shows the same pieces.

    Args:
        job: as read.
        only_coupon: the kerf coupon is all that was drawn. It is drawn without kerf, and finds
            kerf and sheet: neither makes the coupon that they were read from an old one.
    """
    plain = replace(
        job, file="", print=replace(job.print, scale_x=1.0, scale_y=1.0, skew=0.0), holes=None
    )
    if only_coupon:
        plain = replace(plain, cut=replace(job.cut, kerf=None, sheet=0.0))
    holes = job.holes and (
        replace(job.holes, keep_out=frozenset()),
        sorted(job.holes.keep_out),
    )
    return hashlib.sha256(repr((plain, holes)).encode("utf-8")).hexdigest()[:16]
