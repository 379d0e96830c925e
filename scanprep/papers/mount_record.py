"""The second side of a mount sheet: checks with margins, findings, the scan's facts, cautions, who signs what."""

from __future__ import annotations

from collections.abc import Sequence

from scanprep.findings import Check, Finding
from scanprep.papers.grid import Cell, Column, TickBox, facts, grid, heading
from scanprep.papers.listing import stretched_columns
from scanprep.papers.measures import Measures, amount
from scanprep.papers.mount_page import SIGN_OFFS
from scanprep.papers.mount_parts import LOUD_FIRST
from scanprep.papers.page import Issue, blank, finished
from scanprep.papers.sheet import GREY, Box, Item, Sheet, Text, wrapped
from scanprep.spec import MountSpec


def check_rows(checks: Sequence[Check]) -> list[list[str]]:
    """Return checks as table rows, the loudest first."""
    ordered = sorted(enumerate(checks), key=lambda pair: (LOUD_FIRST[pair[1].verdict], pair[0]))
    return [[check.verdict.value.upper(), check.name.replace("-", " "), amount(check.value, check.unit),
             amount(check.limit, check.unit), "–" if check.margin is None else f"{amount(check.margin)} ×",
             check.source] for _, check in ordered]


def _findings(findings: Sequence[Finding], box: Box, top_mm: float, most_mm: float) -> tuple[list[Item], float]:
    """Findings as sentences with remedies; what does not fit is counted, not dropped silently."""
    head = heading("LOOK AT THESE FIRST", box.left_mm, top_mm, box.width_mm, 2.2)
    items, y = list(head.items), head.bottom_mm
    floor = top_mm - most_mm
    ordered = sorted(findings, key=lambda finding: LOUD_FIRST[finding.verdict])
    for done, finding in enumerate(ordered):
        words = f"{finding.sentence}. {finding.remedy}" if finding.remedy else finding.sentence
        lines = wrapped(words, box.width_mm - 24.0, 1.8)
        if y - len(lines) * 2.9 < floor:
            left = len(ordered) - done
            items.append(Text(box.left_mm, y - 2.0, f"… and {left} more in spec.json and findings.csv", 1.8, bold=True))
            return items, y - 4.0
        items.append(Text(box.left_mm, y - 1.8, finding.verdict.value.upper(), 1.8, bold=True))
        items += [Text(box.left_mm + 24.0, y - 1.8 - i * 2.9, text, 1.8) for i, text in enumerate(lines)]
        y -= len(lines) * 2.9 + 0.9
    if not findings:
        items.append(Text(box.left_mm, y - 1.8, "nothing", 1.8))
        y -= 3.0
    return items, y


def scan_pairs(spec: MountSpec, measures: Measures) -> list[tuple[str, str]]:
    """Return where the scan's numbers come from."""
    scan = spec.scan
    error_mm = spec.survey.diagonal_mm * scan.scale_error_ratio
    mended = "; ".join(repair.detail for repair in scan.receipt) or "nothing"
    return [
        ("file", f"{scan.file} ({scan.format}), {scan.faces} faces, sha256 {scan.sha256[:16]}…"),
        ("scale", f"{scan.scale_basis}; doubt {scan.scale_error_ratio:.2%}, which is {measures.named_fine(error_mm)} "
                  "over the longest diagonal"),
        ("health", f"{scan.grade.value}: {'; '.join(scan.reasons) or 'no reason to doubt it'}"),
        ("mended", mended),
    ]


def _check_columns(width_mm: float) -> list[Column]:
    return stretched_columns(width_mm, (
        ("verdict", 25.0, "start"), ("check", 44.0, "start"), ("value", 22.0, "end"), ("limit", 22.0, "end"),
        ("margin", 16.0, "end"), ("source", 47.0, "start")))


def _hub_notes(spec: MountSpec, room: Box, top_mm: float) -> tuple[list[Item], float]:
    """How the mount is put together, in order."""
    if spec.hold is None or not spec.hold.hub.notes:
        return [], top_mm
    head = heading("HUB AND SOLDERING", room.left_mm, top_mm - 1.0, room.width_mm, 2.2)
    notes = facts([(f"{n}", note) for n, note in enumerate(spec.hold.hub.notes, start=1)], room.left_mm,
                  head.bottom_mm, room.width_mm, name_mm=5.0, height_mm=1.8, gap_mm=1.0)
    return [*head.items, *notes.items], notes.bottom_mm


def record_sides(spec: MountSpec, issue: Issue, kind: str, number: str, letters: Finding | None) -> list[Sheet]:
    """Return the second side, and more where the checks need them: every check is printed."""
    room = blank(issue, kind, number, 2, 2, caution="").room
    head: list[Item] = [Text(room.left_mm, room.top_mm - 5.0, f"{number}   checks and signatures", 4.0, bold=True)]
    told = [*spec.findings, letters] if letters else list(spec.findings)
    found, y = _findings(told, room, room.top_mm - 8.0, 62.0)
    hub, y = _hub_notes(spec, room, y)
    scan = heading("SCAN", room.left_mm, y - 1.0, room.width_mm, 2.2)
    scan_facts = facts(scan_pairs(spec, issue.measures), room.left_mm, scan.bottom_mm, room.width_mm, name_mm=18.0,
                       height_mm=1.7)
    lower, below = _signatures(spec, room)
    checks = heading("CHECKS", room.left_mm, scan_facts.bottom_mm - 1.0, room.width_mm, 2.2)
    rows = check_rows(spec.checks)
    table = grid(_check_columns(room.width_mm), rows, room.left_mm, checks.bottom_mm, height_mm=1.6,
                 floor_mm=below + 4.0)
    pages = [[*head, *found, *hub, *scan.items, *scan_facts.items, *checks.items, *table.items, *lower]]
    rows = rows[table.rows:]
    if rows:
        pages[0].append(Text(room.left_mm, table.bottom_mm - 2.4, f"… {len(rows)} more on the next sheet", 1.6,
                             bold=True))
    while rows:
        more = heading(f"{number}   checks, continued", room.left_mm, room.top_mm, room.width_mm, 3.5)
        table = grid(_check_columns(room.width_mm), rows, room.left_mm, more.bottom_mm, height_mm=1.6,
                     floor_mm=room.bottom_mm)
        if not table.rows:
            raise ValueError(f"a check of object {number} does not fit a page")
        pages.append([*more.items, *table.items])
        rows = rows[table.rows:]
    of = len(pages) + 1
    return [finished(blank(issue, kind, number, n, of, caution=""), items, f"{kind} {number}, checks")
            for n, items in enumerate(pages, start=2)]


def _signatures(spec: MountSpec, room: Box) -> tuple[list[Item], float]:
    """The sign-off table and the cautions, set at the foot; returns also where they begin."""
    cautions = [text for caution in spec.cautions for text in wrapped(f"– {caution}", room.width_mm, 1.6)]
    y = room.bottom_mm + len(cautions) * 2.6
    items: list[Item] = [Text(room.left_mm, y - 2.2 - i * 2.6, text, 1.6, colour=GREY)
                         for i, text in enumerate(cautions)]
    columns = [Column("agreed", room.width_mm * 0.36), Column("by", room.width_mm * 0.19),
               Column("name and signature", room.width_mm * 0.30), Column("date", room.width_mm * 0.15)]
    rows: list[list[Cell]] = [[TickBox(what), who, "", ""] for what, who in SIGN_OFFS]
    depth = 5.4 * len(rows) + 8.5
    head = heading("SIGN-OFF", room.left_mm, y + depth, room.width_mm, 2.2)
    table = grid(columns, rows, room.left_mm, head.bottom_mm, height_mm=1.7, least_row_mm=5.4, upright_rules=True)
    return [*items, *head.items, *table.items], y + depth
