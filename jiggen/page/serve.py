"""Serves the page to this machine, and ends by itself when nobody asks for it any more.

The socket is bound to loopback, on a port that is free, and listens before its address is printed:
a fast browser would be refused otherwise. Nothing of what is typed is logged. Requests are answered
one at a time, in a thread, so that two of them never write at once.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
import signal
import socket
import threading
import time
import webbrowser
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING
from urllib.parse import parse_qsl, quote

import uvicorn
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request as Received
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from jiggen.page.guard import Guard
from jiggen.page.request import Answer, Request

if TYPE_CHECKING:
    from jiggen.page.answers import Bench

IDLE_MINUTES = 30.0
"""Without a request the server ends: nobody remembers to stop it."""
FIELDS_MOST = 12_000
"""Fields of one form: 2000 places along an edge, with up to five columns."""


class Server:
    """A bench that listens.

    Attributes:
        address: what the browser opens first.
    """

    def __init__(self, load: Callable[[], Bench], *, idle: float = 60.0 * IDLE_MINUTES) -> None:
        """Bind and listen; the bench loads beside that. `idle` is in seconds."""
        self.idle = idle
        self._bench = ThreadPoolExecutor(1).submit(load)
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.guard = Guard(self._answer, self.socket.getsockname()[1])
        self.address = self.guard.address
        self._last = time.monotonic()
        self._turn = asyncio.Lock()
        logging.getLogger("uvicorn").addHandler(logging.NullHandler())
        config = uvicorn.Config(
            self.guard,
            http="h11",
            ws="none",
            loop="asyncio",
            lifespan="off",
            log_config=None,
            access_log=False,
            server_header=False,
            limit_concurrency=64,
            timeout_graceful_shutdown=2,
        )
        self._uvicorn = uvicorn.Server(config)

    @property
    def bench(self) -> Bench:
        """Return what is served, once it is loaded."""
        return self._bench.result()

    def run(self) -> None:
        """Serve until it is stopped, or until nobody has asked for anything for long enough."""
        asyncio.run(self._serve())

    def stop(self) -> None:
        """End soon; what is being answered is answered first."""
        self._uvicorn.should_exit = True

    async def _serve(self) -> None:
        watch = asyncio.create_task(self._watch())
        try:
            await self._uvicorn.serve(sockets=[self.socket])
        finally:
            watch.cancel()

    async def _watch(self) -> None:
        """End when idle, or when the bench was asked to; never while files are drawn."""
        while True:
            await asyncio.sleep(min(1.0, self.idle / 10.0))
            if not self._bench.done():
                continue
            if self.bench.is_drawing:
                self._last = time.monotonic()
            elif self.bench.is_over or time.monotonic() - self._last > self.idle:
                self.stop()

    async def _answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        self._last = time.monotonic()
        received = Received(scope, receive)
        fields = _pairs(scope["query_string"].decode("ascii", "replace"))
        try:
            form = _pairs((await received.body()).decode("utf-8"))
        except ValueError:
            form, answer = {}, Answer.line(400, "The form cannot be read.")
        else:
            request = Request(method=received.method, path=scope["path"], query=fields, form=form)
            async with self._turn:
                answer = await run_in_threadpool(lambda: self.bench.answer(request))
        self._last = time.monotonic()
        headers = {"Location": answer.place} if answer.place else {}
        if answer.file_name:
            # A name may have letters of every script. Source: RFC 6266, section 4.3 (MEM).
            name = quote(answer.file_name)
            headers["Content-Disposition"] = f"attachment; filename*=UTF-8''{name}"
        response = Response(answer.body, answer.status, headers, media_type=answer.kind)
        await response(scope, receive, send)


def _pairs(text: str) -> dict[str, str]:
    return dict(
        parse_qsl(text, keep_blank_values=True, errors="strict", max_num_fields=FIELDS_MOST)
    )


def serve(load: Callable[[], Bench], say: Callable[[str], object], *, opens: bool) -> None:
    """Serve a bench until it ends; Ctrl-C is the usual way to end it.

    Args:
        load: what returns the bench; it is called while the browser starts.
        say: told the address, and how it ends.
        opens: open the browser.
    """
    server = Server(load)
    say(f"The bench is open at {server.address}")
    say("It ends with Ctrl-C, with End on the page, or after 30 minutes without use.")
    if opens:  # in a thread: a browser in the terminal would keep the bench from answering
        threading.Thread(target=webbrowser.open, args=[server.address], daemon=True).start()
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # no reason to complain here
    try:
        with contextlib.suppress(KeyboardInterrupt):
            server.run()
    finally:
        signal.signal(signal.SIGINT, before)
    say("The bench has ended.")
