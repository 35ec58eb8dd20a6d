"""One file on disk, read and saved so that nothing is lost: the file is the truth.

What a page shows comes from bytes with a stamp, their SHA-256. Saving says which bytes it began
from; if the file holds others by then, nothing is written. Else::

    job.toml ──link──> .jiggen-before-job.toml     the old bytes, still there afterwards
    new bytes ──> .jiggen-part-job.toml ──rename──> job.toml

and the old file is looked at twice: after the link, and after the rename. An editor that wrote in
between is told, and what it wrote stands in the linked file.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct

from jiggen.errors import JiggenError

BOM = b"\xef\xbb\xbf"
FILE_MOST = 200_000
"""Bytes of a file that is shown; a page must go back in 256 KiB."""
STEPS_MOST = 50
"""Saved texts that Undo goes back through, and texts that are kept for comparing."""
BEFORE, PART = ".jiggen-before-", ".jiggen-part-"


class CannotSave(JiggenError, OSError):
    """The file cannot be read or written; nothing was written."""


class Changed(JiggenError):
    """The file is not what the page began from; nothing was written."""


class WrittenMeanwhile(JiggenError):
    """Somebody else wrote at the same moment; their text stands in the file that is named."""


class Kept(Struct, frozen=True, kw_only=True):
    """A file as it was read.

    Attributes:
        text: without a byte order mark; line ends as in the file. Empty where there is no file.
        stamp: SHA-256 of its bytes; empty where there is no file.
        has_bom: it begins with a byte order mark.
        read_only: it has no write bit, or its folder refuses.
    """

    text: str
    stamp: str
    has_bom: bool = False
    read_only: bool = False

    @property
    def newline(self) -> str:
        """Return the file's line end, by its first line."""
        return "\r\n" if self.text.partition("\n")[0].endswith("\r") else "\n"

    def with_ends(self, typed: str) -> str:
        """Return text from a form, which has line ends of its own, with those of the file."""
        return plain(typed).replace("\n", self.newline)


def plain(text: str) -> str:
    """Return text with every line end as a line feed."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


class Store:
    """A file that a page edits.

    Attributes:
        name: as the page shows it.
        blank: the text to begin from where there is no file yet.
    """

    def __init__(self, path: Path, *, blank: str = "") -> None:
        self.path, self.name, self.blank = path, path.name, blank
        self._saved: list[tuple[bytes | None, str]] = []  # what stood there, the stamp of what came
        self._known: dict[str, str] = {}

    def read(self) -> Kept:
        """Return the file as it is now.

        Raises:
            CannotSave: it cannot be read, is too large, or is not UTF-8 text.
        """
        data = self._bytes()
        if data is None:
            return self._remembered(Kept(text=self.blank, stamp=""))
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            raise CannotSave(f"{self.name}: is not UTF-8 text; save it as UTF-8") from None
        mode = self._place().stat().st_mode
        writable = bool(mode & 0o222) and os.access(self._place(), os.W_OK)
        return self._remembered(
            Kept(
                text=text,
                stamp=_stamp(data),
                has_bom=data.startswith(BOM),
                read_only=not (writable and os.access(self._place().parent, os.W_OK)),
            )
        )

    def text_of(self, stamp: str) -> str | None:
        """Return the text that a page with this stamp was made from; None if it is forgotten."""
        return self._known.get(stamp)

    def save(self, text: str, stamp: str) -> Kept:
        """Put a text in the place of the one that the page began from.

        Args:
            text: of the whole file.
            stamp: of what the page began from.

        Returns:
            The file as it is now.

        Raises:
            Changed: the file holds something else by now.
            CannotSave: it is read-only, or the disk refuses.
            WrittenMeanwhile: somebody wrote while this did.
        """
        kept = self.read()
        if kept.stamp != stamp:
            raise Changed(f"{self.name} was changed elsewhere")
        if text == kept.text and stamp:
            return kept
        data = (BOM if kept.has_bom else b"") + text.encode("utf-8")
        old = self._replace(data, kept)
        self._saved = [*self._saved, (old, _stamp(data))][-STEPS_MOST:]
        return self.read()

    def undo(self, stamp: str) -> Kept:
        """Go back one saved text, if the file is still what was saved last.

        Raises:
            Changed: there is nothing to go back to, or the file is another one by now.
            CannotSave, WrittenMeanwhile: as `save`.
        """
        kept = self.read()
        if not self._saved or stamp != kept.stamp or self._saved[-1][1] != kept.stamp:
            raise Changed(f"{self.name} was changed elsewhere, or nothing was saved yet")
        old = self._saved[-1][0]
        if old is not None:
            self._replace(old, kept)
        else:
            with self._told():
                os.replace(self._place(), self._beside(BEFORE))  # there was no file before
        del self._saved[-1]
        return self.read()

    @property
    def can_undo(self) -> bool:
        """Return whether something was saved that can be taken back."""
        return bool(self._saved)

    def _remembered(self, kept: Kept) -> Kept:
        self._known.pop(kept.stamp, None)
        self._known[kept.stamp] = kept.text
        while len(self._known) > STEPS_MOST:
            del self._known[next(iter(self._known))]
        return kept

    def _place(self) -> Path:
        """Return the file itself, links followed."""
        return self.path.resolve()

    def _beside(self, before: str) -> Path:
        place = self._place()
        return place.with_name(f"{before}{place.name}")

    def _bytes(self) -> bytes | None:
        """Return the file's bytes; None where there is none."""
        try:
            with self._told(), self._place().open("rb") as stream:
                data = stream.read(FILE_MOST + 1)
        except FileNotFoundError:
            return None
        if len(data) > FILE_MOST:
            raise CannotSave(f"{self.name}: is too large to be shown")
        return data

    def _replace(self, data: bytes, kept: Kept) -> bytes | None:
        """Put bytes in the place of the file's, and return the old ones; see the module's head."""
        if kept.read_only:
            raise CannotSave(f"{self.name} is read-only; nothing was written")
        place, before, part = self._place(), self._beside(BEFORE), self._beside(PART)
        with self._told():
            if not kept.stamp:
                with place.open("xb") as stream:
                    stream.write(data)
                return None
            before.unlink(missing_ok=True)
            try:
                os.link(place, before)
            except OSError:  # a file system without links
                before.write_bytes(place.read_bytes())
            old = before.read_bytes()
            if _stamp(old) != kept.stamp:
                raise Changed(f"{self.name} was changed elsewhere")
            try:
                self._write_part(part, data, place)
                if _stamp(place.read_bytes()) != kept.stamp:
                    raise Changed(f"{self.name} was changed elsewhere")
                os.replace(part, place)
            finally:
                part.unlink(missing_ok=True)
            if _stamp(before.read_bytes()) != kept.stamp:
                raise WrittenMeanwhile(
                    f"{self.name} was written by another program at the same moment: "
                    f"its text stands in {before.name}"
                )
        return old

    def _write_part(self, part: Path, data: bytes, place: Path) -> None:
        """Write the new bytes beside the file, with its mode and owner, down to the disk."""
        part.unlink(missing_ok=True)
        state = place.stat()
        with part.open("xb") as stream:
            os.chmod(part, state.st_mode & 0o7777)
            with contextlib.suppress(OSError, AttributeError):  # only root may give files away
                os.chown(part, state.st_uid, state.st_gid)
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())

    @contextlib.contextmanager
    def _told(self) -> Iterator[None]:
        """Turn what the system refuses into one line; a missing file is none."""
        try:
            yield
        except FileNotFoundError:
            raise
        except FileExistsError:
            raise Changed(f"{self.name} was made elsewhere") from None
        except OSError as trouble:
            raise CannotSave(f"{self.name}: {trouble.strerror or trouble}") from trouble


def _stamp(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
