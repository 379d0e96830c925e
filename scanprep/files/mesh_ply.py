"""PLY: text or binary of either byte order, whatever order and types its properties come in.

A binary element whose properties all have fixed size is one record type, read in one go. Faces carry a list; almost
always every face has the same number of corners, so the first face's shape is tried for all and checked afterwards; a
file that mixes triangles and larger polygons is walked face by face. Colours may be stored per vertex, per face, or
as a picture (`comment TextureFile`) with coordinates per vertex or per corner.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scanprep.files.mesh_source import AGAIN, TRUNCATED, MeshSource, fan_triangles, finished_mesh
from scanprep.files.numerals import decimals, find_tokens
from scanprep.files.textures import decode_picture, vertex_colours
from scanprep.scan.mesh import RawMesh
from scanprep.vectors import F64, U8

I64 = NDArray[np.int64]
_TYPES = {"char": "i1", "int8": "i1", "uchar": "u1", "uint8": "u1", "short": "i2", "int16": "i2", "ushort": "u2",
          "uint16": "u2", "int": "i4", "int32": "i4", "uint": "u4", "uint32": "u4", "float": "f4", "float32": "f4",
          "double": "f8", "float64": "f8", "int64": "i8", "uint64": "u8"}
_MOST_CORNERS = 100_000  # format: corners of one face; more is a damaged file
_MESH_FIRST = "Mesh the point cloud in the scanning program and export the surface"


@dataclass(frozen=True, slots=True)
class _Property:
    name: str
    type: str  # numpy code without byte order
    count_type: str | None  # for a list: the type of its length


@dataclass(frozen=True, slots=True)
class _Element:
    name: str
    count: int
    properties: tuple[_Property, ...]


@dataclass(frozen=True, slots=True)
class _Header:
    order: str  # "<", ">" or "" for text
    elements: tuple[_Element, ...]
    pictures: tuple[str, ...]
    size: int  # bytes up to the first element


@dataclass(frozen=True, slots=True, eq=False)
class _Lists:
    """A list property: its values one after another, and how many belong to each row."""

    values: NDArray[np.generic]
    counts: I64


_Columns = dict[str, NDArray[np.generic] | _Lists]


def read_ply(source: MeshSource) -> RawMesh:
    """Return the mesh of a PLY file. Raises ScanError, with advice where it is a point cloud."""
    header = _header(source)
    named = {element.name: element for element in header.elements}
    if "vertex" not in named:
        raise source.refuse("it has no vertices", AGAIN, "element vertex")
    if "face" not in named or named["face"].count == 0:
        raise source.refuse("it has points but no faces, so it is a point cloud", _MESH_FIRST, "element face", 0)
    for element in header.elements:
        if element.name in ("vertex", "face"):
            least = sum(1 if header.order == "" else np.dtype(p.count_type or p.type).itemsize
                        for p in element.properties)
            source.check_count("faces" if element.name == "face" else "vertices", element.count, least)
    columns = _text(source, header) if header.order == "" else _binary(source, header)
    return _assembled(source, header, columns["vertex"], columns["face"])


def _header(source: MeshSource) -> _Header:
    head = source.text(65536)
    end = head.find(b"end_header")
    if end < 0:
        raise source.refuse("its header never ends; it is cut off or damaged", AGAIN, "end_header")
    after = head[end:end + 14]
    size = end + len(b"end_header") + (2 if after[10:12] == b"\r\n" else 1)
    order, pictures = None, []
    elements: list[tuple[str, int, list[_Property]]] = []
    for line in head[:end].decode("latin-1").splitlines()[1:]:
        words = line.split()
        if not words or words[0] == "obj_info":
            continue
        try:
            if words[0] == "comment":
                if len(words) > 2 and words[1].lower() == "texturefile":
                    pictures.append(line.split(None, 2)[2].strip())
            elif words[0] == "format":
                order = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}[words[1]]
            elif words[0] == "element":
                elements.append((words[1], int(words[2]), []))
            elif words[0] == "property" and words[1] == "list":
                elements[-1][2].append(_Property(words[4], _TYPES[words[3]], _TYPES[words[2]]))
            elif words[0] == "property":
                elements[-1][2].append(_Property(words[2], _TYPES[words[1]], None))
            else:
                raise KeyError
        except (KeyError, IndexError, ValueError):
            raise source.refuse("this line of its header makes no sense", AGAIN, "header", line[:60].strip()) from None
    if order is None:
        raise source.refuse("its header does not say whether it is text or binary", AGAIN, "format")
    for name, count, properties in elements:
        names = [each.name for each in properties]
        if count < 0 or len(set(names)) != len(names):
            raise source.refuse("its header is damaged", AGAIN, f"element {name}", count)
    return _Header(order, tuple(_Element(n, c, tuple(p)) for n, c, p in elements), tuple(pictures), size)


def _binary(source: MeshSource, header: _Header) -> dict[str, _Columns]:
    at = header.size
    columns: dict[str, _Columns] = {}
    for element in header.elements:
        if all(each.count_type is None for each in element.properties):
            record = np.dtype([(p.name, header.order + p.type) for p in element.properties])
            rows, at = _records(source, element, record, at)
            columns[element.name] = {p.name: rows[p.name] for p in element.properties}
        else:
            columns[element.name], at = _binary_lists(source, element, header.order, at)
        if element.name == "face" and "vertex" in columns:
            break
    return columns


def _records(
    source: MeshSource, element: _Element, record: np.dtype[np.void], at: int
) -> tuple[NDArray[np.void], int]:
    stop = at + record.itemsize * element.count
    if stop > len(source.data):
        raise source.refuse(TRUNCATED, AGAIN, f"element {element.name}", f"{element.count:,}")
    return source.data[at:stop].view(record) if record.itemsize else np.empty(element.count, record), stop


def _binary_lists(source: MeshSource, element: _Element, order: str, at: int) -> tuple[_Columns, int]:
    """Try the first row's shape for all rows; else walk them."""
    if element.count == 0:
        return {p.name: _Lists(np.empty(0, p.type), np.empty(0, np.int64)) for p in element.properties}, at
    first = _row_counts(source, element, order, at)
    fields: list[tuple[str, str] | tuple[str, str, tuple[int]]] = []
    for each in element.properties:
        if each.count_type is None:
            fields.append((each.name, order + each.type))
        else:
            fields += [(f"{each.name} count", order + each.count_type),
                       (each.name, order + each.type, (first[each.name],))]
    record = np.dtype(fields)
    stop = at + record.itemsize * element.count
    if stop <= len(source.data):
        rows = source.data[at:stop].view(record)
        if all(bool((rows[f"{name} count"] == count).all()) for name, count in first.items()):
            return {
                p.name: rows[p.name] if p.count_type is None else
                _Lists(rows[p.name].reshape(-1), np.full(element.count, first[p.name], dtype=np.int64))
                for p in element.properties
            }, stop
    return _walked(source, element, order, at)


def _row_counts(source: MeshSource, element: _Element, order: str, at: int) -> dict[str, int]:
    counts: dict[str, int] = {}
    for each in element.properties:
        if each.count_type is not None:
            length = _one(source, order + each.count_type, at)
            if not 0 <= length <= _MOST_CORNERS:
                raise source.refuse("is an absurd number of corners; the file is damaged", AGAIN, each.name, length)
            at += np.dtype(each.count_type).itemsize + length * np.dtype(each.type).itemsize
            counts[each.name] = length
        else:
            at += np.dtype(each.type).itemsize
    return counts


def _one(source: MeshSource, kind: str, at: int) -> int:
    size = np.dtype(kind).itemsize
    if at + size > len(source.data):
        raise source.refuse(TRUNCATED, AGAIN, "faces")
    return int(source.data[at:at + size].view(kind)[0])


def _walked(source: MeshSource, element: _Element, order: str, at: int) -> tuple[_Columns, int]:
    """Rows of differing length: find each row's place, then gather."""
    places: dict[str, list[int]] = {p.name: [] for p in element.properties}
    counts: dict[str, list[int]] = {p.name: [] for p in element.properties}
    data = source.data.tobytes()
    endian: Literal["big", "little"] = "big" if order == ">" else "little"
    steps = [(p.name, np.dtype(p.count_type).itemsize if p.count_type else 0, np.dtype(p.type).itemsize)
             for p in element.properties]
    for _ in range(element.count):
        for name, count_size, size in steps:
            length = 1
            if count_size:
                length = int.from_bytes(data[at:at + count_size], endian)
                at += count_size
            places[name].append(at)
            counts[name].append(length)
            at += length * size
        if at > len(data):
            raise source.refuse(TRUNCATED, AGAIN, f"element {element.name}", f"{element.count:,}")
    columns: _Columns = {}
    for each in element.properties:
        size = np.dtype(each.type).itemsize
        lengths = np.asarray(counts[each.name], dtype=np.int64)
        firsts = np.asarray(places[each.name], dtype=np.int64)
        step = np.arange(int(lengths.sum())) - np.repeat(np.cumsum(lengths) - lengths, lengths)
        begin = np.repeat(firsts, lengths) + step * size
        values = np.ascontiguousarray(source.data[begin[:, None] + np.arange(size)]).view(order + each.type)[:, 0]
        columns[each.name] = values if each.count_type is None else _Lists(values, lengths)
    return columns, at


def _text(source: MeshSource, header: _Header) -> dict[str, _Columns]:
    """One run of numbers for the whole file; rows are found by counting."""
    try:
        numbers = _all_numbers(source.data[header.size:])
    except ValueError as fault:
        raise source.refuse(str(fault), AGAIN, "numbers") from None
    at = 0
    columns: dict[str, _Columns] = {}
    for element in header.elements:
        wide = len(element.properties)
        if all(each.count_type is None for each in element.properties):
            stop = at + wide * element.count
            if stop > len(numbers):
                raise source.refuse(TRUNCATED, AGAIN, f"element {element.name}", f"{element.count:,}")
            rows = numbers[at:stop].reshape(element.count, wide)
            columns[element.name] = {p.name: rows[:, i] for i, p in enumerate(element.properties)}
        else:
            columns[element.name], stop = _text_lists(source, element, numbers, at)
        at = stop
        if element.name == "face" and "vertex" in columns:
            break
    return columns


def _all_numbers(data: U8, block: int = 4_000_000) -> F64:
    parts, start = [], 0
    while start < len(data):
        stop = min(start + block, len(data))
        while stop < len(data) and data[stop - 1] > 32:
            stop += 1
        parts.append(decimals(find_tokens(data[start:stop])))
        start = stop
    return np.concatenate(parts) if parts else np.empty(0)


def _text_lists(source: MeshSource, element: _Element, numbers: F64, at: int) -> tuple[_Columns, int]:
    columns: _Columns = {}
    width, offsets, place = 0, {}, at
    for each in element.properties:
        length = None
        if each.count_type is not None:
            length = int(numbers[place]) if place < len(numbers) and np.isfinite(numbers[place]) else -1
            if not 0 <= length <= _MOST_CORNERS:
                raise source.refuse("the faces are cut off or damaged", AGAIN, each.name, length)
        offsets[each.name] = (width, length)
        width += 1 if length is None else 1 + length
        place = at + width
    stop = at + width * element.count
    if stop <= len(numbers):
        rows = numbers[at:stop].reshape(element.count, width)
        if all(length is None or bool((rows[:, offset] == length).all()) for offset, length in offsets.values()):
            for name, (offset, length) in offsets.items():
                columns[name] = rows[:, offset] if length is None else _Lists(
                    rows[:, offset + 1:offset + 1 + length].reshape(-1),
                    np.full(element.count, length, dtype=np.int64))
            return columns, stop
    return _walked_text(source, element, numbers, at)


def _walked_text(source: MeshSource, element: _Element, numbers: F64, at: int) -> tuple[_Columns, int]:
    plain = numbers[at:].tolist()
    values: dict[str, list[list[float]]] = {p.name: [] for p in element.properties}
    place = 0
    try:
        for _ in range(element.count):
            for each in element.properties:
                length = 1
                if each.count_type is not None:
                    length = int(plain[place])
                    place += 1
                row = plain[place:place + length]
                if len(row) != length:
                    raise IndexError
                values[each.name].append(row)
                place += length
    except (IndexError, ValueError, OverflowError):
        raise source.refuse(TRUNCATED, AGAIN, f"element {element.name}", f"{element.count:,}") from None
    columns: _Columns = {}
    for each in element.properties:
        run = np.fromiter(itertools.chain.from_iterable(values[each.name]), dtype=np.float64)
        columns[each.name] = run if each.count_type is None else _Lists(
            run, np.asarray([len(row) for row in values[each.name]], dtype=np.int64))
    return columns, at + place


def _assembled(source: MeshSource, header: _Header, vertex: _Columns, face: _Columns) -> RawMesh:
    try:
        axes = [_plain(vertex[name]) for name in ("x", "y", "z")]
    except KeyError as missing:
        raise source.refuse("its vertices have no such coordinate", AGAIN, "property", missing.args[0]) from None
    points = np.empty((len(axes[0]), 3))
    for i, axis in enumerate(axes):
        points[:, i] = axis
    lists = face.get("vertex_indices", face.get("vertex_index"))
    if not isinstance(lists, _Lists):
        raise source.refuse("its faces name no vertices", AGAIN, "vertex_indices")
    wide = lists.values
    if wide.dtype.kind == "f" and not bool(np.isfinite(wide).all()):
        raise source.refuse("a face names a vertex that is no number", AGAIN, "vertex_indices", "NaN")
    # Indices beyond 32 bits wrap on conversion, so the range is checked on what the file holds
    if len(wide) and (wide.max() >= len(points) or wide.min() < 0):
        raise source.refuse(f"a face names a vertex that does not exist (there are {len(points):,})", AGAIN,
                            "vertex_indices", int(wide.max() if wide.max() >= len(points) else wide.min()))
    if bool((lists.counts == 3).all()):
        triangles = np.ascontiguousarray(wide, dtype=np.int32).reshape(-1, 3)
        owner = None
        picked = None
    else:
        picked, owner = fan_triangles(np.arange(len(wide)), lists.counts)
        triangles = wide[picked].astype(np.int32)
    colours, notes = _colours(source, header, vertex, face, (len(points), triangles, owner, picked))
    return finished_mesh(source, points, triangles, colours, notes=notes)


def _plain(column: NDArray[np.generic] | _Lists) -> NDArray[np.generic]:
    if isinstance(column, _Lists):
        raise KeyError("x, y, z as single numbers")
    return column


_Fans = tuple[int, NDArray[np.int32], I64 | None, I64 | None]


def _colours(
    source: MeshSource, header: _Header, vertex: _Columns, face: _Columns, fans: _Fans
) -> tuple[U8 | None, tuple[str, ...]]:
    vertices, triangles, owner, _ = fans
    given = _colour_columns(vertex)
    if given is not None:
        return given, ()
    if header.pictures:
        return _from_picture(source, header.pictures[0], vertex, face, fans)
    by_face = _colour_columns(face)
    if by_face is not None:
        colours = np.full((vertices, 3), 128, dtype=np.uint8)
        spread = by_face if owner is None else by_face[owner]
        colours[triangles.ravel()] = np.repeat(spread, 3, axis=0)
        return colours, ("colours stood on the faces and were moved to their corners",)
    return None, ()


def _colour_columns(columns: _Columns) -> U8 | None:
    for names in (("red", "green", "blue"), ("diffuse_red", "diffuse_green", "diffuse_blue"), ("r", "g", "b")):
        found = [columns[name] for name in names if name in columns]
        if len(found) < 3 or any(isinstance(each, _Lists) for each in found):
            continue
        stacked = np.stack([_plain(each) for each in found], axis=1)
        if stacked.dtype == np.uint8:
            return np.ascontiguousarray(stacked)
        values = np.nan_to_num(stacked.astype(np.float64))
        top = float(values.max(initial=0.0))
        scale = 255.0 if top <= 1.0 else 1.0 if top <= 255.0 else 1 / 257.0
        return np.clip(np.rint(values * scale), 0, 255).astype(np.uint8)
    return None


def _from_picture(
    source: MeshSource, name: str, vertex: _Columns, face: _Columns, fans: _Fans
) -> tuple[U8 | None, tuple[str, ...]]:
    vertices, triangles, _, picked = fans
    content = source.beside(name)
    if content is None:
        return None, (f"no colours: the picture {name} is not next to the scan",)
    corner = face.get("texcoord")
    if isinstance(corner, _Lists) and len(corner.values) % 2 == 0:
        uv = corner.values.reshape(-1, 2).astype(np.float64)
        rows: NDArray[np.integer]
        rows = np.arange(len(triangles) * 3).reshape(-1, 3) if picked is None else picked
    else:
        pair = next((p for p in (("s", "t"), ("u", "v"), ("texture_u", "texture_v")) if p[0] in vertex
                     and p[1] in vertex), None)
        if pair is None:
            return None, (f"no colours: nothing says how the picture {name} lies on the surface",)
        uv = np.stack([_plain(vertex[pair[0]]), _plain(vertex[pair[1]])], axis=1).astype(np.float64)
        rows = triangles
    picture = decode_picture(source, name, content)
    return vertex_colours(vertices, triangles, rows, uv, np.zeros(len(triangles), np.int32), [picture], [None]), ()
