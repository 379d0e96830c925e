"""A hold's mount drawn anew for the post that was chosen: hub, laps and clearances for that diameter.

While holds are sought the post is not known and its likely diameter stands for it. A thicker one would lie over the
arms' laps; then the hub grows, the arms begin further out, and what is judged of arms is judged again. Tips, forces and
gates stay as they were. Display frame, mm. Called by the pipeline once the post's size is known.
"""

from __future__ import annotations

from dataclasses import replace

from scanprep.brief import ObjectBrief
from scanprep.hold.making.mount import draft_mount, finish_mount
from scanprep.hold.making.planned import draft_planned
from scanprep.hold.places.obstacle import Obstacle, View
from scanprep.hold.records import Hold, NoMount, TipSet
from scanprep.hold.strength.stiffness import contact_of
from scanprep.hold.wires.hub import planned_post_mm
from scanprep.rules import Rulebook
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey

_SAME_MM = 0.05  # tolerance: diameters nearer than this are one size
#: Findings of a mount that come from no check of the same name.
_OWN = frozenset({"removal", "removal-two-arms", "turning"})


def hub_post_mm(hold: Hold) -> float:
    """Return the post that a hold's hub was made for, mm."""
    return planned_post_mm(hold.hub, max((tip.arm.lap_mm for tip in hold.tips), default=0.0))


def laps_covered_mm(hold: Hold, post_mm: float) -> float:
    """Return by how much a post would lie over the laps of a hub made for a thinner one, on either side; 0: it fits."""
    over = (post_mm - hub_post_mm(hold)) / 2
    return over if over > _SAME_MM / 2 else 0.0


def refitted(hold: Hold, working: WorkingMesh, survey: Survey, brief: ObjectBrief, rules: Rulebook, post_mm: float
             ) -> Hold:
    """Return a hold whose mount is drawn for a post; the hold itself where it fits already, or cannot be so drawn."""
    if laps_covered_mm(hold, post_mm) == 0.0:
        return hold
    view = View.of(Obstacle.of(working, survey), hold.attitude.rotation)
    tipset = TipSet(hold.attitude, tuple(contact_of(tip) for tip in hold.tips), tuple(tip.force_N for tip in hold.tips),
                    tuple(tip.needed for tip in hold.tips), hold.margin_g, hold.margin_low_friction_g,
                    hold.torque_capacity_Nmm, hold.preload_ratio, hold.s10, hold.weight_on_normals_ratio, ())
    draw = draft_planned if hold.family else draft_mount
    draft = draw(view, tipset, survey, rules, post_mm)
    if isinstance(draft, NoMount):
        return hold
    mount = finish_mount(draft, brief, survey, rules)
    names = {check.name for check in mount.checks}
    tips = tuple(replace(tip, arm=arm) for tip, arm in zip(hold.tips, mount.arms))
    front_mm = float(view.vertices_mm[:, 2].max())
    return replace(hold, tips=tips, hub=mount.hub, opening=mount.opening, attach_mm=mount.attach_mm,
                   covered_share=mount.covered_share, beside_share=mount.beside_share,
                   depth_mm=front_mm - mount.attach_mm[2],
                   checks=(*(check for check in hold.checks if check.name not in names), *mount.checks),
                   findings=(*(one for one in hold.findings if one.code not in names | _OWN), *mount.findings))
