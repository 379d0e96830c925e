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

from scanprep.interval import Interval
from scanprep.scan.ends import END_DEG, TELLING_SHARE, UNSEEN_SHARE
from scanprep.scan.mesh import Cleaned, Support
from scanprep.scan.ray_volume import CROSSED_SHARE, Occupancy
from scanprep.survey.moments import Moments
from scanprep.survey.rims import Rim, rims_of
from scanprep.survey.unseen import SkinFaces, arc_slope_deg, floor_above_mm, skin_faces
from scanprep.vectors import F64

# tolerance: a vessel's floor is as thick as its wall, at least and at most this many times; assumed
FLOOR_WALLS = (0.3, 1.0, 2.0)
DENT_SHARE = 0.03  # tolerance: of a cap's radius: how far any cap may lie off, beyond what its rim tells; assumed
STUMP_SHARE = 0.15  # tolerance: the same for a part broken or cut off elsewhere than at an end; assumed
# tolerance: slice below walls followed straight, over the prism: less, and the base is round; trial
ROUNDED_RATIO = 0.85
ROUND_SHARE = 0.6  # tolerance: of the prism, under a round base: a paraboloid fills 1/2, a trough 2/3
ASIDE_SHARE = 0.03  # tolerance: of a cap's radius: how far aside the middle of what it hides may lie; assumed
SMOOTH_DEG = 50.0  # tolerance: a skin that turns less than this at the rim runs on as a dome; assumed
# tolerance: of the diagonal: how far a whole scanned skin may lie too far out or in; assumed, 0.01 mm on
SKIN_SHARE = 0.0001
# 100 mm (scatter of single points, 0.04-0.08 mm for small artefacts in Electronics 2019 8(12) 1441, averages out)
FLOOR_SHARE = 0.001  # tolerance: of the diagonal: no centre is known better than this from a scan; assumed


@dataclass(frozen=True, slots=True, eq=False)
class ClosedBody:
    """Moments of body and skin with the doubt of capping and of scale in them. Scan axes."""

    volume_mm3: Interval
    centre_mm: F64  # (3,)
    floor_mm: float  # no centre is known better, however good the scan
    capping_mm: float  # further doubt of the centre: what the caps may hide
    unseen_ends: int  # cut-off ends with no table, that may lack a telling part of the body
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


def capped_body(cleaned: Cleaned, whole: Moments, extremes_mm: F64, wall_mm: float | None = None,
                plumb: Occupancy | None = None) -> ClosedBody:
    """Return the body with the doubt that its caps and its scale bring.

    whole        moments of the closed mesh
    extremes_mm  (n, 3) corners of its hull (or all its vertices), scan axes
    wall_mm      typical thickness where the thing was scanned inside and out, else None
    plumb        the plumb lines through it, which tell where its skin crosses itself; None: not asked
    """
    diagonal = float(np.linalg.norm(np.ptp(extremes_mm, axis=0)))
    rims = rims_of(cleaned, extremes_mm)
    skin = _Skin(cleaned, wall_mm, diagonal)
    hidden = [hidden_behind(rim, cleaned.support, skin) for rim in rims] + _crossings(plumb)
    low, best, high = (whole.volume_mm3 + sum(getattr(h.volume_mm3, end) for h in hidden)
                       for end in ("low", "best", "high"))
    off = SKIN_SHARE * diagonal * whole.area_mm2
    error = cleaned.scan.scale.error_ratio
    best = max(best, 0.5 * whole.volume_mm3)
    low = max(low - off, 0.05 * whole.volume_mm3)
    volume = Interval(min(low, best) / (1 + error) ** 3, best, (high + off) * (1 + error) ** 3)
    centre, capping = _centre(whole, hidden, best)
    floor = FLOOR_SHARE * diagonal + error * diagonal / 2
    return ClosedBody(volume, centre, floor, capping, _telling_ends(hidden, whole.volume_mm3), whole.volume_mm3,
                      whole.centre_mm, whole.second_mm5 / whole.volume_mm3, _skin_area(whole,
                                                                                       rims), whole.skin_centre_mm,
                      whole.skin_second_mm4 / whole.area_mm2, diagonal)


@dataclass(frozen=True, slots=True, eq=False)
class _Skin:
    """What was scanned, for asking what goes on behind a cap."""

    cleaned: Cleaned
    wall_mm: float | None
    diagonal_mm: float

    def faces(self) -> SkinFaces:
        """Return the faces that are no caps."""
        return skin_faces(self.cleaned.vertices_mm, self.cleaned.faces[: -self.cleaned.cap_faces])


def hidden_behind(rim: Rim, support: Support | None, skin: _Skin) -> Hidden:
    """Return what a cap may hide.

    support  the table: which way and where, and whether it was seen; None where not known
    """
    diagonal_mm = skin.diagonal_mm
    dent = DENT_SHARE * rim.radius_mm * rim.area_mm2
    facing = 0.0 if support is None else float(rim.outward @ np.asarray(support.down))
    if support is not None and support.seen and abs(facing) > 0.5:
        below = _slice_below(rim, support, diagonal_mm)
        if below is not None:
            return below
    if abs(rim.turn_deg) < (END_DEG if rim.at_end else SMOOTH_DEG):
        dome = _dome_mm3(rim, rim.turn_deg)
        doubt = abs(dome) / 2 + dent
        return Hidden(Interval(dome - doubt, dome, dome + doubt), rim.centre_mm, rim.radius_mm, False)
    if rim.at_end and facing > -0.5:
        return _unseen_end(rim, skin, dent)
    if abs(facing) > 0.5:  # a vessel's mouth, or a floor
        return Hidden(Interval(-dent, 0.0, dent), rim.centre_mm, rim.radius_mm, False)
    stump = STUMP_SHARE * rim.radius_mm * rim.area_mm2
    return Hidden(Interval(-stump, 0.0, stump), rim.centre_mm, rim.radius_mm, False)


def _unseen_end(rim: Rim, skin: _Skin, dent_mm3: float) -> Hidden:
    """Return what an end of the object may lack where no table tells: a thick slice at most.

    At best guess the floor that must be there, or the arc the skin has begun, or nothing.
    """
    depth = UNSEEN_SHARE * skin.diagonal_mm
    most = max(depth * rim.area_mm2, _dome_mm3(rim, rim.turn_deg) if 0 < rim.turn_deg < 90 else 0.0)
    faces = skin.faces()
    above = None if skin.wall_mm is None else floor_above_mm(rim, faces, skin.wall_mm)
    if above is not None and skin.wall_mm is not None:
        least, best, thick = ((FLOOR_WALLS[k] * skin.wall_mm - above) * rim.area_mm2 for k in range(3))
        best = max(best, 0.0)
        hides = Interval(min(least, best, 0.0) - dent_mm3, best, max(most, thick, best) + dent_mm3)
        return Hidden(hides, rim.centre_mm + best / rim.area_mm2 / 2 * rim.outward, rim.radius_mm, True)
    slope = arc_slope_deg(rim, faces)
    if slope is not None and rim.half_span_mm * np.tan(np.radians(slope) / 2) < depth:
        dome = _dome_mm3(rim, slope)
        return Hidden(Interval(-dent_mm3, dome, max(most, dome) + dent_mm3), rim.centre_mm, rim.radius_mm, True)
    return Hidden(Interval(-dent_mm3, 0.0, most + dent_mm3), rim.centre_mm + depth / 2 * rim.outward,
                  rim.radius_mm, True)


def _dome_mm3(rim: Rim, turn_deg: float) -> float:
    """Volume of the dome that leaves the rim at an angle a to the cap.

    Over a disc of radius r a spherical cap, pi h (3 r2 + h2) / 6 = A h (1 + (h/r)2 / 3) / 2 with h = r tan(a / 2); over
    a strip of half width r a segment of a circle, near A h (1 + (h/r)2 / 5) 2 / 3 (any table of plane figures);
    between the two by the rim's roundness.
    """
    disc = rim.roundness
    slope = np.tan(np.radians(turn_deg) / 2)
    share = (disc / 2 + (1 - disc) * 2 / 3) * (1 + slope**2 * (disc / 3 + (1 - disc) / 5))
    return float(rim.area_mm2 * rim.half_span_mm * slope * share)


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
    middle = _prism_centre(rim, down, support.place_mm)
    return Hidden(Interval(min(ends) - dent, best, max(ends) + dent), middle, rim.radius_mm, False)


def _prism_centre(rim: Rim, down: F64, place_mm: float) -> F64:
    """Return the middle of the prism between a cap, which may slant, and the table.

    Over a triangle of shadow A with corner heights h the first moments are A/12 sum p_i (h_i + sum h), and the mean
    depth half of A/6 (sum h_i h_j over i <= j) over the volume (moments of a linear function over a triangle).
    """
    a, b, c = (rim.corners_mm[:, k] for k in range(3))
    shadow = np.cross(b - a, c - a) @ down / 2
    height = place_mm - rim.corners_mm @ down
    total = height.sum(axis=1)
    volume = float((shadow * total).sum()) / 3
    if abs(volume) <= 1e-9 * rim.area_mm2 * rim.radius_mm:
        return rim.centre_mm
    weights = shadow[:, None] / 12 * (height + total[:, None])
    first = (weights[:, :, None] * rim.corners_mm).sum(axis=(0, 1)) / volume
    squares = float((shadow / 12 * (total**2 + (height**2).sum(axis=1))).sum())
    along = place_mm - squares / 2 / volume
    return np.asarray(first + (along - first @ down) * down, dtype=np.float64)


def _crossings(plumb: Occupancy | None) -> list[Hidden]:
    """Return what the signed sum counts twice (to be taken away) and inside out (to be added), where that is telling.

    Where two parts were pushed into each other the truth may still be that they lay side by side.
    """
    if plumb is None or plumb.crossed_share <= CROSSED_SHARE:
        return []
    ways = ((-plumb.doubled_mm3, plumb.doubled_centre_mm), (plumb.inverted_mm3, plumb.inverted_centre_mm))
    return [Hidden(Interval(min(2 * volume, 0.0), volume, max(2 * volume, 0.0)), centre, 0.0, False)
            for volume, centre in ways if centre is not None]


def _telling_ends(hidden: list[Hidden], volume_mm3: float) -> int:
    return sum(h.unseen and h.volume_mm3.high - h.volume_mm3.best > TELLING_SHARE * volume_mm3 for h in hidden)


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
