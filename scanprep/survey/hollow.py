"""Whether what was scanned is a solid body, a skin round a hollow, or a vessel scanned inside and out.

A scan shows surfaces, never what lies behind them. Rays cast inwards from the skin measure how thick the body seems;
where that is thin the inside was scanned (or the thing is a sheet) and the mesh is the body itself. Where it is thick,
materials that are cut from the piece (ivory, stone, wood) are solid, while fired, blown and cast ones may be hollow.

A wall of even thickness t under a skin of area A, mean curvature integral M holds A t - M t^2 + 4/3 pi t^3 (Steiner's
formula, inwards). For a convex body sqrt(4 pi A) <= M <= A^2 / (3 V) (Minkowski's inequalities), which gives both ends.
Takes mm; gives mm and mm3. Used by `survey.mass`.
"""

from __future__ import annotations

import numpy as np

from scanprep.interval import Interval
from scanprep.rays import RayScene
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.samples import skin_samples
from scanprep.vectors import F64

THIN_SHARE = 0.10  # tolerance: of the diagonal: a body thinner than this was scanned on both sides; assumed
#: Cut, carved or turned from the piece: solid unless the checklist gives a wall. Common practice.
SOLID_BY_NATURE = frozenset({
    "ivory", "bone", "antler", "horn", "tortoiseshell", "amber", "jet", "coral", "shell / mother of pearl",
    "jade (nephrite-jadeite)", "rock crystal / agate", "lapis lazuli", "turquoise", "marble", "limestone",
    "alabaster (gypsum)", "soapstone / steatite", "granite", "basalt", "slate", "sandstone", "obsidian", "meerschaum",
    "oak", "birch", "maple", "ash", "pine", "spruce", "lime / linden", "walnut", "pear / fruitwood", "boxwood", "ebony",
    "lignum vitae",
})


def seen_thickness_mm(skin: WorkingMesh, scene: RayScene) -> F64:
    """Return how far it is from 1500 even spots of the skin straight in to the skin beyond; inf where open."""
    points, normals = skin_samples(skin, 1500)
    reach = float(np.linalg.norm(np.ptp(skin.vertices_mm, axis=0)))
    start = points - 1e-4 * reach * normals
    return np.asarray(scene.cast(start, -normals).distance_mm, dtype=np.float64)


def typical_wall_mm(thickness_mm: F64, diagonal_mm: float) -> float | None:
    """Return how thick a thing is that was scanned on both sides; None where it seems solid."""
    typical = float(np.median(thickness_mm))
    return typical if typical < THIN_SHARE * diagonal_mm else None


def wall_volume_mm3(wall_mm: float, area_mm2: float, volume_mm3: float) -> Interval:
    """Return the volume of an even wall under a closed skin, never more than the body itself.

    >>> wall_volume_mm3(2.0, 4 * np.pi * 400, 4 / 3 * np.pi * 8000).best / (4 / 3 * np.pi * (8000 - 5832)) - 1 < 1e-12
    True
    """
    least, most = np.sqrt(4 * np.pi * area_mm2), area_mm2**2 / (3 * volume_mm3)
    ends = [float(np.clip(area_mm2 * wall_mm - m * wall_mm**2 + 4 / 3 * np.pi * wall_mm**3, 0, volume_mm3))
            for m in (max(least, most), (least + most) / 2, min(least, most))]
    # Past the inner radius the polynomial turns: a wall thicker than that fills the body.
    inner_mm = 3 * volume_mm3 / area_mm2
    low, best, high = sorted(ends) if wall_mm < inner_mm else [volume_mm3] * 3
    return Interval(low, best, high)
