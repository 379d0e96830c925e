"""The gates that ask for springs, asked again once the arms are drawn: every wire by its own compliance.

While sets of tips are judged their arms do not exist and a stated stiffness stands for them. As drawn, each wire with
its pads is a frame of its own, and the faces that one wire touches are coupled by it. Display frame, mm, N.
Used by `tries`.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from scanprep.findings import Check, Verdict, at_least, at_most
from scanprep.hold.making.mount import Draft
from scanprep.hold.statics.demand import Loads
from scanprep.hold.statics.gates import UP, shaken
from scanprep.hold.statics.preload import preload, sprung_margin_g
from scanprep.hold.statics.wrench import ContactWrenches
from scanprep.hold.strength.stiffness import arms_and_tips_compliance
from scanprep.rules import HoldRules
from scanprep.vectors import F64


def rocking_deg(compliance: F64, weight_N: float, push_g: float) -> float:
    """Return how far a body turns under a steady push in its worst direction.

    compliance  (6, 6) at the centre of mass: mm/N, rad/N and so on
    """
    return math.degrees(float(np.linalg.norm(compliance[3:, :3], ord=2)) * push_g * weight_N)


def spring_checks(mount: Draft, wrenches: ContactWrenches, loads: Loads, rules: HoldRules) -> tuple[Check, Check]:
    """Return the checks of rocking and of springs for a mount's own arms."""
    contacts, hub = mount.tipset.contacts, mount.attempt.plan.hub
    whole, tips = arms_and_tips_compliance(contacts, mount.arms, hub)
    turn_deg = rocking_deg(whole, loads.weight_N, loads.margin_low_g)
    stiff = np.concatenate([np.diag(np.linalg.inv(tip)) for tip in tips])
    sprung = preload(wrenches, loads.weight_N, UP, rules.preload_ratio)
    hard = shaken(wrenches, loads.shake_factor)
    sprung_g = sprung_margin_g(hard, sprung, loads.weight_N, UP, rules.spring_give_mm * stiff)
    return (at_most("rocking", turn_deg, loads.rocking_deg, "deg",
                    f"rigid body on its own arms and pads, pushed {loads.margin_low_g:g} g",
                    note="" if turn_deg <= loads.rocking_deg else "the arms are too soft or stand too close together"),
            at_least("springs", sprung_g, rules.sprung_margin_g, "g",
                     f"LP, each tip on its own arm giving {rules.spring_give_mm:g} mm",
                     under=Verdict.LOOK if sprung_g >= rules.sprung_least_g else Verdict.STOP,
                     note="" if sprung_g >= rules.sprung_margin_g else "soft: the tips give before they hold"))


def judged_as_drawn(mount: Draft, wrenches: ContactWrenches, loads: Loads, rules: HoldRules) -> Draft:
    """Return a mount whose gates of rocking and springs speak of its own arms."""
    own = {check.name: check for check in spring_checks(mount, wrenches, loads, rules)}
    checks = tuple(own.get(check.name, check) for check in mount.tipset.checks)
    return replace(mount, tipset=replace(mount.tipset, checks=checks))

