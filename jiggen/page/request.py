"""What is asked of the page and what it answers, without a server."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct, field

HTML = "text/html; charset=utf-8"


class Request(Struct, frozen=True, kw_only=True):
    """A request that the guard let through."""

    method: str  # GET or POST
    path: str
    query: Mapping[str, str] = field(default_factory=dict)
    form: Mapping[str, str] = field(default_factory=dict)


class Answer(Struct, frozen=True, kw_only=True):
    """What goes back."""

    status: int = 200
    body: bytes = b""
    kind: str = HTML
    place: str = ""  # where the browser goes next, with status 303
    file_name: str = ""  # under which it is saved, where it is taken away

    @classmethod
    def line(cls, status: int, text: str) -> Answer:
        """Return one line of plain text."""
        return cls(status=status, body=f"{text}\n".encode(), kind="text/plain; charset=utf-8")

    @classmethod
    def go(cls, place: str) -> Answer:
        """Send the browser to another page."""
        return cls(status=303, place=place)
