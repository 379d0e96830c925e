"""The damaged-scan bench: eleven solids of closed form, eight kinds of damage, three sizes, cleaned and weighed.

What must hold: the true volume and centre lie inside what is stated for every one; volume within 2 % and centre within
0.5 % of the diagonal for at least 95 % of those that the program does not itself call cut off with nobody knowing how
far; and whatever misses that is told apart by the grade. A missing underside without a piece of the table in the scan
cannot be known in general: a ring's arc and a cup's floor can be guessed, a shorter cylinder looks like a cylinder.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.rays import RayScene
from scanprep.rules import ScanRules
from scanprep.scan.clean import clean
from scanprep.scan.mesh import Grade
from scanprep.survey.capping import capped_body
from scanprep.survey.hollow import seen_thickness_mm, typical_wall_mm
from scanprep.survey.moments import moments
from tests.damage import DAMAGES, damaged
from tests.shapes import (
    Solid,
    bottle,
    bowl,
    box,
    cone,
    cup,
    cylinder,
    ellipsoid,
    l_block,
    medal,
    ring,
    scan_of,
    stool,
)

SIZES_MM = (25.0, 90.0, 300.0)  # diagonals: a seal, a cup, a large jar
FINENESS = (0.5, 1.0, 1.6)  # 1 k to 50 k faces


@dataclass(frozen=True)
class Row:
    """One case: how far off, inside or not, told or not."""

    name: str
    kind: str
    volume_off: float
    centre_off_share: float
    volume_inside: bool
    centre_inside: bool
    told: bool  # graded doubtful
    cut_off: bool  # said to lack what nobody knows

    @property
    def near(self) -> bool:
        """Whether the issue's bounds hold."""
        return abs(self.volume_off) <= 0.02 and self.centre_off_share <= 0.005


def solids(size_mm: float, fine: float) -> list[Solid]:
    """The bench's solids with a given diagonal, away from the origin."""
    def n(count: int) -> int:
        return int(count * fine)

    made = (cup(sides=n(96), bands=n(16)), ring(sides=n(96)), ellipsoid(sides=n(96)), medal(sides=n(128), bands=n(12)),
            box(cuts=n(24)), l_block(cuts=n(10)), bowl(sides=n(96)), bottle(sides=n(96), bands=n(10)),
            cylinder(sides=n(96), bands=n(20)), cone(sides=n(96), bands=n(24)), stool(cuts=n(6)))
    return [s.mapped(np.eye(3) * size_mm / s.diagonal_mm, (3 * size_mm, size_mm, -2 * size_mm)) for s in made]


def weighed(solid: Solid, kind: str) -> Row:
    mesh = damaged(solid, kind)
    cleaned = clean(scan_of(mesh.vertices_mm, mesh.faces, solid.name), ObjectBrief("1"), ScanRules())
    thickness = seen_thickness_mm(cleaned.working, RayScene([(cleaned.working.vertices_mm, cleaned.working.faces)]))
    body = capped_body(cleaned, moments(cleaned.vertices_mm, cleaned.faces), cleaned.vertices_mm,
                       typical_wall_mm(thickness, solid.diagonal_mm))
    off_mm = float(np.linalg.norm(body.centre_mm - solid.centre_mm))
    return Row(solid.name, kind, body.volume_mm3.best / solid.volume_mm3 - 1, off_mm / solid.diagonal_mm,
               body.volume_mm3.contains(solid.volume_mm3), off_mm <= body.floor_mm + body.capping_mm,
               cleaned.grade in (Grade.DOUBTFUL, Grade.UNUSABLE), body.unseen_ends > 0)


@pytest.fixture(scope="module")
def rows() -> list[Row]:
    return [weighed(solid, kind) for size, fine in zip(SIZES_MM, FINENESS, strict=True)
            for solid in solids(size, fine) for kind in DAMAGES]


@pytest.mark.slow
def test_the_truth_is_inside_for_every_case(rows: list[Row]) -> None:
    assert len(rows) == 11 * 8 * 3
    assert [row for row in rows if not (row.volume_inside and row.centre_inside)] == []


@pytest.mark.slow
def test_near_enough_for_95_in_100_of_what_is_said_to_be_known(rows: list[Row]) -> None:
    known = [row for row in rows if not row.cut_off]
    far = [row for row in known if not row.near]
    assert len(known) >= 231  # every kind but the missing underside, and nothing else may hide behind "cannot know"
    assert len(far) <= 0.05 * len(known), far
    # Of all, those that cannot be known included; measured 248 of 264.
    assert sum(row.near for row in rows) >= 0.93 * len(rows)


@pytest.mark.slow
def test_only_a_missing_underside_is_called_unknowable(rows: list[Row]) -> None:
    assert {row.kind for row in rows if row.cut_off} == {"underside-missing"}
    missing = [row for row in rows if row.kind == "underside-missing"]
    assert [row for row in missing if not row.told and row.name in ("stool", "box", "cylinder", "cone")] == []


@pytest.mark.slow
def test_what_is_far_off_is_told(rows: list[Row]) -> None:
    assert [row for row in rows if not row.near and not row.told] == []


@pytest.mark.slow
def test_sound_and_lightly_damaged_scans_are_not_called_doubtful(rows: list[Row]) -> None:
    # A flag that is always up tells nothing: these kinds lose next to nothing.
    light = [row for row in rows if row.kind in ("fragments", "flipped-patches", "seams-and-noise", "soup")]
    assert sum(row.told for row in light) <= 0.05 * len(light), [row for row in light if row.told]


@pytest.mark.slow
@pytest.mark.parametrize("bands", [40, 80])
def test_a_fine_noisy_scan_is_weighed_as_well_as_a_coarse_one(bands: int) -> None:
    # 0.1 and 0.4 million faces: the noise is then as large as a face, and a cut-off rim is all teeth.
    row = weighed(cup(sides=8 * bands, bands=bands), "as-scanned")
    assert abs(row.volume_off) < 0.003 and row.centre_off_share < 0.001
    assert row.volume_inside and row.centre_inside
