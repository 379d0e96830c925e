"""Whether a hold keeps off what nobody may touch: a mark painted after it was chosen stands before the choice.

Takes a hold in its display frame and the object's no-touch regions in scan axes, mm. Used where a chosen hold is read
from the record; the search keeps off them by itself.
"""

from __future__ import annotations

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.findings import Finding, Verdict
from scanprep.hold.places.spots import allowed
from scanprep.hold.records import Face, Hold
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey


def touched_no_touch(hold: Hold, brief: ObjectBrief, survey: Survey, working: WorkingMesh) -> tuple[Finding, ...]:
    """Return a stop for each no-touch region that a tip's pad reaches into."""
    if not brief.no_touch or not hold.tips:
        return ()
    places = [(number, face) for number, tip in enumerate(hold.tips, start=1)
              for face in tip.faces or (Face(tip.point_mm, tip.normal, tip.force_limit_N, tip.pad_radius_mm),)]
    points = np.array([face.point_mm for _, face in places], dtype=np.float64) @ hold.attitude.rotation
    radii = np.array([face.radius_mm for _, face in places], dtype=np.float64)
    reached: dict[str, list[int]] = {}
    for region in brief.no_touch:
        alone = ObjectBrief(brief.number, no_touch=(region,))
        for (number, _), clear in zip(places, allowed(points, radii, alone, survey, working), strict=True):
            if not clear and number not in reached.setdefault(region.why or "what nobody may touch", []):
                reached[region.why or "what nobody may touch"].append(number)
    subject = f"object {brief.number}"
    return tuple(Finding(
        "hold-touches-no-touch", subject, Verdict.STOP,
        f"{subject}: tip{'s' * (len(tips) > 1)} {' and '.join(map(str, sorted(tips)))} of its hold touch"
        f"{'es' * (len(tips) == 1)} {why}, where nothing may touch",
        "Choose another hold, or let the conservator take that mark away")
        for why, tips in reached.items() if tips)
