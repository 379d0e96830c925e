"""The rod cut list as pages and as a table: which post comes out of which bar. Worked out by `case.cutlist`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from scanprep.case.lists.cutlist import CutList
from scanprep.papers.drawing.listing import list_sheets, stretched_columns
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.sheet import Sheet
from scanprep.papers.drawing.tables import Table
from scanprep.papers.templates.template import reason_lines

HELD = "HELD\u00a0"
_REASONS = 14  # layout: reasons said in full


def cut_sheets(cuts: Sequence[CutList], issue: Issue, blanks: bool,
               held: Mapping[str, tuple[str, ...]]) -> list[Sheet]:
    """Return the cut lists of all rods as pages.

    blanks  the lengths are those as first made, for a mock-up
    held    piece -> why it is not to be cut yet
    """
    measures = issue.measures
    rows = [[f"{cut.rod} – {n}",
             ";  ".join(f"{HELD if p.name in held else ''}{p.name}:\u00a0{measures.length(p.length_mm)}"
                        for p in bar.pieces),
             measures.length(bar.offcut_mm), ""]
            for cut in cuts for n, bar in enumerate(cut.bars, start=1)]
    counts = [f"{len(cut.bars)} of {cut.rod} ({measures.named(cut.bar_mm)}, {cut.waste_share:.0%} cut off)"
              for cut in cuts if cut.bars]
    buy = ", ".join(counts) or "none"
    kerf = f", saw cut {measures.named(cuts[0].kerf_mm)}" if cuts else ""
    notes = [f"Bars: {buy}{kerf}. Lengths are {'blanks, as first made' if blanks else 'final cut lengths'}.",
             "Stop each piece square and deburr; tag it with the object's number before the next cut."]
    notes += [f"{cut.rod}: {cut.least_bars} bars might do; no plan with fewer than {len(cut.bars)} was found."
              for cut in cuts if not cut.proven]
    notes += [f"{p.name}: {measures.named(p.length_mm)} is longer than a bar." for cut in cuts for p in cut.too_long]
    lines = reason_lines(held.items(), "post")
    more = (f"… and {len(lines) - _REASONS} more reasons: see each mount sheet",) if len(lines) > _REASONS else ()
    warning = ("HELD, not to be cut yet", *lines[:_REASONS], *more) if held else ()
    return list_sheets(issue, "Rod cut list", "all posts", "Rods to cut, bar by bar",
                       lambda width: stretched_columns(width, (
                           ("bar", 22, "start"), ("object and hole: length", 120, "start"), ("offcut", 18, "end"),
                           ("cut by", 20, "start"))),
                       rows, notes=notes, warning="\n".join(warning))


def cut_table(cuts: Sequence[CutList], held: Mapping[str, tuple[str, ...]]) -> Table:
    """Return the cut lists for CSV and XLSX."""
    return Table("rod cuts", ("rod", "bar", "object_and_hole", "length_mm", "offcut_of_bar_mm", "release", "reasons"),
                 tuple((cut.rod, n, p.name, round(p.length_mm, 2), round(bar.offcut_mm, 2),
                        "held" if p.name in held else "", "; ".join(held.get(p.name, ())))
                       for cut in cuts for n, bar in enumerate(cut.bars, start=1) for p in bar.pieces))
