"""The change note: with each new issue of a case's papers, which to recall, which holes and which mounts are affected.

Made from what the register said before and what it says now. Pages as a list; nothing is drawn to scale here.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from scanprep.numbering import natural_key
from scanprep.papers.drawing.grid import Cell, TickBox
from scanprep.papers.drawing.listing import list_sheets, stretched_columns
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.sheet import Sheet
from scanprep.papers.register import FactChange, Register, Registered, changes_between


@dataclass(frozen=True, slots=True)
class Recall:
    """One paper that no longer counts in the issue that is out there."""

    file: str
    old: str  # "issue 2, paper 7K3A-91CD"
    new: str  # the same of the issue that takes its place, or "withdrawn"
    changes: int  # how many of its holes and mounts say something else


@dataclass(frozen=True, slots=True)
class ChangeNote:
    """What a new issue of some papers means for the people who hold the old ones."""

    number: int
    recalls: tuple[Recall, ...]
    added: tuple[str, ...]  # papers issued for the first time: "file: issue 1, paper ..."
    holes: tuple[FactChange, ...]
    mounts: tuple[FactChange, ...]
    made: frozenset[str]  # objects whose mounts are made already: those of `mounts` among them are re-made


def change_note(before: Register, now: Register, made: Collection[str]) -> ChangeNote:
    """Return the note that goes out with a register's latest issues.

    made  numbers of the objects whose mounts were made
    """
    recalls: list[Recall] = []
    added: list[str] = []
    changes: dict[tuple[str, str], FactChange] = {}
    still = {(fact.kind, fact.number) for paper in now.current.values() for fact in paper.last.facts}
    for file, paper in now.papers.items():
        old = before.papers.get(file)
        if old is None or old.withdrawn_by:
            if not paper.withdrawn_by:
                added.append(f"{file}: {paper.last.control.words}")
        elif paper.last != old.last or paper.withdrawn_by:
            found = changes_between(old.last.facts, () if paper.withdrawn_by else paper.last.facts)
            recalls.append(Recall(file, old.last.control.words, _now(paper), len(found)))
            # what a withdrawn paper said may stand on the others as before
            changes |= {(c.kind, c.number): c for c in found if c.now or (c.kind, c.number) not in still}
    ordered = sorted(changes.values(), key=lambda change: natural_key(change.number))
    return ChangeNote(now.note, tuple(recalls), tuple(added), tuple(c for c in ordered if c.kind == "hole"),
                      tuple(c for c in ordered if c.kind == "mount"), frozenset(made))


def _now(paper: Registered) -> str:
    return "withdrawn" if paper.withdrawn_by else paper.last.control.words


def change_note_sheets(note: ChangeNote, issue: Issue) -> list[Sheet]:
    """Return a change note as pages."""
    rows: list[list[Cell]] = []
    for recall in note.recalls:
        rows.append(["recall", recall.file, recall.old, f"{recall.new}; {_figures(recall.changes)}", TickBox()])
    rows += [[f"hole {change.number}", "", change.was or "not there", change.now or "not there", TickBox()]
             for change in note.holes]
    rows += [[f"mount {change.number}", _to_do(change, note), change.was or "not there", change.now or "not there",
              TickBox()] for change in note.mounts]
    rows += [["new", file, "", control, TickBox()] for file, control in (line.rsplit(": ", 1) for line in note.added)]
    again = sum(change.number in note.made for change in note.mounts)
    notes = (f"{len(note.recalls)} papers to recall, {len(note.holes)} holes affected, {len(note.mounts)} mounts "
             f"affected, {again} of them made already and to be made again or checked, {len(note.added)} papers new.",
             "Fetch every recalled paper, tile, label and file in the column \"was\" from bench, drill press, machine "
             "and box, and destroy it or write SUPERSEDED across it, before anybody works from the new one. Old files "
             "stand in the folder superseded.",
             "Two people tick each line: one recalled, the other looked.")
    return list_sheets(issue, "Change note", f"note {note.number}", f"Change note {note.number}",
                       lambda width: stretched_columns(width, (
                           ("what", 22, "start"), ("paper, or what to do", 44, "start"), ("was", 82, "start"),
                           ("now", 82, "start"), ("done", 9, "start"))),
                       rows, notes=notes, landscape=True)


def _figures(changes: int) -> str:
    return f"{changes} {'line' if changes == 1 else 'lines'} on holes and mounts changed" if changes else \
        "no figure of a hole or mount changed"


def _to_do(change: FactChange, note: ChangeNote) -> str:
    if change.number not in note.made:
        return "not made yet: make it by the new sheet"
    return "MADE: compare it with the new sheet, re-make or shim" if change.now else "MADE: keep it apart, not used now"
