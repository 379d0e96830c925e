"""One attitude's mounts: those of the families first, the free search's last, the best of them chosen and said why.

Called by `find` for every attitude.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from scanprep.brief import ObjectBrief
from scanprep.findings import Check, Verdict
from scanprep.hold.families.offers import Judged, family_offers, known
from scanprep.hold.families.scene import Scene
from scanprep.hold.families.verdicts import AS_DRAWN
from scanprep.hold.making.arm_layout import mirrored
from scanprep.hold.making.as_drawn import Seats, judged_as_drawn
from scanprep.hold.making.bracket import bracket_for
from scanprep.hold.making.mount import Draft, draft_mount
from scanprep.hold.making.planned import STIFFER, draft_planned
from scanprep.hold.places.fine import end_wire_mm
from scanprep.hold.places.limits import TipLimits
from scanprep.hold.places.obstacle import Obstacle, View
from scanprep.hold.places.spots import Surface, allowed
from scanprep.hold.rank import better_because, mount_merits
from scanprep.hold.records import Attitude, Contact, Mount, NoMount, Refusal, TipSet
from scanprep.hold.refusals import no_mount, no_tips, told, with_bracket
from scanprep.hold.search.offers import Search, SearchContext
from scanprep.hold.statics.demand import Loads
from scanprep.hold.strength.wire import for_weight, stiffness_floor, stock_mm
from scanprep.hold.wires.wire_ends import has_wire_end
from scanprep.rules import HoldRules, Rulebook
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey

MOST_DRAFTS, FEWER_DRAFTS = 6, 3  # tolerance: whole mounts of families compared in a straight view, and in another
MOST_DRAWN = 10  # tolerance: drawn, with those that come to nothing, where one has come of them
ENOUGH_SOUND = 3  # tolerance: of them after which no more are drawn in a straight view; in another one is enough
# tolerance: sets of the free search for which a mount is tried, in a straight view and another
MOST_MOUNTS, FEWER_MOUNTS = 4, 2
# tolerance: tried after one that is sound but shows, in a straight view; lopsided ones replace no symmetric one
MORE_MOUNTS = 2
MOST_STIFFENED = 3  # tolerance: mounts of an attitude drawn once more in stiffer wire; more cost time
#: Checks of a mount that make the next set of tips worth trying: hard to make (told, where nothing better is found),
#: and showing too much (refused).
HARD = ("bends", "bend-radius", "arm-stress")
SHOWS = ("mount-beside", "mount-covered")
ON_LIMBS = "No mount was found that keeps off its slender parts: tips may stand on them; ask a conservator."


@dataclass(frozen=True, slots=True, eq=False)
class Subject:
    """What all attitudes of one object share."""

    working: WorkingMesh
    survey: Survey
    brief: ObjectBrief
    rules: Rulebook
    surface: Surface
    body: Obstacle
    loads: Loads
    limits: TipLimits
    mirrored: Callable[[Attitude], bool]  # whether its left and right are mirror images in an attitude
    context: Callable[[bool], SearchContext]  # of the free search, off its limbs or anywhere, made when first asked for
    limbed: bool  # it has limbs, which no tip should touch


@dataclass(slots=True, eq=False)
class Trial:
    """One attitude and what came of its mounts."""

    attitude: Attitude
    made: Draft | None = None  # the best mount
    why: str = ""  # why it is preferred to the next best
    shown: Draft | None = None  # the mount that shows least among those that show too much
    shown_share: float = math.inf
    refusal: Refusal | None = None
    reasons: list[str] = field(default_factory=list)
    margin_g: float = 0.0
    judged: list[Judged] = field(default_factory=list)
    stiffened: int = 0  # mounts that were drawn once more, in stiffer wire

    @property
    def straight(self) -> bool:
        """Whether this is the view that the object asks for."""
        return self.attitude.natural == 1.0

    def by_families(self, subject: Subject) -> None:
        """Draw the families' mounts and keep the best."""
        scene = scene_of(subject, self.attitude)
        found: list[Draft] = []
        sound: list[str] = []
        most = MOST_DRAFTS if self.straight else FEWER_DRAFTS
        offers = family_offers(scene, self.judged, sound, straight=self.straight)
        for drawn, tipset in enumerate(offers, start=1):
            self.margin_g = max(self.margin_g, tipset.margin_g)
            mount = draft_planned(scene.view, tipset, subject.survey, subject.rules)
            if isinstance(mount, NoMount):
                self.reasons.append(mount.reason)
                continue
            mount = self._stiff_enough(mount, tipset, scene, subject)
            if self._keeps(mount) and self._fair(mount):
                found.append(mount)
                if not wants_look(mount):
                    sound.append(_family(mount))
            if len(sound) >= (ENOUGH_SOUND if self.straight else 1) or len(found) >= most or \
                    (found and drawn >= MOST_DRAWN):
                break
        merits = [mount_merits(one, scene.symmetric, subject.rules.hold) for one in found]
        order = sorted(range(len(found)), key=lambda k: (scene.symmetric and lopsided(found[k], subject.rules.hold),
                                                         -round(sum(value for _, value in merits[k]), 6)))
        if order:
            self.made = found[order[0]]
            self.why = better_because([merits[k] for k in order], [_family(found[k]) for k in order])

    def _stiff_enough(self, mount: Draft, tipset: TipSet, scene: Scene, subject: Subject) -> Draft:
        """A mount as judged on its own wires; drawn in stiffer ones where it would leave its place in these."""
        loads, surface, rules = scene.loads, subject.surface, subject.rules
        seats = Seats.of(mount, loads, surface, rules.hold)
        mount = judged_as_drawn(mount, loads, surface, rules.hold, seats)
        if mount.sturdier is not None and wants_look(mount):
            mount = judged_as_drawn(mount.sturdier(), loads, surface, rules.hold, seats)
        if self.stiffened == MOST_STIFFENED or not any(check.name == AS_DRAWN and check.verdict is Verdict.STOP
                                                       for check in mount.tipset.checks):
            return mount
        self.stiffened += 1
        stiffer = draft_planned(scene.view, tipset, subject.survey, rules, stiffer=STIFFER)
        return mount if isinstance(stiffer, NoMount) else judged_as_drawn(stiffer, loads, surface, rules.hold, seats)

    def _keeps(self, mount: Draft) -> bool:
        """Whether a mount's own wires keep the object; why not is remembered."""
        soft = [told(check) for check in mount.tipset.checks if check.verdict is Verdict.STOP]
        if soft:
            self.reasons.append("; ".join(soft))
        return not soft

    def _fair(self, mount: Draft) -> bool:
        """Whether a mount shows no more than may be shown; the least of the others is remembered."""
        found = faults(mount)
        self.reasons.append("; ".join(told(check) for check in found))
        if any(check.name in SHOWS for check in found):
            if mount.shown_share < self.shown_share:
                self.shown, self.shown_share = mount, mount.shown_share
            return False
        return True

    def by_search(self, subject: Subject, *, anywhere: bool = False) -> None:
        """Try sets of the free search in turn until a mount is sound.

        anywhere  on the object's limbs too, and whatever the ground
        """
        view = View.of(subject.body, self.attitude.rotation)
        sits = _sits_in(view, subject.survey.mass_g.high, subject.rules.hold)
        seek = Search(subject.context(anywhere), self.attitude, sits, view.front)
        fewest = (math.inf, True, math.inf)  # faults, lopsided, share shown
        left, offers = MOST_MOUNTS if self.straight else FEWER_MOUNTS, seek.offers()
        while left > 0 and (tipset := next(offers, None)) is not None:  # no set is sought that will not be tried
            left -= 1
            mount = draft_mount(view, tipset, subject.survey, subject.rules)
            self.margin_g = max(self.margin_g, tipset.margin_g)
            if isinstance(mount, NoMount):
                self.reasons.append(mount.reason)
                continue
            mount = judged_as_drawn(mount, subject.loads, subject.surface, subject.rules.hold)
            if not self._keeps(mount):
                continue
            found = faults(mount)
            rank = (len(found), not mirrored(tipset.contacts), round(mount.shown_share, 6))
            if self._fair(mount) and rank < fewest:
                self.made, fewest = mount, rank
                self.why = ON_LIMBS if anywhere and subject.limbed else ""
            if not found and (mount.shown_share <= subject.rules.hold.shows_little_share or not self.straight):
                return
            if not found:
                left = min(left, MORE_MOUNTS)
        self.judged += [known(verdict) for _, verdict, _ in seek.judged]

    def turn_down(self) -> None:
        """Give up a mount that shows the object's back, where no view of its front has one."""
        if self.made is not None:
            self.made = None
            self.refusal = Refusal(self.attitude, "it would be held with its other face to the viewer, and no view of "
                                   "its front has a mount", self.margin_g,
                                   "Give `front` in the checklist if that face is the one to be seen")

    def close(self, subject: Subject) -> None:
        """Take what shows where an angle was asked for; else say why there is no mount."""
        if self.made is None and self.attitude.name == "asked" and \
                self.shown_share <= subject.rules.hold.shown_most_ratio * subject.rules.hold.beside_share:
            self.made = self.shown  # who asks for an angle is shown what it costs
        if self.made is None:
            self.refusal = no_mount(self.attitude, self.reasons, self.margin_g) if self.reasons else no_tips(
                self.attitude, [one() for one in self.judged], subject.loads, subject.limits)
            if subject.survey.mass_g.high >= 1000 * subject.rules.hold.bracket_mass_kg:
                shown = subject.surface.vertices_mm @ self.attitude.rotation.T
                self.refusal = with_bracket(self.refusal, bracket_for(shown, subject.loads.weight_N, subject.limits,
                                                                      subject.rules))


def lopsided(mount: Draft, rules: HoldRules) -> bool:
    """Return whether a mount's left and right are further from alike than a symmetric object's mount may be."""
    plan = mount.tipset.family
    return plan is not None and plan.alike_ratio > rules.alike_ratio


def _family(mount: Draft) -> str:
    return "" if mount.tipset.family is None else mount.tipset.family.name


def scene_of(subject: Subject, attitude: Attitude) -> Scene:
    """Return an object in an attitude as the families see it."""
    view = View.of(subject.body, attitude.rotation)
    hold = subject.rules.hold
    # arms are drawn as stiff as one of them alone must be to carry the object
    spring = max(hold.tip_spring_N_per_mm, stiffness_floor(subject.survey.mass_g.high, hold))
    loads = replace(subject.loads, spring_N_per_mm=spring)
    return Scene(view, subject.surface, attitude, loads, subject.limits,
                 lambda points, radius: allowed(points, radius, subject.brief, subject.survey, subject.working),
                 _solid(subject.survey, hold), subject.mirrored(attitude), hold,
                 _bends_in(view, subject.survey.mass_g.high, hold))


def _solid(survey: Survey, hold: HoldRules) -> bool:
    """Whether a weighed object is too heavy for a shell filled by the scan: denser than anything hollow usually is."""
    return survey.mass_measured and survey.mass_g.low / max(survey.volume_mm3.high * 1e-3, 1e-9) >= hold.solid_g_cm3


def _bends_in(view: View, mass_g: float, hold: HoldRules) -> Callable[[Contact], bool]:
    wire_mm = end_wire_mm(mass_g, hold)

    def bends(contact: Contact) -> bool:
        return any(has_wire_end(view, contact, wire_mm, hold, annealed=soft) for soft in (False, True))

    return bends


def _sits_in(view: View, mass_g: float, hold: HoldRules) -> Callable[[Contact], bool]:
    lightest_mm = stock_mm(for_weight(hold, mass_g))[0]  # where its end cannot lie, no tip is offered

    def sits(contact: Contact) -> bool:
        return has_wire_end(view, contact, lightest_mm)

    return sits


def faults(mount: Mount | Draft) -> list[Check]:
    """Return what about a mount that could be drawn is hard to make, or would not be liked; empty where it is sound."""
    return [check for check in mount.checks
            if check.name in (*HARD, *SHOWS) and check.verdict in (Verdict.LOOK, Verdict.STOP)]


def wants_look(mount: Draft) -> bool:
    """Return whether any check of a mount wants a person's eye."""
    return any(check.verdict in (Verdict.LOOK, Verdict.STOP) for check in (*mount.checks, *mount.tipset.checks))
