"""The pieces that stand on a skin or serve those that do: guides, foot, blocks, wraps.

One guide and one block for each of the guide set, and no twins.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from jiggen.drawing.piece import Piece
from jiggen.errors import DoesNotFit
from jiggen.jigs.block import build_block, pad_places
from jiggen.jigs.corner import ARCH, PAD
from jiggen.jigs.foot import build_foot
from jiggen.jigs.guide import BASE_ON_SKIN_MIN, build_guide
from jiggen.jigs.guide_lettering import GuideLabels
from jiggen.jigs.profile import BlockSizes
from jiggen.jigs.stand import (
    Stand,
    bit_reach,
    block_sizes,
    blocks_stand,
    edge_ends,
    guide_sizes,
    holes_text,
    is_curved,
    say_at_most,
    say_short,
    section_near,
    short_sides,
    sliver,
    smallest_pitch,
)
from jiggen.jigs.wrap import WrapSizes, build_wrap
from jiggen.solution import GuideResult, Solution
from jiggen.units import Length, size, words

if TYPE_CHECKING:
    from jiggen.geometry.section import Section

#: Least stance of a guide on a curved skin, as a share of its foot: nearer together it rocks.
STANCE = 0.6
#: Degrees. Pads that would change the corner by less than this stay where they are.
PAD_ANGLE = 1e-4
PAD_ROUNDS = 20
#: mm. A block or a wrap that is off by more no longer fits its dowels or its wood.
LENGTH_ERROR = 0.3
#: mm. A wrap that is off by more does not meet itself at the glued corner.
WRAP_ERROR = 0.5


def stand_words(solution: Solution, stand: Stand) -> tuple[str, str, str]:
    """Return side name, holes and the sentence about the lettered face."""
    sides = short_sides(solution.job.sides)
    names = {"a": sides[0], "b": sides[1]}
    if stand.side != "ab":
        return (
            names[stand.side],
            holes_text(solution, stand.guides[0]),
            f"lettered face toward {edge_ends(solution.job)[0]}",
        )
    a, b = (holes_text(solution, g) for g in stand.guides)
    holes = a if a == b else f"{a} / {b.removeprefix('holes ')}"
    return (
        f"{sides[0]} + {sides[1]}",
        holes,
        f"fits both sides: {sides[1]}, turn it over",
    )


def guide_pieces(solution: Solution, some: tuple[Stand, ...]) -> list[Piece]:
    """Return the angle guides, one for each of the guide set.

    Args:
        solution: the solved job.
        some: where guides and blocks stand, twins joined.
    """
    job = solution.job
    bit = 2.5 if job.holes is None else job.holes.drill
    sizes = guide_sizes(solution)
    pieces = []
    for stand in some:
        side_name, holes, face = stand_words(solution, stand)
        extra = [] if job.holes is None else [f"for drill {job.holes.drill_name}"]
        reach = bit_reach(solution, sizes.edge)
        if reach is not None:
            extra.append(f"needs {say_short(reach, job.units)} of bit out of the chuck")
        if sizes.layers > 1:
            extra.insert(0, f"glue {sizes.layers} together")
        overhang = solution.base_aft_of_hole
        second = overhang is not None and overhang < BASE_ON_SKIN_MIN
        if second:
            extra.append("aft edge: a second look only, its base overhangs the TE")
        rest = say_at_most(sliver(solution, stand), job.units)
        angle, feet = stand.angle, None
        notes = [face]
        if any(is_curved(solution, s) for s in stand.side):
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
                    aft_use="second look only" if second else "bit here",
                    on_paper=(f"grey left at one end: {rest} at most",),
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


def _feet(solution: Solution, stand: Stand, bit: float) -> tuple[float, tuple[float, float]]:
    """Return the corner angle in degrees and the feet's places on a curved skin."""
    job, guide = solution.job, stand.guides[0]
    section = section_near(solution, guide)
    if section is None or job.holes is None:
        raise DoesNotFit(
            "on a curved skin a guide's feet are placed from the hole, and the job has no holes",
            key="holes",
            remedy="state [holes] with drill, line, first, pitch and count",
        )
    wanted = math.tan(math.pi / 2 - guide.angle)
    cos = math.cos(math.atan(wanted))
    radius, near = bit / 2, job.guide.relief + PAD / 2
    near_x = radius + near * cos
    least = radius + STANCE * job.guide.foot * cos
    most = radius + (job.guide.foot - job.guide.relief - PAD) * cos
    from jiggen.geometry.feet import feet_for_slope

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
                words(
                    "the skin rises {bulge} between the feet of guide {name} and touches its arch, "
                    "{arch} high",
                    bulge=Length(bulge),
                    name=guide.name,
                    arch=size(ARCH),
                ),
                key="guide.foot",
                given=words("{near} between the feet", near=size(far - near)),
                remedy="a shorter guide.foot",
            )


def foot_pieces(solution: Solution, some: tuple[Stand, ...]) -> list[Piece]:
    """Return the foot that keeps a thin guide from tipping.

    Args:
        solution: the solved job.
        some: where guides and blocks stand, twins joined.
    """
    if all(any(is_curved(solution, s) for s in stand.side) for stand in some):
        return []
    job = solution.job
    bit = 2.5 if job.holes is None else job.holes.drill
    return [
        build_foot(
            "foot",
            bit,
            guide_sizes(solution),
            job.name,
            units=job.units,
            pitch=smallest_pitch(solution),
        )
    ]


def block_pieces(solution: Solution, some: tuple[Stand, ...]) -> list[Piece]:
    """Return the layers of the drill blocks.

    Args:
        solution: the solved job.
        some: where guides and blocks stand, twins joined.
    """
    job = solution.job
    if job.holes is None:
        return []
    sizes = block_sizes(solution)
    pieces: list[Piece] = []
    for stand in some:
        side_name, holes, face = stand_words(solution, stand)
        curved = any(is_curved(solution, s) for s in stand.side)
        layers = build_block(
            f"block-{stand.label}",
            _angle_on_pads(solution, stand, sizes) if curved else stand.angle,
            job.holes.drill,
            sizes,
            job.name,
            side_name,
            holes,
            f"Block {stand.label}",
            drill=job.holes.drill_name,
            pitch=smallest_pitch(solution),
            mirrored=stand.mirrored,
            on_pads=curved,
            side=stand.side,
            notes=(face, *(("stands on two pads, for a curved skin",) if curved else ())),
        )
        pieces += (
            replace(p, allowed_angle=math.degrees(stand.margin), allowed_length=LENGTH_ERROR)
            for p in layers
        )
    return pieces


def _angle_on_pads(solution: Solution, stand: Stand, sizes: BlockSizes) -> float:
    """Return the corner angle in degrees of a block that stands on two pads on a curved skin."""
    guide, holes = stand.guides[0], solution.job.holes
    section = section_near(solution, guide)
    if section is None or holes is None:
        return stand.angle
    angle = stand.angle
    for _ in range(PAD_ROUNDS):
        # The pads move a little with the corner that they give, and the corner with them.
        start, end = pad_places(angle, sizes)
        cos = math.sin(math.radians(angle))
        near, far = (start + PAD / 2) * cos, (end - PAD / 2) * cos
        if holes.line + far > section.chord / 2:
            raise DoesNotFit(
                "a block does not stand on the aft half of so short a chord",
                key="holes.line",
                remedy="a longer chord, or --only guide",
            )
        z0, z1 = (section.height(guide.side, holes.line + d) for d in (near, far))
        before, angle = angle, math.degrees(math.pi / 2 - math.atan2(z1 - z0, far - near))
        if abs(angle - before) < PAD_ANGLE:
            break
    _refuse_bulge(section, guide, holes.line, near, far)
    return angle


def wrap_pieces(solution: Solution, some: tuple[Stand, ...]) -> list[Piece]:
    """Return the paper wraps for blocks of wood.

    Args:
        solution: the solved job.
        some: where guides and blocks stand, twins joined.
    """
    job = solution.job
    if job.holes is None or not blocks_stand(solution):
        return []
    pieces = []
    for stand in some:
        side_name, holes, face = stand_words(solution, stand)
        pieces.append(
            build_wrap(
                f"wrap-{stand.label}",
                stand.angle,
                job.holes.drill,
                WrapSizes(height=job.block.height, pin=job.guide.pin),
                job.name,
                side_name,
                holes,
                f"Paper wrap {stand.label}",
                drill=job.holes.drill_name,
                units=job.units,
                pitch=smallest_pitch(solution),
                mirrored=stand.mirrored,
                side=stand.side,
                notes=(face.replace("lettered face", "first face"),),
            )
        )
        pieces[-1] = replace(
            pieces[-1],
            allowed_angle=math.degrees(stand.margin),
            allowed_length=WRAP_ERROR,
        )
    return pieces
