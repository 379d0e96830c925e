"""The table of holes by ordinates from the datum corner: the authority that a printed template only checks.

Superimposed running dimensions in a table, as drawing standards allow for many holes (ISO 129-1, coordinates in a
table). Two people sign each hole: one located it, the other checked it, before drilling and after. Used on the long
page and as office-size pages beside the tiles.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from scanprep.panel.faces import FaceName
from scanprep.papers.drawing.grid import Cell, Column
from scanprep.papers.drawing.listing import list_sheets
from scanprep.papers.drawing.measures import Measures, clock
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.sheet import Sheet
from scanprep.papers.templates.template import (
    Correction,
    TemplateHole,
    TemplatePanel,
    datum_x_mm,
    held_reasons,
    stamp_words,
)

#: What a machinist must know before the first hole; also printed under the long template.
RULES = (
    "The ordinates in the table are the authority; this print checks them. X runs from the datum edge, Y up from the "
    "lower edge, both from the datum corner marked with a filled triangle.",
    "The datum corner is the same corner of the sheet on both faces: lower left on face A, lower right on face B. Turn "
    "the sheet about its long edge; top stays top.",
    "Print at 100 % on polyester film; paper moves with the weather. Measure the check bars with a steel rule on the "
    "day of use, both ways, before anything is marked.",
    "Lay the print towards you: where the letters read the right way round, the side is right. Two people sign each "
    "hole, location and drilling. A hole with a dashed circle is HELD: do not drill it. Crossed-out holes are NOT "
    "USED. The arrow at a hole is 12 o'clock of its post.",
)


def ordinate_columns(width_mm: float, unit: str) -> list[Column]:
    """Return the table's columns stretched to a width."""
    shares = (("hole", 20.0, "start"), ("object", 18.0, "start"), (f"X {unit}", 17.0, "end"),
              (f"Y {unit}", 17.0, "end"), ("drill", 13.0, "start"), ("⌀", 11.0, "end"), ("depth", 14.0, "end"),
              ("post ⌀", 11.0, "end"), ("12 at", 11.0, "end"), ("ses.", 8.0, "end"), ("state", 18.0, "start"),
              ("located by", 19.0, "start"), ("checked by", 19.0, "start"), ("drilled by", 19.0, "start"),
              ("checked by", 19.0, "start"))
    stretch = width_mm / sum(width for _, width, _ in shares)
    return [Column(name, width * stretch, side, name == "hole") for name, width, side in shares]


def ordinate_row(hole: TemplateHole, panel: TemplatePanel, measures: Measures) -> list[Cell]:
    """Return one hole's line."""
    if hole.state == "void":
        state = "NOT USED, hole is there" if hole.was_drilled else "NOT USED"
        return [hole.number, hole.object_number, measures.fine(datum_x_mm(hole, panel)), measures.fine(hole.y_mm),
                "–", "–", "–", "–", "–", str(hole.session), state, "–", "–", "–", "–"]
    signed = ("–",) * 4 if hole.standing == "held" else ("",) * 4  # nobody signs what may not be drilled
    depth = "through" if hole.through else measures.length(hole.depth_mm)
    return [hole.number, hole.object_number, measures.fine(datum_x_mm(hole, panel)), measures.fine(hole.y_mm),
            hole.drill, measures.fine(hole.drill_diameter_mm), depth, measures.fine(hole.post_diameter_mm),
            clock(hole.clock_deg), str(hole.session), hole.standing.upper(), *signed]


def count_words(holes: Sequence[TemplateHole]) -> str:
    """Return how many holes stand how: `12 holes released to drill, 2 held, 2 drilled, 1 not used`."""
    counts = Counter(hole.standing for hole in holes)
    return (f"{counts['released']} holes released to drill, {counts['held']} held, {counts['drilled']} drilled, "
            f"{counts['not used']} not used")


def warning_text(holes: Sequence[TemplateHole], most: int = 14) -> str:
    """Return the stamp of a paper with its reasons under it, one a line; empty where no hole is held.

    most  reasons that are said; those beyond are counted, since each hole's are on its mount sheet
    """
    stamp, reasons = stamp_words(holes), held_reasons(holes)
    more = (f"… and {len(reasons) - most} more reasons: see the drill list and each mount sheet",)
    return "\n".join((stamp, *reasons[:most], *(more if len(reasons) > most else ()))) if stamp else ""


def ordinate_sheets(panel: TemplatePanel, face: FaceName, issue: Issue,
                    correction: Correction | None = None) -> list[Sheet]:
    """Return one face's table of holes as landscape office pages.

    correction  of the template that the table belongs to, which every page then names
    """
    holes = panel.on(face)
    return list_sheets(
        issue, "Hole ordinates", f"{panel.name} face {face}", f"Panel {panel.name}, face {face}: {count_words(holes)}",
        lambda width_mm: ordinate_columns(width_mm, issue.measures.units),
        [ordinate_row(hole, panel, issue.measures) for hole in holes], notes=RULES,
        warning=warning_text(holes),
        banner=correction.words if correction else "", landscape=True, least_row_mm=6.5)
