"""What is said of a survey: sentences and tables for people, and the same as plain values for JSON.

The verdict comes first, then what it rests on, the shape, and what to do; the rest is for those
who ask for all of it. Fastening from the largest bow outward and alternating the rivets are common
practice; no published source was found for either.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from jiggen.geometry.straightness import Deviation, Line, Straightness, Twist, bows
from jiggen.report.terminal import Terminal, heading, printed, ruled_table
from jiggen.straight.chart import plot_lines
from jiggen.straight.judge import BEYOND, CANNOT_TELL, NO_LIMIT, WITHIN, Held, Judged
from jiggen.straight.survey import GAP, HEIGHT, Survey, spoken
from jiggen.units import say_angle, say_length

FORMAT = 1

COLOURS = {WITHIN: "green", BEYOND: "red", CANNOT_TELL: "yellow", NO_LIMIT: ""}

MOST_BOWS = 3
"""Bows that are named: the largest ones. More is a wavy edge, and the plot shows it better."""

STEEP = 1.0 / 32.0
"""A slope of the readings beyond this is no straightedge laid along an edge: columns exchanged?"""

ROCKED = (
    "The straightedge: as long as the edge, rocked until its largest gap was smallest (on a hump: "
    "equal gaps at both ends)?"
)
UPRIGHT = (
    "The edge: upright, or hanging over the table's edge? Pressed flat by its own weight it hides "
    "a bow."
)
IF_GAPS = (
    "0 at both ends and above 0 between: if these are gaps, head the column gap; the bow and the "
    "advice turn round."
)
ASK_LIMIT = "Take the limit from the plans, and give it with --limit."
CAUTION = "A shop aid: plans, local rules and the inspector or licensed mechanic decide."
AND_MORE = "With --all: how it was read, the lines through the readings, the plot."


def straight_text(
    judged: Judged, terminal: Terminal, written: Sequence[str] = (), *, everything: bool = False
) -> str:
    """Return the report of ``jiggen straight``, the verdict first."""
    parts: list[object] = [heading(judged.verdict.upper(), COLOURS[judged.verdict])]
    parts += [" ".join(why(judged)), " ".join(shape(judged)), *advice(judged)]
    if everything:
        parts += [heading("How it was read"), taken(judged), *_reasons(judged)]
        parts += [heading("Off a straight line"), _table(judged)]
        parts += ["", "\n".join(plot_lines(judged, min(terminal.width, 80))), ""]
    parts += [f"Wrote {path}" for path in written]
    parts += [CAUTION if everything else f"{CAUTION} {AND_MORE}"]
    return printed(parts, terminal).lstrip("\n")


def gap_text(gaps: Sequence[float], held: Held, units: str, terminal: Terminal) -> str:
    """Return the report on what blades told, the verdict first; gaps in mm, see `hold_gap`."""
    goes, stops = say_length(gaps[0], units), say_length(gaps[-1], units)
    words = f"Nothing over {goes} goes under: the edge is off by {goes} at most"
    if len(gaps) == 2:
        words = f"{goes} goes, {stops} does not: the edge is off by {goes} or more, under {stops}"
    limit = "" if held.limit is None else say_length(held.limit, units)
    parts: list[object] = [heading(held.verdict.upper(), COLOURS[held.verdict])]
    parts.append(f"{words}; the limit is {limit}." if limit else f"{words}. {ASK_LIMIT}")
    if held.verdict == CANNOT_TELL:
        parts.append(
            f"Try a blade of {limit}: if it does not go under anywhere, the edge is within the "
            "limit. If a thicker one goes, it is beyond."
        )
    return printed([*parts, ROCKED, UPRIGHT, CAUTION], terminal).lstrip("\n")


def say(judged: Judged, mm: float) -> str:
    """Say a length of a survey in its units, with a third decimal of mm where it is small."""
    units = judged.survey.units
    fine = units == "mm" and max(s.zone.width for s in judged.lines.values()) < 0.1
    return say_length(mm, units, 3 if fine else None)


def place(judged: Judged, mm: float) -> str:
    """Say a place along the edge, without decimals that nobody measured."""
    return say_length(mm, judged.survey.units, 1 if judged.survey.units == "mm" else 2)


def taken(judged: Judged) -> str:
    """Say in one sentence what was read, when and by whom."""
    survey, said = judged.survey, judged.survey.settings
    day = f" on {said.date}" if said.date else ""
    whom = f" by {said.by.rstrip('.')}" if said.by else ""
    measured = f", measured{day}{whom}" if day or whom else ""
    of = f" of {' and '.join(survey.lines)}" if len(survey.lines) > 1 else ""
    of = ", read again turned over" if "turned" in survey.lines else of
    return (
        f"{len(survey.at)} places from {place(judged, survey.at[0])} to "
        f"{place(judged, survey.at[-1])}, {survey.reads}s{of}{measured}."
    )


def why(judged: Judged) -> list[str]:
    """Say what was held against which limit, and how far to trust it."""
    said, held = judged.survey.settings, judged.held
    of = f" of the {judged.worst} line" if len(judged.lines) > 1 else ""
    what = f"The narrowest straight strip that holds every reading{of} is as wide as"
    if said.limit_on == "ends":
        what = f"The farthest reading{of} from the line through both ends is off by"
    elif judged.stretch is not None:
        first, last = (place(judged, mm) for mm in judged.stretch)
        what = f"On the worst stretch{of}, {first} to {last}, all lies in a strip as wide as"
    give = "" if held.doubt is None else f", give or take {say(judged, held.doubt)}"
    limit = "" if held.limit is None else f"; the limit is {say(judged, held.limit)}"
    alone = "" if judged.twist_held is None else f": {held.verdict}"
    sentences = [f"{what} {say(judged, held.value)}{give}{limit}{alone}."]
    if (most := _unread(held)) is not None:
        sentences.append(
            f"It can be as wide as the largest gap, {say(judged, most)}: the straightedge "
            "touches where nothing was read. Rock it until its largest gap is smallest, and read "
            "both ends and where it touches, gap 0, too."
        )
    if (turned := judged.twist_held) is not None:
        give = "" if turned.doubt is None else f", give or take {say_angle(turned.doubt)}"
        sentences.append(
            f"The section turns by {say_angle(turned.value)}{give}; the limit is "
            f"{say_angle(turned.limit or 0.0)}: {turned.verdict}."
        )
    return sentences


def _unread(held: Held) -> float | None:
    """Return what the value can be, mm, where that changes the answer; see `Held.at_most`."""
    can_be = held.value + (held.doubt or 0.0)
    matters = held.verdict == CANNOT_TELL or (held.at_most or 0.0) > 1.1 * can_be
    return held.at_most if matters else None


class NamedBow(NamedTuple):
    """A bow with its direction in words, mm."""

    at: float  # place of its summit
    value: float  # off the line through the ends
    way: str  # which way it goes
    back: str  # the other way


def named_bows(judged: Judged) -> list[NamedBow]:
    """Return the bows of the shape, the largest first, each with its way in words."""
    faces = judged.survey.pair == ("upper", "lower")
    ways = ("toward the upper face", "toward the lower face") if faces else judged.survey.ways
    found = bows(judged.shape, judged.doubt or 0.0)
    return [NamedBow(at, value, *(ways if value > 0.0 else ways[::-1])) for at, value in found]


def shape(judged: Judged) -> list[str]:
    """Say how the edge is bowed, and how much of it is twist or thickness."""
    survey, named = judged.survey, named_bows(judged)
    which = "The middle" if judged.bow is not None else "The edge"
    least = "at least " if _unread(judged.held) is not None else ""
    sentences = []
    for bow in named[:MOST_BOWS]:
        seen = " with side A up" if survey.has_sides else ""
        seen = f" ({'hump' if bow.value > 0.0 else 'hollow'}{seen})" if survey.reads == GAP else ""
        by = f"{least}{say(judged, abs(bow.value))} at {place(judged, bow.at)}"
        sentences.append(f"{which} bows {bow.way}{seen} by {by}.")
    if len(named) > MOST_BOWS:
        sentences.append(f"It is wavy: {len(named) - MOST_BOWS} smaller bows besides.")
    if not named:
        sentences.append(f"{which} has no bow that these readings show.")
    if survey.pair == ("front", "rear"):
        sentences += _twist(judged)
    if judged.thickness_change is not None:
        change = float(judged.thickness_change.max() - judged.thickness_change.min())
        sentences.append(f"The thickness over both faces changes by {say(judged, change)}.")
    if judged.own is not None:
        off, at = say(judged, abs(judged.own.largest.value)), place(judged, judged.own.largest.at)
        thick = " (with half of any change of thickness)" if survey.has_sides else ""
        sentences.append(f"The straightedge's own error{thick} is {off} at {at}; it is taken out.")
    return sentences


def _twist(judged: Judged) -> list[str]:
    """Say how the front line goes against the rear one."""
    twist, (up, down) = judged.twist, judged.survey.ways
    if judged.parting is None:
        said = "beside a steady twist, which two straightedges cannot show"
        return [f"It twists by {say_angle(twist.largest)} {said}."] if twist is not None else []
    parted = float(judged.parting[-1] - judged.parting[0])
    goes = f"From first to last place the front line goes {up if parted > 0.0 else down}"
    if twist is not None:
        length, per = (1000.0, "m") if judged.survey.units == "mm" else (304.8, "ft")
        return [
            f"{goes} against the rear one by {say_angle(abs(twist.end_to_end))}, "
            f"{say_angle(abs(twist.rate) * length)} per {per}; any two places are turned by "
            f"{say_angle(twist.largest)} at most."
        ]
    by = f"against the rear one by {say(judged, abs(parted))}: the section turns"
    turns = abs(parted) > 2.0 * (judged.doubt or 0.0)
    return [f"{goes} {by}. For the angle give --apart."] if turns else []


def advice(judged: Judged) -> list[str]:
    """Say what to do next."""
    survey, named = judged.survey, named_bows(judged)
    lines = [IF_GAPS] if _read_like_gaps(survey) else []
    lines += [ASK_LIMIT] if judged.verdict == NO_LIMIT else []
    if judged.doubt is None:
        lines.append("The readings are taken as exact: say how fine they are with --step.")
    lines += [
        f"Read {spoken(name)} at {place(judged, at)} again: by itself it stands "
        f"{say(judged, abs(off))} off a line that all others keep. A slip, a burr or a dent."
        for name, (at, off) in judged.questions.items()
    ]
    if any(abs(s.least_squares.slope) > STEEP for s in judged.lines.values()):
        lines.append(
            "The readings climb steeply along the edge: are position and reading in their own "
            "columns and units? Lay the straightedge nearer to the edge's direction."
        )
    if judged.verdict == CANNOT_TELL and _unread(judged.held) is None:
        lines.append(
            "The limit lies within what the readings may be off: read again more finely, with "
            "blades or a dial gauge."
        )
    if named:
        bow = named[0]
        first = (
            f"Put the first temporary fastener at {place(judged, bow.at)}, where it bows "
            f"{bow.way}, drawn straight against a stiff bar; then go on from there to both ends."
        )
        apart = survey.settings.apart or 1.0
        if judged.twist and judged.twist.largest > 2.0 * (judged.doubt or 0.0) / apart:
            first += " It twists too: hold front and rear line down on a flat surface meanwhile."
        across = survey.has_sides or survey.reads == GAP or survey.pair == ("upper", "lower")
        if across or set(survey.ways) == {"up", "down"}:
            first += (
                f" Form the next shop heads near there pointing {bow.back}, then alternate, and "
                "read again after a few rivets."
            )
        lines.append(first)
    if judged.verdict == BEYOND:
        lines.append("Is it riveted already? Then ask whoever signs for it before you bend it.")
    elif judged.is_good and survey.reads == GAP:
        lines.append(UPRIGHT)
    elif judged.is_good and not named:
        lines.append("Write it into the builder's log; read again when all rivets are in.")
    return lines


def _read_like_gaps(survey: Survey) -> bool:
    """Return whether heights that nobody gave a way to stand as feelers under a straightedge do."""
    lines = [survey.line(name)[1] for name in survey.lines]
    return (
        survey.reads == HEIGHT
        and survey.settings.ways is None
        and all(line[0] == line[-1] == 0.0 < min(line[1:-1]) for line in lines)
    )


def _reasons(judged: Judged) -> list[str]:
    """Say what the readings rest on, and why to do what is advised."""
    survey, (up, down) = judged.survey, judged.survey.ways
    lines = [f"Above zero is {up}, below is {down}."]
    if survey.reads == GAP:
        lines += ["A gap is below zero.", ROCKED, UPRIGHT]
    if judged.parting is not None:
        lines.append(
            "Both lines are taken as read against one flat surface; if each had its own "
            "straightedge, say --datum each."
        )
    if survey.pair == ("upper", "lower"):
        lines.append("Two faces read at one line show no twist: read a front and a rear line.")
    if named_bows(judged):
        lines.append(
            "A rivet stretches the skin most where its shop head is formed, and the edge bows "
            "toward that side. Where to begin and to alternate: common practice, no published "
            "source."
        )
    return [" ".join(lines)]


def _table(judged: Judged) -> object:
    """Return the three lines laid through each line of readings, and how far it is off them."""
    grid = ruled_table("readings", "straight line", "strip", "farthest", "at", left=2)
    lines = list(judged.lines.items())
    lines += [] if judged.bow is None else [("middle", judged.bow)]
    for name, line in lines:
        zone, fitted, ends = line.zone, line.least_squares_largest, line.largest
        rows = (
            (spoken(name), "minimum zone", zone.width, zone.width / 2.0, ""),
            ("", "least squares", line.least_squares_range, fitted.value, place(judged, fitted.at)),
            ("", "through the ends", line.ends_range, ends.value, place(judged, ends.at)),
        )
        for who, laid, width, farthest, at in rows:
            grid.add_row(who, laid, say(judged, width), say(judged, farthest), at)
    return grid


def straight_as_json(judged: Judged, written: Sequence[str] = ()) -> dict[str, Any]:
    """Return what ``jiggen straight --json`` prints.

    Lengths in mm, angles in degrees, whatever the file's units; null where it is not known.
    """
    survey, twist, change = judged.survey, judged.twist, judged.thickness_change
    turned = judged.twist_held
    return {
        "format": FORMAT,
        "name": survey.name,
        "reads": f"{survey.reads}s",
        "ways": list(survey.ways),
        "lines": {name: _line(line) for name, line in judged.lines.items()},
        "middle": None if judged.bow is None else _line(judged.bow),
        "bows": [_deviation(bow) for bow in bows(judged.shape, judged.doubt or 0.0)],
        "twist": None if twist is None else _twist_as_json(twist),
        "thickness_change": None if change is None else change.tolist(),
        "straightedge": None if judged.own is None else _line(judged.own),
        "limit_on": survey.settings.limit_on or "zone",
        "worst_line": judged.worst,
        "worst_stretch": None if judged.stretch is None else list(judged.stretch),
        "held": {**_held(judged.held), "at_most": judged.held.at_most},
        "twist_held": None if turned is None else _held(turned, math.degrees),
        "read_again": {name: _deviation(one) for name, one in judged.questions.items()},
        "verdict": judged.verdict,
        "written": list(written),
    }


def gap_as_json(gaps: Sequence[float], held: Held) -> dict[str, Any]:
    """Return what ``jiggen straight --gap --json`` prints.

    The keys of a survey's that one gap can fill; lengths in mm.
    """
    goes, stops = (None, None) if len(gaps) == 1 else gaps
    return {
        "format": FORMAT,
        "reads": "gaps",
        "gap": {"nothing_over": gaps[0] if len(gaps) == 1 else None, "goes": goes, "not": stops},
        "limit_on": "zone",
        "held": _held(held),
        "verdict": held.verdict,
        "written": [],
    }


def _line(line: Straightness) -> dict[str, Any]:
    fitted = {"range": line.least_squares_range, "largest": _deviation(line.least_squares_largest)}
    ends = {"range": line.ends_range, "largest": _deviation(line.largest)}
    zone = {"width": line.zone.width, "touches": list(line.zone.touches)}
    return {
        "position": line.at.tolist(),
        "deviation": line.off.tolist(),
        "least_squares": {**_straight(line.least_squares), **fitted},
        "ends": {**_straight(line.ends), **ends},
        "minimum_zone": {**_straight(line.zone.middle), **zone},
    }


def _straight(line: Line) -> dict[str, float]:
    return {"slope": line.slope, "at_zero": line.height}


def _deviation(one: Deviation) -> dict[str, float]:
    return {"position": one.at, "value": one.value}


def _twist_as_json(twist: Twist) -> dict[str, Any]:
    return {
        "position": twist.at.tolist(),
        "angle": [math.degrees(a) for a in twist.angle.tolist()],
        "end_to_end": math.degrees(twist.end_to_end),
        "largest": math.degrees(twist.largest),
        "per_mm": math.degrees(twist.rate),
    }


def _held(held: Held, turned: Callable[[float], float] = float) -> dict[str, Any]:
    numbers = {"value": held.value, "limit": held.limit, "plus_minus": held.doubt}
    return {
        **{key: None if value is None else turned(value) for key, value in numbers.items()},
        "verdict": held.verdict,
    }
