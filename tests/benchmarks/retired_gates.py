"""Gates that once judged sets of tips and no longer do, kept to be measured against the one that took their place.

How the pads sit: the 10th percentile of the friction reserve over redraws of every pad. Springs: the shake withstood
while no spring gives more than a quarter of a millimetre. Rocking: how far the object turns on its springs under 0.2 g.
"""

from __future__ import annotations

import math

import numpy as np

from scanprep.hold.statics.gates import UP
from scanprep.hold.statics.preload import Preload, reserves_N
from scanprep.hold.statics.programme import Programme
from scanprep.hold.statics.wrench import ContactWrenches, edges_of
from scanprep.vectors import F64

GIVE_mm, SPRUNG_g, ROCKING_deg, SITS_RATIO = 0.25, 0.25, 0.6, 0.05  # what they gave and asked for
MOST_SPRUNG_g = 9.0


def pads_sit_ratio(draws: list[ContactWrenches], weight_N: float) -> float:
    """The 10th percentile of s/W over redraws."""
    return float(np.quantile(reserves_N(draws, weight_N, UP), 0.1)) / weight_N


def rocking_deg(compliance: F64, weight_N: float, push_g: float) -> float:
    """How far a body turns under a steady push in its worst direction.

    compliance  (6, 6) at the centre of mass: mm/N, rad/N and so on
    """
    return math.degrees(float(np.linalg.norm(compliance[3:, :3], ord=2)) * push_g * weight_N)


def sprung_margin_g(grip: ContactWrenches, sprung: Preload, weight_N: float, give_N: float | F64) -> float:
    """The shake in g, along the axes either way, that a set withstands while its springs give little.

    give_N  one for all, or (3 t,) along x, y, z of each tip in turn

    The tips' forces start at the preload and may each change by `give_N` along every axis: what a sprung wire supplies
    before its tip has moved noticeably. Limits are taken as given. -1 where not even the weight is balanced so.
    """
    edges = edges_of(grip)
    width, tips, faces = len(edges.force), grip.tips, len(grip.limits_N)
    size = max(float(np.abs(edges.torque).max()), 1.0)
    at_rest = np.array([sprung.forces_N[grip.tip == tip].sum(0) for tip in range(tips)]).ravel()
    of_tip = (grip.tip[edges.face][None] == np.arange(tips)[:, None]).astype(np.float64)
    pushes = np.vstack([np.eye(3), -np.eye(3)])
    rows = np.zeros((6 + 3 * tips + faces, width + len(pushes)))
    rows[:6, :width] = np.vstack([edges.force.T, edges.torque.T / size])
    rows[:3, width:] = -weight_N * pushes.T
    rows[6:6 + 3 * tips, :width] = (of_tip[:, None] * edges.force.T[None]).reshape(3 * tips, width)
    rows[6 + 3 * tips + edges.face, np.arange(width)] = 1.0
    even = np.concatenate([weight_N * UP, np.zeros(3)])
    asked = Programme(rows, np.concatenate([even, at_rest - give_N, np.full(faces, -np.inf)]),
                      np.concatenate([even, at_rest + give_N, grip.limits_N]),
                      ceiling=np.concatenate([np.full(width, np.inf), np.full(len(pushes), MOST_SPRUNG_g)]))
    least_g = MOST_SPRUNG_g
    for i in range(len(pushes)):
        found = asked.most(width + i, slice(width, None))
        if found is None:
            return -1.0
        least_g = min(least_g, float(found.x[width + i]))
    return least_g
