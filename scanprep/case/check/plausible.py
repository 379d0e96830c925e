"""Figures of a case that nobody means: a slip of the unit or of a digit in panels, heights, rods and site.

Nothing here is refused: an odd case may be meant, and a person says so by looking. Limits stand in the rulebook.
Used by `case.lists` with the other findings of the whole case.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.placed import PlacedObject
from scanprep.findings import Finding, Verdict
from scanprep.rules import CaseRules, Rulebook

_SLIP = "Look for a slip of the unit (mm, cm, in, m) or of a digit in case.toml; where it is meant, ask the engineer"


def plausibility_findings(placed: Sequence[PlacedObject], case: CaseBrief, rules: Rulebook) -> tuple[Finding, ...]:
    """Return what lies outside what such cases are built of: sheets, floors, eyes, shaking, and holes against sheets.

    placed  all objects; those with a post and a place bring their holes
    """
    found = [finding for panel in case.panels for finding in _panel(panel, case, rules.case)]
    found += _outside("case", "eye-height", ((f"eye height {mm:g} mm", mm) for mm in case.eye_heights_mm),
                      rules.case.least_eye_mm, rules.case.most_eye_mm, "mm")
    shakes = [("acceleration", case.acceleration_g), *((n, g) for n, g in (
        ("spectral", case.spectral_g), ("vertical", case.vertical_g)) if g is not None)]
    found += _outside("case", "site-shake", ((f"{name} {g:g} g", g) for name, g in shakes), 0.0,
                      rules.case.most_shake_g, "g")
    return (*found, *(finding for panel in case.panels for finding in _holes(panel, placed)))


def _panel(panel: PanelBrief, case: CaseBrief, rules: CaseRules) -> Iterator[Finding]:
    subject = f"panel {panel.name}"
    least = 0.0 if case.mock_up else rules.least_sheet_mm  # a mock-up is of thin sheet
    yield from _outside(subject, "sheet-thickness", [(f"thickness {panel.thickness_mm:g} mm", panel.thickness_mm)],
                        least, rules.most_sheet_mm, "mm")
    sides = [(f"{name} {mm:g} mm", mm) for name, mm in (("width", panel.width_mm), ("height", panel.height_mm))]
    yield from _outside(subject, "panel-size", sides, rules.least_panel_mm, rules.most_panel_mm, "mm")
    yield from _outside(subject, "panel-above-floor", [(f"stands at {panel.stands_at_mm:g} mm", panel.stands_at_mm)],
                        -rules.most_floor_mm, rules.most_floor_mm, "mm")


def _outside(subject: str, code: str, values: Iterable[tuple[str, float]], low: float, high: float,
             unit: str) -> Iterator[Finding]:
    for words, value in values:
        if not low <= value <= high:
            yield Finding(f"implausible-{code}", subject, Verdict.LOOK,
                          f"{subject}: {words} lies outside the usual {low:g} to {high:g} {unit}", _SLIP, value,
                          high if value > high else low, unit)


def _holes(panel: PanelBrief, placed: Sequence[PlacedObject]) -> Iterator[Finding]:
    """A sheet thinner than the holes in it are wide is mostly a slip of the unit: no such hole holds a post."""
    wide = [(item.plan.hole.drill_diameter_mm, item.number) for item in placed
            if item.plan is not None and item.stand is not None and item.stand.panel == panel.name]
    widest, number = max(wide, default=(0.0, ""))
    if widest > panel.thickness_mm:
        yield Finding("sheet-thinner-than-hole", f"panel {panel.name}", Verdict.STOP,
                      f"panel {panel.name}: {panel.thickness_mm:g} mm thick, thinner than the hole of object {number} "
                      f"is wide ({widest:.2f} mm)", _SLIP, panel.thickness_mm, widest, "mm")
