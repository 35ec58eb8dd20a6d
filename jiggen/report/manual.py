"""The manual in the terminal: a page with its headings and tables, or the list of topics."""

from __future__ import annotations

from collections.abc import Mapping
from io import StringIO

from jiggen.report.terminal import Terminal


def topics_text(titles: Mapping[str, str]) -> str:
    """Return the list of topics, one a line.

    Args:
        titles: what each page is called, by topic.
    """
    width = max(map(len, titles))
    rows = "".join(f"{topic:<{width}}  {title}\n" for topic, title in titles.items())
    return f"{rows}\nRead one: jiggen manual TOPIC\n"


def page_text(markdown: str, terminal: Terminal) -> str:
    """Return a page as it is shown: drawn on a terminal, plain text elsewhere.

    Args:
        markdown: the page.
        terminal: what it is printed on; without colour it is not drawn.
    """
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
