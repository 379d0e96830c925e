"""What is drawn, written or carved on a side: fine marks that stand out from the ground round them.

A painted, engraved or inscribed side faces the viewer. Marks are told from stains, wear and shade by being fine: only
what differs from its own surroundings a few cells wide counts, in colour first, else in the lie of the surface.
Takes what the sides show (`Sides`). Used by `front`, `showing` and `tops`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.survey.sides import Sides
from scanprep.vectors import F64, rotation_to, unit

_CELLS = 96  # tolerance: of a side, over its longer edge: a drawn line is one cell wide
_GROUND_CELLS = 2.0  # tolerance: how far round about a mark its ground is taken (a Gaussian's width)
_RIM_CELLS = 3  # tolerance: left out along the outline, where the light falls off and walls turn away
_FACING_COS = 0.5  # tolerance: what leans further from the viewer is no part of a side's picture
_LEAST_CELLS = 30  # tolerance: of a side; below it there is none to be marked
_MARKED_RATIO = 1.8  # tolerance: marks over those of the other side; trial: painted, engraved, inscribed sides 2 to 8
_ONE_SIDE_SHARE = 0.3  # tolerance: length of the mean direction: 1 all on one side, 0 evenly round; assumed
# tolerance: rms difference of a channel (0..1) and of a unit normal, below which nothing is drawn or carved; trial
_DRAWN_LEAST, _CARVED_LEAST = 0.05, 0.10
# tolerance: rms height of a side over its plane, over the root of its outline: a flat back, and a modelled front; trial
_FLAT_BACK, _MODELLED = 0.008, 0.03


@dataclass(frozen=True, slots=True)
class Marks:
    """How strongly a side is marked."""

    drawn: float  # rms difference of colour from its ground, 0..1; 0 without colours
    carved: float  # the same of unit normals


def marks_on(sides: Sides, towards: F64) -> Marks:
    """Return how strongly the side that looks in a direction is drawn and carved on."""
    from scipy.ndimage import binary_erosion

    face, _, _ = sides.looked(rotation_to(towards, np.array([0.0, 0.0, 1.0])), _CELLS)
    hit = face >= 0
    normals, towards_all = np.zeros((*face.shape, 3)), sides.normals[face[hit]]
    normals[hit] = towards_all / np.maximum(np.linalg.norm(towards_all, axis=1), 1e-12)[:, None]
    inner = binary_erosion(np.pad(hit & (normals @ towards > _FACING_COS), 1), iterations=_RIM_CELLS)[1:-1, 1:-1]
    if np.count_nonzero(inner) < _LEAST_CELLS:
        return Marks(0.0, 0.0)
    drawn = 0.0
    if sides.skin.has_colour:
        colours = np.zeros((*face.shape, 3))
        colours[hit] = sides.skin.colours[sides.skin.faces[face[hit]]].astype(np.float64).mean(axis=1) / 255
        drawn = _stands_out(colours, hit, inner)
    return Marks(drawn, _stands_out(normals, hit, inner))


def marked_side(sides: Sides, way: F64) -> F64 | None:
    """Return the one of two opposite sides that is drawn on and the other not, else carved and the other not."""
    ahead, behind = marks_on(sides, way), marks_on(sides, -way)
    sign = _more(ahead.drawn, behind.drawn, _DRAWN_LEAST) or _more(ahead.carved, behind.carved, _CARVED_LEAST)
    return sign * way if sign else None


def modelled_side(sides: Sides, way: F64) -> F64 | None:
    """Return the one of two opposite sides that is modelled in the round where the other is flat and plain.

    A fossil, a cast or a relief has its back worked flat, or lay on it while it was scanned.
    """
    ahead, behind = sides.relief_ratio(way), sides.relief_ratio(-way)
    side = way if ahead > behind else -way
    if min(ahead, behind) > _FLAT_BACK or max(ahead, behind) < _MODELLED or is_drawn(sides, -side):
        return None
    return side


def drawn_side(sides: Sides, way: F64) -> F64 | None:
    """Return the one of two opposite sides that is drawn on and the other not."""
    sign = _more(marks_on(sides, way).drawn, marks_on(sides, -way).drawn, _DRAWN_LEAST)
    return sign * way if sign else None


def is_drawn(sides: Sides, way: F64) -> bool:
    """Return whether a side is drawn on."""
    return marks_on(sides, way).drawn > _DRAWN_LEAST


def _more(ahead: float, behind: float, least: float) -> int:
    """1 where the first is so much more than the second, -1 the other way round, else 0."""
    if max(ahead, behind) <= max(_MARKED_RATIO * min(ahead, behind), least):
        return 0
    return 1 if ahead > behind else -1


def top_is_drawn(sides: Sides, up: F64) -> bool:
    """Return whether the side that looks up is drawn on, and none of four round about."""
    aside = np.linalg.svd(up[None, :])[2][1:]
    around = max(marks_on(sides, way).drawn for way in (*aside, *-aside))
    return _more(marks_on(sides, up).drawn, around, _DRAWN_LEAST) > 0


def most_drawn(sides: Sides, ways: F64) -> int | None:
    """Return which of several sides all round (n, 3) is drawn on most; None where none stands out."""
    drawn = np.array([marks_on(sides, way).drawn for way in ways])
    best = int(np.argmax(drawn))
    return best if drawn[best] > max(_MARKED_RATIO * float(np.median(drawn)), _DRAWN_LEAST) else None


def lettered_side(sides: Sides, ways: F64) -> F64 | None:
    """Return the unit direction of the middle of what is written or drawn round a turned body; None where it is even.

    ways (n, 3): unit, evenly round its axis
    Lettering on a barrel runs round its side and is read from its middle: the mean direction of what each side has more
    than most of them (the circular mean, Mardia and Jupp 2000), not the one side with most.
    """
    drawn = np.array([marks_on(sides, way).drawn for way in ways])
    usual = float(np.median(drawn))
    if float(drawn.max()) <= max(_MARKED_RATIO * usual, _DRAWN_LEAST):
        return None
    middle = np.clip(drawn - usual, 0, None) @ ways
    if float(np.linalg.norm(middle)) < _ONE_SIDE_SHARE * float(np.clip(drawn - usual, 0, None).sum()):
        return np.asarray(ways[int(np.argmax(drawn))])  # on opposite sides: its middle would be between them
    return unit(middle)


def _stands_out(picture: F64, hit: NDArray[np.bool_], inner: NDArray[np.bool_]) -> float:
    """The rms difference of a picture (rows, columns, channels) from its own ground, over its inner cells."""
    from scipy.ndimage import gaussian_filter

    cover = np.maximum(gaussian_filter(hit.astype(np.float64), _GROUND_CELLS), 1e-6)
    ground = np.stack([gaussian_filter(picture[..., k], _GROUND_CELLS) for k in range(picture.shape[2])], axis=-1)
    ground /= cover[..., None]
    return float(np.sqrt(np.square((picture - ground)[inner]).sum(axis=1).mean()))
