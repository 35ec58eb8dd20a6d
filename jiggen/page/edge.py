"""The Edge screen: gaps or heights along the riveted edge, typed into a table, and the verdict.

The readings are kept beside the job file, in ``JOB-edge.toml``: the form that ``jiggen straight``
writes and reads, so that the command says the same of the same file. The passes of the sheet
SEQUENCE are ticked off here and kept in the same file, where the command passes over them::

    [ticked]
    pass-1 = [32, 40]

Where the job has stock, its trim plan is drawn below the plot.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path
from typing import Any

from jiggen.drawing.shapes import On
from jiggen.drawing.sheet import Sheet
from jiggen.errors import JiggenError, JobError
from jiggen.jigs.sequence import order_of
from jiggen.jigs.trim import cut_table, stock_picture
from jiggen.page.catalogue import units_of
from jiggen.page.edit import change, change_was, items_of, raw_of, spans, typed_at, was_at
from jiggen.page.fields import Field, Mark, filled, marks_of, places_of, typed_in
from jiggen.page.form import solved
from jiggen.page.plot import edge_plot, legend
from jiggen.page.screen import Screen, Shown
from jiggen.page.store import Kept, Store
from jiggen.report.trim import trim_answer
from jiggen.solution import Solution
from jiggen.straight import report
from jiggen.straight.chart import Chart
from jiggen.straight.judge import Judged, judge
from jiggen.straight.read import TICKED, blank_form, read_survey_text
from jiggen.straight.survey import EDGE, PLACES, meaning
from jiggen.write.screen import screen_svg

LINES = {
    "one": ("one line", ("",)),
    "sides": ("twice: side A up, side B up", ("a", "b")),
    "turned": ("twice: straightedge turned over", ("", "turned")),
    "front": ("front and rear line", ("front", "rear")),
    "faces": ("upper and lower face", ("upper", "lower")),
}
"""What was read, by what is picked: its words, and the lines of the table."""
READS = {
    "blades": ("gaps, by blades", ("go", "no_go")),
    "gap": ("gaps, a number each", ("gap",)),
    "height": ("heights", ("height",)),
}
"""How it was read: its words, and the columns of each line."""
_ANY_COLUMN = [
    f"readings.{line}_{kind}" if line else f"readings.{kind}"
    for line in dict.fromkeys(line for _, lines in LINES.values() for line in lines)
    for _, kinds in READS.values()
    for kind in kinds
]
COLUMN = {"go": "Goes", "no-go": "Does not go", "gap": "Gap", "height": "Height"}
LINE = {"a": "side A up", "b": "side B up", EDGE: ""}

SPARE, MORE = 2, 10
"""Empty rows below the last one, and those that a press adds."""
ROWS_LEAST, ROWS_MOST = 5, 2000
_OPTION = re.compile(r"--([a-z-]+)")
_CELL = re.compile(r"(readings\.[\w-]+)\[(\d{1,4})\]", re.ASCII)
_PASS = re.compile(r"pass-[1-9]\d{0,2}", re.ASCII)
_TICK = re.compile(r"tick\[([1-9]\d{0,3})\]", re.ASCII)


def edge_file(job: Path) -> Store:
    """Return the file of readings beside a job file; blank ones count in the job's units."""
    try:
        units = tomllib.loads(job.read_bytes().decode("utf-8-sig")).get("units")
    except (OSError, ValueError, RecursionError):
        units = "mm"
    name = f"{job.stem}-edge.toml"
    blank = blank_form(name, "in" if units == "in" else "mm").decode("utf-8")
    return Store(job.with_name(name), blank=blank)


def settings(text: str) -> tuple[list[Field], list[Field]]:
    """Return the fields beside the table: those that most need, and the rest."""
    unit = units_of(text)
    two = {"front", "rear"} <= {line for line, _ in _kinds(text)}
    first = [
        Field(key="limit", label="Limit, from the plans", unit=unit, blank='""'),
        Field(
            key="limit_on",
            label="The limit is on",
            kind="text",
            choices=(
                ("zone", "whole strip"),
                ("ends", "line through ends"),
            ),
        ),
    ]
    more = [
        Field(key="over", label="For a length of", unit=unit, blank='""'),
        Field(key="step", label="Smallest step read", unit=unit),
        Field(key="plus_minus", label="A reading is off by at most", unit=unit),
        Field(key="name", label="Name of the edge", kind="text", blank='""'),
        Field(key="date", label="Date", kind="text", blank='""'),
        Field(key="by", label="Measured by", kind="text", blank='""'),
    ]
    if two:
        more[3:3] = [
            Field(key="apart", label="From front to rear line", unit=unit),
            Field(key="twist_limit", label="Limit of the twist", unit="deg"),
            Field(
                key="datum",
                label="Read from",
                kind="text",
                choices=(
                    ("", "not said"),
                    ("one", "one flat surface"),
                    ("each", "a straightedge each"),
                ),
            ),
        ]
    return first, more


def columns(text: str) -> list[str]:
    """Return the names of a text's lists of readings, the places first."""
    names = [
        key.removeprefix("readings.")
        for key in spans(text)
        if key.startswith("readings.") and not key.endswith("]")
    ]
    return ["position", *(name for name in names if name != "position")]


def cells(text: str) -> dict[str, list[str]]:
    """Return what stands in each column, as typed, row by row."""
    known = spans(text)
    table: dict[str, list[str]] = {}
    for name in columns(text):
        count = sum(1 for key in known if key.startswith(f"readings.{name}["))
        table[name] = [typed_at(text, f"readings.{name}[{n + 1}]") for n in range(count)]
    return table


def draft(text: str, form: Mapping[str, str]) -> str:
    """Return the text of the readings as typed.

    Args:
        text: as it stands.
        form: settings by key, cells as ``readings.COLUMN[ROW]``, and ``lines`` and ``reads`` for
            what was read.

    Raises:
        CannotEdit: see `jiggen.page.edit`.
    """
    text = _typed(text, form)
    names, old = _asked_for(text, form), columns(text)
    if names == old:
        return text
    wanted = {f"readings.{name}": "" for name in old if name not in names}
    new = [f"readings.{name}" for name in names if name not in old]
    text = change(text, wanted | {key: was_at(text, key) or "[]" for key in new})
    return _typed(
        text, {key: value for key, value in form.items() if key.rpartition("[")[0] in new}
    )


def _typed(text: str, form: Mapping[str, str]) -> str:
    """Return the text with what is typed in the columns that it has, and beside them.

    A row that is blank goes; it goes from the columns of another way of reading too, which stand
    in comments, so that what comes back of them stands at its place.
    """
    first, more = settings(text)
    wanted = typed_in([*first, *more], text, form, units_of(text))
    old = cells(text)
    names, typed = list(old), {name: list(column) for name, column in old.items()}
    for key, value in form.items():
        if (cell := _CELL.fullmatch(key)) and (name := cell[1].removeprefix("readings.")) in typed:
            row = int(cell[2]) - 1
            typed[name] += [""] * (row + 1 - len(typed[name]))
            typed[name][row] = value.strip()
    count = max(map(len, typed.values()), default=0)
    rows = [n for n in range(count) if any(n < len(each) and each[n] for each in typed.values())]
    same = all(rows == list(range(len(each))) for each in old.values())
    for name in names:
        now = [typed[name][n] if n < len(typed[name]) else "" for n in rows]
        kind = "text" if meaning(name) is None else "number"
        raws = [raw_of(each, kind, units_of(text)) or '""' for each in now]
        if same:
            pairs = zip(range(1, len(rows) + 1), raws, now, old[name], strict=True)
            wanted |= {f"readings.{name}[{n}]": raw for n, raw, new, was in pairs if new != was}
        elif now != old.get(name):
            wanted[f"readings.{name}"] = f"[{', '.join(raws)}]"
    if _PASS.fullmatch(which := form.get("ticks", "")):
        holes = [tick[1] for key in form if (tick := _TICK.fullmatch(key))]
        if holes != [str(hole) for hole in ticked(text).get(which, ())]:
            wanted[f"{TICKED}.{which}"] = f"[{', '.join(holes)}]"
    for key in _ANY_COLUMN if len(rows) < count else ():
        was = items_of(was_at(text, key))
        if (left := [raw for n, raw in enumerate(was) if n in rows or n >= count]) != was:
            text = change_was(text, key, f"[{', '.join(left)}]")
    return change(text, wanted)


def ticked(text: str) -> dict[str, list[int]]:
    """Return the holes that are ticked off, by pass."""
    table = tomllib.loads(text).get(TICKED, {})
    rows = table.items() if isinstance(table, dict) else ()
    return {name: [n for n in row if isinstance(n, int)] for name, row in rows if row}


def is_known(text: str, form: Mapping[str, str]) -> bool:
    """Return whether a form holds only fields of this screen."""
    first, more = settings(text)
    known = {"lines", "reads", "more", "at", "ticks", *(each.key for each in (*first, *more))}
    names = {f"readings.{name}" for name in (*columns(text), *_asked_for(text, form))}
    for key in form.keys() - known:
        cell = _CELL.fullmatch(key)
        if cell is None and _TICK.fullmatch(key):
            continue
        if cell is None or cell[1] not in names or not 1 <= int(cell[2]) <= ROWS_MOST:
            return False
    return True


def show(job: Path, text: str, kept: Kept, view: Mapping[str, str]) -> Shown:
    """Return what the screen shows of a text of readings."""
    table = cells(text)
    first, more = settings(text)
    labels = {each.key: each.label for each in (*first, *more)} | _cell_labels(table)
    judged: Judged | None = None
    faults: tuple[Mark, ...] = ()
    is_blank = not any(any(each) for name, each in table.items() if name != "position")
    if not is_blank:
        try:
            judged = judge(read_survey_text(text, f"{job.stem}-edge.toml"))
        except JobError as bad:
            faults = tuple(marks_of(bad.faults, labels))
    solution = _solved(job)
    passes = _passes(solution, text) if solution is not None else []
    here = next((one for one in passes if one["name"] == view.get("at")), None)
    plot = edge_plot(judged, " ".join(report.shape(judged))) if judged else ""
    return Shown(
        fields={
            "passes": passes,
            "here": here,
            "settings": filled(first, text, faults),
            "more": filled(more, text, faults),
            "lines": [(key, words) for key, (words, _) in LINES.items()],
            "reads": [(key, words) for key, (words, _) in READS.items()],
            "picked": picked(text),
            **_table(text, table, faults, view.get("more", "")),
        },
        picture="" if faults else plot + (_trim(solution) if solution is not None else ""),
        numbers={"is_blank": is_blank, "here": here, **(_said(judged, labels) if judged else {})},
        faults=faults,
        is_whole=judged is not None,
    )


def _solved(job: Path) -> Solution | None:
    try:
        return solved(job, Store(job).read().text)
    except JiggenError:
        return None


def _passes(solution: Solution, text: str) -> list[dict[str, Any]]:
    """Return the passes of the sheet SEQUENCE with what is ticked off of each."""
    done, found = ticked(text), list[dict[str, Any]]()
    for number, cells in enumerate(order_of(solution), start=1):
        name = f"pass-{number}"
        holes = [(n, side, n in done.get(name, ())) for n, side in cells.holes]
        count = sum(is_done for *_, is_done in holes)
        found.append(
            {
                "name": name,
                "label": f"{'Run' if solution.job.rivet is None else 'Pass'} {number}",
                "head": f"{cells.heading}, {cells.said}",
                "holes": holes,
                "count": count,
                "is_done": count == len(holes),
            }
        )
    return found


def _trim(solution: Solution) -> str:
    """Return the trim plan drawn on the stock, and what it comes to; nothing without stock."""
    plan = solution.trim
    if plan is None:
        return ""
    said, drawn, rows = trim_answer(plan, solution.job.units), "", ""
    if plan.best is not None:
        one = stock_picture(solution, plan, plan.best)
        sheet = Sheet(name="trim", width=one.width, height=one.height, marks=one.marks, title=said)
        drawn = screen_svg(sheet, on=On.PAPER).decode("utf-8")
        for table in (cut_table(solution, plan.part, cut) for cut in plan.best.cuts):
            words = ", ".join(f"{name} {value}" for name, value in table.rows)
            rows += f"<li><b>{escape(table.title)}</b> {escape(words)}</li>"
    return (
        f'<figure class="trim"><figcaption>{escape(said)}</figcaption>{drawn}<ul>{rows}</ul>'
        "</figure>"
    )


def chart(text: str, name: str) -> bytes:
    """Return the chart for the builder's log, SVG.

    Raises:
        JobError: the readings hold faults.
    """
    judged = judge(read_survey_text(text, name))
    return Chart(judged, [report.taken(judged), *report.why(judged)]).svg()


def picked(text: str) -> tuple[str, str]:
    """Return which of `LINES` and of `READS` the columns of a text are; empty where none."""
    kinds = _kinds(text)
    lines = tuple(dict.fromkeys(line for line, _ in kinds))
    reads = tuple(dict.fromkeys(kind.replace("-", "_") for _, kind in kinds))
    return (
        next((k for k, (_, each) in LINES.items() if tuple(e or EDGE for e in each) == lines), ""),
        next((k for k, (_, each) in READS.items() if each == reads), ""),
    )


def _kinds(text: str) -> list[tuple[str, str]]:
    found = [meaning(name) for name in columns(text)]
    return [each for each in found if each is not None and each != PLACES]


def _asked_for(text: str, form: Mapping[str, str]) -> list[str]:
    """Return the columns that a form asks for: those of the text, unless another kind is picked."""
    was = picked(text)
    now = form.get("lines", was[0]) or was[0], form.get("reads", was[1]) or was[1]
    names = columns(text)
    if now == was or now[0] not in LINES or now[1] not in READS:
        return names
    notes = [name for name in names if meaning(name) is None]
    kinds = [
        f"{line}_{kind}" if line else kind for line in LINES[now[0]][1] for kind in READS[now[1]][1]
    ]
    return ["position", *kinds, *notes]


def _table(
    text: str, table: Mapping[str, list[str]], faults: Sequence[Mark], more: str
) -> dict[str, Any]:
    wrong = places_of(faults)
    used = max(map(len, table.values()), default=0)
    unit = units_of(text)
    heads = [
        {"word": _column_label(name), "unit": "" if meaning(name) is None else unit}
        for name in table
    ]
    rows = []
    wanted = int(more) if more.isascii() and more.isdigit() and len(more) < 5 else 0
    count = max(ROWS_LEAST, used + SPARE, min(wanted, ROWS_MOST))
    for n in range(count):
        keys = [f"readings.{name}[{n + 1}]" for name in table]
        values = [each[n] if n < len(each) else "" for each in table.values()]
        rows.append([(k, v, wrong.get(k, "")) for k, v in zip(keys, values, strict=True)])
    return {"heads": heads, "rows": rows, "more_rows": count + MORE}


def _column_label(name: str) -> str:
    """Return what a column is called: ``Goes, side A up``."""
    found = meaning(name)
    if found is None or found == PLACES:
        return "Place" if found else name
    line = LINE.get(found[0], found[0])
    return f"{COLUMN.get(found[1], name)}{f', {line}' if line else ''}"


def _cell_labels(table: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """Return what each cell is called: ``Goes, row 2``."""
    return {
        f"readings.{name}[{n}]": f"{_column_label(name)}, row {n}"
        for name, column in table.items()
        for n in range(1, len(column) + 1)
    }


def _said(judged: Judged, labels: Mapping[str, str]) -> dict[str, Any]:
    """Return the report's sentences; an option of the command is called by its field here."""

    def on_page(sentence: str) -> str:
        return _OPTION.sub(lambda m: f'"{labels.get(m[1].replace("-", "_"), m[1])}"', sentence)

    return {
        "verdict": judged.verdict,
        "why": [on_page(each) for each in report.why(judged)],
        "shape": [on_page(each) for each in report.shape(judged)],
        "advice": [on_page(each) for each in report.advice(judged)],
        "legend": legend(judged),
        "caution": report.CAUTION,
    }


EDGE_SCREEN = Screen(
    name="edge", label="Edge", store=edge_file, keys=is_known, draft=draft, show=show
)
