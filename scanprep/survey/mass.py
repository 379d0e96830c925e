"""What an object weighs and where its centre of mass is, with the doubt in both.

A weighed mass always wins. Otherwise mass is volume x density, where volume runs from the fan-capped scan to the scan
plus what may be missing under it, and what is not known to be solid may be a shell. The centre lies on the line from
the skin's centre (a thin shell) to the body's (solid); the share of the body that is material says how far along, and
where that is unknown the doubt covers the whole line. Parts of other material are weighed one by one.
Takes a cleaned scan (scan axes, mm) and the checklist's line; gives g, mm, g mm2. Used by the survey.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep import materials
from scanprep.brief import MaterialRegion, ObjectBrief
from scanprep.interval import Interval
from scanprep.rules import SurveyRules
from scanprep.scan.mesh import Cleaned, Hollow
from scanprep.scan.ray_volume import Occupancy
from scanprep.survey.capping import ClosedBody
from scanprep.survey.hollow import SOLID_BY_NATURE, THIN_SHARE, wall_volume_mm3
from scanprep.survey.moments import inertia_of
from scanprep.survey.regions import in_region
from scanprep.vectors import F64

_POINT_STEP_SHARE = 1 / 160  # tolerance: of the diagonal, along the plumb lines that weigh parts


@dataclass(frozen=True, slots=True, eq=False)
class Weight:
    """Mass, centre and inertia, and what they rest on."""

    mass_g: Interval
    basis: str
    measured: bool
    centre_mm: F64  # (3,)
    radius_mm: float  # the true centre lies within
    inertia_g_mm2: F64  # (3, 3) about the centre
    weighed_ratio: float | None  # weighed over what volume and density say at their nearest end; None: not compared


def hollowness(brief: ObjectBrief, thickness_mm: F64, diagonal_mm: float, rules: SurveyRules) -> Hollow:
    """Return whether the body is solid, a shell with a wall, or unknown, from the checklist and from what rays saw."""
    seen = float(np.median(thickness_mm))
    if brief.wall_mm is not None:
        if seen < max(2.5 * brief.wall_mm, 0.02 * diagonal_mm):
            return Hollow("solid")  # the inside was scanned: the mesh is the wall already
        doubt = rules.wall_doubt_ratio * brief.wall_mm
        return Hollow("shell", Interval(brief.wall_mm - doubt, brief.wall_mm, brief.wall_mm + doubt))
    if seen < THIN_SHARE * diagonal_mm:
        return Hollow("solid")
    if brief.material is not None and materials.material_name(brief.material) in SOLID_BY_NATURE:
        return Hollow("solid")
    return Hollow("unknown", None)


def weigh(cleaned: Cleaned, body: ClosedBody, hollow: Hollow, inside: Occupancy, brief: ObjectBrief,
          rules: SurveyRules) -> Weight:
    """Return the mass, centre of mass and inertia of a cleaned scan.

    body    its moments and what capping may have cost
    inside  the plumb lines through it: what parts are weighed with
    """
    if brief.parts:
        return _of_parts(cleaned, body, inside, brief, rules)
    density, source = _density(brief, rules)
    material, how = _material(body, hollow, rules)
    computed = Interval(material.low * density.low, material.best * density.best, material.high * density.high)
    share, ratio = _material_share(body, material, computed, brief, rules)
    centre, reach = _centre(body, share)
    if hollow.kind != "solid":
        reach += (1 - share.low) * _uneven_mm(body, rules.uneven_ratio)
    if brief.mass_g is not None:
        mass, basis = weighed_mass(brief.mass_g, rules), "weighed"
    else:
        mass, basis = computed, f"{how} x density of {source}"
    inertia = _blend(body, share.best, centre) * mass.best
    reach += body.floor_mm + body.capping_mm * _capping_left(body, hollow, brief, rules)
    return Weight(mass, basis, brief.mass_g is not None, centre, reach, inertia, ratio)


def weighed_mass(mass_g: float, rules: SurveyRules) -> Interval:
    """Return what a weighed object weighs: no balance reads without its own doubt.

    >>> weighed_mass(600.0, SurveyRules())
    Interval(low=597.0, best=600.0, high=603.0)
    """
    off = min(max(rules.balance_ratio * mass_g, rules.balance_least_g), mass_g / 2)
    return Interval(mass_g - off, mass_g, mass_g + off)


def _density(brief: ObjectBrief, rules: SurveyRules) -> tuple[Interval, str]:
    if brief.material is None:
        any_density = (rules.any_density_low_kg_m3, rules.any_density_kg_m3, rules.any_density_high_kg_m3)
        return Interval(*(1e-6 * kg_m3 for kg_m3 in any_density)), "unknown material (assumed: wood to bronze)"
    density, source = materials.density_g_mm3(brief.material)
    source = source.replace("from memory (from memory)", "from memory")
    name = materials.material_name(brief.material)
    return density, f"{name} {density.low * 1e6:.0f}-{density.high * 1e6:.0f} kg/m3 ({source})"


def _material(body: ClosedBody, hollow: Hollow, rules: SurveyRules) -> tuple[Interval, str]:
    """Return how much of the body is material, and in words how that was told."""
    if hollow.kind == "solid":
        return body.volume_mm3, "volume"
    wall = hollow.wall_mm or Interval.exactly(rules.least_wall_mm)
    ends = [wall_volume_mm3(t, a, body.volume_mm3.best)
            for t, a in zip((wall.low, wall.best, wall.high), (body.skin_mm2.low, body.skin_mm2.best,
                                                              body.skin_mm2.high), strict=True)]
    if hollow.kind == "shell":
        return Interval(ends[0].low, ends[1].best, ends[2].high), f"shell of {wall.best:.3g} mm"
    low = min(ends[0].low, body.volume_mm3.low)
    return Interval(low, body.volume_mm3.best, body.volume_mm3.high), (
        f"volume, if solid (a shell of {wall.low:.3g} mm at the low end)")


def _material_share(body: ClosedBody, material: Interval, computed: Interval, brief: ObjectBrief,
                    rules: SurveyRules) -> tuple[Interval, float | None]:
    """Return what share of the body is material: 0 a mere skin, 1 solid; and weighed mass over computed."""
    whole = body.volume_mm3
    low, high = min(material.low / whole.high, 1.0), min(material.high / whole.low, 1.0)
    middle = min(material.best / whole.best, 1.0)
    if low < 0.9 * middle and middle > 0.99:  # unknown: half way is nearest to both ends
        middle = (low + high) / 2
    if brief.mass_g is None:
        return Interval(low, float(np.clip(middle, low, high)), high), None
    nearest = float(np.clip(brief.mass_g, computed.low, computed.high))
    ratio = brief.mass_g / nearest if nearest > 0 else None
    if brief.material is None:
        return Interval(low, float(np.clip(middle, low, high)), high), ratio
    density, _ = _density(brief, rules)
    told = [brief.mass_g / (d * v) for d, v in ((density.high, whole.high), (density.best, whole.best),
                                                (density.low, whole.low))]
    if told[0] > 1.0:  # heavier than solid: walls lost in the scan; neither end can be excluded
        return Interval(0.0, 0.5, 1.0), ratio
    if low < 0.9 * high:  # hollow or not was open: the balance tells
        low, middle, high = max(told[0], 0.0), min(told[1], 1.0), min(told[2], 1.0)
    return Interval(low, float(np.clip(middle, low, high)), high), ratio


def _centre(body: ClosedBody, share: Interval) -> tuple[F64, float]:
    """Return the point of the line from skin to body at the share's best, and how far its ends lie off."""
    way = body.centre_mm - body.skin_centre_mm
    length = float(np.linalg.norm(way))
    reach = max(share.high - share.best, share.best - share.low) * length
    return body.skin_centre_mm + share.best * way, reach


def _capping_left(body: ClosedBody, hollow: Hollow, brief: ObjectBrief, rules: SurveyRules) -> float:
    """Return how much of the doubt of capping is left, 0..1, once a balance and a density say how much there can be."""
    whole = body.volume_mm3
    if brief.mass_g is None or brief.material is None or hollow.kind != "solid" or brief.parts:
        return 1.0
    density, _ = _density(brief, rules)
    widest = max(whole.high - whole.best, whole.best - whole.low)
    above = min(whole.high, brief.mass_g / density.low) - whole.best
    below = whole.best - max(whole.low, brief.mass_g / density.high)
    if above < 0 or below < 0 or widest <= 0:  # balance and volume disagree: keep the whole doubt
        return 1.0
    return max(above, below) / widest


def _uneven_mm(body: ClosedBody, uneven_ratio: float) -> float:
    """Return how far a wall that thickens evenly from end to end moves the skin's centre.

    With thickness 1 + g x / h along the longest direction x, h half the reach, that is g times the mean of x2, over h.
    """
    longest = float(np.linalg.eigvalsh(body.skin_second_per_unit)[-1])
    # Half the reach of a skin with this spread: sqrt(3) sigma for a ball's skin or a tube.
    return float(uneven_ratio * np.sqrt(longest / 3))


def _blend(body: ClosedBody, share: float, centre: F64) -> F64:
    """Return the inertia about a centre for unit mass: between the skin's and the body's by the share of material."""
    out = np.zeros((3, 3))
    for weight, second, middle in ((1 - share, body.skin_second_per_unit, body.skin_centre_mm),
                                   (share, body.second_per_unit, body.centre_mm)):
        off = middle - centre
        out += weight * (second + np.outer(off, off))
    return inertia_of(out)


def _of_parts(cleaned: Cleaned, body: ClosedBody, inside: Occupancy, brief: ObjectBrief, rules: SurveyRules
              ) -> Weight:
    """Weigh each region with its own density; what no region claims is the object's material. The last claim wins."""
    points, volumes = inside.points(_POINT_STEP_SHARE * body.diagonal_mm)
    volumes = volumes * (body.volume_mm3.best / volumes.sum())
    ends = []
    claims = [(in_region(points, part.region, cleaned.working), _part_density(part)) for part in brief.parts]
    for k in ("low", "best", "high"):
        density = np.full(len(points), getattr(_density(brief, rules)[0], k))
        for inside_part, of_part in claims:
            density[inside_part] = getattr(of_part, k)
        ends.append(density)
    masses = [float((d * volumes).sum()) for d in ends]
    centres = [(points * (d * volumes)[:, None]).sum(axis=0) / m for d, m in zip(ends, masses, strict=True)]
    mixed = _mixed_ends(points, volumes, ends)
    whole = body.volume_mm3
    mass = Interval(masses[0] * whole.low / whole.best, masses[1], masses[2] * whole.high / whole.best)
    reach = max(float(np.linalg.norm(c - centres[1])) for c in [*centres, *mixed])
    off = points - centres[1]
    weights = ends[1] * volumes
    inertia = inertia_of((off * weights[:, None]).T @ off)
    if brief.mass_g is not None:
        inertia, mass = inertia * (brief.mass_g / mass.best), weighed_mass(brief.mass_g, rules)
    names = ", ".join(dict.fromkeys(materials.material_name(part.material) for part in brief.parts))
    by_region = f"volume by region x densities of {_density(brief, rules)[1]} and {names}"
    basis = "weighed" if brief.mass_g is not None else by_region
    return Weight(mass, basis, brief.mass_g is not None, centres[1], reach + body.floor_mm + body.capping_mm,
                  inertia, None)


def _part_density(part: MaterialRegion) -> Interval:
    return materials.density_g_mm3(part.material)[0]


def _mixed_ends(points: F64, volumes: F64, ends: Sequence[F64]) -> list[F64]:
    """Centres with one material at its light end and all others at their heavy end, and the reverse."""
    low, best, high = ends
    centres = []
    for value in np.unique(best):
        here = best == value
        for density in (np.where(here, low, high), np.where(here, high, low)):
            weights = density * volumes
            centres.append((points * weights[:, None]).sum(axis=0) / weights.sum())
    return centres
