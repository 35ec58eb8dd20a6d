"""The verdict as a report for a person in gloves.

The verdict stands first, in large plain words; then why, piece by piece; then what to do next.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from jiggen.advice import next_steps, questions_of, spent_words
from jiggen.errors import say
from jiggen.geometry.coupon import Found
from jiggen.geometry.distortion import Estimate
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.proof import Outcome, Proof
from jiggen.report.terminal import Terminal, heading, printed, ruled_table
from jiggen.units import INCH, say_length
from jiggen.verify import CANNOT_TELL, DO_NOT_USE, USE, CouponFound
from jiggen.verify.words import doubt_length, rounded_up

COLOURS = {USE: "green", DO_NOT_USE: "red", CANNOT_TELL: "yellow"}

RULED_OFF = 20
"""Columns of the rule above and below the verdict."""

AS_IT_IS_NOW = "for the job as it is now"
"""What a verdict holds for where no drawings were found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why pieces got their verdict.

    Attributes:
        names: of the pieces.
        verdict: theirs.
        why: the same for all of them.
    """

    names: tuple[str, ...]
    verdict: str
    why: str


def reasons(proof: Proof) -> tuple[Reason, ...]:
    """Return why, each reason once with the pieces that it holds for, the worst first.

    Args:
        proof: what was judged.
    """
    rows = [(p.name, p.verdict, p.why) for sheet in proof.printed.sheets for p in sheet.pieces]
    rows += [(f"{p.name} as cut", p.verdict, p.why) for p in proof.finished]
    rows += [
        (f"test hole {name}".strip(), t.verdict, t.why) for name, t in proof.test_holes.items()
    ]
    grouped: dict[tuple[str, str], list[str]] = {}
    for name, verdict, why in rows:
        grouped.setdefault((verdict, say(why, proof.units)), []).append(name)
    order = (DO_NOT_USE, CANNOT_TELL, USE)
    return tuple(
        Reason(names=tuple(names), verdict=verdict, why=why)
        for (verdict, why), names in sorted(grouped.items(), key=lambda g: order.index(g[0][0]))
    )


def summary(proof: Proof) -> str:
    """Say in one sentence how many pieces came out how."""
    judged = [p.verdict for sheet in proof.printed.sheets for p in sheet.pieces]
    counts = [(judged.count(word), word) for word in (USE, DO_NOT_USE, CANNOT_TELL)]
    on_sheets = ", ".join(f"{count} {word}" for count, word in counts if count)
    parts = [f"Of {_counted(len(judged), 'piece')} on the sheets: {on_sheets}"] if judged else []
    cut = [p.verdict for p in proof.finished]
    if cut:
        parts.append(f"{_counted(cut.count(USE), 'cut piece')} of {len(cut)} good")
    drilled = [t.verdict for t in proof.test_holes.values()]
    if drilled:
        parts.append(f"test holes: {', '.join(drilled)}")
    return f"{'; '.join(parts)}." if parts else "No piece was judged."


def printer_sentences(proof: Proof) -> tuple[str, ...]:
    """Say what the printer did to the pages, with the plus-minus; nothing if it is not known."""
    takes = "that takes both diagonals"
    measured = [s for s in proof.printed.sheets if s.printed and s.found is not None]
    if proof.printed.apart:
        return (
            *(_came_out(f"{_capital(s.sheet)} came out", s.found, takes) for s in measured),
            "The pages came out unlike one another, by more than their readings leave in doubt.",
        )
    found = proof.printed.found
    if found is None:
        return ()
    opening = f"{_capital(measured[0].sheet)} came out" if len(measured) == 1 else "Came out"
    return (_came_out(opening, found, takes),)


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"


def machine_sentences(proof: Proof) -> tuple[str, ...]:
    """Say what the machine did to each bed that was measured, with the plus-minus."""
    return tuple(
        _came_out(f"{sheet.sheet} came out", sheet.found, "that takes a length that runs aslant")
        for sheet in proof.printed.sheets
        if sheet.found is not None and not sheet.printed
    )


def _came_out(opening: str, found: Estimate | None, takes: str) -> str:
    if found is None:
        return ""
    made, (x, y, skew) = found.distortion, found.standards
    scales = zip("xy", (made.scale_x, made.scale_y), (x, y), found.scales_measured, strict=True)
    said = [
        f"{scale:.2%} along {axis} (give or take {COVERAGE * doubt:.2%})"
        for axis, scale, doubt, known in scales
        if known
    ]
    words = f"{opening} {' and '.join(said) or 'of a size that the readings do not tell'}"
    for axis, known in zip("xy", found.scales_measured, strict=True):
        words += "" if known or not said else f"; along {axis} nobody measured"
    if not found.skew_measured:
        return f"{words}; whether it came out square nobody measured: {takes}."
    degrees = math.degrees(made.skew)
    way = "less than a right angle" if degrees > 0 else "more than a right angle"
    words += f"; the corner is {abs(degrees):.2f} deg {way}"
    return f"{words} (give or take {math.degrees(COVERAGE * skew):.2f})."


def coupon_lines(proof: Proof) -> tuple[str, ...]:
    """Return the lines of the job file that a kerf coupon gives; empty without one."""
    found = proof.coupon
    if found is None:
        return ()
    rows = [("kerf", found.kerf), ("sheet", found.sheet)]
    return ("[cut]", *(_cut_line(name, size, proof.units) for name, size in rows if size))


def _cut_line(name: str, size: Found, units: str) -> str:
    unit = INCH if units == "in" else 1.0
    places = 4 if units == "in" else 3
    doubt = COVERAGE * size.standard / unit
    return f"{name} = {size.value / unit:.{places}f}      # give or take {doubt:.{places}f} {units}"


def _about_coupon(found: CouponFound) -> Iterator[str]:
    """Yield what else to know about the lines that a coupon gives."""
    if found.by_bars:
        yield "The engraved bars told the machine's scale; it is taken off."
    else:
        yield (
            "Not every axis had its engraved bar measured, so the machine is taken to be true to "
            "size: 0.1 % of scale would pass for 0.005 mm of kerf."
        )
    if not found.alike:
        yield (
            "The two rows differ by more than their readings' doubt: the machine burns wider "
            "along one axis; this is the mean."
        )


def verdict_words(proof: Proof) -> str:
    """Return the verdict in capitals, as it stands at the head of report and record."""
    return "KERF FOUND" if proof.coupon_alone else proof.verdict.upper()


def proof_text(proof: Proof, terminal: Terminal, outcome: Outcome | None = None) -> str:
    """Return the report of ``jiggen verify``.

    Args:
        proof: what was judged.
        terminal: what it is printed on.
        outcome: what was written beside the verdict; None for nothing.

    Returns:
        Text with line ends.
    """
    rule = "=" * RULED_OFF
    held = f"\n  {AS_IT_IS_NOW}" if proof.absent else ""
    banner = f"{rule}\n  {verdict_words(proof)}{held}\n{rule}"
    colour = "" if proof.coupon_alone else COLOURS[proof.verdict]
    parts: list[object] = [said for said in (proof.absent, spent_words(proof)) if said]
    parts += [heading(banner, colour), "", proof.job, summary(proof)]
    parts += [said for said in (*printer_sentences(proof), *machine_sentences(proof)) if said]
    asked = [] if any(s.pieces for s in proof.printed.sheets) else questions_of(proof)
    parts += [closed(question) for question in asked]
    why = [r for r in reasons(proof) if r.verdict != USE] or reasons(proof)
    parts += [heading("Why")] if why else []
    parts += [why_sentence(reason) for reason in why]
    if any(sheet.pieces for sheet in proof.printed.sheets):
        parts += [heading("Pieces on the sheets"), _pieces_table(proof)]
    if proof.finished:
        parts += [heading("Pieces as cut, by calliper"), _finished_table(proof)]
        parts += list(_residuals(proof))
    if proof.test_holes:
        parts += [heading("Test holes"), *_test_hole_lines(proof)]
    if proof.coupon:
        parts += [heading("Kerf coupon: lines for the job file"), *coupon_lines(proof)]
        parts += list(_about_coupon(proof.coupon))
    parts += [heading("Next"), *next_steps(proof, outcome)]
    if outcome and outcome.written:
        parts += [heading("Written"), *outcome.written]
    return printed([*parts, "", *proof.notes], terminal)


def why_sentence(reason: Reason) -> str:
    """Say why pieces got their verdict, as one sentence or several."""
    return closed(f"{', '.join(reason.names)}: {reason.verdict}; {reason.why}")


def closed(text: str) -> str:
    """End a sentence; a question keeps its own mark."""
    return text if text.endswith(("?", ".")) else f"{text}."


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def degrees(radians: float | None) -> str:
    """Return an angle as it stands in a table; empty where there is none."""
    return "" if radians is None else f"{math.degrees(radians):.2f}"


def doubt_degrees(radians: float | None) -> str:
    """Return a doubt as it stands in a table: rounded up, as in the reasons."""
    return "" if radians is None else f"{rounded_up(math.degrees(radians)):.2f}"


def _pieces_table(proof: Proof) -> object:
    table = ruled_table(
        *("piece", "verdict", "on", "edge", "drawn deg", "came out", "give or take", "length off"),
        left=4,
    )
    for sheet in proof.printed.sheets:
        for p in sheet.pieces:
            off = p.length_error_worst
            table.add_row(
                *(p.name, p.verdict.upper(), p.sheet, p.angle_name, degrees(p.angle_nominal)),
                *(degrees(p.angle_as_printed), doubt_degrees(p.plus_minus)),
                "" if off is None else say_length(off, proof.units),
            )
    return table


def cut_rows(proof: Proof) -> list[list[str]]:
    """Return the rows of the table of cut pieces: one for each check edge.

    An edge that was not measured has no number that could be taken for a reading, and no verdict
    of its piece's other edge.

    Args:
        proof: what was judged.

    Returns:
        Piece, verdict, edge, angle as drawn, as cut, its doubt, drift, and at which hole.
    """
    rows = []
    for p in proof.finished:
        hole = proof.served.get(p.name)
        for a in p.angles:
            # A piece of one edge is judged by its other lengths too.
            verdict = (a if len(p.angles) > 1 else p).verdict
            if not a.determined and a.verdict == CANNOT_TELL:
                rows.append(
                    [p.name, verdict, a.name, degrees(a.nominal), "not measured", "", "", ""]
                )
                continue
            drift = "" if a.drift is None else say_length(a.drift, proof.units)
            if a.drift is not None and a.drift_plus_minus is not None:
                drift += f" +-{doubt_length(a.drift_plus_minus, proof.units)}"
            rows.append(
                [
                    *(p.name, verdict, a.name, degrees(a.nominal), degrees(a.value)),
                    *(doubt_degrees(a.plus_minus), drift, _at(a.hole, hole.hole if hole else None)),
                ]
            )
        if not p.angles:
            rows.append([p.name, p.verdict, *([""] * 6)])
    return rows


def _at(own: int | None, whole: int | None) -> str:
    """Return the number of the hole that a drift is told for: the edge's own, or the piece's."""
    number = whole if own is None else own
    return "" if number is None else str(number)


def _finished_table(proof: Proof) -> object:
    table = ruled_table(
        *("piece", "verdict", "edge", "drawn deg", "is", "give or take", "drift", "at hole"),
        left=3,
    )
    for name, verdict, *rest in cut_rows(proof):
        table.add_row(name, verdict.upper(), *rest)
    return table


def _residuals(proof: Proof) -> Iterable[str]:
    """Yield what each reading of a piece is off from the likeliest shape, where that says much."""
    for p in proof.finished:
        for a in [angle for angle in p.angles if angle.quarrels][:1]:
            left = ", ".join(
                f"{name} {say_length(mm, proof.units)}" for name, mm in a.residuals.items()
            )
            if left and a.quarrels:
                yield f"{p.name}: readings less the likeliest shape: {left}."


def _test_hole_lines(proof: Proof) -> Iterable[str]:
    for name, t in proof.test_holes.items():
        opening = f"{name or 'no piece named'}: {t.verdict.upper()}"
        if t.questions:
            yield f"{opening}."
            continue
        hole = proof.served.get(name)
        drift = ""
        if t.drift is not None and hole is not None:
            x, y = (say_length(abs(mm), proof.units) for mm in t.drift)
            drift = (
                f"; at hole {hole.hole} the exit would be off by {x} {fore_or_aft(t.drift[0])} "
                f"and {y} along the edge"
            )
        off_x, off_y = (f"{abs(math.degrees(v)):.2f} deg" for v in t.tilt)
        yield (
            f"{opening}; leans {off_x} {fore_or_aft(t.tilt[0])} and {off_y} along the edge from "
            f"where it should, give or take {doubt_degrees(t.plus_minus[0])} and "
            f"{doubt_degrees(t.plus_minus[1])}{drift}."
        )


def fore_or_aft(off: float) -> str:
    """Return the way that a hole is off: toward the leading edge, or toward the trailing edge."""
    return "forward" if off > 0.0 else "aft"
