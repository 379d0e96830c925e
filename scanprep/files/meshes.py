"""Scan files: which reader a file wants, what it is refused for, and the way from a file to a scan true to size.

A file is known by its content; where its ending says otherwise it is refused rather than guessed at. Formats that
need another program get the advice to export again. A zip may hold one scan with its material and pictures.
The scan file is only ever read.
"""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Callable
from pathlib import Path, PurePosixPath

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.errors import ScanError
from scanprep.files.mesh_gltf import read_gltf
from scanprep.files.mesh_obj import read_obj
from scanprep.files.mesh_other import read_3mf, read_off
from scanprep.files.mesh_ply import read_ply
from scanprep.files.mesh_source import AGAIN, ZIP_FAULTS, MeshSource, absurd, told
from scanprep.files.mesh_stl import read_stl
from scanprep.rules import ScanRules
from scanprep.scan.mesh import RawMesh, Scan
from scanprep.scan.scale import true_size
from scanprep.vectors import U8

#: The readers, by the ending a file must have.
READERS: dict[str, Callable[[MeshSource], RawMesh]] = {
    "obj": read_obj, "ply": read_ply, "stl": read_stl, "glb": read_gltf, "gltf": read_gltf, "off": read_off,
    "3mf": read_3mf,
}

_PLEASE = "Export the scan as OBJ, PLY, STL, GLB, OFF or 3MF"
_MESH_FIRST = "Mesh the point cloud in the scanning program and export the surface as PLY or OBJ"
_ADVICE = {
    "dae": ("COLLADA is not read", _PLEASE), "fbx": ("FBX is not read", _PLEASE),
    "blend": ("that is a project", _PLEASE), "usdz": ("USD is not read", _PLEASE),
    "usd": ("USD is not read", _PLEASE), "3ds": ("3DS is not read", _PLEASE),
    "wrl": ("VRML is not read", _PLEASE), "x3d": ("X3D is not read", _PLEASE), "ctm": ("CTM is not read", _PLEASE),
    "stp": ("STEP is not a scan mesh", _PLEASE), "step": ("STEP is not a scan mesh", _PLEASE),
    "psx": ("that is a project", _PLEASE), "e57": ("E57 is a point cloud", _MESH_FIRST),
    "las": ("LAS is a point cloud", _MESH_FIRST), "laz": ("LAZ is a point cloud", _MESH_FIRST),
    "pts": ("that is a point cloud", _MESH_FIRST), "xyz": ("that is a point cloud", _MESH_FIRST),
    "pcd": ("that is a point cloud", _MESH_FIRST), "drc": ("bare Draco is not read", "Export the scan as GLB"),
    "mtl": ("that is the material file of an OBJ", "Name the .obj file next to it"),
    "jpg": ("that is a picture", "Name the scan next to it"), "png": ("that is a picture", "Name the scan next to it"),
}
_MOST_UNPACKED = 4_000_000_000  # format: bytes out of one zip


def read_mesh(path: Path, *, most_faces: int = ScanRules().most_faces) -> RawMesh:
    """Return the mesh of a scan file, in the file's own units and axes.

    path        .obj, .ply, .stl, .glb, .gltf, .off, .3mf, or a .zip with one of them inside
    most_faces  more are refused

    Raises ScanError with one sentence when the file is missing, damaged, empty, or of a kind that is not read.
    """
    return _parsed(_content(path), path, most_faces)[0]


def load_scan(path: Path, brief: ObjectBrief, rules: ScanRules, known_as: str | None = None) -> Scan:
    """Return a scan true to size: read, fingerprinted (SHA-256 of the file), in mm.

    known_as  where a person finds the scan, when that is not the path: sentences and the specification name it

    Raises ScanError when the file cannot be used, or when unit and known sizes leave its size unknown or contradict.
    """
    data = _content(path)
    raw, ending = _parsed(data, path, rules.most_faces, known_as)
    digest = hashlib.sha256(data.data).hexdigest()
    return true_size(raw, name=path.stem, file=known_as or str(path), sha256=digest, format=ending, brief=brief,
                     rules=rules)


def _content(path: Path) -> U8:
    if path.is_dir():
        raise ScanError(file=path, problem="that is a folder, not a scan", remedy="Name the file inside it")
    if path.exists() and not path.is_file():  # a pipe would be waited for, a device never ends
        raise ScanError(file=path, problem="that is no regular file", remedy="Copy the scan to a file and name that")
    try:
        data: U8 = np.fromfile(path, dtype=np.uint8)
    except FileNotFoundError:
        raise ScanError(file=path, problem="there is no such file", remedy="Check the name and the folder") from None
    except (OSError, MemoryError) as fault:
        raise ScanError(file=path, problem=f"the file cannot be read ({fault})",
                        remedy="Check that it is there and may be read") from fault
    if len(data) == 0:
        raise ScanError(file=path, problem="the file is empty", remedy=AGAIN)
    return data


def _parsed(data: U8, path: Path, most_faces: int, known_as: str | None = None) -> tuple[RawMesh, str]:
    def beside(name: str) -> bytes | None:
        return _neighbour(path, name)

    source = MeshSource(known_as or str(path), data, beside, most_faces)
    ending = path.suffix.lower().lstrip(".")
    if ending == "zip":
        return _zipped(source)
    return _read_as(source, ending)


def _neighbour(path: Path, name: str) -> bytes | None:
    """Return a file named by the scan, from the scan's own folder or below; never from elsewhere."""
    clean = name.strip().strip('"').replace("\\", "/")
    folder = path.parent.resolve()
    for candidate in (folder / clean, folder / PurePosixPath(clean).name):
        try:
            inside = candidate.resolve().is_relative_to(folder)
            if inside and candidate.is_file():
                return candidate.read_bytes()
        except (OSError, ValueError):
            continue
    return None


def _read_as(source: MeshSource, ending: str) -> tuple[RawMesh, str]:
    seen = _kind(source)
    if ending not in READERS:
        problem, remedy = _ADVICE.get(ending, ("this kind of file is not read", _PLEASE))
        raise source.refuse(problem, remedy, "ending", f".{ending}" if ending else "none")
    if seen is not None and seen != ("glb" if ending == "gltf" and seen == "glb" else ending):
        raise source.refuse(f"its content is {seen.upper()}", f"Rename it to .{seen} if that is right, or export again",
                            "ending", f".{ending}")
    try:
        return READERS[ending](source), ending
    except MemoryError:
        raise source.refuse("it needs more memory than there is", "Decimate the scan to 5 million faces or fewer",
                            "size", f"{len(source.data):,} bytes") from None


def _kind(source: MeshSource) -> str | None:
    """Return the format the first bytes give away, None where they do not."""
    head = source.text(512)
    if head[:4] in (b"ply\n", b"ply\r"):
        return "ply"
    if head[:4] == b"glTF":
        return "glb"
    if head[:4] == b"PK\x03\x04":
        return "3mf"
    start = head.lstrip()
    for mark, kind in ((b"OFF", "off"), (b"COFF", "off"), (b"NOFF", "off"), (b"<?xml", "an XML file"),
                       (b"\x89PNG", "a PNG picture"), (b"\xff\xd8\xff", "a JPEG picture"), (b"Kaydara", "fbx"),
                       (b"<!DOCTYPE html", "a web page"), (b"<html", "a web page")):
        if start[:len(mark)].lower() == mark.lower():
            return kind
    if start[:6].lower() == b"solid " and b"facet" in head:
        return "stl"
    return None


def _zipped(source: MeshSource) -> tuple[RawMesh, str]:
    """Read the one scan in a zip; its material and pictures come from the same zip."""
    try:
        with zipfile.ZipFile(io.BytesIO(source.data.tobytes())) as archive:
            names = {name: archive.getinfo(name).file_size for name in archive.namelist()
                     if not name.endswith("/") and "__MACOSX" not in name}
            if sum(names.values()) > _MOST_UNPACKED or any(absurd(archive.getinfo(name)) for name in names):
                raise source.refuse("would unpack to an absurd size", "Unpack it and name the scan inside", "zip",
                                    f"{sum(names.values()):,} bytes")
            scans = [name for name in names if PurePosixPath(name).suffix.lower().lstrip(".") in READERS]
            if len(scans) != 1:
                problem = "it holds no scan" if not scans else f"it holds {len(scans)} scans"
                raise source.refuse(problem, "Zip one scan with its material and pictures, or unpack it", "zip")
            contents = {name: archive.read(name) for name in names}
    except ZIP_FAULTS as fault:
        raise source.refuse(f"the zip is damaged ({told(fault)})", AGAIN, "zip") from fault
    by_name = {PurePosixPath(name).name.lower(): content for name, content in contents.items()}

    def beside(name: str) -> bytes | None:
        return by_name.get(PurePosixPath(name.strip().strip('"').replace("\\", "/")).name.lower())

    data = np.frombuffer(contents[scans[0]], dtype=np.uint8)
    if len(data) == 0:
        raise source.refuse("the scan inside is empty", AGAIN, "zip", scans[0])
    inner = MeshSource(f"{source.file} ({scans[0]})", data, beside, source.most_faces)
    return _read_as(inner, PurePosixPath(scans[0]).suffix.lower().lstrip("."))
