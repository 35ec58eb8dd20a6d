"""Solids: what two libraries from outside read in their files, and what is printed of them."""

from __future__ import annotations

import hashlib
import io
import math
import os
import subprocess
import sys
import zipfile
from dataclasses import dataclass
from pathlib import Path

import lib3mf
import numpy as np
import pytest
import trimesh
from commandline import bringing
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from offsetjobs import solved
from shapely.geometry import LineString, Point
from shapely.ops import polygonize, unary_union

from jiggen.drawing.solid import MISSING, Solid
from jiggen.errors import DoesNotFit, DrawingError
from jiggen.jigs.block import bushing_of, plan_block
from jiggen.jigs.solids import cradle_solids, seat_solid, shim_bar
from jiggen.write.solid import solid_bytes, solid_path

SLOPE = math.tan(math.radians(5.7))


@dataclass(frozen=True)
class PlainSeat:
    """A seat as a cradle states it, stop at the front."""

    slope: float = SLOPE
    height: float = 40.0
    stop: float = 20.0
    ends: tuple[float, float] = (-26.0, 20.0)
    channel: tuple[float, float] = (5.5, 10.5)

    @property
    def stop_top(self) -> float:
        """Return where its stop ends."""
        return self.level(self.stop) + 4.0

    def level(self, x: float) -> float:
        """Return its height over the table."""
        return self.height - x * self.slope


def solids(*args: float, **more: object) -> tuple[Solid, ...]:
    build = plan_block(solved(*args, **more)).solids
    assert build is not None
    return build()


def all_kinds() -> list[Solid]:
    return [
        *solids(7.0, 4.0),
        seat_solid(PlainSeat(), "cradle-1-seat", "CRADLE 1 seat"),
        seat_solid(PlainSeat(stop=0.0), "cradle-1-aft", "CRADLE 1 seat"),
        seat_solid(PlainSeat(), "cradle-1-support", "CRADLE 1 support", long=24.0, channel=False),
        shim_bar(SLOPE, 20.0, 1150.0, "shim-b1", "SHIM b1"),
    ]


def read_3mf(data: bytes, folder: Path) -> tuple[np.ndarray, np.ndarray]:
    """Read a 3MF by lib3mf, the consortium's own library; assert that it finds nothing amiss."""
    path = folder / "solid.3mf"
    path.write_bytes(data)
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert [reader.GetWarning(n) for n in range(reader.GetWarningCount())] == []
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    meshes = model.GetMeshObjects()
    assert meshes.Count() == 1
    assert meshes.MoveNext()
    mesh = meshes.GetCurrentMeshObject()
    assert mesh.IsManifoldAndOriented()
    points = np.array([list(v.Coordinates) for v in mesh.GetVertices()])
    return points, np.array([list(t.Indices) for t in mesh.GetTriangleIndices()])


@pytest.mark.parametrize("solid", all_kinds(), ids=lambda s: s.name)
def test_two_outside_readers_find_one_closed_body_in_mm(solid, tmp_path):
    """A hole in the mesh is filled by guess, and an inch file comes out 25 times too large."""
    stl = trimesh.load(io.BytesIO(solid_bytes(solid, "stl")), file_type="stl")
    assert stl.is_watertight
    assert stl.is_winding_consistent
    assert stl.volume > 0.0
    assert stl.body_count == 1
    points, facets = read_3mf(solid_bytes(solid, "3mf"), tmp_path)
    other = trimesh.Trimesh(points, facets, process=False)
    assert other.volume == pytest.approx(stl.volume, rel=1e-5)
    for mesh in (stl, other):
        low, high = mesh.bounds
        assert low == pytest.approx([0.0, 0.0, 0.0], abs=1e-5)
        assert high == pytest.approx(solid.extent, abs=1e-4)


def test_the_same_solid_is_the_same_file_whenever_it_is_written():
    """A manifest's hash must not change when nothing else did."""
    code = (
        "import sys, hashlib; sys.path.insert(0, 'tests')\n"
        "from offsetjobs import solved; from jiggen.jigs.block import plan_block\n"
        "from jiggen.write.solid import solid_bytes\n"
        "for s in plan_block(solved(7.0, 4.0)).solids():\n"
        "    for f in ('3mf', 'stl'): print(hashlib.sha256(solid_bytes(s, f)).hexdigest())"
    )
    root = Path(__file__).parent.parent.parent
    told = [
        subprocess.run(
            [sys.executable, "-c", code],
            cwd=root,
            env={**os.environ, "PYTHONPATH": str(root), "PYTHONHASHSEED": seed, "TZ": zone},
            capture_output=True,
            text=True,
            check=True,
            timeout=300,
        ).stdout.split()
        for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo"))
    ]
    here = [
        hashlib.sha256(solid_bytes(s, f)).hexdigest()
        for s in solids(7.0, 4.0)
        for f in ("3mf", "stl")
    ]
    assert told[0] == told[1] == here


def test_neither_file_has_a_date():
    """Source: the zip format's earliest day; an STL's head is 80 bytes of anything but "solid"."""
    (solid, *_) = solids(7.0, 4.0)
    with zipfile.ZipFile(io.BytesIO(solid_bytes(solid, "3mf"))) as archive:
        parts = archive.infolist()
    assert [p.filename for p in parts] == ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
    assert {p.date_time for p in parts} == {(1980, 1, 1, 0, 0, 0)}
    head = solid_bytes(solid, "stl")[:80]
    assert head.rstrip() == b"jiggen block-a1-solid-mm, unit mm"
    assert solid_path(solid, "stl") == "solids/block-a1-solid-mm.stl"
    assert solid_path(solid, "3mf") == "solids/block-a1-solid.3mf"


# --- what is printed


def layer(solid: Solid, z: float) -> list:
    """Return what of a solid lies at a height, as polygons, from its triangles alone."""
    lines = []
    for corners in solid.vertices[solid.triangles]:
        above = corners[:, 2] > z
        if above.all() or not above.any():
            continue
        ends = [
            p + (q - p) * (z - p[2]) / (q[2] - p[2])
            for p, q in zip(corners, np.roll(corners, -1, axis=0), strict=True)
            if (p[2] > z) != (q[2] > z)
        ]
        lines.append(LineString([tuple(np.round(e[:2], 7)) for e in ends]))
    faces = [f for f in polygonize(unary_union(lines)) if f.area > 1e-6]
    whole = sorted(faces, key=lambda f: -f.area)[0]
    return [f for f in faces if f is whole or not whole.contains(f.representative_point())]


@settings(max_examples=6, deadline=None)
@given(
    st.tuples(st.floats(1.0, 20.0), st.floats(1.0, 20.0)), st.floats(15.0, 30.0),
    st.sampled_from(["#40", "#30", "2.5 mm", "4.1 mm"]),
)  # fmt: skip
def test_a_printed_block_has_walls_that_print_and_a_slope_that_is_drawn(skins, depth, drill):
    """Nozzle 0.4: walls of 1.2, pads of 1.6 (READ); lying on its side the slope has no steps."""
    try:
        made = solids(*skins, depth=depth, drill=drill)
    except DoesNotFit:
        assume(False)
    for solid in made:
        assert abs(solid.base[2]) < 1e-12, "the section lies in the layers"
        for share in (0.05, 0.5, 0.95):
            for face in layer(solid, share * solid.extent[2]):
                # What a brush as wide as the thinnest wall cannot paint is not printed; of a pad,
                # what one of 1.6 cannot.
                painted = face.buffer(-0.59, join_style=2).buffer(0.59, join_style=2)
                assert face.difference(painted.buffer(1e-6)).area < 0.02
    for block in made[::2]:
        (face,) = layer(block, block.extent[2] - 3.0)
        painted = face.buffer(-0.79, join_style=2).buffer(0.79, join_style=2)
        assert face.difference(painted.buffer(1e-6)).area < 0.02


def test_the_pocket_is_printed_too_narrow_and_drilled_out():
    """A bushing glued in 0.2 of slack leans 0.90 deg; in a drilled hole 0.23."""
    solution = solved(5.7, 5.7)
    block, caul = solids(5.7, 5.7)
    assert block.bore == pytest.approx(bushing_of(solution.job, solution.job.holes).body - 0.4)
    middle = Point(block.at[0], block.at[2])
    inner = [
        math.hypot(x - middle.x, z - middle.y)
        for x, _, z in block.vertices.tolist()
        if math.hypot(x - middle.x, z - middle.y) < block.bore
    ]
    assert max(inner) == pytest.approx(block.bore / 2, abs=1e-6)
    assert caul.bore > 2 * 2.4892


def test_the_top_is_flat_for_the_drill_press_and_the_tongue_lower():
    """It stands on its top when the pocket is drilled out."""
    block, _ = solids(5.7, 5.7)
    top = block.vertices[:, 1].max()
    at_top = block.vertices[np.abs(block.vertices[:, 1] - top) < 1e-6]
    assert at_top[:, 2].min() < block.at[2] - 10.0
    assert at_top[:, 2].max() > block.at[2] + 25.0
    beyond = block.vertices[block.vertices[:, 2] > at_top[:, 2].max() + 1.0]
    assert beyond[:, 1].max() < top - 2.0


def test_the_first_layers_are_cut_back():
    """They squash outward, and would hold a pad up."""
    block, _ = solids(5.7, 5.7)
    (first,), (later,) = layer(block, 0.1), layer(block, 0.5)
    assert later.buffer(-0.39).contains(first) or first.area < later.area
    assert later.exterior.distance(first.exterior) == pytest.approx(0.4, abs=1e-3)


def test_shim_bars_lap_into_each_other():
    """End to end they make one even bar: no step of half a mm between two prints."""
    bar = shim_bar(SLOPE, 20.0, 1150.0, "shim-b1", "SHIM b1")
    assert bar.count == 6
    along, up = bar.vertices[:, 0], bar.vertices[:, 1]
    lower, upper = along[up < 1.6 - 1e-6], along[up > 1.6 + 1e-6]
    assert (lower.min(), lower.max()) == pytest.approx((0.0, 200.0))
    assert (upper.min(), upper.max()) == pytest.approx((3.0, 203.0))
    # The thick side under the trailing edge, the thin one at the front, on the printer's bed.
    front = bar.vertices[bar.vertices[:, 2] < 0.5]
    assert front[:, 1].max() - front[:, 1].min() < 3.3
    with pytest.raises(DoesNotFit, match="needs no shim"):
        shim_bar(0.0, 20.0, 1000.0, "shim-b1", "SHIM b1")


def test_a_cradle_is_printed_as_seat_supports_and_shim_bars():
    """What hangs over lies on supports; a face that lies level needs no shim."""
    seats = [("b1", PlainSeat()), ("a1", PlainSeat(slope=0.0))]
    found = cradle_solids(seats, depth=20.0, edge=900.0, loose=2)
    assert [(one.name, one.count) for one in found] == [
        ("cradle-b1-seat-solid", 1), ("cradle-b1-support", 2), ("cradle-b1-shim", 5),
        ("cradle-a1-seat-solid", 1), ("cradle-a1-support", 2),
    ]  # fmt: skip
    assert found[0].angle == pytest.approx(84.3)
    assert found[3].angle == pytest.approx(90.0)
    assert not [s for s in cradle_solids(seats, depth=20.0, edge=90.0, loose=0) if "supp" in s.name]


def test_a_seat_holds_the_wedge_by_its_front_and_lets_the_bit_through():
    """Without the channel the bit drills into the seat."""
    seat = seat_solid(PlainSeat(), "s", "S")
    (face,) = layer(seat, 30.0)
    zero = seat.at[0], seat.at[1] - PlainSeat().height
    for x, there in ((2.0, True), (8.0, False), (12.0, True)):
        assert face.contains(Point(zero[0] + x, zero[1] + PlainSeat().level(x) - 1.0)) == there
    assert face.contains(Point(zero[0] + 22.0, zero[1] + PlainSeat().stop_top - 0.5))
    with pytest.raises(DoesNotFit, match="lower than its ledge"):
        seat_solid(PlainSeat(height=6.0), "s", "S")


def test_without_the_extra_one_line_says_what_to_install(monkeypatch):
    """A traceback of an import tells nobody what to do."""
    monkeypatch.setitem(sys.modules, "manifold3d", None)
    with pytest.raises(DrawingError) as missing:
        solids(5.7, 5.7)
    assert str(missing.value) == MISSING
    assert MISSING.endswith(f": {bringing('solid')}")
