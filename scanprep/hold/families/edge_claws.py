"""Claws round the edge: three or four prongs for flat things and dishes, a bar of claws, a spine with claws.

    prongs             bar                 spine
      \\   /            |  claws at the    --|--  claws up the sides
       ( )             |  top or sides       |
      /   \\         ---+---                 |
    two low, two      two claws under       --+--
    (or one) above    the lower edge        one or two under the end

Every claw lies on the back, bears on the edge and lips over the front by little more than its own pad: a short lip is
seen less and, where the face leans, keeps better. Two low claws carry; what stands above only keeps.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.hold.families.body import off_body
from scanprep.hold.families.edge_pairs import blemish_mm, first_bent, level_pair, pick
from scanprep.hold.families.ledges import head_hooks, ledge_claws
from scanprep.hold.families.probes import Claws, claws
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Bools, Scene
from scanprep.rules import HoldRules

_LOW_AT = (0.33, 0.25, 0.40, 0.17)  # tolerance: of the width, each side of the middle; tried in turn, gates judge
_TOP_AT = (0.33, 0.22, 0.40)  # tolerance: likewise
_SIDE_AT = (0.30, 0.15, 0.0, -0.15)  # tolerance: likewise, of the height above the middle
_STEEP = HoldRules().claw_steep_cos
_ANYTHING = HoldRules().claws_any_ratio
_MOST = 0.95  # tolerance: how well claws suit at best: they show, a hook in an opening does not
_TALL, _MIDDLE = 1.2, 0.1  # tolerance: height over width, and share of the width: see `made_to_hang`
_COMPACT = 0.85  # tolerance: of its hull, what a plate's outline fills
_TOP_ASIDE = 0.15  # tolerance: of the width, how far aside of its place a claw over the top may stand
_ON_TOP_cos = 0.7  # tolerance: how far an edge looks up that a claw lies over rather than beside
_BACK_AT, _BACK_APART = (0.15, 0.3), 0.2  # tolerance: of the back, from its ends; and of the width


def _mounts(scene: Scene, name: str, sets: Iterator[tuple[tuple[int, ...], str]]) -> Iterator[FamilyMount]:
    found, seen = claws(scene), set()
    for chosen, why in sets:
        key = tuple(sorted(chosen))
        if key in seen or len(set(chosen)) < len(chosen):
            continue
        seen.add(key)
        yield FamilyMount(name, tuple(found.contact(scene, i) for i in chosen), why)


def _low_pairs(scene: Scene, found: Claws, shares: Sequence[float]) -> list[tuple[int, ...]]:
    middle, wide = float(scene.low_mm[0] + scene.high_mm[0]) / 2, float(scene.size_mm[0])
    pairs: list[tuple[int, ...]] = []
    for share in shares:
        want = np.array([middle - share * wide, _edge_y(found, middle - share * wide, wide, lower=True)])
        pair = level_pair(scene, found, want, np.array([0.0, -1.0]), _STEEP, carries=True)
        if pair is not None and pair not in pairs:
            pairs.append(pair)
    return pairs


def _edge_y(found: Claws, x_mm: float, wide_mm: float, *, lower: bool) -> float:
    near = np.abs(found.points_mm[:, 0] - x_mm) <= 0.04 * wide_mm + 1.0
    heights = found.points_mm[near & (found.opening == 0), 1] if bool(near.any()) else found.points_mm[:, 1]
    return float(heights.min() if lower else heights.max()) if len(heights) else 0.0


def lower_edge_mm(scene: Scene, x_mm: float) -> float:
    """Return the height of the outline's lower edge at a place."""
    return _edge_y(claws(scene), x_mm, float(scene.size_mm[0]), lower=True)


def upper_edge_mm(scene: Scene, x_mm: float) -> float:
    """Return the height of the outline's upper edge at a place."""
    return _edge_y(claws(scene), x_mm, float(scene.size_mm[0]), lower=False)


def lies(scene: Scene) -> float:
    """1 for what is a plate or a dish in this attitude, less for what stands by itself, 0 for what is deep."""
    return float(np.clip(2.0 - 2.4 * _flatness(scene), 0.0, 1.0)) * scene.off_base


def hooked(scene: Scene) -> Bools:
    """Return which claws hang in the upper edge of an opening."""
    found = claws(scene)
    return found.sits & (found.opening > 0) & (found.outward[:, 1] < -scene.rules.hook_down_cos)


def made_to_hang(scene: Scene) -> bool:
    """Return whether an opening lies wholly above its centre of mass, in the middle or in what is higher than wide."""
    from scipy.ndimage import binary_fill_holes, find_objects, label

    if not hooked(scene).any():
        return False
    front, wide = scene.view.front, float(scene.size_mm[0])
    tall = float(scene.size_mm[1]) > _TALL * wide
    inside = np.isfinite(front.front_mm)
    openings, _ = label(binary_fill_holes(inside) & ~inside)
    for rows, columns in find_objects(openings):
        low_mm = front.low_mm + rows.start * front.pitch_mm
        middle_mm = front.left_mm + (columns.start + columns.stop) / 2 * front.pitch_mm
        large = (rows.stop - rows.start) * front.pitch_mm > 2 * scene.lift_mm
        if large and low_mm > 0.0 and (tall or abs(middle_mm) < _MIDDLE * wide):
            return True
    return False


def _unhung(scene: Scene) -> float:
    """How well claws suit it: less, at what was made to hang or is heavy above and has a head to hang by."""
    return scene.rules.hung_suits_ratio if made_to_hang(scene) or head_hooks(scene) else 1.0


def compact(scene: Scene) -> bool:
    """Return whether an outline nearly fills its convex hull: a plate or a disc, not a chain or a pair of pliers."""
    from scipy.ndimage import binary_fill_holes
    from scipy.spatial import ConvexHull

    inside = binary_fill_holes(np.isfinite(scene.view.front.front_mm))
    return float(inside.sum()) > _COMPACT * float(ConvexHull(np.argwhere(inside)).volume)


def _flatness(scene: Scene) -> float:
    return float(scene.size_mm[2] / max(float(scene.size_mm[:2].min()), 1e-6))


@dataclass(frozen=True, slots=True)
class EdgeClaws:
    """Two low claws and one or two above."""

    name: str = "edge claws"

    def suits(self, scene: Scene) -> float:
        """Flat things and dishes, seen on their face; after a hook that hides in an opening above their centre."""
        flat = float(np.clip(1.3 - _flatness(scene), 0.0, _MOST))
        return max(flat * lies(scene) * _unhung(scene), _ANYTHING) if claws(scene).sits.any() else 0.0

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Pairs below with pairs above, then with one at the top."""
        return _mounts(scene, self.name, self._sets(scene))

    def _sets(self, scene: Scene) -> Iterator[tuple[tuple[int, ...], str]]:
        found = claws(scene)
        middle, wide = float(scene.low_mm[0] + scene.high_mm[0]) / 2, float(scene.size_mm[0])
        lows = _low_pairs(scene, found, _LOW_AT)
        tops = []
        for share in _TOP_AT:
            want = np.array([middle - share * wide, _edge_y(found, middle - share * wide, wide, lower=False)])
            pair = level_pair(scene, found, want, np.array([-0.35, 0.94]), 0.3)
            if pair is not None and pair not in tops:
                tops.append(pair)
        top = top_claws(scene)[:1]
        for low, above in itertools.product(lows[:2], tops[:2]):
            yield (*low, *above), "two claws carry it from below, two keep it above, none in the middle of its face"
        for low, one in itertools.product(lows, top):
            yield (*low, *one), "two low claws carry it, one at the top keeps it"
        for low, above in itertools.product(lows, tops):
            yield (*low, *above), "two claws carry it from below, two keep it above, none in the middle of its face"


@dataclass(frozen=True, slots=True)
class Bar:
    """Claws under the lower edge, and a pair up the sides."""

    name: str = "bar with claws"

    def suits(self, scene: Scene) -> float:
        """What has a lower edge to stand on a bar."""
        flat = float(np.clip(1.15 - 0.9 * _flatness(scene), 0.0, 0.9))
        return max(flat * lies(scene) * _unhung(scene), _ANYTHING) if claws(scene).sits.any() else 0.0

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Low pairs with pairs at the sides."""
        return _mounts(scene, self.name, self._sets(scene))

    def _sets(self, scene: Scene) -> Iterator[tuple[tuple[int, ...], str]]:
        found = claws(scene)
        sides = side_claws(scene)
        for low, side in itertools.product(_low_pairs(scene, found, (0.30, 0.20, 0.38, 0.12)), sides):
            yield (*low, *side), "it stands on two claws under its lower edge; a pair at the sides keeps it upright"


def top_claws(scene: Scene) -> list[tuple[int, ...]]:
    """Return a claw at the middle of the top, and one over the back where the centre of mass is, where they sit."""
    found, wide = claws(scene), float(scene.size_mm[0])
    middle = float(scene.low_mm[0] + scene.high_mm[0]) / 2
    tops = [pick(scene, found, np.array([x, y]), np.array([0.0, 1.0]), 0.7)
            for x, y in ((middle, float(scene.high_mm[1])), (0.0, _edge_y(found, 0.0, wide, lower=False)))]
    return [(top,) for top, x in dict(zip(tops, (middle, 0.0))).items()
            if top is not None and abs(float(found.points_mm[top, 0]) - x) <= _TOP_ASIDE * wide
            and not off_body(scene, found.edge.points_mm[[top]]).any()]


def back_claws(scene: Scene) -> list[tuple[int, ...]]:
    """Return pairs of claws over the back, both on the body: at shoulders and loins, else nearer together."""
    found = claws(scene)
    body = ~off_body(scene, found.edge.points_mm)
    back = found.sits & body & (found.opening == 0) & (found.outward[:, 1] > _ON_TOP_cos) & \
        (found.sturdy >= scene.rules.sturdy_least_ratio)
    if not back.any():
        return []
    low, high = float(found.points_mm[back, 0].min()), float(found.points_mm[back, 0].max())
    blemish = blemish_mm(scene, found)
    pairs: list[tuple[int, ...]] = []
    for share in _BACK_AT:
        wants = [low + share * (high - low), high - share * (high - low)]
        pair = tuple(place for want in wants if (place := first_bent(
            scene, np.where(back, np.abs(found.points_mm[:, 0] - want) + blemish, np.inf)))
            is not None)
        apart_mm = float(np.ptp(found.points_mm[list(pair), 0])) if len(pair) == 2 else 0.0
        if apart_mm >= _BACK_APART * float(scene.size_mm[0]) and pair not in pairs:
            pairs.append(pair)
    return pairs


def side_claws(scene: Scene, shares: Sequence[float] = _SIDE_AT, *, base: bool = False) -> list[tuple[int, ...]]:
    """Return pairs of claws at the sides, at shares of the height above the middle, those on the body first.

    base  they go to the ends of its base, which may stand out from its body
    """
    found = claws(scene)
    middle_y, high = float(scene.low_mm[1] + scene.high_mm[1]) / 2, float(scene.size_mm[1])
    body = ~off_body(scene, found.edge.points_mm)
    pairs: list[tuple[int, ...]] = []
    for share in shares:
        want = np.array([scene.low_mm[0], middle_y + share * high])
        near = found.sits & (np.abs(found.points_mm[:, 1] - want[1]) < 0.06 * high + 1) & (found.outward[:, 0] < -0.6)
        if not base and (near & body).any():
            near &= body
        if near.any():
            want[0] = float(found.points_mm[near, 0].min())
        pair = level_pair(scene, found, want, np.array([-1.0, 0.0]), 0.6, base=base)
        if pair is not None and pair not in pairs:
            pairs.append(pair)
    return pairs if base else sorted(pairs, key=lambda two: off_body_count(scene, two))


def off_body_count(scene: Scene, chosen: tuple[int, ...]) -> int:
    """Return how many of some claws lie on what stands out from the body."""
    return int(off_body(scene, claws(scene).edge.points_mm[list(chosen)]).sum())


@dataclass(frozen=True, slots=True)
class Spine:
    """A claw or a narrow pair under the lower end, a pair up the sides: for long upright things."""

    name: str = "spine with claws"

    def suits(self, scene: Scene) -> float:
        """Things much higher than wide, better the flatter they are."""
        wide, high, deep = (float(size) for size in scene.size_mm)
        slender, flat = np.clip((high / wide - 1.2) / 1.2, 0.0, 1.0), np.clip((0.85 - deep / wide) / 0.25, 0.0, 1.0)
        fits = float(slender * (0.4 + 0.6 * flat)) * scene.off_base
        return max(fits * _unhung(scene), _ANYTHING) if claws(scene).sits.any() else 0.0

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """One or two below with pairs at the sides."""
        return _mounts(scene, self.name, self._sets(scene))

    def _sets(self, scene: Scene) -> Iterator[tuple[tuple[int, ...], str]]:
        found = claws(scene)
        lows = [*_low_pairs(scene, found, (0.25, 0.15)), *ledge_claws(scene)]
        sides = side_claws(scene)
        for low, side in itertools.product(lows, sides):
            yield (*low, *side), "its end stands on a claw at the foot of a spine; a pair up the sides keeps it there"


def low_claws(scene: Scene) -> list[tuple[int, ...]]:
    """Return pairs of claws under the lower edge."""
    return _low_pairs(scene, claws(scene), _LOW_AT)
