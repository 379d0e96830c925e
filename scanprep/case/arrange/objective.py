"""What a good arrangement of one face is, as a sum of stated parts.

Each part is about 0 (good) to 1 (poor):

    band        how far centres lie outside the comfortable band (fine detail: its lower part), in half metres
    groups      how far members stand from their group's middle, over half the face's diagonal
    heavy-low   where the moment of the weights lies between the least and the most that these heights allow
    even-gaps   spread of the gaps to nearest neighbours, over their mean
    order       share of neighbours in a group that stand out of reading order
    balance     sideways lean of the face's outline area

Face frame, mm and g. Used by `arrange` and shown with every proposal.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

import numpy as np

from scanprep.case.arrange.layout import Box, Ground, Spots
from scanprep.rules import CaseRules
from scanprep.vectors import F64


def reading_order(box: Box) -> tuple[str, float, str]:
    """Return a sort key: group, order within it, number."""
    return box.group, np.inf if box.order is None else box.order, box.number


def total(parts: Mapping[str, float], rules: CaseRules) -> float:
    """Return the weighted sum of an objective's parts."""
    weights = {"band": rules.weight_band, "groups": rules.weight_groups, "heavy-low": rules.weight_heavy_low,
               "even-gaps": rules.weight_even_gaps, "order": rules.weight_order,
               "balance": rules.weight_balance}
    return sum(weights[name] * value for name, value in parts.items())


def objective(boxes: Sequence[Box], spots: Spots, ground: Ground, rules: CaseRules) -> dict[str, float]:
    """Return the parts of a face's objective; see the module's head. All 0 for a face without objects."""
    if not boxes:
        return dict.fromkeys(("band", "groups", "heavy-low", "even-gaps", "order", "balance"), 0.0)
    half = np.array([[box.width_mm, box.height_mm] for box in boxes]) / 2
    middle = np.array([[(b.left_mm + b.right_mm) / 2, (b.low_mm + b.high_mm) / 2] for b in boxes])
    at = np.array([spots[box.number] for box in boxes]) + middle
    return {
        "band": _band(boxes, at, ground),
        "groups": _groups(boxes, at, ground),
        "heavy-low": _heavy_low(np.array([box.mass_g for box in boxes]), at[:, 1]),
        "even-gaps": _even_gaps(at, half),
        "order": _order(boxes, at, rules.same_row_mm),
        "balance": _balance(at[:, 0], 4 * half.prod(axis=1), ground),
    }


def _band(boxes: Sequence[Box], at: F64, ground: Ground) -> float:
    high = np.array([ground.fine_high_mm if box.fine_detail else ground.band_high_mm for box in boxes])
    outside = np.maximum(0.0, np.maximum(at[:, 1] - high, ground.band_low_mm - at[:, 1]))
    return float(outside.mean() / 500.0)


def _groups(boxes: Sequence[Box], at: F64, ground: Ground) -> float:
    names = np.array([box.group for box in boxes])
    diagonal = np.hypot(ground.x_high_mm - ground.x_low_mm, ground.y_high_mm - ground.y_low_mm)
    spreads = [np.linalg.norm(at[names == g] - at[names == g].mean(axis=0), axis=1).mean() for g in set(names) if g]
    return float(np.mean(spreads) / diagonal) * 2 if spreads else 0.0


def _heavy_low(mass: F64, height: F64) -> float:
    """Return where the weight's moment lies between the least (heaviest lowest) and the most these heights allow."""
    least, most = np.sort(mass)[::-1] @ np.sort(height), np.sort(mass) @ np.sort(height)
    return float((mass @ height - least) / (most - least)) if most - least > 1e-9 else 0.0


def _even_gaps(at: F64, half: F64) -> float:
    if len(at) < 3:
        return 0.0
    apart = np.abs(at[:, None] - at) - half[:, None] - half
    gaps = np.linalg.norm(np.maximum(apart, 0.0), axis=2)
    np.fill_diagonal(gaps, np.inf)
    nearest = gaps.min(axis=1)
    return float(nearest.std() / nearest.mean()) if nearest.mean() > 0 else 1.0


def _order(boxes: Sequence[Box], at: F64, same_row_mm: float) -> float:
    """Return the share of neighbours by number that do not follow each other left to right, or in a lower row."""
    ordered = [i for i, box in enumerate(boxes) if box.order is not None]
    numbered = sorted(ordered, key=lambda i: reading_order(boxes[i]))
    pairs = [(a, b) for a, b in itertools.pairwise(numbered) if boxes[a].group == boxes[b].group]
    wrong = [at[b, 1] > at[a, 1] + same_row_mm or (abs(at[b, 1] - at[a, 1]) <= same_row_mm and at[b, 0] < at[a, 0])
             for a, b in pairs]
    return float(np.mean(wrong)) if wrong else 0.0


def _balance(x: F64, area: F64, ground: Ground) -> float:
    middle, half = (ground.x_low_mm + ground.x_high_mm) / 2, (ground.x_high_mm - ground.x_low_mm) / 2
    return float(abs(area @ (x - middle)) / (area.sum() * half))
