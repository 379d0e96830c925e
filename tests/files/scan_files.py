"""Scan files written plainly for the tests: each function follows the format's published description, not our reader.

Sources: Wavefront OBJ as described in the appendix of its manual; PLY, Greg Turk 1994; STL, 3D Systems 1988 layout (80
bytes, count, 50 a triangle); OFF as in the Geomview manual; glTF 2.0 and 3MF core specifications.
"""

from __future__ import annotations

import io
import json
import struct
import zipfile

import numpy as np
from numpy.typing import NDArray
from PIL import Image

F64 = NDArray[np.float64]
I32 = NDArray[np.int32]


def obj(vertices: F64, faces: I32, head: str = "") -> bytes:
    lines = [head] if head else []
    lines += ["v " + " ".join(repr(float(x)) for x in row) for row in vertices]
    lines += ["f " + " ".join(str(int(i) + 1) for i in row) for row in faces]
    return ("\n".join(lines) + "\n").encode()


def ply(vertices: F64, faces: I32, order: str = "<") -> bytes:
    name = {"<": "binary_little_endian", ">": "binary_big_endian", "": "ascii"}[order]
    head = (f"ply\nformat {name} 1.0\ncomment made for a test\nelement vertex {len(vertices)}\nproperty double x\n"
            f"property double y\nproperty double z\nelement face {len(faces)}\n"
            "property list uchar int vertex_indices\nend_header\n").encode()
    if order == "":
        rows = [" ".join(repr(float(x)) for x in row) for row in vertices]
        rows += [f"{len(row)} " + " ".join(map(str, row)) for row in faces.tolist()]
        return head + ("\n".join(rows) + "\n").encode()
    record = np.zeros(len(faces), dtype=[("n", "u1"), ("i", order + "i4", 3)])
    record["n"], record["i"] = 3, faces
    return head + vertices.astype(order + "f8").tobytes() + record.tobytes()


def stl(vertices: F64, faces: I32) -> bytes:
    record = np.zeros(len(faces), dtype=[("n", "<f4", 3), ("v", "<f4", (3, 3)), ("spare", "<u2")])
    record["v"] = vertices[faces]
    return b"solid but binary".ljust(80) + struct.pack("<I", len(faces)) + record.tobytes()


def stl_text(vertices: F64, faces: I32) -> bytes:
    lines = ["solid test"]
    for row in vertices[faces]:
        lines += [" facet normal 0 0 0", "  outer loop"]
        lines += ["   vertex " + " ".join(f"{x:.9e}" for x in corner) for corner in row]
        lines += ["  endloop", " endfacet"]
    return ("\n".join([*lines, "endsolid test"]) + "\n").encode()


def off(vertices: F64, faces: I32) -> bytes:
    rows = ["OFF", "# a comment", f"{len(vertices)} {len(faces)} 0"]
    rows += [" ".join(repr(float(x)) for x in row) for row in vertices]
    rows += ["3 " + " ".join(map(str, row)) for row in faces.tolist()]
    return ("\n".join(rows) + "\n").encode()


def glb(tree: dict[str, object], binary: bytes) -> bytes:
    text = json.dumps(tree).encode()
    text += b" " * (-len(text) % 4)
    binary += b"\0" * (-len(binary) % 4)
    size = 12 + 8 + len(text) + 8 + len(binary)
    return (struct.pack("<III", 0x46546C67, 2, size) + struct.pack("<II", len(text), 0x4E4F534A) + text
            + struct.pack("<II", len(binary), 0x004E4942) + binary)


def plain_glb(vertices: F64, faces: I32, node: dict[str, object] | None = None) -> bytes:
    points, rows = vertices.astype("<f4").tobytes(), faces.astype("<u4").tobytes()
    tree = {
        "asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": [0]}], "nodes": [{"mesh": 0, **(node or {})}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "accessors": [{"bufferView": 0, "componentType": 5126, "count": len(vertices), "type": "VEC3"},
                      {"bufferView": 1, "componentType": 5125, "count": faces.size, "type": "SCALAR"}],
        "bufferViews": [{"buffer": 0, "byteOffset": 0, "byteLength": len(points)},
                        {"buffer": 0, "byteOffset": len(points), "byteLength": len(rows)}],
        "buffers": [{"byteLength": len(points) + len(rows)}],
    }
    return glb(tree, points + rows)


def threemf(vertices: F64, faces: I32, unit: str | None = "inch", transform: str = "") -> bytes:
    points = "".join(f'<vertex x="{x!r}" y="{y!r}" z="{z!r}"/>' for x, y, z in vertices.tolist())
    rows = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces.tolist())
    stated = f' unit="{unit}"' if unit else ""
    moved = f' transform="{transform}"' if transform else ""
    model = (f'<?xml version="1.0"?><model{stated} xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">'
             f'<resources><object id="1" type="model"><mesh><vertices>{points}</vertices><triangles>{rows}</triangles>'
             f'</mesh></object></resources><build><item objectid="1"{moved}/></build></model>')
    return zipped({"3D/3dmodel.model": model.encode()})


def zipped(contents: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in contents.items():
            archive.writestr(name, content)
    return out.getvalue()


def picture(pixels: NDArray[np.uint8], format: str = "PNG") -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, format)
    return out.getvalue()
