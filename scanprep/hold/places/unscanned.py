"""Tips that bear on surface which was not scanned: what cleaning filled is a guess, and so is where a pad lies on it.

An underside that stood on the table, the bottom of a deep hollow, a hole in a poor scan are closed so that the object
can be weighed. A tip may bear there, most bases are as flat as they are filled; but whoever bends the wire must know
it. Scan axes in, display frame for contacts, mm. Used by `find`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scanprep.findings import Finding, Verdict
from scanprep.hold.records import Attitude, Contact, faces_of
from scanprep.rays import RayScene
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey
from scanprep.vectors import F64, I32

_LIES_mm = 0.5  # tolerance: a working mesh lies so near the surface that was filled


def filled_mm(points_mm: F64, working: WorkingMesh) -> F64:
    """Return how far points (n, 3), scan axes, lie from surface that was filled; infinite where none was."""
    if len(working.filled_mm) == 0:
        return np.full(len(points_mm), np.inf)
    corners = working.filled_mm.reshape(-1, 3)
    faces: I32 = np.arange(len(corners), dtype=np.int32).reshape(-1, 3)
    return RayScene([(corners, faces)]).distance_mm(points_mm).astype(np.float64)


def unscanned_findings(contacts: Sequence[Contact], attitude: Attitude, survey: Survey, working: WorkingMesh,
                       subject: str) -> list[Finding]:
    """Return a finding to look at where tips or wires bear on surface that was filled, with those tips; or none."""
    places = [(number, face) for number, contact in enumerate(contacts, start=1) for face in faces_of(contact)]
    points = np.array([face.point_mm for _, face in places]) @ attitude.rotation + np.asarray(survey.centre_of_mass_mm)
    guessed = sorted({number for (number, _), far in zip(places, filled_mm(points, working)) if far <= _LIES_mm})
    if not guessed:
        return []
    which = f"tip {guessed[0]} bears" if len(guessed) == 1 else f"tips {', '.join(map(str, guessed))} bear"
    return [Finding("tip-unscanned", subject, Verdict.LOOK,
                    f"{subject}: {which} on surface that was not scanned but filled: what is there is a guess",
                    "Scan that side too (turn the object over); else look at it before the wire is bent, and fit "
                    f"{'that tip' if len(guessed) == 1 else 'those tips'} by feel on the object", float(len(guessed)),
                    0.0, "tips")]
