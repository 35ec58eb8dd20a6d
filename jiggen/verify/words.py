"""The reasons of a verdict in plain words, and what would decide an open one."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from jiggen.errors import Sentence, say
from jiggen.geometry.distortion import Bar, Estimate, Vector, corner, estimate
from jiggen.geometry.leastsquares import standard_from_step
from jiggen.units import INCH, Length, Words, fine, joined, size, words
from jiggen.verify.limits import CANNOT_TELL, DO_NOT_USE, Check, Limits, decided
from jiggen.verify.placed import BAR_TO_BAR, ON_AXIS, PlacedPiece
from jiggen.verify.records import SheetReadings

FINER_STEPS = ((0.05, 0.5), (0.02, 0.2))
"""mm: steps of calliper and of rule that are proposed where a coarser one cannot decide; 0.2 mm is
read on half millimetres with a lens. Common practice, no published source."""

CALLIPER_REACH = 150.0
"""mm: the jaws of a workshop calliper open no further. Common practice, no published source."""

PARALLEL = math.radians(5.0)
"""A length that lies closer to the direction of one already read tells nothing new."""

UNIFORM = 0.002
"""Scales along x and y that are this close are called uniform, in words."""


def reason(
    piece: PlacedPiece,
    verdict: str,
    checks: Sequence[Check],
    found: Estimate,
    limits: Limits,
) -> Sentence:
    """Say what a verdict on a piece rests on.

    Args:
        piece: as it lies on the sheet.
        verdict: ``use``, ``do not use`` or ``cannot tell``.
        checks: what counted.
        found: what was done to the sheet.
        limits: what is allowed.

    Returns:
        One line.
    """
    if not checks:
        return "the piece has no check angle and no check dimension to judge it by"
    # Rounded: forward and aft are often off by the same, and the last digit must not choose.
    by_margin = sorted(checks, key=lambda c: round(_share_of_limit(c), 6), reverse=True)
    decisive = [check for check in by_margin if check.verdict == verdict] or by_margin
    parts: list[Sentence] = [say_check(decisive[0])]
    if verdict == CANNOT_TELL and not all(found.scales_measured):
        # Its numbers rest on an assumption there, and would seem to pass it.
        blind = [axis for axis, known in zip("xy", found.scales_measured, strict=True) if not known]
        parts = [f"nothing was measured along {' and '.join(blind)}"]
    scale = _say_scale(piece, verdict, found, limits)
    return joined([*parts, *([scale] if scale else [])])


def _share_of_limit(check: Check) -> float:
    return (abs(check.error) + check.doubt) / max(check.limit, 1e-9)


def say_check(check: Check) -> Sentence:
    """Say one check: as drawn, as it came out, give or take what, and what is allowed.

    Args:
        check: of an angle or a length.
    """
    if check.what.startswith("angle"):
        nominal, error, doubt, limit = (
            math.degrees(v) for v in (check.nominal, check.error, check.doubt, check.limit)
        )
        return (
            f"{check.what} drawn {nominal:.2f} deg came out {nominal + error:.2f} deg, "
            f"give or take {rounded_up(doubt):.2f}; {limit:.2f} deg of error is allowed"
        )
    return words(
        "{what} of {drawn} came out {error} {way}, give or take {doubt}; {limit} is allowed",
        what=check.what,
        drawn=fine(check.nominal),
        error=fine(abs(check.error)),
        way="short" if check.error < 0 else "long",
        doubt=Length(check.doubt, 2, 1, inches=4),
        limit=fine(check.limit),
    )


def asked_together(parts: Iterable[Sentence]) -> Sentence:
    """Join questions about one thing: after a question mark no semicolon follows.

    Args:
        parts: at least one.
    """
    first, *others = parts
    whole = first
    for part in others:
        asked = say(whole, "mm").endswith("?")
        whole = joined([whole, _begun(part) if asked else part], " " if asked else "; ")
    return whole


def _begun(part: Sentence) -> Sentence:
    """Return a clause with a capital, as the beginning of a sentence."""
    if isinstance(part, str):
        return f"{part[:1].upper()}{part[1:]}"
    if not isinstance(part, Words):
        return part
    first = re.match(r"\{(\w+)\}", part.template)
    if first is None:
        return Words(f"{part.template[:1].upper()}{part.template[1:]}", part.values)
    value = part.values[first[1]]
    begun = _begun(value) if isinstance(value, str | Words) else value
    return Words(part.template, {**part.values, first[1]: begun})


def edges_open(told: Sequence[str], missing: Mapping[str, Sequence[str] | None]) -> str:
    """Say which check edges were measured, and what the others take.

    Args:
        told: names of the check angles that the readings determine.
        missing: for each of the others the lengths that it takes; None where none would do.
    """
    rest = "; ".join(_takes(name, names) for name, names in missing.items())
    return f"{' and '.join(told)} edge only; {rest}"


def not_determined(missing: Mapping[str, Sequence[str] | None]) -> str:
    """Say that the readings determine no check angle, and which lengths would.

    Args:
        missing: for each check angle the lengths that it takes; None where none would do.
    """
    first, *others = missing.items()
    if first[1] is None:
        return (
            f"the {first[0]} angle is not determined: no length in the form tells it. Measure the "
            "bars and diagonals of the page or the sheet that the piece lies on, before it is cut"
        )
    said = (
        f"the {first[0]} angle is not determined by these readings: measure "
        f"{', '.join(first[1])} too"
    )
    more = [f"for the {name} edge {', '.join(names)}" for name, names in others if names]
    return "; ".join([said, *more])


def _takes(name: str, names: Sequence[str] | None) -> str:
    if names is None:
        return f"the {name} edge cannot be told by the lengths in the form"
    return f"the {name} edge was not measured: it takes {', '.join(names)}"


def rounded_up(doubt: float, places: int = 2) -> float:
    """Return a doubt rounded up to the decimals that are said: never less than it is.

    Args:
        doubt: in the unit that it is said in.
        places: decimals.
    """
    share = 10.0**places
    return math.ceil(doubt * share - 1e-9) / share


def doubt_length(mm: float, units: str) -> str:
    """Say a doubt of a length, rounded up.

    Args:
        mm: the doubt.
        units: ``mm`` or ``in``: what it is said in.
    """
    if units == "in":
        return f"{rounded_up(mm / INCH, 4):.4f} in"
    return f"{rounded_up(mm):.2f} mm"


def _say_scale(piece: PlacedPiece, verdict: str, found: Estimate, limits: Limits) -> str:
    """Say what a uniform error of scale does to this kind of piece, where it is known uniform."""
    if not all(found.scales_measured):
        return ""
    made = found.distortion
    mean = (made.scale_x + made.scale_y) / 2.0
    if abs(made.scale_x - made.scale_y) > UNIFORM or abs(mean - 1.0) <= UNIFORM:
        return ""
    size = f"the sheet is {abs(mean - 1.0):.1%} {'small' if mean < 1.0 else 'large'} all over"
    if limits.length(piece) is None:
        return f"{size}, which changes no angle"
    if verdict == DO_NOT_USE:
        return f"{size}: that spares the angle guides, but not a piece whose lengths count"
    return size


def what_would_decide(
    piece: PlacedPiece,
    found: Estimate,
    readings: SheetReadings,
    limits: Limits,
    *,
    printed: bool = True,
) -> Sentence:
    """Return the least trouble that would decide an open verdict, worked out, not guessed.

    Args:
        piece: as it lies on the sheet.
        found: what was done to the sheet.
        readings: what was measured on it.
        limits: what is allowed.
        printed: the sheet is paper; else a machine cut it.

    Returns:
        What to measure and with what, or what to do where no reading would decide.
    """
    bars = {
        n: replace(b, measured=found.distortion.length(b.vector)) for n, b in readings.bars.items()
    }
    coarsest = max(bar.standard for bar in bars.values())
    more = {
        name: Bar(vector=v, measured=found.distortion.length(v), standard=coarsest)
        for name, v in _other_ways(readings).items()
    }
    proposals = _with_more(bars, more, "rule" if printed else "calliper")
    for steps in FINER_STEPS:
        proposals.append(_with_finer(bars, steps))
        if more:
            proposals.append(_with_finer({**bars, **more}, steps, new=tuple(more)))
    for text, proposal in proposals:
        if text and decided(piece, estimate(list(proposal.values())), limits):
            return words("to decide, measure {text}", text=text)
    remedy = (
        "print it again with the correction" if printed else "set the machine right and cut again"
    )
    return (
        f"no finer reading of this sheet would decide it, the error is too near the limit: {remedy}"
    )


_Proposal = tuple[Sentence, dict[str, Bar]]


def _with_more(bars: Mapping[str, Bar], more: Mapping[str, Bar], tool: str) -> list[_Proposal]:
    """Propose what was not read yet: the bars alone, then what lies aslant too."""
    straight = {name: bar for name, bar in more.items() if not _is_aslant(bar.vector)}
    return [
        (f"{called(some)} too, with the same {tool}", {**bars, **some})
        for some in ((straight, more) if straight != more else (more,))
        if some
    ]


def _with_finer(
    bars: Mapping[str, Bar], steps: tuple[float, float], new: Sequence[str] = ()
) -> _Proposal:
    """Propose finer readings: with a calliper what its jaws span, with a rule what is longer."""
    finer: dict[str, Bar] = {}
    tools: dict[tuple[str, float], dict[str, Bar]] = {}
    for name, bar in bars.items():
        short = bar.nominal <= CALLIPER_REACH
        step = steps[0] if short else steps[1]
        finer[name] = replace(bar, standard=min(bar.standard, standard_from_step(step)))
        if finer[name].standard < bar.standard or name in new:
            tools.setdefault(("calliper" if short else "rule", step), {})[name] = bar
    with_what = [
        words(
            "{called} with a {tool} that you read to {step}",
            called=called(some),
            tool=tool,
            step=size(step),
        )
        for (tool, step), some in tools.items()
    ]
    return joined(with_what, ", and ") if tools else "", finer


def called(bars: Mapping[str, Bar]) -> str:
    """Return lengths of a sheet by what is printed beside them, not by their names in the form.

    Args:
        bars: by the names that the form has.
    """
    crosses = [name[-1] for name in bars if name.startswith("diagonal-")]
    said = [_called(name, bar) for name, bar in bars.items() if not name.startswith("diagonal-")]
    if crosses:
        word = "both diagonals" if len(crosses) > 1 else "the diagonal"
        said.append(f"{word} ({', '.join(f'D{n} to D{n}' for n in crosses)})")
    return f"{', '.join(said[:-1])} and {said[-1]}" if len(said) > 1 else said[0]


def _called(name: str, bar: Bar) -> str:
    """Return one length by what is printed beside it: a bar by its length and its axis."""
    piece, _, own = name.rpartition("/")
    on = f" of {piece}" if piece else ""
    if own.startswith(BAR_TO_BAR):
        return f"from bar to bar{on}"
    if not own.startswith("bar-"):
        return f"{own}{on}"
    length = f"{bar.nominal / INCH:.3g} in" if own.endswith("-in") else f"{bar.nominal:.4g} mm"
    return f"the {length} bar along {own.split('-')[1]}{on}"


def _is_aslant(vector: Vector) -> bool:
    x, y = (abs(part) for part in vector)
    return min(x, y) > ON_AXIS * max(x, y)


def _other_ways(readings: SheetReadings) -> dict[str, Vector]:
    """Return unread lengths that lie another way than those read, as few as tell all.

    On the pieces that were measured before others, bars of the kind that was read before the
    other, one for each way; of those aslant both diagonals of a page, but one length of a bed.
    """
    bars = [name for name in readings.bars if _own_name(name).startswith("bar-")]
    inch = any(name.endswith("-in") for name in bars)
    measured = {name.rpartition("/")[0] for name in readings.bars}

    def strange(name: str) -> tuple[bool, bool, bool]:
        piece = name.rpartition("/")[0]
        return (piece not in measured, name.startswith("square"), name.endswith("-in") != inch)

    ways = [bar.vector for bar in readings.bars.values()]
    found: dict[str, Vector] = {}
    for name in sorted(readings.unread, key=strange):
        vector = readings.unread[name]
        told = "/" in name and _is_aslant(vector) and any(_is_aslant(way) for way in ways)
        if not told and all(PARALLEL < corner(vector, w) < math.pi - PARALLEL for w in ways):
            ways.append(vector)
            found[name] = vector
    return found


def _own_name(name: str) -> str:
    return name.rpartition("/")[2]
