"""The manual in the terminal: a page with its headings and tables, or the list of topics."""

from __future__ import annotations

from collections.abc import Mapping
from io import StringIO

from jiggen.report.terminal import Terminal


def topics_text(titles: Mapping[str, str]) -> str:
    """Return the list of topics, one a line with the title of its page."""
    width = max(map(len, titles))
    rows = "".join(f"{topic:<{width}}  {title}\n" for topic, title in titles.items())
    return f"{rows}\nRead one: jiggen manual TOPIC\n"


def page_text(markdown: str, terminal: Terminal) -> str:
    """Return a page of markdown: drawn on a terminal with colour, plain text elsewhere."""
    if not terminal.colour:
        return markdown
    from rich.console import Console
    from rich.markdown import Markdown

    out = StringIO()
    console = Console(
        file=out, width=terminal.width, force_terminal=True, color_system="standard",
        legacy_windows=False,
    )  # fmt: skip
    console.print(Markdown(markdown, hyperlinks=False, code_theme="ansi_light"))
    return out.getvalue()
