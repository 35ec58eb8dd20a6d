"""What is said of a survey: the sentences and tables of ``jiggen straight``."""

from __future__ import annotations

from collections.abc import Sequence

from jiggen.geometry.straightness import Straightness
from jiggen.straight.advice import advice, named_bows, place, say
from jiggen.straight.judge import BEYOND, CANNOT_TELL, NO_LIMIT, WITHIN, Held, Judged
from jiggen.straight.plot import plot_lines
from jiggen.terminal import Terminal, heading, printed, ruled_table
from jiggen.units import say_angle

COLOURS = {WITHIN: "green", BEYOND: "red", CANNOT_TELL: "yellow", NO_LIMIT: ""}

MOST_BOWS = 3
"""Bows that are named: the largest ones. More is a wavy edge, and the plot shows it better."""

CAUTION = (
    "A shop aid: the plans, the kit or type documents, local rules and the responsible inspector "
    "or licensed mechanic decide; where they differ from this, they win."
)


def straight_text(judged: Judged, terminal: Terminal, written: Sequence[str] = ()) -> str:
    """Return the report of ``jiggen straight``.

    Args:
        judged: the survey.
        terminal: what it is printed on.
        written: paths of what was written.

    Returns:
        Text with line ends.
    """
    rule = "=" * 20
    banner = f"{rule}\n  {judged.verdict.upper()}\n{rule}"
    parts: list[object] = [heading(banner, COLOURS[judged.verdict]), "", judged.survey.name]
    parts += [taken(judged), *why(judged)]
    parts += [heading("Off a straight line"), _table(judged)]
    parts += [heading("Shape"), *shape(judged)]
    parts += ["", "\n".join(plot_lines(judged, min(terminal.width, 80)))]
    parts += [heading("Next"), *advice(judged), CAUTION]
    if written:
        parts += [heading("Written"), *written]
    return printed(parts, terminal)


def taken(judged: Judged) -> str:
    """Say in one sentence what was read, when and by whom."""
    survey, said = judged.survey, judged.survey.settings
    day = f" on {said.date}" if said.date else ""
    whom = f" by {said.by.rstrip('.')}" if said.by else ""
    lines = " and ".join(survey.lines)
    sentence = (
        f"{len(survey.at)} places from {place(judged, survey.at[0])} to "
        f"{place(judged, survey.at[-1])}, {lines}"
    )
    measured = f", measured{day}{whom}" if day or whom else ""
    return f"{sentence}{measured}. Above zero is {survey.ways[0]}, below is {survey.ways[1]}."


def why(judged: Judged) -> list[str]:
    """Say what was held against which limit, and how far to trust it."""
    said, survey = judged.survey.settings, judged.survey
    of = f" of line {judged.worst}" if len(judged.lines) > 1 else ""
    if said.limit_on == "ends":
        what = f"The farthest reading{of} from the line through both ends is off by"
    elif judged.stretch is not None:
        first, last = (place(judged, mm) for mm in judged.stretch)
        what = f"On the worst stretch{of}, {first} to {last}, all lies in a strip as wide as"
    else:
        what = f"The narrowest straight strip that holds every reading{of} is as wide as"
    sentences = [f"{what} {_held(judged, judged.held)}."]
    if judged.twist_held is not None:
        held = judged.twist_held
        give = "" if held.doubt is None else f", give or take {say_angle(held.doubt)}"
        sentences.append(
            f"The section turns by {say_angle(held.value)}{give}; the limit is "
            f"{say_angle(held.limit or 0.0)}: {held.verdict}."
        )
    if judged.doubt is None:
        sentences.append(
            "The readings are taken as exact, since nothing says how finely they were read. Say it "
            "with --step, and the verdict says where it cannot tell."
        )
    if judged.held.verdict == NO_LIMIT and judged.twist_held is None:
        sentences.append("Take the limit from the plans, and give it with --limit.")
    if survey.pair is not None and judged.bow is not None and said.apart is None:
        sentences += _without_apart(judged)
    return sentences


def _held(judged: Judged, held: Held) -> str:
    give = "" if held.doubt is None else f", give or take {say(judged, held.doubt)}"
    if held.limit is None:
        return f"{say(judged, held.value)}{give}"
    limit = f"; the limit is {say(judged, held.limit)}: {held.verdict}"
    return f"{say(judged, held.value)}{give}{limit}"


def _without_apart(judged: Judged) -> list[str]:
    if judged.survey.pair != ("front", "rear"):
        return []
    gap = judged.lines["front"].off - judged.lines["rear"].off
    first, last = float(gap[0]), float(gap[-1])
    up, down = judged.survey.ways
    sentences = []
    if judged.survey.settings.datum != "each" and abs(last - first) > 2.0 * (judged.doubt or 0.0):
        way = up if last > first else down
        sentences.append(
            f"From first to last place the front line goes {way} against the rear one by "
            f"{say(judged, abs(last - first))}: the section turns."
        )
    return [
        *sentences,
        "How far front and rear lie apart is not said, so the twist has no angle: give --apart.",
    ]


def _table(judged: Judged) -> object:
    """Return the three lines laid through each line of readings, and how far it is off them."""
    grid = ruled_table("readings", "straight line", "strip", "farthest", "at", left=2)
    for name, line in _all_lines(judged):
        zone = line.zone
        rows = (
            ("minimum zone", zone.width, None),
            ("least squares", line.least_squares_range, line.least_squares_largest),
            ("through the ends", line.ends_range, line.largest),
        )
        for number, (laid, width, farthest) in enumerate(rows):
            grid.add_row(
                name if number == 0 else "",
                laid,
                say(judged, width),
                say(judged, zone.width / 2.0 if farthest is None else farthest.value),
                "" if farthest is None else place(judged, farthest.at),
            )
    return grid


def _all_lines(judged: Judged) -> list[tuple[str, Straightness]]:
    rows = list(judged.lines.items())
    return [*rows, ("middle", judged.bow)] if judged.bow is not None else rows


def shape(judged: Judged) -> list[str]:
    """Say how the edge is bowed, and how much of it is twist or thickness."""
    named = named_bows(judged)
    which = "The middle" if judged.bow is not None else "The edge"
    sentences = [
        f"{which} bows {bow.way} by {say(judged, abs(bow.value))} at {place(judged, bow.at)}."
        for bow in named[:MOST_BOWS]
    ]
    if len(named) > MOST_BOWS:
        sentences.append(f"It is wavy: {len(named) - MOST_BOWS} smaller bows besides.")
    if not named:
        sentences.append(f"{which} has no bow that these readings show.")
    if judged.twist is not None:
        sentences += _twist(judged)
    if judged.thickness_change is not None:
        change = float(judged.thickness_change.max() - judged.thickness_change.min())
        sentences.append(
            f"The thickness over both faces changes by {say(judged, change)} along the edge. Two "
            "faces read at one line do not show twist: for that read a front and a rear line."
        )
    if judged.own is not None:
        own = judged.own.largest
        sentences.append(
            f"The straightedge is off by {say(judged, abs(own.value))} of its own at "
            f"{place(judged, own.at)}; that is taken out."
        )
    return sentences


def _twist(judged: Judged) -> list[str]:
    twist = judged.twist
    assert twist is not None
    if judged.survey.settings.datum == "each":
        return [
            f"Beside a steady twist, which two straightedges cannot show, the section turns by "
            f"{say_angle(twist.largest)} at most between two places."
        ]
    length, said = (1000.0, "m") if judged.survey.units == "mm" else (304.8, "ft")
    way = judged.survey.ways[0] if twist.end_to_end >= 0.0 else judged.survey.ways[1]
    return [
        f"Twist: from first to last place the front line goes {way} against the rear one by "
        f"{say_angle(abs(twist.end_to_end))}, {say_angle(abs(twist.rate) * length)} per {said}; "
        f"between any two places {say_angle(twist.largest)} at most. This takes both lines as "
        "read against one flat surface; if each had its own straightedge, say --datum each."
    ]
