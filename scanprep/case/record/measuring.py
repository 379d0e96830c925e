"""What was measured at the bench, put on record: rods, test holes, sheets, masses, pads.

A measurement on record stands before what the case file or the checklist says, until that is changed after it: the
last word counts. Every reading is kept; the value that counts is worked out from them here. mm and g.
"""

from __future__ import annotations

import statistics
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from scanprep.brief import CaseBrief, CouponResult, RodMeasured
from scanprep.case.record.entry import NewEntry
from scanprep.case.record.state import CaseState, Measured
from scanprep.errors import RecordError
from scanprep.plain_values import from_plain
from scanprep.post.drill import drill_name, greatest_thickness_mm, least_thickness_mm, parse_drill
from scanprep.post.plan import find_rod, rod_label
from scanprep.rules import CaseRules, PostRules


def measured_rod(state: CaseState, label: str, readings_mm: Sequence[float], reason: str = "") -> tuple[NewEntry, ...]:
    """Put a rod's diameter on record, read at one or more places; the spread of readings becomes its tolerance."""
    rod = find_rod(label)
    best = _mean("rod", label, readings_mm)
    if abs(best - rod.diameter_mm) > PostRules().misread_mm:
        raise RecordError(f"rod {rod.label}: {best:.3f} mm is far from its {rod.diameter_mm:.3f} mm. Read it again, or "
                          "name the rod that it is")
    values = {"diameter_mm": round(best, 4), "tolerance_mm": round(_half_spread(readings_mm), 4),
              "readings_mm": [float(r) for r in readings_mm]}
    return _measured(state, None, "rod", rod.label, values, reason)


def measured_hole(state: CaseState, drill: str, readings_mm: Sequence[float], reason: str = "", note: str = "",
                  more: Mapping[str, Any] | None = None, which: int = 1) -> tuple[NewEntry, ...]:
    """Put a test hole on record: its drill and the hole it made, read at mouth and depth or in several holes.

    more   further fields of a coupon's result: line_mm, push_N, twist_Nmm, pull_N
    which  of several coupons of one drill; the first of a new series takes the place of the whole series before
    """
    found = parse_drill(drill)
    best = _mean("test hole", drill, readings_mm)
    off = best - found.diameter_mm
    if abs(off) > PostRules().misread_mm:
        raise RecordError(f"test hole of drill {drill_name(found)}: {best:.2f} mm is {abs(off):.2f} mm "
                          f"{'wider' if off > 0 else 'narrower'} than its drill. Read it again, or name the drill that "
                          "made it")
    spread_mm = max(_half_spread(readings_mm), 2 * CaseRules().reading_mm)
    values = {"hole_mm": round(best, 4), "spread_mm": round(spread_mm, 4),
              "note": note, "readings_mm": [float(r) for r in readings_mm], **(more or {})}
    name = drill_name(found) if which == 1 else f"{drill_name(found)} ({which})"
    return _measured(state, None, "test hole", name, values, reason, series=True)


def measured_sheet(state: CaseState, case: CaseBrief, panel: str, readings_mm: Sequence[float],
                   reason: str = "") -> tuple[NewEntry, ...]:
    """Put a sheet's thickness on record, read where the holes go; the least reading counts."""
    sheet = next((p for p in case.panels if p.name == panel), None)
    if sheet is None:
        raise RecordError(f"{panel!r} is no panel of this case (there are: "
                          f"{', '.join(p.name for p in case.panels) or 'none yet'})")
    _mean("sheet", panel, readings_mm)
    least, most = min(readings_mm), max(readings_mm)
    if not sheet.thickness_measured:
        low, high = (f(sheet.thickness_mm, False) for f in (least_thickness_mm, greatest_thickness_mm))
        if not low <= least <= most <= high and not reason.strip():
            raise RecordError(f"sheet {panel}: {least:g} to {most:g} mm is outside what a cast sheet of "
                              f"{sheet.thickness_mm:g} mm may be ({low:g} to {high:g}). Read it again, or give a "
                              "reason")
    values = {"thickness_mm": float(least), "readings_mm": [float(r) for r in readings_mm]}
    return _measured(state, None, "sheet", panel, values, reason)


def weighed(state: CaseState, number: str, mass_g: float, reason: str = "") -> tuple[NewEntry, ...]:
    """Put an object's mass on record."""
    _on_record(state, number)
    if not mass_g > 0:
        raise RecordError(f"object {number}: a mass is above 0 g, not {mass_g:g} g")
    return _measured(state, number, "mass", number, {"mass_g": float(mass_g)}, reason)


def named_pad(state: CaseState, number: str, pad: str, reason: str = "") -> tuple[NewEntry, ...]:
    """Put on record which pad the conservator named for an object."""
    _on_record(state, number)
    return _measured(state, number, "pad", number, {"pad": pad}, reason)


def _on_record(state: CaseState, number: str) -> None:
    if number not in state.objects:
        raise RecordError(f"object {number} is not on record. Take it in with `scanprep intake`")


def _mean(what: str, name: str, readings_mm: Sequence[float]) -> float:
    if not readings_mm or min(readings_mm) <= 0:
        raise RecordError(f"{what} {name}: give at least one reading above 0 mm")
    return statistics.fmean(readings_mm)


def _half_spread(readings_mm: Sequence[float]) -> float:
    return max((max(readings_mm) - min(readings_mm)) / 2, CaseRules().reading_mm)


def _measured(state: CaseState, number: str | None, what: str, name: str, values: dict[str, Any],
              reason: str, series: bool = False) -> tuple[NewEntry, ...]:
    before = state.measured.get((what, name))
    if before is not None and dict(before.values) == values and not series:
        return ()
    if state.signed_off is not None and not reason.strip():
        raise RecordError(f"the case was signed off by {state.signed_off.person}: a new measurement of {what} {name} "
                          "needs a reason. Say --reason")
    return (NewEntry("measured", number, {"what": what, "name": name, "values": values}, reason),)


def drill_of(name: str) -> str:
    """Return the drill of a test hole by its name on record: `#40 (2)` is the second of drill #40."""
    return name.partition(" (")[0]


def with_measured(case: CaseBrief, measured: Mapping[tuple[str, str], Measured]) -> CaseBrief:
    """Return a case with the record's measurements in place of what its file says of the same rod, drill or sheet."""
    by_kind: dict[str, dict[str, Mapping[str, Any]]] = {"rod": {}, "test hole": {}, "sheet": {}}
    for (what, name), one in measured.items():
        if what in by_kind:
            by_kind[what][name] = {k: v for k, v in one.values.items() if k != "readings_mm"}
    rods, holes, sheets = by_kind["rod"], by_kind["test hole"], by_kind["sheet"]
    drills = {drill_of(name) for name in holes}
    pushed = {drill_of(name) for name, values in holes.items() if values.get("push_N") is not None}
    return replace(
        case,
        measured_rods=(*(r for r in case.measured_rods if rod_label(r.label) not in rods),
                       *(from_plain(RodMeasured, {"label": name, **values}) for name, values in rods.items())),
        # a hole measured anew says nothing against the forces of coupons that were pushed; a new series does
        coupons=(*(c for c in case.coupons if drill_name(parse_drill(c.drill)) not in drills
                   or (c.push_N is not None and drill_name(parse_drill(c.drill)) not in pushed)),
                 *(from_plain(CouponResult, {"drill": drill_of(name), **values}) for name, values in holes.items())),
        panels=tuple(replace(p, thickness_mm=float(sheets[p.name]["thickness_mm"]), thickness_measured=True)
                     if p.name in sheets else p for p in case.panels))
