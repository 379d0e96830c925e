"""Meshes for the browser: thinned, coloured, and written as binary glTF 2.0.

One buffer, one mesh and node a part, float32 positions, normalised byte colours, uint32 corners: the plainest file
that the format allows (Khronos Group, glTF 2.0 specification, sections 3.6 and 4.4), so that any viewer opens what the
page shows. Millimetres; glTF speaks of metres, which the asset's extras say. Touches no files.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.papers.pictures.shading import ShadedMesh
from scanprep.scan.working import nearest_colours
from scanprep.vectors import F64, I32, U8

_MAGIC, _VERSION, _JSON, _BIN = 0x46546C67, 2, 0x4E4F534A, 0x004E4942  # format: glTF 2.0, 4.4 binary
_FLOAT, _UINT, _UBYTE, _ARRAY, _ELEMENTS = 5126, 5125, 5121, 34962, 34963  # format: glTF 2.0, 5.1.3 and 5.11


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """One part of a picture in space."""

    name: str
    vertices_mm: F64  # (n, 3)
    faces: I32  # (m, 3), outward
    colours: U8  # (n, 3) sRGB


def coarse(mesh: ShadedMesh, wanted: int) -> tuple[F64, I32, U8]:
    """Return vertices, faces and colours of a mesh with about `wanted` faces; as it is where it has no more."""
    colours = np.asarray(np.broadcast_to(mesh.colours, (len(mesh.vertices_mm), 3)), dtype=np.uint8)
    if len(mesh.faces) <= wanted:
        return mesh.vertices_mm, mesh.faces, colours
    import pyfqmr

    simplifier = pyfqmr.Simplify()
    simplifier.setMesh(mesh.vertices_mm, mesh.faces)
    simplifier.simplify_mesh(target_count=wanted, preserve_border=False, verbose=False)
    points, rows, _ = simplifier.getMesh()
    vertices = np.asarray(points, dtype=np.float64)
    return vertices, np.asarray(rows, dtype=np.int32), nearest_colours(vertices, mesh.vertices_mm, colours)


def glb(parts: Sequence[Model]) -> bytes:
    """Return parts as one binary glTF file."""
    blob, views, accessors, meshes = bytearray(), [], [], []

    def add(raw: bytes, target: int, accessor: dict[str, object]) -> int:
        views.append({"buffer": 0, "byteOffset": len(blob), "byteLength": len(raw), "target": target})
        blob.extend(raw + b"\0" * (-len(raw) % 4))
        accessors.append({"bufferView": len(views) - 1, **accessor})
        return len(accessors) - 1

    for part in parts:
        positions = np.ascontiguousarray(part.vertices_mm, dtype="<f4")
        # colours are padded to four bytes, since each element starts on a multiple of four (section 3.6.2.4)
        tint = np.full((len(positions), 4), 255, dtype=np.uint8)
        tint[:, :3] = part.colours
        at = add(positions.tobytes(), _ARRAY, {
            "componentType": _FLOAT, "count": len(positions), "type": "VEC3",
            "min": positions.min(axis=0).tolist(), "max": positions.max(axis=0).tolist()})
        shade = add(tint.tobytes(), _ARRAY, {"componentType": _UBYTE, "normalized": True, "count": len(positions),
                                             "type": "VEC4"})
        corners = np.ascontiguousarray(part.faces, dtype="<u4").ravel()
        rows = add(corners.tobytes(), _ELEMENTS, {"componentType": _UINT, "count": len(corners), "type": "SCALAR"})
        meshes.append({"name": part.name, "primitives": [
            {"attributes": {"POSITION": at, "COLOR_0": shade}, "indices": rows, "mode": 4}]})
    document = {"asset": {"version": "2.0", "generator": "scanprep", "extras": {"unit": "mm"}}, "scene": 0,
                "scenes": [{"nodes": list(range(len(meshes)))}], "buffers": [{"byteLength": len(blob)}],
                "nodes": [{"mesh": i, "name": mesh["name"]} for i, mesh in enumerate(meshes)],
                "bufferViews": views, "accessors": accessors, "meshes": meshes}
    text = json.dumps(document, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    chunks = struct.pack("<II", len(text), _JSON) + text + struct.pack("<II", len(blob), _BIN) + bytes(blob)
    return struct.pack("<III", _MAGIC, _VERSION, 12 + len(chunks)) + chunks
