"""What each panel of the case says under everything that hangs on it, and which objects sway in step with it.

One call a panel: loads from the placed posts, the checks of the sheet at every stage of hanging, then every object's
own frequency beside the panel's. Used by the roll-up and by the engineering note.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.placed import FacePosition, PlacedObject
from scanprep.findings import Check, Finding, Verdict, at_least, finding_of
from scanprep.loads.site import demanded_g, shake_of
from scanprep.panel.chain import PanelLoads, panel_loads
from scanprep.panel.resonance import panel_modes_Hz, resonance_check
from scanprep.panel.strength import FaceLoad, judge_panel, load_of
from scanprep.post.measure import unmeasured_finding
from scanprep.post.records import Post
from scanprep.rules import Rulebook


@dataclass(frozen=True, slots=True)
class PanelReport:
    """One panel with all it carries."""

    name: str
    loads: tuple[FaceLoad, ...]
    checks: tuple[Check, ...]  # of the sheet and its fixings
    resonances: tuple[tuple[str, Check], ...]  # object number, its frequency beside the panel's
    asked: PanelLoads  # every load case at every part of it, and what foot and top must carry
    in_step: tuple[tuple[str, Check], ...] = ()  # object number, what the site asks of it where both sway in step

    def findings(self) -> tuple[Finding, ...]:
        """Return what is not ok: of the sheet, what rests on defaults as one, and all objects that sway in step."""
        subject = f"panel {self.name}"
        loud = tuple(finding_of(check, subject) for check in self.checks
                     if check.verdict in (Verdict.LOOK, Verdict.STOP))
        resting = unmeasured_finding(self.checks, subject)
        asked = tuple(finding_of(check, f"object {number}") for number, check in self.in_step
                      if check.verdict is Verdict.STOP)
        return (*loud, *((resting,) if resting else ()), *self._in_step(subject), *asked)

    def _in_step(self, subject: str) -> tuple[Finding, ...]:
        """Return the objects near one of the panel's frequencies as one finding, those carried along most first.

        An object's own frequency has its verdict already; only a step shared with the panel is news.
        """
        near = [(number, check) for number, check in self.resonances
                if check.verdict is Verdict.LOOK and check.margin is not None]
        if not near:
            return ()
        near.sort(key=lambda pair: pair[1].margin or 0.0)
        who = "; ".join(f"{number}, {check.note.split(' (damping')[0].removeprefix('object ')}"
                        for number, check in near)
        worst = near[0][1]
        return (Finding("post-resonance", subject, Verdict.LOOK,
                        f"{subject}: {len(near)} of {len(self.resonances)} objects sway within 0.7 to 1.4 times one of "
                        f"its frequencies: {who}",
                        "Walk by and look once it hangs; shorter or stiffer arms, firmer pads or a thicker rod move an "
                        "object away", worst.value, worst.limit, "times"),)


def _on(panel: PanelBrief, placed: Sequence[PlacedObject]) -> list[PlacedObject]:
    return [item for item in placed
            if item.stand is not None and item.plan is not None and item.stand.panel == panel.name]


def _stages(items: Sequence[PlacedObject]) -> list[int]:
    """Return when each is hung: by the case's order where it has one, all at once otherwise."""
    orders = sorted({item.order for item in items if item.order is not None})
    return [orders.index(item.order) if item.order is not None else 0 for item in items]


def panel_report(panel: PanelBrief, placed: Sequence[PlacedObject], rules: Rulebook, case: CaseBrief | None = None
                 ) -> PanelReport:
    """Return what one panel says under the objects that stand on it.

    case  says what the site asks; None: footfall alone
    """
    items = _on(panel, placed)
    loads, resonances = [], []
    for item, stage in zip(items, _stages(items)):
        hole = item.hole()
        if hole is None or item.plan is None:
            continue
        loads.append(load_of(replace(item.plan, hole=hole), panel, stage))
    modes = panel_modes_Hz(panel, tuple(loads), rules)
    for item in items:
        if item.plan is not None:
            post = item.plan.post
            resonances.append((item.number, resonance_check(post.frequency_Hz, modes, rules.post)))
    asked = panel_loads(panel, tuple(loads), rules, case)
    return PanelReport(panel.name, tuple(loads), (*judge_panel(panel, tuple(loads), rules), *asked.checks),
                       tuple(resonances), asked,
                       _asked_in_step(items, modes, case, rules))


def _asked_in_step(items: Sequence[PlacedObject], panel_Hz: tuple[float, ...], case: CaseBrief | None,
                   rules: Rulebook) -> tuple[tuple[str, Check], ...]:
    """What the code asks of each object beyond what its hold was made for, since it sways in step with its panel."""
    if case is None or case.spectral_g is None or not panel_Hz:
        return ()
    found = []
    for item in items:
        if item.plan is None or item.hold is None:
            continue
        asked = [shake_of(case, item.plan.post.frequency_Hz, mode, in_step_ratio=rules.loads.in_step_ratio)
                 for mode in panel_Hz]
        shake = max(asked, key=lambda one: one.greatest_g)
        if shake.greatest_g > demanded_g(case) + 1e-9:
            found.append((item.number, at_least("site-in-step", item.hold.margin_g, shake.greatest_g, "g", shake.source,
                                                note=f"object {item.number}: {shake.words}")))
    return tuple(found)


def panel_reports(placed: Sequence[PlacedObject], case: CaseBrief, rules: Rulebook) -> tuple[PanelReport, ...]:
    """Return one report a panel of the case, bare ones included."""
    return tuple(panel_report(panel, placed, rules, case) for panel in case.panels)




def row_findings(placed: Sequence[PlacedObject], rules: Rulebook) -> tuple[Finding, ...]:
    """Return the rows of a face in which one object sinks visibly more than another.

    A row is read by the eye as a line: not the droop itself but the difference along it shows, and of that only what is
    not bent away before the objects hang.
    """
    rows: list[list[tuple[FacePosition, PlacedObject]]] = []
    standing = [(item.stand, item) for item in placed if item.stand is not None and item.plan is not None]
    for stand, item in sorted(standing, key=lambda pair: (pair[0].panel, pair[0].face, pair[0].y_mm)):
        last = rows[-1][-1][0] if rows else None
        if last is not None and (last.panel, last.face) == (stand.panel, stand.face) and (
                stand.y_mm - last.y_mm <= rules.case.same_row_mm):
            rows[-1].append((stand, item))
        else:
            rows.append([(stand, item)])
    return tuple(found for row in rows for found in _uneven([item for _, item in row], rules.post.row_difference_mm))


def _stays_off_mm(post: Post) -> float:
    """How far an object may come to sink after it was trimmed: what years add, and what its pre-set leaves in doubt."""
    return post.droop_mm if post.preset is None else post.preset.creep_mm + post.preset.left_mm


def _uneven(row: list[PlacedObject], limit_mm: float) -> tuple[Finding, ...]:
    droops = [(_stays_off_mm(item.plan.post), item.number) for item in row if item.plan is not None]
    (least, high), (most, low) = min(droops), max(droops)
    if most - least <= limit_mm:
        return ()
    return (Finding("row-uneven", f"objects {high} and {low}", Verdict.LOOK,
                    f"objects {high} and {low} stand in one row and sink {most - least:.1f} mm differently",
                    f"Set object {low} {most - least:.1f} mm higher, or give it a thicker rod or stiffer arms",
                    most - least, limit_mm, "mm"),)


def panel_findings(placed: Sequence[PlacedObject], case: CaseBrief, rules: Rulebook,
                   reports: Sequence[PanelReport] | None = None) -> tuple[Finding, ...]:
    """Return everything that is not ok about the case's panels, and rows that sink unevenly.

    reports  of the panels where they are known already
    """
    known = panel_reports(placed, case, rules) if reports is None else reports
    sheets = (finding for report in known for finding in report.findings())
    return (*sheets, *row_findings(placed, rules))
