"""What the finds look like: colours of glaze, metal, bone, wood and clay that change from place to place.

A painter takes (n, 3) points in mm, their normals and how hollow the surface is there (0 flat, 1 deep corner,
-1 sharp edge) and returns (n, 3) sRGB bytes. Dirt sits in hollows, wear on edges, and two tones run through the body.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scanprep_samples.noise import noise, rough

F64 = NDArray[np.float64]
U8 = NDArray[np.uint8]
Painter = Callable[[F64, F64, F64], U8]
Colour = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Body:
    """The tones of one material."""

    base: Colour
    other: Colour
    dirt: Colour
    worn: Colour
    cloud_mm: float  # how large the clouds of the other tone are
    cloud: float = 0.5  # how much of it, 0..1
    speck: float = 0.04  # strength of fine grain
    grain: tuple[float, float, float] = (1, 1, 1)  # clouds stretched along an axis: wood, bone, horn


SALT_GREY = Body((150, 143, 128), (128, 120, 102), (86, 76, 62), (182, 174, 156), 18, 0.6, 0.07)
GREEN_GLASS = Body((84, 108, 76), (112, 128, 82), (150, 146, 118), (196, 198, 170), 22, 0.6, 0.05)
TIN_GLAZE = Body((222, 218, 204), (206, 202, 186), (150, 136, 112), (178, 140, 104), 30, 0.4, 0.02)
PEWTER = Body((128, 128, 124), (96, 97, 94), (62, 62, 58), (168, 168, 164), 12, 0.6, 0.05)
BRONZE_GREEN = Body((92, 112, 84), (70, 78, 56), (52, 58, 42), (146, 118, 74), 7, 0.8, 0.07)
BRONZE_BROWN = Body((96, 78, 52), (68, 76, 58), (46, 42, 32), (164, 132, 82), 9, 0.6, 0.06)
BRASS = Body((150, 122, 68), (112, 90, 54), (62, 56, 40), (196, 168, 104), 10, 0.5, 0.05)
LEAD = Body((120, 120, 118), (150, 148, 142), (78, 76, 72), (168, 166, 160), 6, 0.7, 0.05)
BONE = Body((206, 184, 142), (178, 148, 102), (98, 74, 48), (226, 210, 174), 6, 0.6, 0.04, (1, 0.25, 1))
OAK = Body((96, 68, 44), (66, 46, 32), (36, 28, 22), (134, 102, 70), 5, 0.7, 0.08, (1, 0.08, 1))
BOXWOOD = Body((158, 118, 70), (126, 88, 50), (66, 46, 28), (190, 154, 102), 4, 0.5, 0.05, (1, 0.1, 1))
IRON = Body((86, 66, 52), (112, 76, 50), (54, 44, 38), (120, 104, 92), 5, 0.9, 0.10)
PIPE_CLAY = Body((216, 206, 188), (196, 180, 154), (128, 108, 84), (228, 222, 208), 9, 0.5, 0.03)
RED_CLAY = Body((168, 98, 66), (140, 78, 54), (86, 58, 44), (194, 132, 98), 14, 0.6, 0.06)
STONE = Body((160, 152, 136), (138, 130, 114), (104, 96, 82), (186, 180, 166), 8, 0.7, 0.08)
ALABASTER = Body((226, 214, 194), (206, 178, 144), (170, 150, 122), (236, 228, 214), 14, 0.5, 0.02)
GOLD = Body((190, 152, 74), (168, 128, 58), (96, 72, 38), (222, 190, 116), 5, 0.4, 0.03)


def _mix(under: F64, colour: Colour | F64, share: F64) -> F64:
    return np.asarray(under + np.clip(share, 0, 1)[:, None] * (np.asarray(colour, dtype=float) - under))


def body(kind: Body, seed: int) -> Painter:
    """Return the painter of a plain material."""

    def paint(points: F64, normals: F64, hollow: F64) -> U8:
        stretched = points * np.array(kind.grain)
        rgb = np.tile(np.array(kind.base, dtype=float), (len(points), 1))
        rgb = _mix(rgb, kind.other, kind.cloud * (0.5 + 0.9 * rough(stretched, kind.cloud_mm, seed)))
        rgb *= 1 + kind.speck * 2 * rough(points, 1.6, seed + 5, 2)[:, None]
        rgb = _mix(rgb, kind.dirt, 0.85 * np.clip(hollow, 0, 1) + 0.12 * np.clip(-normals[:, 1], 0, 1))
        rgb = _mix(rgb, kind.worn, 0.75 * np.clip(-hollow - 0.15, 0, 1))
        return np.asarray(np.clip(rgb, 0, 255), dtype=np.uint8)

    return paint


def over(under: Painter, colour: Colour, where: Callable[[F64, F64], F64], patchy: float = 0.15,
         seed: int = 3) -> Painter:
    """Return a painter with a second colour laid on where `where(points, normals)` is 1, uneven by `patchy`."""

    def paint(points: F64, normals: F64, hollow: F64) -> U8:
        below = under(points, normals, hollow).astype(float)
        share = np.clip(where(points, normals), 0, 1) * (1 - patchy * (1 + noise(points, 3.0, seed)))
        shade = np.array(colour, dtype=float) * (1 + 0.10 * rough(points, 6.0, seed + 9)[:, None])
        return np.asarray(np.clip(_mix(below, shade, share), 0, 255), dtype=np.uint8)

    return paint


def split(inside: Painter, outside: Painter, where: Callable[[F64], F64]) -> Painter:
    """Return `inside` where `where(points)` is 1 and `outside` elsewhere: glaze and bare clay, lid and box."""

    def paint(points: F64, normals: F64, hollow: F64) -> U8:
        share = np.clip(where(points), 0, 1)[:, None]
        a, b = inside(points, normals, hollow).astype(float), outside(points, normals, hollow).astype(float)
        return np.asarray(np.clip(a * share + b * (1 - share), 0, 255), dtype=np.uint8)

    return paint


def soft_step(value: F64, edge: float, width: float) -> F64:
    """Return 0 below an edge and 1 above it, running over a width."""
    return np.asarray(np.clip((value - edge) / width + 0.5, 0, 1))
