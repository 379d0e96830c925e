"""How plain the ground is where a tip may touch: drawn, painted, inlaid, engraved or carved ground is left free.

A mountmaker holds an object by its plain ground, its edges, its back and underside: a pad hides what it lies on and
rubs it for years, and paint, enamel and gilding come off under it. Where every place is decorated he still holds it, by
the plainest of them. So this is a price, never a ban.

Colour counts by contrast within a few millimetres: marks stand against their ground however light falls on it. What
changes evenly there (shade, a soft stain, a glaze that thins) is taken off first by a plane, and what the object has
everywhere (grain, patina, a camera's noise) is its usual ground. Relief counts likewise, off a curved surface fitted to
what looks the same way: engraving, letters, tooling; an edge of the object is none. Where a scan has no colour only
relief is left.

In scan axes about the centre of mass, mm. Used by the families, the free search, and the comparison of mounts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from scanprep.colour import lab_of
from scanprep.hold.places.obstacle import Obstacle
from scanprep.rules import HoldRules
from scanprep.vectors import F64, I32, cross, unit

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

_FEWEST, _MOST = 24, 128  # tolerance: vertices looked at about a place, as many as lie within reach on an even mesh
_MORE = 1.3  # tolerance: and so many times more, for uneven ones
_LEAST = 10  # tolerance: of them, fewer of which tell nothing: a curved surface alone has six numbers
_SPACINGS = 2.5  # tolerance: between a coarse mesh's vertices, within which there are still enough of them
_ALIKE_cos = 0.64  # tolerance: 50 deg: what looks further aside lies round an edge
_ASKED = 240  # tolerance: places by which an object's usual ground is told
_USUAL = 0.25  # tolerance: of them, in order, the one that is taken: what is drawn may cover most of an object
_TIMES_USUAL = 1.5  # tolerance: the usual ground wavers by so much
_STIFF = 1e-6  # tolerance: keeps fits on points in a line solvable


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """An object's surface with its colours, and what contrast and relief are usual on it."""

    vertices_mm: F64
    normals: F64  # (n, 3) outward, at the vertices
    lab: F64  # (n, 3) CIELAB
    tree: cKDTree
    reach_mm: float
    many: int  # vertices looked at about a place
    colour_from: float  # contrast from which ground counts as drawn at all
    relief_from_mm: float
    rules: HoldRules

    def drawn(self, points_mm: F64) -> F64:
        """Return how far places (n, 3) are from plain: 0 plain .. 1 drawn or engraved."""
        painted, engraved = self._shares(points_mm)
        return np.maximum(painted, engraved)

    def painted(self, points_mm: F64) -> F64:
        """Return the same by colour alone: what a foot or a neck is moulded with is no engraving."""
        return self._shares(points_mm)[0]

    def _shares(self, points_mm: F64) -> tuple[F64, F64]:
        if len(points_mm) == 0:
            return np.zeros(0), np.zeros(0)
        contrast, relief_mm = _unevenness(self.vertices_mm, self.normals, self.lab, self.tree, self.reach_mm, self.many,
                                          points_mm)
        return (np.clip((contrast - self.colour_from) / self.rules.drawn_contrast, 0.0, 1.0),
                np.clip((relief_mm - self.relief_from_mm) / self.rules.drawn_relief_mm, 0.0, 1.0))


@lru_cache(maxsize=4)
def ground_of(body: Obstacle, rules: HoldRules) -> Ground:
    """Return an object's ground."""
    from scipy.spatial import cKDTree

    vertices = body.vertices_mm
    tree = cKDTree(vertices)
    lab = lab_of(body.colours.astype(np.float64)) if body.has_colour else np.zeros((len(vertices), 3))
    normals, area_mm2 = _normals(vertices, body.faces)
    reach = max(rules.drawn_reach_mm, _SPACINGS * float(np.sqrt(area_mm2 / len(vertices))))
    asked = body.shell_mm[:: max(1, len(body.shell_mm) // _ASKED)]
    even = _MORE * math.pi * reach**2 * len(vertices) / area_mm2
    many = min(round(float(np.clip(even, _FEWEST, _MOST))), len(vertices))
    contrast, relief_mm = _unevenness(vertices, normals, lab, tree, reach, many, asked)
    return Ground(vertices, normals, lab, tree, reach, many,
                  max(rules.drawn_from_contrast, _TIMES_USUAL * float(np.quantile(contrast, _USUAL))),
                  max(rules.drawn_from_relief_mm, _TIMES_USUAL * float(np.quantile(relief_mm, _USUAL))), rules)


def _normals(vertices: F64, faces: I32) -> tuple[F64, float]:
    """Outward normals (n, 3) at the vertices, and the area of the whole."""
    corners = vertices[faces]
    twice = cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals = np.zeros_like(vertices)
    for corner in range(3):
        np.add.at(normals, faces[:, corner], twice)
    return unit(normals + _STIFF * 1e-6), float(np.linalg.norm(twice, axis=1).sum()) / 2


def _unevenness(vertices: F64, normals: F64, lab: F64, tree: cKDTree, reach_mm: float, count: int,
                points_mm: F64) -> tuple[F64, F64]:
    """How unlike the colours (n,) about places are, in CIELAB, and how rough the surface (n,), in mm; as means."""
    away, near = tree.query(points_mm, k=count)
    own = normals[near[:, :1]]
    counts = (away <= reach_mm) & (np.einsum("nmk,nmk->nm", normals[near], np.broadcast_to(own, (*near.shape, 3)))
                                   >= _ALIKE_cos)
    told = counts.sum(axis=1) >= _LEAST
    weight = counts.astype(np.float64)
    many = np.maximum(weight.sum(axis=1), 1.0)
    out = unit((weight[..., None] * normals[near]).sum(axis=1) + 1e-9 * own[:, 0])
    first = unit(cross(out, np.eye(3)[np.argmin(np.abs(out), axis=1)]))
    second = cross(out, first)
    off = (vertices[near] - points_mm[:, None]) / reach_mm
    u, v, w = (np.einsum("nmk,nk->nm", off, way) for way in (first, second, out))
    plane = np.stack([np.ones_like(u), u, v], axis=-1)
    curved = np.concatenate([plane, np.stack([u * u, u * v, v * v], axis=-1)], axis=-1)
    colours = np.sqrt((_off_fit(plane, lab[near], weight) ** 2).sum(axis=-1))
    rough = np.abs(_off_fit(curved, w[..., None], weight)[..., 0]) * reach_mm
    return (np.where(told, (weight * colours).sum(axis=1) / many, 0.0),
            np.where(told, (weight * rough).sum(axis=1) / many, 0.0))


def _off_fit(terms: F64, values: F64, weight: F64) -> F64:
    """What is left (n, m, c) of values about each place after the best sum of terms (n, m, t)."""
    weighed = terms * weight[..., None]
    square = np.einsum("nmt,nms->nts", weighed, terms) + _STIFF * np.eye(terms.shape[2])
    best = np.linalg.solve(square, np.einsum("nmt,nmc->ntc", weighed, values))
    return np.asarray(values - np.einsum("nmt,ntc->nmc", terms, best))
