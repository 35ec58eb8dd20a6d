"""The cover: one page that says whether to go on, what there is, and the five steps.

::

    | LOOK | Stand the guide forward of the hole.       |   verdict band
    |            section, to scale                      |
    | part   cut  sheet  page  bed |  rivet, countersink|
    | 1 print | 2 saw | 3 file | 4 drill | 5 scrap      |   five steps
    | Eye protection. Clamp the work. ...               |
    | key                          | title block        |

Every word of it has to earn its place: at most 260 of them, numbers counted.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from jiggen.drawing.affine import Affine, Point
from jiggen.drawing.lettering import (
    LARGE,
    LEADING,
    MIDDLE,
    SMALL,
    TITLE,
    shortened,
    text_width,
    wrap,
)
from jiggen.drawing.looks import (
    BAND,
    BAR,
    FINE,
    FINE_WIDE,
    HATCH,
    TINT,
    WIDE,
    area,
    head,
    line,
    words,
)
from jiggen.drawing.page import Figure, Paper, Picture, figure_of, key_sign
from jiggen.drawing.piece import Piece
from jiggen.drawing.room import corners_of
from jiggen.drawing.shapes import Anchor, Bounds, Circle, Dash, Mark, Op, Path, Text, Weight
from jiggen.errors import say
from jiggen.jigs.plan import Plan, Planned
from jiggen.jigs.section import SectionView, section_picture, view_of
from jiggen.jigs.stand import thick_end, waiting
from jiggen.solution import Band, Solution
from jiggen.units import Length, bare

#: mm. Height of the safety line; least height of the section.
SAFETY, LEAST_SECTION = 6.0, 58.0
#: mm. Height of a row of parts, where there are many, and at least; of the list's head.
ROW, ROW_MANY, ROW_LEAST, HEAD_ROW = 8.5, 7.6, 4.2, 6.0
#: From so many parts on the rows are lower; so many variants have room beside a label; so many
#: labels of a jig have rows of their own.
MANY, NAMED, LABELS = 10, 3, 4
#: mm. Width of the verdict's word, of the title block, of a list beside the section; rows of the
#: table of rivets.
WORD, TITLE_BLOCK, LISTED, RIVET_ROW = 34.0, 100.0, 88.0, 6.4
#: mm. Between the words of two steps.
STEP_GAP = 2.0
#: Most lines of the table of rivets.
RIVET_ROWS = 8


class _Size(Struct, frozen=True):
    """How large things are drawn on a page, mm: heights of its bands, and a step's picture."""

    verdict: float
    steps: float
    picture: float
    title: float


PAGE, SMALL_PAGE = _Size(22.0, 48.0, 28.0, 30.0), _Size(16.0, 29.0, 14.0, 24.0)
SAFETY_LINE = "Eye protection. Clamp the work. Deburr. Where plans or rules differ, they win."
KEYS = (
    "true edge",
    "waste",
    "file this away",
    "fold",
    "hidden",
    "axis, chord plane",
    "true corner",
    "FORWARD",
)


class Contents(Struct, frozen=True, kw_only=True):
    """What the cover lists: pages and beds by the name of a piece, how many pages there are.

    `numbers_page` is the number of the page NUMBERS; code and date are the job's own.
    """

    planned: Planned
    band: Band
    pages: Mapping[str, int]
    beds: Mapping[str, Sequence[int]]
    numbers_page: int | None
    count: int
    code: str
    date: str = ""


def cover_marks(solution: Solution, paper: Paper, contents: Contents) -> tuple[Mark, ...]:
    """Return the cover in page coordinates.

    On a small page the key goes (each page has its own), the steps are smaller; where the page
    lies, section and parts stand side by side.
    """
    m, width = paper.margin, paper.width - 2 * paper.margin
    lies = paper.width > paper.height
    compact = paper.height < 250.0 or width < 150.0
    size = SMALL_PAGE if compact else PAGE
    foot = m + size.title
    said = [say(text, paper.units) for text in contents.band.lines]
    if compact and (wait := waiting(solution)):  # no table of rivets tells it
        said.insert(1, f"Do not drill {wait}.")
    marks = [
        *_verdict(said, contents, m, paper.height - m, width, size.verdict),
        words((m, foot + 2.0), SAFETY_LINE, SMALL, Weight.SEMIBOLD),
        *_steps(contents, figure_of(paper), m, foot + SAFETY, width, size),
        *(() if width < 150.0 else _key(contents.planned, m, m, size.title)),
        *_title_block(paper, contents, m + width, m, min(TITLE_BLOCK, width), size.title),
    ]
    low, top = foot + SAFETY + size.steps, paper.height - m - size.verdict
    if end := thick_end(solution):
        marks.append(words((m, top - 6.5), end))
    free = top - low
    if lies:
        listed = min(LISTED, width / 2)
        view = section_picture(
            _section(solution, contents.planned), width - listed - 6.0, free - 2.0
        )
        parts, row = _fitting(solution, contents, free - 3.0)
        marks += view.at(m, low + 1.0)
        list_ = _part_list(parts, m + width - listed, top - 2.0, listed, row, thumbs=False)
        return (*marks, *list_)
    parts, row = _fitting(solution, contents, free - LEAST_SECTION - 3.0)
    left = min(112.0, 0.6 * width)
    beside = width - left - 7.0
    rivets = [] if compact else _rivets(solution, beside)
    left = left if rivets else width
    needs = HEAD_ROW + max(row * len(parts), sum(high for *_, high in rivets))
    section = min(86.0 if width < 250.0 else 130.0, free - needs - 6.0)
    section = max(section, LEAST_SECTION)
    marks += section_picture(_section(solution, contents.planned), width, section - 3.0).at(
        m, top - section
    )
    top -= section + 3.0
    marks += _part_list(parts, m, top, left, row, thumbs=not compact and row > 5.0)
    if rivets:
        marks += _rivet_table(rivets, m + left + 7.0, top, beside, paper.units)
    return tuple(marks)


def _section(solution: Solution, planned: Planned) -> SectionView:
    """Return the section with the corners that lead the bit at its middle hole: no others are cut.

    On a skin that bends they are those of the guide as it lies, not the skin's at the hole.
    """
    view, holes = view_of(solution), solution.holes
    middle = holes[len(holes) // 2].number if holes else None
    plan = next((plan for plan in planned.plans if plan.leads_drill), None)
    leading = [p for p in plan.pieces if p.leads is not None] if plan else []
    some = [p for p in leading if middle is None or middle in p.serves]
    skins = {s: math.radians(90.0 - (p.leads or 0.0)) for p in reversed(some) for s in p.side}
    labels = list(dict.fromkeys(piece.label for piece in some))
    return replace(
        view,
        skin_a=skins.get("a", view.skin_a),
        skin_b=skins.get("b", view.skin_b),
        place=f"section, {', '.join(labels)}" if labels else view.place,
    )


def _fitting(solution: Solution, contents: Contents, room: float) -> tuple[list[_Part], float]:
    """Return the rows of the list and their height, mm; a row a jig where more have no room."""
    parts = _parts(solution, contents)
    if HEAD_ROW + ROW_LEAST * len(parts) > room:
        parts = _parts(solution, contents, a_jig=True)
    wished = ROW if len(parts) < MANY else ROW_MANY
    return parts, max(min(wished, (room - HEAD_ROW) / max(len(parts), 1)), ROW_LEAST)


# --- the verdict


def _verdict(
    said: list[str], contents: Contents, left: float, top: float, width: float, high: float
) -> list[Mark]:
    band = contents.band
    low = top - high
    if len(said) > 3:
        page = f": page {contents.numbers_page}" if contents.numbers_page else ""
        said = [*said[:2], f"and {len(said) - 2} more{page}"]
    stop, look = band.word == "STOP", band.word == "LOOK"
    cell = Bounds(left, low, left + WORD, top).corners
    whole = Bounds(left, low, left + width, top).corners
    marks = []
    if stop:
        marks.append(area(whole, 1.0))
    elif look:
        marks += [area(cell, 1.0), line(*whole, whole[0], width=WIDE)]
    else:
        marks += [line(*cell, cell[0], width=BAR), line(*whole, whole[0], width=WIDE)]
    middle = (left + WORD / 2, (low + top - TITLE) / 2)
    dark = stop or look
    marks.append(words(middle, band.word, TITLE, Weight.BOLD, Anchor.MIDDLE, white=dark))
    height, step = (LARGE, 7.5) if stop and len(said) < 3 else (SMALL, min(6.0, high / 3.6))
    room = width - WORD - 8.0
    y = (low + top) / 2 + step * (len(said) - 1) / 2 - height / 2
    fitting = (h for h in (LARGE, MIDDLE) if h <= height and all(_wide(t, h) <= room for t in said))
    tall = next(fitting, SMALL)
    for text in said:
        line_ = shortened(text, tall, room, Weight.SEMIBOLD)
        marks.append(words((left + WORD + 4.0, y), line_, tall, Weight.SEMIBOLD, white=stop))
        y -= step
    return marks


def _wide(text: str, height: float) -> float:
    return text_width(text, height, Weight.SEMIBOLD)


# --- the parts


class _Part(Struct, frozen=True, kw_only=True):
    """One row of the list: pieces of one label."""

    piece: Piece
    label: str
    variants: str
    many: str
    cut: int
    sheet: str
    page: str
    bed: str


def _parts(solution: Solution, contents: Contents, *, a_jig: bool = False) -> list[_Part]:
    """Return the rows of the list: one a label, one for many labels of a jig, or one a jig."""
    rows = []
    sheet = Length(solution.job.cut.sheet, None).said(solution.job.units)
    for plan in contents.planned.plans:
        for label, pieces in _grouped(plan, a_jig).items():
            made = [p for p in pieces if p.on_paper or p.on_bed] or pieces
            names = dict.fromkeys(p.variant.removesuffix(f", cut {p.count}") for p in made)
            said = " + ".join(names).strip() if len(names) <= NAMED else ""
            many = f"set of {len(made)}" if len(made) > 1 else ""
            if label not in {p.label for p in made}:
                # The label counts its pieces; what lies in a file alone takes their place.
                files = [p.variant for p in pieces if p not in made]
                said = many = "".join(f"or {name}" for name in files)
            rest = [p for p in made if p.name not in contents.pages and p.name in contents.beds]
            if 0 < len(rest) < len(made):
                said = many = f"{', '.join(p.variant for p in rest)}: bed only"
            if plan.card:
                said = many = ", ".join(say(text, solution.job.units) for text in plan.card)
            rows.append(
                _Part(
                    piece=made[0],
                    label=label,
                    variants=said or many,
                    many=many,
                    cut=sum(p.count for p in made),
                    sheet=sheet if made[0].is_sheet else "paper",
                    page=_numbers(
                        {contents.pages[p.name] for p in made if p.name in contents.pages}
                    ),
                    bed=_numbers({n for p in made for n in contents.beds.get(p.name, ())}),
                )
            )
    return rows


def _grouped(plan: Plan, a_jig: bool) -> dict[str, list[Piece]]:
    found: dict[str, list[Piece]] = {}
    for piece in plan.pieces:
        found.setdefault(piece.label, []).append(piece)
    counted = [label for label in found if label[-1].isdigit()]
    many = len(found) > LABELS or a_jig or any(not (p.on_paper or p.on_bed) for p in plan.pieces)
    if not many:
        return found
    if len(counted) < 2:
        return {next(iter(found)): list(plan.pieces)} if a_jig and found else found
    stem, first = counted[0].rsplit(" ", 1)
    last = counted[-1].rsplit(" ", 1)[-1]
    return {f"{stem} {first}–{last}": list(plan.pieces)}


def _numbers(found: set[int]) -> str:
    some = sorted(found)
    if not some:
        return "–"
    if len(some) > 2 and some == list(range(some[0], some[-1] + 1)):
        return f"{some[0]}–{some[-1]}"
    return ", ".join(map(str, some))


def _part_list(
    rows: Sequence[_Part], left: float, top: float, width: float, row: float, *, thumbs: bool
) -> list[Mark]:
    x = left + (16.0 if thumbs else 0.0)
    right = left + width
    columns = (right - 51.0, right - 38.0, right - 19.0, right - 8.0)
    marks = [words((x, top - 4.0), "part")]
    marks += [
        words((at, top - 4.0), text)
        for at, text in zip(columns, ("cut", "sheet", "page", "bed"), strict=True)
    ]
    y = top - HEAD_ROW
    marks.append(line((left, y), (right, y), width=WIDE))
    for part in rows:
        base = y - row / 2 - SMALL / 2
        if thumbs:
            marks += _thumbnail(part.piece, left + 1.0, y - row / 2, row)
        label = words((x, base), part.label, SMALL, Weight.SEMIBOLD)
        after = x + text_width(part.label, SMALL, Weight.SEMIBOLD) + 2.5
        room = columns[0] - after - 1.0
        fits = text_width(part.variants, SMALL) <= room
        variants = part.variants if fits else shortened(part.many, SMALL, room)
        marks.append(label)
        if variants:
            marks.append(words((after, base), variants))
        for at, text in zip(columns, (str(part.cut), part.sheet, part.page, part.bed), strict=True):
            marks.append(words((at, base), text))
        y -= row
        marks.append(line((left, y), (right, y), width=HATCH))
    return marks


def _thumbnail(piece: Piece, left: float, middle: float, row: float) -> list[Mark]:
    box = piece.outline.bounds()
    scale = min(11.0 / box.width, min(6.0, row - 2.0) / box.height)
    dx = left + (11.0 - scale * box.width) / 2 - scale * box.left
    dy = middle - scale * (box.bottom + box.top) / 2
    small = Affine(a=scale, d=scale, e=dx, f=dy)
    marks = []
    for shape in (piece.outline, *piece.inner):
        corners = [small.point(corner) for corner in corners_of(shape)]
        if max(abs(a - b) for p in corners for a, b in zip(p, corners[0], strict=True)) > 0.3:
            marks.append(line(*corners, corners[0], width=HATCH))
    return marks


# --- rivet and countersink


_Told = tuple[str, list[str], float]
"""A row of the table of rivets: what, its lines, and its height, mm."""


def _rivets(solution: Solution, width: float) -> list[_Told]:
    units = solution.job.units
    rows = [(what, bare(value, units)) for what, value in solution.brief]
    if wait := waiting(solution):
        rows = [*rows[: RIVET_ROWS - 1], ("do not drill", wait)]
    found = []
    for what, value in rows[:RIVET_ROWS]:
        room = width - text_width(what, SMALL) - 2.0
        lines = [value]
        if text_width(value, SMALL, Weight.SEMIBOLD) > room:
            lines = [
                line
                for part in value.replace(", ", ",\n").split("\n")
                for line in wrap(part, SMALL, room, Weight.SEMIBOLD)
            ]
        found.append((what, lines, RIVET_ROW + LEADING * SMALL * (len(lines) - 1)))
    return found


def _rivet_table(
    rows: Sequence[_Told], left: float, top: float, width: float, units: str
) -> list[Mark]:
    title = f"rivet and countersink, {units}" if len(rows) > 1 else "holes"
    marks = [words((left, top - 4.0), title, SMALL, Weight.SEMIBOLD)]
    y = top - HEAD_ROW
    marks.append(line((left, y), (left + width, y), width=WIDE))
    for what, lines, high in rows:
        base = y - RIVET_ROW / 2 - SMALL / 2
        marks.append(words((left, base), what))
        for n, said in enumerate(lines):
            at = (left + width, base - n * LEADING * SMALL)
            marks.append(words(at, said, SMALL, Weight.SEMIBOLD, Anchor.END))
        y -= high
        marks.append(line((left, y), (left + width, y), width=HATCH))
    return marks


# --- the five steps


def _steps(
    contents: Contents, figure: Figure, left: float, low: float, width: float, size: _Size
) -> list[Mark]:
    guide = next((plan for plan in contents.planned.plans if plan.leads_drill), None)
    piece = next(iter(contents.planned.pieces), None)
    cells = [
        (_check_picture(), ("Print at 100 %.", f"Diagonals: {figure.said}.")),
        (_saw_picture(piece), ("Glue to sheet.", "Saw in the tint.")),
        (_file_picture(), ("File to the line.", "The line stays.")),
    ]
    if guide is not None and guide.use is not None:
        cells.append((fitted(guide.use, 30.0, 28.0), ("Line up with the", "drill stopped.")))
    cells.append((_scrap_picture(), ("Drill scrap first,", "then the work.")))
    wides = [width / len(cells)] * len(cells)
    needs = [max(text_width(text, SMALL) for text in said) for _, said in cells]
    if max(needs) + STEP_GAP > wides[0]:
        wides = [need + (width - sum(needs)) / (len(cells) - 1) for need in needs]
    marks = []
    for n, (picture, said) in enumerate(cells):
        x = left + sum(wides[:n])
        marks.append(words((x, low + size.steps - 6.0), str(n + 1), LARGE, Weight.SEMIBOLD))
        drawn = picture if size is PAGE else fitted(picture, size.picture, size.picture)
        marks += drawn.at(x + 7.0, low + 13.0)
        for k, text in enumerate(said):
            marks.append(words((x, low + 7.0 - 4.25 * k), text))
    return marks


def fitted(picture: Picture, width: float, height: float, *, forward: bool = False) -> Picture:
    """Return the line art of a picture, smaller, without its words but FORWARD where asked for."""
    scale = min(width / picture.width, height / picture.height)
    small = Affine(a=scale, d=scale)
    marks = []
    for mark in picture.marks:
        shape = mark.shape
        if forward and isinstance(shape, Text) and shape.text == "FORWARD":
            marks.append(replace(mark, shape=replace(shape, at=small.point(shape.at))))
        if isinstance(shape, Circle):
            circle = Circle(small.point(shape.centre), shape.radius * scale)
            marks.append(Mark(shape=circle, op=Op.NOTE, line=FINE_WIDE))
        if isinstance(shape, Path) and all(e.bulge == 0.0 for e in shape.edges):
            filled = mark.fill is not None and mark.fill > 0.5
            wide = None if filled and mark.line is None else FINE
            marks.append(replace(mark, shape=shape.moved(small), op=Op.NOTE, line=wide))
    return Picture.around(marks)


def _check_picture() -> Picture:
    marks = [area(Bounds(0.0, 0.0, 20.0, 26.0).corners, 0.0, FINE_WIDE)]
    box = Bounds(3.0, 4.0, 17.0, 22.7).corners
    marks.append(line(*box, box[0], width=FINE))
    ux, uy = 14.0 / 23.35, 18.7 / 23.35
    a, b = (3.0 - 1.5 * ux, 4.0 - 1.5 * uy), (17.0 + 1.5 * ux, 22.7 + 1.5 * uy)
    off = (-uy * 3.2, ux * 3.2)
    marks.append(
        area([a, b, (b[0] + off[0], b[1] + off[1]), (a[0] + off[0], a[1] + off[1])], 0.0, FINE)
    )
    for k in range(1, 13):
        s = k / 13
        p = (a[0] + (b[0] - a[0]) * s, a[1] + (b[1] - a[1]) * s)
        long = 0.5 if k % 3 == 0 else 0.3
        marks.append(line(p, (p[0] + off[0] * long, p[1] + off[1] * long), width=FINE))
    return Picture.around(marks)


def _saw_picture(piece: Piece | None) -> Picture:
    marks = [area(Bounds(0.0, 0.0, 28.0, 25.0).corners, 0.0, FINE_WIDE)]
    if piece is not None:
        box = piece.outline.bounds()
        scale = min(18.0 / box.width, 17.0 / box.height)
        dx, dy = (
            12.0 - scale * (box.left + box.right) / 2,
            12.5 - scale * (box.bottom + box.top) / 2,
        )
        small = Affine(a=scale, d=scale, e=dx, f=dy)
        corners = [small.point(corner) for corner in corners_of(piece.outline)]
        # The tint of a picture so small needs no true offset.
        tint = Bounds.around(corners).grown(2.2).corners
        marks += [area(tint, TINT), area(corners, 0.0, FINE_WIDE)]
    x = 22.0
    marks.append(line((x, -2.0), (x, 27.5), width=FINE_WIDE))
    for k in range(12):
        y = -1.0 + 2.3 * k
        marks.append(line((x, y), (x + 0.9, y + 0.8), (x, y + 1.4), width=FINE))
    return Picture.around(marks)


def _file_picture() -> Picture:
    rim = Mark(shape=Circle(Point(12.0, 12.0), 12.0), op=Op.NOTE, line=FINE_WIDE)
    bars = [
        area(Bounds(11.0, 0.2, 12.0, 23.8).corners, 1.0),
        area([(12.0, 0.2), (16.5, 1.0), (16.5, 23.0), (12.0, 23.8)], BAND),
        area(
            [(16.5, 1.0), (20.5, 3.7), (23.8, 11.0), (23.8, 13.0), (20.5, 20.3), (16.5, 23.0)], TINT
        ),
    ]
    marks = [*bars, rim, area(Bounds(21.0, 2.0, 25.0, 25.0).corners, 0.0, FINE_WIDE)]
    marks += [line((21.0, 4.0 + 2 * k), (25.0, 6.0 + 2 * k), width=FINE) for k in range(10)]
    marks += [line((20.0, 12.0), (13.4, 12.0), width=FINE), head((13.0, 12.0), 3.14159265)]
    return Picture.around(marks)


def _scrap_picture() -> Picture:
    wedge = [(0.0, 3.0), (26.0, 0.0), (26.0, 11.0), (0.0, 8.0)]
    chuck = [(7.5, 22.0), (10.5, 22.0), (13.0, 26.0), (13.0, 29.0), (5.0, 29.0), (5.0, 26.0)]
    bit = [(8.2, 22.0), (8.2, 11.6), (9.0, 10.8), (9.8, 11.6), (9.8, 22.0)]
    marks = [area(wedge, 0.0, FINE_WIDE), area(bit, 0.0, FINE), area(chuck, 0.0, FINE_WIDE)]
    marks += [line((8.2, 12.0 + 2 * k), (9.8, 13.5 + 2 * k), width=FINE) for k in range(5)]
    marks.append(words((14.0, 14.0), "SCRAP", SMALL, Weight.SEMIBOLD))
    return Picture.around(marks)


# --- key and title block


def _key(planned: Planned, left: float, low: float, high: float) -> list[Mark]:
    marks: list[Mark] = []
    drawn = [mark for piece in planned.pieces for mark in piece.marks]
    folds = any(mark.op is Op.SCORE and mark.dash is Dash.FOLD for mark in drawn)
    each = len(KEYS) // 2
    for n, name in enumerate(key for key in KEYS if folds or key != "fold"):
        x = left + 41.0 * (n // each)
        y = low + high - 3.5 - (high - 7.0) / (each - 1) * (n % each)
        marks += key_sign(name, x, y)
        marks.append(words((x + 11.5, y - SMALL / 2), name))
    return marks


def _title_block(
    paper: Paper, contents: Contents, right: float, low: float, width: float, high: float
) -> list[Mark]:
    row, left = high / 4, right - width
    box = Bounds(left, low, right, low + high).corners
    half, last = left + width / 2, right - 27.0
    marks = [
        line(*box, box[0], width=WIDE),
        *(line((left, low + row * k), (right, low + row * k)) for k in (1, 2, 3)),
        line((half, low + row), (half, low + 3 * row)),
        line((last, low), (last, low + row)),
    ]

    def cell(x: float, k: int, text: str, height: float = SMALL) -> Mark:
        y = low + row * k + (row - height) / 2
        return words((x + 2.0, y), text, height, Weight.SEMIBOLD)

    name = shortened(paper.job, MIDDLE, width - 4.0, Weight.SEMIBOLD)
    units = "inches" if paper.units == "in" else "millimetres"
    check, page = f"check {figure_of(paper).said}:", f"1 / {contents.count}"
    end = left + 4.0 + text_width(check, SMALL, Weight.SEMIBOLD)
    y = low + row / 2 - SMALL / 2 - 0.5
    return [
        *marks,
        cell(left, 3, name, MIDDLE),
        cell(left, 2, f"code {contents.code}"),
        cell(half, 2, f"date {contents.date}".strip()),
        cell(left, 1, f"{units}   1:1   {paper.name}"),
        cell(half, 1, f"jiggen {paper.version}".strip()),
        cell(left, 0, check),
        line((end, y), (last - 2.0, y)),
        words(((last + right) / 2, y + 0.5), page, SMALL, Weight.SEMIBOLD, Anchor.MIDDLE),
    ]
