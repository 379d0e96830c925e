"""The contact gate asked again once the arms are drawn, every wire by its own compliance; the margin on real normals.

While sets of tips are judged their arms do not exist and a stated stiffness stands for them. As drawn, each wire is a
frame of its own, and the faces that it touches are coupled by it: two feet on one wire give each for itself as well as
together. Display frame, mm, N. Used by `tries`.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from scanprep.findings import Check, Verdict
from scanprep.hold.families.verdicts import wrenches_of
from scanprep.hold.making.mount import Draft
from scanprep.hold.places.spots import Surface
from scanprep.hold.records import faces_of
from scanprep.hold.statics.balance import SprungWire
from scanprep.hold.statics.contact import shake_withstood
from scanprep.hold.statics.demand import Loads
from scanprep.hold.statics.gates import UP, contact_limits, margin_as_it_touches, stays
from scanprep.hold.statics.preload import preload, redrawn
from scanprep.hold.statics.wrench import ContactWrenches
from scanprep.hold.strength.stiffness import face_compliance
from scanprep.rules import HoldRules


def wires_at_faces(mount: Draft) -> tuple[SprungWire, ...]:
    """Return every wire of a mount as the faces along it feel it, by the faces' numbers; pads not counted in."""
    wires: list[SprungWire] = []
    first = 0
    for contact, arm in zip(mount.tipset.contacts, mount.arms, strict=True):
        faces = len(faces_of(contact))
        wires.append(SprungWire(tuple(range(first, first + faces)),
                                face_compliance(contact, arm, mount.attempt.plan.hub)))
        first += faces
    return tuple(wires)


def draws_of(mount: Draft, surface: Surface, rules: HoldRules) -> list[ContactWrenches]:
    """Return a mount's set of tips with its pads redrawn on the real surface, a tip with all that it touches."""
    contacts = mount.tipset.contacts
    radius = np.array([face.radius_mm for contact in contacts for face in faces_of(contact)])
    return redrawn(wrenches_of(contacts), radius, surface, mount.view.rotation, rules.shake_redraws, 0)


def shake_check(mount: Draft, draws: Sequence[ContactWrenches], loads: Loads, rules: HoldRules) -> Check:
    """Return what the contact gate says of a mount's own wires: every face rides on its wire where it touches."""
    parted = [replace(draw, tip=np.arange(len(draw.tip))) for draw in draws]
    limit = next((check.limit for check in mount.tipset.checks if check.name == "preload"), None)
    by_shape = limit is not None and limit < rules.preload_ratio
    planned = preload(wrenches_of(mount.tipset.contacts), loads.weight_N, UP,
                      rules.shaped_ratio if by_shape else rules.preload_ratio).forces_N
    spin = None if loads.spin_axis is None else mount.view.rotation @ np.asarray(loads.spin_axis)
    shake = shake_withstood(parted, planned, wires_at_faces(mount), loads.weight_N, contact_limits(loads, rules), spin,
                            every=False)
    return stays(shake, loads, rules, ", each wire as it is bent")


@dataclass(frozen=True, slots=True, eq=False)
class Seats:
    """Where a set's pads really touch, whatever wires bear them."""

    draws: Sequence[ContactWrenches]
    margin: Callable[[], Check]  # reckoned when it is first asked for

    @classmethod
    def of(cls, mount: Draft, loads: Loads, surface: Surface, rules: HoldRules) -> Seats:
        draws = draws_of(mount, surface, rules)
        return cls(draws, functools.cache(functools.partial(margin_as_it_touches, draws, loads, rules)))


def judged_as_drawn(mount: Draft, loads: Loads, surface: Surface, rules: HoldRules, seats: Seats | None = None
                    ) -> Draft:
    """Return a mount whose contact gate speaks of its own wires, and whose margin is proved where its pads touch.

    seats  of another mount for the same tips in the same attitude, where there is one; None: sought
    """
    seats = Seats.of(mount, loads, surface, rules) if seats is None else seats
    own = [shake_check(mount, seats.draws, loads, rules)]
    if own[0].verdict is not Verdict.STOP:
        own.append(seats.margin())
    names = {check.name for check in own}
    others = [check for check in mount.tipset.checks if check.name not in names]
    return replace(mount, tipset=replace(mount.tipset, checks=(*others, *own)))
