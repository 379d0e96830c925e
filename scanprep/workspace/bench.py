"""The engineering note of a case folder: every placed post and every panel, put together from what was computed."""

from __future__ import annotations

from scanprep.case.check.panels import panel_reports
from scanprep.panel.engineer_page import engineer_page
from scanprep.panel.engineering import EngineeringNote, engineering_note
from scanprep.workspace.batch import CaseResult
from scanprep.workspace.folder import CaseFolder


def case_note(folder: CaseFolder, done: CaseResult) -> EngineeringNote:
    """Return the note: one row an object that has a post, one a panel, and a page a panel for the engineer."""
    plans = {number: spec.plan for number, spec in done.specs.items() if spec.plan is not None}
    reports = panel_reports(done.placed, folder.case, folder.rules)
    panels = {report.name: report.checks for report in reports}
    on = {item.number: item.stand.panel for item in done.placed if item.stand is not None}
    briefs = {panel.name: panel for panel in folder.case.panels}
    pages = [engineer_page(briefs[report.name], report.loads, report.asked,
                           {number: plan for number, plan in plans.items() if on.get(number) == report.name},
                           folder.case) for report in reports]
    return engineering_note(folder.case.title, plans, panels, folder.rules, folder.case,
                            [number for number in folder.state.objects if number not in plans], pages)
