"""The body that a cleaned scan encloses, and how far the caps over what was not scanned may be wrong.

A fan cap is flat; the object is not. Under the object, between an open loop and the table, a whole slice may be
missing: the truth was found between the fan cap and the fan cap plus the prism down to the table (measured on damaged
solids, docs/why/survey.md). Elsewhere a hole's cap may bulge or dent by a share of the hole's radius.
Takes a cleaned scan (scan axes, mm). Used by `survey.mass`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scanprep.doubt import Interval
from scanprep.scan.mesh import Cleaned
from scanprep.survey.moments import Moments
from scanprep.vectors import F64

BULGE_SHARE = 0.15  # of a hole's radius: how far its cap may lie off the true surface; assumed
SLICE_BEST_SHARE = 0.5  # of the prism under the object, in the best guess
SKIN_SHARE = 0.0001  # of the diagonal: how far a whole scanned skin may lie too far out or in; assumed, 0.01 mm on
# 100 mm (scatter of single points, 0.04-0.08 mm for small artefacts in Electronics 2019 8(12) 1441, averages out)
FLOOR_SHARE = 0.001  # of the diagonal: no centre is known better than this from a scan; assumed


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """Moments of body and skin with the doubt of capping and of scale in them. Scan axes."""

    volume_mm3: Interval
    centre_mm: F64  # (3,)
    centre_radius_mm: float
    closed_mm3: float  # of the mesh as it was closed, nothing added
    closed_centre_mm: F64  # (3,)
    second_per_unit: F64  # (3, 3) second moments about the centre over the volume, mm2
    skin_mm2: Interval  # area of real skin: caps over real openings are none
    skin_centre_mm: F64  # (3,)
    skin_second_per_unit: F64  # (3, 3), mm2
    diagonal_mm: float


def capped_body(cleaned: Cleaned, whole: Moments) -> Body:
    """Return the body with the doubt that its caps and its scale bring. whole: moments of the closed mesh."""
    diagonal = float(np.linalg.norm(np.ptp(cleaned.vertices_mm, axis=0)))
    slices = np.array([loop.slice_mm3 for loop in cleaned.loops])
    missing = float(slices.sum())
    bulges = np.array([BULGE_SHARE * np.sqrt(loop.area_mm2 / np.pi) * loop.area_mm2 for loop in cleaned.loops])
    best = whole.volume_mm3 + SLICE_BEST_SHARE * missing
    scale = (1 + cleaned.scan.scale.error_ratio) ** 3
    bulge = float(bulges.sum()) + SKIN_SHARE * diagonal * whole.area_mm2
    volume = Interval(max(whole.volume_mm3 - bulge, 0.0) / scale, best, (whole.volume_mm3 + missing + bulge) * scale)
    centre, capping = _centre_with_slices(cleaned, whole, slices, bulges)
    radius = capping + FLOOR_SHARE * diagonal + cleaned.scan.scale.error_ratio * diagonal / 2
    return Body(volume, centre, radius, whole.volume_mm3, whole.centre_mm, whole.second_mm5 / whole.volume_mm3,
                _skin_area(cleaned, whole), whole.skin_centre_mm, whole.skin_second_mm4 / whole.area_mm2, diagonal)


def _centre_with_slices(cleaned: Cleaned, whole: Moments, slices: F64, bulges: F64) -> tuple[F64, float]:
    """Return the best centre, and how far it may move when slices are there or not and caps bulge or dent."""
    if len(slices) == 0:
        return whole.centre_mm, 0.0
    middles = np.array([loop.slice_centre_mm for loop in cleaned.loops])

    def centre(share: float) -> F64:
        weights = share * slices
        return np.asarray((whole.volume_mm3 * whole.centre_mm + weights @ middles) / (whole.volume_mm3 + weights.sum()))

    best = centre(SLICE_BEST_SHARE)
    reach = max(float(np.linalg.norm(centre(end) - best)) for end in (0.0, 1.0))
    caps = np.array([loop.points_mm.mean(axis=0) for loop in cleaned.loops])
    arms = np.linalg.norm(caps - best, axis=1)
    return np.asarray(best, dtype=np.float64), reach + float((bulges * arms).sum() / whole.volume_mm3)


def _skin_area(cleaned: Cleaned, whole: Moments) -> Interval:
    """Return the area of real skin. A wide hole that is not underneath is an opening: its cap is no wall."""
    caps = sum(loop.area_mm2 for loop in cleaned.loops)
    openings = sum(loop.area_mm2 for loop in cleaned.loops
                   if loop.slice_mm3 == 0 and loop.area_mm2 > 0.02 * whole.area_mm2)
    least = max(whole.area_mm2 - caps, 1e-9)
    return Interval(least, max(whole.area_mm2 - openings, least), whole.area_mm2)
