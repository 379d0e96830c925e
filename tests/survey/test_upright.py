"""Which way is up: by evidence in order, right wherever it says sure, asking otherwise.

The classic error is to take the likeliest rest: then cups, bottles and figures are planned lying down.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.rules import Rulebook
from scanprep.scan.clean import clean
from scanprep.survey import Survey, survey_object
from scanprep.vectors import F64, Vec3, rotation_about, rotation_to
from tests.damage import damaged
from tests.shapes import (
    Solid,
    all_solids,
    ball,
    bottle,
    bowl,
    box,
    cleaned_of,
    cone,
    cup,
    cylinder,
    frame,
    medal,
    ring,
    scan_of,
    spindle,
    stool,
)

SETTINGS = Rulebook()
SKEW = rotation_about((0.7, -0.2, 0.4), 143.0)  # no file axis helps after this turn


def surveyed(solid: Solid, turn: F64 | None = None, up: Vec3 | None = None, up_axis: str | None = None) -> Survey:
    moved = solid if turn is None else solid.mapped(turn, (40, -90, 15))
    return survey_object(cleaned_of(moved, up_axis=up_axis), ObjectBrief("1", material="ivory", up=up), SETTINGS)


def off_deg(found: Vec3, truth: F64) -> float:
    return float(np.degrees(np.arccos(np.clip(np.dot(found, truth), -1, 1))))


@pytest.mark.parametrize("solid", [cup(), bowl(), bottle()], ids=lambda s: s.name)
def test_vessels_stand_though_they_mostly_fall_on_their_side(solid: Solid) -> None:
    found = surveyed(solid, SKEW)
    assert abs(float(np.dot(found.rests[0].up, SKEW @ [0, 1, 0]))) < 0.9  # the likeliest rest is not upright
    assert found.upright.sure
    assert off_deg(found.upright.up, SKEW @ np.array([0.0, 1, 0])) < 1


def test_what_the_checklist_says_wins_over_all() -> None:
    found = surveyed(cup(), up=(0.0, -1.0, 0.0))
    assert found.upright.sure and found.upright.reason == "the checklist says so"
    assert off_deg(found.upright.up, np.array([0.0, -1, 0])) < 0.1


def test_said_up_need_not_be_a_rest() -> None:
    found = surveyed(spindle(), up=(0.0, 1.0, 0.0))
    assert found.upright.sure and found.upright.rest is None
    assert found.footprint.kind == "none" and found.footprint.area_mm2 == 0
    assert found.size_mm[1] == pytest.approx(160, abs=0.1)


def test_the_files_up_axis_counts_where_a_base_lies_there() -> None:
    along_z = rotation_about((1, 0, 0), 90)
    assert surveyed(cylinder(), along_z).upright.up[2] > 0.999
    assert surveyed(cylinder(), up_axis="y").upright.sure
    lying = surveyed(cylinder(), along_z, up_axis="y")  # the file says y, but a side lies there
    assert lying.upright.up[1] < 0.5


def test_many_bases_or_none_ask() -> None:
    for solid in (box(60, 50, 55), ball(), spindle(), stool()):
        found = surveyed(solid, SKEW)
        assert not found.upright.sure, solid.name
        assert "which-way-up" in {finding.code for finding in found.findings}


@pytest.mark.parametrize("solid", [medal(), frame(), ring()], ids=lambda s: s.name)
def test_flat_things_lying_down_ask_which_edge_is_up(solid: Solid) -> None:
    down = rotation_to(np.array([0.0, 0, 1]), np.array([0.0, 1, 0]))  # the frame is made standing
    assert not surveyed(solid, down if solid.name == "frame" else None).upright.sure


def test_footprint_kinds() -> None:
    assert surveyed(bottle()).footprint.kind == "flat"
    assert surveyed(bowl()).footprint.kind == "ring"
    assert surveyed(stool(), up=(0.0, 1.0, 0.0)).footprint.kind == "feet"
    assert surveyed(stool(), up=(0.0, 1.0, 0.0)).footprint.area_mm2 == pytest.approx(2500, rel=1e-3)  # 50 x 50
    found = surveyed(bowl()).footprint
    assert found.area_mm2 == pytest.approx(np.pi * 22**2, rel=0.01)  # the foot's outer edge, 96 sides
    assert found.tip_angle_deg == pytest.approx(np.degrees(np.arctan2(22, 35.17)), abs=0.5)


def test_front_lies_in_the_mirror_plane_and_handles_go_to_the_side() -> None:
    for solid in all_solids():
        found = surveyed(solid)
        assert abs(float(np.dot(found.front, found.upright.up))) < 1e-9, solid.name
    asked = survey_object(cleaned_of(box()), ObjectBrief("1", up=(0, 1, 0), front=(1.0, 0.3, 0.0)), SETTINGS)
    np.testing.assert_allclose(asked.front, [1, 0, 0], atol=1e-9)  # made level


def test_two_lugs_stand_to_the_sides_and_one_handle_to_the_right() -> None:
    # A pot of radius 30 and height 50; lugs of 12 mm on both sides, or one of 20, in a direction no axis has.
    pot, way = cylinder(30, 50, sides=96), rotation_about((0.0, 1.0, 0.0), 52.0)
    lug = box(12, 14, 16).mapped(np.eye(3), (28.0, 18.0, -8.0))
    other = lug.mapped(np.diag([-1.0, 1.0, -1.0]))
    handle = box(20, 20, 14).mapped(np.eye(3), (28.0, 18.0, -7.0))
    mortar = survey_object(cleaned_of(together(pot, lug, other).mapped(way)), ObjectBrief("1", up=(0, 1, 0)), SETTINGS)
    assert abs(float(np.dot(mortar.front, way @ [0, 0, 1]))) > np.cos(np.radians(3))
    assert "lugs" in mortar.front_reason
    mug = survey_object(cleaned_of(together(pot, handle).mapped(way)), ObjectBrief("1", up=(0, 1, 0)), SETTINGS)
    assert off_deg(mug.front, way @ np.array([0.0, 0, 1])) < 3  # the handle at +x is to the right of who looks along -z
    assert "handle" in mug.front_reason


def together(*solids: Solid) -> Solid:
    """Solids as one mesh; its figures are the first one's, which fronts do not ask."""
    starts = np.cumsum([0, *(len(solid.vertices_mm) for solid in solids)])
    faces = np.vstack([solid.faces + start for solid, start in zip(solids, starts, strict=False)]).astype(np.int32)
    return replace(solids[0], vertices_mm=np.vstack([solid.vertices_mm for solid in solids]), faces=faces)


def test_the_table_seen_under_it_says_which_way_is_up() -> None:
    # Askew, a stool asks; with a piece of the table in the scan it stood on that.
    solid = stool(cuts=6)
    mesh = damaged(solid, "turntable-piece")
    scan = scan_of(mesh.vertices_mm @ SKEW.T, mesh.faces)
    found = survey_object(clean(scan, ObjectBrief("1"), SETTINGS.scan), ObjectBrief("1", material="ivory"), SETTINGS)
    assert found.upright.sure and "table" in found.upright.reason
    assert off_deg(found.upright.up, SKEW @ np.array([0.0, 1, 0])) < 1


def test_a_drum_with_an_open_end_asks_and_a_cone_stands_on_its_unseen_underside() -> None:
    def open_below(solid: Solid) -> Survey:
        middles = solid.vertices_mm[solid.faces].mean(axis=1)
        scan = scan_of(solid.vertices_mm @ SKEW.T, solid.faces[middles[:, 1] > 0.5])
        brief = ObjectBrief("1", material="ivory")
        return survey_object(clean(scan, brief, SETTINGS.scan), brief, SETTINGS)

    assert not open_below(cylinder()).upright.sure  # the open end may be a mouth
    stands = open_below(cone()).upright
    assert stands.sure and off_deg(stands.up, SKEW @ np.array([0.0, 1, 0])) < 1
