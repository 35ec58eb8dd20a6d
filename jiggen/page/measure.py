"""The Measure screen: what was measured, drawn as it is typed, and what is wrong with it.

A job is one of these, as typed:

    empty    nothing of the station is typed        a ghost to measure by
    half     something is missing                   what, and the last good picture, grey
    wrong    no wedge can be so                     as typed, and a button where one would mend it
    good     it can be solved                       angles, guides, and what to look at
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from jiggen.errors import Fault, ImpossibleWedge, JobError
from jiggen.facts.card import CARD_WIDTH
from jiggen.jigs.section import SectionView, view_at
from jiggen.jigs.stand import hole_1_left, holes_text, stands
from jiggen.job.schema import keys_of
from jiggen.job.sizes import Size
from jiggen.job.wedge import MEASURED as READ
from jiggen.job.wedge import REAR_LINED, Form, PlusMinus, Station
from jiggen.page.catalogue import count_of, field_of, known, label_of, units_of, value_of
from jiggen.page.drawn import Label, card_svg, section_svg, span_svg
from jiggen.page.edit import raw_at, typed_at
from jiggen.page.fields import Field, Mark, told
from jiggen.page.form import (
    MEASURED,
    draft,
    is_blank,
    is_known,
    looked_at,
    marks_at,
    placed,
    sections,
    solved,
    station_of,
    way_of,
)
from jiggen.page.screen import Screen, Shown
from jiggen.page.store import Kept
from jiggen.shop.stations import as_typed
from jiggen.solution import AnglesAt, Solution
from jiggen.units import INCH, say_length

WAYS = (
    *(Form.THICKNESS, Form.OFFSETS, Form.INCLUDED_ANGLE, Form.SKIN_ANGLES, Form.READINGS),
    *(Form.TAPER_RATE, Form.OUTLINE),
)
"""The ways of measuring, the commonest first."""

HOLES = ("drill", "line", "first", "pitch", "count", "keep_out")
PLACES = ("drill", "line", "positions", "keep_out")
PART = ("name", "units", "sides[1]", "sides[2]", "skin.thickness")
SHOWN_ABOVE = {
    *("wedge.depth", "wedge.station", "skin.thickness"),
    *(f"holes.{name}" for name in HOLES),
}
HOW: dict[str, str] = dict.fromkeys(
    REAR_LINED, "Draw two lines across both faces, clear of the rounded edge."
)
"""What to do at the part first, by the way of measuring."""
_ORDER = ("rear", "front", "width", "a", "b", "file", "from", "chord")


# ---------------------------------------------------------------- its fields


def station_fields(text: str, number: int, way: str) -> list[list[Field]]:
    """Return the fields of a station: what was read, how well, and where.

    Args:
        text: of the job.
        number: of the station.
        way: how it is measured.
    """
    place = f"wedge.station[{number}]"
    key = keys_of(Station)[way]
    read = [f"{place}.{way}"]
    if key.holds is not None:
        names = sorted(keys_of(key.holds), key=lambda n: _ORDER.index(n) if n in _ORDER else 9)
        read = [f"{place}.{way}.{name}" for name in names if name != "along"]
    read = [each for path in read for each in _both(path)]
    doubt, measured = f"{place}.plus_minus", READ[Form(way)]
    alone = raw_at(text, doubt) and not raw_at(text, doubt).startswith("{")
    if alone or (len(measured) == 1 and not raw_at(text, doubt)):
        unit = keys_of(PlusMinus)[measured[0]].unit(units_of(text))
        label = "± all" if len(measured) > 1 else "±"
        doubts = [replace(field_of(doubt, text, label), unit=unit)]
    else:
        lined = ("rear", "front", "width") if way in REAR_LINED else measured
        doubts = [field_of(f"{doubt}.{name}", text) for name in lined]
    where = [f"{place}.rear_at"] if way in REAR_LINED else []
    where.append("wedge.depth")
    if count_of(text, "wedge.station") > 1 or raw_at(text, f"{place}.at"):
        where.append(f"{place}.at")
    groups = [[field_of(path, text) for path in read], doubts, [field_of(p, text) for p in where]]
    return groups if len(doubts) > 1 else [groups[0], doubts + groups[2]]


def _both(path: str) -> list[str]:
    """Return a key, or those of side A and side B where it is a pair."""
    found = known(path)
    pair = found is not None and found.key.shape == "pair"
    return [f"{path}[1]", f"{path}[2]"] if pair else [path]


def _more(text: str, number: int) -> list[dict[str, Any]]:
    """Return the sections below the usual fields, and what else is said of the station."""
    optional, always = sections(MEASURED, text, SHOWN_ABOVE)
    if way_of(text, number) == Form.THICKNESS:
        path = f"wedge.station[{number}].thickness.along"
        always[0]["fields"].insert(0, field_of(path, text))
    return [*always, *optional]


# ---------------------------------------------------------------- what is shown


def show(job: Path, text: str, kept: Kept, view: Mapping[str, str]) -> Shown:
    """Return what the screen shows of a job's text."""
    number = station_of(text, view)
    way = way_of(text, number) or view.get("way") or way_of(text, 1) or Form.THICKNESS
    solution, faults = None, tuple[Fault, ...]()
    try:
        solution = solved(job, text)
    except JobError as bad:
        faults = bad.faults
    groups = station_fields(text, number, way)
    blank = [fault for fault in faults if is_blank(text, fault.key)]
    wrong = [fault for fault in faults if fault not in blank]
    marks = marks_at(wrong, text, MEASURED, number)
    look = list[Mark]()
    if solution is not None:
        look = looked_at(solution.checks, text, solution.job.units, MEASURED, number)
    picture, ghost = _pictures(job, text, number, way, solution, wrong)
    pressed = view.get("do", "")
    return Shown(
        fields={
            "station": number,
            "stations": max(count_of(text, "wedge.station"), 1),
            "way": way,
            "ways": [(one.value, keys_of(Station)[one].label) for one in WAYS],
            "groups": [told(group, marks, look) for group in groups],
            "holes": told(_hole_fields(text), marks, look),
            "part": told([field_of(path, text) for path in PART], marks, look),
            "more": [
                one | {"fields": told(one["fields"], marks, look)} for one in _more(text, number)
            ],
            "is_open": pressed.startswith(("add ", "drop ")) and "station" not in pressed,
        },
        picture=picture,
        ghost=ghost,
        numbers={
            "how": HOW.get(way, ""),
            "is_empty": not wrong and not any(field.value for field in groups[0]),
            "angles": None if solution is None else _numbers(solution, number),
            "look": look,
        },
        faults=tuple(marks),
        missing=tuple(_missing(text, blank, groups[0], number)),
        is_whole=solution is not None,
    )


def _hole_fields(text: str) -> list[Field]:
    names = PLACES if raw_at(text, "holes.positions") else HOLES
    return [field_of(f"holes.{name}", text) for name in names]


def _missing(text: str, blank: Sequence[Fault], asked: Sequence[Field], number: int) -> list[Mark]:
    """Return what is to be typed still, as marks without a text."""
    keys: dict[str, None] = {}
    for fault in blank:
        if known(fault.key) is None and fault.key == f"wedge.station[{number}]":
            keys |= {field.key: None for field in asked}
        else:
            keys[fault.key] = None
    marks = [Mark(keys=(key,), text="", label=label_of(key, text)) for key in keys]
    first = [field.key for field in asked]
    marks.sort(key=lambda mark: _rank(mark.keys[0], first))
    return [placed(mark, MEASURED, number) for mark in marks]


def _rank(key: str, first: Sequence[str]) -> int:
    """Return the place of a field on the screen: the station's own, the holes', the part's."""
    order = [*first, *(f"holes.{name}" for name in HOLES), *PART]
    return order.index(key) if key in order else len(order)


def _numbers(solution: Solution, number: int) -> dict[str, Any]:
    holes = solution.holes
    at = solution.stations[number - 1]
    sides = dict(zip("ab", solution.job.sides, strict=True)) | {"ab": "both sides"}
    return {
        "rows": [_row(at, n, side) for n, side in enumerate(solution.job.sides)],
        "guides": [
            (f"Guide {one.label}", f"{one.angle:.2f}\N{DEGREE SIGN}", sides[one.side],
             holes_text(solution, one.guides[0]))
            for one in stands(solution)
        ],
        "drilled": sum(hole.drill_now for hole in holes),
        "holes": len(holes),
    }  # fmt: skip


def _row(at: AnglesAt, side: int, name: str) -> dict[str, Any]:
    """Return one side's angles as they are said, degrees."""
    angles = (
        (at.skin_a, at.guide_forward_a, at.guide_aft_a),
        (at.skin_b, at.guide_forward_b, at.guide_aft_b),
    )[side]
    said = [f"{math.degrees(each):.2f}\N{DEGREE SIGN}" for each in angles]
    return {"side": "AB"[side], "name": name, "angles": said}


# ---------------------------------------------------------------- pictures


def _pictures(
    job: Path,
    text: str,
    number: int,
    way: str,
    solution: Solution | None,
    wrong: Sequence[Fault],
) -> tuple[str, str]:
    """Return what is drawn of the text, and what stands in where nothing was good yet."""
    bad = {key for fault in wrong for key in fault.keys}
    labels = _labels(text, number, way, bad)
    view = _view(job, text, number, solution)
    if view is None:
        ghost = replace(_GHOST, lines=(3.0, 25.0) if way in REAR_LINED else None)
        said = "A wedge with nothing measured yet."
        return "", _figure("section", section_svg(ghost, labels, look="ghost", said=said))
    rows = [] if solution is None else _numbers(solution, number)["rows"]
    angles = [row["angles"][n] for row in rows for n in (1, 2)]
    told_ = [f"{r['side']} {r['name']} {r['angles'][1]} forward of the drill" for r in rows]
    said = "The section, trailing edge left. " + ", ".join(told_ or ["As typed: no wedge is so."])
    outline = () if solution is None else _outline(solution, number)
    is_off = any(key.startswith(("wedge", "units", "skin", "holes.line")) for key in bad)
    look = "ok" if solution is not None else "wrong" if is_off else "half"
    seen = section_svg(view, labels, look=look, said=said, angles=angles, outline=outline)
    picture = _figure("section", seen)
    if solution is not None:
        picture += _figure("span", _span(solution, text, number))
    deep = view.depth or (view.lines[1] if view.lines else 0.0)
    return picture + (_card(view, deep, units_of(text)) if deep > 0.0 else ""), ""


_GHOST = SectionView(
    skin_a=math.radians(7.0), skin_b=math.radians(7.0), rear_a=1.0, rear_b=1.0, depth=30.0,
    skin=(0.5, 0.5), line=12.0, drill=None, drill_name="", sides=("", ""), units="mm", place="",
)  # fmt: skip


def _view(job: Path, text: str, number: int, solution: Solution | None) -> SectionView | None:
    """Return the section at a station, from the solution, or as it is typed."""
    given = value_of(text, f"wedge.station[{number}]", job.parent)
    if not isinstance(given, Station) or all(getattr(given, form) is None for form in Form):
        return None
    try:
        typed = as_typed(given)
    except ImpossibleWedge:
        return None
    lines = None if typed.width is None else (given.rear_at or 0.0, typed.width)
    if solution is not None:
        view = view_at(solution, solution.stations[number - 1], "")
        turn = math.cos(solution.job.wedge.sweep)
        return replace(view, lines=None if lines is None else (lines[0] * turn, lines[1] * turn))
    names = [typed_at(text, f"sides[{n}]") for n in (1, 2)]
    rear = (value_of(text, "wedge.rear_thickness") or 0.0) / 2.0
    bore = value_of(text, "holes.drill")
    return SectionView(
        skin_a=math.atan(typed.slope_a),
        skin_b=math.atan(typed.slope_b),
        rear_a=rear if typed.rear_a is None else typed.rear_a,
        rear_b=rear if typed.rear_b is None else typed.rear_b,
        depth=value_of(text, "wedge.depth"),
        skin=value_of(text, "skin.thickness") or (0.0, 0.0),
        line=value_of(text, "holes.line"),
        drill=bore.diameter if bore else None,
        drill_name="",
        sides=(names[0], names[1]),
        units=units_of(text),
        place="",
        lines=lines,
    )


def _labels(text: str, number: int, way: str, bad: set[str]) -> dict[str, Label]:
    """Return what stands at each size: what it is called, and the digits as typed."""
    place = f"wedge.station[{number}]"

    def label(word: str, *paths: str, mark: str = "") -> Label:
        typed = [typed_at(text, path) for path in paths]
        state = "bad" if bad & {*paths} else "" if all(typed) else "blank"
        said = " | ".join(f"{each}{mark}" if each else "?" for each in typed)
        return Label(key=paths[0], text=f"{word} {said}".strip(), state=state)

    found = {}
    if raw_at(text, "wedge.depth"):
        found["depth"] = label("depth", "wedge.depth")
    if raw_at(text, "holes.line"):
        found["line"] = label("hole line", "holes.line")
    if way in REAR_LINED and raw_at(text, f"{place}.rear_at"):
        found["rear_at"] = label("rear at", f"{place}.rear_at")
    match way:
        case Form.THICKNESS | Form.OFFSETS:
            for name in ("rear", "front", "width"):
                found[name] = label(name, *_both(f"{place}.{way}.{name}"))
        case Form.SKIN_ANGLES:
            found["a"] = label("", f"{place}.{way}[1]", mark="\N{DEGREE SIGN}")
            found["b"] = label("", f"{place}.{way}[2]", mark="\N{DEGREE SIGN}")
        case Form.READINGS:
            for role, name in (("a", "a"), ("b", "b"), ("both", "chord")):
                found[role] = label("level", f"{place}.{way}.{name}", mark="\N{DEGREE SIGN}")
        case Form.INCLUDED_ANGLE:
            found["both"] = label("included", f"{place}.{way}", mark="\N{DEGREE SIGN}")
        case Form.TAPER_RATE:
            found["both"] = label("taper", f"{place}.{way}")
        case _:
            found["both"] = label("from", f"{place}.{way}.from")
    return found


def _outline(solution: Solution, number: int) -> list[list[tuple[float, float]]]:
    """Return the corners of a section that is known by its coordinates; none of another."""
    section = solution.section_at[number - 1]
    if section is None:
        return []
    return [
        list(zip(x.tolist(), height.tolist(), strict=True))
        for x, height in ((section.x_a, section.height_a), (section.x_b, section.height_b))
    ]


def _span(solution: Solution, text: str, number: int) -> str:
    """Return the edge along the span: its thickness on the hole line, or at its front."""
    job, stations = solution.job, solution.stations
    holes = [(hole.number, hole.at, hole.drill_now) for hole in solution.holes]
    at = sorted({*(station.at for station in stations), *(place for _, place, _ in holes)})
    x = job.holes.line if job.holes else job.wedge.depth or 10.0
    faces = solution.wedge.faces_at(at, x)
    rears = [rear if math.isfinite(rear) else 0.0 for rear in faces.rear.tolist()]
    slopes = (faces.slope_a + faces.slope_b).tolist()
    thick = [rear + x * slope for rear, slope in zip(rears, slopes, strict=True)]
    named = {1, number, len(stations)} if len(stations) > 1 else set()
    lines = [
        (one.at, _station_said(solution, text, n) if n in named else "", n == number)
        for n, one in enumerate(stations, start=1)
        if len(stations) > 1
    ]
    said = "The edge along the span, as thick as it is at each hole. "
    said += ", ".join(each for _, each, _ in lines if each) or "The same section all along."
    return span_svg(
        list(zip(at, thick, strict=True)), holes, lines, zero_left=hole_1_left(job), said=said
    )


def _station_said(solution: Solution, text: str, number: int) -> str:
    angle = f"{math.degrees(solution.stations[number - 1].included):.2f}\N{DEGREE SIGN}"
    place = typed_at(text, f"wedge.station[{number}].at")
    unit = f" {solution.job.units}" if place.replace(".", "").isdigit() else ""
    return f"Station {number}: {angle} at {place}{unit}"


def _card(view: SectionView, deep: float, units: str) -> str:
    """Return the wedge beside a bank card, with its depth in both units."""
    size = Size(key="", mm=deep, kind="depth")
    said = f"{say_length(deep, 'mm', 1)} ({say_length(deep, 'in', 2)}) deep"
    look = "ok" if size.is_usual() else "look"
    if size.is_usual():
        said += ", beside a bank card, one scale"
    else:
        if deep > CARD_WIDTH:
            said += f": as long as {deep / CARD_WIDTH:.1f} bank cards"
        other, own, factor = ("Inches", "millimetres", INCH)
        if units == "in":
            other, own, factor = ("Millimetres", "inches", 1.0 / INCH)
        said += f". {other} typed? This job counts in {own}." if size.is_usual(factor) else "."
    seen = card_svg(view, deep, look=look, said=said)
    return f'<figure class="card {look}">{seen}<figcaption>{said}</figcaption></figure>'


def _figure(name: str, seen: str) -> str:
    return f'<figure class="{name}">{seen}</figure>'


MEASURE_SCREEN = Screen(name="measure", label="Measure", keys=is_known, draft=draft, show=show)
