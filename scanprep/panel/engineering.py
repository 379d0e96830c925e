"""The engineering note of a case: what governs each object and panel, on what assumptions, from which sources.

One page for the engineer, the conservator and the file. It lists the governing check of every object with its margin,
what was assumed, what was taken from memory, and says plainly that it is no licensed engineer's work. Plain values; the
papers and the command line print them.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scanprep.brief import CaseBrief
from scanprep.cautions import LICENCE
from scanprep.findings import Check, Verdict, loudest
from scanprep.materials import Metal, metal
from scanprep.panel.engineer_page import EngineerPage, page_text
from scanprep.post.measure import to_measure
from scanprep.post.plan import acceleration_of
from scanprep.post.records import PostPlan
from scanprep.rules import Rulebook

_PAGE_WIDTH = 128  # layout: characters of a portrait page at 8 pt; the table needs about as many


@dataclass(frozen=True, slots=True)
class NoteRow:
    """The governing check of one object or panel."""

    subject: str  # "object 14", "panel West"
    what: str  # the post and hole, or the panel's size
    check: str  # "post droop"
    value: str  # with its unit
    limit: str
    margin: float | None
    verdict: Verdict
    source: str
    to_measure: tuple[str, ...]  # what would turn unmeasured into a verdict


@dataclass(frozen=True, slots=True)
class EngineeringNote:
    """Everything on the page, in reading order."""

    title: str
    demand: str  # acceleration, and why
    rows: tuple[NoteRow, ...]
    assumptions: tuple[str, ...]
    sources: tuple[str, ...]
    from_memory: tuple[str, ...]
    licence: str
    verdict: Verdict
    without: tuple[str, ...] = ()  # objects that have no post yet: nothing here speaks of them
    pages: tuple[EngineerPage, ...] = ()  # one a panel


def governing(checks: Sequence[Check]) -> Check | None:
    """Return the check that governs: the loudest, and among those the one with the least margin."""
    judged = [check for check in checks if check.limit is not None and check.value is not None]
    if not judged:
        return None
    return max(judged, key=lambda c: (c.verdict.loudness, -(math.inf if c.margin is None else c.margin)))


def _amount(value: float | None, unit: str) -> str:
    return "" if value is None else f"{value:.3g} {unit}"


def _row(subject: str, what: str, checks: Sequence[Check]) -> NoteRow:
    # what a coupon or a square answers does not govern a design; it is listed as to be measured. Web and seat
    # share the sheet's thickness by choice: they govern only where they fail
    loud = [check for check in checks if check.verdict in (Verdict.STOP, Verdict.LOOK)]
    design = [check for check in checks if check.margin is not None and check.name not in _ANSWERED_AT_THE_BENCH]
    check = governing(loud or design or checks)
    worst = loudest(check.verdict for check in checks)
    if check is None:
        return NoteRow(subject, what, "", "", "", None, worst, "", to_measure(checks))
    return NoteRow(subject, what, check.name.replace("-", " "), _amount(check.value, check.unit),
                   _amount(check.limit, check.unit), check.margin, worst, check.source, to_measure(checks))


_ANSWERED_AT_THE_BENCH = frozenset({
    "hole-web", "hole-seat", "seat-pull-out", "seat-turning", "seat-push-in", "post-aim", "drill-fit",
    "panel-overturning", "panel-floor-weight",
    # a hand is answered by a barrier, a pre-set by a bend
    "gives-first", "post-touch", "post-droop", "post-slope", "post-roll", "post-preset"})


def _post_words(plan: PostPlan) -> str:
    through = "through" if plan.hole.through else f"{plan.hole.depth_mm:.1f} mm deep"
    return f"{plan.post.rod} rod, drill {plan.hole.drill}, {through}"


def assumptions(rules: Rulebook, case: CaseBrief | None) -> tuple[str, ...]:
    """Return what the figures rest on, each with its value, so that anyone can object to one."""
    post, panel = rules.post, rules.panel
    panels = case.panels if case else ()
    return (
        f"acrylic: E {panel.youngs_modulus_MPa:g} MPa short-term, {panel.creep_modulus_MPa:g} MPa over years, "
        f"Poisson {panel.poisson:g}, {panel.alpha_per_K * 1e6:.0f}e-6/K",
        f"continuous stress {panel.continuous_stress_cell_cast_MPa:g} MPa cell cast, "
        f"{panel.continuous_stress_unknown_MPa:g} MPa where the grade is unknown; {post.fit_share:.0%} of it "
        "for the fit",
        f"seat bed {post.bed_low_MPa:g} to {post.bed_high_MPa:g} MPa, creeping in proportion to the sheet",
        f"holding judged relaxed, {post.temperature_range_C:g} K warmer, friction {post.seat_friction_low:g}; pushing "
        f"in at friction {post.seat_friction_high:g}; nothing holds while rod or hole are unmeasured",
        f"accidental touch {post.touch_N:g} N at the outermost point; safety {post.strength_safety:g} on yield, "
        f"{post.torque_safety:g} on turning and pulling",
        f"holes square within {post.drill_square_deg:g} deg; cast sheet thinner by 0.4 + 0.1 t until measured",
        f"damping {post.damping_ratio:.0%}; object rigid, arms a frame of round wire held on the hub, pads patches of "
        "springs that neither lift nor slide, an unnamed pad as soft as felt; hub plate clamped at its rim",
        *(f"panel {p.name}: {p.width_mm:g} x {p.height_mm:g} x {p.thickness_mm:g} mm "
          f"({'measured' if p.thickness_measured else 'nominal'}), {p.grade}, foot {p.foot}"
          f"{', held at the top' if p.top_restraint else ''}" for p in panels),
    )


def metal_words(metal: Metal) -> str:
    """Return what a rod's alloy is taken to be, and where both its stiffness and its strengths come from."""
    return (f"rod {metal.name}: E {metal.youngs_modulus_MPa:g} MPa, G {metal.shear_modulus_MPa:.0f} MPa; yield "
            f"{metal.yield_hard_MPa:g} MPa as stocked at the least, {metal.yield_typical_MPa:g} typical, "
            f"{metal.yield_annealed_MPa:g} annealed (stiffness: {metal.source}; strength: {metal.yield_source})")


def from_memory(checks: Sequence[Check], rules: Rulebook, metals: Sequence[Metal] = ()) -> tuple[str, ...]:
    """Return the values that no source was seen for: the standing list, the alloys', and the checks' own words."""
    told = [part for part in _source_parts(checks) if "from memory" in part or "assumed" in part]
    alloys = [f"{prop} of {metal.name}" for metal in metals for prop in metal.from_memory]
    return (*_standing_from_memory(rules), *alloys, *told)


def _source_parts(checks: Sequence[Check]) -> tuple[str, ...]:
    parts = (part.strip() for check in checks for part in check.source.split(";"))
    return tuple(dict.fromkeys(part for part in parts if part))


def _standing_from_memory(rules: Rulebook) -> tuple[str, ...]:
    """Values of the book that were never seen in a source."""
    post, panel = rules.post, rules.panel
    return (
        f"creep modulus of acrylic {panel.creep_modulus_MPa:g} MPa (1200 to 2000)",
        f"bed stiffness of a rod in acrylic (Vesic) {post.bed_low_MPa:g} to {post.bed_high_MPa:g} MPa",
        f"friction of brass in acrylic {post.seat_friction_low:.2f} to {post.seat_friction_high:.2f}",
        f"soft zone of a silver-soldered joint 25 to {post.soft_zone_silver_mm:g} mm",
        f"edge distance {panel.hole_edge_diameters:g} diameters, spacing {panel.hole_spacing_diameters:g} diameters",
    )


def engineering_note(title: str, plans: Mapping[str, PostPlan], panels: Mapping[str, Sequence[Check]],
                     rules: Rulebook, case: CaseBrief | None = None, without: Sequence[str] = (),
                     pages: Sequence[EngineerPage] = ()) -> EngineeringNote:
    """Return the note of a case.

    plans    by object number, as placed
    panels   by panel name: what `judge_panel` said
    without  objects that have no post yet
    pages    what each panel's fixings must carry
    """
    rows = [_row(f"object {number}", _post_words(plan), plan.checks) for number, plan in plans.items()]
    sizes = {panel.name: f"{panel.width_mm:g} x {panel.height_mm:g} x {panel.thickness_mm:g} mm"
             for panel in (case.panels if case else ())}
    rows += [_row(f"panel {name}", sizes.get(name, ""), checks) for name, checks in panels.items()]
    every = [check for plan in plans.values() for check in plan.checks]
    every += [check for checks in panels.values() for check in checks]
    acceleration = acceleration_of(rules, case)
    metals = [metal(name) for name in dict.fromkeys(plan.post.material for plan in plans.values())]
    site = f"{case.site} ({case.site_reason})" if case else "no site named"
    return EngineeringNote(
        title=title, demand=f"{acceleration:g} g in the worst direction on top of gravity: {site}. Whether that is "
        "enough for the site, a licensed engineer decides.", rows=tuple(rows),
        assumptions=(*assumptions(rules, case), *(metal_words(one) for one in metals)),
        sources=_source_parts(every),
        from_memory=from_memory(every, rules, metals), licence=LICENCE,
        verdict=loudest(check.verdict for check in every),
        without=tuple(without), pages=tuple(pages))


def note_text(note: EngineeringNote) -> str:
    """Return the note as plain text, a line a row, for the command line and for printing on one page."""
    heads = ("", "post and hole, or size", "governs", "value", "limit", "margin", "verdict", "measure also")
    common = _wanted_by_all(note.rows)
    cells = [heads, *(_cells(row, common) for row in note.rows)]
    widths = [max(len(line[k]) for line in cells) for k in range(len(heads))]
    table = ["  ".join(cell.ljust(width) for cell, width in zip(line, widths)).rstrip() for line in cells]
    lines = [note.title, *textwrap.wrap(note.demand, _PAGE_WIDTH), "", *table, ""]
    if common:
        lines.append(f"Of every object there is still to be measured: {', '.join(common)}.")
    if note.without:
        lines.append(f"Without a post, so not judged here: {', '.join(note.without)}.")
    told = ["Assumed:", *(f"- {entry}" for entry in note.assumptions), "", f"Sources: {'; '.join(note.sources)}", "",
            f"From memory or assumed: {'; '.join(note.from_memory)}", "", note.licence]
    wrapped = [part for line in told for part in textwrap.wrap(line, _PAGE_WIDTH, subsequent_indent="  ") or [""]]
    pages = [f"\n\f{page_text(page)}" for page in note.pages]
    return "\n".join([*lines, "", *wrapped, *pages])


def _wanted_by_all(rows: Sequence[NoteRow]) -> tuple[str, ...]:
    """What every object still wants measured."""
    objects = [row for row in rows if row.subject.startswith("object ")]
    if not objects:
        return ()
    return tuple(kind for kind in objects[0].to_measure if all(kind in row.to_measure for row in objects))


def _cells(row: NoteRow, common: Sequence[str]) -> tuple[str, ...]:
    margin = "" if row.margin is None or math.isinf(row.margin) else f"{row.margin:.2f}"
    more = [kind for kind in row.to_measure if kind not in common]
    return (row.subject.removeprefix("object "), row.what, row.check, row.value, row.limit, margin, row.verdict.value,
            ", ".join(more))
