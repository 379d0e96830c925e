"""The survey as rows for people: what, how much, how sure, and what it rests on.

Pure text; lengths in mm or inches. Used by the command line's table and by papers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.interval import Interval
from scanprep.survey.records import Rest, Survey
from scanprep.units import format_length

#: Heads of the columns, in the order of `SurveyRow`.
HEADS = ("what", "value", "from .. to", "rests on")
_MOST_RESTS = 6  # layout: rests that a row of the survey names
_SQUARELY = 0.92  # tolerance: cosine, 23 degrees: turned further, two sides are named
#: Sides of the object frame (x right, y up, z to the viewer), the negative one first.
_SIDES = (("left side", "right side"), ("base", "top"), ("back", "front"))


@dataclass(frozen=True, slots=True)
class SurveyRow:
    """One line: what was measured, its value, its doubt, and what it rests on."""

    what: str
    value: str
    doubt: str
    basis: str


def survey_rows(survey: Survey, units: str = "mm") -> tuple[SurveyRow, ...]:
    """Return the survey as lines, the most wanted first. units: "mm" or "in"."""
    return (*_sizes(survey, units), *_weight(survey, units), *_standing(survey, units), *_form(survey, units))


def _sizes(survey: Survey, units: str) -> list[SurveyRow]:
    doubt = f"± {100 * survey.scale_error_ratio:.2g} %" if survey.scale_error_ratio else ""
    names = ("width", "height", "depth")
    rows = [SurveyRow(name, format_length(size, units), doubt, "upright, seen from the front" if k == 0 else "")
            for k, (name, size) in enumerate(zip(names, survey.size_mm, strict=True))]
    rows.append(SurveyRow("diagonal", format_length(survey.diagonal_mm, units), "", "box along the scan's axes"))
    return rows


def _weight(survey: Survey, units: str) -> list[SurveyRow]:
    mass = survey.mass_g
    centre = ", ".join(format_length(x, units).split(" ")[0] if units == "mm" else format_length(x, units)
                       for x in survey.centre_of_mass_mm)
    return [
        SurveyRow("mass", _amount(mass.best, "g"), _span(mass, "g"), survey.mass_basis),
        SurveyRow("volume", _amount(survey.volume_mm3.best / 1000, "cm3"),
                  _span(survey.volume_mm3.scaled(1e-3), "cm3"), "inside the scan's skin"),
        SurveyRow("surface", _amount(survey.area_mm2 / 100, "cm2"), "", "caps included"),
        SurveyRow("centre of mass", centre, f"within {format_length(survey.centre_radius_mm, units)}", "scan axes"),
    ]


def _standing(survey: Survey, units: str) -> list[SurveyRow]:
    upright, foot = survey.upright, survey.footprint
    rows = [SurveyRow("up", _way(upright.up), "sure" if upright.sure else "ASK", upright.reason)]
    if foot.kind == "none":
        rows.append(SurveyRow("base", "none", "", "it does not stand by itself that way"))
    else:
        rows.append(SurveyRow("base", f"{foot.kind}, {foot.area_mm2 / 100:.3g} cm2",
                              f"tips at {foot.tip_angle_deg:.0f} deg", "hull of the touching points"))
    rows.append(SurveyRow("front", _way(survey.front), "", survey.front_reason))
    rows += [_rest_row(k, rest, survey, units) for k, rest in enumerate(survey.rests[:_MOST_RESTS], start=1)]
    if len(survey.rests) > _MOST_RESTS:
        rows.append(SurveyRow("further rests", str(len(survey.rests) - _MOST_RESTS), "", "less likely"))
    return rows


def _rest_row(k: int, rest: Rest, survey: Survey, units: str) -> SurveyRow:
    how = "rolls" if rest.tip_angle_deg <= 0 else f"tips at {rest.tip_angle_deg:.0f} deg"
    return SurveyRow(f"rest {k}", lies_on(rest, survey), how,
                     f"{100 * rest.share:.0f} % of landings, centre {format_length(rest.height_mm, units)} up, "
                     f"up {_way(rest.up)}")


def lies_on(rest: Rest, survey: Survey) -> str:
    """Return in words which side of the object is down in a rest, as a viewer sees it upright."""
    down = survey.to_object.directions(-np.asarray(rest.up))
    named = sorted(((abs(float(part)), _SIDES[axis][int(part > 0)]) for axis, part in enumerate(down)), reverse=True)
    if named[0][0] > _SQUARELY:
        return f"on its {named[0][1]}"
    return f"on its {named[0][1]} and {named[1][1]}"


def _form(survey: Survey, units: str) -> list[SurveyRow]:
    rows = []
    if survey.axis is not None:
        rows.append(SurveyRow("axis of revolution", _way(survey.axis.direction),
                              f"misfit {100 * survey.axis.residual_ratio:.1f} % of the radius", "turned onto itself"))
    rows += [SurveyRow("mirror plane", f"across {_way(plane.normal)}",
                       f"misfit {100 * plane.residual_ratio:.2f} % of the diagonal", "mirrored onto itself")
             for plane in survey.mirrors]
    wall = "none thin" if survey.wall_mm is None else format_length(survey.wall_mm, units)
    rows += [
        SurveyRow("wall", wall, "", "stated, or typical thickness of the thinner quarter"),
        SurveyRow("flatness", f"{survey.flatness_ratio:.2f}", "", "least over middle extent"),
        SurveyRow("slenderness", f"{survey.slenderness_ratio:.2f}", "", "middle over longest extent"),
        SurveyRow("mean colour", "#{:02x}{:02x}{:02x}".format(*survey.mean_colour), "", "sRGB, mean of light by area")
        if survey.coloured else SurveyRow("mean colour", "none", "", "the scan has no colours"),
    ]
    return rows


def cost(change: float, power: int) -> str:
    """Return what a repair changed, signed: mm2 or mm3 (power 2 or 3) in cm2 or cm3, nothing for nothing.

    >>> cost(-1234.0, 2), cost(0.0, 3)
    ('-12.3 cm2', '')
    """
    return f"{change / 10**power:+.3g} cm{power}" if change else ""


def _amount(value: float, unit: str) -> str:
    return f"{value:.4g} {unit}" if value < 1e4 else f"{value:.0f} {unit}"


def _span(value: Interval, unit: str) -> str:
    if value.low == value.high:
        return ""
    return f"{value.low:.4g} .. {value.high:.4g} {unit}"


def _way(direction: Sequence[float]) -> str:
    """Name a direction: +z where it is one within a degree, else three numbers."""
    for k, name in enumerate("xyz"):
        if abs(direction[k]) > 0.99985:
            return f"{'+' if direction[k] > 0 else '-'}{name}"
    return " ".join(f"{0.0 if abs(x) < 5e-3 else x:.2f}" for x in direction)
