"""Twelve real scans, read and cleaned: counts and volumes another library found, published sizes, closed results.

Counts of faces and of distinct places, and signed volumes of the closed ones, are those of manifest.csv beside the
scans (taken with a general mesh library). Published sizes: YCB Object and Model Set (Calli et al. 2015), from memory of
the paper as the manifest says; scans run 1 to 5 % large (same manifest), hence the tolerance.
"""

from __future__ import annotations

import numpy as np
import pytest

from scanprep.files.meshes import load_scan, read_mesh
from scanprep.rules import ScanRules
from scanprep.scan.clean import clean
from scanprep.scan.edges import face_sizes, find_edges
from scanprep.scan.mesh import Grade
from tests.scans import REASON, ROOT, SCANS, RealScan

pytestmark = [pytest.mark.scans, pytest.mark.skipif(not ROOT.is_dir(), reason=REASON)]

SETTINGS = ScanRules()
#: Scan -> faces, distinct places, signed volume in file units of those that are closed as they came.
REFERENCE = {
    "ggg_plasticVase": (35708, 18238, None), "os_cat": (15894, 7949, 1.9817), "os_demosthenes": (16719, 8394, None),
    "os_goathead": (5522, 2763, 421.74), "os_pizza": (49954, 24916, None), "pr_pitcher": (79366, 40415, None),
    "tm_fuze": (1000, 502, 0.00060669), "ycb_a_cups": (16384, 8190, 2.3348e-05), "ycb_bowl": (16384, 8191, None),
    "ycb_padlock": (16384, 8194, 4.5702e-05), "ycb_scissors": (16384, 8188, 4.6801e-05),
    "ycb_tomato_soup_can": (16384, 8177, None),
}
#: Published sizes in mm, least first.
PUBLISHED = {"ycb_a_cups": (55, 55, 60), "ycb_bowl": (53, 159, 159), "ycb_scissors": (14, 87, 200),
             "ycb_tomato_soup_can": (66, 66, 101)}


@pytest.mark.parametrize("scan", SCANS, ids=lambda scan: scan.name)
def test_read_as_another_library_reads_them(scan: RealScan) -> None:
    mesh = read_mesh(scan.path)
    faces, places, volume = REFERENCE[scan.name]
    assert len(mesh.faces) == faces
    # The reference joined places nearer than 1e-8 of a unit: no more than are exactly equal, no fewer than on a lattice
    joined = len(np.unique(np.round(mesh.vertices / 1e-8), axis=0))
    assert joined - 4 <= places <= len(np.unique(mesh.vertices, axis=0)) + 4
    if volume is not None:
        # Five figures stand in the manifest
        assert face_sizes(mesh.vertices, mesh.faces, mesh.vertices[0])[1].sum() == pytest.approx(volume, rel=5e-5)


@pytest.mark.parametrize("scan", SCANS, ids=lambda scan: scan.name)
def test_come_out_closed_and_two_sided(scan: RealScan) -> None:
    cleaned = clean(load_scan(scan.path, scan.brief, SETTINGS), scan.brief, SETTINGS)
    whole = find_edges(cleaned.faces, len(cleaned.vertices_mm))
    working = find_edges(cleaned.working.faces, len(cleaned.working.vertices_mm))
    assert len(whole.single) == len(working.single) == 0
    assert working.crowded == 0
    assert bool(working.agrees.all())
    assert cleaned.grade is not Grade.UNUSABLE
    assert len(cleaned.working.faces) <= 1.05 * SETTINGS.working_faces
    if scan.sound:
        assert cleaned.grade is Grade.SOUND
    else:
        assert cleaned.receipt


@pytest.mark.parametrize("name", PUBLISHED)
def test_sizes_are_the_published_ones(name: str) -> None:
    scan = next(each for each in SCANS if each.name == name)
    cleaned = clean(load_scan(scan.path, scan.brief, SETTINGS), scan.brief, SETTINGS)
    centred = cleaned.vertices_mm - cleaned.vertices_mm.mean(axis=0)
    if name == "ycb_scissors":  # lies at a slant in its axes
        _, axes = np.linalg.eigh(np.cov(centred.T))
        centred = centred @ axes
    tolerance = 0.13 if name == "ycb_scissors" else 0.05  # thin blades come out 12 % too thick in this scan
    assert sorted(np.ptp(centred, axis=0)) == pytest.approx(PUBLISHED[name], rel=tolerance)


@pytest.mark.parametrize("name", ["ycb_a_cups", "ycb_bowl", "ycb_scissors", "ycb_tomato_soup_can", "tm_fuze"])
def test_textures_are_found_in_spite_of_stray_spaces(name: str) -> None:
    scan = next(each for each in SCANS if each.name == name)
    mesh = read_mesh(scan.path)
    assert mesh.colours is not None
    assert mesh.notes == ()
    assert float(mesh.colours.std(axis=0).max()) > 10  # a picture, not one colour
