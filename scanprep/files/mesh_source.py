"""The bytes of one scan, the files beside it, and how a reader refuses.

A reader takes a MeshSource and returns a RawMesh; it never opens a file itself, so that a scan inside a zip reads
like a scan in a folder. Whatever cannot be used ends in one ScanError naming file, field, value, fault and remedy.
Used by `files.meshes` and its readers.
"""

from __future__ import annotations

import struct
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.errors import ScanError
from scanprep.scan.mesh import RawMesh
from scanprep.vectors import F64, U8

_MOST_VERTICES = 200_000_000  # format: ten times the faces that are read
_MOST_WORDS = 90  # layout: characters of a name in a message
_BOMB_BYTES, _BOMB_RATIO = 50_000_000, 100  # tolerance: smaller ones do no harm; meshes pack at most 1:20 or so
_INDEX = NDArray[np.integer]


@dataclass(frozen=True, slots=True, eq=False)
class MeshSource:
    """One scan's content."""

    file: str  # as told to people
    data: U8  # (n,) the whole file
    beside: Callable[[str], bytes | None]  # content of a neighbouring file, None where there is none
    most_faces: int

    def refuse(self, problem: str, remedy: str, field: str | None = None, value: object = None) -> ScanError:
        """Return the error to raise: one sentence on this file."""
        return ScanError(file=self.file, field=field, value=value, problem=problem, remedy=remedy)

    def text(self, length: int) -> bytes:
        """Return the first bytes."""
        return self.data[:length].tobytes()

    def check_count(self, what: str, count: int, least_bytes_each: float) -> None:
        """Refuse a stated count that is nothing, absurd, or more than the file has bytes for."""
        if count <= 0:
            raise self.refuse(f"the file holds no {what}", "Export the scan again as a surface (mesh)", what, count)
        most = self.most_faces if what == "faces" else _MOST_VERTICES
        if count > most:
            raise self.refuse(f"is more than the {most:,} this reads", "Decimate the scan to 5 million faces or fewer",
                              what, f"{count:,}")
        if count * least_bytes_each > len(self.data):
            raise self.refuse("the file is too short for what its header states; it is cut off or damaged",
                              "Copy or export the scan again", what, f"{count:,}")


#: What a damaged zip raises in the standard library, by fuzzing; for a packing it does not know that is, by its own
#: documentation, a NotImplementedError.
ZIP_FAULTS = (zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, RuntimeError, EOFError, OSError,
              ValueError, KeyError, struct.error, zlib.error)
TRUNCATED = "the file ends before its data does; it is cut off or damaged"
AGAIN = "Copy or export the scan again"


def absurd(member: zipfile.ZipInfo) -> bool:
    """Return whether a member of a zip unpacks to far more than scans ever do: text meshes shrink to a fifth or so."""
    return member.file_size > _BOMB_BYTES and member.file_size > _BOMB_RATIO * max(member.compress_size, 1)


def told(fault: BaseException) -> str:
    """Return a library's own words, short and on one line."""
    words = " ".join(str(fault).split()) or type(fault).__name__
    return words if len(words) <= _MOST_WORDS else words[:_MOST_WORDS] + " ..."


def finished_mesh(
    source: MeshSource, vertices: F64, faces: _INDEX, colours: U8 | None, unit: str | None = None,
    up_axis: str | None = None, notes: tuple[str, ...] = (),
) -> RawMesh:
    """Return a RawMesh after the checks every format shares: something there, indices in range, some finite face.

    vertices  (n, 3); rows may be NaN, cleaning drops the faces that use them
    faces     (m, 3) indices of any integer type
    """
    if len(faces) == 0:
        raise source.refuse("the file holds no faces, so it is not a surface",
                            "A point cloud must be meshed first: export the scan as a mesh", "faces", 0)
    source.check_count("faces", len(faces), 0)
    if len(vertices) == 0:
        raise source.refuse("the file holds no vertices", AGAIN, "vertices", 0)
    low, high = int(faces.min()), int(faces.max())
    if low < 0 or high >= len(vertices):
        raise source.refuse(f"a face names a vertex that does not exist (there are {len(vertices):,})", AGAIN,
                            "vertex", low if low < 0 else high)
    kept = np.ascontiguousarray(vertices, dtype=np.float64)
    thin = np.ascontiguousarray(faces, dtype=np.int32)
    finite: NDArray[np.bool_] = np.asarray(np.isfinite(kept).all(axis=1))
    if not finite.all() and not finite[thin].all(axis=1).any():
        raise source.refuse("no face has finite coordinates", AGAIN, "vertices", "NaN")
    return RawMesh(kept, thin, colours, unit, up_axis, notes)


def fan_triangles(corners: NDArray[np.int64], counts: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return triangles of polygons given as one run of corners, and the polygon each came from.

    corners  (k,) any values that stand for corners, polygon after polygon
    counts   (p,) corners of each polygon; polygons of fewer than three give nothing
    """
    firsts = np.cumsum(counts) - counts
    triangles = np.maximum(counts - 2, 0)
    owner = np.repeat(np.arange(len(counts)), triangles)
    step = np.arange(len(owner)) - np.repeat(np.cumsum(triangles) - triangles, triangles)
    first = firsts[owner]
    picked = np.stack([corners[first], corners[first + step + 1], corners[first + step + 2]], axis=1)
    return picked, owner
