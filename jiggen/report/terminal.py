"""The terminal: how wide it is, whether it takes colour, and how tables and sentences reach it.

Pipes and files get plain text of a fixed width, so that what they hold does not depend on a
window. rich, which draws the tables, is loaded only when there is something to draw.
"""

from __future__ import annotations

import os
import re
import shutil
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from io import StringIO
from typing import TYPE_CHECKING, Any, TextIO

from msgspec import Struct

if TYPE_CHECKING:
    from rich.table import Table
    from rich.text import Text

_WORTH_A_BAR = 1.0  # a progress bar appears when more work than this is ahead, seconds

#: rich's own colour codes; every other control character comes from the user's texts.
_COLOUR_CODE = re.compile(r"(\x1b\[[0-9;]*m)")

_ANY_WIDTH = 1000  # columns of a canvas on which no table is ever cut


class Terminal(Struct, frozen=True, kw_only=True):
    """What the answer is printed on."""

    width: int = 100  # columns that sentences are wrapped to; tables take what they need
    colour: bool = False  # colours may be used
    signs: bool = True  # the encoding has the plus-minus sign and rules for tables


def terminal_of(stream: TextIO) -> Terminal:
    """Return what `stream` can show: colour on a terminal only, and not where NO_COLOR asks.

    Pipes and files get a fixed width and no colour, so that they do not depend on the window.
    """
    on_screen = stream.isatty()
    columns = shutil.get_terminal_size().columns if on_screen else 100
    plain = bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb"
    try:
        "\u00b1\u2500".encode(stream.encoding or "utf-8")
        signs = True
    except (UnicodeEncodeError, LookupError):
        signs = False
    return Terminal(width=min(max(columns, 60), 100), colour=on_screen and not plain, signs=signs)


@contextmanager
def progress_on(stream: TextIO) -> Iterator[Callable[[int, int], None]]:
    """Show a progress bar on a terminal, once more than a second of work is ahead.

    Yields the function to call with what is done and how much there is in all. Nothing is drawn
    where the stream is not a terminal.
    """
    began = time.monotonic()
    on_screen = stream.isatty()
    bar: Any = None

    def step(done: int, total: int) -> None:
        nonlocal bar
        if not on_screen or done <= 0:
            return
        ahead = (time.monotonic() - began) * (total - done) / done
        if bar is None and ahead > _WORTH_A_BAR:
            from rich.console import Console
            from rich.progress import Progress

            bar = Progress(console=Console(file=stream), transient=True)
            bar.add_task("Drawing")
            bar.start()
            bar.console.show_cursor(True)  # whoever is stopped here has it still
        if bar is not None:
            bar.update(bar.task_ids[0], completed=done, total=total)

    try:
        yield step
    finally:
        if bar is not None:
            bar.stop()


def heading(text: str, colour: str = "") -> Text:
    """Return a line that opens a part of the report, in bold, an empty one before it."""
    from rich.text import Text

    return Text(f"\n{text}", style=f"bold {colour}".strip())


def ruled_table(*columns: str, left: int = 0) -> Table:
    """Return an empty table with a rule under its heading.

    The first `left` columns hold words, the others numbers; no cell is ever cut short.
    """
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False)
    for index, name in enumerate(columns):
        justify: Any = "left" if index < left else "right"
        table.add_column(name, justify=justify, no_wrap=True, overflow="fold")
    return table


def printed(parts: Iterable[object], terminal: Terminal) -> str:
    """Draw sentences and tables to text with line ends, coloured if the terminal takes it.

    Sentences, which are strings or headings, and tables without a heading are wrapped to the
    terminal; ruled tables may be wider and are never cut.
    """
    from rich.console import Console
    from rich.table import Table

    out = StringIO()
    console = Console(
        file=out,
        width=_ANY_WIDTH,
        force_terminal=terminal.colour,
        color_system="standard" if terminal.colour else None,
        no_color=not terminal.colour,
        legacy_windows=False,
        markup=False,
        emoji=False,
        highlight=False,
    )
    for part in parts:
        ruled = isinstance(part, Table) and part.show_header
        console.print(part, width=None if ruled else terminal.width)
    text = out.getvalue() if terminal.signs else out.getvalue().replace("\u2500", "-")
    return "".join(f"{_obeyed(line, terminal).rstrip()}\n" for line in text.split("\n")[:-1])


def harmless(text: str) -> str:
    """Return a line of text with terminal codes shown as "?": what files hold is never obeyed."""
    return "".join(char if char.isprintable() else "?" for char in text)


def _obeyed(line: str, terminal: Terminal) -> str:
    """Show terminal codes as "?", but for the colours that were asked for."""
    pieces = _COLOUR_CODE.split(line) if terminal.colour else [line]
    for index in range(0, len(pieces), 2):
        pieces[index] = harmless(pieces[index])
    return "".join(pieces)
