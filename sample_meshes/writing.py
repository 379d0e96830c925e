"""Writes meshes the way scanning software exports them: OBJ with MTL and picture, PLY, STL, GLB, OFF, 3MF, zipped OBJ.

Written by hand, so that the quirks are ours to choose: a trailing space in the MTL, few decimals, colours in 0..1.
"""

from __future__ import annotations

import io
import json
import struct
import zipfile
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scanprep_samples.ageing import Skin
from scanprep_samples.texture import Unwrapped

F64 = NDArray[np.float64]
_WHEN = (2024, 5, 17, 9, 30, 0)  # a fixed date inside archives, so that they come out the same each time


def _decimals(points: F64) -> int:
    """Return how many decimals keep a ten-thousandth of the size."""
    return int(max(2, np.ceil(4 - np.log10(np.ptp(points, axis=0).max()))))


def _picture(pixels: NDArray[np.uint8], kind: str) -> bytes:
    out = io.BytesIO()
    if kind == "jpg":
        Image.fromarray(pixels).save(out, "JPEG", quality=82)
    else:
        Image.fromarray(pixels).quantize(96, dither=Image.Dither.NONE).save(out, "PNG", optimize=True)
    return out.getvalue()


def obj_textured(path: Path, mesh: Unwrapped, kind: str) -> None:
    """Write an OBJ with its MTL and picture; the MTL names the picture with a space after it."""
    stem, d = path.stem, _decimals(mesh.points)
    lines = [f"# {stem}", f"mtllib {stem}.mtl", "o scan"]
    lines += [f"v {x:.{d}f} {y:.{d}f} {z:.{d}f}" for x, y, z in mesh.points]
    lines += [f"vt {u:.4f} {v:.4f}" for u, v in mesh.places]
    lines += ["usemtl skin"] + [f"f {a}/{a} {b}/{b} {c}/{c}" for a, b, c in mesh.faces + 1]
    path.write_text("\n".join(lines) + "\n", encoding="ascii")
    path.with_suffix(".mtl").write_text(
        f"newmtl skin\nKa 1 1 1\nKd 1 1 1\nKs 0 0 0\nillum 1\nmap_Kd {stem}.{kind} \n", encoding="ascii")
    path.with_suffix(f".{kind}").write_bytes(_picture(mesh.picture, kind))


def obj_coloured(skin: Skin) -> bytes:
    """Return an OBJ with a colour behind each vertex."""
    d = _decimals(skin.points)
    lines = [f"v {x:.{d}f} {y:.{d}f} {z:.{d}f} {r / 255:.3f} {g / 255:.3f} {b / 255:.3f}"
             for (x, y, z), (r, g, b) in zip(skin.points, skin.colours, strict=True)]
    lines += [f"f {a} {b} {c}" for a, b, c in skin.faces + 1]
    return ("\n".join(lines) + "\n").encode("ascii")


def zipped(name: str, content: bytes) -> bytes:
    """Return an archive holding one file."""
    return _archive({name: content})


def _archive(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name, content in files.items():
            note = zipfile.ZipInfo(name, _WHEN)
            note.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(note, content)
    return out.getvalue()


def ply_binary(skin: Skin, big_endian: bool = False) -> bytes:
    """Return a binary PLY with vertex colours."""
    e = ">" if big_endian else "<"
    vertex = np.zeros(len(skin.points), dtype=[("p", f"{e}f4", 3), ("c", "u1", 3)])
    vertex["p"], vertex["c"] = skin.points, skin.colours
    face = np.zeros(len(skin.faces), dtype=[("n", "u1"), ("v", f"{e}i4", 3)])
    face["n"], face["v"] = 3, skin.faces
    head = _ply_head("binary_big_endian" if big_endian else "binary_little_endian", skin)
    return head + vertex.tobytes() + face.tobytes()


def _ply_head(kind: str, skin: Skin) -> bytes:
    return (f"ply\nformat {kind} 1.0\ncomment scan of a find\nelement vertex {len(skin.points)}\n"
            "property float x\nproperty float y\nproperty float z\n"
            "property uchar red\nproperty uchar green\nproperty uchar blue\n"
            f"element face {len(skin.faces)}\nproperty list uchar int vertex_indices\nend_header\n").encode("ascii")


def ply_ascii(skin: Skin) -> bytes:
    """Return a readable PLY with vertex colours."""
    d = _decimals(skin.points)
    rows = [f"{x:.{d}f} {y:.{d}f} {z:.{d}f} {r} {g} {b}"
            for (x, y, z), (r, g, b) in zip(skin.points, skin.colours, strict=True)]
    rows += [f"3 {a} {b} {c}" for a, b, c in skin.faces]
    return _ply_head("ascii", skin) + ("\n".join(rows) + "\n").encode("ascii")


def stl_binary(skin: Skin) -> bytes:
    """Return a binary STL: no colours, every corner written anew."""
    row = np.zeros(len(skin.faces), dtype=[("n", "<f4", 3), ("v", "<f4", (3, 3)), ("a", "<u2")])
    row["v"] = skin.points[skin.faces]
    return b"scan".ljust(80, b"\0") + struct.pack("<I", len(row)) + row.tobytes()


def off(skin: Skin) -> bytes:
    """Return an OFF without colours."""
    d = _decimals(skin.points)
    rows = ["OFF", f"{len(skin.points)} {len(skin.faces)} 0"]
    rows += [f"{x:.{d}f} {y:.{d}f} {z:.{d}f}" for x, y, z in skin.points]
    rows += [f"3 {a} {b} {c}" for a, b, c in skin.faces]
    return ("\n".join(rows) + "\n").encode("ascii")


def three_mf(skin: Skin, unit: str) -> bytes:
    """Return a 3MF whose model states its unit ("millimeter", "inch", "meter")."""
    d = _decimals(skin.points)
    vertices = "".join(f'<vertex x="{x:.{d}f}" y="{y:.{d}f}" z="{z:.{d}f}"/>' for x, y, z in skin.points)
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in skin.faces)
    model = (f'<?xml version="1.0" encoding="UTF-8"?>\n<model unit="{unit}" xml:lang="en-US" '
             'xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources><object id="1" type="model">'
             f"<mesh><vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh></object></resources>"
             '<build><item objectid="1"/></build></model>')
    kinds = ('<?xml version="1.0" encoding="UTF-8"?>\n<Types xmlns="http://schemas.openxmlformats.org/package/2006/'
             'content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.'
             'relationships+xml"/><Default Extension="model" ContentType="application/vnd.ms-package.'
             '3dmanufacturing-3dmodel+xml"/></Types>')
    links = ('<?xml version="1.0" encoding="UTF-8"?>\n<Relationships xmlns="http://schemas.openxmlformats.org/package/'
             '2006/relationships"><Relationship Target="/3D/3dmodel.model" Id="rel0" Type="http://schemas.microsoft.com/'
             '3dmanufacturing/2013/01/3dmodel"/></Relationships>')
    return _archive({"[Content_Types].xml": kinds.encode(), "_rels/.rels": links.encode(),
                     "3D/3dmodel.model": model.encode()})


def _linear(colours: NDArray[np.uint8]) -> F64:
    """Return sRGB bytes as linear 0..1, which is what a GLB's vertex colours are by its rules (IEC 61966-2-1)."""
    s = colours / 255.0
    return np.asarray(np.where(s <= 0.04045, s / 12.92, ((s + 0.055) / 1.055) ** 2.4), dtype=np.float64)


def glb(mesh: Skin | Unwrapped, kind: str = "jpg") -> bytes:
    """Return a GLB: with vertex colours, or with its picture inside. Coordinates are metres by the format's rule."""
    picture = _picture(mesh.picture, kind) if isinstance(mesh, Unwrapped) else b""
    blocks = [mesh.faces.astype("<u4").tobytes(), mesh.points.astype("<f4").tobytes()]
    if isinstance(mesh, Unwrapped):
        blocks += [np.column_stack([mesh.places[:, 0], 1 - mesh.places[:, 1]]).astype("<f4").tobytes(), picture]
    else:
        alpha = np.ones((len(mesh.points), 1))
        blocks.append((np.hstack([_linear(mesh.colours), alpha]) * 65535 + 0.5).astype("<u2").tobytes())
    blocks = [block + b"\0" * (-len(block) % 4) for block in blocks]
    return _glb(_glb_head(mesh, [len(block) for block in blocks], len(picture), kind), b"".join(blocks))


def _glb_head(mesh: Skin | Unwrapped, lengths: list[int], picture: int, kind: str) -> dict[str, object]:
    starts = np.cumsum([0, *lengths]).tolist()
    views: list[dict[str, int]] = [{"buffer": 0, "byteOffset": s, "byteLength": n} for s, n in zip(starts, lengths)]
    low, high = (mesh.points.astype("<f4").min(0).tolist(), mesh.points.astype("<f4").max(0).tolist())
    accessors: list[dict[str, object]] = [
        {"bufferView": 0, "componentType": 5125, "count": 3 * len(mesh.faces), "type": "SCALAR"},
        {"bufferView": 1, "componentType": 5126, "count": len(mesh.points), "type": "VEC3", "min": low, "max": high}]
    primitive: dict[str, object] = {"indices": 0}
    head: dict[str, object] = {"asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": [0]}],
                               "nodes": [{"mesh": 0, "name": "scan"}], "buffers": [{"byteLength": starts[-1]}]}
    if isinstance(mesh, Unwrapped):
        accessors.append({"bufferView": 2, "componentType": 5126, "count": len(mesh.points), "type": "VEC2"})
        primitive.update(attributes={"POSITION": 1, "TEXCOORD_0": 2}, material=0)
        views[3]["byteLength"] = picture
        head.update(materials=[{"pbrMetallicRoughness": {"baseColorTexture": {"index": 0}, "metallicFactor": 0}}],
                    textures=[{"source": 0}], images=[{"bufferView": 3, "mimeType": f"image/{_mime(kind)}"}])
    else:
        accessors.append({"bufferView": 2, "componentType": 5123, "normalized": True, "count": len(mesh.points),
                          "type": "VEC4"})
        primitive["attributes"] = {"POSITION": 1, "COLOR_0": 2}
    head.update(bufferViews=views, accessors=accessors, meshes=[{"primitives": [primitive]}])
    return head


def _mime(kind: str) -> str:
    return "jpeg" if kind == "jpg" else kind


def glb_draco(skin: Skin, bits: int = 14) -> bytes:
    """Return a GLB whose geometry and vertex colours are Draco compressed."""
    import DracoPy

    shade = np.asarray(_linear(skin.colours) * 255 + 0.5, dtype=np.uint8)
    packed = bytes(DracoPy.encode(skin.points.astype(np.float32), skin.faces.astype(np.uint32), colors=shade,
                                  quantization_bits=bits, compression_level=7, preserve_order=False))
    back = DracoPy.decode(packed)
    points = np.asarray(back.points)
    number = {row["attribute_type"]: row["unique_id"] for row in back.attributes}  # 0 position, 2 colour
    body = packed + b"\0" * (-len(packed) % 4)
    head: dict[str, object] = {
        "asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": [0]}], "nodes": [{"mesh": 0, "name": "scan"}],
        "extensionsUsed": ["KHR_draco_mesh_compression"], "extensionsRequired": ["KHR_draco_mesh_compression"],
        "buffers": [{"byteLength": len(body)}],
        "bufferViews": [{"buffer": 0, "byteOffset": 0, "byteLength": len(packed)}],
        "accessors": [
            {"componentType": 5125, "count": 3 * len(back.faces), "type": "SCALAR"},
            {"componentType": 5126, "count": len(points), "type": "VEC3", "min": points.min(0).tolist(),
             "max": points.max(0).tolist()},
            {"componentType": 5121, "normalized": True, "count": len(points), "type": "VEC3"}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 1, "COLOR_0": 2}, "indices": 0, "extensions": {
            "KHR_draco_mesh_compression": {
                "bufferView": 0, "attributes": {"POSITION": number[0], "COLOR_0": number[2]}}}}]}],
    }
    return _glb(head, body)


def _glb(head: dict[str, object], body: bytes) -> bytes:
    text = json.dumps(head, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    return b"".join([struct.pack("<4sII", b"glTF", 2, 28 + len(text) + len(body)),
                     struct.pack("<I4s", len(text), b"JSON"), text, struct.pack("<I4s", len(body), b"BIN\0"), body])
