r"""What a 3-D printer makes of the jigs: drill block, caul, cradle seat, end support, shim bar.

Guides, gauges and strips stay flat: those are better cut. Each body lies in its file as it is
printed, on its side, so that its slope is drawn in the layers and not stepped by them. If it were
printed at another angle, block or wedge would lean with it, hole after hole.

::

       block                      caul         seat, end support             shim bar
       ____________               _____        ___                          ______
      |    :  :    |___ tongue   |  :  |      |   '''---___      __ stop    |      '''---___
      |    :  :        |         |  :  |      |    _     '''--|  |         |_______________|
      |_|--:--:--------|  pads   |__:--|      |   | | channel |  |__       TE             front
     skin  :  :                  skin  set    |___|_|_________|_____|
           pocket, drilled out                    TE          front
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from jiggen.drawing.shapes import Bounds, Path
from jiggen.drawing.solid import Body, Solid, Turn
from jiggen.errors import DoesNotFit
from jiggen.geometry import block as numbers
from jiggen.geometry.block import BlockSection
from jiggen.geometry.seat import SeatSection
from jiggen.jigs.stand import Stand
from jiggen.units import Angle, words

#: mm. Printed: pads and walls are whole widths of a nozzle of 0.4; the pocket is so much too narrow
#: and drilled out; the tongue is a step, so long and so high over the skin; far beyond the body.
PAD_PRINTED, WALL_PRINTED, UNDER, TONGUE_PRINTED, LAND_PRINTED = 3.2, 2.4, 0.4, 12.0, 8.0
DEEP = 80.0
#: From the plan, right toward the hole before, to the section with its row upright.
PLAN_TO_SECTION: Turn = ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
#: mm. Height of the arch under a caul on a curved skin, and the least of its wall.
ARCH_PRINTED, CAUL_WALL = 0.5, 1.6
#: mm. What a seat reaches aft of the trailing edge at most, the stop's thickness, and the ledge in
#: front of it that is clamped to the table, with its height.
AFT, STOP_THICK, LEDGE, LEDGE_HIGH = 8.0, 8.0, 16.0, 6.0
#: mm. Depth of the channel under the hole line.
CHANNEL = 12.0
#: mm. Length of a seat and of an end support along the edge.
SEAT_LONG, SUPPORT_LONG = 60.0, 24.0
#: mm. A bar of the shim, the step of its joint, and its least height: whole nozzle widths.
BAR, LAP, THIN = 200.0, 3.0, 3.2
#: A bar stands on its front face: the slope is then a wall, not steps.
ON_ITS_FRONT: Turn = ((0.0, 0.0, 1.0), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0))


def block_solids(stand: Stand, section: BlockSection, body_drill: str) -> tuple[Solid, Solid]:
    """Return a drill block as one body, and the caul for the same skin.

    `body_drill` is what the bushing's body is called, and so the drill for its pocket.

    Raises:
        DrawingError: the library that builds solids is not installed.
    """
    return _block(stand, section, body_drill), _caul(stand, section)


def _block(stand: Stand, s: BlockSection, body_drill: str) -> Solid:
    """Return the block as one body, x forward, y up its bore, z along the row.

    The pocket is printed too narrow and drilled out, the block standing on its top: a bushing
    glued into a wide one would lean by what the glue leaves it.
    """
    step = (s.slot[1] if s.slot else numbers.NEAR) + WALL_PRINTED
    wall = s.body / 2.0 + WALL_PRINTED + 1.2
    back, front, far = min(s.aft, -wall), max(s.fore, wall), step + TONGUE_PRINTED
    whole = Body.prism(Bounds(back, -DEEP, front, s.top).corners, -s.near, far)
    body = _over_skin(whole, s, s.rest)
    if front > s.fore:
        clear = Body.prism(Bounds(s.fore, -DEEP, front, s.top).corners, -s.near, far)
        body = body.without(_under(clear, s, s.rest + numbers.CLEAR))
    arch = Body.prism(
        Bounds(s.aft + PAD_PRINTED, -DEEP, s.fore - PAD_PRINTED, DEEP).corners, -DEEP, far + 1.0
    )
    body = body.without(_under(arch, s, s.gap))
    let_in = s.body + WALL_PRINTED / 2.0
    if min(s.fore, -s.aft) - PAD_PRINTED < let_in / 2.0:
        # The wedge is so narrow that the bushing stands over a pad.
        body = body.without(_under(_rod(let_in), s, s.gap))
    land = Body.prism(Bounds(back - 1.0, -DEEP, front + 1.0, DEEP).corners, step, far + 1.0)
    body = body.without(_over_skin(land, s, s.rest + LAND_PRINTED))
    if s.slot is not None:
        slot = Body.prism(Path.closed(capsule(s.slot, s.drill / 2.0)), -DEEP, DEEP)
        body = body.without(slot.turned(PLAN_TO_SECTION))
    pocket = s.body - UNDER
    body = body.without(_rod(pocket))
    return body.solid(
        name=f"block-{stand.label}-solid",
        title=f"BLOCK {stand.label} solid",
        after=f"drill the block's pocket out, {body_drill} wide, the block on its top",
        bore=pocket,
        gap=s.gap - s.rest,
        **_printed(stand, s),
    )


def _caul(stand: Stand, s: BlockSection) -> Solid:
    """Return a caul: on the sloping skin its top is square to the drill axis.

    A clamp's jaw or a rivet set stands on it straight; the hole clears the head.
    """
    high = max(8.0, abs(s.slope) * max(s.fore, -s.aft) + 5.0)
    body = _over_skin(
        Body.prism(Bounds(s.aft, -DEEP, s.fore, high).corners, -s.near, s.near), s, s.rest
    )
    if s.rest:
        arch = Body.prism(
            Bounds(s.aft + PAD_PRINTED, -DEEP, s.fore - PAD_PRINTED, DEEP).corners, -DEEP, DEEP
        )
        body = body.without(_under(arch, s, s.rest + ARCH_PRINTED))
    hole = min(3.0 * s.drill, 2.0 * (min(s.fore, -s.aft) - CAUL_WALL))
    body = body.without(_rod(hole))
    return body.solid(
        name=f"block-{stand.label}-caul",
        title=f"BLOCK {stand.label} caul",
        bore=hole,
        gap=ARCH_PRINTED if s.rest else 0.0,
        **_printed(stand, s),
    )


def _printed(stand: Stand, s: BlockSection) -> dict[str, Any]:
    """Return how block and caul are printed, and where their base, forward and bore point."""
    over, on = math.hypot(1.0, s.slope, s.along), math.hypot(1.0, s.slope)
    return {
        "turned": "on its end, the row upright: the section lies in the layers",
        "mirrored": stand.mirrored,
        "base": (s.slope / over, -1.0 / over, s.along / over),
        "forward": (1.0 / on, s.slope / on, 0.0),
        "axis": (0.0, 1.0, 0.0),
        "at": (0.0, 0.0, 0.0),
    }


def _over_skin(body: Body, s: BlockSection, lift: float) -> Body:
    """Return what of a body lies over the plane of the skin, lifted along the bore."""
    return body.above((-s.slope, 1.0, -s.along), lift)


def _under(body: Body, s: BlockSection, lift: float) -> Body:
    return body.above((s.slope, -1.0, s.along), -lift)


def _rod(diameter: float) -> Body:
    """Return a rod along the bore, through everything."""
    return Body.rod((0.0, -DEEP, 0.0), (0.0, DEEP, 0.0), diameter)


def capsule(
    reach: tuple[float, float], radius: float
) -> list[tuple[float, float] | tuple[float, float, float]]:
    """Return the corners of a slot along the row with round ends, mm."""
    left, right = reach[0] + radius, reach[1] - radius
    return [(left, -radius), (right, -radius, 1.0), (right, radius), (left, radius, 1.0)]


def cradle_solids(
    seats: Iterable[tuple[str, SeatSection]], *, depth: float, edge: float, loose: int
) -> tuple[Solid, ...]:
    """Return what holds the wedge under a drill press: for each cradle seat, support and shim bar.

    Args:
        seats: label and section of each cradle, ``1`` or ``b1``.
        depth: of the wedge, mm.
        edge: length of the whole edge, mm.
        loose: how many end supports hold up what hangs over.

    Raises:
        DrawingError: the library that builds solids is not installed.
        DoesNotFit: see `seat_solid`.
    """
    found: list[Solid] = []
    for label, seat in seats:
        stem, title = f"cradle-{label}", f"CRADLE {label}"
        found.append(seat_solid(seat, f"{stem}-seat-solid", f"{title} seat"))
        if loose:
            name, said = f"{stem}-support", f"{title} support"
            found.append(
                seat_solid(seat, name, said, long=SUPPORT_LONG, channel=False, count=loose)
            )
        if seat.slope > 0.0:
            found.append(shim_bar(seat.slope, depth, edge, f"{stem}-shim", f"{title} shim"))
    return tuple(found)


def seat_solid(
    seat: SeatSection,
    name: str,
    title: str,
    *,
    long: float = SEAT_LONG,
    channel: bool = True,
    count: int = 1,
) -> Solid:
    """Return a seat with its stop, `long` mm along the edge, to print on its end.

    Without a `channel` neither bit nor pilot go through the wedge over it: an end support.

    Raises:
        DrawingError: the library that builds solids is not installed.
        DoesNotFit: its thin end would be lower than its ledge.
    """
    low, high = max(seat.ends[0], -AFT), seat.ends[1]
    if min(seat.level(low), seat.level(high)) < LEDGE_HIGH:
        raise DoesNotFit(
            "the seat would end lower than its ledge",
            key="cradle.height",
            remedy="a higher seat",
        )
    top = [(low, seat.level(low)), (high, seat.level(high))]
    if seat.stop >= high - 1e-9:
        around = [
            (low, 0.0),
            (high + STOP_THICK + LEDGE, 0.0),
            (high + STOP_THICK + LEDGE, LEDGE_HIGH),
            (high + STOP_THICK, LEDGE_HIGH),
            (high + STOP_THICK, seat.stop_top),
            (high, seat.stop_top),
            *reversed(top),
        ]
    else:
        edge = seat.stop
        around = [
            (edge - STOP_THICK - LEDGE, 0.0),
            (high, 0.0),
            top[1],
            (edge, seat.level(edge)),
            (edge, seat.stop_top),
            (edge - STOP_THICK, seat.stop_top),
            (edge - STOP_THICK, LEDGE_HIGH),
            (edge - STOP_THICK - LEDGE, LEDGE_HIGH),
        ]
    body = Body.prism(around, 0.0, long)
    if channel:
        start, end = seat.channel
        under = min(seat.level(start), seat.level(end)) - CHANNEL
        above = seat.level(low) + 200.0
        slot = Bounds(start, under, end, above).corners
        body = body.without(Body.prism(slot, -1.0, long + 1.0))
    over = math.hypot(1.0, seat.slope)
    return body.solid(
        name=name,
        title=title,
        turned="on its end, the edge upright: the section lies in the layers",
        base=(0.0, -1.0, 0.0),
        forward=(1.0, 0.0, 0.0),
        axis=(seat.slope / over, 1.0 / over, 0.0),
        at=(0.0, seat.level(0.0), 0.0),
        count=count,
    )


def shim_bar(slope: float, depth: float, edge: float, name: str, title: str) -> Solid:
    """Return one length of a shim bar, to print on its front face; all lengths are the same.

    It is as deep as the wedge; so many bars lie under the whole edge; both mm. The slope is that of
    the face that lies down, going forward, ratio.

    Raises:
        DrawingError: the library that builds solids is not installed.
        DoesNotFit: a face that does not rise forward needs no shim.
    """
    if slope <= 0.0:
        raise DoesNotFit(
            words("a face at {a} to the chord plane needs no shim bar", a=Angle(math.atan(slope))),
            key="wedge",
            remedy="lay it on the table as it is",
        )
    around = [(0.0, 0.0), (depth, 0.0), (depth, THIN), (0.0, THIN + slope * depth)]
    half = THIN / 2.0
    body = Body.prism(around, 0.0, BAR + LAP)
    lower = Bounds(-1.0, -1.0, depth + 1.0, half).corners
    upper = Bounds(-1.0, half, depth + 1.0, BAR).corners
    body = body.without(Body.prism(lower, BAR, BAR + LAP + 1.0))
    body = body.without(Body.prism(upper, -1.0, LAP))
    over = math.hypot(1.0, slope)
    return body.solid(
        turn=ON_ITS_FRONT,
        name=name,
        title=title,
        turned="on its front face, the thin one: the slope stands as a wall",
        base=(0.0, -1.0, 0.0),
        forward=(1.0, 0.0, 0.0),
        axis=(slope / over, 1.0 / over, 0.0),
        at=(0.0, THIN + slope * depth, BAR / 2.0),
        count=max(1, math.ceil(edge / BAR - 1e-9)),
    )
