"""Wavefront OBJ as scanners and sculpting programs write it.

The text is walked in blocks of whole lines. In each block all words are found at once, lines are sorted by their first
word (v, vt, f), and the numbers of one kind are read in bulk; nothing is done line by line unless a block mixes
`a`, `a/b`, `a//c` and `a/b/c` corners. Polygons become fans; negative indices count back from the line they stand on;
colours come from `v x y z r g b` or from the material's picture at the corner's texture coordinate.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from scanprep.files.mesh_source import AGAIN, MeshSource, fan_triangles, finished_mesh
from scanprep.files.numerals import Tokens, decimals, find_tokens, integers
from scanprep.files.textures import decode_picture, vertex_colours
from scanprep.scan.mesh import RawMesh
from scanprep.vectors import F64, U8

I64 = NDArray[np.int64]
_BLOCK = 4_000_000  # tolerance: bytes; the working arrays of a block stay near the processor
_FEW_UNUSED, _UNUSED_SHARE = 10, 0.005  # tolerance: vertices without a face that nobody need hear of; assumed
_NO_UV = np.iinfo(np.int32).min


@dataclass(slots=True, eq=False)
class _Gathered:
    """What the blocks have yielded so far."""

    points: list[F64] = field(default_factory=list)
    colours: list[F64] = field(default_factory=list)
    uv: list[F64] = field(default_factory=list)
    faces: list[NDArray[np.int32]] = field(default_factory=list)
    corner_uv: list[NDArray[np.int32]] = field(default_factory=list)
    vertex_count: int = 0
    uv_count: int = 0
    triangle_count: int = 0
    polygon_count: int = 0
    libraries: list[str] = field(default_factory=list)
    materials: list[tuple[int, str]] = field(default_factory=list)  # from which triangle on, its name


def read_obj(source: MeshSource) -> RawMesh:
    """Return the mesh of an OBJ file. Raises ScanError with the line's fault."""
    found = _Gathered()
    data = _unfolded(source.data)
    start = 0
    while start < len(data):
        stop = min(start + _BLOCK, len(data))
        if stop < len(data):
            stop = _line_end(data, stop)
        _read_block(source, data[start:stop], found, last=stop == len(data))
        start = stop
    _check_announced(source, found)
    if not found.points:
        raise source.refuse("the file holds no vertices", AGAIN, "vertices", 0)
    vertices = np.concatenate(found.points)
    faces = np.concatenate(found.faces) if found.faces else np.empty((0, 3), np.int32)
    found.points.clear()
    found.faces.clear()
    mesh = finished_mesh(source, vertices, faces, None)
    colours, notes = _colours(source, found, mesh)
    return RawMesh(mesh.vertices, mesh.faces, colours, None, None, (*_unused(mesh), *notes))


def _unfolded(data: U8) -> U8:
    """Join lines that end in a backslash."""
    slashes = np.flatnonzero(data == 92)
    if len(slashes) == 0:
        return data
    text = data.tobytes()
    return np.frombuffer(re.sub(rb"\\\r?\n", b" ", text), dtype=np.uint8)


def _line_end(data: U8, at: int) -> int:
    """Return one past the first line break at or after a place."""
    while at < len(data):
        breaks = np.flatnonzero(data[at:at + 100_000] == 10)
        if len(breaks):
            return at + int(breaks[0]) + 1
        at += 100_000
    return len(data)


def _read_block(source: MeshSource, block: U8, found: _Gathered, *, last: bool) -> None:
    slashes = np.flatnonzero(block == 47)
    text = block
    if len(slashes):
        text = block.copy()
        text[slashes] = 32
    tokens = find_tokens(text)
    if len(tokens.starts) == 0:
        return
    breaks = np.flatnonzero(tokens.padded == 10)
    firsts = np.concatenate([[0], np.searchsorted(tokens.starts, breaks)])
    counts = np.diff(np.append(firsts, len(tokens.starts)))
    firsts, counts = firsts[counts > 0], counts[counts > 0]
    lengths = tokens.ends[firsts] - tokens.starts[firsts]
    letter = tokens.padded[tokens.starts[firsts]]
    second = tokens.padded[tokens.starts[firsts] + 1]
    is_v = (letter == 118) & (lengths == 1)
    is_vt = (letter == 118) & (lengths == 2) & (second == 116)
    is_f = (letter == 102) & (lengths == 1)
    try:
        _read_faces(source, block, tokens, firsts, counts, (is_v, is_vt, is_f), found, last=last)
        _read_vertices(source, tokens, firsts[is_v], counts[is_v] - 1, found)
        _read_uv(source, tokens, firsts[is_vt], counts[is_vt] - 1, found)
    except ValueError as fault:
        raise source.refuse(str(fault), AGAIN, "line of numbers") from None


def _read_vertices(source: MeshSource, tokens: Tokens, firsts: I64, counts: I64, found: _Gathered) -> None:
    if len(firsts) == 0:
        return
    if int(counts.min()) < 3:
        raise source.refuse("a vertex line has fewer than three numbers; the file is cut off or damaged", AGAIN, "v")
    rows = decimals(tokens.picked((firsts[:, None] + np.arange(1, 4)).ravel())).reshape(-1, 3)
    found.points.append(rows)
    coloured = counts >= 6
    if coloured.all():
        offset = np.where(counts >= 7, 5, 4)
        found.colours.append(decimals(tokens.picked((firsts[:, None] + offset[:, None] + np.arange(3)).ravel()))
                             .reshape(-1, 3))
    found.vertex_count += len(firsts)


def _read_uv(source: MeshSource, tokens: Tokens, firsts: I64, counts: I64, found: _Gathered) -> None:
    if len(firsts) == 0:
        return
    if int(counts.min()) < 2:
        raise source.refuse("a texture line has fewer than two numbers; the file is cut off or damaged", AGAIN, "vt")
    found.uv.append(decimals(tokens.picked((firsts[:, None] + np.arange(1, 3)).ravel())).reshape(-1, 2))
    found.uv_count += len(firsts)


def _read_faces(
    source: MeshSource, block: U8, tokens: Tokens, firsts: I64, counts: I64,
    kinds: tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.bool_]], found: _Gathered, *, last: bool,
) -> None:
    is_v, is_vt, is_f = kinds
    face_firsts, face_counts = firsts[is_f], counts[is_f] - 1
    before = found.triangle_count
    triangles_of_line = np.zeros(0, dtype=np.int64)
    if len(face_firsts):
        numbers = tokens.picked(_runs(face_firsts + 1, face_counts))
        corners, uv, sizes = _corners(source, block, numbers, face_counts)
        if int(sizes.min()) < 3:
            raise source.refuse("a face has fewer than three corners; the file is cut off or damaged", AGAIN, "f")
        if int(corners.min()) < 0 or int(uv.min()) < 0:
            earlier_v = found.vertex_count + np.repeat(np.cumsum(is_v)[is_f], sizes)
            earlier_vt = found.uv_count + np.repeat(np.cumsum(is_vt)[is_f], sizes)
            corners = np.where(corners < 0, corners + earlier_v + 1, corners)
            uv = np.where((uv < 0) & (uv > _NO_UV), uv + earlier_vt + 1, uv)
        found.faces.append(_as_triangles(corners, sizes).astype(np.int32) - 1)
        uv = np.where(uv == _NO_UV, 0, uv)
        found.corner_uv.append(_as_triangles(uv, sizes).astype(np.int32) - 1)
        triangles_of_line = sizes - 2
        found.triangle_count += len(found.faces[-1])
        found.polygon_count += len(sizes)
        source.check_count("faces", found.triangle_count, 0)
    _read_names(tokens, block, firsts, is_f, before, triangles_of_line, found)


def _runs(firsts: I64, counts: I64) -> I64:
    """Return firsts[0], firsts[0]+1, ... for counts[0] numbers, then on with the next."""
    if len(counts) and counts.min() == counts.max():
        return np.asarray((firsts[:, None] + np.arange(counts[0])).ravel(), dtype=np.int64)
    ends = np.cumsum(counts)
    return np.asarray(np.arange(ends[-1]) + np.repeat(firsts - (ends - counts), counts), dtype=np.int64)


def _as_triangles(corners: I64, sizes: I64) -> I64:
    if sizes.min() == sizes.max() == 3:
        return corners.reshape(-1, 3)
    return fan_triangles(corners, sizes)[0]


def _corners(source: MeshSource, block: U8, numbers: Tokens, counts: I64) -> tuple[I64, I64, I64]:
    """Return vertex index, texture index and the corners per face; indices as written, _NO_UV where absent."""
    values, plain = integers(numbers)
    if not plain.all():
        odd = int(np.flatnonzero(~plain)[0])
        word = numbers.padded[numbers.starts[odd]:numbers.ends[odd]].tobytes()[:40].decode("ascii", "replace")
        raise source.refuse(f"a face names {word!r}, which is no vertex number", AGAIN, "f")
    # A number right after a slash belongs to the corner begun before it
    at = numbers.starts - 16
    after = np.zeros(len(at), dtype=np.int8)
    after[at > 0] = block[at[at > 0] - 1] == 47
    double = (after > 0) & (at > 1)
    double[double] = block[at[double] - 2] == 47
    begins = np.flatnonzero(after == 0)
    width = len(at) // max(len(begins), 1)
    if width and width * len(begins) == len(at) and np.array_equal(begins, np.arange(0, len(at), width)):
        vertex = values[::width]
        no_uv = np.full(len(begins), _NO_UV, dtype=np.int64)
        uv = no_uv if width == 1 else values[1::width]
        if double.any():
            uv = np.where(double[1::width], _NO_UV, uv)
        return vertex, uv, counts // width
    vertex = values[begins]
    uv = np.full(len(begins), _NO_UV, dtype=np.int64)
    second = begins + 1
    fits = second < len(at)
    has = np.zeros(len(begins), dtype=np.bool_)
    has[fits] = (after[second[fits]] > 0) & ~double[second[fits]]
    uv[has] = values[second[has]]
    line = np.repeat(np.arange(len(counts)), counts)
    return vertex, uv, np.bincount(line[begins], minlength=len(counts))


def _read_names(
    tokens: Tokens, block: U8, firsts: I64, is_f: NDArray[np.bool_], before: int, triangles_of_line: I64,
    found: _Gathered,
) -> None:
    """Note material libraries and where each material begins."""
    lengths = tokens.ends[firsts] - tokens.starts[firsts]
    letter = tokens.padded[tokens.starts[firsts]]
    named = np.flatnonzero((lengths == 6) & ((letter == 117) | (letter == 109)))
    if len(named) == 0:
        return
    done = np.concatenate([[0], np.cumsum(triangles_of_line)])
    faces_before = np.cumsum(is_f)
    for line in named.tolist():
        begin = int(tokens.starts[firsts[line]]) - 16
        text = block[begin:begin + 1000].tobytes().split(b"\n", 1)[0].decode("utf-8", "replace")
        word, _, name = text.partition(" ")
        if word == "usemtl":
            found.materials.append((before + int(done[faces_before[line]]), name.strip()))
        elif word == "mtllib":
            found.libraries.append(name.strip())


#: Counts that programs write into comments: "# Faces: 16384", "# 8190 vertices, 16384 faces".
_COMMENT = re.compile(rb"^[ \t]*#(.*)$", re.MULTILINE)
_KINDS = rb"(vertices|faces|polygons|triangles)"
_PROMISES = (re.compile(_KINDS + rb"\s*:\s*(?P<count>\d+)", re.IGNORECASE),
             re.compile(rb"\b(?P<count>\d+)\s+" + _KINDS, re.IGNORECASE))


def _check_announced(source: MeshSource, found: _Gathered) -> None:
    """Where a comment at the top tells how many there are, a cut-off file is known."""
    comments = b"\n".join(_COMMENT.findall(source.text(4000)))
    there = {b"vertices": found.vertex_count, b"faces": found.polygon_count, b"polygons": found.polygon_count,
             b"triangles": found.triangle_count}
    for pattern in _PROMISES:
        for promise in pattern.finditer(comments):
            what = next(kind for kind in there if kind in promise[0].lower())
            count = int(promise["count"])
            if count > there[what] > 0:
                raise source.refuse(f"its heading promises {count:,} {what.decode()}; it is cut off", AGAIN,
                                    what.decode(), f"{there[what]:,}")


def _unused(mesh: RawMesh) -> tuple[str, ...]:
    """Tell where many vertices belong to no face: vertices come first in a file, so one cut between lines looks so."""
    used = np.zeros(len(mesh.vertices), dtype=np.bool_)
    used[mesh.faces.ravel()] = True
    unused = len(used) - int(np.count_nonzero(used))
    if unused <= max(_FEW_UNUSED, _UNUSED_SHARE * len(used)):
        return ()
    return (f"{unused:,} of {len(used):,} vertices belong to no face: the file may have been cut off",)


def _colours(source: MeshSource, found: _Gathered, mesh: RawMesh) -> tuple[U8 | None, tuple[str, ...]]:
    vertices = len(mesh.vertices)
    if sum(map(len, found.colours)) == vertices:
        given = np.nan_to_num(np.concatenate(found.colours))
        scale = 255.0 if given.max() <= 1.0 else 1.0
        return np.clip(np.rint(given * scale), 0, 255).astype(np.uint8), ()
    if not found.uv and not found.libraries:
        return None, ()
    names, notes = _material_pictures(source, found)
    if not names:
        return None, tuple(notes)
    material = np.full(len(mesh.faces), -1 if found.materials else 0, dtype=np.int32)
    order = list(names)
    for (begin, name), (end, _) in zip(found.materials, [*found.materials[1:], (len(mesh.faces), "")]):
        material[begin:end] = order.index(name) if name in names else -1
    pictures = [_picture(source, names[name][0], notes) for name in order]
    uv = np.concatenate(found.uv) if found.uv else np.empty((0, 2))
    colours = vertex_colours(vertices, mesh.faces, np.concatenate(found.corner_uv), uv, material, pictures,
                             [names[name][1] for name in order])
    return colours, tuple(notes)


_Material = tuple[str | None, tuple[int, int, int] | None]  # picture's file, plain colour


def _material_pictures(source: MeshSource, found: _Gathered) -> tuple[dict[str, _Material], list[str]]:
    names: dict[str, _Material] = {}
    notes: list[str] = []
    for library in found.libraries:
        content = source.beside(library)
        if content is None:
            notes.append(f"no colours: the material file {library} is not next to the scan")
            continue
        names.update(read_mtl(content.decode("utf-8", "replace")))
    return names, notes


def read_mtl(text: str) -> dict[str, _Material]:
    """Return for each material its picture's file name and its plain colour (Kd), as far as stated."""
    names: dict[str, _Material] = {}
    current = ""
    for line in text.splitlines():
        word, _, rest = line.strip().partition(" ") if " " in line.strip() else line.strip().partition("\t")
        rest = rest.strip()
        key = word.lower()
        if key == "newmtl":
            current = rest
            names[current] = (None, None)
        elif key == "map_kd" and current in names:
            names[current] = (_map_file(rest), names[current][1])
        elif key == "kd" and current in names:
            shares = re.findall(r"[-+.\deE]+", rest)[:3]
            try:
                red, green, blue = (min(max(round(float(share) * 255), 0), 255) for share in shares)
            except (ValueError, OverflowError):
                continue
            names[current] = (names[current][0], (red, green, blue))
    return names


def _map_file(rest: str) -> str:
    """Drop the options that may stand before the file's name, such as `-s 1 1 1`."""
    return re.sub(r"^(?:-(?:blendu|blendv|cc|clamp|imfchan|bm|boost|texres)\s+\S+\s+|-(?:mm)\s+\S+\s+\S+\s+"
                  r"|-(?:o|s|t)(?:\s+[-+.\deE]+){1,3}\s+)+", "", rest).strip().strip('"')


def _picture(source: MeshSource, name: str | None, notes: list[str]) -> U8 | None:
    if name is None:
        return None
    content = source.beside(name)
    if content is None:
        notes.append(f"no colours from {name}: it is not next to the scan")
        return None
    return decode_picture(source, name, content)
