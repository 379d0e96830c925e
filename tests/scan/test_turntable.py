"""Tables grown together with the object, and flat things that must not be taken for one."""

from __future__ import annotations

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.rules import ScanRules
from scanprep.scan.clean import clean
from scanprep.scan.edges import face_sizes
from scanprep.scan.mesh import Cleaned
from scanprep.vectors import F64, I32
from tests.damage import damaged
from tests.shapes import Solid, bottle, box, cup, cylinder, medal, revolved, scan_of

SETTINGS = ScanRules()
WISH = ObjectBrief("1")


def volume_of(cleaned: Cleaned) -> float:
    return float(face_sizes(cleaned.vertices_mm, cleaned.faces, cleaned.vertices_mm.mean(axis=0))[1].sum())


def bar_on_table(radius_mm: float = 20.0, height_mm: float = 60.0, reach_mm: float = 55.0) -> tuple[F64, I32]:
    """A round bar and a round table scanned as one surface: the bar's base is not there, the table's top is."""
    whole = revolved("bar on table", [(0, 0), (reach_mm, 0), (reach_mm, 1e-3), (radius_mm, 1e-3),
                                      (radius_mm, height_mm), (0, height_mm)], 64, 12)
    middles = whole.vertices_mm[whole.faces].mean(axis=1)
    return whole.vertices_mm, whole.faces[middles[:, 1] > 0.9999e-3]


def test_a_grown_on_table_is_cut_off() -> None:
    vertices, faces = bar_on_table()
    cleaned = clean(scan_of(vertices, faces), WISH, SETTINGS)
    # 64-gon prism: n/2 sin(2 pi/n) r^2 h
    assert volume_of(cleaned) == pytest.approx(64 / 2 * np.sin(2 * np.pi / 64) * 20**2 * 60, rel=1e-3)
    assert "cut-turntable" in {repair.kind for repair in cleaned.receipt}
    assert "table-cut" in {finding.code for finding in cleaned.findings}
    assert cleaned.support is not None
    assert cleaned.support.seen
    assert cleaned.support.down == pytest.approx((0, -1, 0), abs=1e-6)


@pytest.mark.parametrize("noise_mm", [0.02, 0.05])
def test_a_grown_on_table_with_noise_and_a_slant_is_cut_off(noise_mm: float) -> None:
    vertices, faces = bar_on_table()
    turned = vertices @ np.array([[0.36, 0.48, -0.8], [-0.8, 0.6, 0.0], [0.48, 0.64, 0.6]])
    noisy = turned + np.random.default_rng(5).normal(0, noise_mm, vertices.shape)
    cleaned = clean(scan_of(noisy, faces), WISH, SETTINGS)
    assert volume_of(cleaned) == pytest.approx(64 / 2 * np.sin(2 * np.pi / 64) * 20**2 * 60, rel=0.01)
    assert "cut-turntable" in {repair.kind for repair in cleaned.receipt}


def without(solid: Solid, below_mm: float) -> tuple[F64, I32]:
    middles = solid.vertices_mm[solid.faces].mean(axis=1)
    return solid.vertices_mm, solid.faces[middles[:, 1] > below_mm]


@pytest.mark.parametrize("solid", [cylinder(), cup(), bottle(), box()], ids=lambda solid: solid.name)
def test_a_missing_underside_is_no_table(solid: Solid) -> None:
    cleaned = clean(scan_of(*without(solid, 0.5)), WISH, SETTINGS)
    assert "cut-turntable" not in {repair.kind for repair in cleaned.receipt}


def test_the_level_floor_of_a_shallow_dish_is_no_table() -> None:
    dish = revolved("dish", [(0, 0), (100, 0), (100, 12), (99, 12), (99, 0.6), (0, 0.6)], 96, 12)
    cleaned = clean(scan_of(*without(dish, 0.05)), WISH, SETTINGS)
    assert "cut-turntable" not in {repair.kind for repair in cleaned.receipt}
    assert volume_of(cleaned) == pytest.approx(dish.volume_mm3, rel=1e-6)


def test_a_relief_seen_from_the_front_only_keeps_its_field() -> None:
    # A medal's face: a level field 60 across with a 2 mm boss; no edge, no back
    face = revolved("relief", [(0, -1), (30, -1), (30, 0), (15, 0), (10, 2), (0, 2)], 96, 12)
    cleaned = clean(scan_of(*without(face, -0.4)), WISH, SETTINGS)
    assert "cut-turntable" not in {repair.kind for repair in cleaned.receipt}


@pytest.mark.parametrize("solid", [medal(), cylinder(), bottle()], ids=lambda solid: solid.name)
@pytest.mark.parametrize("kind", ["turntable-piece", "as-scanned"])
def test_a_loose_piece_of_the_table_gives_the_support_plane(solid: Solid, kind: str) -> None:
    mesh = damaged(solid, kind)
    cleaned = clean(scan_of(mesh.vertices_mm, mesh.faces), WISH, SETTINGS)
    assert "drop-table" in {repair.kind for repair in cleaned.receipt}
    assert cleaned.support is not None
    assert cleaned.support.seen
    assert np.asarray(cleaned.support.down) @ [0, -1, 0] > 0.9999
    # Noise of 0.02 % of the diagonal on the table; its plane is a mean over hundreds of points
    assert cleaned.support.place_mm == pytest.approx(0.0, abs=1e-3 * solid.diagonal_mm)


def test_the_slice_under_a_straight_bar_is_the_prism_to_the_table() -> None:
    solid = cylinder()
    mesh = damaged(solid, "turntable-piece")
    cleaned = clean(scan_of(mesh.vertices_mm, mesh.faces), WISH, SETTINGS)
    missing = sum(loop.slice_mm3 for loop in cleaned.loops)
    assert volume_of(cleaned) + missing == pytest.approx(solid.volume_mm3, rel=1e-6)
