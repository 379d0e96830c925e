"""Colours as light and as an eye sees them: sRGB's transfer curve both ways, and CIELAB.

Sources: sRGB transfer curve and matrix IEC 61966-2-1; CIELAB of D65 ISO/CIE 11664-4. Used wherever a colour is read
from a scan, averaged, matched or drawn.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanprep.vectors import F64

# exact: IEC 61966-2-1, linear sRGB to CIE XYZ
_TO_XYZ = np.array([[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750],
                    [0.0193339, 0.1191920, 0.9503041]])
_WHITE = np.array([0.95047, 1.0, 1.08883])  # exact: D65, as sRGB has it
_EPS, _KAPPA = 216 / 24389, 24389 / 27  # exact: CIE 15, L*a*b*
_STRAIGHT, _STRAIGHT_LIGHT = 0.04045, 0.0031308  # exact: IEC 61966-2-1, where the curve becomes a line


def light_of(srgb: NDArray[np.generic]) -> F64:
    """Return linear light 0..1 of sRGB values 0..255, of any shape.

    >>> [round(float(v), 4) for v in light_of(np.array([0, 128, 255]))]
    [0.0, 0.2159, 1.0]
    """
    share = np.asarray(srgb, dtype=np.float64) / 255
    return np.where(share <= _STRAIGHT, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def share_of(light: F64) -> F64:
    """Return the share 0..1 of a screen's full drive that shows linear light 0..1, of any shape."""
    return np.where(light <= _STRAIGHT_LIGHT, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


def lab_of(srgb: F64) -> F64:
    """Return CIELAB of sRGB colours 0..255; (n, 3) or (3,).

    >>> [round(float(v), 1) for v in lab_of(np.array([255.0, 0.0, 0.0]))]
    [53.2, 80.1, 67.2]
    """
    t = light_of(srgb) @ _TO_XYZ.T / _WHITE
    f = np.where(t > _EPS, np.cbrt(t), (_KAPPA * t + 16) / 116)
    return np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], axis=-1)


def srgb_of(lab: F64) -> F64:
    """Return sRGB 0..255, clipped to what a screen can show, of CIELAB colours; (n, 3) or (3,)."""
    lab = np.asarray(lab, dtype=np.float64)
    fy = (lab[..., 0] + 16) / 116
    f = np.stack([fy + lab[..., 1] / 500, fy, fy - lab[..., 2] / 200], axis=-1)
    xyz = np.where(f**3 > _EPS, f**3, (116 * f - 16) / _KAPPA) * _WHITE
    c = share_of(np.clip(xyz @ np.linalg.inv(_TO_XYZ).T, 0, 1))
    return np.asarray(np.clip(c, 0, 1) * 255, dtype=np.float64)
