"""What to do next, by what was judged: a page, a cut bed, a cut piece or a test hole.

Paper is corrected on paper and a machine at the machine: whoever cut a bed with a laser has no
use for a print dialog, and a page knows of no steps per mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from jiggen.facts.card import CARD_HEIGHT, CARD_WIDTH
from jiggen.folder import print_lines
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.proof import Outcome, Proof
from jiggen.verify import CANNOT_TELL, DO_NOT_USE, USE, SheetVerdict

FITTED = 0.03
"""A page that is further off than this all over was fitted to its paper when it was printed."""

MEASURE_A_PAGE = (
    "the 100 mm bar along x and along y, middle of tick to middle of tick, and both diagonals, "
    "D1 to D1 and D2 to D2"
)

GIVE_READINGS = "jiggen verify JOB --bar-x L --bar-y L --diagonal-1 L --diagonal-2 L"

NO_DRILL = "foot"
"""How the names of pieces begin that are cut, but never drilled with."""


def next_steps(proof: Proof, outcome: Outcome | None = None) -> tuple[str, ...]:
    """Return what to do next, in sentences and lines for the job file.

    Args:
        proof: what was judged.
        outcome: what was written beside the verdict; None for nothing.
    """
    outcome = outcome or Outcome()
    if proof.coupon_alone:
        return ("Put these lines into the job file and run jiggen make again.",)
    steps: list[str] = []
    if proof.verdict == USE:
        steps += _what_is_due(proof)
    elif proof.verdict == DO_NOT_USE:
        steps.append("Do not cut, or do not drill with, what says DO NOT USE above.")
        steps += _tried_and_bad(proof)
    if questions_of(proof):
        steps.append("Measure again what is asked about above, and give all readings anew.")
    elif proof.verdict == CANNOT_TELL:
        steps += _nothing_measured(proof)
    if proof.verdict == CANNOT_TELL:
        steps.append(card_advice())
    steps += _for_the_printer(proof, outcome)
    for bed in proof.printed.sheets:
        steps += [] if bed.printed else _for_the_machine(bed)
    return tuple(steps) or ("Nothing was measured that a verdict could rest on.",)


def questions_of(proof: Proof) -> list[str]:
    """Return each question about readings of a sheet, once though it concerns several pages."""
    texts = [q.text for sheet in proof.printed.sheets for q in sheet.questions]
    return list(dict.fromkeys(texts))


def should_reprint(proof: Proof) -> bool:
    """Return whether the next print should be corrected: the page is off by more than its doubt."""
    found = proof.printed.found
    pages = [s.verdict for s in proof.printed.sheets if s.printed and s.pieces]
    if found is None or set(pages) <= {USE} or not all(found.scales_measured):
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


def _what_is_due(proof: Proof) -> Iterator[str]:
    """Yield the step after the furthest one that was judged good."""
    drilled = [name for name in proof.test_holes if name]
    cut = [piece.name for piece in proof.finished if not piece.name.startswith(NO_DRILL)]
    sheets = [sheet for sheet in proof.printed.sheets if sheet.pieces]
    if proof.test_holes:
        tool = f" with {_listed(drilled)}" if drilled else ""
        yield f"Drill the part{tool}: from the middle out, each hole pinned before the next."
        if sheets or set(cut) - set(drilled):
            yield "Drill scrap first with every other piece, and measure that hole too."
    elif proof.finished:
        tool = f" with {_listed(cut)}" if cut else ""
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


def _tried_and_bad(proof: Proof) -> Iterator[str]:
    """Yield what to do about cut pieces and test holes that are not good."""
    cut = [piece.name for piece in proof.finished if piece.verdict == DO_NOT_USE]
    if cut:
        yield f"Cut {_listed(cut)} again from a sheet that is good, and measure anew."
    if any(hole.verdict == DO_NOT_USE for hole in proof.test_holes.values()):
        yield (
            "Leave the part alone until a test hole is good. Did the piece stand flat, base square "
            "to the edge, on the side and the way round that it says? Drill scrap again."
        )


def _nothing_measured(proof: Proof) -> Iterator[str]:
    """Yield what to measure where nothing was."""
    tried = proof.finished or proof.test_holes
    if tried or any(sheet.bars for sheet in proof.printed.sheets):
        return
    if proof.pages:
        yield f"Measure {MEASURE_A_PAGE}; then {GIVE_READINGS}."
    else:
        yield (
            "Nothing here goes to a printer. Cut one piece, measure its engraved bars along x and "
            "along y, fill in the form beside the drawings, and run jiggen verify again."
        )


def _for_the_printer(proof: Proof, outcome: Outcome) -> list[str]:
    """Return how the next print comes out true."""
    if outcome.not_reprinted:
        return [*_said_if_fitted(proof), f"No reprint was written: {outcome.not_reprinted}."]
    if outcome.reprint:
        return [*_after_reprint(proof, outcome), *print_lines(proof.printed.reprint)]
    if not should_reprint(proof):
        return []
    if fitted := _said_if_fitted(proof):
        return [*fitted, "If it was printed at 100 %: the same command with --reprint."]
    return [
        "To print it right: the same command with --reprint, or these lines in the job file and "
        "jiggen make again; then measure the new page.",
        *print_lines(proof.printed.reprint),
    ]


def _after_reprint(proof: Proof, outcome: Outcome) -> Iterator[str]:
    if _is_fitted(proof):
        yield (
            f"The page that you measured had been scaled to fit its paper. {outcome.reprint} makes "
            "up for that, and comes out true only with the same setting; it is safer to run "
            "jiggen make, print at 100 %, and measure that page."
        )
    else:
        yield f"Print the new {outcome.reprint} at 100 %, and throw the old page away."
    yield (
        f"Measure the NEW page: {MEASURE_A_PAGE}. Then {GIVE_READINGS} with the new readings. The "
        "old ones count no more."
    )
    yield (
        "The correction is in this print.pdf only: jiggen make draws it without, unless these "
        "lines stand in the job file:"
    )


def _is_fitted(proof: Proof) -> bool:
    found = proof.printed.found
    if found is None:
        return False
    made = found.distortion
    return abs((made.scale_x + made.scale_y) / 2.0 - 1.0) > FITTED


def _said_if_fitted(proof: Proof) -> list[str]:
    if not _is_fitted(proof):
        return []
    return [
        'The page was scaled to fit its paper. First print it again at 100 % ("actual size"), '
        "and measure that one: angle guides come to no harm by even scaling, but strips, "
        "blocks and wraps do."
    ]


def _for_the_machine(bed: SheetVerdict) -> list[str]:
    """Return how the next cut comes out true, where the machine is off by more than the doubt."""
    found = bed.found
    if found is None or bed.verdict == USE:
        return []
    made, (x, y, skew) = found.distortion, found.standards
    moved = [
        (axis, scale)
        for axis, scale, doubt, known in (
            ("x", made.scale_x, x, found.scales_measured[0]),
            ("y", made.scale_y, y, found.scales_measured[1]),
        )
        if known and abs(scale - 1.0) > COVERAGE * doubt
    ]
    if bed.sheet.startswith("roll "):
        return _for_the_roll(bed.sheet, [f"{scale:.2%} along {axis}" for axis, scale in moved])
    steps = []
    if moved:
        wrong = " and ".join(f"{scale:.2%} along {axis}" for axis, scale in moved)
        factors = ", ".join(f"along {axis} times {1 / scale:.4f}" for axis, scale in moved)
        steps.append(
            f"{bed.sheet} came out {wrong}. See first that the machine's program imported the file "
            "in millimetres, at its own size. If it did, set the machine's steps per mm: "
            f"{factors}. Kerf moves no engraved bar; if outlines alone are off, long and short by "
            "the same amount, that is kerf: make --only coupon finds it."
        )
    if found.skew_measured and abs(made.skew) > COVERAGE * skew:
        off = abs(math.degrees(made.skew))
        steps.append(f"The axes of the machine stand {off:.2f} deg off square: square them.")
    return [*steps, "Then cut one piece again, and measure its bars."] if steps else []


def _for_the_roll(sheet: str, wrong: Sequence[str]) -> list[str]:
    """Return how the next roll comes out true, where the last one did not."""
    if not wrong:
        return []
    return [
        f"{sheet} came out {' and '.join(wrong)}. Have it printed again at 100 %, with every other "
        "scale of the roll's printer off, and measure that one; or print the tiles, and set each "
        "by its crosses to a tape measure."
    ]


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names)
