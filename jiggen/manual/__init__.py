"""The manual: a page of Markdown for each topic, shipped with the package.

The pages are read on the web, where links and pictures work, and in the terminal, where a link to
another page is the name of its topic and a picture is left out.
"""

from __future__ import annotations

import re
from importlib.resources import files

from jiggen.errors import JiggenError
from jiggen.job.fields import nearest

#: The topics, in the order in which the work meets them.
TOPICS = (
    "measuring",
    "numbers",
    "printing",
    "cutting",
    "laser",
    "guide",
    "gauge",
    "trim",
    "strip",
    "cradle",
    "block",
    "wrap",
    "coupon",
    "riveting",
    "straightness",
    "bench",
    "job-file",
    "commands",
    "files",
    "python",
    "sources",
)

_LEFT_OUT = re.compile(r"^(?:<!--.*-->|!\[.*\]\(.*\))\n", re.MULTILINE)
_TO_PAGE = re.compile(r"\[([^\]]+)\]\(([a-z-]+)\.md(?:#[^)]*)?\)")


class NoTopic(JiggenError):
    """A topic that the manual does not have."""


def page(topic: str) -> str:
    """Return a page of the manual as it stands, in Markdown.

    Args:
        topic: one of `TOPICS`, in any case.

    Raises:
        NoTopic: it has none of that name; says which speak of it, or the nearest.
    """
    name = topic.strip().lower().removesuffix(".md")
    if name not in TOPICS:
        near = ", ".join(_speaking_of(name)) or nearest(name, TOPICS)
        raise NoTopic(f'the manual has no topic "{topic}"; see {near}, or jiggen manual')
    return _text(name)


def _text(name: str) -> str:
    return (files("jiggen") / "manual" / f"{name}.md").read_text("utf-8")


def _speaking_of(word: str) -> list[str]:
    """Return the three pages that say a word most often; none where no page says it."""
    counts = {name: _text(name).lower().count(word) for name in TOPICS} if len(word) > 2 else {}
    most = sorted(counts, key=lambda name: -counts[name])[:3]
    return [name for name in most if counts[name]]


def title(topic: str) -> str:
    """Return what a page is called: its first heading."""
    return page(topic).partition("\n")[0].removeprefix("# ")


def without_links(text: str) -> str:
    """Return a page without pictures and remarks, each link to a page as the name of its topic."""
    return _TO_PAGE.sub(_named, _LEFT_OUT.sub("", text))


def _named(link: re.Match[str]) -> str:
    words, topic = link.groups()
    return words if words.lower() == topic else f"{words} ({topic})"
