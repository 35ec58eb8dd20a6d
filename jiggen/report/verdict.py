"""The verdict for a person in gloves: the answer by piece first, then why, then what to do next.

At most 15 lines; with ``--all`` every reason, number and note. Paper is corrected on paper and a
machine at the machine: whoever cut a bed with a laser has no use for a print dialog.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence

from msgspec import Struct

from jiggen.errors import say
from jiggen.facts.card import CARD_HEIGHT, CARD_WIDTH
from jiggen.geometry.distortion import Distortion, Estimate
from jiggen.geometry.leastsquares import COVERAGE, WithDoubt
from jiggen.proof.checks import (
    CANNOT_TELL,
    DO_NOT_USE,
    USE,
    Check,
    CutAngle,
    Judged,
    Stage,
    rounded_up,
)
from jiggen.proof.folder import FORM, print_lines
from jiggen.proof.prove import Outcome, Proof
from jiggen.proof.readings import stem_of
from jiggen.proof.sheets import SheetVerdict, scales_of
from jiggen.report.terminal import Terminal, heading, printed, ruled_table
from jiggen.units import INCH, Length, say_length, words

LINES = 15  # what a report prints at most without --all
NAMED = 8  # names in a row of the answer; the rest is counted

FITTED = 0.02
"""A page that is further off than this all over was fitted to its paper when it was printed: common
practice, no published source; the margins of most printers make 0.94 to 0.98 of it."""

UNIFORM = 0.002  # scales across and up the page that are this close are called even, in words

COLOURS = {USE: "green", DO_NOT_USE: "red", CANNOT_TELL: "yellow"}

GIVE_READINGS = "--bar-x L --bar-y L --diagonal-1 L --diagonal-2 L"


class Hands(Struct, frozen=True, kw_only=True):
    """How a step is done where the verdict is read."""

    first: str = f"Then jiggen verify JOB {GIVE_READINGS}, or fill in {FORM}."
    sizes: str = ", fill in the form and run jiggen verify again"  # of a cut piece
    hole: str = ", write into the form where it goes in and comes out, and run jiggen verify again"
    make: str = "run jiggen make again"
    maker: str = "jiggen make"  # what draws
    reprint: str = "the same command with --reprint"


COMMANDS = Hands()


def answer_rows(proof: Proof, bad: str = "Not") -> list[tuple[str, str]]:
    """Return the answer by piece: words such as ``Cut: guide-1, foot.``, each with its verdict.

    `bad` is what is said before the pieces not to use.
    """
    groups: dict[tuple[str, str], list[str]] = {
        ("Use", USE): [],
        ("Cut", USE): [],
        (bad, DO_NOT_USE): [],
        ("Cannot tell", CANNOT_TELL): [],
    }
    for answer in proof.answers:
        word = {DO_NOT_USE: bad, CANNOT_TELL: "Cannot tell"}.get(
            answer.verdict, "Cut" if answer.stage in ("page", "bed") else "Use"
        )
        groups[word, answer.verdict].append(answer.name)
    rows = [(f"{word}: {_listed(names)}.", v) for (word, v), names in groups.items() if names]
    coupon = proof.coupon
    if coupon is not None and not coupon.questions:
        said = [
            f"{what} {Length(size.value, 3).said(proof.units)}"
            for what, size in (("Kerf", coupon.kerf), ("material", coupon.sheet))
            if size is not None
        ]
        rows.append((f"{', '.join(said)}.", USE))
    elif coupon is not None:
        rows.append(("Cannot tell: the kerf.", CANNOT_TELL))
    return rows or [("Cannot tell: nothing was measured.", CANNOT_TELL)]


def came_out(proof: Proof) -> list[str]:
    """Say what printer and machine did to the sheets that were measured, with the plus-minus."""
    sheets = [sheet for sheet in proof.sheets.sheets if sheet.found is not None]
    pages = [sheet for sheet in sheets if sheet.printed]
    beds = [sheet for sheet in sheets if not sheet.printed]
    found = proof.sheets.found
    said: list[str] = []
    if found is not None and pages:
        name = "The print" if len(pages) > 1 else pages[0].sheet.capitalize()
        said.append(_came_out(name, found, "page"))
    elif pages:
        said += [_came_out(page.sheet.capitalize(), page.found, "page") for page in pages]
        said.append("The pages came out unlike one another, by more than their readings allow.")
    return said + [_came_out(bed.sheet, bed.found, "bed") for bed in beds]


def _came_out(name: str, found: Estimate | None, on: Stage) -> str:
    if found is None:
        return ""
    made, skew = found.distortion, found.standards[2]
    said = [
        f"{scale:.2%} {way} (give or take {doubt:.2%})"
        for way, scale, doubt in scales_of(found, on)
    ]
    text = f"{name} came out {' and '.join(said) or 'of a size that the readings do not tell'}"
    if not found.skew_measured:
        text += "; nobody measured whether it is square"
    elif abs(made.skew) <= COVERAGE * skew:
        text += f"; it is square within {_doubt(COVERAGE * skew)} deg"
    else:
        way = "less" if made.skew > 0 else "more"
        text += (
            f"; its corner is {abs(math.degrees(made.skew)):.2f} deg {way} than square (give or "
            f"take {math.degrees(COVERAGE * skew):.2f})"
        )
    mean = (made.scale_x + made.scale_y) / 2.0 - 1.0
    even = all(found.scales_measured) and abs(made.scale_x - made.scale_y) <= UNIFORM
    if even and abs(mean) > UNIFORM:
        text += f". It is {'small' if mean < 0 else 'large'} all over, which changes no angle"
    return f"{text}."


def reasons(proof: Proof, verdicts: Sequence[str]) -> list[str]:
    """Say why, each reason once with the pieces that it holds for, in the order of the verdicts."""
    grouped: dict[tuple[str, str], list[str]] = {}
    for verdict in verdicts:
        for answer in (answer for answer in proof.answers if answer.verdict == verdict):
            text = answer.why.said(proof.units)
            if answer.to_decide is not None and verdict != USE:
                text = _closed(text) + f" To decide, {answer.to_decide.said(proof.units)}"
            grouped.setdefault((verdict, text), []).append(answer.name)
    alone = [verdict for verdict, _ in grouped]
    rows = [
        # A reason that all have in common needs no second list of them.
        f"{_listed(names)}: {_closed(text)}"
        if len(names) == 1 or alone.count(verdict) > 1
        else _closed(text)
        for (verdict, text), names in grouped.items()
    ]
    if proof.coupon is not None and CANNOT_TELL in verdicts:
        rows += [_closed(q.text.said(proof.units)) for q in proof.coupon.questions]
    return rows


def proof_text(
    proof: Proof, terminal: Terminal, outcome: Outcome, *, everything: bool = False
) -> str:
    """Return the report of ``jiggen verify``.

    All reasons, tables and notes with `everything`; else `LINES` lines at most.
    """
    head = [heading(text, COLOURS[verdict]) for text, verdict in answer_rows(proof)]
    if proof.stop:
        head.append(heading(f"The job says STOP: {say(proof.stop, proof.units)}", "red"))
    steps = [*next_steps(proof, outcome, everything=everything)]
    tail = [f"Next: {steps[0]}", *steps[1:], *(f"Wrote {path}" for path in outcome.written)]
    bad = reasons(proof, (DO_NOT_USE, CANNOT_TELL))
    notes = [note.said(proof.units) for note in proof.notes]
    if everything:
        body: list[object] = [*came_out(proof), *bad, *reasons(proof, (USE,)), *_changed(proof)]
        return printed([*head, "", *body, *_tables(proof), "", *notes, "", *tail], terminal)

    def show(part: object) -> list[str]:
        return printed([part], terminal).splitlines()

    first = [line for part in head for line in show(part) if line]
    last = [line for part in tail for line in show(part)][: LINES - len(first) - 2]
    middle: list[str] = []
    left_out = False
    for part in (*came_out(proof), *bad, *_good_angles(proof), *_changed(proof), *notes):
        lines = show(part)
        if len(first) + len(middle) + len(lines) + len(last) < LINES:
            middle += lines
        else:
            left_out = True
    more = ["More: the same command with --all."] if left_out or proof.answers else []
    return "".join(f"{line}\n" for line in (*first, *middle, *last, *more)[:LINES])


def _good_angles(proof: Proof) -> Iterator[str]:
    """Yield the number that matters of each cut piece that may be used."""
    for piece in (piece for piece in proof.cut if piece.verdict == USE):
        for angle in (angle for angle in piece.angles if angle.determined):
            odd = "" if piece.to_decide is None else f" But {piece.to_decide.said(proof.units)}."
            yield f"{piece.name}: {_angle_said(angle, proof.units)}.{odd}"


def _angle_said(angle: CutAngle, units: str) -> str:
    text = (
        f"{angle.name} {math.degrees(angle.value):.2f} deg, give or take "
        f"{_doubt(angle.plus_minus)}, drawn {math.degrees(angle.nominal):.2f}"
    )
    if angle.drift is None:
        return text
    way = "forward" if angle.drift > 0.0 else "aft"
    miss = Length(abs(angle.drift)).said(units)
    return f"{text}; at hole {angle.hole} the drill comes out {miss} {way}"


def _changed(proof: Proof) -> Iterator[str]:
    if proof.changed:
        some = [
            f"{c.name} (was {c.was}, {f'is {c.now}' if c.now else 'gone'})" for c in proof.changed
        ]
        yield f"Changed since they were drawn: {_listed(some)}. The others are as they were."


# --- what to do next


def next_steps(
    proof: Proof, outcome: Outcome, *, everything: bool = False, hands: Hands = COMMANDS
) -> list[str]:
    """Return what to do next, in sentences and lines for the job file."""
    if not proof.answers and proof.coupon is None and not proof.sheets.sheets:
        refused = outcome.not_reprinted
        return [
            *([f"No reprint was written: {refused}."] if refused else []),
            _measure_first(proof, hands),
        ]
    steps: list[str] = []
    questions = [q for s in proof.sheets.sheets for q in s.questions]
    questions += [q for one in (*proof.cut, *proof.holes) for q in one.questions]
    if questions:
        steps.append("Measure again what is asked about above, and put it in.")
    steps += _after_bad(proof, hands)
    steps += _for_the_printer(proof, outcome, hands, everything=everything)
    for bed in proof.sheets.sheets:
        steps += [] if bed.printed else _for_the_machine(bed)
    steps += _after_good(proof, hands) if not outcome.reprint else []
    if lines := coupon_lines(proof):
        steps += [f"Put these lines into the job file and {hands.make}:", *lines]
        steps += _about_coupon(proof)
    open_ = proof.verdict != USE
    return steps or ["Measure what is open, as it says above." if open_ else "No more to measure."]


def _measure_first(proof: Proof, hands: Hands) -> str:
    page = next(iter(proof.record.pages), None)
    if page is None:
        return f"Cut one piece, measure its engraved bars and its sizes{hands.sizes}."
    sizes = page.measurable()
    said = [
        words("{n} {mm}", n=n, mm=Length(sizes[n].nominal)).said(proof.units)
        for n in ("bar-x", "bar-y", "diagonal-1", "diagonal-2")
        if n in sizes
    ]
    return f"Print at 100 % and measure {page.name}: {', '.join(said)}. {hands.first}"


def _after_good(proof: Proof, hands: Hands) -> Iterator[str]:
    """Yield the step after each stage that was judged good, the furthest first."""
    by_stage: dict[str, list[str]] = {}
    for answer in proof.answers:
        if answer.verdict == USE:
            by_stage.setdefault(answer.stage, []).append(answer.name)
    cut = [piece for n in by_stage.get("piece", ()) for piece in proof.record.drilled_with(n)]
    bad = {answer.name for answer in proof.answers if answer.verdict == DO_NOT_USE}
    leading = [
        stem
        for stem in dict.fromkeys(stem_of(piece, proof.record) for piece in cut)
        if bad.isdisjoint(piece.name for piece in proof.record.put_together(stem))
    ]
    if tried := [hole.name for hole in proof.holes if hole.verdict == USE]:
        yield (
            f"Drill the part with {_listed(tried)}: from the middle out, a temporary fastener in "
            "each hole before the next."
        )
    if leading:
        yield (f"Drill a test hole in scrap with {_listed(leading)}{hands.hole}.")
    elif "bed" in by_stage and "page" not in by_stage:
        yield (f"Measure one cut piece with a calliper{hands.sizes}; then cut the rest.")
    elif "page" in by_stage:
        yield (
            "Cut, and file to the line: the line stays. Measure the cut piece with a "
            f"calliper{hands.sizes}."
        )


def _after_bad(proof: Proof, hands: Hands) -> Iterator[str]:
    bad = [answer for answer in proof.answers if answer.verdict == DO_NOT_USE]
    stale = {changed.name for changed in proof.changed}
    if old := [answer.name for answer in bad if answer.name in stale]:
        yield f"{hands.make[0].upper()}{hands.make[1:]}, and make {_listed(old)} anew."
    if again := [a.name for a in bad if a.stage == "piece" and a.name not in stale]:
        again_ = _listed(again)
        yield f"Measure {again_} once more; if it stays so, make it again from a good page or bed."
    if any(answer.stage == "hole" and answer.name not in stale for answer in bad):
        yield (
            "Leave the part alone until a test hole is good: did the piece stand flat, on the side "
            "and the way round that it says?"
        )


def _for_the_printer(
    proof: Proof, outcome: Outcome, hands: Hands, *, everything: bool
) -> Iterator[str]:
    """Yield how the next print comes out true."""
    apart = proof.sheets.apart
    pages = [s for s in proof.sheets.sheets if s.printed]
    good = [s.sheet for s in pages if all(piece.verdict == USE for piece in s.pieces)]
    found = proof.sheets.found
    fitted = (
        "The page was most likely scaled to fit its paper: print it again at 100 % (actual size) "
        "and measure that one."
    )
    made = found.distortion if found else Distortion()
    is_fitted = abs((made.scale_x + made.scale_y) / 2.0 - 1.0) > FITTED
    if apart and (again := [name for name in apart if name not in good]):
        yield f"Print {_listed(again)} again at 100 % (actual size) in one go, and measure each."
    if outcome.nothing_to_correct:
        yield f"Nothing to correct: {outcome.nothing_to_correct}."
    elif outcome.not_reprinted:
        yield from [fitted] if is_fitted else []
        yield f"No reprint was written: {outcome.not_reprinted}."
    elif outcome.reprint:
        yield (
            f"Print the new {outcome.reprint} at 100 %, throw the old pages away, and measure the "
            f"new ones. {hands.maker} draws them so only with these lines in the job file:"
        )
        yield from print_lines(proof.reprint)
    elif (
        found is not None
        and all(found.scales_measured)
        and proof.print_is_off
        and len(good) < len(pages)
    ):
        if is_fitted:
            yield f"{fitted} If it was at 100 %: {hands.reprint}."
            return
        yield f"To print it right: {hands.reprint}; then measure the new page."
        if everything:
            yield from ("Or these lines in the job file:", *print_lines(proof.reprint))


def _for_the_machine(bed: SheetVerdict) -> Iterator[str]:
    """Yield how the next cut comes out true, where the machine is off by more than the doubt."""
    found = bed.found
    if found is None or (bed.pieces and all(piece.verdict == USE for piece in bed.pieces)):
        return
    made, skew = found.distortion, found.standards[2]
    moved = [
        (way, scale)
        for way, scale, doubt in scales_of(found, "bed")
        if abs(scale - 1.0) > 2.0 * doubt
    ]
    if moved and bed.sheet.startswith("roll"):
        yield f"Have {bed.sheet} printed again at 100 %, every other scale of its printer off."
    elif moved:
        factors = ", ".join(f"{way} times {1 / scale:.4f}" for way, scale in moved)
        yield (
            f"{bed.sheet}: see that the machine's program imported the file in millimetres at its "
            f"own size. If it did, set its steps per mm: {factors}."
        )
    if found.skew_measured and abs(made.skew) > 2.0 * COVERAGE * skew:
        off = abs(math.degrees(made.skew))
        yield f"The axes of the machine stand {off:.2f} deg off square: square them."


def coupon_lines(proof: Proof) -> tuple[str, ...]:
    """Return the lines of the job file that a kerf coupon gives; empty without one."""
    found = proof.coupon
    if found is None or found.kerf is None:
        return ()
    rows = [("kerf", found.kerf), ("sheet", found.sheet)]
    return ("[cut]", *(_cut_line(name, size, proof.units) for name, size in rows if size))


def _cut_line(name: str, size: WithDoubt, units: str) -> str:
    unit, places = (INCH, 4) if units == "in" else (1.0, 3)
    doubt = COVERAGE * size.standard / unit
    return f"{name} = {size.value / unit:.{places}f}      # give or take {doubt:.{places}f} {units}"


def _about_coupon(proof: Proof) -> Iterator[str]:
    found = proof.coupon
    if found is None:
        return
    if found.by_bars:
        yield "The engraved bars told the machine's scale; it is taken off."
    else:
        yield (
            "Not every engraved bar was measured: the machine is taken to be true to size, and "
            "0.1 % of scale would pass for 0.005 mm of kerf."
        )
    if not found.alike:
        yield "The machine burns wider along one axis; this is the mean."


# --- all of it


def _tables(proof: Proof) -> Iterator[object]:
    for title, columns, left, rows in tables_of(proof):
        if rows:
            table = ruled_table(*columns, left=left)
            for row in rows:
                table.add_row(*row)
            yield heading(title)
            yield table
    for piece in proof.cut:
        for angle in [a for a in piece.angles if a.residuals][:1]:
            off = ", ".join(
                f"{n} {say_length(mm, proof.units)}" for n, mm in angle.residuals.items()
            )
            yield f"{piece.name}, readings less the likeliest shape: {off}."
    if any(sheet.printed for sheet in proof.sheets.sheets):
        width, height = (Length(mm).said(proof.units) for mm in (CARD_WIDTH, CARD_HEIGHT))
        yield (
            f"No rule that you trust? A bank card is {width} by {height} (ISO/IEC 7810, ID-1): a "
            "rule that reads so on a card is good for the page."
        )


def tables_of(proof: Proof) -> list[tuple[str, tuple[str, ...], int, list[list[str]]]]:
    """Return each table's title, columns, how many of them hold words, and rows."""
    units = proof.units

    def length(mm: float | None) -> str:
        return "" if mm is None else say_length(mm, units).removesuffix(f" {units}")

    lying = [
        [
            *(p.name, p.verdict, p.sheet),
            *(*_angle_cells(p.worst), length(p.length_error_worst)),
        ]
        for sheet in proof.sheets.sheets
        for p in sheet.pieces
    ]
    cut = [row for piece in proof.cut for row in _cut_rows(piece, length)]
    holes = [
        [
            *(hole.name, hole.verdict, *(_degrees(off) for off in hole.tilt[0])),
            *(_doubt(max(hole.tilt[1])), str(hole.worst_hole or "")),
            *((length(mm) for mm in hole.drift) if hole.drift else ("", "")),
        ]
        for hole in proof.holes
        if hole.tilt is not None
    ]
    given = [
        [where, one.name, *map(length, (one.nominal, one.measured, COVERAGE * one.standard))]
        for where, one in proof.given
    ]
    edge, doubt, miss = ("edge", "drawn deg"), "give or take", f"miss {units}"
    on_sheet = ("piece", "verdict", "on", *edge, "came out", doubt, f"length off {units}")
    as_cut = ("piece", "verdict", *edge, "is", doubt, miss, "hole")
    drilled = ("with", "verdict", "off deg", "along", doubt, "hole", miss, "along")
    return [
        ("Pieces on pages and beds", on_sheet, 4, lying),
        ("Pieces as cut", as_cut, 3, cut),
        ("Test holes", drilled, 2, holes),
        (f"Readings, {units}", ("on", "what", "drawn", "measured", doubt), 2, given),
    ]


def _angle_cells(worst: Check | None) -> tuple[str, ...]:
    if worst is None:
        return ("", "", "", "")
    as_printed = _degrees(worst.nominal + worst.error)
    return (worst.what, _degrees(worst.nominal), as_printed, _doubt(worst.doubt))


def _cut_rows(piece: Judged, length: Callable[[float | None], str]) -> Iterable[list[str]]:
    """Yield a row for each edge: one that was not measured has no number that looks like one."""
    for a in piece.angles:
        told = a.determined or a.verdict != CANNOT_TELL
        numbers = (_degrees(a.value), _doubt(a.plus_minus)) if told else ("not measured", "")
        yield [
            *(piece.name, piece.verdict, a.name, _degrees(a.nominal), *numbers),
            *(length(a.drift), "" if a.hole is None else str(a.hole)),
        ]
    if not piece.angles:
        yield [piece.name, piece.verdict, *[""] * 6]


def _degrees(radians: float | None) -> str:
    return "" if radians is None else f"{math.degrees(radians):z.2f}"


def _doubt(radians: float | None) -> str:
    return "" if radians is None else f"{rounded_up(math.degrees(radians)):.2f}"


def _listed(names: Iterable[str]) -> str:
    some = list(names)
    rest = f" and {len(some) - NAMED} more" if len(some) > NAMED else ""
    return ", ".join(some[:NAMED]) + rest


def _closed(text: str) -> str:
    """End a sentence; a question keeps its own mark."""
    return text if text.endswith(("?", ".")) else f"{text}."
