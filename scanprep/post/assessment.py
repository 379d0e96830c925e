"""One object on one rod with everything that its checks need, and what is still to be measured of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from scanprep.findings import Check, Verdict
from scanprep.materials import Metal
from scanprep.post.compliance import Contribution, Member, weight_parts
from scanprep.post.fit import SeatFit
from scanprep.post.loads import Carried
from scanprep.post.records import Rod
from scanprep.post.trimmed import Trim, trim_of
from scanprep.rules import Rulebook


@dataclass(frozen=True, slots=True, eq=False)
class RodAssessment:
    """One object on one rod, everything that the checks need."""

    carried: Carried
    rod: Rod
    alloy: Metal
    now: Member  # bed at its soft end, fresh
    later: Member  # the bed crept to half
    firm_MPa: float  # bed at its stiff end: presses hardest
    fit: SeatFit
    grade: str
    acceleration_g: float
    rules: Rulebook
    parts: tuple[Contribution, ...]  # long-term
    trim: Trim  # what is bent away before it hangs, and what is left
    vent_flat_mm: float  # filed along the seat; 0 in a through-hole
    square_deg: float | None = None  # how far out of square this shop's holes were found to be; None: not measured

    @property
    def measured(self) -> bool:
        """Whether mass and rod were measured."""
        return self.carried.object_measured and self.fit.rod_measured

    @property
    def gives_measured(self) -> bool:
        """Whether what droop and swaying rest on is known: mass, rod, and what the pads are."""
        return self.measured and self.carried.pads_named

    @property
    def wants(self) -> str:
        """What to measure before ok can be said."""
        wants = [] if self.carried.object_measured else ["weigh the object"]
        wants += [] if self.fit.rod_measured else [f"measure the {self.rod.label} rod with a micrometer"]
        return " and ".join(wants)


def assess(carried: Carried, rod: Rod, alloy: Metal, member: Member, fit: SeatFit, grade: str, acceleration_g: float,
           rules: Rulebook, vent_flat_mm: float = 0.0, square_deg: float | None = None) -> RodAssessment:
    """Return an assessment from its pieces; `member` has the soft short-term bed."""
    creep = rules.panel.creep_modulus_MPa / rules.panel.youngs_modulus_MPa
    later = Member(member.section, member.modulus_MPa, member.shear_modulus_MPa, member.density_g_mm3,
                   member.length_mm, member.seat_depth_mm, member.bed_MPa * creep)
    return RodAssessment(carried, rod, alloy, member, later, rules.post.bed_high_MPa, fit, grade, acceleration_g, rules,
                         weight_parts(carried, later),
                         trim_of(carried, member, later, rules.post.bed_high_MPa, rules.loads.pad_creep_share),
                         vent_flat_mm, square_deg)


def noted(case: RodAssessment, check: Check) -> Check:
    """Return the check with what to measure, where that is what keeps it from being ok."""
    return check if check.verdict is not Verdict.UNMEASURED or not case.wants else \
        replace(check, note=f"{check.note}; {case.wants}")


def gives_noted(case: RodAssessment, check: Check) -> Check:
    """Return the same for what also rests on how far pads give."""
    with_wants = noted(case, check)
    # a sway that is too slow on soft pads may be none on firmer ones, so there it is said in any case
    said = check.verdict is Verdict.UNMEASURED or (check.name == "post-frequency" and check.verdict is not Verdict.OK)
    return with_wants if case.carried.pads_named or not said else \
        replace(with_wants, note=f"{with_wants.note}; name the pads (taken as soft as felt)")
