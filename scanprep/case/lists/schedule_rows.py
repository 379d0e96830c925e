"""The whole case as rows for the schedule, the findings list and the shop: plain values and CSV.

One row an object, one a finding. Text that a spreadsheet would take for a formula is disarmed. Lengths in mm, masses in
g; column heads carry their units. Writing files is done elsewhere. Used by `workspace`, the commands and the papers.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import date

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.check.checks import CaseChecks
from scanprep.case.check.panels import PanelReport, panel_findings, panel_reports
from scanprep.case.check.plausible import plausibility_findings
from scanprep.case.placed import FacePosition, PlacedObject
from scanprep.case.record.mount_status import life_findings
from scanprep.case.record.state import CaseState
from scanprep.case.record.words import roles_finding
from scanprep.case.release import HoleRelease, release_of
from scanprep.findings import Finding, loudest
from scanprep.numbering import natural_key
from scanprep.panel.faces import datum_x_of
from scanprep.plain_text import visible
from scanprep.post.measure import RESTING, waiting_findings
from scanprep.rules import Rulebook
from scanprep.spec import MountSpec

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


@dataclass(frozen=True, slots=True)
class ScheduleRow:
    """One object of the schedule. None: not known yet."""

    object: str
    title: str
    group: str
    panel: str | None
    face: str | None
    hole: str | None
    state: str
    stage: str
    x_mm: float | None  # from the datum corner, as on every paper
    y_mm: float | None
    from_left_mm: float | None  # from the face's own left edge, as its viewer sees it
    height_above_floor_mm: float | None
    attitude: str | None
    tilt_deg: float | None
    turn_deg: float | None
    roll_deg: float | None
    mass_g: float | None
    rod: str | None
    diameter_mm: float | None
    stand_off_mm: float | None
    cut_length_mm: float | None
    blank_length_mm: float | None
    clock_deg: float | None
    drill: str | None
    depth_mm: float | None
    session: int | None
    verdict: str
    release: str  # released, held, drilled, not used; empty without a hole
    reasons: str  # why it is held


def check_case(placed: Sequence[PlacedObject], case: CaseBrief, state: CaseState,
               rules: Rulebook, today: date | None = None, reports: Sequence[PanelReport] | None = None
               ) -> tuple[Finding, ...]:
    """Return every finding between the objects of a case, about its panels, and from its record.

    today    None: nothing is said of yearly checks that are due
    reports  of the panels where they are known already
    """
    between = CaseChecks(placed, case, rules, state.holes).findings()
    return (*between, *plausibility_findings(placed, case, rules), *panel_findings(placed, case, rules, reports),
            *life_findings(state, rules.case, rules.fit, today), *roles_finding(case, state))


def every_finding(findings: Sequence[Finding], specs: Sequence[MountSpec], placed: Sequence[PlacedObject],
                  case: CaseBrief, rules: Rulebook, reports: Sequence[PanelReport] | None = None
                  ) -> tuple[Finding, ...]:
    """Return all that a person reads of a case: of the case, of each object, then what is still to be measured.

    reports  of the panels where they are known already

    Each object's and panel's line about checks on defaults gives way to one line a kind of measurement. Where no hold
    was found, that none is chosen is not said again.
    """
    own = [finding for spec in specs for finding in spec.findings]
    waiting = [(spec.number, spec.checks) for spec in specs]
    known = panel_reports(placed, case, rules) if reports is None else reports
    waiting += [(f"panel {report.name}", report.checks) for report in known]
    hopeless = {finding.subject for finding in own if finding.code == "no-hold"}
    told = [finding for finding in (*findings, *own) if finding.code != RESTING
            and not (finding.code == "no-hold-chosen" and finding.subject in hopeless)]
    return (*told, *waiting_findings(waiting, "case"))


def schedule_rows(placed: Sequence[PlacedObject], case: CaseBrief, state: CaseState,
                  findings: Sequence[Finding] = (), releases: Sequence[HoleRelease] = ()) -> tuple[ScheduleRow, ...]:
    """Return one row an object, by panel, face, height and then left to right.

    findings  of the case; each object's row takes the worst that names it
    releases  of the case's holes
    """
    rows = [_row(item, case, state, findings, release_of(item.number, releases)) for item in placed]
    return tuple(sorted(rows, key=lambda r: (r.panel is None, r.panel or "", r.face or "", -(r.y_mm or 0.0),
                                             r.from_left_mm or 0.0, natural_key(r.object))))


def _row(item: PlacedObject, case: CaseBrief, state: CaseState, findings: Sequence[Finding],
         release: HoleRelease | None) -> ScheduleRow:
    post = None if item.plan is None else item.plan.post
    hole = None if item.plan is None else item.plan.hole
    attitude = None if item.hold is None else item.hold.attitude
    stand, life = item.stand, state.life(item.number)
    placement = state.placements.get(item.number)
    panel = next((p for p in case.panels if stand is not None and p.name == stand.panel), None)
    floor = 0.0 if panel is None else panel.stands_at_mm
    turned = 0.0 if life.as_made is None else life.as_made.angle_deg
    subject = f"object {item.number}"
    return ScheduleRow(
        item.number, item.title, item.group,
        None if stand is None else stand.panel, None if stand is None else stand.face, item.hole_number,
        "unplaced" if stand is None else item.hole_state, life.stage,
        _rounded(_datum_x_mm(stand, panel)), _rounded(None if stand is None else stand.y_mm),
        _rounded(None if stand is None else stand.from_left_mm),
        _rounded(None if stand is None else stand.y_mm + floor),
        None if attitude is None else attitude.name, _rounded(None if attitude is None else attitude.tilt_deg),
        _rounded(None if attitude is None else attitude.turn_deg),
        _rounded(None if attitude is None else attitude.roll_deg), _rounded(item.mass_g),
        None if post is None else post.rod, _rounded(None if post is None else post.diameter_mm, 3),
        _rounded(None if post is None else post.stand_off_mm), _rounded(None if post is None else post.cut_length_mm),
        _rounded(None if post is None else post.blank_length_mm),
        _rounded(None if post is None else (post.clock_deg + turned) % 360.0),
        None if hole is None else hole.drill, _rounded(None if hole is None else hole.depth_mm),
        None if placement is None else placement.session,
        loudest(f.verdict for f in findings if f.subject == subject or f"{subject} " in f"{f.sentence} ").value,
        _standing(release), "" if release is None else "; ".join(release.reasons),
    )


def _standing(release: HoleRelease | None) -> str:
    if release is None or not release.number:
        return ""
    return {"drilled": "drilled", "void": "not used"}.get(release.state, "released" if release.released else "held")


def _datum_x_mm(stand: FacePosition | None, panel: PanelBrief | None) -> float | None:
    if stand is None:
        return None
    return None if panel is None else datum_x_of(stand.face, stand.from_left_mm, panel.width_mm)


def _rounded(value: float | None, decimals: int = 1) -> float | None:
    return None if value is None else round(float(value), decimals) + 0.0


def safe_text(value: object) -> str:
    """Return a cell's text; text that a spreadsheet would run as a formula gets an apostrophe before it,
    control and direction characters are shown by their code.

    Numbers stay numbers, negative ones too.
    """
    if value is None:
        return ""
    if isinstance(value, str):
        shown = visible(value)
        return f"'{shown}" if shown.lstrip(" ").startswith(_FORMULA_STARTS) else shown
    return str(value)


def _csv(heads: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(heads)
    writer.writerows([safe_text(value) for value in row] for row in rows)
    return stream.getvalue()


def schedule_csv(rows: Sequence[ScheduleRow]) -> str:
    """Return the schedule as CSV (RFC 4180), heads with units."""
    heads = [field.name for field in fields(ScheduleRow)]
    return _csv(heads, [[getattr(row, head) for head in heads] for row in rows])


def findings_csv(findings: Sequence[Finding]) -> str:
    """Return findings as CSV (RFC 4180), in the order given."""
    heads = ("verdict", "code", "subject", "sentence", "remedy", "measured", "limit", "unit")
    rows = [(f.verdict.value, f.code, f.subject, f.sentence, f.remedy, f.measured, f.limit, f.unit) for f in findings]
    return _csv(heads, rows)
