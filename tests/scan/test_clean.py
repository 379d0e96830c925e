"""Cleaning against solids of closed form, whole and damaged."""

from __future__ import annotations

import numpy as np
import pytest

from scanprep.brief import ObjectBrief
from scanprep.rules import ScanRules
from scanprep.scan.clean import clean
from scanprep.scan.edges import face_sizes, find_edges
from scanprep.scan.mesh import Cleaned, Grade
from tests.shapes import Solid, all_solids, ball, box, cup, cylinder, ring, scan_of

SETTINGS = ScanRules()
WISH = ObjectBrief("1")


def volume_of(cleaned: Cleaned) -> float:
    return float(face_sizes(cleaned.vertices_mm, cleaned.faces, cleaned.vertices_mm.mean(axis=0))[1].sum())


def kinds(cleaned: Cleaned) -> set[str]:
    return {repair.kind for repair in cleaned.receipt}


@pytest.mark.parametrize("solid", all_solids(), ids=lambda solid: solid.name)
def test_a_sound_solid_is_left_as_it_is(solid: Solid) -> None:
    cleaned = clean(scan_of(solid.vertices_mm, solid.faces), WISH, SETTINGS)
    assert cleaned.grade is Grade.SOUND
    assert cleaned.receipt == ()
    assert volume_of(cleaned) == pytest.approx(solid.volume_mm3, rel=1e-9)


def test_every_face_turned_over_is_turned_back() -> None:
    solid = cup()
    rng = np.random.default_rng(3)
    faces = solid.faces.copy()
    over = rng.random(len(faces)) < 0.4
    faces[over] = faces[over][:, ::-1]
    cleaned = clean(scan_of(solid.vertices_mm, faces), WISH, SETTINGS)
    assert volume_of(cleaned) == pytest.approx(solid.volume_mm3, rel=1e-12)
    assert "orient" in kinds(cleaned)


def test_seam_duplicates_are_joined() -> None:
    solid = ball()
    soup = solid.vertices_mm[solid.faces].reshape(-1, 3)
    cleaned = clean(scan_of(soup, np.arange(len(soup)).reshape(-1, 3)), WISH, SETTINGS)
    assert kinds(cleaned) == {"weld"}
    assert len(cleaned.vertices_mm) == len(solid.vertices_mm)
    assert volume_of(cleaned) == pytest.approx(solid.volume_mm3, rel=1e-12)


def test_a_flat_hole_is_closed_exactly() -> None:
    solid = cylinder()
    centre = solid.vertices_mm[solid.faces].mean(axis=1)
    faces = solid.faces[centre[:, 1] > 1e-6]  # the whole base is gone
    cleaned = clean(scan_of(solid.vertices_mm, faces), WISH, SETTINGS)
    assert volume_of(cleaned) == pytest.approx(solid.volume_mm3, rel=1e-9)
    assert len(cleaned.loops) == 1
    # n/2 sin(2 pi/n) r^2: the regular polygon the base is
    assert cleaned.loops[0].area_mm2 == pytest.approx(64 / 2 * np.sin(2 * np.pi / 64) * 20**2, rel=1e-9)
    assert cleaned.faces[-cleaned.cap_faces:].max() < len(cleaned.vertices_mm)


def test_volume_does_not_depend_on_the_origin() -> None:
    solid = cup()
    centre = solid.vertices_mm[solid.faces].mean(axis=1)
    faces = solid.faces[centre[:, 1] > 3]
    near = volume_of(clean(scan_of(solid.vertices_mm, faces), WISH, SETTINGS))
    far = volume_of(clean(scan_of(solid.vertices_mm + 5.6e6, faces), WISH, SETTINGS))
    assert far == pytest.approx(near, rel=1e-7)


def test_fragments_and_table_are_dropped_and_told() -> None:
    solid = box()
    table = np.array([[-90, 0, -90], [-30, 0, -90], [-30, 0, -30], [-90, 0, -30]], float)
    scrap = np.array([[200, 90, 0], [203, 90, 0], [200, 93, 0]], float)
    vertices = np.concatenate([solid.vertices_mm, table, scrap])
    n = len(solid.vertices_mm)
    faces = np.concatenate([solid.faces, [[n, n + 1, n + 2], [n, n + 2, n + 3], [n + 4, n + 5, n + 6]]])
    cleaned = clean(scan_of(vertices, faces), WISH, SETTINGS)
    assert kinds(cleaned) == {"drop-table", "drop-fragment"}
    assert volume_of(cleaned) == pytest.approx(solid.volume_mm3, rel=1e-12)


def test_two_pieces_are_kept_only_when_the_checklist_says_so() -> None:
    lid, jar = ball(8), cylinder()
    vertices = np.concatenate([jar.vertices_mm, lid.vertices_mm + np.array([0.0, 90, 0])])
    faces = np.concatenate([jar.faces, lid.faces + len(jar.vertices_mm)])
    one = clean(scan_of(vertices, faces), WISH, SETTINGS)
    assert volume_of(one) == pytest.approx(jar.volume_mm3, rel=1e-9)
    assert [finding.code for finding in one.findings] == ["separate-body"]
    both = clean(scan_of(vertices, faces), ObjectBrief("1", pieces=2), SETTINGS)
    assert volume_of(both) == pytest.approx(jar.volume_mm3 + lid.volume_mm3, rel=1e-9)
    assert both.bodies == 2


@pytest.mark.parametrize("wound_outward", [True, False])
def test_an_inner_shell_is_a_hollow_whatever_its_winding(wound_outward: bool) -> None:
    outer, inner = ball(30), ball(25)
    inner_faces = inner.faces if wound_outward else inner.faces[:, ::-1]
    vertices = np.concatenate([outer.vertices_mm, inner.vertices_mm])
    cleaned = clean(scan_of(vertices, np.concatenate([outer.faces, inner_faces + len(outer.vertices_mm)])), WISH,
                    SETTINGS)
    assert volume_of(cleaned) == pytest.approx(outer.volume_mm3 - inner.volume_mm3, rel=1e-9)
    assert "inner-shell" in {finding.code for finding in cleaned.findings}


def test_the_working_mesh_is_closed_and_small() -> None:
    solid = cup(sides=256, bands=64)
    assert len(solid.faces) > 60_000
    cleaned = clean(scan_of(solid.vertices_mm, solid.faces), WISH, SETTINGS)
    working = cleaned.working
    edges = find_edges(working.faces, len(working.vertices_mm))
    assert len(edges.single) == 0
    assert edges.crowded == 0
    assert bool(edges.agrees.all())
    assert len(working.faces) <= 1.05 * SETTINGS.working_faces
    volume = face_sizes(working.vertices_mm, working.faces, working.vertices_mm.mean(axis=0))[1].sum()
    assert volume == pytest.approx(solid.volume_mm3, rel=2e-3)


def two_sided_everywhere(vertices: np.ndarray, faces: np.ndarray) -> bool:
    edges = find_edges(faces, len(vertices))
    return len(edges.single) == 0 and edges.crowded == 0 and bool(edges.agrees.all())


def test_blocks_that_touch_along_an_edge_come_apart_in_the_working_mesh() -> None:
    # Two cubes of one diagonal: four faces meet at the shared edge, yet the surface is closed
    one = box(10, 10, 10, cuts=2)
    vertices = np.concatenate([one.vertices_mm, one.vertices_mm + np.array([10.0, 10.0, 0.0])])
    faces = np.concatenate([one.faces, one.faces + len(one.vertices_mm)])
    cleaned = clean(scan_of(vertices, faces), WISH, SETTINGS)
    assert volume_of(cleaned) == pytest.approx(2 * one.volume_mm3, rel=1e-12)
    assert two_sided_everywhere(cleaned.working.vertices_mm, cleaned.working.faces)


def test_back_to_back_faces_cancel() -> None:
    solid = box()
    fin = np.array([solid.faces[0], solid.faces[0][::-1]])
    cleaned = clean(scan_of(solid.vertices_mm, np.concatenate([solid.faces, fin])), WISH, SETTINGS)
    assert volume_of(cleaned) == pytest.approx(solid.volume_mm3, rel=1e-12)
    assert cleaned.cap_faces == 0


def test_a_very_fine_scan_is_thinned_without_losing_its_handle() -> None:
    solid = ring(sides=800)
    assert len(solid.faces) > 600_000
    cleaned = clean(scan_of(solid.vertices_mm, solid.faces), WISH, SETTINGS)
    working = cleaned.working
    assert two_sided_everywhere(working.vertices_mm, working.faces)
    # Euler: V - E + F = 0 for a torus, with E = 3 F / 2
    assert len(working.vertices_mm) - len(working.faces) // 2 == 0
    volume = face_sizes(working.vertices_mm, working.faces, working.vertices_mm.mean(axis=0))[1].sum()
    # 20 k faces on a torus of 12,436 mm2: edges near 1.2 mm on a 9 mm tube, sagitta 0.02 mm
    assert volume == pytest.approx(solid.volume_mm3, rel=3e-3)


def test_doubled_faces_are_dropped_whichever_way_they_run() -> None:
    solid = ball()
    rng = np.random.default_rng(11)
    extra = solid.faces[rng.choice(len(solid.faces), 40, replace=False)]
    extra = np.where(rng.random(40)[:, None] < 0.5, extra, extra[:, ::-1])
    cleaned = clean(scan_of(solid.vertices_mm, np.concatenate([solid.faces, extra])), WISH, SETTINGS)
    assert volume_of(cleaned) == pytest.approx(solid.volume_mm3, rel=1e-12)
    assert cleaned.cap_faces == 0


def test_a_fold_that_encloses_nothing_goes() -> None:
    # Two back-to-back faces hanging on one edge of the surface
    solid = box()
    a, b, _ = solid.faces[10]
    tip = len(solid.vertices_mm)
    vertices = np.concatenate([solid.vertices_mm, [[200.0, 10.0, 5.0]]])
    faces = np.concatenate([solid.faces, [[a, b, tip], [tip, b, a]]])
    cleaned = clean(scan_of(vertices, faces), WISH, SETTINGS)
    assert volume_of(cleaned) == pytest.approx(solid.volume_mm3, rel=1e-12)
    assert float(cleaned.vertices_mm[:, 0].max()) < 199
    assert cleaned.cap_faces == 0

