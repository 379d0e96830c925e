"""Contacts set by hand on solids of known shape, for the mount's tests: where a ray meets the surface, pad there."""

from __future__ import annotations

import numpy as np

from scanprep.findings import Check
from scanprep.hold.places.obstacle import Obstacle, View
from scanprep.hold.records import Attitude, Contact, TipSet
from scanprep.interval import Interval
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Footprint, Showing, Survey, Upright
from scanprep.vectors import Rigid, hold_rotation
from tests.shapes import Solid, cleaned_of


def working_of(solid: Solid, colours: np.ndarray | None = None) -> WorkingMesh:
    return cleaned_of(solid, colours).working


def survey_of(solid: Solid, mass_g: float) -> Survey:
    """A survey with the exact centre; only what a mount reads is filled with care."""
    size = np.ptp(solid.vertices_mm, axis=0)
    up = (0.0, 1.0, 0.0)
    return Survey(
        volume_mm3=Interval.exactly(solid.volume_mm3), area_mm2=1.0, mass_g=Interval.exactly(mass_g),
        mass_basis="weighed", mass_measured=True, centre_of_mass_mm=tuple(float(v) for v in solid.centre_mm),
        centre_radius_mm=1.0, inertia_g_mm2=np.eye(3), extents_mm=tuple(float(v) for v in size),
        size_mm=tuple(float(v) for v in size), diagonal_mm=float(np.linalg.norm(size)), scale_error_ratio=0.0,
        rests=(), upright=Upright(up, "made upright", True, None), footprint=Footprint(1.0, (), 10.0, "flat"),
        to_object=Rigid(np.eye(3), -solid.centre_mm), front=(0.0, 0.0, 1.0), front_reason="made so", axis=None,
        shown=Showing(up, (0.0, 0.0, 1.0), "upright", "made so"), choices=(),
        mirrors=(), flatness_ratio=1.0, slenderness_ratio=1.0, principal_axes=np.eye(3), wall_mm=None,
        mean_colour=(128, 128, 128), checks=(), findings=())


def attitude(tilt_deg: float = 0.0, turn_deg: float = 0.0) -> Attitude:
    return Attitude("upright", tilt_deg, turn_deg, 0.0, hold_rotation(tilt_deg, turn_deg, 0.0), "", 1.0)


def view_of(solid: Solid, tilt_deg: float = 0.0) -> View:
    working, survey = working_of(solid), survey_of(solid, 200.0)
    return View.of(Obstacle.of(working, survey), attitude(tilt_deg).rotation)


def contact(view: View, origin: tuple[float, float, float], direction: tuple[float, float, float], *,
            bearing: bool = False, kind: str = "pad") -> Contact:
    """A contact where a ray first meets the object."""
    start, along = np.asarray(origin, dtype=float), np.asarray(direction, dtype=float)
    hits = view.body.scene.cast(start[None] @ view.rotation, along @ view.rotation)
    assert np.isfinite(hits.distance_mm[0]), "the ray misses the object"
    point = start + along * float(hits.distance_mm[0])
    outward = (hits.normal[0] / np.linalg.norm(hits.normal[0])) @ view.rotation.T
    return Contact(tuple(float(v) for v in point), tuple(float(-v) for v in outward), kind, bearing, 5.0, 0.25,
                   "felt", 2.0, 0.8)


def tipset(attitude: Attitude, contacts: list[Contact], forces_N: list[float]) -> TipSet:
    checks: tuple[Check, ...] = ()
    return TipSet(attitude, tuple(contacts), tuple(forces_N), (True,) * len(contacts), 0.6, 0.3, 100.0, 0.2, 0.9,
                  checks)


def under_and_sides(view: View, *, half_mm: float, behind_mm: float, side_mm: float) -> list[Contact]:
    """The usual hold of an upright vessel: two tips under the base, one at each side."""
    low, high = view.vertices_mm.min(axis=0), view.vertices_mm.max(axis=0)
    below, left, right = float(low[1]) - 20, float(low[0]) - 20, float(high[0]) + 20
    return [contact(view, (-half_mm, below, -behind_mm), (0, 1, 0), bearing=True),
            contact(view, (half_mm, below, -behind_mm), (0, 1, 0), bearing=True),
            contact(view, (left, side_mm, 5.0), (1, 0, 0)), contact(view, (right, side_mm, 5.0), (-1, 0, 0))]
