"""Draws the files in a thread beside the page: how far it is, how to stop it, what came of it.

The files stay in memory until they are taken away or put into the folder of the drawings.
"""

from __future__ import annotations

import io
import threading
import zipfile
from collections.abc import Callable, Mapping

from msgspec import Struct

from jiggen.make import Made

Progress = Callable[[int, int], None]


class Stopped(Exception):
    """The user stopped the drawing."""


class Drawn(Struct, frozen=True, kw_only=True):
    """What was drawn, and what from."""

    stamp: str  # of the job file
    made: Made

    def archive(self) -> bytes:
        """Return all files in one ZIP; the same files give the same bytes."""
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, data in self.made.files.items():
                entry = zipfile.ZipInfo(name)  # 1 January 1980: no clock in the bytes
                entry.compress_type = zipfile.ZIP_DEFLATED
                archive.writestr(entry, data)
        return out.getvalue()

    @property
    def files(self) -> Mapping[str, bytes]:
        """Return the files by name, as `make` writes them."""
        return self.made.files


class Making:
    """One drawing at a time.

    Attributes:
        done: how many files are drawn, of how many.
        drawn: what was drawn last, or None.
        trouble: what kept the last one from being drawn, or None.
    """

    def __init__(self) -> None:
        self.done, self.total = 0, 0
        self.drawn: Drawn | None = None
        self.trouble: Exception | None = None
        self._thread: threading.Thread | None = None
        self._stops = threading.Event()

    @property
    def is_running(self) -> bool:
        """Return whether files are being drawn."""
        return self._thread is not None and self._thread.is_alive()

    def start(self, stamp: str, make: Callable[[Progress], Made]) -> None:
        """Begin to draw; nothing happens where one is drawing already.

        Args:
            stamp: of the job file.
            make: draws; it must tell its progress between files.
        """
        if self.is_running:
            return
        self.done, self.total, self.drawn, self.trouble = 0, 0, None, None
        self._stops.clear()
        self._thread = threading.Thread(target=self._run, args=(stamp, make), daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End the drawing after the file that it is at."""
        self._stops.set()

    def wait(self, seconds: float) -> None:
        """Wait so long for it to end, or less."""
        if self._thread is not None:
            self._thread.join(seconds)

    def _run(self, stamp: str, make: Callable[[Progress], Made]) -> None:
        def progress(done: int, total: int) -> None:
            self.done, self.total = done, total
            if self._stops.is_set():
                raise Stopped

        try:
            self.drawn = Drawn(stamp=stamp, made=make(progress))
        except Stopped:
            pass
        except Exception as trouble:
            self.trouble = trouble  # told on the page: a thread has nobody else to tell
