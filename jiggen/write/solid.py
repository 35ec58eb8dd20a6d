"""Solids as files that a printer's program reads: 3MF, which knows its unit, and STL beside it.

Both are written here byte by byte, without a date, so that the same solid is the same file. What a
reader should find again on it travels in the 3MF; an STL has room for a name only, and its record
lies in the manifest.

::

    STL: 80 bytes of head | count | 50 bytes a facet: normal, three corners, 2 bytes of nothing
    3MF: a zip of [Content_Types].xml, _rels/.rels, 3D/3dmodel.model
"""

from __future__ import annotations

import json
import struct
import zipfile
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from jiggen.drawing.solid import Solid
from jiggen.write.manifest import SOLID_FOLDER
from jiggen.write.numbers import RECORD_FORMAT, file_number

#: A zip cannot say an earlier day.
NO_DATE = (1980, 1, 1, 0, 0, 0)
RECORD = "urn:jiggen:record"

_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" '
    'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" '
    'ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>\n'
)
_RELS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n'
)


def solid_path(solid: Solid, suffix: str) -> str:
    """Return where a solid's file goes: ``solids/block-a1-solid.3mf``; an STL says its unit."""
    return f"{SOLID_FOLDER}/{solid.name}{'-mm' if suffix == 'stl' else ''}.{suffix}"


def solid_bytes(solid: Solid, suffix: str) -> bytes:
    """Return a solid as the bytes of a file, by its suffix: ``3mf`` or ``stl``."""
    return _stl(solid) if suffix == "stl" else _three_mf(solid)


def solid_record(solid: Solid) -> dict[str, Any]:
    """Return what a solid should measure, ready for JSON: mm, degrees, directions of length 1."""

    def three(values: tuple[float, float, float]) -> list[float]:
        return [float(file_number(value, 9)) for value in values]

    return {
        "jiggen": RECORD_FORMAT,
        "solid": solid.name,
        "title": solid.title,
        "turned": solid.turned,
        "after": solid.after,
        "count": solid.count,
        "base": three(solid.base),
        "forward": three(solid.forward),
        "axis": three(solid.axis),
        "at": three(solid.at),
        "bore": float(file_number(solid.bore)),
        "gap": float(file_number(solid.gap)),
        "extent": [float(file_number(side)) for side in solid.extent],
    }


def _stl(solid: Solid) -> bytes:
    head = f"jiggen {solid.name}-mm, unit mm".encode("ascii", "replace")[:80].ljust(80)
    corners = solid.vertices.astype("<f4")[solid.triangles]
    exact = solid.vertices[solid.triangles]
    square = np.cross(exact[:, 1] - exact[:, 0], exact[:, 2] - exact[:, 0])
    long = np.linalg.norm(square, axis=1)
    normals = (square / np.where(long > 0.0, long, 1.0)[:, None]).astype("<f4")
    facets = np.zeros(len(corners), dtype=[("n", "<f4", 3), ("v", "<f4", (3, 3)), ("a", "<u2")])
    facets["n"], facets["v"] = normals, corners
    return head + struct.pack("<I", len(facets)) + facets.tobytes()


def _three_mf(solid: Solid) -> bytes:
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as archive:
        for name, text in (
            ("[Content_Types].xml", _TYPES),
            ("_rels/.rels", _RELS),
            ("3D/3dmodel.model", _model(solid)),
        ):
            part = zipfile.ZipInfo(name, NO_DATE)
            # The same on every system, which would else write its own name here.
            part.create_system, part.external_attr = 3, 0o644 << 16
            archive.writestr(part, text.encode("utf-8"))
    return stream.getvalue()


def _model(solid: Solid) -> str:
    told = "; ".join(filter(None, (solid.turned, solid.after)))
    record = json.dumps(solid_record(solid), ensure_ascii=True, separators=(",", ":"))
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<model unit="millimeter" xml:lang="en-US" '
        'xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02" '
        f'xmlns:jiggen="{RECORD}">',
        f'<metadata name="Title">{escape(solid.title)}</metadata>',
        f'<metadata name="Description">{escape(told)}</metadata>',
        '<metadata name="Application">jiggen</metadata>',
        f'<metadata name="jiggen:record" type="xs:string">{escape(record)}</metadata>',
        f'<resources><object id="1" type="model" name={quoteattr(solid.name)}><mesh>',
        "<vertices>",
    ]
    for x, y, z in solid.vertices.tolist():
        lines.append(f'<vertex x="{file_number(x)}" y="{file_number(y)}" z="{file_number(z)}"/>')
    lines.append("</vertices><triangles>")
    for a, b, c in solid.triangles.tolist():
        lines.append(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>')
    lines.append("</triangles></mesh></object></resources>")
    lines.append('<build><item objectid="1"/></build></model>\n')
    return "\n".join(lines)
