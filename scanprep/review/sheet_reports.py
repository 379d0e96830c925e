"""What each panel says under its objects, kept between decisions and worked out again only where its load changed.

A panel's chain of loads takes a tenth of a second an object, too long to wait for at the table: a decision is shown at
once with what its panel said before, marked as being worked out, and the new report follows. Used by `desk`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.brief import CaseBrief
from scanprep.case.check.panels import PanelReport, panel_report
from scanprep.case.placed import PlacedObject
from scanprep.rules import Rulebook

Load = tuple[object, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SheetJob:
    """A panel to be worked out, with what stands on it."""

    panel: str
    load: Load
    placed: tuple[PlacedObject, ...]

    def report(self, case: CaseBrief, rules: Rulebook) -> PanelReport:
        """Return what the panel says; reads nothing that may change meanwhile."""
        sheet = next(panel for panel in case.panels if panel.name == self.panel)
        return panel_report(sheet, self.placed, rules, case)


def _load_of(name: str, placed: Sequence[PlacedObject]) -> Load:
    """Return what a panel's report rests on: where which post stands with what on it."""
    return tuple((item.number, item.stand, item.order, item.plan.post, item.plan.hole.depth_mm, item.hole_state)
                 for item in placed if item.stand is not None and item.stand.panel == name and item.plan is not None)


class SheetReports:
    """The last report of every panel."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[Load, PanelReport]] = {}

    def known(self, case: CaseBrief) -> tuple[PanelReport, ...]:
        """Return the last report of each panel that has one, also where its load has changed since."""
        return tuple(self._kept[panel.name][1] for panel in case.panels if panel.name in self._kept)

    def waiting(self, case: CaseBrief, placed: Sequence[PlacedObject]) -> tuple[SheetJob, ...]:
        """Return the panels whose load is another than in their last report."""
        jobs = (SheetJob(panel.name, _load_of(panel.name, placed), tuple(placed)) for panel in case.panels)
        return tuple(job for job in jobs if job.panel not in self._kept or self._kept[job.panel][0] != job.load)

    def take(self, job: SheetJob, report: PanelReport) -> None:
        """Keep a report as that of the load it was made for."""
        self._kept[job.panel] = (job.load, report)

    def forget(self) -> None:
        """Drop all reports: the case file or the rules changed."""
        self._kept.clear()
