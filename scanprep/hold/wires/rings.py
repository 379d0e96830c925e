"""What of a wire's end goes round the object: its centre line, and how a strip lies across it. Display frame, mm."""

from __future__ import annotations

import numpy as np

from scanprep.hold.places.obstacle import lengths
from scanprep.hold.records import Contact
from scanprep.hold.wires.bends import along
from scanprep.vectors import F64

_NO_RUN_MM = 1e-6  # tolerance: rounding: what is shorter points nowhere


def ring_thick_mm(contact: Contact, wire_mm: float) -> float:
    """Return how thick what lies on the object is: its wire, or the strip that goes round it."""
    strip = None if contact.ring is None else contact.ring.strip
    return wire_mm if strip is None else strip.thick_mm


def ring_path(contact: Contact, wire_mm: float) -> F64:
    """Return the centre line (k, 3) of a wire's end that goes round the object; raises where the contact has none."""
    if contact.ring is None:
        raise ValueError("this contact's wire does not go round the object")
    lift = contact.pad_thickness_mm + ring_thick_mm(contact, wire_mm) / 2
    return np.asarray(contact.ring.points_mm + lift * contact.ring.outward, dtype=np.float64)


def across_strip(ring_mm: F64, outward: F64) -> F64:
    """Return which way a strip round an object is wide at each of its points, unit (k, 3).

    >>> across_strip(np.array([[0.0, 0, 0], [1, 0, 0], [2, 0, 0]]), np.tile([0.0, 0, 1], (3, 1)))[1].tolist()
    [0.0, -1.0, 0.0]
    """
    runs = np.gradient(ring_mm, axis=0)
    wide = np.cross(runs / np.maximum(lengths(runs), _NO_RUN_MM)[:, None], outward)
    return np.asarray(wide / np.maximum(lengths(wide), _NO_RUN_MM)[:, None])


def lines_along(contact: Contact, ring_mm: F64) -> F64:
    """Return points (m, 3) along a ring's wire; of strip along its middle and both edges."""
    strip = None if contact.ring is None else contact.ring.strip
    if contact.ring is None or strip is None:
        return along(ring_mm, 1.0)
    aside = strip.wide_mm / 2 * across_strip(ring_mm, contact.ring.outward)
    return np.vstack([along(line, 1.0) for line in (ring_mm - aside, ring_mm, ring_mm + aside)])


def along_ring(ring: F64, at: int) -> F64:
    """Return the unit direction (3,) of a ring's wire at one of its points."""
    run = ring[min(at + 1, len(ring) - 1)] - ring[max(at - 1, 0)]
    return np.asarray(run / np.linalg.norm(run), dtype=np.float64)
