"""What jiggen wrote measures true, and what the measurement says is what the interface promises."""

import json
import math
from pathlib import Path

import pytest
from drawingset import write_set
from samplesheets import CORNER

from jiggen.drawing.affine import Affine
from jiggen.remeasure.answer import Measurement
from jiggen.remeasure.measure import remeasure

FILES = ("print.pdf", "cut-1.svg", "cut-1.dxf", "pieces/guide-a.svg", "pieces/block.dxf")
#: a, b, c, d of a printer's inverse: no two alike, so that an exchanged pair shows.
CORRECTION = (1.0152, 0.0009, 0.0043, 0.9881)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of drawings with kerf."""
    return write_set(tmp_path_factory.mktemp("true"))


@pytest.mark.parametrize("name", FILES)
def test_what_was_written_is_true(made: Path, name: str) -> None:
    """A check that cries wolf at good files will be switched off."""
    measured = remeasure(made / name)
    assert [f.text for f in measured.findings if "text on it" not in f.text] == []
    assert measured.ok
    # Six decimals of a mm or a point: what the files themselves can hold.
    if measured.worst_length_error is not None:
        assert measured.worst_length_error < 2e-6
    assert all(piece.worst_shift is not None for piece in measured.pieces)
    assert max(piece.worst_shift or 0.0 for piece in measured.pieces) < 1e-3


def test_the_angle_of_each_guide_is_found_in_its_own_edges(made: Path) -> None:
    """The product is an angle: two guides on the bed, one of them turned."""
    for name in ("print.pdf", "cut-1.svg", "cut-1.dxf"):
        pieces = {piece.name: piece for piece in remeasure(made / name).pieces if piece.angles}
        assert set(pieces) == {"guide-a", "guide-a-2"}
        for piece in pieces.values():
            assert piece.angles[0].measured == pytest.approx(CORNER, abs=2e-6)


def test_the_outline_has_the_area_of_the_piece_in_every_format(made: Path) -> None:
    """Outlines in JSON are what others will check: in mm, y up, arcs and all."""
    areas = []
    for name in ("cut-1.svg", "cut-1.dxf"):
        row = {p["name"]: p for p in remeasure(made / name).as_json()["pieces"]}
        points = row["guide-a"]["outline"]
        areas.append(_area(points))
        assert all(0 < x < 210 and 0 < y < 297 for x, y in points)
    assert areas[0] == pytest.approx(areas[1], rel=1e-5)
    assert areas[0] > 0


def _area(points: list[list[float]]) -> float:
    pairs = zip(points, [*points[1:], points[0]], strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2


def test_the_json_is_the_interface(made: Path) -> None:
    """Programs outside rely on these names."""
    record = json.loads(json.dumps(remeasure(made / "print.pdf").as_json(), allow_nan=False))
    assert list(record) == [
        "file", "format", "unit", "pieces", "worst_length_error", "worst_angle_error",
        "ok", "pages", "findings",
    ]  # fmt: skip
    assert (record["format"], record["unit"]) == ("pdf", "mm")
    assert record["file"].endswith("print.pdf")
    piece = record["pieces"][0]
    assert list(piece)[:5] == ["name", "outline", "angle", "angle_nominal", "bars"]
    assert (piece["name"], piece["angle_nominal"]) == ("guide-a", CORNER)
    assert piece["bars"] == [
        {"name": "bar-40", "measured": pytest.approx(40.0, abs=1e-6), "nominal": 40.0}
    ]
    assert record["pieces"][1]["angle"] is None
    assert record["pieces"][1]["angle_nominal"] is None
    assert [page["page"] for page in record["pages"]] == [1, 2]
    assert record["pages"][0]["bars"][0]["measured"] == pytest.approx(100.0, abs=1e-6)


def test_a_size_over_corners_is_measured_where_the_corners_are_drawn(tmp_path: Path) -> None:
    """With kerf the corners lie half a slot outside, and what is there is no size of the piece."""

    def sizes(folder: Path) -> list[str]:
        piece = next(p for p in remeasure(folder / "cut-1.svg").pieces if p.name == "guide-a")
        return [bar.name for bar in piece.bars] + [size.name for size in piece.sizes]

    assert sizes(write_set(tmp_path / "a", kerf=0.0)) == ["bar-40"]
    assert sizes(write_set(tmp_path / "b", kerf=0.15)) == ["bar-40"]


@pytest.mark.parametrize("record", [True, False])
def test_a_print_correction_is_known_and_taken_into_account(tmp_path: Path, record: bool) -> None:
    """A corrected page measures wrong on purpose: it comes out true on its own printer."""
    a, b, c, d = CORRECTION
    folder = write_set(tmp_path, correction=Affine(a=a, b=b, c=c, d=d))
    path = folder / "print.pdf"
    if not record:  # the correction is in the manifest too
        path.write_bytes(path.read_bytes().replace(b"/JiggenRecord", b"/JiggenRecoru"))
    measured = remeasure(path)
    assert measured.ok
    assert "correction" in " ".join(f.text for f in measured.findings)
    bar = measured.pages[0].bars[0]
    assert bar.nominal == 100.0
    assert bar.measured == pytest.approx(100 * math.hypot(a, b), abs=1e-5)
    assert bar.error == pytest.approx(0.0, abs=1e-5)
    assert (measured.worst_length_error or 0.0) < 1e-5
    assert (measured.worst_angle_error or 0.0) < 1e-5
    angle = measured.pieces[0].angles[0]
    assert angle.nominal == CORNER
    assert angle.measured is not None
    assert abs(angle.measured - CORNER) > 0.1


def test_a_correction_that_is_not_there_is_off(tmp_path: Path) -> None:
    """A page that says it is corrected, and is not, comes out wrong on the printer."""
    a, b, c, d = CORRECTION
    folder = write_set(tmp_path, correction=Affine(a=a, b=b, c=c, d=d))
    path = folder / "print.pdf"
    lines = path.read_bytes().split(b"\n")
    kept = [line for line in lines if not (line.startswith(b"1.0152 ") and line.endswith(b" cm"))]
    assert len(kept) == len(lines) - 2
    path.write_bytes(b"\n".join(kept))
    measured = remeasure(path)
    assert not measured.known
    assert "do not lie where the record puts them" in _said(measured)


def test_without_a_manifest_the_record_inside_is_enough(made: Path, tmp_path: Path) -> None:
    """A file that was mailed arrives alone."""
    for name in FILES:
        alone = tmp_path / Path(name).name
        alone.write_bytes((made / name).read_bytes())
        measured = remeasure(alone)
        assert measured.ok
        assert measured.findings == ()


def test_a_file_under_another_name_is_known_by_its_hash(made: Path, tmp_path: Path) -> None:
    """Renaming does not change a drawing."""
    for name in ("manifest.json", "cut-1.svg"):
        (tmp_path / name).write_bytes((made / name).read_bytes())
    renamed = (tmp_path / "cut-1.svg").rename(tmp_path / "to-the-workshop.svg")
    measured = remeasure(renamed)
    assert measured.ok
    assert measured.findings == ()


def test_a_manifest_of_another_run_is_off(made: Path, tmp_path: Path) -> None:
    """An old file in a new folder is an old angle."""
    folder = write_set(tmp_path, kerf=0.1)
    (folder / "cut-1.svg").write_bytes((made / "cut-1.svg").read_bytes())
    measured = remeasure(folder / "cut-1.svg")
    assert not measured.ok
    assert "of another run than the manifest" in _said(measured)


def test_a_drawing_of_another_program_is_measured_but_not_judged(tmp_path: Path) -> None:
    """What is not known is said, and does not pass for good."""
    path = tmp_path / "other.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">'
        '<path d="M1 1H99V79H1Z" fill="none"/><path d="M10 10H50V40H10Z" fill="none"/>'
        '<circle cx="20" cy="20" r="7" fill="none"/></svg>'
    )
    measured = remeasure(path)
    assert not measured.ok
    assert not measured.known
    assert "cannot be judged" in _said(measured)
    (piece,) = measured.as_json()["pieces"]
    assert piece["name"] == "piece 1"
    assert piece["angle"] is None
    assert piece["outline"] == [[10, 70], [50, 70], [50, 40], [10, 40]]


def test_a_drawing_of_which_nothing_is_known_is_never_good() -> None:
    """No findings may also mean that nothing was looked at."""
    nothing = Measurement(file="x.svg", kind="svg", pieces=(), pages=(), findings=(), known=False)
    assert not nothing.ok
    assert (nothing.worst_length_error, nothing.worst_angle_error) == (None, None)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'{"jiggen":1,', b'{"jiggen":9,'),
        (b'"pieces":', b'"sheets":'),
        (b'"ends":[[', b'"ends":[['[:-1] + b"7,["),
        (b'{"jiggen":1,', b'{"jiggen":1'),
    ],
)
def test_a_damaged_record_is_said(made: Path, tmp_path: Path, old: bytes, new: bytes) -> None:
    """A newer or broken record must not be half understood."""
    data = (made / "cut-1.svg").read_bytes()
    assert old in data
    (tmp_path / "cut-1.svg").write_bytes(data.replace(old, new, 1))
    measured = remeasure(tmp_path / "cut-1.svg")
    assert not measured.ok
    assert "cannot be used" in _said(measured)


def _said(measured: Measurement) -> str:
    return " | ".join(finding.text for finding in measured.findings)


def test_a_file_that_was_touched_and_still_measures_true_is_said_to_be_touched(
    tmp_path: Path,
) -> None:
    """Whoever did it may not know that he did; true to size, it is not the file that was made."""
    made = write_set(tmp_path)
    before = remeasure(made / "cut-1.svg")
    assert not any("byte for byte" in finding.text for finding in before.findings)
    with (made / "cut-1.svg").open("a", encoding="utf-8") as stream:
        stream.write("<!-- seen -->\n")
    after = remeasure(made / "cut-1.svg")
    assert after.ok
    assert any("not byte for byte as it was written" in f.text for f in after.findings)
