"""All papers of a case: which there are, what each is made from, how each is made.

A paper's `key` is everything that it prints, as plain values: while the key stays the same, the content stays the same,
and the paper need not be made again. Files are named by what they are; issue numbers and writing are `workspace`'s.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from scanprep.case.lists.cutlist import CutList, cut_lists, piece_name
from scanprep.case.lists.install_order import InstallPlan, plan_order
from scanprep.case.lists.schedule_rows import schedule_rows
from scanprep.errors import InputError
from scanprep.file_names import safe_name
from scanprep.hold.records import Hold
from scanprep.panel.faces import FACES, FaceName
from scanprep.papers import paper_case as pc
from scanprep.papers.drawing.control import Control
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.pdf import LONGEST_MM, pdf_bytes
from scanprep.papers.drawing.sheet import Box, Item, Sheet
from scanprep.papers.drawing.svg import svg_bytes
from scanprep.papers.drawing.tables import Table, csv_bytes, xlsx_bytes
from scanprep.papers.lists.coupon_sheet import coupon_sheets
from scanprep.papers.lists.drill_list import drill_sheets, drill_table
from scanprep.papers.lists.elevation import elevation_sheet
from scanprep.papers.lists.install_list import install_sheets, install_table
from scanprep.papers.lists.labels import label_sheets
from scanprep.papers.lists.removal_list import MountOpening, removal_sheets, removal_table
from scanprep.papers.lists.rod_cuts import cut_sheets, cut_table
from scanprep.papers.lists.schedule import schedule_sheets, schedule_table
from scanprep.papers.mount.opening_detail import opening_detail
from scanprep.papers.paper_case import PaperCase
from scanprep.papers.register import Fact
from scanprep.papers.templates.ordinates import ordinate_sheets
from scanprep.papers.templates.overlay_sheet import overlay_long_sheet, overlay_sheet
from scanprep.papers.templates.template import Correction, TemplatePanel
from scanprep.papers.templates.template_sheet import template_dxf, template_sheet
from scanprep.papers.templates.tiles import tiled_template
from scanprep.post.coupon import coupon_rows

#: Kinds of paper, in the order in which a shop needs them. The last four are drawn object by object.
KINDS = {
    "templates": "drill templates at 1:1, long (PDF, SVG, DXF) and in tiles, ordinates, overlay of both faces",
    "drills": "holes in drilling order with the fewest bit changes",
    "coupon": "test holes in an offcut",
    "rods": "rod cut list with the fewest bars",
    "schedule": "one line an object",
    "install": "install order",
    "removal": "removal order, conditions, and what becomes of the holes",
    "labels": "post tags and box labels",
    "elevations": "each face to scale with every outline",
    "mounts": "mount specification sheets",
    "gauges": "setting gauges and bend strips at 1:1",
    "outlines": "outlines at 1:1 for paper mock-ups",
    "holds": "contact sheets of the suggested holds",
}
OBJECT_KINDS = ("mounts", "gauges", "outlines", "holds")


@dataclass(frozen=True, slots=True, eq=False)
class Paper:
    """One file of the set."""

    kind: str
    file: str  # relative to the papers' folder
    key: tuple[Any, ...]  # records and plain values: all that it prints but its own identity and issue
    make: Callable[[Control | None], bytes]
    facts: tuple[Fact, ...] = ()  # what it says of holes and mounts


def check_kinds(kinds: Sequence[str]) -> tuple[str, ...]:
    """Return the kinds asked for, all of them where none is named. Raises InputError for one that there is not."""
    for kind in kinds:
        if kind not in KINDS:
            raise InputError(field="KIND", value=kind, problem="is no kind of paper",
                             remedy=f"Write one or more of: {', '.join(KINDS)}")
    return tuple(kind for kind in KINDS if not kinds or kind in kinds)


def case_papers(case: PaperCase, kinds: Sequence[str], correction: Correction | None = None) -> tuple[Paper, ...]:
    """Return every paper that is not drawn object by object, of the kinds asked for."""
    panels = tuple(pc.template_panel(panel, case) for panel in case.case.panels)
    holes = tuple(fact for panel in panels for fact in pc.hole_facts(panel.holes, panel))
    mounts = pc.mount_facts(case)
    issue = case.issue
    papers: list[Paper] = []
    if "templates" in kinds:
        for panel in panels:
            papers += _templates(panel, issue, correction)
    if "drills" in kinds:
        papers += _listed("drills", "drill-list", (panels, issue, case.rules.post), holes,
                          lambda: drill_sheets(panels, issue, case.rules.post),
                          lambda: drill_table(panels))
    if "coupon" in kinds:
        papers += _coupon(case, issue)
    if "rods" in kinds:
        papers += _rods(case, issue, mounts)
    order_key, order = _order(case)
    if "schedule" in kinds:
        papers += _schedule(case, panels, (*holes, *mounts), order_key, order)
    if "install" in kinds:
        steps = functools.cache(lambda: pc.install_steps(case, order()))
        papers += _listed("install", "install-order", (order_key, case.releases, issue), mounts,
                          lambda: install_sheets(steps(), issue, [f.sentence for f in order().findings]),
                          lambda: install_table(steps()))
    if "removal" in kinds:
        out, holes_left = functools.cache(lambda: pc.removal_steps(case, order())), pc.holes_afterwards(case)
        lives = [(n, life.moves, life.conditions, life.whereabouts, life.stage)
                 for n in case.state.shown for life in (case.state.life(n),)]
        shown = [MountOpening(item.number, item.title, functools.partial(_opening, item.hold, issue))
                 for item in case.placed if item.hold is not None]
        papers += _listed("removal", "removal", (order_key, lives, holes_left, issue), mounts,
                          lambda: removal_sheets(out(), holes_left, issue, shown), lambda: removal_table(out()))
    if "labels" in kinds and (labels := pc.labels_of(case)):
        papers.append(_pdf("labels", "labels.pdf", (labels, issue), mounts, lambda: label_sheets(labels, issue)))
    if "elevations" in kinds:
        papers += _elevations(case, panels)
    return tuple(papers)


def _pdf(kind: str, file: str, key: tuple[Any, ...], facts: tuple[Fact, ...],
         sheets: Callable[[], Sequence[Sheet]]) -> Paper:
    laid_out = functools.cache(sheets)  # a paper is written twice: without its identity, to find it, and with it
    return Paper(kind, file, (file, *key),
                 lambda control: pdf_bytes(laid_out(), title=file.removesuffix(".pdf"), control=control), facts)


def _listed(kind: str, name: str, key: tuple[Any, ...], facts: tuple[Fact, ...], sheets: Callable[[], Sequence[Sheet]],
            table: Callable[[], Table]) -> list[Paper]:
    return [_pdf(kind, f"{name}.pdf", key, facts, sheets),
            Paper(kind, f"{name}.csv", (f"{name}.csv", *key), lambda control: csv_bytes(table(), control), facts)]


def _opening(hold: Hold, issue: Issue, box: Box, title: str) -> list[Item]:
    return opening_detail(hold, box, issue.measures, title)


def _templates(panel: TemplatePanel, issue: Issue, correction: Correction | None) -> list[Paper]:
    name = safe_name(panel.name)
    papers = [paper for face in FACES for paper in _face(panel, face, f"templates/{name}-{face}", issue, correction)]
    facts = pc.hole_facts(panel.holes, panel)
    return [*papers,
            _pdf("templates", f"templates/{name}-overlay.pdf", (panel, issue), facts,
                 lambda: [overlay_sheet(panel, issue)]),
            _pdf("templates", f"templates/{name}-overlay-1to1.pdf", (panel, issue), facts,
                 lambda: [overlay_long_sheet(panel, issue)])]


def _face(panel: TemplatePanel, face: FaceName, stem: str, issue: Issue, correction: Correction | None) -> list[Paper]:
    # a face shows its own holes only: a change on the other face must not reprint it
    own = replace(panel, holes=panel.on(face))
    key, facts = (own, face, issue), pc.hole_facts(own.holes, panel)
    stretch = (*key, correction)
    papers = [_pdf("templates", f"{stem}-tiles-{issue.paper}.pdf", stretch, facts,
                   lambda: tiled_template(own, face, issue, issue.paper, correction)),
              _pdf("templates", f"{stem}-ordinates.pdf", stretch, facts,
                   lambda: ordinate_sheets(own, face, issue, correction))]
    if panel.height_mm > LONGEST_MM - 400.0:
        return papers  # too long for one page: the tiles serve
    return [*papers,
            _pdf("templates", f"{stem}.pdf", stretch, facts, lambda: [template_sheet(own, face, issue, correction)]),
            Paper("templates", f"{stem}.svg", (f"{stem}.svg", *key),
                  lambda control: svg_bytes(template_sheet(own, face, issue), control), facts),
            Paper("templates", f"{stem}.dxf", (f"{stem}.dxf", *key),
                  lambda control: template_dxf(own, face, issue, control), facts)]


def _coupon(case: PaperCase, issue: Issue) -> list[Paper]:
    rods = tuple(dict.fromkeys(item.plan.post.rod for item in case.placed if item.plan is not None))
    panel = case.case.panels[0] if case.case.panels else None
    rows = coupon_rows(case.rules, case.case, panel, rods) if rods else ()
    words = f"panel {panel.name}, {issue.measures.named(panel.thickness_mm)}" if panel else ""
    return [_pdf("coupon", "coupon-sheet.pdf", (rows, issue, case.rules.post, words), (),
                 lambda: coupon_sheets(rows, issue, case.rules, words))]


@dataclass(frozen=True, slots=True)
class _Cuts:
    """What cut lists are made from, the lists themselves, worked out at most once, and which pieces are held."""

    key: tuple[Any, ...]
    lists: Callable[[], tuple[CutList, ...]]
    held: dict[str, tuple[str, ...]]  # piece -> why it is not to be cut yet


def _cuts(case: PaperCase) -> _Cuts:
    rules = case.rules.case
    lengths = [(piece_name(item), item.plan.post.rod, item.plan.post.cut_length_mm, item.plan.post.blank_length_mm)
               for item in case.placed if item.plan is not None]
    held = {piece_name(item): reasons for item in case.placed
            if item.plan is not None and (reasons := case.release(item.number).reasons)}
    solved = functools.cache(lambda: cut_lists(case.placed, rules.bar_length_mm, rules.saw_kerf_mm,
                                               blank=case.case.mock_up))
    return _Cuts((lengths, held, rules.bar_length_mm, rules.saw_kerf_mm, case.case.mock_up), solved, held)


def _order(case: PaperCase) -> tuple[tuple[Any, ...], Callable[[], InstallPlan]]:
    """What an order of installation is made from, and the order itself, worked out at most once."""
    key = [(item.number, item.stand, item.hole_number, item.hold, item.plan, item.attach_xy_mm, item.mass_g,
            spec.scan.sha256 if (spec := case.specs.get(item.number)) else "") for item in case.placed]
    return (key, case.case.panels, case.rules.case), functools.cache(
        lambda: plan_order(case.placed, case.case, case.rules))


def _rods(case: PaperCase, issue: Issue, mounts: tuple[Fact, ...]) -> list[Paper]:
    cuts = _cuts(case)
    return _listed("rods", "rod-cut-list", (cuts.key, issue), mounts,
                   lambda: cut_sheets(cuts.lists(), issue, case.case.mock_up, cuts.held),
                   lambda: cut_table(cuts.lists(), cuts.held))


def _schedule(case: PaperCase, panels: tuple[TemplatePanel, ...], facts: tuple[Fact, ...], order_key: tuple[Any, ...],
              order: Callable[[], InstallPlan]) -> list[Paper]:
    every = [*case.findings, *(f for spec in case.specs.values() for f in spec.findings)]
    rows = schedule_rows(case.placed, case.case, case.state, every, case.releases)
    cuts, key = _cuts(case), (rows, case.issue)
    return [*_listed("schedule", "schedule", key, facts, lambda: schedule_sheets(rows, case.issue),
                     lambda: schedule_table(rows)),
            Paper("schedule", "lists.xlsx", ("lists.xlsx", *key, panels, cuts.key, order_key, case.releases),
                  lambda control: xlsx_bytes([schedule_table(rows), drill_table(panels),
                                              cut_table(cuts.lists(), cuts.held),
                                              install_table(pc.install_steps(case, order()))], control), facts)]


def _elevations(case: PaperCase, panels: Sequence[TemplatePanel]) -> list[Paper]:
    papers = []
    for panel, drilled in zip(case.case.panels, panels, strict=True):
        things, shown = pc.elevation_items(panel, case), pc.elevation_panel(panel, case.case)
        papers.append(_pdf(
            "elevations", f"elevations/{safe_name(panel.name)}.pdf", (shown, things, case.issue),
            pc.hole_facts(drilled.holes, drilled),
            lambda shown=shown, things=things: [  # type: ignore[misc]  # bound now, not when called
                elevation_sheet(shown, face, things, case.issue) for face in FACES]))
    return papers
