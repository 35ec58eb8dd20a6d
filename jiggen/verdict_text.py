"""The verdict as a report for a person in gloves.

The verdict stands first, in large plain words; then why, piece by piece; then what to do next.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from jiggen.facts.card import CARD_HEIGHT, CARD_WIDTH
from jiggen.geometry.coupon import Found
from jiggen.geometry.distortion import Distortion
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.proof import Proof
from jiggen.terminal import Terminal, heading, printed, ruled_table
from jiggen.units import INCH, say_length
from jiggen.verify import CANNOT_TELL, DO_NOT_USE, USE

COLOURS = {USE: "green", DO_NOT_USE: "red", CANNOT_TELL: "yellow"}

FITTED = 0.03
"""A page that is further off than this all over was fitted to its paper when it was printed."""

RULED_OFF = 20
"""Columns of the rule above and below the verdict."""


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
        grouped.setdefault((verdict, why), []).append(name)
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


def printer_sentence(proof: Proof) -> str:
    """Say what the printer did to the page, with the plus-minus; empty if it is not known."""
    found = proof.printed.found
    if found is None:
        return ""
    made, (x, y, skew) = found.distortion, found.standards
    words = f"Came out {made.scale_x:.2%} along x (give or take {COVERAGE * x:.2%})"
    words += f" and {made.scale_y:.2%} along y (give or take {COVERAGE * y:.2%})"
    degrees = math.degrees(made.skew)
    if found.skew_measured:
        way = "less than a right angle" if degrees > 0 else "more than a right angle"
        words += f"; the corner is {abs(degrees):.2f} deg {way}"
        words += f" (give or take {math.degrees(COVERAGE * skew):.2f})."
    else:
        words += "; whether it came out square nobody measured: that takes both diagonals."
    return words


def print_lines(made: Distortion) -> tuple[str, ...]:
    """Return the lines of the job file that correct the next print."""
    return (
        "[print]",
        f"scale_x = {made.scale_x:.6f}",
        f"scale_y = {made.scale_y:.6f}",
        f"skew = {math.degrees(made.skew):z.4f}",
    )


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


def verdict_words(proof: Proof) -> str:
    """Return the verdict in capitals, as it stands at the head of report and record."""
    return "KERF FOUND" if proof.coupon_alone else proof.verdict.upper()


def proof_text(proof: Proof, terminal: Terminal, written: Sequence[str] = ()) -> str:
    """Return the report of ``jiggen verify``.

    Args:
        proof: what was judged.
        terminal: what it is printed on.
        written: paths of files that were written.

    Returns:
        Text with line ends.
    """
    rule = "=" * RULED_OFF
    banner = f"{rule}\n  {verdict_words(proof)}\n{rule}"
    colour = "" if proof.coupon_alone else COLOURS[proof.verdict]
    parts: list[object] = [heading(banner, colour), "", proof.job, summary(proof)]
    if said := printer_sentence(proof):
        parts.append(said)
    asked = [] if any(s.pieces for s in proof.printed.sheets) else _questions(proof)
    parts += [f"{question}." for question in asked]
    why = [r for r in reasons(proof) if r.verdict != USE] or reasons(proof)
    parts += [heading("Why")] if why else []
    parts += [f"{', '.join(r.names)}: {r.verdict}; {r.why}." for r in why]
    if any(sheet.pieces for sheet in proof.printed.sheets):
        parts += [heading("Pieces on the sheets"), _pieces_table(proof)]
    if proof.finished:
        parts += [heading("Pieces as cut, by calliper"), _finished_table(proof)]
        parts += list(_residuals(proof))
    if proof.test_holes:
        parts += [heading("Test holes"), *_test_hole_lines(proof)]
    if proof.coupon:
        parts += [heading("Kerf coupon: lines for the job file"), *coupon_lines(proof)]
        if not proof.coupon.alike:
            parts.append(
                "The two rows differ by more than their readings' doubt: the machine burns wider "
                "along one axis; this is the mean."
            )
    parts += [heading("Next"), *next_steps(proof)]
    if written:
        parts += [heading("Written"), *written]
    return printed([*parts, "", *proof.notes], terminal)


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _questions(proof: Proof) -> list[str]:
    """Return each question about readings of a sheet, once though it concerns several pages."""
    texts = [q.text for sheet in proof.printed.sheets for q in sheet.questions]
    return list(dict.fromkeys(texts))


def _degrees(radians: float | None) -> str:
    return "" if radians is None else f"{math.degrees(radians):.2f}"


def _pieces_table(proof: Proof) -> object:
    table = ruled_table(
        *("piece", "verdict", "on", "drawn deg", "came out", "give or take", "length off"), left=3
    )
    for sheet in proof.printed.sheets:
        for p in sheet.pieces:
            off = p.length_error_worst
            table.add_row(
                *(p.name, p.verdict.upper(), p.sheet, _degrees(p.angle_nominal)),
                *(_degrees(p.angle_as_printed), _degrees(p.plus_minus)),
                "" if off is None else say_length(off, proof.units),
            )
    return table


def _finished_table(proof: Proof) -> object:
    table = ruled_table(
        *("piece", "verdict", "angle", "drawn deg", "is", "give or take", "drift", "at hole"),
        left=3,
    )
    for p in proof.finished:
        hole = proof.served.get(p.name)
        for a in p.angles:
            drift = "" if a.drift is None else say_length(a.drift, proof.units)
            if a.drift is not None and a.drift_plus_minus is not None:
                drift += f" +-{say_length(a.drift_plus_minus, proof.units)}"
            table.add_row(
                *(p.name, p.verdict.upper(), a.name, _degrees(a.nominal), _degrees(a.value)),
                *(_degrees(a.plus_minus), drift, str(hole.hole) if hole else ""),
            )
        if not p.angles:
            table.add_row(p.name, p.verdict.upper(), *([""] * 6))
    return table


def _residuals(proof: Proof) -> Iterable[str]:
    """Yield what each reading of a piece is off from the likeliest shape."""
    for p in proof.finished:
        for a in p.angles[:1]:
            left = ", ".join(f"{name} {mm:+.2f}" for name, mm in a.residuals.items())
            yield f"{p.name}: readings less the likeliest shape, mm: {left}."


def _test_hole_lines(proof: Proof) -> Iterable[str]:
    for name, t in proof.test_holes.items():
        hole = proof.served.get(name)
        drift = ""
        if t.drift is not None and hole is not None:
            x, y = (say_length(mm, proof.units) for mm in t.drift)
            drift = f"; at hole {hole.hole} the exit would be off by {x} forward and {y} along"
        off_x, off_y = (math.degrees(v) for v in t.tilt)
        yield (
            f"{name or 'no piece named'}: {t.verdict.upper()}; leans {off_x:+.2f} deg forward and "
            f"{off_y:+.2f} deg along from where it should, give or take "
            f"{_degrees(t.plus_minus[0])} and {_degrees(t.plus_minus[1])}{drift}."
        )


def next_steps(proof: Proof) -> tuple[str, ...]:
    """Return what to do next, in sentences and lines for the job file.

    Args:
        proof: what was judged.
    """
    found = proof.printed.found
    if proof.coupon_alone:
        return ("Put these lines into the job file and run jiggen make again.",)
    steps: list[str] = []
    if proof.verdict == USE:
        steps.append(
            "Cut on the hairline, none of the grey band left. Then measure the cut piece with a "
            "calliper, fill in the form beside the drawings, and run jiggen verify again."
            if not proof.finished
            else "Drill a test hole in scrap first."
        )
    elif proof.verdict == DO_NOT_USE:
        steps.append("Do not cut, or do not drill with, what says DO NOT USE above.")
    if _questions(proof):
        steps.append("Measure again what is asked about above, and give all readings anew.")
    elif proof.verdict == CANNOT_TELL and found is None and not proof.finished:
        steps.append(
            "Measure the 100 mm bar along x and along y, middle of tick to middle of tick, and "
            "both diagonals, D1 to D1 and D2 to D2; then jiggen verify JOB --bar-x L --bar-y L "
            "--diagonal-1 L --diagonal-2 L."
        )
    if proof.verdict == CANNOT_TELL:
        steps.append(card_advice())
    if should_reprint(proof):
        steps += _reprint_steps(proof)
    return tuple(steps) or ("Nothing was measured that a verdict could rest on.",)


def should_reprint(proof: Proof) -> bool:
    """Return whether the next print should be corrected: the page is off by more than its doubt."""
    found = proof.printed.found
    if found is None or proof.printed.verdict == USE or not all(found.scales_measured):
        return False
    made = found.distortion
    off = (made.scale_x - 1.0, made.scale_y - 1.0, made.skew)
    return any(abs(o) > COVERAGE * s for o, s in zip(off, found.standards, strict=True))


def card_advice() -> str:
    """Say what to check one's rule against where no rule is trusted."""
    return (
        f"No rule that you trust? A bank card is {CARD_WIDTH:.2f} x {CARD_HEIGHT:.2f} mm "
        "(ISO/IEC 7810, ID-1): a rule that reads so on a card is good for the bars."
    )


def _reprint_steps(proof: Proof) -> list[str]:
    made = proof.printed.reprint
    found = proof.printed.found
    here = found.distortion if found else made
    steps = []
    if abs((here.scale_x + here.scale_y) / 2.0 - 1.0) > FITTED:
        steps.append(
            'The page was scaled to fit its paper. First print it again at 100 % ("actual size"), '
            "and measure that one: angle guides come to no harm by even scaling, but strips, "
            "blocks and wraps do."
        )
    steps.append(
        "To print it right: the same command with --reprint, or these lines in the job file and "
        "jiggen make again; then measure the new page."
    )
    return [*steps, *print_lines(made)]
