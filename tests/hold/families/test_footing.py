"""How the weight stands: props apart on both sides of the balance point before props side by side. On a slab whose
every place below takes a claw; that two props side by side are a pivot is from memory of the trade.
"""

from __future__ import annotations

import numpy as np
import pytest

from scanprep.hold.families.footing import bunched, footing, standing_well_first
from scanprep.hold.families.probes import claws
from scanprep.hold.families.records import FamilyMount
from scanprep.rules import Rulebook
from tests.hold.families.test_families import scene_of
from tests.shapes import blocks, box

RULES = Rulebook().hold
SLAB = scene_of(box(120, 60, 8, cuts=24))  # 120 mm broad, its balance point in the middle
#: a stem 30 mm broad under a head of 120 mm
TEE = scene_of(blocks("tee", np.array([[[x in (5, 6, 7)] * 2] * 9 + [[True] * 2] * 3 for x in range(13)]),
                      (10.0, 10.0, 5.0), 3))


def low(scene, *across_mm: float):
    """Claws under the lowest edge nearest some places left and right of the balance point."""
    found = claws(scene)
    under = np.flatnonzero(found.sits & (found.outward[:, 1] < -0.9)
                           & (found.points_mm[:, 1] < float(scene.low_mm[1]) + 2.0))
    return [found.contact(scene, int(under[np.abs(found.points_mm[under, 0] - x).argmin()])) for x in across_mm]


@pytest.mark.parametrize(("scene", "across_mm", "is_bunched"), [
    (SLAB, (-40.0, 40.0), False),
    (SLAB, (-10.0, 10.0), True),  # a sixth of its breadth
    (SLAB, (20.0, 50.0), True),  # beside its balance point
    (SLAB, (-50.0, -20.0), True),
    (SLAB, (0.0,), False),  # one piece
    (TEE, (-10.0, 10.0), False),  # of the 30 mm that it stands on
    (TEE, (-2.0, 2.0), True),
])
def test_props_stand_as_far_apart_as_what_is_on_them_is_broad(scene, across_mm, is_bunched):
    props = low(scene, *across_mm)
    assert len({prop.point_mm for prop in props}) == len(across_mm)
    assert bunched(props, scene) is is_bunched


def test_what_hangs_from_two_hooks_close_together_is_not_bunched_but_beside_its_balance_point_it_is():
    # under the head of the tee, 90 mm up, its centre of mass lower
    heavy = scene_of(blocks("tee", np.array([[[x in (5, 6, 7)] * 2] * 14 + [[True] * 2] for x in range(13)]),
                            (10.0, 10.0, 5.0), 3))
    found = claws(heavy)
    under = np.flatnonzero(found.sits & (found.outward[:, 1] < -0.9) & (found.points_mm[:, 1] > 0.0))
    at = {want: found.contact(heavy, int(under[np.abs(found.points_mm[under, 0] - want).argmin()]))
          for want in (-20.0, 20.0, 50.0)}
    assert all(hook.point_mm[1] > 0.0 for hook in at.values())
    assert not bunched([at[-20.0], at[20.0]], heavy)
    assert bunched([at[20.0], at[50.0]], heavy)


def test_mounts_with_bunched_props_come_later_and_suit_less_and_are_kept_where_there_are_no_others():
    def mount(why: str, *across_mm: float) -> FamilyMount:
        return FamilyMount("claws", tuple(low(SLAB, *across_mm)), why)

    near = [mount(f"near {k}", -10.0, 10.0) for k in range(2)]
    far = [mount(f"far {k}", -40.0, 40.0) for k in range(5)]
    assert footing(near[0], SLAB) == RULES.props_bunched_ratio < 1.0 == footing(far[0], SLAB)
    order = [one.why for one in standing_well_first(iter([near[0], far[0], near[1], *far[1:]]), SLAB)]
    assert order == ["far 0", "far 1", "far 2", "far 3", "near 0", "near 1", "far 4"]
    assert [one.why for one in standing_well_first(iter(near), SLAB)] == ["near 0", "near 1"]
