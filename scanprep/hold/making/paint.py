"""The colour an arm is painted: that of the object beside its tip, in sRGB and CIELAB.

The median in CIELAB of the colours nearest the tip, so that a crack or a label does not tint the swatch.
Only the arm takes this colour: the inner end and the post take the hole's grey up to the face, and nothing in the seat.
"""

from __future__ import annotations

import numpy as np

from scanprep.colour import lab_of, srgb_of
from scanprep.vectors import F64, Vec3, steady, vec3


def swatch(vertices_mm: F64, colours: F64, point_mm: F64, reach_mm: float = 6.0, least: int = 12) -> tuple[str, Vec3]:
    """Return the hex colour and CIELAB of the surface beside a point.

    vertices_mm, colours  (n, 3) each, one colour 0..255 a vertex
    point_mm              (3,) in the same frame
    reach_mm              vertices within this count; at least the `least` nearest do
    """
    distance = np.linalg.norm(vertices_mm - point_mm, axis=1)
    nearest = np.argsort(steady(distance), kind="stable")[: max(least, int((distance <= reach_mm).sum()))]
    lab = np.median(lab_of(colours[nearest]), axis=0)
    red, green, blue = (round(v) for v in srgb_of(lab))
    return f"#{red:02x}{green:02x}{blue:02x}", vec3(lab)
