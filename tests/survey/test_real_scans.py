"""Real scanned things against what was published of them. Skipped where the scans are not beside the project.

Scans and sizes: YCB Object and Model Set (Calli et al., "Benchmarking in manipulation research", IEEE Robotics and
Automation Magazine 22(3), 2015; object list with masses; sizes as the scans' manifest quotes them, from memory of the
paper), CC BY 4.0; pitcher: Personal Robotics Lab, BSD; bottle: MIT; vase: GGG-BenchmarkSfM, CC BY 4.0; cat, bust and
pizza CC BY 4.0; goat head CC BY 3.0. Upright by looking at them.
"""

from __future__ import annotations

import functools

import numpy as np
import pytest

from scanprep.brief import KnownSize, ObjectBrief
from scanprep.files.meshes import load_scan
from scanprep.rules import Rulebook
from scanprep.scan.clean import clean
from scanprep.survey import Survey, survey_object
from tests.scans import REASON, ROOT

pytestmark = [pytest.mark.scans, pytest.mark.skipif(not ROOT.is_dir(), reason=REASON)]
LONGEST = (KnownSize("longest", 100.0),)  # scans in arbitrary units are taken as 100 mm long


@functools.cache
def surveyed(file: str, unit: str | None, material: str | None = None, mass_g: float | None = None) -> Survey:
    brief = ObjectBrief("1", unit=unit, sizes=() if unit else LONGEST, material=material, mass_g=mass_g)
    rules = Rulebook()
    return survey_object(clean(load_scan(ROOT / file, brief, rules.scan), brief, rules.scan), brief, rules)


@pytest.mark.parametrize(("file", "published_mm", "wide"), [
    ("ycb_a_cups/textured.obj", (55, 60), 0.05),
    ("ycb_bowl/textured.obj", (159, 53), 0.05),
    ("ycb_tomato_soup_can/textured.obj", (66, 101), 0.05),
])
def test_published_diameter_and_height(file: str, published_mm: tuple[float, float], wide: float) -> None:
    # Boxes of these scans are known to be 1-5 % too large (trial on the set), so 5 % is what they can show.
    found = surveyed(file, "m")
    assert max(found.size_mm[0], found.size_mm[2]) == pytest.approx(published_mm[0], rel=wide)
    assert found.size_mm[1] == pytest.approx(published_mm[1], rel=wide)


def test_published_length_and_width_of_the_scissors() -> None:
    found = surveyed("ycb_scissors/textured.obj", "m")  # published 87 x 200 x 14; the thin side is fattened by the scan
    lengths = sorted(found.size_mm)
    assert lengths[2] == pytest.approx(200, rel=0.02)
    assert lengths[1] == pytest.approx(87, rel=0.02)
    assert lengths[0] > 14


@pytest.mark.parametrize(("file", "material", "published_g"), [
    ("ycb_a_cups/textured.obj", "plastic", 13.0),  # walls fattened: the scan holds more than twice as much
    ("ycb_bowl/textured.obj", "wrought iron", 147.0),  # enamelled steel, walls partly lost or fattened
])
def test_published_mass_wins_and_a_volume_that_cannot_be_is_told(file: str, material: str, published_g: float) -> None:
    found = surveyed(file, "m", material, published_g)
    assert found.mass_g.best == published_g and found.mass_measured
    assert [c.verdict for c in found.checks if c.name == "weighed-against-volume"] == ["look"]


def test_a_full_can_weighs_about_its_volume_of_water() -> None:
    # Published 349 g; soup and tin over the scanned volume must come out near 1.0-1.15 g/cm3 (soup 1.0-1.05, can 50 g).
    found = surveyed("ycb_tomato_soup_can/textured.obj", "m")
    assert 1.0 < 349.0 / (found.volume_mm3.best * 1e-3) < 1.15


@pytest.mark.parametrize(("file", "unit", "up"), [
    ("ggg_plasticVase/plasticVase_decimated.ply", "mm", (0, 0, 1)),
    ("os_cat/cat-low-resolution.obj", None, (0, 1, 0)),
    ("os_pizza/pizza.obj", None, (0, 1, 0)),
    ("pr_pitcher/rubbermaid_ice_guard_pitcher_mesh.stl", "m", (0, 0, 1)),
    ("tm_fuze/fuze.obj", "m", (0, 0, 1)),
    ("ycb_a_cups/textured.obj", "m", (0, 0, 1)),
    ("ycb_bowl/textured.obj", "m", (0, 0, 1)),
    ("ycb_tomato_soup_can/textured.obj", "m", (0, 0, 1)),
])
def test_things_with_a_clear_base_stand_on_it(file: str, unit: str | None, up: tuple[float, float, float]) -> None:
    found = surveyed(file, unit)
    assert found.upright.sure
    assert np.degrees(np.arccos(np.dot(found.upright.up, up))) < 3


@pytest.mark.parametrize(("file", "unit"), [
    ("os_demosthenes/demosthenes-low-res.obj", None),  # a bust broken off below
    ("os_goathead/goathead.obj", None),
    ("ycb_padlock/textured.obj", "m"),
    ("ycb_scissors/textured.obj", "m"),
])
def test_things_without_one_ask(file: str, unit: str | None) -> None:
    assert not surveyed(file, unit).upright.sure
