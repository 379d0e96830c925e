"""Where a wire round an object passes within what stands off it: through a handle, between an arm and the body.

      ___
     |   |_        the wire lies on the wall, within the handle,
     |  o| |       where it has room; never over the handle
     |___|_|

Display frame, mm.
"""

from __future__ import annotations

import numpy as np

from scanprep.hold.families.scene import Hit, Scene
from scanprep.hold.places.limbs import limbs_of
from scanprep.vectors import F64

_STEP_mm = 0.5  # tolerance: off the wall, from where it is asked again for its normal


def within_handles(scene: Scene, hit: Hit, origins_mm: F64, inward: F64, centre_mm: F64) -> Hit:
    """Return hits of rays on a wall, those that met a limb moved on to the wall within where a wire has room between.

    origins_mm, inward  (n, 3) the rays
    centre_mm           of the section; the wall is looked for on the rays' own side of it
    """
    turn = scene.view.rotation
    on = np.flatnonzero(hit.met & limbs_of(scene.view.body, scene.rules).near(hit.points_mm @ turn))
    if len(on) == 0:
        return hit
    ray, far = scene.view.body.scene.every_hit(origins_mm[on] @ turn, inward[on] @ turn)
    room_mm = 2 * (scene.lift_mm + scene.rules.arm_clear_mm)
    points, outward = hit.points_mm.copy(), hit.outward.copy()
    for number, place in enumerate(on):
        crossed = np.sort(far[ray == number])[1:]  # from where it leaves the limb
        gaps = np.flatnonzero(np.diff(crossed)[::2] >= room_mm)
        half_mm = float((centre_mm - origins_mm[place]) @ inward[place])
        inner = [float(crossed[2 * gap + 1]) for gap in gaps if crossed[2 * gap + 1] < half_mm]
        if not inner:
            continue
        again = scene.cast(origins_mm[[place]] + (inner[-1] - _STEP_mm) * inward[[place]], inward[[place]])
        if again.met[0]:
            points[place], outward[place] = again.points_mm[0], again.outward[0]
    return Hit(points, outward, hit.met)
