"""One page a panel for the engineer: what it is, what was assumed, what foot and top must carry, what governs.

Unfactored loads case by case; factors, combinations and the fixings are the engineer's. Plain values and plain text;
the engineering note carries the pages, the command line prints them.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from dataclasses import dataclass

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.findings import Verdict
from scanprep.loads.records import cell_words
from scanprep.panel.chain import PanelLoads
from scanprep.panel.strength import FaceLoad, foot_known
from scanprep.post.measure import to_measure
from scanprep.post.records import PostPlan

_PAGE_WIDTH = 128  # layout: characters of a portrait page at 8 pt
UNFACTORED = ("Unfactored, the worst of every stage of hanging, each figure at its worst. Load factors, combinations, "
              "the floor, the foot and the top fixing are the licensed engineer's.")


@dataclass(frozen=True, slots=True)
class ReactionRow:
    """What one load case asks of the fixings, as printed."""

    load: str  # in words, with how much
    across_N: float
    over_Nm: float
    top_N: float
    along_N: float
    along_Nm: float
    twist_Nm: float
    down_N: float
    heel_up_N: float


@dataclass(frozen=True, slots=True)
class EngineerPage:
    """One panel's page."""

    panel: str
    facts: tuple[str, ...]  # size, what hangs, how it is held, what shakes it
    reactions: tuple[ReactionRow, ...]
    governs: tuple[str, ...]  # the panel's weakest link, and what is beyond its limit
    objects: tuple[str, ...]  # each object's weakest link
    unmeasured: tuple[str, ...]


def engineer_page(panel: PanelBrief, hung: tuple[FaceLoad, ...], asked: PanelLoads, plans: Mapping[str, PostPlan],
                  case: CaseBrief) -> EngineerPage:
    """Return a panel's page.

    hung   what hangs on it
    plans  by object number, of the objects that stand on it
    """
    words = {one.key: one.words + ("" if one.amount is None else f" ({abs(one.amount):g} {one.unit})")
             for one in asked.cases}
    rows = tuple(ReactionRow(words[one.case], one.out_shear_N, one.out_moment_Nmm / 1000, one.top_N, one.along_shear_N,
                             one.along_moment_Nmm / 1000, one.twist_Nmm / 1000, one.down_N, one.heel_N)
                 for one in asked.reactions)
    loud = tuple(cell_words(cell, asked.cases) for cell in asked.table.cells
                 if cell.verdict in (Verdict.LOOK, Verdict.STOP))
    governs = tuple(f"{check.name.removeprefix('panel-').replace('-', ' ')}: {check.note}" for check in asked.checks)
    unrated = dict.fromkeys(f"what the {cell.part} bears" for cell in asked.table.cells
                            if cell.applies and cell.resistance is None)
    still = [*unrated, *(() if panel.thickness_measured else ("the sheet's thickness",)),
             *(() if foot_known(panel) else ("how the foot turns under a known push",))]
    every = [check for plan in plans.values() for check in plan.checks]
    return EngineerPage(
        panel.name, _facts(panel, hung, case), rows, (*governs, *loud),
        tuple(f"{number}: {_weakest(plan)}" for number, plan in plans.items()), (*still, *to_measure(every)))


def _weakest(plan: PostPlan) -> str:
    return next((check.note for check in plan.checks if check.name == "weakest-link"), "not judged")


def _facts(panel: PanelBrief, hung: tuple[FaceLoad, ...], case: CaseBrief) -> tuple[str, ...]:
    mass = sum(load.mass_g for load in hung) / 1000
    faces = " and ".join(f"{sum(load.face == face for load in hung)} on {face}" for face in "AB")
    site = (f"S_DS {case.spectral_g:g} g, I_p {case.importance:g}, R_p {case.response:g}, z/h {case.height_share:g}"
            if case.spectral_g is not None else f"{case.acceleration_g:g} g as stated")
    top = "held across at the top" if panel.top_restraint or panel.foot == "four corners" else "free at the top"
    return (f"{panel.width_mm:g} x {panel.height_mm:g} x {panel.thickness_mm:g} mm "
            f"({'measured' if panel.thickness_measured else 'nominal, judged at its least'}), {panel.grade} acrylic",
            f"{len(hung)} objects, {faces}, {mass:.1f} kg with their mounts at their heaviest",
            f"foot {panel.foot} ({panel.foot_known}), {top}; barrier: {case.barrier}",
            f"site: {site} ({case.site_reason})")


_HEADS = ("load", "across N", "over N m", "top N", "along N", "along N m", "twist N m", "down N", "heel up N")


def page_text(page: EngineerPage) -> str:
    """Return a page as plain text."""
    cells = [_HEADS, *((row.load, *(f"{value:.0f}" if value >= 10 else f"{value:.1f}" for value in (
        row.across_N, row.over_Nm, row.top_N, row.along_N, row.along_Nm, row.twist_Nm, row.down_N, row.heel_up_N)))
        for row in page.reactions)]
    widths = [max(len(line[k]) for line in cells) for k in range(len(_HEADS))]
    table = ["  ".join(cell.ljust(width) if k == 0 else cell.rjust(width)
                       for k, (cell, width) in enumerate(zip(line, widths))) for line in cells]
    lists = (("Governs:", page.governs), ("Weakest link of each object:", page.objects),
             ("Still to be measured or said:", page.unmeasured))
    told = [f"Panel {page.panel}", *page.facts, "", *table, UNFACTORED]
    for head, lines in lists:
        told += ["", head, *(f"- {line}" for line in lines or ("nothing",))]
    wrapped = [part for line in told for part in
               (textwrap.wrap(line, _PAGE_WIDTH, subsequent_indent="  ") if line not in table else [line]) or [""]]
    return "\n".join(wrapped)
