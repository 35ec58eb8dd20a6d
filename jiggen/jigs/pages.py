"""From plans to pages of paper: one jig to a page, its pieces inside the check figure.

Pieces stand as they were drawn or turned by a quarter, never slanted. What room they leave is for
the jig's own pictures. A second jig comes on a page only when all of it fits there.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from msgspec import Struct, field
from msgspec.structs import replace

from jiggen.drawing.affine import Affine
from jiggen.drawing.layout import lay_out
from jiggen.drawing.lettering import LEADING, MIDDLE, SMALL, shortened, text_width, wrap
from jiggen.drawing.looks import words as lettered
from jiggen.drawing.page import (
    ABOVE,
    FOOT,
    Figure,
    Paper,
    Picture,
    figure_marks,
    figure_of,
    figure_sizes,
    foot,
    heading,
)
from jiggen.drawing.piece import Piece, digits
from jiggen.drawing.shapes import Bounds, Dash, Mark, On, Text, Weight
from jiggen.drawing.sheet import Placed, Sheet, layout_mark
from jiggen.errors import DoesNotFit, Sentence, say
from jiggen.jigs.plan import OwnPage, Plan, Planned
from jiggen.units import Length, words

#: mm. From the check figure to the nearest tint, and between the tints of two pieces.
INSET, BETWEEN = 5.0, 5.0
#: What a picture says of a sign of the key in other words.
EXPLAINED = {"waste": "saw here"}
#: Pictures that come before the steps: at work, and apart.
BEFORE_STEPS = 2
#: mm. Widths that steps are tried in, how far their words stand in, and what parts two of them.
STEPS_WIDE, STEP_IN, STEP_APART = (115.0, 98.0, 84.0, 60.0, 170.0, 42.0, 36.0), 4.5, 1.0
#: Most words that the pieces of two jigs may bring onto one page.
WORDS_TOGETHER = 36


class Draft(Struct):
    """A page before it has its number: title in capitals, pieces, pictures as marks.

    `keys` are names of the key's signs; None for those that the marks call for. `pictures` are the
    places of its pictures, mm.
    """

    title: str
    subtitle: str
    paper: Paper
    placed: list[Placed]
    marks: list[Mark]
    figure: Figure | None
    keys: tuple[str, ...] | None = None
    pictures: list[Bounds] = field(default_factory=list)


def piece_drafts(planned: Planned, paper: Paper) -> tuple[list[Draft], dict[str, int]]:
    """Return the pages with pieces, and which piece lies on which.

    By its name each piece has the number of its draft, from 0; one that no page holds has none.
    """
    drafts: list[Draft] = []
    for plan in planned.plans:
        if plan.pages is not None:
            own = [_own(page, paper) for page in plan.pages(paper)]
            _tell(own, plan, paper)
            drafts += own
        else:
            _add(drafts, plan, paper)
    on = {p.piece.name: n for n, draft in enumerate(drafts) for p in draft.placed}
    return drafts, on


def too_large(piece: Piece, paper: Paper) -> DoesNotFit:
    """Return why a piece is on no page."""
    box, room = piece.on_page(), figure_of(paper).box.grown(-INSET)
    return DoesNotFit(
        words(
            "needs {w} by {h} of a page, and {paper} has {x} by {y}",
            w=Length(box.width, 0),
            h=Length(box.height, 0),
            paper=paper.name,
            x=Length(room.width, 0),
            y=Length(room.height, 0),
        ),
        key="print.paper",
        given=paper.name,
        remedy="a larger paper",
    )


def _own(page: OwnPage, paper: Paper) -> Draft:
    sheet = paper.lying if page.landscape else paper
    placed = []
    for piece, (x, y) in page.pieces:
        box = piece.outline.bounds()
        placed.append(Placed(piece=piece, place=Affine.move(x - box.left, y - box.bottom)))
    marks = [] if page.picture is None else list(page.picture.marks)
    figure = figure_of(sheet) if page.figure and placed else None
    drawn = [Bounds.union(mark.bounds() for mark in marks)] if marks else []
    return Draft(page.title, page.subtitle, sheet, placed, marks, figure, page.keys, drawn)


def _add(drafts: list[Draft], plan: Plan, paper: Paper) -> None:
    """Lay a jig out: on the last page where all of it fits, else on pages of its own."""
    figure = figure_of(paper)
    room = figure.box.grown(-INSET)
    pieces = [p for p in plan.pieces if p.on_paper and _fits(p, room)]
    if not pieces:
        return
    last = drafts[-1] if drafts else None
    if last is not None and last.figure is not None and last.paper == paper and not last.marks:
        together = [*(p.piece for p in last.placed), *pieces]
        if _words(together) <= WORDS_TOGETHER:
            both = lay_out(together, free=room, gap=BETWEEN)
            if len(both) == 1:
                last.placed[:] = both[0]
                more = [last]
                _illustrate(more, plan, paper)
                drafts += more[1:]
                return
    own = [
        Draft(_titled(placed), "", paper, list(placed), [], figure)
        for placed in lay_out(pieces, free=room, gap=BETWEEN)
    ]
    _illustrate(own, plan, paper)
    drafts += own


def _tell(drafts: list[Draft], plan: Plan, paper: Paper) -> None:
    """Set a jig's steps on the first of its pages that has room, else on a page of their own."""
    if not plan.steps or not drafts:
        return
    for wide in STEPS_WIDE:
        said = _listed(plan.steps, wide, paper.units)
        if any(_set(said, draft) for draft in drafts):
            return
    drafts.append(Draft(drafts[0].title, "", paper, [], [], None))
    _set(_listed(plan.steps, paper.width - 2 * paper.margin, paper.units), drafts[-1])


def _set(picture: Picture, draft: Draft) -> bool:
    """Set a picture on a page where there is room for it."""
    m, high = draft.paper.margin, draft.paper.height
    room = Bounds(m, m + FOOT + INSET, draft.paper.width - m, high - ABOVE)
    if draft.figure is not None:
        room = draft.figure.box.grown(-INSET)
    taken = [p.piece.moved(p.place).on_page() for p in draft.placed] + draft.pictures
    spot = _free_spot(picture, taken, room) if picture.width <= room.width else None
    if spot is None:
        return False
    draft.marks += picture.at(spot.left, spot.bottom)
    draft.pictures.append(spot)
    return True


def _listed(steps: Sequence[Sentence], wide: float, units: str) -> Picture:
    """Return steps as numbered lines, no wider than given."""
    marks: list[Mark] = []
    y = 0.0
    for number, step in enumerate(steps, start=1):
        marks.append(lettered((0.0, y), str(number), SMALL, Weight.SEMIBOLD))
        for text in wrap(say(step, units), SMALL, wide - STEP_IN):
            marks.append(lettered((STEP_IN, y), text))
            y -= LEADING * SMALL
        y -= STEP_APART
    return Picture.around(marks)


def _words(pieces: Sequence[Piece]) -> int:
    texts = [m.shape.text for p in pieces for m in p.marks if isinstance(m.shape, Text)]
    return sum(len(text.split()) for text in texts)


def _titled(placed: Sequence[Placed]) -> str:
    """Return what a page is called: its labels, but for those that begin another."""
    labels = list(dict.fromkeys(p.piece.label for p in placed))
    own = [x for x in labels if not any(y != x and y.startswith(x) for y in labels)]
    said = own[:1]
    for before, label in pairwise(own):
        kind, _, number = label.rpartition(" ")
        said.append(number if kind and kind == before.rpartition(" ")[0] else label)
    return ", ".join(said)


def _fits(piece: Piece, room: Bounds) -> bool:
    box = piece.on_page()
    sides = sorted((box.width, box.height))
    return sides[0] <= min(room.width, room.height) and sides[1] <= max(room.width, room.height)


def _illustrate(drafts: list[Draft], plan: Plan, paper: Paper) -> None:
    """Put pictures and steps on the first page of a jig that still has room, most wanted first."""
    first, rest = plan.pictures[:BEFORE_STEPS], plan.pictures[BEFORE_STEPS:]
    homeless = [picture for picture in first if not any(_set(picture, draft) for draft in drafts)]
    _tell(drafts, plan, paper)
    for picture in (*homeless, *rest):
        any(_set(picture, draft) for draft in drafts)


def _free_spot(picture: Picture, taken: Sequence[Bounds], room: Bounds) -> Bounds | None:
    """Return the highest free place for a picture, the leftmost of those, or None."""
    step = 2.5
    y = room.top - picture.height
    while y >= room.bottom - 1e-9:
        x = room.left
        while x + picture.width <= room.right + 1e-9:
            box = Bounds(x, y, x + picture.width, y + picture.height)
            hit = next((t for t in taken if box.grown(BETWEEN).overlaps(t)), None)
            if hit is None:
                return box
            x = max(x + step, hit.right + BETWEEN)
        y -= step
    return None


def keys_of(draft: Draft) -> list[str]:
    """Return the names of the key's signs on a page; what a picture on it explains is left out."""
    if draft.keys is not None:
        return list(draft.keys)
    pieces = [p.piece for p in draft.placed]
    dashes = {m.dash for p in pieces for m in p.marks} | {m.dash for m in draft.marks}
    names = ["waste"] if pieces else []
    if any(p.true_edges for p in pieces):
        names.append("file this away")
    names += [name for dash, name in ((Dash.FOLD, "fold"), (Dash.CHAIN, "axis")) if dash in dashes]
    said = {m.shape.text for m in draft.marks if isinstance(m.shape, Text)}
    return [name for name in names if EXPLAINED.get(name, name) not in said]


def finished(draft: Draft, number: int, count: int, letters: str) -> Sheet:
    """Return a page with its frame; `letters` are those that the job's codes begin with."""
    figure, paper = draft.figure, draft.paper
    code = f"{letters}-{page_mark(draft)[:4].upper()}"
    marks = list(heading(paper, draft.title, draft.subtitle))
    if figure is not None:
        marks += figure_marks(figure)
    said = "" if figure is None else figure.said
    marks += foot(paper, code, number, count, said, keys_of(draft))
    return Sheet(
        name=f"page {number}",
        width=paper.width,
        height=paper.height,
        placed=tuple(replace(p, piece=_printed(p.piece)) for p in draft.placed),
        marks=(*draft.marks, *marks),
        dimensions=() if figure is None else figure_sizes(figure),
        title=draft.title,
        mark=page_mark(draft),
    )


def roll_sheets(planned: Planned, paper: Paper) -> tuple[Sheet, ...]:
    """Return a page for each piece that goes onto a roll of paper, with what to measure."""
    rolls = [piece for plan in planned.plans for piece in plan.rolls if piece in plan.pieces]
    return tuple(
        _roll(piece, number, len(rolls), paper) for number, piece in enumerate(rolls, start=1)
    )


def _roll(piece: Piece, number: int, count: int, paper: Paper) -> Sheet:
    box, size = piece.outline.bounds().grown(piece.waste), piece.dimensions[0]
    edge = paper.margin
    long = Length(size.nominal).said(paper.units)
    title = f"{piece.title}  {piece.code}"
    x = edge + text_width(title, MIDDLE, Weight.SEMIBOLD) + 6.0
    job = shortened(paper.job, SMALL, min(95.0, edge + box.width - x))
    said = f"1:1, print at 100 %   {size.how}: {long}"
    marks = (
        lettered((edge, edge + 1.0 + LEADING * MIDDLE), title, MIDDLE, Weight.SEMIBOLD),
        lettered((x, edge + 1.0 + LEADING * MIDDLE), job),
        lettered((edge, edge + 1.0), said),
    )
    low = edge + 1.0 + (1.0 + LEADING) * MIDDLE + BETWEEN
    return Sheet(
        name=f"roll {number}" if count > 1 else "roll",
        width=box.width + 2 * edge,
        height=low + box.height + edge,
        placed=(Placed(piece=piece, place=Affine.move(edge - box.left, low - box.bottom)),),
        marks=marks,
        title=piece.title,
        mark=piece.mark,
    )


def _printed(piece: Piece) -> Piece:
    """Return a piece as it is printed: without the bars that check a machine."""
    return replace(
        piece,
        marks=tuple(mark for mark in piece.marks if mark.on is not On.CUT),
        dimensions=tuple(size for size in piece.dimensions if not size.is_bar),
    )


def page_mark(draft: Draft) -> str:
    """Return what stands for what can be measured on a page: its paper, its figure, its pieces.

    Readings of a page count as long as these are the same. A page without a figure has no readings,
    and no other page has its mark.
    """
    paper, figure = draft.paper, draft.figure
    if figure is None:
        texts = [mark.shape for mark in draft.marks if isinstance(mark.shape, Text)]
        drawn = [draft.title, *(f"{t.text} {t.at.x:z.2f} {t.at.y:z.2f}" for t in texts)]
    else:
        drawn = [f"{figure.diagonal:.4f} {figure.bar:.4f}"]
    return layout_mark(draft.placed, f"{paper.width:.3f} {paper.height:.3f}", *drawn)


def job_mark(planned: Planned) -> str:
    """Return 16 hexadecimal digits that stand for all pieces of a job."""
    return digits(piece.mark for piece in planned.pieces)
