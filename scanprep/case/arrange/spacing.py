"""The rhythm of a wall in figures: gaps, density, spread of groups, heights, post lengths, one record a face.

Gaps are between outlines of nearest neighbours; density is outline area over the face's area. Aids for the eye, no
limits: what reads as restless is for the designer to say. mm. Used by the arrange command and the review.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.check.outlines import Outlines
from scanprep.case.placed import PlacedObject
from scanprep.panel.faces import FACES
from scanprep.rules import Rulebook
from scanprep.vectors import F64


@dataclass(frozen=True, slots=True)
class Spread:
    """Least, middle and greatest of something, and its evenness."""

    least: float
    median: float
    greatest: float
    deviation: float  # standard deviation


@dataclass(frozen=True, slots=True)
class GroupSpread:
    """How close a group stands."""

    group: str
    members: int
    mean_from_middle_mm: float


@dataclass(frozen=True, slots=True)
class FaceSpacing:
    """One face in figures."""

    panel: str
    face: str
    objects: int
    gap_mm: Spread | None  # to the nearest neighbour's outline; None with fewer than two objects
    density_share: float  # outlines over the face
    in_band_share: float  # objects whose middle stands in the comfortable band
    groups: tuple[GroupSpread, ...]
    stand_off_mm: Spread | None
    free_length_mm: Spread | None
    post_diameters: tuple[tuple[str, int], ...]  # rod, how many


def rhythm(placed: Sequence[PlacedObject], case: CaseBrief, rules: Rulebook,
           outlines: Outlines | None = None) -> tuple[FaceSpacing, ...]:
    """Return the figures of every face that carries objects."""
    outlines = outlines or Outlines()
    faces = []
    for panel in case.panels:
        for face in FACES:
            here = [i for i in placed if i.stand is not None and (i.stand.panel, i.stand.face) == (panel.name, face)]
            if here:
                faces.append(_face(here, panel, face, rules, outlines))
    return tuple(faces)


def _face(here: Sequence[PlacedObject], panel: PanelBrief, face: str, rules: Rulebook,
          outlines: Outlines) -> FaceSpacing:
    from shapely.ops import unary_union

    shapes = [outlines.on_face(item) for item in here]
    middles = np.array([[shape.centroid.x, shape.centroid.y] for shape in shapes])
    heights = middles[:, 1] + panel.stands_at_mm
    band = (heights >= rules.case.comfortable_low_mm) & (heights <= rules.case.comfortable_high_mm)
    posts = [item.plan.post for item in here if item.plan is not None]
    rods: dict[str, int] = defaultdict(int)
    for post in posts:
        rods[post.rod] += 1
    return FaceSpacing(
        panel.name, face, len(here), _spread([min(a.distance(b) for b in shapes if b is not a) for a in shapes])
        if len(shapes) > 1 else None,
        float(unary_union(shapes).area) / (panel.width_mm * panel.height_mm), float(band.mean()),
        _groups(here, middles), _spread([p.stand_off_mm for p in posts]), _spread([p.free_length_mm for p in posts]),
        tuple(sorted(rods.items())),
    )


def _spread(values: Sequence[float]) -> Spread | None:
    if not values:
        return None
    return Spread(float(min(values)), float(np.median(values)), float(max(values)), float(np.std(values)))


def _groups(here: Sequence[PlacedObject], middles: F64) -> tuple[GroupSpread, ...]:
    found = []
    for group in sorted({item.group for item in here if item.group}):
        mine = middles[[item.group == group for item in here]]
        found.append(GroupSpread(group, len(mine), float(np.linalg.norm(mine - mine.mean(axis=0), axis=1).mean())))
    return tuple(found)


def face_svg(placed: Sequence[PlacedObject], panel: PanelBrief, face: str, outlines: Outlines | None = None,
             was: Sequence[PlacedObject] = ()) -> str:
    """Return a picture of one face at 1 unit = 1 mm: outlines with numbers, own holes filled, the other face's dashed.

    was  the same objects where they stood before; what stood on this face and stands elsewhere now is drawn dashed,
         with where it went

    As the face's own viewer sees it. Fixed objects are drawn heavier.
    """
    from html import escape

    outlines = outlines or Outlines()
    width, height = panel.width_mm, panel.height_mm
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:g}mm" '
             f'viewBox="0 0 {width:g} {height:g}" font-family="sans-serif" font-size="14" text-anchor="middle">',
             f"<title>{escape(panel.name)}, face {face}, as its own viewer sees it</title>",
             f'<rect width="{width:g}" height="{height:g}" fill="#f8f9f9" stroke="#444"/>',
             *_left_behind(placed, was, panel, face, outlines)]
    for item in (i for i in placed if i.stand is not None and i.stand.panel == panel.name):
        stand = item.stand
        if stand is None:
            continue
        own = stand.face == face
        x, y = (stand.from_left_mm if own else width - stand.from_left_mm), height - stand.y_mm
        radius = 2.5 if item.plan is None else item.plan.post.diameter_mm / 2
        style = 'fill="#222"' if own else 'fill="none" stroke="#888" stroke-dasharray="1.5 1"'
        if own:
            shape = outlines.on_face(item)
            parts += [_ring(ring, item.fixed, height) for ring in _rings(shape)]
            left, low, right, _ = shape.bounds
            # below the outline, so that the hole stays in sight
            parts.append(f'<text x="{(left + right) / 2:.1f}" y="{height - low + 15:.1f}">{escape(item.number)}</text>')
        parts.append(f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}" {style}/>')
    return "\n".join([*parts, "</svg>\n"])


def _left_behind(placed: Sequence[PlacedObject], was: Sequence[PlacedObject], panel: PanelBrief, face: str,
                 outlines: Outlines) -> list[str]:
    """Return what stood on a face and has moved: its outline and hole dashed, its number and where it went."""
    from html import escape

    now = {item.number: item.stand for item in placed}
    height, parts = panel.height_mm, []
    for item in was:
        stand, there = item.stand, now.get(item.number)
        if stand is None or (stand.panel, stand.face) != (panel.name, face) or stand == there:
            continue
        shape = outlines.on_face(item)
        for ring in _rings(shape):
            parts.append(f'<polygon points="{_points(ring, height)}" fill="none" stroke="#888" '
                         'stroke-dasharray="6 4"/>')
        left, low, right, _ = shape.bounds
        went = "taken off" if there is None else "moved" if (there.panel, there.face) == (panel.name, face) else (
            f"to {there.panel} {there.face}")
        parts.append(f'<text x="{(left + right) / 2:.1f}" y="{height - low + 15:.1f}" fill="#666">'
                     f"{escape(f'{item.number}: {went}')}</text>")
        parts.append(f'<circle cx="{stand.from_left_mm:.2f}" cy="{height - stand.y_mm:.2f}" r="2.50" fill="none" '
                     'stroke="#888"/>')
    return parts


def _rings(shape: object) -> list[F64]:
    shapes = getattr(shape, "geoms", [shape])
    return [np.asarray(s.exterior.coords) for s in shapes if not s.is_empty]


def _ring(ring: F64, fixed: bool, height_mm: float) -> str:
    return (f'<polygon points="{_points(ring, height_mm)}" fill="#d9cfc0" stroke="#222" '
            f'stroke-width="{2.5 if fixed else 0.8}"/>')


def _points(ring: F64, height_mm: float) -> str:
    return " ".join(f"{x:.1f},{height_mm - y:.1f}" for x, y in ring)
