"""Which pieces a solved job needs: one guide and one block for each of the guide set, no twins.

Side A's and side B's guide may be the same piece turned over; then it is made once and says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from jiggen.drawing.labels import BAND
from jiggen.drawing.piece import Piece
from jiggen.errors import DoesNotFit
from jiggen.geometry.feet import feet_for_slope
from jiggen.geometry.section import Section
from jiggen.jigs.block import BlockSizes, bore_play, bore_tilt, build_block, laminate
from jiggen.jigs.coupon import build_coupon
from jiggen.jigs.guide import (
    ARCH,
    BASE_ON_SKIN_MIN,
    PAD,
    GuideLabels,
    GuideSizes,
    build_foot,
    build_guide,
)
from jiggen.jigs.wrap import WrapSizes, build_wrap
from jiggen.solution import Check, GuideResult, Solution
from jiggen.units import say_length

#: The kinds of piece, in the order in which they are made.
KINDS = ("guide", "foot", "block", "wrap", "coupon")
#: Made only when asked for by name.
ON_REQUEST = ("coupon",)
#: Radians. Two guides nearer than this are the same shape: a thousandth of a degree.
SAME_SHAPE = math.radians(0.001)
#: Radians. A skin that bends less than this over the fitted part is flat to a guide.
FLAT_SKIN = math.radians(0.05)
#: Least stance of a guide on a curved skin, as a share of its foot: nearer together it rocks.
STANCE = 0.6
#: mm. How far a bit must come out of the wedge to have drilled through, chips and all.
BREAK_THROUGH = 6.0
#: mm. A block or a wrap that is off by more no longer fits its dowels or its wood.
LENGTH_ERROR = 0.3
#: Radians. With less left for cutting, a guide by hand is luck.
LEAST_MARGIN = math.radians(0.2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """A guide of the set with all that its pieces need.

    Attributes:
        label: short name on the piece, ``a1``; ``1`` where it fits both sides.
        side: ``a``, ``b`` or ``ab``.
        guides: the guide, or side A's and side B's.
        allowed: the least angle error that its holes allow, radians.
        margin: what is left of it at the worst hole for cutting and drilling, radians.
    """

    label: str
    side: str
    guides: tuple[GuideResult, ...]
    allowed: float
    margin: float

    @property
    def angle(self) -> float:
        """Return the forward guide angle in degrees."""
        return math.degrees(self.guides[0].angle)

    @property
    def mirrored(self) -> bool:
        """Return whether the piece is drawn with forward to the left."""
        return self.side == "b"


def stands(solution: Solution) -> tuple[Stand, ...]:
    """Return the guide set with twins joined.

    Args:
        solution: the solved job.

    Returns:
        Side A's in order, each joined with side B's of the same shape, then side B's others.
    """
    left = [g for g in solution.guides if g.side == "b"]
    found: list[Stand] = []
    for guide in (g for g in solution.guides if g.side == "a"):
        twin = next((b for b in left if abs(b.angle - guide.angle) <= SAME_SHAPE), None)
        if twin is not None and not _is_curved(solution, "a") and not _is_curved(solution, "b"):
            left.remove(twin)
            both = (guide, twin)
            found.append(
                Stand(
                    label=guide.name[1:],
                    side="ab",
                    guides=both,
                    allowed=min(_allowed(solution, g)[0] for g in both),
                    margin=min(_allowed(solution, g)[1] for g in both),
                )
            )
        else:
            found.append(_single(solution, guide))
    return (*found, *(_single(solution, guide) for guide in left))


def build_pieces(solution: Solution, only: tuple[str, ...] = ()) -> tuple[Piece, ...]:
    """Build every piece that a solved job needs.

    Args:
        solution: the solved job.
        only: kinds or names of pieces; empty for all.

    Returns:
        The pieces: guides, the foot, then blocks and wraps.

    Raises:
        DoesNotFit: a piece that cannot be made with the job's sizes, or a name in `only` that no
            piece has.
    """
    some = stands(solution)
    pieces: list[Piece] = []
    makers = {"guide": _guides, "foot": _foot, "block": _blocks, "wrap": _wraps, "coupon": _coupon}
    for kind in KINDS:
        if not only and kind in ON_REQUEST:
            continue
        wanted = not only or any(w == kind or w.startswith(f"{kind}-") for w in only)
        if wanted:
            pieces += makers[kind](solution, some)
    if not only:
        return tuple(pieces)
    chosen = [p for p in pieces if any(w in (p.kind, p.name) or _stem(p, w) for w in only)]
    for name in only:
        if not any(name in (p.kind, p.name) or _stem(p, name) for p in pieces):
            known = ", ".join((*KINDS, *(f"guide-{s.label}" for s in some)))
            raise DoesNotFit(
                "no piece of this job has that name",
                key="--only",
                given=repr(name),
                remedy=f"known are {known}",
            )
    return tuple(chosen)


def bore_checks(solution: Solution) -> tuple[Check, ...]:
    """Return a check of the tilt that each block's bore permits.

    Args:
        solution: the solved job.

    Returns:
        One check a block; a warning says which length or sheet would do.

    Source: atan(clearance / length), see `jiggen.jigs.block.bore_tilt`.
    """
    job = solution.job
    if job.holes is None or not blocks_stand(solution):
        return ()
    sizes = _block_sizes(solution)
    layers = laminate(sizes.bore, sizes.stock, sizes.fit)
    play = bore_play(layers, job.holes.drill, sizes.inside)
    tilt = bore_tilt(play, sizes.height)
    checks = []
    for stand in stands(solution):
        limit = stand.margin
        good = tilt <= limit
        why = (
            f"the bit may shift {say_length(play, job.units)} in a bore "
            f"{say_length(sizes.height, job.units)} long; the holes allow "
            f"{math.degrees(stand.allowed):.2f} deg, and this range of holes leaves "
            f"{math.degrees(stand.margin):.2f} of it"
        )
        if not good:
            why += "; " + _bore_remedy(solution, sizes, play, limit)
        checks.append(
            Check(
                name=f"bore tilt, block {stand.label}",
                status="ok" if good else "warn",
                value=math.degrees(tilt),
                limit=math.degrees(limit),
                unit="deg",
                why=why,
                source="derived: atan(clearance / length)",
            )
        )
    return tuple(checks)


def skin_checks(solution: Solution) -> tuple[Check, ...]:
    """Return what the skin does to guides and blocks: curvature, and a base past the edge."""
    job = solution.job
    checks = []
    if job.holes is not None and not blocks_stand(solution):
        checks.append(
            Check(
                name="blocks",
                status="warn",
                value=None,
                limit=None,
                unit="",
                why="no blocks or wraps are drawn: the skin is curved and a flat base would rock "
                "on it; use the guides, which stand on two feet",
                source="common practice, no published source",
            )
        )
    for stand in stands(solution):
        if stand.margin < LEAST_MARGIN:
            checks.append(
                Check(
                    name=f"room for cutting, guide {stand.label}",
                    status="warn",
                    value=math.degrees(stand.margin),
                    limit=math.degrees(LEAST_MARGIN),
                    unit="deg",
                    why="its range of holes uses nearly all of the allowed error and leaves this "
                    "for cutting and drilling; a smaller allow.drift makes more guides, each with "
                    "a shorter range, nearer to its holes",
                    source="common practice, no published source",
                )
            )
    rest = base_aft_of_hole(solution)
    if rest is not None and rest < BASE_ON_SKIN_MIN:
        checks.append(
            Check(
                name="base aft of the hole",
                status="warn",
                value=max(rest, 0.0),
                limit=BASE_ON_SKIN_MIN,
                unit="mm",
                why="used aft of the hole, a guide's base overhangs the trailing edge and only "
                f"{say_length(max(rest, 0.0), job.units)} of it rests on the skin: stand the guide "
                "forward of the hole, and use the aft edge only to look a second time",
                source="common practice, no published source",
            )
        )
    return tuple(checks)


def base_aft_of_hole(solution: Solution) -> float | None:
    """Return how much of a guide's base is on the skin when it stands aft of a hole, mm."""
    job = solution.job
    if job.holes is None or any(_is_curved(solution, side) for side in ("a", "b")):
        return None
    steepest = max(max(s.skin_a, s.skin_b) for s in solution.stations)
    return job.holes.line / math.cos(steepest) - job.holes.drill / 2 - job.guide.relief


def blocks_stand(solution: Solution) -> bool:
    """Return whether a flat-based block stands still on both skins."""
    return not any(_is_curved(solution, side) for side in ("a", "b"))


def bit_reach(solution: Solution, beside: float) -> float | None:
    """Return how far the bit must stand out of the chuck, mm, rounded up to 5.

    Args:
        solution: the solved job.
        beside: height of the jig that it runs beside or through, mm.
    """
    grips = [h.grip if h.grip is not None else h.thickness for h in solution.holes]
    known = [g for g in grips if g is not None]
    if not known:
        return None
    return 5.0 * math.ceil((beside + max(known) + BREAK_THROUGH) / 5.0)


def holes_text(solution: Solution, guide: GuideResult) -> str:
    """Return the range of holes that a guide serves, in words."""
    if guide.first_hole is None or guide.last_hole is None:
        return "all stations" if len(solution.stations) == 1 else f"station {guide.name[1:]}"
    if guide.first_hole == guide.last_hole:
        return f"hole {guide.first_hole}"
    return f"holes {guide.first_hole}-{guide.last_hole}"


def smallest_pitch(solution: Solution) -> float | None:
    """Return the smallest distance between neighbouring holes, mm, or None."""
    job = solution.job
    if job.holes is None or len(job.holes.positions) < 2:
        return None
    p = job.holes.positions
    return min(b - a for a, b in zip(p, p[1:], strict=False))


def _stem(piece: Piece, name: str) -> bool:
    """Return whether `name` is the block that a layer belongs to."""
    return piece.kind == "block" and piece.name.startswith(f"{name}-")


def _single(solution: Solution, guide: GuideResult) -> Stand:
    allowed, margin = _allowed(solution, guide)
    return Stand(label=guide.name, side=guide.side, guides=(guide,), allowed=allowed, margin=margin)


def _allowed(solution: Solution, guide: GuideResult) -> tuple[float, float]:
    """Return the least angle error that the guide's holes allow, and what it leaves, radians."""
    allow = solution.job.allow
    first, last = guide.first_hole, guide.last_hole
    if first is None or last is None:
        return allow.angle, max(allow.angle - guide.worst_angle_error, 0.0)
    served = [h for h in solution.holes if h.drill_now and first <= h.number <= last]
    allowed = [
        allow.angle if h.thickness is None else math.atan2(allow.drift, h.thickness) for h in served
    ]
    left = [
        error - abs(math.pi / 2 - h.angles.skin(guide.side) - guide.angle)
        for error, h in zip(allowed, served, strict=True)
    ]
    return min(allowed, default=allow.angle), max(min(left, default=allow.angle), 0.0)


def _is_curved(solution: Solution, side: str) -> bool:
    for section, station in zip(solution.section_at, solution.job.wedge.stations, strict=True):
        if section is None:
            continue
        fit = section.fit(station.values["from"])
        if (fit.bend_a if side == "a" else fit.bend_b) > FLAT_SKIN:
            return True
    return False


def _section_near(solution: Solution, guide: GuideResult) -> Section | None:
    """Return the outline nearest to the middle of the guide's holes."""
    sections = [
        (station.at, section)
        for station, section in zip(solution.job.wedge.stations, solution.section_at, strict=True)
        if section is not None
    ]
    if not sections:
        return None
    numbers = (guide.first_hole, guide.last_hole)
    at = [h.at for h in solution.holes if h.number in numbers]
    middle = sum(at) / len(at) if at else 0.0
    return min(sections, key=lambda pair: abs(pair[0] - middle))[1]


def _guide_sizes(solution: Solution) -> GuideSizes:
    g, cut = solution.job.guide, solution.job.cut
    return GuideSizes(
        foot=g.foot,
        edge=g.edge,
        height=g.height,
        pin=g.pin,
        chuck=g.chuck,
        relief=g.relief,
        stock=cut.sheet,
        layers=g.layers,
    )


def _block_sizes(solution: Solution) -> BlockSizes:
    job = solution.job
    assert job.holes is not None
    b = job.block
    return BlockSizes(
        bore=job.holes.drill if b.bore is None else b.bore,
        inside=b.inside,
        height=b.height,
        length=b.length,
        dowel=b.dowel,
        fit=b.fit,
        stock=job.cut.sheet,
        pin=job.guide.pin,
    )


def _words(solution: Solution, stand: Stand) -> tuple[str, str, str]:
    """Return side name, holes and the sentence about the lettered face."""
    sides = solution.job.sides
    names = {"a": sides[0], "b": sides[1]}
    if stand.side != "ab":
        return (
            names[stand.side],
            holes_text(solution, stand.guides[0]),
            "lettered face toward hole 1",
        )
    a, b = (holes_text(solution, g) for g in stand.guides)
    holes = a if a == b else f"{a} / {b.removeprefix('holes ')}"
    return (
        f"{sides[0]} + {sides[1]}",
        holes,
        f"fits both sides: {sides[1]}, turn it over",
    )


def sliver(solution: Solution, stand: Stand) -> float:
    """Return how wide a sliver of the witness band still passes, mm.

    Half of what the holes leave is left to each of the two check edges; more than the band is
    wide cannot be told from it.
    """
    return min(solution.job.guide.edge * math.tan(stand.margin / 2), BAND)


def _guides(solution: Solution, some: tuple[Stand, ...]) -> list[Piece]:
    job = solution.job
    bit = 2.5 if job.holes is None else job.holes.drill
    sizes = _guide_sizes(solution)
    pieces = []
    for stand in some:
        side_name, holes, face = _words(solution, stand)
        extra = [f"a sliver up to {say_short(sliver(solution, stand), job.units)} passes"]
        reach = bit_reach(solution, sizes.edge)
        if reach is not None:
            extra.insert(0, f"bit out of the chuck {say_short(reach, job.units)}")
        angle, feet = stand.angle, None
        notes = [face]
        if any(_is_curved(solution, s) for s in stand.side):
            angle, feet = _feet(solution, stand, bit)
            notes.append("stands on two feet, for a curved skin; forward of the hole only")
        pieces.append(
            build_guide(
                f"guide-{stand.label}",
                angle,
                bit,
                sizes,
                GuideLabels(
                    job=job.name,
                    title=f"Guide {stand.label}",
                    side=side_name,
                    holes=holes,
                    face=face,
                    extra=tuple(extra),
                ),
                pitch=smallest_pitch(solution),
                mirrored=stand.mirrored,
                feet=feet,
                side=stand.side,
                notes=tuple(notes),
            )
        )
        pieces[-1] = replace(pieces[-1], allowed_angle=math.degrees(stand.margin))
    return pieces


def say_short(mm: float, units: str) -> str:
    """Return a length for a label: one decimal of a mm, two of an inch."""
    return f"{mm:.1f} mm".replace(".0 mm", " mm") if units == "mm" else f"{mm / 25.4:.2f} in"


def _feet(solution: Solution, stand: Stand, bit: float) -> tuple[float, tuple[float, float]]:
    """Return the corner angle in degrees and the feet's places on a curved skin."""
    job, guide = solution.job, stand.guides[0]
    section = _section_near(solution, guide)
    assert section is not None and job.holes is not None
    wanted = math.tan(math.pi / 2 - guide.angle)
    cos = math.cos(math.atan(wanted))
    radius, near = bit / 2, job.guide.relief + PAD / 2
    near_x = radius + near * cos
    least = radius + STANCE * job.guide.foot * cos
    most = radius + (job.guide.foot - job.guide.relief - PAD) * cos
    feet = feet_for_slope(section, guide.side, job.holes.line, near_x, least, most, wanted)
    slope = math.atan(feet.slope)
    far = (feet.far - radius) / math.cos(slope)
    _refuse_bulge(section, guide, job.holes.line, near_x, feet.far)
    return math.degrees(math.pi / 2 - slope), (near, far)


def _refuse_bulge(
    section: Section, guide: GuideResult, line: float, near: float, far: float
) -> None:
    """Refuse feet between which the skin touches the arch."""
    z0, z1 = (section.height(guide.side, line + d) for d in (near, far))
    for k in range(1, 40):
        d = near + (far - near) * k / 40
        chord = z0 + (z1 - z0) * (d - near) / (far - near)
        bulge = section.height(guide.side, line + d) - chord
        if bulge > ARCH - 0.3:
            raise DoesNotFit(
                f"the skin rises {bulge:.2f} mm between the feet of guide {guide.name} and "
                f"touches its arch, {ARCH:g} mm high",
                key="guide.foot",
                given=f"{far - near:.0f} mm between the feet",
                remedy="a shorter guide.foot",
            )


def _foot(solution: Solution, some: tuple[Stand, ...]) -> list[Piece]:
    if all(any(_is_curved(solution, s) for s in stand.side) for stand in some):
        return []
    job = solution.job
    bit = 2.5 if job.holes is None else job.holes.drill
    return [
        build_foot("foot", bit, _guide_sizes(solution), job.name, pitch=smallest_pitch(solution))
    ]


def _blocks(solution: Solution, some: tuple[Stand, ...]) -> list[Piece]:
    job = solution.job
    if job.holes is None or not blocks_stand(solution):
        return []
    pieces: list[Piece] = []
    for stand in some:
        side_name, holes, face = _words(solution, stand)
        layers = build_block(
            f"block-{stand.label}",
            stand.angle,
            job.holes.drill,
            _block_sizes(solution),
            job.name,
            side_name,
            holes,
            f"Block {stand.label}",
            pitch=smallest_pitch(solution),
            mirrored=stand.mirrored,
            side=stand.side,
            notes=(face,),
        )
        pieces += (
            replace(p, allowed_angle=math.degrees(stand.margin), allowed_length=LENGTH_ERROR)
            for p in layers
        )
    return pieces


def _wraps(solution: Solution, some: tuple[Stand, ...]) -> list[Piece]:
    job = solution.job
    if job.holes is None or not blocks_stand(solution):
        return []
    pieces = []
    for stand in some:
        side_name, holes, face = _words(solution, stand)
        pieces.append(
            build_wrap(
                f"wrap-{stand.label}",
                stand.angle,
                job.holes.drill,
                WrapSizes(height=job.block.height, pin=job.guide.pin),
                job.name,
                side_name,
                holes,
                f"Block {stand.label}",
                pitch=smallest_pitch(solution),
                mirrored=stand.mirrored,
                side=stand.side,
                notes=(face.replace("lettered face", "first face"),),
            )
        )
        pieces[-1] = replace(
            pieces[-1],
            allowed_angle=math.degrees(stand.margin),
            allowed_length=LENGTH_ERROR,
        )
    return pieces


def _coupon(solution: Solution, some: tuple[Stand, ...]) -> list[Piece]:
    return [build_coupon("coupon", solution.job.name, solution.job.cut.sheet)]


def _bore_remedy(solution: Solution, sizes: BlockSizes, play: float, limit: float) -> str:
    """Say which length of bore, or which sheet, keeps the tilt within `limit`."""
    units = solution.job.units
    ways = []
    if limit > 0.0:
        length = math.ceil(play / math.tan(limit))
        if length <= 150:
            ways.append(f"block.height = {say_length(length, units, 0 if units == 'mm' else 2)}")
        thin = sizes.bore / max(round(sizes.bore / sizes.stock), 1)
        better = laminate(sizes.bore, thin, sizes.fit)
        drill = solution.job.holes.drill if solution.job.holes is not None else sizes.bore
        if bore_tilt(bore_play(better, drill, sizes.inside), sizes.height) <= limit:
            ways.append(f"sheet {say_length(thin, units)} thick")
    if sizes.inside is None:
        ways.append("a bushing: give its block.bore and block.inside")
    if not ways:
        ways.append("a longer bore with less play, or a larger allow.drift")
    return "would do: " + ", or ".join(ways)
