"""OFF and 3MF: the two formats beside the common four.

OFF is text, may carry vertex colours (COFF) and mixed polygons, and states no unit. 3MF is a zip with an XML model that
states its unit (millimetre where it does not say), objects made of meshes or of other objects, and moves on each.
Source: 3MF Core Specification 1.3, chapters 3 (units, build items) and 4 (objects, components).
"""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass, field
from typing import IO
from xml.etree import ElementTree

import numpy as np
from numpy.typing import NDArray

from scanprep.files.mesh_source import (
    AGAIN,
    TRUNCATED,
    ZIP_FAULTS,
    MeshSource,
    absurd,
    fan_triangles,
    finished_mesh,
    told,
)
from scanprep.files.numerals import decimals, find_tokens
from scanprep.scan.mesh import RawMesh
from scanprep.vectors import F64, U8

_UNITS_3MF = {"micron": "um", "millimeter": "mm", "centimeter": "cm", "inch": "in", "foot": "ft", "meter": "m"}
_MOST_COMPONENTS = 10_000  # tolerance: a scan has a handful
_MOST_XML = 4_000_000_000  # format: bytes unpacked; 5 million faces need about 0.5 GB
_DEEPEST = 20  # format: components within one another; a scan has two or three


def read_off(source: MeshSource) -> RawMesh:
    """Return the mesh of an OFF or COFF file. Raises ScanError."""
    text = source.data
    comments = np.flatnonzero(text == 35)
    if len(comments):
        lines = (line.partition(b"#")[0] for line in text.tobytes().split(b"\n"))
        text = np.frombuffer(b"\n".join(lines), dtype=np.uint8)
    tokens = find_tokens(text)
    if len(tokens.starts) < 4:
        raise source.refuse(TRUNCATED, AGAIN, "OFF")
    word = tokens.padded[tokens.starts[0]:tokens.ends[0]].tobytes().upper()
    width = {b"OFF": 3, b"COFF": 7, b"NOFF": 6, b"CNOFF": 10, b"STOFF": 5}.get(word)
    if width is None:
        raise source.refuse("is not a kind of OFF this reads", "Export the scan as PLY or OBJ", "first word",
                            word[:20].decode("latin-1"))
    try:
        numbers = decimals(tokens.picked(np.arange(1, len(tokens.starts))))
    except ValueError as fault:
        raise source.refuse(str(fault), AGAIN, "numbers") from None
    if not np.isfinite(numbers[:2]).all():
        raise source.refuse("its counts are no numbers", AGAIN, "OFF")
    vertices, faces = int(numbers[0]), int(numbers[1])
    source.check_count("vertices", vertices, 2)
    source.check_count("faces", faces, 2)
    width = _vertex_width(text, width)
    stop = 3 + vertices * width
    if width < 3 or stop > len(numbers):
        raise source.refuse(TRUNCATED, AGAIN, "vertices", f"{vertices:,}")
    rows = numbers[3:stop].reshape(vertices, width)
    triangles = _off_faces(source, text, numbers[stop:], faces, vertices)
    colours = None
    if word == b"COFF" and width >= 6:
        given = np.nan_to_num(rows[:, 3:6])
        colours = np.clip(np.rint(given * (255 if given.max() <= 1 else 1)), 0, 255).astype(np.uint8)
    return finished_mesh(source, rows[:, :3], triangles, colours)


def _vertex_width(text: U8, width: int) -> int:
    """COFF writes three or four colour numbers; the first vertex line tells."""
    lines = [line for line in text[:4000].tobytes().split(b"\n") if line.strip()]
    counts_on_first = len(lines[0].split()) > 1
    line = lines[1 if counts_on_first else 2:][:1]
    return len(line[0].split()) if line and width == 7 else width


def _off_faces(source: MeshSource, text: U8, numbers: F64, faces: int, vertices: int) -> NDArray[np.int64]:
    plain = np.nan_to_num(numbers, nan=-1.0, posinf=-1.0, neginf=-1.0)
    if np.abs(plain).max(initial=0.0) > 2**53:
        raise source.refuse("a face names a vertex that does not exist", AGAIN, "faces")
    run = plain.astype(np.int64)
    for width in (4, 7, 8):  # triangles bare, with three colour numbers, with four
        if len(run) == faces * width and bool((run[::width] == 3).all()):
            return run.reshape(faces, width)[:, 1:4]
    lines = [line for line in text.tobytes().split(b"\n") if line.strip()][-faces:]
    extra = [len(line.split()) for line in lines]
    if len(lines) != faces or sum(extra) > len(run):
        raise source.refuse(TRUNCATED, AGAIN, "faces", f"{faces:,}")
    run = run[len(run) - sum(extra):]
    starts = np.cumsum([0, *extra[:-1]])
    counts = run[starts]
    if counts.min() < 3 or (counts + 1 > np.asarray(extra)).any():
        raise source.refuse(TRUNCATED, AGAIN, "faces", f"{faces:,}")
    step = np.arange(int(counts.sum())) - np.repeat(np.cumsum(counts) - counts, counts)
    return fan_triangles(run[np.repeat(starts + 1, counts) + step], counts)[0]


@dataclass(slots=True, eq=False)
class _Model:
    unit: str = "mm"
    meshes: dict[str, tuple[F64, NDArray[np.int64]]] = field(default_factory=dict)
    components: dict[str, list[tuple[str, F64]]] = field(default_factory=dict)
    items: list[tuple[str, F64]] = field(default_factory=list)


def read_3mf(source: MeshSource) -> RawMesh:
    """Return the joined meshes of a 3MF file in its stated unit. Raises ScanError."""
    model = _Model()
    try:
        with zipfile.ZipFile(io.BytesIO(source.data.tobytes())) as archive:
            names = [name for name in archive.namelist() if name.lower().endswith(".model")]
            main = next((name for name in names if name.lower().lstrip("/") == "3d/3dmodel.model"), None)
            if main is None:
                raise source.refuse("it holds no 3D model", AGAIN, "3D/3dmodel.model")
            if archive.getinfo(main).file_size > _MOST_XML or absurd(archive.getinfo(main)):
                raise source.refuse("is an absurd size", AGAIN, main, f"{archive.getinfo(main).file_size:,} bytes")
            with archive.open(main) as content:
                _parse(content, model)
    except ZIP_FAULTS as fault:
        raise source.refuse(f"its zip is damaged ({told(fault)})", AGAIN, "3MF") from fault
    except (ElementTree.ParseError, KeyError, ValueError, TypeError, OverflowError) as fault:
        raise source.refuse(f"its model is damaged ({told(fault)})", AGAIN, "3D/3dmodel.model") from fault
    placed = _Placed([], [])
    for name, move in model.items or [(name, _move(None)) for name in model.meshes]:
        _place(source, model, name, move, placed, 0)
    if not placed.faces:
        raise source.refuse("it holds no mesh", "Export the scan as a surface (mesh)", "mesh")
    return finished_mesh(source, np.concatenate(placed.points), np.concatenate(placed.faces), None, model.unit, "z")


def _move(text: str | None) -> F64:
    """A 3MF transform: twelve numbers, row vectors times a 4 x 3 matrix."""
    if text is None:
        return np.vstack([np.eye(3), np.zeros(3)])
    return np.asarray([float(word) for word in text.split()], dtype=np.float64).reshape(4, 3)


def _parse(content: IO[bytes], model: _Model) -> None:
    identity = ""
    points: list[tuple[float, float, float]] = []
    faces: list[tuple[int, int, int]] = []
    for event, node in ElementTree.iterparse(content, events=("start", "end")):
        tag = node.tag.rpartition("}")[2]
        if event == "start":
            if tag == "model":
                model.unit = _UNITS_3MF[node.get("unit", "millimeter")]
            elif tag == "object":
                identity, points, faces = node.attrib["id"], [], []
            continue
        if tag == "vertex":
            points.append((float(node.attrib["x"]), float(node.attrib["y"]), float(node.attrib["z"])))
        elif tag == "triangle":
            faces.append((int(node.attrib["v1"]), int(node.attrib["v2"]), int(node.attrib["v3"])))
        elif tag == "component":
            model.components.setdefault(identity, []).append((node.attrib["objectid"], _move(node.get("transform"))))
        elif tag == "item":
            model.items.append((node.attrib["objectid"], _move(node.get("transform"))))
        elif tag == "object" and faces:
            model.meshes[identity] = (np.asarray(points, dtype=np.float64).reshape(-1, 3),
                                      np.asarray(faces, dtype=np.int64))
        if tag in ("vertex", "triangle", "vertices", "triangles", "mesh"):
            node.clear()


@dataclass(slots=True, eq=False)
class _Placed:
    points: list[F64]
    faces: list[NDArray[np.int64]]
    count: int = 0  # of points so far
    visits: int = 0  # of components: ten that each name ten others ten deep never end


def _place(source: MeshSource, model: _Model, name: str, move: F64, out: _Placed, depth: int) -> None:
    out.visits += 1
    if depth > _DEEPEST or out.visits > _MOST_COMPONENTS:
        raise source.refuse("its components never end", AGAIN, "component", name)
    if name in model.meshes:
        points, faces = model.meshes[name]
        if int(faces.min()) < 0 or int(faces.max()) >= len(points):
            raise source.refuse(f"a face names a vertex that does not exist (there are {len(points):,})", AGAIN,
                                "triangle", int(faces.max()))
        if np.linalg.det(move[:3]) < 0:
            faces = faces[:, ::-1]
        out.faces.append(faces + out.count)
        out.points.append(points @ move[:3] + move[3])
        out.count += len(points)
    for child, inner in model.components.get(name, []):
        _place(source, model, child, np.vstack([inner[:3] @ move[:3], inner[3] @ move[:3] + move[3]]), out, depth + 1)
