"""What to do next, by what was judged: a page, a cut bed, a cut piece or a test hole.

Paper is corrected on paper and a machine at the machine: whoever cut a bed with a laser has no
use for a print dialog, and a page knows of no steps per mm.
"""

from __future__ import annotations

from collections.abc import Iterator

from jiggen.corrections import (
    GIVE_READINGS,
    for_pages_apart,
    for_the_machine,
    for_the_printer,
    listed,
    measure_a_page,
)
from jiggen.errors import say
from jiggen.facts.card import CARD_HEIGHT, CARD_WIDTH
from jiggen.proof import Outcome, Proof
from jiggen.units import fine
from jiggen.verify import CANNOT_TELL, DO_NOT_USE, USE
from jiggen.verify.coupon import is_askew, is_off_scale
from jiggen.verify.piece import ONE_EDGE_DOES

MOST_NAMED = 4
"""More pieces than this that want the same reading are called by their sheet."""

LEADS_DRILL = ("guide", "wrap", "block", "corner")
"""How the names of pieces begin that are drilled with; a foot or a gauge plate is not."""

GLUED_UP = ("block", "corner")
"""How the names of pieces begin that are layers or plates: glued up they are drilled with."""


def next_steps(proof: Proof, outcome: Outcome | None = None) -> tuple[str, ...]:
    """Return what to do next, in sentences and lines for the job file.

    Args:
        proof: what was judged.
        outcome: what was written beside the verdict; None for nothing.
    """
    outcome = outcome or Outcome()
    if proof.coupon_alone:
        return tuple(_after_coupon(proof))
    steps: list[str] = []
    if proof.spent:
        steps.append(
            f"Print the page that lies there now at 100 %, measure {measure_a_page(proof.units)}, "
            f"and give the new readings: {GIVE_READINGS}."
        )
    elif proof.verdict == USE and not outcome.reprint:
        steps += _what_is_due(proof)
    elif proof.verdict == DO_NOT_USE:
        steps.append("Do not cut, or do not drill with, what says DO NOT USE above.")
    if proof.verdict == DO_NOT_USE:
        steps += _tried_and_bad(proof)
    if _is_asked(proof):
        steps.append("Measure again what is asked about above, and give all readings anew.")
    if proof.verdict == DO_NOT_USE:
        steps += [*_open_sheets(proof), *_open_trials(proof)]
    if proof.verdict == CANNOT_TELL:
        steps += _what_is_open(proof)
        if any(sheet.printed and sheet.verdict == CANNOT_TELL for sheet in proof.printed.sheets):
            steps.append(card_advice(proof.units))
    steps += for_pages_apart(proof)
    steps += [] if proof.spent else for_the_printer(proof, outcome)
    for bed in proof.printed.sheets:
        steps += [] if bed.printed else for_the_machine(bed)
    return tuple(steps) or ("Nothing was measured that a verdict could rest on.",)


def _after_coupon(proof: Proof) -> Iterator[str]:
    """Yield what to do with a coupon's lines, and with a machine that its bars show to be off."""
    beds = [bed for bed in proof.printed.sheets if bed.found and not bed.printed]
    for bed in beds:
        if bed.found and (is_off_scale(bed.found) or is_askew(bed.found)):
            yield from for_the_machine(bed)
    off = any(bed.found and is_off_scale(bed.found) for bed in beds)
    why = ": the machine's scale is taken off them, and they hold once it is set" if off else ""
    yield f"Put these lines into the job file and run jiggen make again{why}."


def spent_words(proof: Proof) -> str:
    """Say that the readings belong to a page that was corrected since; empty where they do not.

    Args:
        proof: what was judged.
    """
    if not proof.spent:
        return ""
    return (
        "These very readings corrected the print.pdf that lies there now. They are of the page "
        "before it, and say nothing of the new one; a second correction by them would spoil it."
    )


def questions_of(proof: Proof) -> list[str]:
    """Return each question about readings of a sheet, once though it concerns several pages."""
    texts = [say(q.text, proof.units) for sheet in proof.printed.sheets for q in sheet.questions]
    return list(dict.fromkeys(texts))


def _is_asked(proof: Proof) -> bool:
    """Return whether any reading is asked about, be it of a sheet, a piece or a hole."""
    trials = [piece.questions for piece in proof.finished]
    trials += [hole.questions for hole in proof.test_holes.values()]
    return bool(questions_of(proof)) or any(trials)


def card_advice(units: str) -> str:
    """Say what to check one's rule against where no rule is trusted.

    Args:
        units: of the job, ``mm`` or ``in``.
    """
    wide, high = (fine(side).said(units) for side in (CARD_WIDTH, CARD_HEIGHT))
    size = f"{wide.split()[0]} x {high}"
    return (
        f"No rule that you trust? A bank card is {size} "
        "(ISO/IEC 7810, ID-1): a rule that reads so on a card is good for the bars."
    )


def _what_is_due(proof: Proof) -> Iterator[str]:
    """Yield the step after the furthest one that was judged good."""
    drilled = list(dict.fromkeys(_drilled_as(name) or name for name in proof.test_holes if name))
    cut = list(dict.fromkeys(_drilled_as(piece.name) for piece in proof.finished))
    cut = [name for name in cut if name]
    sheets = [sheet for sheet in proof.printed.sheets if sheet.pieces]
    if proof.test_holes:
        tool = f" with {listed(drilled)}" if drilled else ""
        yield f"Drill the part{tool}: from the middle out, each hole pinned before the next."
        if sheets or set(cut) - set(drilled):
            yield "Drill scrap first with every other piece, and measure that hole too."
    elif proof.finished:
        glued = [name for name in cut if name.startswith(GLUED_UP)]
        if glued:
            yield f"When every part of {listed(glued)} is measured and good, glue it up."
        if not cut:
            yield "No drill is led by what was measured: measure the guides or blocks too."
        tool = f" with {listed(cut)}" if cut else " with those"
        yield (
            f"Drill a test hole in scrap{tool} first. Measure where it enters and where it comes "
            "out, fill in a [[test_hole]] of the form beside the drawings, and run jiggen verify "
            "again."
        )
    elif any(sheet.printed for sheet in sheets):
        yield (
            "Cut on the hairline, none of the grey band left. Then measure the cut piece with a "
            "calliper, fill in the form beside the drawings, and run jiggen verify again."
        )
    else:
        yield (
            "The machine cuts to size. Measure one cut piece over its lettered corners with a "
            "calliper, fill in the form beside the drawings, and run jiggen verify again; then cut "
            "the rest."
        )


def _drilled_as(piece: str) -> str:
    """Return what is drilled with, by the name of a piece: a layer serves as its block does.

    Empty for a piece that leads no drill.
    """
    if not piece.startswith(LEADS_DRILL):
        return ""
    return "-".join(piece.split("-")[:2]) if piece.startswith(GLUED_UP) else piece


def _tried_and_bad(proof: Proof) -> Iterator[str]:
    """Yield what to do about cut pieces and test holes that are not good."""
    again: list[str] = []
    for piece in proof.finished:
        if piece.verdict != DO_NOT_USE:
            continue
        good = [angle.name for angle in piece.angles if angle.verdict == USE]
        bad = [angle.name for angle in piece.angles if angle.verdict == DO_NOT_USE]
        if good and bad and piece.name.startswith(ONE_EDGE_DOES):
            yield (
                f"{piece.name}: cross out the {' and the '.join(bad)} edge and use the "
                f"{' and the '.join(good)} edge only, or cut it again."
            )
        else:
            again.append(piece.name)
    printed = [name for name in again if name in proof.paper_only]
    cut = [name for name in again if name not in proof.paper_only]
    if printed:
        yield f"Print {listed(printed)} again, cut again and measure anew."
    if cut:
        yield f"Cut {listed(cut)} again from a page or a sheet that is good, and measure anew."
    if any(hole.verdict == DO_NOT_USE for hole in proof.test_holes.values()):
        yield (
            "Leave the part alone until a test hole is good. Did the piece stand flat, base square "
            "to the edge, on the side and the way round that it says? Drill scrap again."
        )


def _what_is_open(proof: Proof) -> Iterator[str]:
    """Yield what to measure where the readings cannot tell, or where there are none."""
    tried = proof.finished or proof.test_holes
    if tried or any(sheet.bars for sheet in proof.printed.sheets):
        yield from _open_sheets(proof)
        yield from _open_trials(proof)
    elif proof.pages:
        yield f"Measure {measure_a_page(proof.units)}; then {GIVE_READINGS}."
    else:
        yield (
            "Nothing here goes to a printer. Cut one piece, measure its engraved bars along x and "
            "along y, fill in the form beside the drawings, and run jiggen verify again."
        )


def _open_sheets(proof: Proof) -> Iterator[str]:
    """Yield what would decide the pieces on sheets, each once with the pieces that it is for."""
    settled = {piece.name for piece in proof.finished}
    groups: dict[str, list[str]] = {}
    for sheet in proof.printed.sheets:
        if sheet.verdict == DO_NOT_USE and sheet.found and all(sheet.found.scales_measured):
            continue  # it is made again in any case
        names = [piece.name for piece in sheet.pieces if piece.name not in settled]
        if names and not sheet.bars:
            yield (
                f"On {sheet.sheet} nothing was measured: measure {measure_a_page(proof.units)}."
                if sheet.printed
                else f"On {sheet.sheet} nothing was measured: measure the bars on its pieces."
            )
        decide = {p.name: say(p.to_decide, proof.units) for p in sheet.pieces}
        for what in dict.fromkeys(decide.values()):
            here = [n for n, other in decide.items() if other == what and n not in settled]
            if what and here:
                groups.setdefault(what, []).extend(
                    here if len(here) <= MOST_NAMED else [sheet.sheet]
                )
    for what, names in groups.items():
        yield f"{listed(names)}: {what}."


def _open_trials(proof: Proof) -> Iterator[str]:
    """Yield what would decide cut pieces and test holes."""
    for piece in proof.finished:
        if piece.verdict != CANNOT_TELL or piece.questions:
            continue
        told = any(angle.determined for angle in piece.angles)
        missing = next((a.missing for a in piece.angles if a.missing), ())
        if not all(angle.consistent for angle in piece.angles):
            yield f"Measure {piece.name} again, burrs off, square across the corners."
        elif not told and missing:
            yield f"Measure {listed(missing)} of {piece.name} too, with the same calliper."
        elif told:
            yield f"Measure {piece.name} again with a finer calliper, or more of its lengths."
    if any(h.verdict == CANNOT_TELL and not h.questions for h in proof.test_holes.values()):
        yield (
            "Measure the test hole with a finer calliper, drill more holes, or drill them in "
            "thicker scrap; then run jiggen verify again."
        )
