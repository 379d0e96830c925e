"""One object rolled up: everything the bench and the case need to know of it, as one value.

Study: what is known of an object before the few post diameters of the case are chosen. MountSpec: after.
Pure records and the small rules that join them; writing them to files is done in `files`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from scanprep.brief import ObjectBrief
from scanprep.causes import FindingGroup, grouped
from scanprep.cautions import CAUTIONS
from scanprep.findings import Check, Finding, Verdict, finding_of, loudest
from scanprep.hold.records import Hold, HoldSet
from scanprep.loads.contacts import contact_findings
from scanprep.post.measure import unmeasured_finding
from scanprep.post.records import PostNeed, PostPlan
from scanprep.rules import Rulebook, override_note
from scanprep.scan.mesh import Cleaned, Grade, Repair, WorkingMesh
from scanprep.survey.records import Survey


@dataclass(frozen=True, slots=True)
class ScanFacts:
    """Where the numbers come from: the file, its scale, and what was mended."""

    file: str
    sha256: str
    format: str
    vertices: int
    faces: int
    mm_per_unit: float
    scale_basis: str
    scale_error_ratio: float
    grade: Grade
    reasons: tuple[str, ...]
    receipt: tuple[Repair, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SurveyedScan:
    """A scan read, cleaned and surveyed: all that the search for holds needs to know of it."""

    scan: ScanFacts
    survey: Survey
    working: WorkingMesh
    findings: tuple[Finding, ...]  # of reading, cleaning and surveying


@dataclass(frozen=True, slots=True, eq=False)
class ObjectStudy:
    """An object read, cleaned, surveyed and held; no post yet."""

    brief: ObjectBrief
    scan: ScanFacts
    survey: Survey
    working: WorkingMesh
    holds: HoldSet
    needs: tuple[PostNeed, ...]  # one a hold, same order
    findings: tuple[Finding, ...]  # of reading, cleaning and surveying


@dataclass(frozen=True, slots=True, eq=False)
class MountSpec:
    """One object's mount, whole. `chosen` is None where no hold was found or none is chosen."""

    number: str
    title: str
    brief: ObjectBrief
    scan: ScanFacts
    survey: Survey
    holds: HoldSet
    chosen: int | None
    chosen_by: str  # "proposed" until a person chose
    need: PostNeed | None
    plan: PostPlan | None
    session: int
    revision: int
    checks: tuple[Check, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def hold(self) -> Hold | None:
        """The chosen hold."""
        return None if self.chosen is None else self.holds.holds[self.chosen]

    @property
    def groups(self) -> tuple[FindingGroup, ...]:
        """Its findings by what causes them, stops first: what a person reads first."""
        scan = self.scan.file.replace("\\", "/").rpartition("/")[2].rpartition(".")[0]
        return grouped(self.findings, (self.number,), {scan: self.number})

    @property
    def verdict(self) -> Verdict:
        """The worst that any check or finding says."""
        return loudest([*(c.verdict for c in self.checks), *(f.verdict for f in self.findings)])


def scan_facts(cleaned: Cleaned) -> ScanFacts:
    """Return what a spec tells about its scan."""
    scan = cleaned.scan
    return ScanFacts(
        scan.file, scan.sha256, scan.format, len(scan.vertices_mm), len(scan.faces), scan.scale.mm_per_unit,
        scan.scale.basis, scan.scale.error_ratio, cleaned.grade, cleaned.reasons, cleaned.receipt,
    )


def _refused(study: ObjectStudy) -> tuple[Finding, ...]:
    if study.holds.holds:
        return ()
    subject = f"object {study.brief.number}"
    if not study.holds.refusals:
        return (Finding("no-hold", subject, Verdict.STOP, f"{subject}: no attitude could be tried",
                        "Say in the checklist which way is up"),)
    best = max(study.holds.refusals, key=lambda r: -1.0 if r.best_margin_g is None else r.best_margin_g)
    return (Finding("no-hold", subject, Verdict.STOP, f"{subject}: {best.reason}", best.advice,
                    best.best_margin_g, None, "g"),)


def roll_up(study: ObjectStudy, chosen: int | None, chosen_by: str, plan: PostPlan | None, rules: Rulebook, *,
            session: int = 0, revision: int = 0, told: tuple[Finding, ...] = ()) -> MountSpec:
    """Return one object's specification from its study, the chosen hold and its post.

    rules  those that plan and checks were made by; the rows that a case changes stand among the cautions
    told   findings of the choice itself
    Findings of every stage are kept; checks that say look or stop become findings too, and one finding stands for all
    that rest on defaults, so that nothing is dropped silently.
    """
    hold = None if chosen is None else study.holds.holds[chosen]
    checks = (*study.survey.checks, *(hold.checks if hold else ()), *(plan.checks if plan else ()))
    subject = f"object {study.brief.number}"
    findings = [*study.findings, *_refused(study), *told, *(hold.findings if hold else ()),
                *(plan.findings if plan else ()),
                *(contact_findings(study.brief.material, plan.post.material) if plan else ())]
    known = {*(finding.code for finding in findings), *(plan.told_of if plan else ())}
    untold = [check for check in checks if check.name not in known]
    findings += [finding_of(c, subject) for c in untold if c.verdict in (Verdict.LOOK, Verdict.STOP)]
    resting = unmeasured_finding(untold, subject)
    findings += [resting] if resting else []
    changed = override_note(rules)
    return MountSpec(
        study.brief.number, study.brief.title, study.brief, study.scan, study.survey, study.holds, chosen, chosen_by,
        None if chosen is None else study.needs[chosen], plan, session, revision, checks,
        tuple(f if f.subject else replace(f, subject=subject, sentence=f"{subject}: {f.sentence}") for f in findings),
        (*CAUTIONS, changed) if changed else CAUTIONS,
    )
