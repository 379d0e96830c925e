"""The table of holes by ordinates from the datum corner: the authority that a printed template only checks.

Superimposed running dimensions in a table, as drawing standards allow for many holes (ISO 129-1, coordinates in a
table). Two people sign each hole: one located it, the other checked it, before drilling and after. Used on the long
page and as office-size pages beside the tiles.
"""

from __future__ import annotations

from collections.abc import Sequence

from scanprep.panel.faces import FaceName
from scanprep.papers.grid import Cell, Column, grid, heading
from scanprep.papers.measures import Measures, angle
from scanprep.papers.page import Issue, blank, finished
from scanprep.papers.sheet import Item, Sheet, Text, wrapped
from scanprep.papers.template import TemplateHole, TemplatePanel, datum_x_mm, unmeasured_reasons

#: What a machinist must know before the first hole; also printed under the long template.
RULES = (
    "The ordinates in the table are the authority; this print checks them. X runs from the datum edge, Y up from the "
    "lower edge, both from the datum corner marked with a filled triangle.",
    "The datum corner is the same corner of the sheet on both faces: lower left on face A, lower right on face B. Turn "
    "the sheet about its long edge; top stays top.",
    "Print at 100 % on polyester film; paper moves with the weather. Measure the check bars with a steel rule on the "
    "day of use, both ways, before anything is marked.",
    "Lay the print towards you: where the letters read the right way round, the side is right. Two people sign each "
    "hole, location and drilling. Crossed-out holes are NOT USED. The arrow at a hole is 12 o'clock of its post.",
)


def ordinate_columns(width_mm: float, unit: str) -> list[Column]:
    """Return the table's columns stretched to a width."""
    shares = (("hole", 20.0, "start"), ("object", 18.0, "start"), (f"X {unit}", 17.0, "end"),
              (f"Y {unit}", 17.0, "end"), ("drill", 13.0, "start"), ("⌀", 11.0, "end"), ("depth", 14.0, "end"),
              ("post ⌀", 11.0, "end"), ("12 at", 11.0, "end"), ("ses.", 8.0, "end"), ("state", 15.0, "start"),
              ("located by", 19.0, "start"), ("checked by", 19.0, "start"), ("drilled by", 19.0, "start"),
              ("checked by", 19.0, "start"))
    stretch = width_mm / sum(width for _, width, _ in shares)
    return [Column(name, width * stretch, side, name == "hole") for name, width, side in shares]


def ordinate_row(hole: TemplateHole, panel: TemplatePanel, measures: Measures) -> list[Cell]:
    """Return one hole's line."""
    if hole.state == "void":
        return [hole.number, hole.object_number, measures.fine(datum_x_mm(hole, panel)), measures.fine(hole.y_mm),
                "–", "–", "–", "–", "–", str(hole.session), "NOT USED", "–", "–", "–", "–"]
    depth = "through" if hole.through else measures.length(hole.depth_mm)
    return [hole.number, hole.object_number, measures.fine(datum_x_mm(hole, panel)), measures.fine(hole.y_mm),
            hole.drill, measures.fine(hole.drill_diameter_mm), depth, measures.fine(hole.post_diameter_mm),
            angle(hole.clock_deg), str(hole.session), hole.state, "", "", "", ""]


def count_words(holes: Sequence[TemplateHole]) -> str:
    """Return how many holes there are in each state: `14 holes to drill, 2 drilled, 1 not used`."""
    counts = {state: sum(hole.state == state for hole in holes) for state in ("planned", "drilled", "void")}
    return f"{counts['planned']} holes to drill, {counts['drilled']} drilled, {counts['void']} not used"


def warning_words(reasons: Sequence[str], width_mm: float, height_mm: float) -> list[str]:
    """Return the reasons why a sheet is not for drilling, broken into lines; none where it may be drilled from."""
    return wrapped("NOT FOR DRILLING: " + "; ".join(reasons), width_mm, height_mm, True) if reasons else []


def ordinate_sheets(panel: TemplatePanel, face: FaceName, issue: Issue) -> list[Sheet]:
    """Return one face's table of holes as landscape office pages."""
    holes, reasons = panel.on(face), unmeasured_reasons(panel, panel.on(face))
    rows = [ordinate_row(hole, panel, issue.measures) for hole in holes]
    pages: list[tuple[list[Item], int]] = []
    probe = blank(issue, "x", "x", 1, 1, landscape=True).room
    while rows or not pages:
        head = heading(f"Panel {panel.name}, face {face}: {count_words(holes)}", probe.left_mm, probe.top_mm,
                       probe.width_mm, 3.5)
        notes = list(RULES)
        if reasons:
            notes.insert(0, "NOT FOR DRILLING: " + "; ".join(reasons))
        lines = [words for note in notes for words in wrapped(f"– {note}", probe.width_mm, 1.9)] if not pages else []
        if reasons and not lines:
            lines = ["NOT FOR DRILLING: see page 1"]
        items: list[Item] = [*head.items, *(
            Text(probe.left_mm, head.bottom_mm - 2.2 - 3.1 * i, words, 1.9, bold=words.startswith(("– NOT", "NOT")))
            for i, words in enumerate(lines))]
        table = grid(ordinate_columns(probe.width_mm, issue.measures.units), rows, probe.left_mm,
                     head.bottom_mm - 3.1 * len(lines) - 2.0, height_mm=2.1, floor_mm=probe.bottom_mm,
                     least_row_mm=6.5, upright_rules=True)
        pages.append(([*items, *table.items], table.rows))
        if rows and table.rows == 0:
            raise ValueError(f"a line of the table of panel {panel.name} is taller than the page")
        rows = rows[table.rows:]
    kind = "Hole ordinates"
    return [finished(blank(issue, kind, f"{panel.name} face {face}", n + 1, len(pages), landscape=True), items,
                     f"{kind} {panel.name} {face}") for n, (items, _) in enumerate(pages)]
