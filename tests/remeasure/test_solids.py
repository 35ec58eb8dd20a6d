"""Solids read back from their own facets: what they measure, and what is noticed of a wrong one."""

from __future__ import annotations

import io
import json
import locale
import math
import struct
import zipfile
from pathlib import Path

import lib3mf
import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from offsetjobs import solved

from jiggen.drawing.solid import Solid
from jiggen.errors import DoesNotFit, DrawingFileError
from jiggen.jigs.block import plan_block
from jiggen.jigs.solids import shim_bar
from jiggen.remeasure.measure import remeasure
from jiggen.remeasure.solids import measure_solid, read_solid
from jiggen.write.manifest import manifest_bytes
from jiggen.write.solid import solid_bytes, solid_path, solid_record

TRUE = 0.001
LEANS = st.tuples(st.floats(-2.0, 2.0), st.floats(-2.0, 2.0))


def solids(*args: float, **more: object) -> tuple[Solid, ...]:
    build = plan_block(solved(*args, **more)).solids
    assert build is not None
    return build()


BLOCK, CAUL = solids(5.7, 5.7)


def measured(data: bytes):
    return measure_solid("solid", data, None)


def off(found) -> str:
    return " | ".join(f.text for f in found.findings if f.severity == "off")


@settings(max_examples=8, deadline=None)
@given(st.tuples(st.floats(0.5, 20.0), st.floats(0.5, 20.0)), LEANS, st.floats(14.0, 30.0))
def test_the_bore_stands_to_the_pads_as_the_drill_to_the_skin(skins, leans, depth):
    """Held against the job itself, not against the record: 90 less the skin angle, and the lean."""
    assume(abs(skins[0] - skins[1]) > 0.01)
    try:
        made = solids(*skins, lean_a=leans[0], lean_b=leans[1], depth=depth, rear=6.0)
    except DoesNotFit:
        assume(False)
    for solid in made:
        n = "ab".index(solid.name.split("-")[1][0])
        found = measured(solid_bytes(solid, "3mf"))
        assert found.ok, off(found)
        forward, lean = found.pieces[0].angles
        assert forward.measured == pytest.approx(90.0 - skins[n], abs=TRUE)
        # The axis against a line on the skin square to forward: by the products of the directions.
        m, climb = (math.tan(math.radians(x)) for x in (skins[n], leans[n]))
        across = climb / math.hypot(1.0, m) / math.hypot(1.0, m, climb)
        assert abs(lean.measured) == pytest.approx(abs(math.degrees(math.asin(across))), abs=TRUE)


@pytest.mark.parametrize("solid", [BLOCK, CAUL, shim_bar(0.1, 20.0, 900.0, "shim-1", "SHIM 1")],
                         ids=lambda s: s.name)  # fmt: skip
@pytest.mark.parametrize("suffix", ["3mf", "stl"])
def test_a_file_measures_as_it_was_meant(solid, suffix, tmp_path):
    """Through the command's own door, an STL with the manifest beside it."""
    path = tmp_path / solid_path(solid, suffix)
    path.parent.mkdir()
    data = solid_bytes(solid, suffix)
    path.write_bytes(data)
    name = solid_path(solid, suffix)
    (tmp_path / "manifest.json").write_bytes(
        manifest_bytes(
            {name: data},
            {name: ()},
            {name: ()},
            solids={name: solid_record(solid)},
            job_name="x",
            version="1",
        )
    )
    found = remeasure(path)
    assert found.ok, off(found)
    assert found.kind == suffix
    assert found.worst_angle_error < TRUE
    (piece,) = found.pieces
    assert piece.name == solid.name
    sizes = {size.name: size.measured for size in piece.sizes}
    if solid.bore:
        assert sizes["bore"] == pytest.approx(solid.bore, abs=1e-4)
        assert sizes["gap"] == pytest.approx(solid.gap, abs=1e-4)
    assert json.loads(json.dumps(found.as_json()))["ok"] is True


def test_the_gap_under_the_bushing_is_the_chip_gap():
    """Source: DERIVED: 0.5 + (OD/2) tan a."""
    found = measured(solid_bytes(BLOCK, "3mf"))
    gap = next(s for s in found.pieces[0].sizes if s.name == "gap")
    body = (0.2043 + 0.2046) / 2 * 25.4
    assert gap.measured == pytest.approx(0.5 + body / 2 * math.tan(math.radians(5.7)), abs=1e-4)


def test_an_stl_alone_cannot_be_judged():
    """It has neither a record nor a unit."""
    found = measured(solid_bytes(BLOCK, "stl"))
    assert not found.ok
    assert not found.known
    assert "nothing in it or beside it" in off(found)


# --- what is noticed


def turned(solid: Solid, degrees: float) -> Solid:
    """Return a solid whose bore alone is turned about its middle, in the section."""
    points = solid.vertices.copy()
    at = np.asarray(solid.at)
    away = points - at
    radial = np.hypot(away[:, 0], away[:, 2])
    wall = np.abs(radial - solid.bore / 2) < 1e-6
    middle = (away[wall, 1].min() + away[wall, 1].max()) / 2
    # Sheared: each rim stays in its own face.
    points[wall, 0] += np.tan(np.radians(degrees)) * (away[wall, 1] - middle)
    return replace(solid, vertices=points)


def test_a_bore_a_hundredth_of_a_degree_off_is_noticed():
    """Source: jigs drawn at 5.69 for 5.70 showed +0.0100."""
    found = measured(solid_bytes(turned(BLOCK, 0.01), "3mf"))
    forward = found.pieces[0].angles[0]
    assert abs(forward.error) == pytest.approx(0.01, abs=1e-4)
    assert "forward: measured" in off(found)
    assert measured(solid_bytes(turned(BLOCK, 0.0), "3mf")).ok


def with_model(change) -> bytes:
    """Return the block's 3MF with its model changed, as another program might."""
    with zipfile.ZipFile(io.BytesIO(solid_bytes(BLOCK, "3mf"))) as archive:
        model = change(archive.read("3D/3dmodel.model"))
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("3D/3dmodel.model", model)
    return stream.getvalue()


def as_file(points: np.ndarray, facets: np.ndarray, solid: Solid = BLOCK) -> bytes:
    return solid_bytes(replace(solid, vertices=points, triangles=facets), "3mf")


def test_what_a_wrong_solid_is_called():
    """Open, inside out, in another unit, bored too wide, pads worn."""
    points, facets = BLOCK.vertices, BLOCK.triangles
    assert "not closed" in off(measured(as_file(points, facets[:-1])))
    assert "inside out" in off(measured(as_file(points, facets[:, ::-1])))
    inch = with_model(lambda text: text.replace(b'unit="millimeter"', b'unit="inch"'))
    assert "length: measured" in off(measured(inch))
    wide = points.copy()
    at = np.asarray(BLOCK.at)
    radial = np.hypot(*(wide - at)[:, [0, 2]].T)
    wall = np.abs(radial - BLOCK.bore / 2) < 1e-6
    wide[np.ix_(wall, [0, 2])] = at[[0, 2]] + (wide - at)[np.ix_(wall, [0, 2])] * 1.02
    assert "bore: measured" in off(measured(as_file(wide, facets)))


def test_a_base_that_is_worn_is_noticed():
    """A pad sanded 0.05 lower at one end turns the block by more than the whole error budget."""
    points = BLOCK.vertices.copy()
    out = points @ np.asarray(BLOCK.base)
    low = out > out.max() - 1e-6
    ahead = points @ np.asarray(BLOCK.forward)
    points[low] -= (
        np.asarray(BLOCK.base)
        * 0.05
        * ((ahead[low] - ahead[low].min()) / np.ptp(ahead[low]))[:, None]
    )
    found = measured(as_file(points, BLOCK.triangles))
    assert "forward: measured" in off(found)


# --- other programs


def test_an_ascii_stl_of_another_program_is_read():
    """It is text, and has the same facets."""
    mesh = trimesh.load(io.BytesIO(solid_bytes(BLOCK, "stl")), file_type="stl")
    text = mesh.export(file_type="stl_ascii").encode()
    found = read_solid(text)
    assert found.open_edges == 0
    assert found.volume == pytest.approx(mesh.volume, rel=1e-6)


def test_a_3mf_saved_by_another_program_in_inches_is_measured_in_mm(tmp_path):
    """Units are read, not guessed; what was lost of the record is said."""
    points, facets = BLOCK.vertices / 25.4, BLOCK.triangles
    model = lib3mf.get_wrapper().CreateModel()
    model.SetUnit(lib3mf.ModelUnit.Inch)
    mesh = model.AddMeshObject()
    corners, sides = [], []
    for x, y, z in points.tolist():
        corner = lib3mf.Position()
        corner.Coordinates[:] = [x, y, z]
        corners.append(corner)
    for row in facets.tolist():
        side = lib3mf.Triangle()
        side.Indices[:] = row
        sides.append(side)
    mesh.SetGeometry(corners, sides)
    model.AddBuildItem(mesh, lib3mf.get_wrapper().GetIdentityTransform())
    path = tmp_path / "resaved.3mf"
    before = locale.setlocale(locale.LC_ALL)
    model.QueryWriter("3mf").WriteToFile(str(path))
    # lib3mf leaves the process in the C locale, in which text is read as ASCII.
    locale.setlocale(locale.LC_ALL, before)
    found = remeasure(path)
    assert found.pieces[0].extent == pytest.approx(BLOCK.extent[:2], abs=1e-3)
    assert not found.known


def test_a_3mf_whose_item_is_moved_is_measured_where_it_is_put():
    """A printer's program moves the body on its bed, and the record with its directions stays."""
    item = b'objectid="1"/>'
    put = b'objectid="1" transform="1 0 0 0 1 0 0 0 1 0 0 5"/>'
    moved = read_solid(with_model(lambda text: text.replace(item, put)))
    assert moved.points[:, 2].min() == pytest.approx(5.0)


# --- what cannot be read


def refused(data: bytes) -> str:
    with pytest.raises(DrawingFileError) as trouble:
        measured(data)
    return str(trouble.value)


def test_damaged_files_are_one_line():
    """Cut short, empty, a bomb, an entity: one line each."""
    whole = solid_bytes(BLOCK, "3mf")
    for data in (whole[: len(whole) // 2], b"PK\x03\x04" + b"3D/3dmodel.model" * 4):
        assert "is damaged" in refused(data)
    assert "no facet" in refused(b"solid x\nfacet nothing\nendsolid x")
    for model in (b"<model/>", b"<!DOCTYPE x [<!ENTITY a 'b'>]><model/>", b"<model unit='ell'/>"):
        stream = io.BytesIO()
        with zipfile.ZipFile(stream, "w") as archive:
            archive.writestr("3D/3dmodel.model", model)
        assert "is damaged" in refused(stream.getvalue())
    nan = bytearray(solid_bytes(BLOCK, "stl"))
    nan[96:100] = struct.pack("<f", math.nan)
    assert "corners that no solid has" in refused(bytes(nan))


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_no_garbled_file_is_more_than_one_line(data):
    """Whatever another program or a bad disk made of it."""
    whole = bytearray(solid_bytes(CAUL, data.draw(st.sampled_from(["3mf", "stl"]))))
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.integers(0, len(whole) - 1))
        whole[at] = data.draw(st.integers(0, 255))
    if data.draw(st.booleans()):
        del whole[data.draw(st.integers(0, len(whole))) :]
    try:
        found = measured(bytes(whole))
    except DrawingFileError as trouble:
        told = [str(trouble)]
    else:
        told = [f.text for f in found.findings]
        json.dumps(found.as_json(), allow_nan=False)
    assert all("\n" not in line for line in told)


def test_a_damaged_record_is_no_record():
    """A record without its bore, with a bore that is no number, with a direction of four parts."""
    for broken in (b'"bare":', b'"bore":NaN,"old":'):
        data = with_model(lambda text, key=broken: text.replace(b'"bore":', key))
        assert not measured(data).known
    data = with_model(lambda text: text.replace(b'"axis":[', b'"axis":[9,'))
    assert not measured(data).known


def test_a_manifest_of_other_files_is_no_help(tmp_path: Path):
    """Only the row of this file tells what it should be."""
    path = tmp_path / "b.stl"
    path.write_bytes(solid_bytes(BLOCK, "stl"))
    record = {"a.stl": solid_record(BLOCK)}
    (tmp_path / "manifest.json").write_bytes(
        manifest_bytes(
            {"a.stl": b"x"}, {"a.stl": ()}, {"a.stl": ()}, solids=record, job_name="x", version="1"
        )
    )
    assert not remeasure(path).known
