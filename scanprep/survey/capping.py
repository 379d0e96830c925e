"""The body that a cleaned scan encloses, and how far the caps over what was not scanned may be wrong.

Over a scanning hole the skin is taken to run on as a shallow dome. Under the object, between a cut-off rim and the
table, a slice is missing: where a piece of the table was scanned its place is known, and the walls are followed down to
it; the truth lies between the flat cap and the wider of that and the straight prism. Where no table was scanned nobody
knows how much is missing: the interval allows for some, the best guess for none, and the survey says look.
Takes a cleaned scan (scan axes, mm). Used by `survey.mass`. Trials: docs/why/survey.md.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scanprep.doubt import Interval
from scanprep.scan.mesh import Cleaned, Support
from scanprep.survey.moments import Moments
from scanprep.survey.rims import Rim, rims_of
from scanprep.vectors import F64

UNSEEN_SHARE = 0.04  # of the diagonal: what may be missing below a cut-off end when no table was scanned; assumed
DENT_SHARE = 0.03  # of a cap's radius: how far any cap may lie off, beyond what its rim tells; assumed
STUMP_SHARE = 0.15  # the same for a part broken or cut off elsewhere than at an end; assumed
ROUNDED_RATIO = 0.85  # slice below walls followed straight, over the prism: less, and the base is round; trial
ROUND_SHARE = 0.6  # of the prism, under a round base: a paraboloid fills 1/2, a trough 2/3
ASIDE_SHARE = 0.03  # of a cap's radius: how far aside the middle of what it hides may lie; assumed
SMOOTH_DEG = 50.0  # a skin that turns less than this at the rim runs on as a dome; assumed
END_DEG = 20.0  # the same at an end, where a steeper dome would stand out beyond the object; assumed
SKIN_SHARE = 0.0001  # of the diagonal: how far a whole scanned skin may lie too far out or in; assumed, 0.01 mm on
# 100 mm (scatter of single points, 0.04-0.08 mm for small artefacts in Electronics 2019 8(12) 1441, averages out)
FLOOR_SHARE = 0.001  # of the diagonal: no centre is known better than this from a scan; assumed


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """Moments of body and skin with the doubt of capping and of scale in them. Scan axes."""

    volume_mm3: Interval
    centre_mm: F64  # (3,)
    floor_mm: float  # no centre is known better, however good the scan
    capping_mm: float  # further doubt of the centre: what the caps may hide
    unseen_ends: int  # cut-off ends with no table to tell what is missing
    closed_mm3: float  # of the mesh as it was closed, nothing added
    closed_centre_mm: F64  # (3,)
    second_per_unit: F64  # (3, 3) second moments about the centre over the volume, mm2
    skin_mm2: Interval  # area of real skin: caps over real openings are none
    skin_centre_mm: F64  # (3,)
    skin_second_per_unit: F64  # (3, 3), mm2
    diagonal_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class Hidden:
    """What one cap may hide: volume beyond it (+) or missing inside it (-), and where."""

    volume_mm3: Interval
    centre_mm: F64  # (3,)
    radius_mm: float  # of the cap
    unseen: bool  # an end of the object that nobody saw


def capped_body(cleaned: Cleaned, whole: Moments, extremes_mm: F64) -> Body:
    """Return the body with the doubt that its caps and its scale bring.

    whole        moments of the closed mesh
    extremes_mm  (n, 3) corners of its hull (or all its vertices), scan axes
    """
    diagonal = float(np.linalg.norm(np.ptp(extremes_mm, axis=0)))
    rims = rims_of(cleaned, extremes_mm)
    hidden = [hidden_behind(rim, cleaned.support, diagonal) for rim in rims]
    low, best, high = (whole.volume_mm3 + sum(getattr(h.volume_mm3, end) for h in hidden)
                       for end in ("low", "best", "high"))
    off = SKIN_SHARE * diagonal * whole.area_mm2
    error = cleaned.scan.scale.error_ratio
    best = max(best, 0.5 * whole.volume_mm3)
    low = max(low - off, 0.05 * whole.volume_mm3)
    volume = Interval(min(low, best) / (1 + error) ** 3, best, (high + off) * (1 + error) ** 3)
    centre, capping = _centre(whole, hidden, best)
    floor = FLOOR_SHARE * diagonal + error * diagonal / 2
    return Body(volume, centre, floor, capping, sum(h.unseen for h in hidden), whole.volume_mm3, whole.centre_mm,
                whole.second_mm5 / whole.volume_mm3, _skin_area(whole, rims), whole.skin_centre_mm,
                whole.skin_second_mm4 / whole.area_mm2, diagonal)


def hidden_behind(rim: Rim, support: Support | None, diagonal_mm: float) -> Hidden:
    """Return what a cap may hide.

    support  the table: which way and where, and whether it was seen; None where not known
    """
    dent = DENT_SHARE * rim.radius_mm * rim.area_mm2
    facing = 0.0 if support is None else float(rim.outward @ np.asarray(support.down))
    if support is not None and support.seen and abs(facing) > 0.5:
        below = _slice_below(rim, support, diagonal_mm)
        if below is not None:
            return below
    if abs(rim.turn_deg) < (END_DEG if rim.at_end else SMOOTH_DEG):
        dome = _dome_mm3(rim)
        doubt = abs(dome) / 2 + dent
        return Hidden(Interval(dome - doubt, dome, dome + doubt), rim.centre_mm, rim.radius_mm, False)
    if rim.at_end and facing > -0.5:
        return _unseen_end(rim, diagonal_mm, dent)
    if abs(facing) > 0.5:  # a vessel's mouth, or a floor
        return Hidden(Interval(-dent, 0.0, dent), rim.centre_mm, rim.radius_mm, False)
    stump = STUMP_SHARE * rim.radius_mm * rim.area_mm2
    return Hidden(Interval(-stump, 0.0, stump), rim.centre_mm, rim.radius_mm, False)


def _unseen_end(rim: Rim, diagonal_mm: float, dent_mm3: float) -> Hidden:
    """Return what an end of the object may lack where no table tells: nothing at best guess, a thick slice at most."""
    depth = UNSEEN_SHARE * diagonal_mm
    most = max(depth * rim.area_mm2, _dome_mm3(rim) if 0 < rim.turn_deg < 90 else 0.0)
    return Hidden(Interval(-dent_mm3, 0.0, most + dent_mm3), rim.centre_mm + depth / 2 * rim.outward,
                  rim.radius_mm, True)


def _dome_mm3(rim: Rim) -> float:
    """Volume of the dome that leaves the rim at the angle of the skin.

    A spherical cap over a disc of radius r is pi h (3 r2 + h2) / 6 with h = r tan(a / 2); written by area and span it
    also serves strips.
    """
    height = rim.span_mm * np.tan(np.radians(rim.turn_deg) / 2)
    return float(rim.area_mm2 * height * (1 + (height / rim.span_mm) ** 2 / 3) / 2)


def _slice_below(rim: Rim, support: Support, diagonal_mm: float) -> Hidden | None:
    """Return the slice between a cut-off rim and the table; None where the cap is not near the table.

    The inner rim of a foot ring faces up: its prism is taken away from the outer one's. A hole in a floor is no rim.
    """
    down = np.asarray(support.down)
    facing = float(np.sign(rim.outward @ down))
    depth = support.place_mm - float(rim.centre_mm @ down)
    if depth > 0.06 * diagonal_mm or (facing < 0 and abs(rim.turn_deg) < SMOOTH_DEG):
        return None
    pieces = np.cross(rim.corners_mm[:, 1] - rim.corners_mm[:, 0], rim.corners_mm[:, 2] - rim.corners_mm[:, 0]) / 2
    straight = float(((pieces @ down) * (support.place_mm - (rim.corners_mm @ down).mean(axis=1))).sum())
    reach = support.place_mm - rim.edges_mm @ down
    followed = straight + float((rim.sideways * rim.lengths_mm * reach**2).sum()) / 2
    if abs(followed) < ROUNDED_RATIO * abs(straight):  # walls that close in this fast are bending towards the table
        followed = (followed + ROUND_SHARE * straight) / 2
    dent = DENT_SHARE * rim.radius_mm * rim.area_mm2
    least, most = sorted((0.3 * straight, 1.5 * straight))
    best = min(max(followed, least), most)
    ends = (0.0, straight, best)
    return Hidden(Interval(min(ends) - dent, best, max(ends) + dent), rim.centre_mm + depth / 2 * down,
                  rim.radius_mm, False)


def _centre(whole: Moments, hidden: list[Hidden], best_mm3: float) -> tuple[F64, float]:
    """Return the best centre, and how far it may move between what each cap may hide at least and at most."""
    added = np.array([h.volume_mm3.best for h in hidden])
    middles = np.array([h.centre_mm for h in hidden]).reshape(-1, 3)
    centre = (whole.volume_mm3 * whole.centre_mm + added @ middles) / (whole.volume_mm3 + added.sum())
    reach = 0.0
    for one in hidden:
        arm = float(np.linalg.norm(one.centre_mm - centre))
        most = max(one.volume_mm3.high - one.volume_mm3.best, one.volume_mm3.best - one.volume_mm3.low)
        reach += (arm * most + ASIDE_SHARE * one.radius_mm * abs(one.volume_mm3.best)) / best_mm3
    return np.asarray(centre, dtype=np.float64), reach


def _skin_area(whole: Moments, rims: tuple[Rim, ...]) -> Interval:
    """Return the area of real skin. A wide cut-off end that is not a base is an opening: its cap is no wall."""
    caps = sum(rim.area_mm2 for rim in rims)
    openings = sum(rim.area_mm2 for rim in rims if rim.at_end and abs(rim.turn_deg) >= END_DEG)
    least = max(whole.area_mm2 - caps, 0.2 * whole.area_mm2)
    return Interval(least, max(whole.area_mm2 - openings / 2, least), whole.area_mm2)
