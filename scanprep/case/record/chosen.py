"""A chosen hold kept whole in the record, and what would come out differently now.

A choice is a decision about one definite piece of metal: attitude, tips, arms, hub and post axis as they were shown.
So all of it is kept as plain values, and neither a newer version, another machine nor a scan read anew replaces it.
What the search finds today stands next to it as a proposal. Display frame, mm. Used by the choose command, the fold
and the pipeline.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from scanprep.findings import Finding, Verdict
from scanprep.hold.records import Hold
from scanprep.plain_values import from_plain, to_plain
from scanprep.rules import CaseRules
from scanprep.spec import ScanFacts
from scanprep.survey.records import Survey
from scanprep.vectors import F64, vec3

_ROUNDED = 1e-6  # tolerance: of a share or a length in mm that went through text

#: format: Layout of a kept hold. Fields that later versions add have defaults, those they drop are passed over when
#: read.
KEPT_SCHEMA = 1


def kept_values(hold: Hold, survey: Survey, scan: ScanFacts) -> dict[str, Any]:
    """Return a hold as plain values for the record, with what it was judged by."""
    mass = survey.mass_g
    return {"schema": KEPT_SCHEMA, "hold": to_plain(hold), "judged": {
        "mass_g": [mass.low, mass.best, mass.high], "centre_of_mass_mm": list(survey.centre_of_mass_mm),
        "centre_radius_mm": survey.centre_radius_mm, "mm_per_unit": scan.mm_per_unit, "scan_sha256": scan.sha256}}


def same_choice(kept: Mapping[str, Any], hold: Hold) -> bool:
    """Return whether a hold is the one that a record keeps, as plain values: the same, or on a hub made for its post.

    Attitude, contacts, forces and family are the hold; hub, arms and what is judged of them follow from the post.
    """
    now = to_plain(hold)
    if kept == now:
        return True
    if kept.get("hub", {}).get("made_for") == now["hub"]["made_for"]:
        return False  # made for the same, and yet another
    return _before_its_hub(kept) == _before_its_hub(now)


def _before_its_hub(hold: Mapping[str, Any]) -> dict[str, Any]:
    made = ("hub", "opening", "attach_mm", "covered_share", "beside_share", "depth_mm", "checks", "findings")
    tips = [{key: value for key, value in tip.items() if key != "arm"} for tip in hold.get("tips", ())]
    return {**{key: value for key, value in hold.items() if key not in made}, "tips": tips}


@dataclass(frozen=True, slots=True, eq=False)
class KeptHold:
    """A chosen hold as read from the record, in today's display frame, and what has changed beneath it."""

    hold: Hold
    findings: tuple[Finding, ...]


def read_kept(kept: Mapping[str, Any], survey: Survey, scan: ScanFacts, number: str) -> KeptHold | None:
    """Return a kept hold for an object as it is known today; None where this version cannot read it.

    The display frame begins at the centre of mass. Where that has moved since (a wall was measured, a scan read anew)
    the hold stays on the object and its coordinates follow. A larger mass or a centre outside the doubt it was judged
    with is a stop: its gates were not judged for that.
    """
    try:
        hold: Hold = from_plain(Hold, _known(Hold, kept["hold"]))
        judged = kept["judged"]
        was = np.asarray(judged["centre_of_mass_mm"], dtype=np.float64)
        high_g, radius = float(judged["mass_g"][2]), float(judged["centre_radius_mm"])
    except (KeyError, TypeError, ValueError, IndexError):
        return None
    shift = hold.attitude.rotation @ (was - np.asarray(survey.centre_of_mass_mm))
    subject, found = f"object {number}", []
    choose = "Choose its hold again, or put the old value back"
    if survey.mass_g.high > high_g * (1 + CaseRules().same_mass_share):
        found.append(Finding("hold-judged-lighter", subject, Verdict.STOP,
                             f"{subject}: its hold was chosen and judged for at most {high_g:.1f} g; it may now weigh "
                             f"{survey.mass_g.high:.1f} g", choose, survey.mass_g.high, high_g, "g"))
    moved = float(np.linalg.norm(shift))
    kept_within = max(radius, CaseRules().same_hold_mm)
    if moved > kept_within:
        found.append(Finding("hold-judged-elsewhere", subject, Verdict.STOP,
                             f"{subject}: its centre of mass lies {moved:.1f} mm from where its hold was judged",
                             choose, moved, kept_within, "mm"))
    if abs(float(judged.get("mm_per_unit", scan.mm_per_unit)) / scan.mm_per_unit - 1) > _ROUNDED:
        found.append(Finding("hold-other-scale", subject, Verdict.STOP,
                             f"{subject}: its scan has another size than when its hold was chosen", choose))
    elif str(judged.get("scan_sha256", scan.sha256)) != scan.sha256:
        found.append(Finding("hold-other-scan", subject, Verdict.LOOK,
                             f"{subject}: its scan is another file than when its hold was chosen; the hold is kept",
                             "Look at it on the new scan"))
    return KeptHold(hold if moved < _ROUNDED else shifted(hold, shift), tuple(found))


def shifted(hold: Hold, by_mm: F64) -> Hold:
    """Return a hold with every coordinate moved by a vector; directions, lengths and forces stay."""
    def point(value: Any) -> Any:
        return vec3(np.asarray(value) + by_mm)

    tips = tuple(dataclasses.replace(
        tip, point_mm=point(tip.point_mm),
        faces=tuple(dataclasses.replace(face, point_mm=point(face.point_mm)) for face in tip.faces),
        arm=dataclasses.replace(tip.arm, path_mm=tip.arm.path_mm + by_mm,
                                pieces_mm=tuple(piece + by_mm for piece in tip.arm.pieces_mm))) for tip in hold.tips)
    return dataclasses.replace(hold, tips=tips, attach_mm=point(hold.attach_mm),
                               hub=dataclasses.replace(hold.hub, centre_mm=point(hold.hub.centre_mm)),
                               back_mm=hold.back_mm + float(by_mm[2]))


def hold_differences(kept: Hold, now: Hold) -> tuple[str, ...]:
    """Return what differs between a kept hold and what comes out now, as phrases; empty where they are one.

    Tips are compared each with the nearest one of the other, since their order means nothing.
    """
    told, same_mm = [], CaseRules().same_hold_mm
    if len(kept.tips) != len(now.tips):
        told.append(f"{len(now.tips)} tips instead of {len(kept.tips)}")
    elif kept.tips:
        ours, theirs = (np.array([tip.point_mm for tip in hold.tips]) for hold in (kept, now))
        apart = np.linalg.norm(ours[:, None] - theirs[None], axis=2)
        away = float(apart.min(axis=1).max())
        told += [f"a tip {away:.1f} mm elsewhere"] if away > same_mm else []
        longer = [now.tips[int(j)].arm.developed_length_mm - kept.tips[i].arm.developed_length_mm
                  for i, j in enumerate(apart.argmin(axis=1))]
        most = max(longer, key=abs)
        told += [f"an arm {abs(most):.1f} mm {'longer' if most > 0 else 'shorter'}"] if abs(most) > same_mm else []
        if sorted(t.arm.wire_mm for t in kept.tips) != sorted(t.arm.wire_mm for t in now.tips):
            told.append("other wire")
    if kept.hub.kind != now.hub.kind:
        told.append(f"a {now.hub.kind} hub instead of a {kept.hub.kind}")
    for name, axis, more, less in (("post", 0, "right", "left"), ("post", 1, "higher", "lower"),
                                   ("hub", 2, "further from the panel", "nearer to the panel")):
        by = now.attach_mm[axis] - kept.attach_mm[axis]
        told += [f"the {name} {abs(by):.1f} mm {more if by > 0 else less}"] if abs(by) > same_mm else []
    return tuple(told)


def other_now(number: str, differences: tuple[str, ...]) -> Finding:
    """Return the finding that offers what would now come out next to the kept hold."""
    subject = f"object {number}"
    return Finding("hold-would-differ", subject, Verdict.LOOK,
                   f"{subject}: its chosen hold is kept; found anew it would have {', '.join(differences)}",
                   "Compare them with `scanprep holds`; choosing the new one lets agreements to the old one lapse")


def unreadable(number: str) -> Finding:
    """Return the finding about a kept hold that this version cannot read."""
    subject = f"object {number}"
    return Finding("hold-unreadable", subject, Verdict.STOP,
                   f"{subject}: its chosen hold was kept by a version whose layout this one cannot read",
                   "Use the version of scanprep that wrote it, or choose its hold again")


def _known(hint: Any, value: Any) -> Any:
    """Plain values without the fields that today's records no longer have."""
    origin = typing.get_origin(hint)
    if origin in (typing.Union, types.UnionType):
        return None if value is None else _known(next(h for h in typing.get_args(hint) if h is not type(None)), value)
    if origin is tuple and isinstance(value, list):
        items = typing.get_args(hint)
        if len(items) == 2 and items[1] is Ellipsis:
            return [_known(items[0], item) for item in value]
        return [_known(h, item) for h, item in zip(items, value)]
    if dataclasses.is_dataclass(hint) and isinstance(hint, type) and isinstance(value, dict):
        hints = typing.get_type_hints(hint)
        return {key: _known(hints[key], item) for key, item in value.items() if key in hints}
    return value
