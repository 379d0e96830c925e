"""Which way is up: by evidence in order, right wherever it says sure, asking otherwise.

The classic error is to take the likeliest rest: then cups, bottles and figures are planned lying down.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import scanprep_samples

from scanprep.files.checklist import read_checklist
from scanprep.files.meshes import load_scan
from scanprep.scan.clean import clean
from scanprep.settings import Settings
from scanprep.survey import Survey, survey_object
from scanprep.vectors import F64, Vec3, rotation_about, rotation_to
from scanprep.wish import ObjectWish
from tests.shapes import (
    Solid,
    all_solids,
    ball,
    bottle,
    bowl,
    box,
    cleaned_of,
    cup,
    cylinder,
    frame,
    medal,
    ring,
    spindle,
    stool,
)

SETTINGS = Settings()
FOLDER = Path(scanprep_samples.__file__).parent
SKEW = rotation_about((0.7, -0.2, 0.4), 143.0)  # no file axis helps after this turn


def surveyed(solid: Solid, turn: F64 | None = None, up: Vec3 | None = None, up_axis: str | None = None) -> Survey:
    moved = solid if turn is None else solid.mapped(turn, (40, -90, 15))
    return survey_object(cleaned_of(moved, up_axis=up_axis), ObjectWish("1", material="ivory", up=up), SETTINGS)


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
    asked = survey_object(cleaned_of(box()), ObjectWish("1", up=(0, 1, 0), front=(1.0, 0.3, 0.0)), SETTINGS)
    np.testing.assert_allclose(asked.front, [1, 0, 0], atol=1e-9)  # made level


@pytest.mark.slow
def test_demo_without_the_checklists_up_is_right_where_sure_and_asks_elsewhere() -> None:
    """Truth: the invented objects' makers (truth.json). A die has six equal bases and asks; so does a toy on hoofs."""
    truth = json.loads((FOLDER / "truth.json").read_text(encoding="utf-8"))
    told, asked = [], []
    for wish in read_checklist(FOLDER / "checklist.csv"):
        bare = replace(wish, up=None, front=None)
        survey = survey_object(clean(load_scan(FOLDER / wish.scan, bare, SETTINGS.scan), bare, SETTINGS.scan), bare,
                               SETTINGS)
        facts = truth[wish.number]
        if survey.upright.sure:
            told.append(wish.number)
            assert off_deg(survey.upright.up, np.array(facts["up"])) < 3, wish.number
            assert facts["stands"], wish.number
        elif facts["stands"]:
            asked.append(facts["kind"])
    assert len(told) >= 12
    assert sorted(asked) in (["animal figure", "die"], ["die"])
