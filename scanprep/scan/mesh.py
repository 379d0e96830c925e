"""What a scan is, from the file's own numbers to a cleaned mesh in millimetres.

RawMesh: as the file says. Scan: true to size. Cleaned: one or more closed bodies, with a receipt of every repair,
the open loops that were capped (their doubt goes into the mass), and the working mesh for everything after the survey.
All coordinates stay in the scan's own axes. Records only; touches no files.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from scanprep.findings import Finding
from scanprep.interval import Interval
from scanprep.scan.ray_volume import Occupancy
from scanprep.vectors import F64, I32, U8, Vec3


@dataclass(frozen=True, slots=True, eq=False)
class RawMesh:
    """A mesh in the file's own units and axes."""

    vertices: F64  # (n, 3)
    faces: I32  # (m, 3), counter-clockwise outside where the file is right
    colours: U8 | None  # (n, 3) sRGB, sampled from textures or given per vertex
    unit: str | None  # what the format itself states (glTF: "m"), else None
    up_axis: str | None  # "x", "y", "z" where the format states it
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Scale:
    """How file units became millimetres."""

    mm_per_unit: float
    basis: str  # "unit m stated", "height 92 mm known", "both agree within 0.4 %"
    error_ratio: float  # doubt of a length, 0.002 = 0.2 %
    from_sizes: bool = False  # known sizes alone, no unit: a size taken along the wrong direction is a wrong scale
    lacking_mm: float = 0.0  # how much lower the scan is than the known height, its underside not seen


@dataclass(frozen=True, slots=True, eq=False)
class Scan:
    """A scan true to size, not yet cleaned."""

    name: str  # file name without ending
    file: str
    sha256: str
    format: str
    vertices_mm: F64  # (n, 3), scan axes
    faces: I32  # (m, 3)
    colours: U8 | None
    scale: Scale
    up_axis: str | None = None
    notes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


class Grade(StrEnum):
    """How far the mesh can be believed."""

    SOUND = "sound"  # closed as it came, no repair that costs volume
    MENDED = "mended"  # repairs whose cost is small and told
    DOUBTFUL = "doubtful"  # usable, but mass and centre rest on what was not scanned
    UNUSABLE = "unusable"


@dataclass(frozen=True, slots=True)
class Repair:
    """One line of the receipt."""

    kind: str  # "weld", "drop-fragment", "cut-turntable", "orient", "cap", "drop-degenerate", ...
    count: int
    detail: str  # a sentence with sizes
    area_mm2: float = 0.0  # added (+) or removed (-)
    volume_mm3: float = 0.0  # changed by the repair; of a cap: what may be missing beyond it down to the table


@dataclass(frozen=True, slots=True, eq=False)
class OpenLoop:
    """A hole in the surface that was capped with a fan."""

    points_mm: F64  # (k, 3), in order
    area_mm2: float  # of the cap
    slice_mm3: float  # prism from the loop down to the support plane: what may be missing under the object, >= 0


@dataclass(frozen=True, slots=True, eq=False)
class WorkingMesh:
    """About 20 k faces with colours, for everything after the survey. Scan axes, mm."""

    vertices_mm: F64  # (n, 3)
    faces: I32  # (m, 3), outward
    colours: U8  # (n, 3) sRGB; mid grey where the scan has none
    has_colour: bool
    #: (t, 3, 3) triangles of the surface that was not scanned but filled, before the mesh was thinned
    filled_mm: F64 = field(default_factory=lambda: np.empty((0, 3, 3)))


@dataclass(frozen=True, slots=True)
class Support:
    """The table the object was scanned on, or the plane through its lowest point."""

    down: Vec3  # unit, scan axes, from the object to the table
    place_mm: float  # of the plane along `down`
    seen: bool  # its place is known, by a piece of table scanned or the known height; else only the lowest point is
    why: str  # how `down` is known, as a part of a sentence


@dataclass(frozen=True, slots=True, eq=False)
class Cleaned:
    """A scan that can be weighed."""

    scan: Scan
    vertices_mm: F64
    faces: I32  # closed, outward; the last `cap_faces` of them are caps
    cap_faces: int
    bodies: int
    receipt: tuple[Repair, ...]
    loops: tuple[OpenLoop, ...]
    grade: Grade
    reasons: tuple[str, ...]
    working: WorkingMesh
    findings: tuple[Finding, ...] = ()
    support: Support | None = None  # None: nothing says which way the table lies
    plumb: Occupancy | None = None  # the plumb lines through it; None: not drawn yet
    notch_faces: int = 0  # the first of the caps: they fill a ragged rim's notches along the surface
    stood: Support | None = None  # the table as the scan itself shows it, whatever checklist and format say


@dataclass(frozen=True, slots=True)
class Hollow:
    """What is known of an object's inside."""

    kind: str  # "solid", "shell", "unknown"
    wall_mm: Interval | None = field(default=None)
