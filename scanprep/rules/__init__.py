"""The rulebook: every number of the trade, once, with its value, unit, source, owner and meaning.

One module a stage, each a frozen record whose fields are declared through `rule`:

    droop_mm: float = rule(0.5, "mm", "assumed: what an eye sees", SHOP, "fall of the object's centre after years")

Code reads rows as plain typed fields (`rules.post.droop_mm`); functions take the `Rulebook` or their stage's record as
`rules`. A case changes rows in its `case.toml` under `[rules.post]`; `overridden` says which, and specs and papers
print it. `docs/reference/rules.md` is written from here: run `scanprep rules --docs docs` after adding a row.

To add a row: put it into its stage's module; no number of the trade (limit, clearance, friction, safety factor,
threshold of a verdict) stands anywhere else. A row that is read where no case is at hand is declared `book_only`, so
that no case file can seem to change it. A numerical tolerance of an algorithm stays next to its algorithm, as a module
constant whose comment says what kind it is and why:

    _ROUNDS = 4  # tolerance: rims settle in two or three rounds
    _ROW_MM = 3.5  # layout: of a drawing
    _DEEPEST = 20  # format: what a file may have
    G_M_S2 = 9.80665  # exact: ISO 80000-3

Tests fail on a row that nobody reads, on two rows of one meaning, on a module constant without such a word, and on a
page of the docs that differs from the book.
"""

from __future__ import annotations

import dataclasses
import functools
from dataclasses import dataclass, field

from scanprep.rules.case import CaseRules
from scanprep.rules.fits import FitRules
from scanprep.rules.hold import HoldRules
from scanprep.rules.loads import LoadRules
from scanprep.rules.pads import Pad, PadRules, find_pad, pads
from scanprep.rules.panel import PanelRules
from scanprep.rules.post import PostRules
from scanprep.rules.roles import RoleRules
from scanprep.rules.row import CONSERVATOR, ENGINEER, SHOP, Row, Who, rule, shown, stage_rows
from scanprep.rules.scan import ScanRules
from scanprep.rules.survey import SurveyRules

__all__ = ["CONSERVATOR", "ENGINEER", "SHOP", "CaseRules", "FitRules", "HoldRules", "LoadRules", "Pad", "PadRules",
           "PanelRules", "PostRules", "RoleRules", "Row", "Rulebook", "ScanRules", "SurveyRules", "Who", "find_pad",
           "overridden", "override_note", "pads", "rows", "rule", "shown", "stage_rows"]


@dataclass(frozen=True, slots=True)
class Rulebook:
    """Every rule, in one value."""

    scan: ScanRules = field(default_factory=ScanRules)
    survey: SurveyRules = field(default_factory=SurveyRules)
    hold: HoldRules = field(default_factory=HoldRules)
    pads: PadRules = field(default_factory=PadRules)
    post: PostRules = field(default_factory=PostRules)
    panel: PanelRules = field(default_factory=PanelRules)
    loads: LoadRules = field(default_factory=LoadRules)
    fit: FitRules = field(default_factory=FitRules)
    case: CaseRules = field(default_factory=CaseRules)
    roles: RoleRules = field(default_factory=RoleRules)


def rows(book: Rulebook) -> tuple[Row, ...]:
    """Return every row of a book, stage by stage, in the order they are declared."""
    return tuple(row for stage in dataclasses.fields(book) for row in stage_rows(stage.name, getattr(book, stage.name)))


@functools.lru_cache(maxsize=16)
def overridden(book: Rulebook) -> tuple[Row, ...]:
    """Return the rows whose value is not the book's own; looked for once, since every object's sheet tells of them."""
    return tuple(row for row in rows(book) if row.value != row.book)


def override_note(book: Rulebook, most: int = 6) -> str:
    """Return one sentence that says which rows a case changes; "" where none.

    most  rows that are named; of more, only their number is given

    >>> override_note(Rulebook(post=PostRules(droop_mm=0.8)))
    "Rules changed by this case: post.droop_mm 0.8 mm (book 0.5 mm, shop's)."
    """
    changed = overridden(book)
    named = [f"{row.key} {row.shown} (book {row.shown_book}, {row.who.value}'s)" for row in changed[:most]]
    more = [f"and {len(changed) - most} more (`scanprep rules`)"] if len(changed) > most else []
    return f"Rules changed by this case: {', '.join([*named, *more])}." if changed else ""
