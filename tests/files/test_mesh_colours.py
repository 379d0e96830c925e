"""Colours per vertex, from pictures, from plain materials; glTF's nodes and compression against a reference reader.

The reference is a general mesh library, used as a judge only.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from scanprep.brief import ObjectBrief
from scanprep.files.mesh_obj import read_mtl
from scanprep.files.meshes import read_mesh
from scanprep.rules import ScanRules
from scanprep.scan.clean import clean
from tests.files import scan_files
from tests.shapes import box, cup, scan_of

RED, GREEN, BLUE, WHITE = (200, 10, 10), (10, 200, 10), (10, 10, 200), (250, 250, 250)
#: Four fields, as a viewer sees the picture: red and green above, blue and white below.
PIXELS = np.repeat(np.repeat(np.array([[RED, GREEN], [BLUE, WHITE]], np.uint8), 8, axis=0), 8, axis=1)


def saved(folder: Path, name: str, content: bytes) -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


def test_obj_reads_the_picture_with_the_origin_below(tmp_path: Path) -> None:
    saved(tmp_path, "my map.png", scan_files.picture(PIXELS))
    # A trailing space after the picture's name, as some scanning programs write it
    saved(tmp_path, "a.mtl", b"newmtl skin\nKd 1 1 1\nmap_Kd my map.png \n")
    text = (b"mtllib a.mtl \nv 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nvt .25 .25\nvt .75 .25\nvt .75 .75\nvt .25 .75\n"
            b"usemtl skin\nf 1/1 2/2 3/3 4/4\n")
    mesh = read_mesh(saved(tmp_path, "a.obj", text))
    assert mesh.colours is not None
    assert mesh.colours.tolist() == [list(BLUE), list(WHITE), list(GREEN), list(RED)]


def test_obj_vertex_colours_as_shares_and_as_bytes(tmp_path: Path) -> None:
    shares = b"v 0 0 0 1 0 0\nv 1 0 0 0 1 0\nv 0 1 0 0 0 0.5\nf 1 2 3\n"
    numbers = b"v 0 0 0 255 0 0\nv 1 0 0 0 255 0\nv 0 1 0 0 0 128\nf 1 2 3\n"
    for name, text in (("a.obj", shares), ("b.obj", numbers)):
        mesh = read_mesh(saved(tmp_path, name, text))
        assert mesh.colours is not None
        assert mesh.colours.tolist() == [[255, 0, 0], [0, 255, 0], [0, 0, 128]]


def test_obj_two_materials_one_plain(tmp_path: Path) -> None:
    saved(tmp_path, "map.png", scan_files.picture(PIXELS))
    saved(tmp_path, "a.mtl", b"newmtl one\nmap_Kd -s 1 1 1 map.png\nnewmtl two\n\tKd 0 1 0\n")
    text = (b"mtllib a.mtl\nv 0 0 0\nv 1 0 0\nv 0 1 0\nv 5 0 0\nv 6 0 0\nv 5 1 0\nvt .2 .8\n"
            b"usemtl one\nf 1/1 2/1 3/1\nusemtl two\nf 4 5 6\n")
    mesh = read_mesh(saved(tmp_path, "a.obj", text))
    assert mesh.colours is not None
    assert mesh.colours.tolist() == [list(RED)] * 3 + [[0, 255, 0]] * 3


def test_mtl_options_before_the_file_name() -> None:
    assert read_mtl("newmtl a\nmap_Kd -bm 1.0 -clamp on my picture.jpg")["a"][0] == "my picture.jpg"


def test_missing_material_is_told(tmp_path: Path) -> None:
    mesh = read_mesh(saved(tmp_path, "a.obj", b"mtllib gone.mtl\nv 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"))
    assert mesh.colours is None
    assert "gone.mtl" in mesh.notes[0]


def test_zip_brings_its_own_material_and_picture(tmp_path: Path) -> None:
    text = b"mtllib a.mtl\nv 0 0 0\nv 1 0 0\nv 0 1 0\nvt .2 .8\nusemtl m\nf 1/1 2/1 3/1\n"
    bundle = scan_files.zipped({"jug/a.obj": text, "jug/a.mtl": b"newmtl m\nmap_Kd tex/map.png\n",
                                "jug/tex/map.png": scan_files.picture(PIXELS), "__MACOSX/jug/._a.obj": b"x"})
    mesh = read_mesh(saved(tmp_path, "jug.zip", bundle))
    assert mesh.colours is not None
    assert mesh.colours.tolist() == [list(RED)] * 3


def test_ply_with_a_picture(tmp_path: Path) -> None:
    saved(tmp_path, "map.png", scan_files.picture(PIXELS))
    head = ("ply\nformat ascii 1.0\ncomment TextureFile map.png\nelement vertex 3\nproperty float x\nproperty float y\n"
            "property float z\nelement face 1\nproperty list uchar int vertex_indices\n"
            "property list uchar float texcoord\nend_header\n0 0 0\n1 0 0\n0 1 0\n")
    mesh = read_mesh(saved(tmp_path, "a.ply", (head + "3 0 1 2 6 .2 .2 .8 .2 .8 .8\n").encode()))
    assert mesh.colours is not None
    assert mesh.colours.tolist() == [list(BLUE), list(WHITE), list(GREEN)]


def test_gltf_picture_has_its_origin_above(tmp_path: Path) -> None:
    plate = trimesh.Trimesh([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]], [[0, 1, 2], [0, 2, 3]], process=False)
    material = trimesh.visual.material.PBRMaterial(baseColorTexture=__import__("PIL.Image").Image.fromarray(PIXELS))
    # The library's own convention is origin below; it turns v over when it writes glTF
    plate.visual = trimesh.visual.TextureVisuals(uv=[[.25, .25], [.75, .25], [.75, .75], [.25, .75]], material=material)
    mesh = read_mesh(saved(tmp_path, "a.glb", plate.export(file_type="glb")))
    assert mesh.colours is not None
    assert mesh.colours.tolist() == [list(BLUE), list(WHITE), list(GREEN), list(RED)]


def test_gltf_vertex_colours_are_linear(tmp_path: Path) -> None:
    points = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0]], "<f4").tobytes()
    colours = np.array([[0.2140, 1.0, 0.0]] * 3, "<f4").tobytes()
    rows = np.array([0, 1, 2, 0], "<u2").tobytes()
    tree = {"asset": {"version": "2.0"}, "meshes": [{"primitives": [
                {"attributes": {"POSITION": 0, "COLOR_0": 1}, "indices": 2}]}],
            "accessors": [{"bufferView": 0, "componentType": 5126, "count": 3, "type": "VEC3"},
                          {"bufferView": 1, "componentType": 5126, "count": 3, "type": "VEC3"},
                          {"bufferView": 2, "componentType": 5123, "count": 3, "type": "SCALAR"}],
            "bufferViews": [{"buffer": 0, "byteOffset": 0, "byteLength": 36},
                            {"buffer": 0, "byteOffset": 36, "byteLength": 36},
                            {"buffer": 0, "byteOffset": 72, "byteLength": 6}], "buffers": [{"byteLength": 80}]}
    mesh = read_mesh(saved(tmp_path, "a.glb", scan_files.glb(tree, points + colours + rows)))
    assert mesh.colours is not None
    # IEC 61966-2-1: linear 0.2140 is sRGB 0.5 = 127.5
    assert mesh.colours[0].tolist() in ([127, 255, 0], [128, 255, 0])


@pytest.mark.parametrize("node", [
    {"translation": [1, 2, 3], "rotation": [0.1825742, 0.3651484, 0.5477226, 0.7302967], "scale": [2, 3, 4]},
    {"matrix": [0, 2, 0, 0, -2, 0, 0, 0, 0, 0, 2, 0, 5, 6, 7, 1]},
    {"scale": [-1, 1, 1]},
])
def test_gltf_nodes_move_as_a_reference_reader_moves_them(tmp_path: Path, node: dict[str, object]) -> None:
    solid = box(cuts=1)
    path = saved(tmp_path, "a.glb", scan_files.plain_glb(solid.vertices_mm, solid.faces, node))
    ours = read_mesh(path)
    judge = trimesh.load(path, force="mesh", process=False)
    assert np.allclose(ours.vertices, judge.vertices, atol=1e-4)
    a, b, c = (ours.vertices[ours.faces[:, k]] for k in range(3))
    assert float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) > 0  # still outward, mirrored or not


def test_gltf_draco_has_the_same_shape(tmp_path: Path) -> None:
    import DracoPy

    solid = cup()
    packed = bytes(DracoPy.encode(solid.vertices_mm.astype(np.float32), solid.faces.astype(np.uint32),
                                  quantization_bits=16))
    draco = {"bufferView": 0, "attributes": {"POSITION": 0}}
    tree = {"asset": {"version": "2.0"}, "extensionsRequired": ["KHR_draco_mesh_compression"],
            "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1,
                                        "extensions": {"KHR_draco_mesh_compression": draco}}]}],
            "accessors": [{"componentType": 5126, "count": len(solid.vertices_mm), "type": "VEC3"},
                          {"componentType": 5125, "count": solid.faces.size, "type": "SCALAR"}],
            "bufferViews": [{"buffer": 0, "byteLength": len(packed)}], "buffers": [{"byteLength": len(packed)}]}
    mesh = read_mesh(saved(tmp_path, "a.glb", scan_files.glb(tree, packed)))
    assert len(mesh.faces) == len(solid.faces)
    # 16 bits over 70 mm: steps of 0.001 mm
    assert np.ptp(mesh.vertices, axis=0) == pytest.approx(np.ptp(solid.vertices_mm, axis=0), abs=3e-3)


def test_working_mesh_takes_the_colours_of_the_scan() -> None:
    solid = cup(sides=192, bands=40)
    height = solid.vertices_mm[:, 1]
    colours = np.where((height > 35)[:, None], np.array(RED, np.uint8), np.array(BLUE, np.uint8)).astype(np.uint8)
    working = clean(scan_of(solid.vertices_mm, solid.faces, colours=colours), ObjectBrief("1"), ScanRules()).working
    assert working.has_colour
    above = working.vertices_mm[:, 1] > 37  # the border is one edge of 1.75 mm wide
    below = working.vertices_mm[:, 1] < 33
    assert (working.colours[above] == RED).all()
    assert (working.colours[below] == BLUE).all()
