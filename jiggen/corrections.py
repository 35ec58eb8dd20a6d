"""How the next page or the next bed comes out true: what to do about printer and machine.

Paper is corrected on paper and a machine at the machine: whoever cut a bed with a laser has no
use for a print dialog, and a page knows of no steps per mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from jiggen.folder import print_lines
from jiggen.geometry.leastsquares import COVERAGE
from jiggen.proof import Outcome, Proof
from jiggen.verify import USE, SheetVerdict

FITTED = 0.02
"""A page that is further off than this all over was fitted to its paper when it was printed: common
practice, no published source; the margins of most printers make 0.94 to 0.98 of it."""

GIVE_READINGS = "jiggen verify JOB --bar-x L --bar-y L --diagonal-1 L --diagonal-2 L"


def measure_a_page(units: str) -> str:
    """Say what to measure on a page, by the bars that the form of such a job marks.

    Args:
        units: of the job, ``mm`` or ``in``.
    """
    bar = "4 in" if units == "in" else "100 mm"
    return (
        f"the {bar} bar along x and along y, middle of tick to middle of tick, and both "
        "diagonals, D1 to D1 and D2 to D2"
    )


def should_reprint(proof: Proof) -> bool:
    """Return whether the next print should be corrected: the page is off by more than its doubt."""
    found = proof.printed.found
    pages = [s.verdict for s in proof.printed.sheets if s.printed and s.pieces]
    if found is None or set(pages) <= {USE} or not all(found.scales_measured) or proof.spent:
        return False
    return proof.print_is_off


def for_pages_apart(proof: Proof) -> list[str]:
    """Return what to do about pages that did not come out alike.

    Args:
        proof: what was judged.
    """
    apart = proof.printed.apart
    if not apart:
        return []
    off = [s.sheet for s in proof.printed.sheets if s.sheet in apart and s.verdict != USE]
    if not off:
        return []
    if len(off) < len(apart):
        return [
            f'Print {listed(off)} again at 100 % ("actual size"), with the settings that '
            f"{listed(name for name in apart if name not in off)} had, and measure it anew."
        ]
    return [
        f'Print {listed(apart)} again in one go at 100 % ("actual size"), and measure each: '
        "only pages that come out alike can be corrected together."
    ]


def for_the_printer(proof: Proof, outcome: Outcome) -> list[str]:
    """Return how the next print comes out true.

    Args:
        proof: what was judged.
        outcome: what was written beside the verdict.
    """
    if outcome.nothing_to_correct:
        return [f"Nothing to correct: {outcome.nothing_to_correct}."]
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
            "The page that you measured had most likely been scaled to fit its paper. "
            f"{outcome.reprint} makes up for that, and comes out true only with the same setting; "
            "it is safer to run jiggen make, print at 100 %, and measure that page."
        )
    else:
        yield f"Print the new {outcome.reprint} at 100 %, and throw the old page away."
    measured = {sheet.sheet for sheet in proof.printed.sheets if sheet.bars}
    if unread := [page for page in proof.pages if page not in measured]:
        yield (
            f"Nothing was measured on {listed(unread)}, which is corrected like the rest: print "
            "all pages in one go, and measure them all."
        )
    yield (
        f"Measure the NEW page: {measure_a_page(proof.units)}. Then {GIVE_READINGS} with the new "
        "readings. The page's old ones count no more."
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
        "The page was most likely scaled to fit its paper. First print it again at 100 % "
        '("actual size"), '
        "and measure that one: angle guides come to no harm by even scaling, but strips, "
        "blocks and wraps do."
    ]


def for_the_machine(bed: SheetVerdict) -> list[str]:
    """Return how the next cut comes out true, where the machine is off by more than the doubt.

    Args:
        bed: what was judged of a sheet that a machine cut.
    """
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


def listed(names: Iterable[str]) -> str:
    """Return names in a row."""
    return ", ".join(names)
