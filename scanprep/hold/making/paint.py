"""The colour an arm is painted: that of the object beside its tip, in sRGB and CIELAB.

The median in CIELAB of the colours nearest the tip, so that a crack or a label does not tint the swatch.
Sources: sRGB transfer curve and matrix IEC 61966-2-1; CIELAB of D65 ISO/CIE 11664-4.
Only the arm takes this colour: the inner end and the post take the hole's grey up to the face, and nothing in the seat.
"""

from __future__ import annotations

import numpy as np

from scanprep.vectors import F64, Vec3, vec3

# exact: IEC 61966-2-1, linear sRGB to CIE XYZ
_TO_XYZ = np.array([[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750],
                    [0.0193339, 0.1191920, 0.9503041]])
_WHITE = np.array([0.95047, 1.0, 1.08883])  # exact: D65, as sRGB has it
_EPS, _KAPPA = 216 / 24389, 24389 / 27  # exact: CIE 15, L*a*b*


def lab_of(srgb: F64) -> F64:
    """Return CIELAB of sRGB colours 0..255; (n, 3) or (3,).

    >>> [round(float(v), 1) for v in lab_of(np.array([255.0, 0.0, 0.0]))]
    [53.2, 80.1, 67.2]
    """
    c = np.asarray(srgb, dtype=np.float64) / 255
    linear = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    t = linear @ _TO_XYZ.T / _WHITE
    f = np.where(t > _EPS, np.cbrt(t), (_KAPPA * t + 16) / 116)
    return np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], axis=-1)


def srgb_of(lab: F64) -> F64:
    """Return sRGB 0..255, clipped to what a screen can show, of CIELAB colours; (n, 3) or (3,)."""
    lab = np.asarray(lab, dtype=np.float64)
    fy = (lab[..., 0] + 16) / 116
    f = np.stack([fy + lab[..., 1] / 500, fy, fy - lab[..., 2] / 200], axis=-1)
    xyz = np.where(f**3 > _EPS, f**3, (116 * f - 16) / _KAPPA) * _WHITE
    linear = np.clip(xyz @ np.linalg.inv(_TO_XYZ).T, 0, 1)
    c = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return np.asarray(np.clip(c, 0, 1) * 255, dtype=np.float64)


def swatch(vertices_mm: F64, colours: F64, point_mm: F64, reach_mm: float = 6.0, least: int = 12) -> tuple[str, Vec3]:
    """Return the hex colour and CIELAB of the surface beside a point.

    vertices_mm, colours  (n, 3) each, one colour 0..255 a vertex
    point_mm              (3,) in the same frame
    reach_mm              vertices within this count; at least the `least` nearest do
    """
    distance = np.linalg.norm(vertices_mm - point_mm, axis=1)
    nearest = np.argsort(distance)[: max(least, int((distance <= reach_mm).sum()))]
    lab = np.median(lab_of(colours[nearest]), axis=0)
    red, green, blue = (round(v) for v in srgb_of(lab))
    return f"#{red:02x}{green:02x}{blue:02x}", vec3(lab)
