"""The schedule: one line an object, panel by panel, as pages and as a table for spreadsheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

from scanprep.case.lists.schedule_rows import ScheduleRow
from scanprep.papers.drawing.listing import list_sheets, stretched_columns
from scanprep.papers.drawing.measures import Measures, angle, clock
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.sheet import Sheet
from scanprep.papers.drawing.tables import Table


def _length(value_mm: float | None, measures: Measures, fine: bool = False) -> str:
    if value_mm is None:
        return "–"
    return measures.fine(value_mm) if fine else measures.length(value_mm)


def _cells(row: ScheduleRow, measures: Measures) -> list[str]:
    place = "–" if row.panel is None else f"{row.panel} {row.face}"
    angles = "–" if row.attitude is None else (
        f"{row.attitude} " + " ".join(f"{name} {angle(value)}" for name, value in (
            ("tilt", row.tilt_deg), ("turn", row.turn_deg), ("roll", row.roll_deg)) if value))
    rod = "–" if row.rod is None else f"{row.rod} (⌀ {_length(row.diameter_mm, measures, True)})"
    return [row.object, row.title, place, row.hole or "–", _length(row.x_mm, measures, True),
            _length(row.y_mm, measures, True), angles.strip(), "–" if row.mass_g is None else f"{row.mass_g:.0f}", rod,
            _length(row.stand_off_mm, measures), _length(row.cut_length_mm, measures),
            "–" if row.clock_deg is None else clock(row.clock_deg), row.drill or "–", _length(row.depth_mm, measures),
            row.stage, (row.release or "–").upper(), row.verdict.upper()]


def schedule_sheets(rows: Sequence[ScheduleRow], issue: Issue) -> list[Sheet]:
    """Return the schedule as landscape pages."""
    shares = (("object", 19, "start"), ("title", 46, "start"), ("face", 16, "start"), ("hole", 11, "start"),
              ("X", 13, "end"), ("Y", 15, "end"), ("attitude", 34, "start"), ("g", 10, "end"), ("rod", 21, "start"),
              ("off", 10, "end"), ("cut", 10, "end"), ("12 at", 14, "end"), ("drill", 14, "start"),
              ("depth", 11, "end"), ("stage", 15, "start"), ("hole is", 17, "start"), ("verdict", 20, "start"))
    return list_sheets(
        issue, "Schedule", f"{len(rows)} objects", "Schedule of objects",
        lambda width: stretched_columns(width, shares), [_cells(row, issue.measures) for row in rows],
        notes=(f"Lengths in {issue.measures.name}; X and Y from the datum corner, lower left on face A, lower right on "
               "face B. Drill from the templates and ordinate tables, never from this list. off: stand-off, panel "
               "to the object; g: mass in grams; 12 at: where the 12 o'clock mark points.",),
        landscape=True, height_mm=1.65)


def schedule_table(rows: Sequence[ScheduleRow]) -> Table:
    """Return the schedule for CSV and XLSX."""
    heads = tuple(field.name for field in fields(ScheduleRow))
    return Table("schedule", heads, tuple(tuple(getattr(row, head) for head in heads) for row in rows))
