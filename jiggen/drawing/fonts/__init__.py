"""The faces of the lettering: Barlow Semi Condensed on paper, single strokes in cut files.

The three cuts here are the published ones with fewer signs and with tabular figures in the place of
the proportional ones, so that numbers stand under one another; licence in OFL.txt. How wide each
letter runs is read from the font itself: what a page is set by is what the reader sees.
"""

from __future__ import annotations

import struct
from functools import cache
from importlib.resources import files

CUTS = ("Medium", "SemiBold", "Bold")

#: Height of a capital over the size of the font, in every cut. Source: the fonts' own OS/2 table.
CAP_EM = 0.7


def font_bytes(cut: str) -> bytes:
    """Return a cut's TrueType file; `cut` is one of `CUTS`."""
    return (files(__name__) / f"BarlowSemiCondensed-{cut}.ttf").read_bytes()


@cache
def advances(cut: str) -> dict[int, float]:
    """Return how far each character of a cut runs, in heights of a capital.

    Args:
        cut: one of `CUTS`.

    Source: the layout of the tables head, hhea, hmtx and cmap (format 4), ISO/IEC 14496-22, from
    memory; held against an independent reader in the tests.
    """
    data = font_bytes(cut)
    tables = {
        data[at : at + 4].decode(): struct.unpack_from(">L", data, at + 8)[0]
        for at in range(12, 12 + 16 * struct.unpack_from(">H", data, 4)[0], 16)
    }
    (em,) = struct.unpack_from(">H", data, tables["head"] + 18)
    (wide,) = struct.unpack_from(">H", data, tables["hhea"] + 34)
    widths = [struct.unpack_from(">H", data, tables["hmtx"] + 4 * n)[0] for n in range(wide)]
    found = {}
    for start, end, delta, offset, where in _segments(data, tables["cmap"]):
        for code in range(start, min(end, 0xFFFE) + 1):
            glyph = code
            if offset:
                (glyph,) = struct.unpack_from(">H", data, where + offset + 2 * (code - start))
            if not offset or glyph:
                glyph = (glyph + delta) & 0xFFFF
            found[code] = widths[min(glyph, wide - 1)] / em / CAP_EM
    return found


def _segments(data: bytes, cmap: int) -> list[tuple[int, int, int, int, int]]:
    """Return the runs of characters of the subtable of format 4."""
    for n in range(struct.unpack_from(">H", data, cmap + 2)[0]):
        at = cmap + struct.unpack_from(">L", data, cmap + 8 + 8 * n)[0]
        if struct.unpack_from(">H", data, at)[0] == 4:
            count = struct.unpack_from(">H", data, at + 6)[0] // 2
            columns = (at + 14, at + 16 + 2 * count, at + 16 + 4 * count, at + 16 + 6 * count)
            return [
                (
                    *(
                        struct.unpack_from(">H", data, c + 2 * k)[0]
                        for c in (columns[1], columns[0])
                    ),
                    struct.unpack_from(">H", data, columns[2] + 2 * k)[0],
                    struct.unpack_from(">H", data, columns[3] + 2 * k)[0],
                    columns[3] + 2 * k,
                )
                for k in range(count)
            ]
    raise ValueError("the font has no table of characters that can be read")
