"""What the survey's figures must agree with, and what a person must look at.

One small function a check; they are listed in `_CHECKS` and `_FINDINGS`. Used by `survey.measure` alone.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from scanprep.brief import KnownSize, ObjectBrief
from scanprep.findings import Check, Finding, Verdict, at_most
from scanprep.rules import Rulebook
from scanprep.scan.extents import readings
from scanprep.scan.mesh import Cleaned, Grade, Hollow
from scanprep.scan.ray_volume import Occupancy
from scanprep.survey.capping import ClosedBody
from scanprep.survey.mass import Weight
from scanprep.survey.records import Axis, Upright
from scanprep.survey.showing import Shown
from scanprep.vectors import F64, Vec3


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """What the judgements look at."""

    cleaned: Cleaned
    corners_mm: F64  # (n, 3) of the hull, scan axes
    brief: ObjectBrief
    body: ClosedBody
    weight: Weight
    hollow: Hollow
    inside: Occupancy
    upright: Upright
    axis: Axis | None
    front: Vec3
    shown: Shown
    rules: Rulebook

    @property
    def subject(self) -> str:
        """How findings name the object."""
        return f"object {self.brief.number}" if self.brief.number else f"scan {self.cleaned.scan.name}"


def survey_checks(m: Measured) -> tuple[Check, ...]:
    """Return every check of the survey."""
    return tuple(check for make in _CHECKS for check in make(m))


def survey_findings(m: Measured) -> tuple[Finding, ...]:
    """Return what a person must look at."""
    return tuple(finding for make in _FINDINGS for finding in make(m))


def _second_volume(m: Measured) -> list[Check]:
    off = abs(m.inside.volume_mm3 / m.body.closed_mm3 - 1) if np.isfinite(m.inside.volume_mm3) else np.inf
    return [at_most("volume-second-method", 100 * off, 100 * m.rules.survey.second_volume_ratio, "%",
                    "measured on known solids",
                    over=Verdict.LOOK, note="signed tetrahedra against counted crossings of plumb lines")]


def _second_centre(m: Measured) -> list[Check]:
    off = float(np.linalg.norm(m.inside.centre_mm - m.body.closed_centre_mm)) / m.body.diagonal_mm
    return [at_most("centre-second-method", 100 * (off if np.isfinite(off) else np.inf),
                    100 * m.rules.survey.second_centre_share, "% of diagonal", "measured on known solids",
                    over=Verdict.LOOK, note="the body's centre by both methods")]


def _volume_doubt(m: Measured) -> list[Check]:
    v = m.body.volume_mm3
    doubt = max(v.high - v.best, v.best - v.low) / v.best
    return [at_most("volume-doubt", 100 * doubt, 100 * m.rules.survey.volume_doubt_ratio, "%", "assumed",
                    over=Verdict.LOOK,
                    note="what capping and scale may cost; a second scan of the underside or a balance settles it")]


def _centre_doubt(m: Measured) -> list[Check]:
    share = m.weight.radius_mm / m.body.diagonal_mm
    return [at_most("centre-doubt", 100 * share, 100 * m.rules.hold.torque_diagonal_share, "% of diagonal",
                    "the torque gate's share", over=Verdict.LOOK,
                    measured=m.weight.measured or m.hollow.kind != "unknown",
                    note="how far the centre of mass may lie from where it is drawn")]


def _weighed(m: Measured) -> list[Check]:
    ratio = m.weight.weighed_ratio
    if ratio is None:
        return []
    off = max(ratio, 1 / ratio) if ratio > 0 else np.inf
    note = "weighed mass over the nearest end of volume x density: scale, material or walls of the scan"
    slip = off > m.rules.survey.slip_ratio
    if slip:
        told = m.weight.mass_g.best / ratio
        note = (f"weighed {m.weight.mass_g.best:.4g} g, the nearest that volume x density allows is {told:.4g} g: a "
                "slip of the unit or a digit, another material, or a scan of another size")
    return [at_most("weighed-against-volume", off, m.rules.survey.weighed_ratio, "times", "assumed",
                    over=Verdict.STOP if slip else Verdict.LOOK, note=note)]


def _one_piece(m: Measured) -> list[Check]:
    """Whether it is one stiff piece, as far as people have said: a mount clasps a shape, and what moves leaves it."""
    if not m.brief.moving and m.brief.pieces == 1:
        return []
    if m.brief.moving:
        return [at_most("moving-parts", 1.0, 0.0, "", "common practice",
                        note=f"its condition says {m.brief.moving!r}: a mount holds it as it was scanned, and what "
                             "moves leaves it; let the conservator fix or bear that part, scan it so, then take the "
                             "word out")]
    return [at_most("moving-parts", m.brief.pieces - 1.0, 0.0, "", "common practice", over=Verdict.LOOK,
                    note=f"{m.brief.pieces} parts are held as one: say what keeps each from sliding or lifting")]


def _sizes(m: Measured) -> list[Check]:
    """Known sizes against the object as it would be shown, which is how a person measures it.

    Where the scale rests on such a size alone, a misfit means that it was taken along another direction: all is wrong.
    """
    checks, limit = [], m.rules.survey.size_ratio
    for size in m.brief.sizes:
        found = _found_size_mm(m, size)
        if found is not None:
            alone = m.cleaned.scan.scale.from_sizes and size.kind in ("height", "width", "depth")
            off = abs(found / size.value_mm - 1)
            note = f"measured {found:.1f} mm, the checklist says {size.value_mm:.1f} mm"
            if alone and off > limit:
                note += "; the scale rests on it: say which way is up, or state the unit"
            checks.append(at_most(f"size-{size.kind}", 100 * off, 100 * limit, "%", "checklist",
                                  over=Verdict.STOP if alone else Verdict.LOOK, note=note))
    return checks


def _found_size_mm(m: Measured, size: KnownSize) -> float | None:
    per_unit = m.cleaned.scan.scale.mm_per_unit if size.kind == "distance" else 1.0
    shown = m.shown.showing
    found = readings(size, m.corners_mm, (np.asarray(shown.up), ""), shown.front)
    return min((each.value * per_unit for each in found), key=lambda mm: abs(mm - size.value_mm), default=None)


def _ask_up(m: Measured) -> list[Finding]:
    if not m.shown.ask_up:
        return []
    return [Finding("which-way-up", m.subject, Verdict.LOOK, f"{m.subject}: {m.shown.ask_up}",
                    f"Give `up` in the checklist, such as +y{_choices(m)}")]


def _ask_front(m: Measured) -> list[Finding]:
    if not m.shown.ask_front:
        return []
    return [Finding("which-side-front", m.subject, Verdict.LOOK, f"{m.subject}: {m.shown.ask_front}",
                    f"Give `front` in the checklist, such as +z{_choices(m)}")]


def _choices(m: Measured) -> str:
    """The choices as a checklist would give them."""
    if not m.shown.choices:
        return ""
    listed = [f"{number}) up {direction_words(one.up)} front {direction_words(one.front)}"
              for number, one in enumerate(m.shown.choices, 1)]
    return f"; choices: {'; '.join(listed)}"


def direction_words(way: Vec3) -> str:
    """Return a direction as a checklist gives it: three numbers."""
    return ",".join(f"{round(value, 2) + 0.0:.2f}" for value in way)


def _ask_mass(m: Measured) -> list[Finding]:
    if m.weight.measured:
        return []
    mass = m.weight.mass_g
    wide = mass.high / max(mass.low, 1e-9)
    if m.brief.material is None:
        return [Finding("mass-unknown", m.subject, Verdict.LOOK,
                        f"{m.subject}: neither mass nor material is known, so it may weigh {mass.low:.0f} to "
                        f"{mass.high:.0f} g", "Weigh it, or give its material", mass.best, None, "g")]
    most = m.rules.survey.mass_wide_ratio
    if wide > most:
        return [Finding("mass-wide", m.subject, Verdict.UNMEASURED,
                        f"{m.subject}: it may weigh {mass.low:.0f} to {mass.high:.0f} g ({m.weight.basis})",
                        "Weigh it", wide, most, "times")]
    return []


def _ask_hollow(m: Measured) -> list[Finding]:
    if m.hollow.kind != "unknown":
        return []
    remedy = "Give the wall's thickness" if m.weight.measured else "Weigh it, or give the wall's thickness"
    return [Finding("solid-or-shell", m.subject, Verdict.UNMEASURED,
                    f"{m.subject}: the scan shows no inside, so mass and centre cover both solid and hollow",
                    remedy, m.weight.radius_mm, None, "mm")]


def _not_closed(m: Measured) -> list[Finding]:
    most = m.rules.survey.open_skin_share
    if m.inside.odd_share <= most:
        return []
    return [Finding("skin-not-closed", m.subject, Verdict.LOOK,
                    f"{m.subject}: {100 * m.inside.odd_share:.1f} % of plumb lines through it find an open skin",
                    "Look at the scan's holes; a second scan settles it", m.inside.odd_share, most, "")]


def _unseen_end(m: Measured) -> list[Finding]:
    if m.body.unseen_ends == 0:
        return []
    v, n = m.body.volume_mm3, m.body.unseen_ends
    ends = "a cut-off end" if n == 1 else f"{n} cut-off ends"
    return [Finding("end-not-seen", m.subject, Verdict.LOOK,
                    f"{m.subject}: {ends} with no table scanned: up to "
                    f"{100 * (v.high / v.best - 1):.0f} % of the volume may be missing there",
                    "Scan the underside, or leave a piece of the table in the scan", v.high / v.best - 1, None, "")]


def _doubtful(m: Measured) -> list[Finding]:
    if m.cleaned.grade not in (Grade.DOUBTFUL, Grade.UNUSABLE):
        return []
    if m.body.unseen_ends and len(m.cleaned.reasons) == 1 and "cut-off end" in m.cleaned.reasons[0]:
        return []  # told by `_unseen_end`, with its figure
    why = "; ".join(m.cleaned.reasons) or "see the receipt"
    what, remedy = ("its centre of mass rests", "Scan what is missing") if m.weight.measured else (
        "mass and centre of mass rest", "Weigh it, and scan what is missing")
    return [Finding("scan-doubtful", m.subject, Verdict.LOOK, f"{m.subject}: {what} on what was not scanned ({why})",
                    remedy)]


_CHECKS: tuple[Callable[[Measured], list[Check]], ...] = (
    _second_volume, _second_centre, _volume_doubt, _centre_doubt, _weighed, _one_piece, _sizes)
_FINDINGS: tuple[Callable[[Measured], list[Finding]], ...] = (_ask_up, _ask_front, _ask_mass, _ask_hollow, _not_closed,
                                                              _unseen_end, _doubtful)
