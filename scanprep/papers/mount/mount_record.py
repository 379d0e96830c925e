"""The second side of a mount sheet: checks with margins, findings, the scan's facts, cautions, who signs what."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import PurePath

from scanprep.findings import Check, Finding
from scanprep.papers.drawing.grid import Cell, Column, TickBox, facts, grid, heading
from scanprep.papers.drawing.listing import stretched_columns
from scanprep.papers.drawing.measures import Measures, amount
from scanprep.papers.drawing.page import Issue, blank, finished
from scanprep.papers.drawing.sheet import Box, Item, Sheet, Text, wrapped
from scanprep.papers.mount.mount_page import SIGN_OFFS
from scanprep.papers.mount.mount_parts import told_finding
from scanprep.spec import MountSpec

_FINDING_MM = 1.9  # layout: height of a finding's words


def check_rows(checks: Sequence[Check]) -> list[list[str]]:
    """Return checks as table rows, the loudest first."""
    ordered = sorted(enumerate(checks), key=lambda pair: (-pair[1].verdict.loudness, pair[0]))
    return [[check.verdict.value.upper(), check.name.replace("-", " "), amount(check.value, check.unit),
             amount(check.limit, check.unit), "–" if check.margin is None else f"{amount(check.margin)} ×",
             check.source] for _, check in ordered]


def scan_pairs(spec: MountSpec, measures: Measures) -> list[tuple[str, str]]:
    """Return where the scan's numbers come from."""
    scan = spec.scan
    error_mm = spec.survey.diagonal_mm * scan.scale_error_ratio
    mended = "; ".join(repair.detail for repair in scan.receipt) or "nothing"
    return [
        ("file", f"{PurePath(scan.file).name} ({scan.format}), {scan.faces} faces, sha256 {scan.sha256[:16]}…"),
        ("scale", f"{scan.scale_basis}; doubt {scan.scale_error_ratio:.2%}, which is {measures.named_fine(error_mm)} "
                  "over the longest diagonal"),
        ("health", f"{scan.grade.value}: {'; '.join(scan.reasons) or 'no reason to doubt it'}"),
        ("repaired", mended),
    ]


def _check_columns(width_mm: float) -> list[Column]:
    return stretched_columns(width_mm, (
        ("verdict", 23.0, "start"), ("check", 36.0, "start"), ("value", 22.0, "end"), ("limit", 24.0, "end"),
        ("margin", 15.0, "end"), ("source", 56.0, "start")))


def hub_notes(spec: MountSpec, room: Box, top_mm: float, words_mm: float = 1.9) -> tuple[list[Item], float]:
    """Return how the mount is put together, in order, and where the words end."""
    if spec.hold is None or not spec.hold.hub.notes:
        return [], top_mm
    head = heading("HUB AND SOLDERING", room.left_mm, top_mm - 1.0, room.width_mm, 2.2)
    notes = facts([(f"{n}", note) for n, note in enumerate(spec.hold.hub.notes, start=1)], room.left_mm,
                  head.bottom_mm, room.width_mm, name_mm=5.0, height_mm=words_mm, gap_mm=1.0)
    return [*head.items, *notes.items], notes.bottom_mm


class _Flow:
    """Pages filled from the top; the first has less room, since signatures stand at its foot."""

    def __init__(self, number: str, room: Box, first_floor_mm: float) -> None:
        self.number, self.room, self.floor = number, room, first_floor_mm
        head = Text(room.left_mm, room.top_mm - 5.0, f"{number}   checks and signatures", 4.0, bold=True)
        self.pages: list[list[Item]] = [[head]]
        self.y = room.top_mm - 8.0

    def turn(self) -> None:
        """Begin the next page."""
        words = f"{self.number}   continued"
        self.pages.append([Text(self.room.left_mm, self.room.top_mm - 5.0, words, 4.0, bold=True)])
        self.y, self.floor = self.room.top_mm - 8.0, self.room.bottom_mm

    def block(self, lay: Callable[[float], tuple[list[Item], float]]) -> None:
        """Set a block that `lay` lays out from a top down; whole, on the next page where this one is too full."""
        items, y = lay(self.y)
        if y < self.floor:
            self.turn()
            items, y = lay(self.y)
        self.pages[-1] += items
        self.y = y


def record_sides(spec: MountSpec, issue: Issue, kind: str, number: str, letters: Finding | None,
                 first: int = 2) -> list[Sheet]:
    """Return the second side, and more where they are needed: every finding and every check is printed.

    first  number of its first sheet
    """
    room = blank(issue, kind, number, 2, 2, caution="").room
    signed, below = _signatures(spec, room)
    flow = _Flow(number, room, below + 3.0)
    flow.pages[0] += signed
    told = [*spec.findings, letters] if letters else list(spec.findings)
    _put_findings(flow, told, number)
    flow.block(lambda y: _scan(spec, issue.measures, room, y))
    _put_checks(flow, check_rows(spec.checks))
    of = first - 1 + len(flow.pages)
    return [finished(blank(issue, kind, number, n, of, caution=""), items, f"{kind} {number}, checks")
            for n, items in enumerate(flow.pages, start=first)]


def _put_findings(flow: _Flow, findings: Sequence[Finding], number: str) -> None:
    ordered = sorted(findings, key=lambda finding: -finding.verdict.loudness)
    room = flow.room

    def head(y: float) -> tuple[list[Item], float]:
        made = heading("LOOK AT THESE FIRST", room.left_mm, y - 1.0, room.width_mm, 2.2)
        if ordered:  # a heading stays with its first line
            items, y = told_finding(ordered[0], number, room, made.bottom_mm, _FINDING_MM)
            return [*made.items, *items], y
        return [*made.items, Text(room.left_mm, made.bottom_mm - _FINDING_MM, "nothing", _FINDING_MM)], \
            made.bottom_mm - 4.0

    flow.block(head)
    for finding in ordered[1:]:
        flow.block(lambda y, finding=finding: told_finding(  # type: ignore[misc]  # bound now, not when called
            finding, number, room, y, _FINDING_MM))


def _scan(spec: MountSpec, measures: Measures, room: Box, top_mm: float) -> tuple[list[Item], float]:
    head = heading("SCAN", room.left_mm, top_mm - 1.0, room.width_mm, 2.2)
    table = facts(scan_pairs(spec, measures), room.left_mm, head.bottom_mm, room.width_mm, name_mm=18.0, height_mm=1.8)
    return [*head.items, *table.items], table.bottom_mm


def _put_checks(flow: _Flow, rows: Sequence[Sequence[str]]) -> None:
    """The table of checks, going on from page to page."""
    left, room = list(rows), flow.room
    if flow.y - 20.0 < flow.floor:
        flow.turn()
    while True:
        head = heading("CHECKS", room.left_mm, flow.y - 1.0, room.width_mm, 2.2)
        table = grid(_check_columns(room.width_mm), left, room.left_mm, head.bottom_mm, height_mm=1.7,
                     floor_mm=flow.floor)
        flow.pages[-1] += [*head.items, *table.items]
        flow.y, left = table.bottom_mm, left[table.rows:]
        if not left:
            return
        if not table.rows and flow.floor == room.bottom_mm:
            raise ValueError(f"a check of object {flow.number} does not fit a page")
        flow.turn()


def _signatures(spec: MountSpec, room: Box) -> tuple[list[Item], float]:
    """The sign-off table and the cautions, set at the foot; returns also where they begin."""
    cautions = [text for caution in spec.cautions for text in wrapped(f"– {caution}", room.width_mm, 1.8)]
    y = room.bottom_mm + len(cautions) * 2.9
    items: list[Item] = [Text(room.left_mm, y - 2.4 - i * 2.9, text, 1.8) for i, text in enumerate(cautions)]
    columns = [Column("agreed", room.width_mm * 0.36), Column("by", room.width_mm * 0.19),
               Column("name and signature", room.width_mm * 0.30), Column("date", room.width_mm * 0.15)]
    rows: list[list[Cell]] = [[TickBox(what), who, "", ""] for what, who in SIGN_OFFS]
    depth = 5.4 * len(rows) + 8.5
    head = heading("SIGN-OFF", room.left_mm, y + depth, room.width_mm, 2.2)
    table = grid(columns, rows, room.left_mm, head.bottom_mm, height_mm=1.7, least_row_mm=5.4, upright_rules=True)
    return [*items, *head.items, *table.items], y + depth
