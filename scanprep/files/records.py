"""A mount specification as a JSON document, versioned, with a published schema.

The survey's coordinates are in the scan's own axes scaled to mm, so that anyone can verify them against the file; hold
and post coordinates are in the display frame with the origin at the centre of mass. Keys carry their units.
"""

from __future__ import annotations

import json
import math
from importlib import resources
from typing import Any

from scanprep.findings import Check, Verdict
from scanprep.hold.records import Arm, Hold, Refusal, Tip
from scanprep.interval import Interval
from scanprep.plain_values import to_plain
from scanprep.post.records import PostNeed, PostPlan
from scanprep.spec import MountSpec
from scanprep.survey.records import Showing, Survey

SPEC_NUMBER = 3  # format: of the published schema
SCHEMA = f"scanprep:mount-spec:{SPEC_NUMBER}"


def spec_schema(number: int = SPEC_NUMBER) -> dict[str, Any]:
    """Return the published JSON Schema of `spec.json`, today's or an earlier one that files out there may have."""
    text = resources.files("scanprep.schema").joinpath(f"mount-spec-{number}.json").read_text(encoding="utf-8")
    schema: dict[str, Any] = json.loads(text)
    return schema


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None


def _interval(value: Interval) -> dict[str, float]:
    return {"low": value.low, "best": value.best, "high": value.high}


def _check(check: Check) -> dict[str, Any]:
    return {**to_plain(check), "value": _finite(check.value), "limit": _finite(check.limit),
            "margin": _finite(check.margin)}


def _showing(showing: Showing) -> dict[str, Any]:
    return {"up": list(showing.up), "front": list(showing.front), "kind": showing.kind, "why": showing.why}


def _survey(survey: Survey) -> dict[str, Any]:
    foot = survey.footprint
    upright = survey.upright
    return {
        "volume_mm3": _interval(survey.volume_mm3),
        "area_mm2": survey.area_mm2,
        "mass_g": _interval(survey.mass_g),
        "mass_basis": survey.mass_basis,
        "mass_measured": survey.mass_measured,
        "centre_of_mass_mm": {"best": list(survey.centre_of_mass_mm), "radius": survey.centre_radius_mm},
        "inertia_g_mm2": survey.inertia_g_mm2.tolist(),
        "extents_mm": list(survey.extents_mm),
        "size_mm": list(survey.size_mm),
        "scale_error_ratio": survey.scale_error_ratio,
        "footprint": {
            "area_mm2": foot.area_mm2,
            "polygon_mm": to_plain(foot.polygon_mm),
            "tip_angle_deg": foot.tip_angle_deg,
            "kind": foot.kind,
        },
        "upright": {"up": list(upright.up), "reason": upright.reason, "sure": upright.sure},
        "front": {"direction": list(survey.front), "reason": survey.front_reason},
        "shown": _showing(survey.shown),
        "choices": [_showing(one) for one in survey.choices],
        "rests": to_plain(survey.rests),
        "axis": to_plain(survey.axis),
        "mirrors": to_plain(survey.mirrors),
        "mean_colour": list(survey.mean_colour),
    }


def _arm(arm: Arm) -> dict[str, Any]:
    return {
        "arm_length_mm": arm.developed_length_mm,
        "wire_mm": arm.wire_mm,
        "paint": arm.paint,
        "arm": {
            "path_mm": arm.path_mm.tolist(),
            "pieces_mm": [piece.tolist() for piece in arm.pieces_mm],
            "thin_end": to_plain(arm.thin),
            "flat_bar": {"wide_mm": arm.wide_mm, "lip_mm": arm.lip_mm} if arm.wide_mm else None,
            "strip": to_plain(arm.strip),
            "bends": to_plain(arm.bends),
            "stress_MPa": arm.stress_MPa,
            "deflection_mm": arm.deflection_mm,
            "stiffness_N_per_mm": arm.stiffness_N_per_mm,
            "paint_lab": list(arm.paint_lab),
            "note": arm.note,
        },
    }


def _tip(tip: Tip) -> dict[str, Any]:
    return {
        "point_mm": list(tip.point_mm),
        "normal": list(tip.normal),
        "kind": tip.kind,
        "bearing": tip.bearing,
        "force_N": tip.force_N,
        "force_limit_N": tip.force_limit_N,
        "friction": tip.friction,
        "pad": tip.pad,
        "pad_radius_mm": tip.pad_radius_mm,
        "pad_thickness_mm": tip.pad_thickness_mm,
        "needed": tip.needed,
        "faces": to_plain(tip.faces) if tip.faces else [
            {"point_mm": list(tip.point_mm), "normal": list(tip.normal), "force_limit_N": tip.force_limit_N,
             "radius_mm": tip.pad_radius_mm}],
        **_arm(tip.arm),
    }


def _attitude(hold: Hold | Refusal) -> dict[str, Any]:
    attitude = hold.attitude
    return {
        "name": attitude.name,
        "tilt_deg": attitude.tilt_deg,
        "turn_deg": attitude.turn_deg,
        "roll_deg": attitude.roll_deg,
        "rotation": attitude.rotation.tolist(),
        "reason": attitude.reason,
        "natural": attitude.natural,
    }


def _hold(hold: Hold) -> dict[str, Any]:
    opening = hold.opening
    return {
        "attitude": _attitude(hold),
        "family": hold.family,
        "why": hold.why,
        "tips": [_tip(tip) for tip in hold.tips],
        "hub": to_plain(hold.hub),
        "margin_g": hold.margin_g,
        "margin_low_friction_g": hold.margin_low_friction_g,
        "preload": hold.preload_ratio,
        "torque_capacity_Nmm": hold.torque_capacity_Nmm,
        "weight_on_normals_ratio": hold.weight_on_normals_ratio,
        "opening": None if opening is None else to_plain(opening),
        "hidden_fraction": hold.covered_share,
        "beside_share": hold.beside_share,
        "seen_share": hold.seen_share,
        "depth_mm": hold.depth_mm,
        "width_mm": hold.width_mm,
        "height_mm": hold.height_mm,
        "score": hold.score,
        "score_parts": dict(hold.score_parts),
        "checks": [_check(check) for check in hold.checks],
    }


def rods_told(need: PostNeed) -> dict[str, Any]:
    """Return what each stocked rod would do for the chosen hold, thin to thick, and which is the thinnest."""
    return {
        "thinnest": None if need.thinnest is None else need.thinnest.label,
        "governs": need.governs,
        "tried": [{"rod": rod.label, "diameter_mm": rod.diameter_mm,
                   "not_ok": [c.name for c in checks if c.verdict in (Verdict.LOOK, Verdict.STOP)]}
                  for rod, checks in need.by_rod],
    }


def load_table_told(plan: PostPlan) -> dict[str, Any] | None:
    """Return every load case at every part of an object: demand, resistance, rule, source, or why it does not apply."""
    if plan.table is None:
        return None
    weakest = next((check.note for check in plan.checks if check.name == "weakest-link"), "")
    return {"weakest": weakest, "gives_first": plan.table.gives_first, "cells": [
        to_plain(cell) | {"margin": None if cell.margin is None or math.isinf(cell.margin) else cell.margin}
        for cell in plan.table.cells]}


def causes_told(spec: MountSpec) -> list[dict[str, Any]]:
    """Return the findings by what causes them, each cause with what to do; findings by their place in the list."""
    return [{"cause": group.cause, "title": group.title, "verdict": group.verdict.value, "sentence": group.sentence,
             "remedy": group.remedy, "findings": sorted({spec.findings.index(found) for found in group.findings})}
            for group in spec.groups]


def spec_document(spec: MountSpec) -> dict[str, Any]:
    """Return a specification as plain values in the order of the published schema."""
    plan = spec.plan
    return {
        "schema": SCHEMA,
        "object": {"number": spec.number, "title": spec.title, "wish": to_plain(spec.brief)},
        "scan": to_plain(spec.scan),
        "survey": _survey(spec.survey),
        "holds": [_hold(hold) for hold in spec.holds.holds],
        "refusals": [
            {"attitude": _attitude(r), "reason": r.reason, "best_margin_g": r.best_margin_g, "advice": r.advice}
            for r in spec.holds.refusals
        ],
        "hold": spec.chosen,
        "chosen_by": spec.chosen_by,
        "rods": None if spec.need is None else rods_told(spec.need),
        "post": None if plan is None else to_plain(plan.post),
        "hole": None if plan is None else to_plain(plan.hole),
        "load_table": None if plan is None else load_table_told(plan),
        "checks": [_check(check) for check in spec.checks],
        "findings": to_plain(spec.findings),
        "causes": causes_told(spec),
        "cautions": list(spec.cautions),
        "session": spec.session,
        "revision": spec.revision,
    }


def spec_text(spec: MountSpec) -> str:
    """Return `spec.json` as text; the same specification gives the same bytes."""
    return json.dumps(spec_document(spec), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
