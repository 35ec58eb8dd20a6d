import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path as FilePath
from typing import Any

import pytest
import readback
from samplesheets import block, full_sheet, guide, one_piece

import jiggen
from jiggen.write.colours import Looks
from jiggen.write.manifest import FORMATS, listed_files
from jiggen.write.output import make_files
from jiggen.write.record import sheet_record

ROOTS = [str(FilePath(jiggen.__file__).parents[1]), str(FilePath(__file__).parents[1])]

#: What a process of its own runs: write everything, say the hash of each file and what was loaded.
PROGRAM = """
import hashlib, json, sys
from test_output import everything
files = everything(tuple(sys.argv[1].split(",")))
hashes = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
print(json.dumps({"hashes": hashes, "loaded": sorted(sys.modules)}))
"""


def everything(formats: tuple[str, ...] = FORMATS, **changes: Any) -> dict[str, bytes]:
    arguments: dict[str, Any] = {
        "print_sheets": [full_sheet("page 1"), one_piece(block(), "page 2")],
        "cut_sheets": [full_sheet("cut-1"), one_piece(block(), "cut-2")],
        "piece_sheets": [one_piece(guide(), "guide-a"), one_piece(block(), "block")],
        "formats": formats,
        "looks": Looks(),
        "correction": None,
        "title": "Flügel, jigs",
        "job_name": "Flügel",
        "version": "1.2.3",
    }
    return make_files(**arguments | changes)


def in_a_process(formats: str, seed: str) -> dict[str, Any]:
    # The test's own module would load pytest and with it more than the program does.
    program = PROGRAM.replace("from test_output import everything", _without_pytest())
    environment = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(ROOTS),
        "PYTHONHASHSEED": seed,
    }
    command = [sys.executable, "-c", program, formats]
    run = subprocess.run(command, env=environment, capture_output=True, check=True, timeout=60)
    answer: dict[str, Any] = json.loads(run.stdout)
    return answer


def _without_pytest() -> str:
    source = FilePath(__file__).read_text(encoding="utf-8")
    function = source[source.index("def everything(") : source.index("def in_a_process(")]
    return (
        "from typing import Any\n"
        "from samplesheets import block, full_sheet, guide, one_piece\n"
        "from jiggen.write.colours import Looks\n"
        "from jiggen.write.manifest import FORMATS\n"
        "from jiggen.write.output import make_files\n" + function
    )


def test_files_have_the_names_that_the_shop_looks_for() -> None:
    """One page to print, one file a bed, and each piece by itself."""
    assert list(everything()) == [
        "print.pdf",
        "cut-1.svg",
        "cut-1.dxf",
        "cut-2.svg",
        "cut-2.dxf",
        "pieces/guide-a.svg",
        "pieces/guide-a.dxf",
        "pieces/block.svg",
        "pieces/block.dxf",
        "manifest.json",
    ]


def test_the_same_job_gives_the_same_bytes_in_every_process() -> None:
    """Two saves in one process cannot show an order that hangs on the process's hash seed."""
    here = {name: hashlib.sha256(data).hexdigest() for name, data in everything().items()}
    for seed in ("0", "4242"):
        assert in_a_process("pdf,svg,dxf", seed)["hashes"] == here


def test_a_page_to_print_does_not_wait_for_the_other_formats_libraries() -> None:
    """The DXF library alone takes longer to load than all else (measured: 250 of 350 ms)."""
    loaded = set(in_a_process("pdf", "0")["loaded"])
    assert "reportlab" in loaded
    assert loaded & {"ezdxf", "svgwrite", "manifold3d"} == set()
    loaded = set(in_a_process("svg", "0")["loaded"])
    assert "svgwrite" in loaded
    assert loaded & {"ezdxf", "reportlab", "manifold3d"} == set()


def test_the_manifest_lists_every_file_with_its_hash_and_what_is_on_it() -> None:
    """It is how the next run knows its own files, and what a check compares with."""
    files = everything()
    data = files.pop("manifest.json")
    manifest = json.loads(data)
    assert (manifest["jiggen"], manifest["version"], manifest["job"]) == (1, "1.2.3", "Flügel")
    rows = {row["file"]: row for row in manifest["files"]}
    assert list(rows) == sorted(files)
    for name, row in rows.items():
        assert row["sha256"] == hashlib.sha256(files[name]).hexdigest()
        assert row["bytes"] == len(files[name])
        assert row["format"] == name.rsplit(".")[-1]
    pages = rows["print.pdf"]["sheets"]
    assert [page.pop("page") for page in pages] == [1, 2]
    drawn = [page.pop("drawn") for page in pages]
    assert drawn[0]["words"] == ["print at 100 %", *["84.7° (A) FORWARD", "TE"] * 2]
    assert pages == [sheet_record(full_sheet("page 1")), sheet_record(one_piece(block(), "page 2"))]
    # What a file carries and what the manifest lists of it is one record.
    metadata = next(readback.svg_root(files["cut-1.svg"]).iter("metadata"))
    assert rows["cut-1.svg"]["sheets"] == [json.loads(str(metadata.text))]
    assert rows["cut-1.dxf"]["sheets"] == rows["cut-1.svg"]["sheets"]
    assert listed_files(data) == {name: {row["sha256"]} for name, row in rows.items()}


def test_a_point_takes_one_line_of_the_manifest() -> None:
    """People read it too, and compare two of them."""
    assert b"[25.7, 33.1]" in everything(("svg",))["manifest.json"]


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"[]",
        b"{}",
        b'"jiggen"',
        b"\xff\xfe",
        b"[" * 100000,
        b'{"jiggen": 1}',
        b'{"jiggen": 1, "files": 3}',
        b'{"jiggen": 1, "files": [{"file": "x"}]}',
        b'{"jiggen": 2, "files": []}',
    ],
)
def test_what_is_no_manifest_of_ours_is_not_taken_for_one(data: bytes) -> None:
    """Another program's manifest.json must never license us to replace its files."""
    assert listed_files(data) is None


def test_only_the_formats_that_were_asked_for_are_made() -> None:
    """And the manifest lists no others."""
    files = everything(("svg",))
    assert {name.rsplit(".")[-1] for name in files} == {"svg", "json"}
    assert set(listed_files(files["manifest.json"]) or ()) == set(files) - {"manifest.json"}
    assert set(everything(("pdf",), print_sheets=[])) == {"manifest.json"}


def test_each_file_is_told_when_it_is_ready() -> None:
    """A progress bar counts them."""
    told: list[str] = []
    files = everything(on_file=told.append)
    assert told == [name for name in files if name != "manifest.json"]


def test_an_unknown_format_and_two_sheets_of_one_name_are_refused() -> None:
    """The second would silently take the first one's place."""
    with pytest.raises(ValueError, match="unknown format step; known are pdf, svg, dxf"):
        everything(("pdf", "step"))
    with pytest.raises(ValueError, match=r"two sheets would be written to cut-1\.svg"):
        everything(("svg",), cut_sheets=[full_sheet(), full_sheet()])
