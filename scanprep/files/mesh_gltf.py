"""glTF 2.0, as one GLB or as JSON with its buffers beside it.

The format states metres and y up. Every mesh of the scene is taken through its nodes' moves and joined. Geometry may
be Draco-compressed (KHR_draco_mesh_compression), quantised or sparse; colours come from COLOR_0 (linear, turned to
sRGB), from the base colour picture, or from the base colour itself. Points and lines are left out. Source: Khronos
glTF 2.0 specification, sections 3.6 (accessors), 3.5.3 (transforms), 3.7.2 (primitives), 3.9 (materials).
"""

from __future__ import annotations

import base64
import json
import urllib.parse
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scanprep.colour import share_of
from scanprep.errors import ScanError
from scanprep.files.mesh_source import AGAIN, TRUNCATED, MeshSource, finished_mesh, told
from scanprep.files.textures import GREY, decode_picture, sampled
from scanprep.scan.mesh import RawMesh
from scanprep.vectors import F64, U8

# format: glTF 2.0, 5.1.3 accessor.componentType
_COMPONENTS = {5120: "i1", 5121: "u1", 5122: "i2", 5123: "u2", 5125: "u4", 5126: "f4"}
_WIDTHS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT4": 16}  # format: glTF 2.0, 5.1.6 accessor.type
_KNOWN = {"KHR_draco_mesh_compression", "KHR_mesh_quantization", "KHR_texture_transform", "KHR_materials_unlit",
          "KHR_materials_pbrSpecularGlossiness"}
_DEEPEST = 100  # format: nodes below one another; a scan has a handful


@dataclass(slots=True, eq=False)
class _Document:
    """The parsed JSON with its buffers, opened once."""

    source: MeshSource
    tree: dict[str, Any]
    chunk: U8 | None  # the GLB's own binary part
    buffers: dict[int, U8] = field(default_factory=dict)
    pictures: dict[int, U8] = field(default_factory=dict)
    drawn: int = 0  # triangles so far


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    points: F64
    faces: NDArray[np.int64]
    colours: U8 | None


def read_gltf(source: MeshSource) -> RawMesh:
    """Return the joined meshes of a glTF or GLB file. Raises ScanError."""
    document = _open(source)
    try:
        pieces = _pieces(document)
    except ScanError:
        raise
    except (KeyError, IndexError, TypeError, AttributeError, ValueError, OverflowError) as fault:
        raise source.refuse(f"its description is damaged ({type(fault).__name__}: {told(fault)})", AGAIN,
                            "glTF") from fault
    if not pieces:
        raise source.refuse("it holds no triangle mesh", "Export the scan as a surface (mesh)", "meshes", 0)
    starts = np.cumsum([0, *(len(piece.points) for piece in pieces)])
    points = np.concatenate([piece.points for piece in pieces])
    faces = np.concatenate([piece.faces + start for piece, start in zip(pieces, starts)])
    colours = None
    if any(piece.colours is not None for piece in pieces):
        colours = np.concatenate([
            np.full((len(piece.points), 3), GREY, dtype=np.uint8) if piece.colours is None else piece.colours
            for piece in pieces])
    return finished_mesh(source, points, faces, colours, "m", "y")


def _open(source: MeshSource) -> _Document:
    if source.text(4) != b"glTF":
        return _Document(source, _json(source, source.data.tobytes()), None)
    if len(source.data) < 20:
        raise source.refuse(TRUNCATED, AGAIN, "length", f"{len(source.data)} bytes")
    head = np.frombuffer(source.text(20), dtype="<u4")
    if head[1] != 2:
        raise source.refuse("only glTF 2 is read", "Export the scan as glTF 2 (GLB)", "version", int(head[1]))
    if int(head[2]) > len(source.data):
        raise source.refuse(TRUNCATED, AGAIN, "length", f"{int(head[2]):,} bytes promised, {len(source.data):,} found")
    end = 20 + int(head[3])
    if end > len(source.data) or head[4] != 0x4E4F534A:
        raise source.refuse("its first part is not the description it must be", AGAIN, "JSON chunk")
    chunk = None
    if end + 8 <= len(source.data):
        size = int.from_bytes(source.data[end:end + 4].tobytes(), "little")
        if end + 8 + size > len(source.data):
            raise source.refuse(TRUNCATED, AGAIN, "binary chunk", f"{size:,} bytes")
        chunk = source.data[end + 8:end + 8 + size]
    return _Document(source, _json(source, source.data[20:end].tobytes()), chunk)


def _json(source: MeshSource, text: bytes) -> dict[str, Any]:
    try:
        tree = json.loads(text)
    except (ValueError, RecursionError) as fault:
        raise source.refuse(f"its description is no JSON ({told(fault)})", AGAIN, "glTF") from None
    if not isinstance(tree, dict) or "meshes" not in tree:
        raise source.refuse("it holds no mesh", "Export the scan as a surface (mesh)", "meshes")
    unknown = sorted(set(tree.get("extensionsRequired", [])) - _KNOWN)
    if unknown:
        raise source.refuse("it needs an extension this does not read", "Export without compression or extensions",
                            "extensionsRequired", ", ".join(map(str, unknown))[:80])
    return tree


def _pieces(document: _Document) -> list[_Piece]:
    tree = document.tree
    scenes = tree.get("scenes", [])
    nodes = tree.get("nodes", [])
    pieces: list[_Piece] = []
    if scenes:
        scene = scenes[tree.get("scene", 0)]
        roots = scene.get("nodes", [])
    else:
        children = {child for node in nodes for child in node.get("children", [])}
        roots = [index for index in range(len(nodes)) if index not in children]
    if not nodes:
        return [piece for index in range(len(tree["meshes"])) for piece in _mesh(document, index, np.eye(4))]
    waiting = [(root, np.eye(4), 0) for root in reversed(roots)]
    while waiting:
        index, move, depth = waiting.pop()
        if depth > _DEEPEST or len(pieces) > 100_000:
            raise document.source.refuse("its nodes never end", AGAIN, "nodes")
        node = nodes[index]
        here = move @ _move(node)
        if "mesh" in node:
            pieces += _mesh(document, node["mesh"], here)
        waiting += [(child, here, depth + 1) for child in reversed(node.get("children", []))]
    return pieces


def _move(node: dict[str, Any]) -> F64:
    if "matrix" in node:
        return np.asarray(node["matrix"], dtype=np.float64).reshape(4, 4).T
    move = np.eye(4)
    if "rotation" in node:
        x, y, z, w = np.asarray(node["rotation"], dtype=np.float64) / np.linalg.norm(node["rotation"])
        move[:3, :3] = [[1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
                        [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
                        [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)]]
    if "scale" in node:
        move[:3, :3] = move[:3, :3] * np.asarray(node["scale"], dtype=np.float64)
    if "translation" in node:
        move[:3, 3] = node["translation"]
    return move


def _mesh(document: _Document, index: int, move: F64) -> list[_Piece]:
    pieces = []
    for primitive in document.tree["meshes"][index]["primitives"]:
        mode = primitive.get("mode", 4)
        if mode not in (4, 5, 6) or "POSITION" not in primitive["attributes"]:
            continue
        columns, faces = _geometry(document, primitive, mode)
        points = np.asarray(columns["POSITION"], dtype=np.float64)
        if len(faces) and (int(faces.max()) >= len(points) or int(faces.min()) < 0):
            raise document.source.refuse(f"a face names a vertex that does not exist (there are {len(points):,})",
                                         AGAIN, "indices", int(faces.max()))
        document.drawn += len(faces)
        document.source.check_count("faces", max(document.drawn, 1), 0)
        if not np.array_equal(move, np.eye(4)):
            points = points @ move[:3, :3].T + move[:3, 3]
            if np.linalg.det(move[:3, :3]) < 0:  # a mirrored node turns the winding over
                faces = faces[:, ::-1]
        pieces.append(_Piece(points, faces, _colours(document, primitive, columns)))
    return pieces


def _geometry(
    document: _Document, primitive: dict[str, Any], mode: int
) -> tuple[dict[str, NDArray[np.floating]], NDArray[np.int64]]:
    wanted = [name for name in primitive["attributes"] if name == "POSITION" or name.startswith(("TEXCOORD", "COLOR"))]
    draco = primitive.get("extensions", {}).get("KHR_draco_mesh_compression")
    if draco is not None:
        return _draco(document, primitive, draco, wanted)
    columns = {name: _accessor(document, primitive["attributes"][name]) for name in wanted}
    if "indices" in primitive:
        index = _accessor(document, primitive["indices"], whole=True)[:, 0]
        if index.dtype.kind != "u":
            raise document.source.refuse("its faces are not numbered by whole numbers", AGAIN, "indices",
                                         index.dtype.name)
        order = index.astype(np.int64)
    else:
        order = np.arange(len(columns["POSITION"]))
    if mode == 4:
        if len(order) % 3:
            raise document.source.refuse("is no whole number of triangles", AGAIN, "indices", len(order))
        return columns, order.reshape(-1, 3)
    steps = np.arange(max(len(order) - 2, 0))
    if mode == 6:
        return columns, np.stack([order[steps * 0], order[steps + 1], order[steps + 2]], axis=1)
    odd = steps % 2
    return columns, np.stack([order[steps], order[steps + 1 + odd], order[steps + 2 - odd]], axis=1)


def _draco(
    document: _Document, primitive: dict[str, Any], draco: dict[str, Any], wanted: list[str]
) -> tuple[dict[str, NDArray[np.floating]], NDArray[np.int64]]:
    import DracoPy

    packed = _view(document, draco["bufferView"]).tobytes()
    try:
        mesh = DracoPy.decode(packed)
        faces = np.asarray(mesh.faces, dtype=np.int64).reshape(-1, 3)
        columns: dict[str, NDArray[np.floating]] = {}
        for name in wanted:
            if name not in draco["attributes"]:
                columns[name] = _accessor(document, primitive["attributes"][name])
                continue
            values = np.asarray(mesh.get_attribute_by_unique_id(draco["attributes"][name])["data"])
            stated = document.tree["accessors"][primitive["attributes"][name]]
            columns[name] = _normalised(values, bool(stated.get("normalized", False)))
    except (DracoPy.FileTypeException, ValueError, RuntimeError, MemoryError) as fault:
        raise document.source.refuse(f"its compressed geometry cannot be unpacked ({told(fault)})",
                                     "Export the scan without Draco compression", "Draco") from fault
    count = document.tree["accessors"][primitive["attributes"]["POSITION"]].get("count", len(columns["POSITION"]))
    if len(columns["POSITION"]) == 0 or len(faces) == 0:
        raise document.source.refuse(f"its compressed geometry is empty though {count} vertices are stated",
                                     "Export the scan without Draco compression", "Draco")
    return columns, faces


def _accessor(document: _Document, index: int, *, whole: bool = False) -> NDArray[Any]:
    """Return an accessor's rows (n, width); normalised integers as shares unless `whole`."""
    stated = document.tree["accessors"][index]
    count, width = int(stated["count"]), _WIDTHS[stated["type"]]
    kind = np.dtype("<" + _COMPONENTS[stated["componentType"]])
    if count <= 0 or count > 1_000_000_000:
        raise document.source.refuse("is an absurd count", AGAIN, "accessor count", count)
    if "bufferView" in stated:
        rows = _rows(document, stated["bufferView"], int(stated.get("byteOffset", 0)), count, width, kind)
    else:
        document.source.check_count("vertices", count, 0)
        rows = np.zeros((count, width), dtype=kind)
    if "sparse" in stated:
        sparse = stated["sparse"]
        where, values = sparse["indices"], sparse["values"]
        at = _rows(document, where["bufferView"], int(where.get("byteOffset", 0)), int(sparse["count"]), 1,
                   np.dtype("<" + _COMPONENTS[where["componentType"]]))[:, 0]
        rows = rows.copy()
        rows[at] = _rows(document, values["bufferView"], int(values.get("byteOffset", 0)), int(sparse["count"]),
                         width, kind)
    return rows if whole else _normalised(rows, bool(stated.get("normalized", False)))


def _normalised(rows: NDArray[Any], normalised: bool) -> NDArray[Any]:
    if not normalised or rows.dtype.kind == "f":
        return rows
    return np.asarray(np.maximum(rows / float(np.iinfo(rows.dtype).max), -1.0))


def _rows(document: _Document, view: int, offset: int, count: int, width: int, kind: np.dtype[Any]) -> NDArray[Any]:
    data = _view(document, view)
    stride = int(document.tree["bufferViews"][view].get("byteStride", 0)) or width * kind.itemsize
    need = offset + stride * (count - 1) + width * kind.itemsize
    if offset < 0 or stride < 0 or need > len(data):
        raise document.source.refuse(TRUNCATED, AGAIN, f"bufferView {view}", f"needs {need:,} bytes of {len(data):,}")
    rows: NDArray[Any] = np.ndarray((count, width), dtype=kind, buffer=np.ascontiguousarray(data).data,
                                    offset=offset, strides=(stride, kind.itemsize))
    return rows


def _view(document: _Document, index: int) -> U8:
    stated = document.tree["bufferViews"][index]
    data = _buffer(document, stated["buffer"])
    begin, size = int(stated.get("byteOffset", 0)), int(stated["byteLength"])
    if begin < 0 or size < 0 or begin + size > len(data):
        raise document.source.refuse(TRUNCATED, AGAIN, f"bufferView {index}",
                                     f"needs {begin + size:,} bytes of {len(data):,}")
    return data[begin:begin + size]


def _buffer(document: _Document, index: int) -> U8:
    if index not in document.buffers:
        stated = document.tree["buffers"][index]
        if "uri" in stated:
            content = _linked(document, stated["uri"])
            if content is None:
                raise document.source.refuse("is not next to the scan", "Put the file next to it, or export one GLB",
                                             "buffer", str(stated["uri"])[:80])
            document.buffers[index] = np.frombuffer(content, dtype=np.uint8)
        elif document.chunk is None:
            raise document.source.refuse("its binary part is missing; the file is cut off", AGAIN, "buffer", index)
        else:
            document.buffers[index] = document.chunk
    return document.buffers[index]


def _linked(document: _Document, uri: str) -> bytes | None:
    if uri.startswith("data:"):
        return base64.b64decode(uri.partition(",")[2])
    return document.source.beside(urllib.parse.unquote(uri))


def _colours(document: _Document, primitive: dict[str, Any], columns: dict[str, NDArray[Any]]) -> U8 | None:
    material = {}
    if "material" in primitive:
        material = document.tree["materials"][primitive["material"]]
    look = material.get("pbrMetallicRoughness", {})
    old = material.get("extensions", {}).get("KHR_materials_pbrSpecularGlossiness", {})
    factor = np.asarray(look.get("baseColorFactor", old.get("diffuseFactor", [1.0] * 4)), dtype=np.float64)[:3]
    texture = look.get("baseColorTexture", old.get("diffuseTexture"))
    points = len(columns["POSITION"])
    if "COLOR_0" in columns and len(columns["COLOR_0"]) == points:
        return _srgb(np.asarray(columns["COLOR_0"][:, :3], dtype=np.float64) * factor)
    if texture is not None:
        turn = texture.get("extensions", {}).get("KHR_texture_transform", {})
        uv = columns.get(f"TEXCOORD_{turn.get('texCoord', texture.get('texCoord', 0))}")
        picture = _picture(document, texture["index"])
        if uv is not None and picture is not None and len(uv) == points:
            return sampled(picture, _turned(np.asarray(uv, dtype=np.float64), turn), origin_below=False)
    if "baseColorFactor" in look or "diffuseFactor" in old:
        return np.tile(_srgb(factor), (points, 1))
    return None


def _turned(uv: F64, turn: dict[str, Any]) -> F64:
    """KHR_texture_transform: scale, then turn, then shift."""
    angle = float(turn.get("rotation", 0.0))
    scaled = uv[:, :2] * np.asarray(turn.get("scale", [1.0, 1.0]), dtype=np.float64)
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(scaled @ np.array([[c, -s], [s, c]]) + np.asarray(turn.get("offset", [0.0, 0.0])))


def _srgb(linear: F64) -> U8:
    """Linear shares to sRGB bytes."""
    return np.asarray(np.rint(share_of(np.clip(np.nan_to_num(linear), 0.0, 1.0)) * 255), dtype=np.uint8)


def _picture(document: _Document, texture: int) -> U8 | None:
    stated = document.tree["textures"][texture]
    index = stated.get("source", stated.get("extensions", {}).get("EXT_texture_webp", {}).get("source"))
    if index is None:
        return None
    if index not in document.pictures:
        image = document.tree["images"][index]
        content = _view(document, image["bufferView"]).tobytes() if "bufferView" in image \
            else _linked(document, image["uri"])
        if content is None:
            return None
        document.pictures[index] = decode_picture(document.source, str(image.get("name", f"image {index}")), content)
    return document.pictures[index]
