"""Coupons: a small plate that finds kerf and sheet thickness, and a ladder of press fits.

One cut is too narrow for a calliper, so the plate holds two rows of loose bars that share their
cut lines. Taken out and pushed together, a row is shorter than it was drawn by one kerf for each
bar; the calliper's error is divided by their number. One row lies along x, one along y, since a
machine's two axes may burn differently. A stair of slots along the edge brackets the thickness:
the sheet enters one slot and not the next narrower one. It is drawn without kerf, whatever the job
says: it is there to find it.

The ladder has five holes about the size of the drill block's bushing, drawn with the kerf as the
block is: the one that takes the bushing with a vice is `block.press`. So it waits for the kerf.

::

       _   _   _   _   _   _   _   _
      | |_| |_| |_| |_| |_| |_| |_| |     slots, each a tenth wider than the last
      |  2.4 2.5 2.6 ...            |
      |   ________________     y    |
      |  | | | | | | | | |x    __   |     bars side by side along x,
      |  |_|_|_|_|_|_|_|_|    |__|  |     bars one above the other along y
      |  name, number         |__|  |
      |_______________________|__|__|

       _____________________________
      |  name, number               |
      |  -0.10 -0.05  0 +0.05 +0.10 |
      |___O_____O____O____O_____O___|
"""

from __future__ import annotations

from jiggen.drawing.face import Face
from jiggen.drawing.lettering import MIDDLE, SMALL
from jiggen.drawing.piece import Piece
from jiggen.drawing.shapes import Bounds, Path
from jiggen.errors import DoesNotFit
from jiggen.jigs.plan import Jig, Plan
from jiggen.job.sections import Job
from jiggen.solution import Solution
from jiggen.units import Length, words

KIND = "coupon"

#: Bars in a row: the calliper's error is divided by it.
BARS = 8
#: mm. Width and length of one bar: wide enough to survive, long enough to hold.
BAR_WIDTH, BAR_LENGTH = 5.0, 16.0
#: Slots, and their step in mm; the middle one is as wide as the stated sheet less a usual kerf.
SLOTS, STEP = 9, 0.1
#: mm. Material between two slots, depth of a slot, edge of the plate, and its height.
BETWEEN, DEPTH, EDGE, HEIGHT = 6.0, 10.0, 5.0, 80.0
#: mm. The least width, for name and a long bar each way; how high the lying row stands.
LEAST, LYING = 90.0, 42.0
#: mm. Thinnest sheet that the stair can bracket with slots that a beam leaves open.
SHEET_MIN = 1.0
#: mm. What the holes of the ladder are wider than the bushing.
FITS = (-0.10, -0.05, 0.0, 0.05, 0.10)
#: mm. Between two holes of the ladder, from them to an edge, and the room over them for words.
WEB, RIM, OVER = 8.0, 5.0, 22.0


def slot_widths(sheet: float) -> tuple[float, ...]:
    """Return the drawn widths of the slots for a sheet in mm, narrowest first, in whole tenths."""
    middle = round(sheet - 0.1, 1)
    return tuple(round(middle + STEP * (k - SLOTS // 2), 1) for k in range(SLOTS))


def plan_coupon(solution: Solution) -> Plan:
    """Return the kerf coupon, and the ladder where the job has a bushing and states its kerf.

    Raises:
        DoesNotFit: the sheet is too thin for a stair of slots.
    """
    job = solution.job
    pieces = [_kerf_coupon(job)]
    steps: list[str] = [
        "Push the bars of each row together and measure over them.",
        "Find the narrowest slot that the sheet enters.",
    ]
    if job.block.bore is not None and job.cut.kerf is not None:
        pieces.append(_ladder(job, job.block.bore))
        steps.append("Press the bushing with a vice: the hole that takes it is block.press.")
    elif job.block.bore is not None:
        steps.append("State cut.kerf; then a ladder of press fits is drawn for the bushing.")
    return Plan(kind=KIND, pieces=tuple(pieces), steps=tuple(steps))


JIG = Jig(kind=KIND, plan=plan_coupon, asked_for=lambda solution: False)


def _kerf_coupon(job: Job) -> Piece:
    """Return the plate with bars and slots, to be drawn without kerf."""
    sheet = job.cut.sheet
    if sheet < SHEET_MIN:
        raise DoesNotFit(
            "the sheet is too thin for a stair of slots",
            key="cut.sheet",
            given=Length(sheet, None),
            remedy=words(
                "{least} or more; measure thinner sheet with a calliper",
                least=Length(SHEET_MIN, None),
            ),
        )
    widths = slot_widths(sheet)
    row = BARS * BAR_WIDTH
    width = max(2 * EDGE + sum(widths) + BETWEEN * (SLOTS - 1), 2 * EDGE + LEAST)
    face = Face(job.name, job.units)
    corners = [(0.0, 0.0), (width, 0.0), (width, HEIGHT)]
    x = (width - sum(widths) - BETWEEN * (SLOTS - 1)) / 2
    stair = []
    for slot in widths:
        stair.append((x, x + slot))
        face.say((x + slot / 2, HEIGHT - DEPTH - 1.5 - SMALL), f"{slot:.1f}")
        how = "drawn width of a slot; one kerf wider as cut"
        face.size(f"slot-{slot:.1f}", (x, HEIGHT), (x + slot, HEIGHT), how, nominal=slot)
        x += slot + BETWEEN
    for x0, x1 in reversed(stair):
        corners += [(x1, HEIGHT), (x1, HEIGHT - DEPTH), (x0, HEIGHT - DEPTH), (x0, HEIGHT)]
    corners.append((0.0, HEIGHT))
    how = f"over all {BARS} loose bars pushed together, as drawn; shorter as cut"
    left, top = width - EDGE - BAR_LENGTH, LYING + BAR_LENGTH
    _row(face, Bounds(EDGE, LYING, EDGE + row, top), along_y=False)
    face.size("fingers-x", (EDGE, LYING), (EDGE + row, LYING), how)
    face.say((EDGE + row + 3.0, LYING), "x", MIDDLE)
    _row(face, Bounds(left, EDGE, left + BAR_LENGTH, EDGE + row), along_y=True)
    face.size("fingers-y", (left, EDGE), (left, EDGE + row), how)
    face.say((left + BAR_LENGTH / 2, EDGE + row + 2.0), "y", MIDDLE)
    return face.piece(
        KIND,
        KIND,
        "COUPON",
        Path.closed(corners),
        variant="kerf",
        number=Length(sheet, None).said(job.units),
        forward=None,
        name_at=(EDGE, LYING),
        on_paper=False,
        as_drawn=True,
    )


def _row(face: Face, box: Bounds, *, along_y: bool) -> None:
    """Cut a row of bars as one window and the cuts between them: no line is cut twice."""
    face.slot(box.corners)
    for k in range(1, BARS):
        if along_y:
            y = box.bottom + k * BAR_WIDTH
            face.across((box.left, y), (box.right, y))
        else:
            x = box.left + k * BAR_WIDTH
            face.across((x, box.bottom), (x, box.top))


def _ladder(job: Job, body: float) -> Piece:
    """Return a plate with five holes about a bushing's size, each lettered with its fit in mm."""
    face = Face(job.name, job.units)
    pitch, middle = body + WEB, RIM + body / 2
    for n, fit in enumerate(FITS):
        x = RIM + body / 2 + n * pitch
        face.hole((x, middle), (body + fit) / 2)
        face.say((x, RIM + body + 2.0), f"{fit:+.2f}" if fit else "0")
    width, height = 2 * RIM + 4 * pitch + body, RIM + body + OVER
    return face.piece(
        KIND,
        f"{KIND}-press",
        "COUPON",
        Path.closed(Bounds(0.0, 0.0, width, height).corners),
        variant="press fit",
        number=Length(body).said(job.units),
        forward=None,
        flat=True,
        bars=False,
        on_paper=False,
    )
