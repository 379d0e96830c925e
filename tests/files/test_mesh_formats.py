"""Every format gives the same body back: a solid of closed-form volume written plainly, then read."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scanprep.errors import ScanError
from scanprep.files.meshes import read_mesh
from scanprep.scan.mesh import RawMesh
from tests.files import scan_files
from tests.shapes import Solid, box, cup, ring

WRITERS = {
    "obj": scan_files.obj, "ply": scan_files.ply, "stl": scan_files.stl, "off": scan_files.off,
    "glb": scan_files.plain_glb, "3mf": scan_files.threemf,
}


def saved(folder: Path, name: str, content: bytes) -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


def volume(mesh: RawMesh) -> float:
    """Divergence theorem over the triangles; exact for a closed mesh."""
    a, b, c = (mesh.vertices[mesh.faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


@pytest.mark.parametrize("solid", [box(), cup(), ring()], ids=lambda solid: solid.name)
@pytest.mark.parametrize("ending", WRITERS)
def test_written_then_read_has_the_closed_form_volume(tmp_path: Path, ending: str, solid: Solid) -> None:
    mesh = read_mesh(saved(tmp_path, f"solid.{ending}", WRITERS[ending](solid.vertices_mm, solid.faces)))
    assert len(mesh.faces) == len(solid.faces)
    # Single-precision formats round each coordinate to 6e-8 of its size
    tolerance = 1e-12 if ending in ("obj", "ply", "off", "3mf") else 1e-6
    assert volume(mesh) == pytest.approx(solid.volume_mm3, rel=tolerance)


@pytest.mark.parametrize("order", ["<", ">", ""])
def test_ply_orders_hold_the_same_mesh(tmp_path: Path, order: str) -> None:
    solid = cup()
    mesh = read_mesh(saved(tmp_path, "cup.ply", scan_files.ply(solid.vertices_mm, solid.faces, order)))
    assert np.array_equal(mesh.vertices, solid.vertices_mm)
    assert np.array_equal(mesh.faces, solid.faces)


def test_text_stl_is_joined_like_binary(tmp_path: Path) -> None:
    solid = box()
    binary = read_mesh(saved(tmp_path, "a.stl", scan_files.stl(solid.vertices_mm, solid.faces)))
    text = read_mesh(saved(tmp_path, "b.stl", scan_files.stl_text(solid.vertices_mm, solid.faces)))
    assert len(text.vertices) == len(binary.vertices) == len(solid.vertices_mm)
    assert volume(text) == pytest.approx(solid.volume_mm3, rel=1e-6)


def test_units_as_the_formats_state_them(tmp_path: Path) -> None:
    solid = box()
    v, f = solid.vertices_mm, solid.faces
    assert read_mesh(saved(tmp_path, "a.glb", scan_files.plain_glb(v, f))).unit == "m"
    assert read_mesh(saved(tmp_path, "a.3mf", scan_files.threemf(v, f, "inch"))).unit == "in"
    # 3MF core specification 1.3, 3.4: millimeter where the attribute is absent
    assert read_mesh(saved(tmp_path, "b.3mf", scan_files.threemf(v, f, None))).unit == "mm"
    assert read_mesh(saved(tmp_path, "a.ply", scan_files.ply(v, f))).unit is None


def test_obj_corners_in_every_spelling(tmp_path: Path) -> None:
    # A unit cube's six quads, one spelling a side; n-gons, negative indices, a/b, a//c, a/b/c, CRLF, a folded line
    text = ("v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nv 0 0 1\nv 1 0 1\nv 1 1 1\nv 0 1 1\r\nvt 0 0\nvn 0 0 1\n"
            "f 4 3 2 1\nf 5/1 6/1 7/1 8/1\nf 1//1 2//1 6//1 5//1\nf 2/1/1 3/1/1 7/1/1 6/1/1\n"
            "f -6 -5 -1 -2\nf 1 5 \\\n8 4\n# done")
    mesh = read_mesh(saved(tmp_path, "cube.obj", text.encode()))
    assert len(mesh.faces) == 12
    assert volume(mesh) == pytest.approx(1.0, rel=1e-15)


def test_negative_indices_count_from_their_own_line(tmp_path: Path) -> None:
    one = "v {0} 0 0\nv {0} 1 0\nv {0} 0 1\nf -3 -2 -1\n"
    mesh = read_mesh(saved(tmp_path, "two.obj", (one.format(0) + one.format(5)).encode()))
    assert mesh.faces.tolist() == [[0, 1, 2], [3, 4, 5]]


def test_ply_with_odd_property_order(tmp_path: Path) -> None:
    head = ("ply\nformat ascii 1.0\nobj_info made by hand\nelement vertex 4\nproperty uchar red\nproperty float z\n"
            "property uchar green\nproperty float x\nproperty uchar blue\nproperty float quality\nproperty float y\n"
            "element face 4\nproperty int flags\nproperty list uchar uint vertex_index\nend_header\n")
    rows = "10 0 20 0 30 .5 0\n10 0 20 1 30 .5 0\n10 0 20 0 30 .5 1\n10 1 20 0 30 .5 0\n"
    faces = "7 3 0 2 1\n7 3 0 1 3\n7 3 1 2 3\n7 3 0 3 2\n"
    mesh = read_mesh(saved(tmp_path, "odd.ply", (head + rows + faces).encode()))
    assert volume(mesh) == pytest.approx(1 / 6)  # corner of the unit cube
    assert mesh.colours is not None
    assert mesh.colours.tolist() == [[10, 20, 30]] * 4


def test_ply_mixes_triangles_and_squares(tmp_path: Path) -> None:
    corners = [(x, y, z) for z in (0, 1) for y in (0, 1) for x in (0, 1)]
    sides = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2)]
    head = (b"ply\nformat binary_big_endian 1.0\nelement vertex 8\nproperty float x\nproperty float y\n"
            b"property float z\nelement face 7\nproperty list uchar int vertex_indices\nend_header\n")
    body = np.asarray(corners, ">f4").tobytes()
    for side in [*sides, (1, 3, 7), (1, 7, 5)]:
        body += bytes([len(side)]) + np.asarray(side, ">i4").tobytes()
    assert volume(read_mesh(saved(tmp_path, "cube.ply", head + body))) == pytest.approx(1.0)


def test_point_cloud_is_refused_with_advice(tmp_path: Path) -> None:
    text = (b"ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nproperty float z\n"
            b"end_header\n0 0 0\n")
    with pytest.raises(ScanError, match=r"point cloud.*export the surface"):
        read_mesh(saved(tmp_path, "cloud.ply", text))
