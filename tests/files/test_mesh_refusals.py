"""What cannot be used is refused in one sentence: file, field, value, fault, remedy. Nothing else ever escapes."""

from __future__ import annotations

import random
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.errors import ScanError
from scanprep.files.meshes import load_scan, read_mesh
from scanprep.rules import ScanRules
from scanprep.scan.clean import clean
from tests.files import scan_files
from tests.shapes import box, cylinder

SOLID = box(cuts=2)
V, F = SOLID.vertices_mm, SOLID.faces


def saved(folder: Path, name: str, content: bytes) -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


FILES: dict[str, Callable[[], bytes]] = {
    "a.obj": lambda: scan_files.obj(V, F), "a.ply": lambda: scan_files.ply(V, F),
    "b.ply": lambda: scan_files.ply(V, F, ">"), "c.ply": lambda: scan_files.ply(V, F, ""),
    "a.stl": lambda: scan_files.stl(V, F), "b.stl": lambda: scan_files.stl_text(V, F),
    "a.glb": lambda: scan_files.plain_glb(V, F), "a.off": lambda: scan_files.off(V, F),
    "a.3mf": lambda: scan_files.threemf(V, F), "a.zip": lambda: scan_files.zipped({"s/a.obj": scan_files.obj(V, F)}),
}


def wounded(content: bytes, chance: random.Random) -> bytes:
    """Cut off, a few bytes changed anywhere or in the heading, a piece put in or taken out."""
    data = bytearray(content)
    kind = chance.randrange(5)
    at = chance.randrange(len(data))
    if kind == 0:
        return bytes(data[:at])
    if kind in (1, 2):
        for _ in range(chance.choice([1, 3, 20])):
            data[chance.randrange(len(data) if kind == 1 else min(len(data), 300))] = chance.randrange(256)
    elif kind == 3:
        data[at:at] = bytes(chance.randrange(256) for _ in range(chance.randrange(1, 40)))
    else:
        del data[at:at + chance.randrange(1, 100)]
    return bytes(data)


@pytest.mark.parametrize("name", FILES)
def test_a_damaged_file_is_read_or_refused_in_one_sentence(tmp_path: Path, name: str) -> None:
    content = FILES[name]()
    chance = random.Random(zlib.crc32(name.encode()))
    refused = 0
    for _ in range(60):
        path = saved(tmp_path, name, wounded(content, chance))
        before = path.read_bytes()
        try:
            scan = load_scan(path, ObjectBrief("1", unit="mm"), ScanRules())
            cleaned = clean(scan, ObjectBrief("1"), ScanRules())
            assert np.isfinite(cleaned.vertices_mm).all()
        except ScanError as fault:
            refused += 1
            assert "\n" not in str(fault)
            assert str(fault).startswith(str(tmp_path))
            assert len(str(fault)) - len(str(tmp_path)) < 330
        assert path.read_bytes() == before
    assert refused >= 10  # damage like this does not pass unnoticed
    assert [each.name for each in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize("share", [0.02, 0.3, 0.7, 0.98])
@pytest.mark.parametrize("name", [name for name in FILES if name not in ("a.obj",)])
def test_a_cut_off_file_is_refused(tmp_path: Path, name: str, share: float) -> None:
    # OBJ has no count and no end mark: a cut between lines cannot be known, one within a line can
    content = FILES[name]()
    with pytest.raises(ScanError):
        read_mesh(saved(tmp_path, name, content[:int(share * len(content))]))


def test_a_cut_off_obj_that_announced_its_faces_is_refused(tmp_path: Path) -> None:
    whole = scan_files.obj(V, F, head=f"# Vertices: {len(V)}\n# Faces: {len(F)}")
    cut = whole[:whole.rindex(b"f ")]
    with pytest.raises(ScanError, match="cut off"):
        read_mesh(saved(tmp_path, "cut.obj", cut))


@pytest.mark.parametrize(("name", "content", "words"), [
    ("none.obj", b"", "the file is empty"),
    ("text.obj", b"hello there\n", "no vertices"),
    ("points.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\n", "no faces"),
    ("index.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n", r"vertex = 8: .*does not exist"),
    ("zero.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 0 1 2\n", "does not exist"),
    ("comma.obj", b"v 0,5 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "'0,5' is not a number"),
    ("nan.obj", b"v nan nan nan\nv nan 0 0\nv 0 1 nan\nf 1 2 3\n", "no face has finite coordinates"),
    ("cloud.xyz", b"0 0 0\n", "point cloud.*export the surface"),
    ("model.dae", b"<?xml version='1.0'?><COLLADA/>", "COLLADA is not read. Export the scan as OBJ"),
    ("model.fbx", b"Kaydara FBX Binary", "FBX is not read"),
    ("scan", b"v 0 0 0\n", "this kind of file is not read"),
    ("wrong.obj", b"ply\nformat ascii 1.0\nend_header\n", r"content is PLY. Rename it to \.ply"),
    ("wrong.stl", b"glTF\x02\0\0\0", r"content is GLB. Rename it to \.glb"),
    ("photo.obj", b"\x89PNG\r\n\x1a\n", "content is A PNG PICTURE"),
    ("page.ply", b"<!DOCTYPE html><html>", "content is A WEB PAGE"),
    ("many.ply", b"ply\nformat binary_little_endian 1.0\nelement vertex 4000000000\nproperty float x\n"
                 b"property float y\nproperty float z\nelement face 9\n"
                 b"property list uchar int vertex_indices\nend_header\n",
     r"vertices = 4,000,000,000: is more than"),
    ("many.stl", b" " * 80 + struct.pack("<I", 4_000_000_000) + b"\0" * 100, "faces = 4,000,000,000: is more than"),
    ("old.glb", b"glTF" + struct.pack("<II", 1, 100) + b"\0" * 88, "version = 1: only glTF 2 is read"),
    ("two.zip", scan_files.zipped({"a.obj": b"v 0 0 0\n", "b.obj": b"v 0 0 0\n"}), "it holds 2 scans"),
    ("none.zip", scan_files.zipped({"readme.txt": b"hello"}), "it holds no scan"),
])
def test_each_fault_has_its_sentence(tmp_path: Path, name: str, content: bytes, words: str) -> None:
    with pytest.raises(ScanError, match=words):
        read_mesh(saved(tmp_path, name, content))


def test_a_missing_file_and_a_folder_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises(ScanError, match="there is no such file"):
        read_mesh(tmp_path / "none.obj")
    with pytest.raises(ScanError, match="that is a folder"):
        read_mesh(tmp_path)


def test_more_faces_than_allowed_are_refused(tmp_path: Path) -> None:
    with pytest.raises(ScanError, match="Decimate the scan"):
        read_mesh(saved(tmp_path, "a.stl", scan_files.stl(V, F)), most_faces=10)


def test_a_huge_texture_is_refused_before_it_is_unpacked(tmp_path: Path) -> None:
    # A PNG whose heading promises 60,000 x 60,000 pixels: 10.8 GB if it were believed
    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    png = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + b"IHDR" + head + struct.pack(">I", zlib.crc32(b"IHDR" + head))
    png += struct.pack(">I", 4) + b"IDAT\0\0\0\0" + struct.pack(">I", zlib.crc32(b"IDAT\0\0\0\0"))
    saved(tmp_path, "big.png", png)
    saved(tmp_path, "a.mtl", b"newmtl m\nmap_Kd big.png\n")
    text = b"mtllib a.mtl\nv 0 0 0\nv 1 0 0\nv 0 1 0\nvt 0 0\nusemtl m\nf 1/1 2/1 3/1\n"
    with pytest.raises(ScanError, match=r"texture = big\.png: the texture is .*Shrink the texture"):
        read_mesh(saved(tmp_path, "a.obj", text))


def test_a_broken_texture_is_refused(tmp_path: Path) -> None:
    saved(tmp_path, "bad.jpg", b"\xff\xd8\xff\xe0 no picture")
    saved(tmp_path, "a.mtl", b"newmtl m\nmap_Kd bad.jpg\n")
    text = b"mtllib a.mtl\nv 0 0 0\nv 1 0 0\nv 0 1 0\nvt 0 0\nusemtl m\nf 1/1 2/1 3/1\n"
    with pytest.raises(ScanError, match="the texture cannot be read"):
        read_mesh(saved(tmp_path, "a.obj", text))


def test_a_scan_may_not_name_files_outside_its_folder(tmp_path: Path) -> None:
    folder = tmp_path / "scans"
    folder.mkdir()
    saved(tmp_path, "secret.mtl", b"newmtl m\nKd 1 0 0\n")
    text = b"mtllib ../secret.mtl\nv 0 0 0\nv 1 0 0\nv 0 1 0\nusemtl m\nf 1 2 3\n"
    mesh = read_mesh(saved(folder, "a.obj", text))
    assert mesh.colours is None
    assert "not next to the scan" in mesh.notes[0]


@pytest.mark.parametrize("head", ["# Vertices: {v}\n# Faces: {f}\n", "# {v} vertices, {f} faces\n",
                                  "#  Number of triangles: {f}\n"])
def test_an_obj_cut_between_lines_is_refused_where_a_comment_tells_its_counts(tmp_path: Path, head: str) -> None:
    whole = scan_files.obj(V, F, head.format(v=len(V), f=len(F)))
    assert len(read_mesh(saved(tmp_path, "whole.obj", whole)).faces) == len(F)
    lines = whole.split(b"\n")
    for cut in (len(lines) - 3, len(lines) - len(F) // 2):
        with pytest.raises(ScanError, match="cut off"):
            read_mesh(saved(tmp_path, "cut.obj", b"\n".join(lines[:cut]) + b"\n"))


def test_an_obj_cut_between_lines_is_told_by_vertices_that_belong_to_no_face(tmp_path: Path) -> None:
    solid = cylinder()
    whole = scan_files.obj(solid.vertices_mm, solid.faces)
    lines = whole.split(b"\n")
    cut = saved(tmp_path, "cut.obj", b"\n".join(lines[:-len(solid.faces) // 3]) + b"\n")
    told = {finding.code: finding.sentence
            for finding in load_scan(cut, ObjectBrief("1", unit="mm"), ScanRules()).findings}
    assert "belong to no face" in told["reading-note"]
    assert load_scan(saved(tmp_path, "whole.obj", whole), ObjectBrief("1", unit="mm"), ScanRules()).findings == ()
