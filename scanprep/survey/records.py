"""What was measured on a scan: size, volume, mass, centre of mass, rests, footprint, symmetry, colours.

Coordinates are in the scan's own axes scaled to mm, so that anyone can verify them against the file; `to_object` takes
them to the object frame (origin at the centre of mass, y up in the upright rest).
"""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.findings import Check, Finding
from scanprep.interval import Interval
from scanprep.vectors import F64, Rigid, Vec3


@dataclass(frozen=True, slots=True)
class Rest:
    """A way the object can stand on a table."""

    up: Vec3  # unit, scan axes
    share: float  # of a thrown object's landings, 0..1
    tip_angle_deg: float  # least tilt that topples it
    area_mm2: float  # of the support polygon
    height_mm: float  # centre of mass above the table
    polygon_mm: tuple[Vec3, ...]  # hull of the touching points, scan axes


@dataclass(frozen=True, slots=True)
class Footprint:
    """The polygon on which the object stands upright."""

    area_mm2: float
    polygon_mm: tuple[Vec3, ...]  # scan axes
    tip_angle_deg: float
    kind: str  # "flat", "ring", "feet", "none"


@dataclass(frozen=True, slots=True)
class Upright:
    """Which way is up, and why we think so."""

    up: Vec3  # unit, scan axes
    reason: str
    sure: bool  # False: ask
    rest: Rest | None  # None when it does not stand


@dataclass(frozen=True, slots=True)
class Showing:
    """One way of showing the object: unit directions in scan axes, square to each other."""

    up: Vec3
    front: Vec3  # faces the viewer
    kind: str  # "upright": as it stands; "face": its face to the viewer; "length": its length across the view
    why: str


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis of revolution."""

    point_mm: Vec3
    direction: Vec3
    residual_ratio: float  # RMS radial misfit over the mean radius


@dataclass(frozen=True, slots=True)
class MirrorPlane:
    """A plane that the shape is its own mirror image in."""

    point_mm: Vec3
    normal: Vec3
    residual_ratio: float  # RMS misfit over the bounding diagonal


@dataclass(frozen=True, slots=True, eq=False)
class Survey:
    """Everything later stages need to know of an object's body."""

    volume_mm3: Interval
    area_mm2: float
    mass_g: Interval
    mass_basis: str  # "weighed", "volume x density of ...", "shell of ... mm x density of ...", ...
    mass_measured: bool  # True when weighed
    centre_of_mass_mm: Vec3
    centre_radius_mm: float  # radius of uncertainty
    inertia_g_mm2: F64  # (3, 3) about the centre of mass, scan axes
    extents_mm: Vec3  # along the scan axes
    size_mm: Vec3  # width, height, depth in the object frame
    diagonal_mm: float
    scale_error_ratio: float
    rests: tuple[Rest, ...]
    upright: Upright
    footprint: Footprint
    to_object: Rigid  # scan mm -> object frame (y up; z towards the likely front, see `front`)
    front: Vec3  # unit, scan axes, level when upright: the side that faces the viewer
    front_reason: str
    shown: Showing  # how it would be shown, upright or face-on
    choices: tuple[Showing, ...]  # where that is not sure: what to choose from, the proposal first
    axis: Axis | None
    mirrors: tuple[MirrorPlane, ...]
    flatness_ratio: float  # least over middle principal extent: small for discs and plates
    slenderness_ratio: float  # middle over largest principal extent: small for spoons and pins
    principal_axes: F64  # (3, 3) rows: longest, middle, shortest extent direction, scan axes
    wall_mm: float | None  # thinnest typical wall measured or stated
    mean_colour: tuple[int, int, int]
    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]
    coloured: bool = True  # False: the scan has no colours, and `mean_colour` is a mid grey
