"""The checklist as the museum keeps it, one line an object, as typed briefs.

CSV or XLSX; columns in any order under many names, or mapped by the case file; merged cells, blank rows and heading
rows between groups; units in the cells or in the column heads, mixed as they come. Every fault of the file is reported
in one go. Used by `workspace` and the intake command.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scanprep.brief import KnownSize, ObjectBrief
from scanprep.errors import InputError, InputFaultsError
from scanprep.files import cells
from scanprep.files.columns import HEADINGS, Column, field_of, plain_heading, read_mapping, split_unit
from scanprep.files.scan_urls import ScanUrl, scan_place
from scanprep.files.tables import Cell, Line, blank, distinct_texts, read_lines
from scanprep.materials import material_name
from scanprep.post.retention import parse_retention
from scanprep.rules import PadRules, find_pad
from scanprep.vectors import along_one_line, parse_direction

_HEADER_ROWS = 40  # format: assumed: a title block above the column heads is shorter


@dataclass(frozen=True, slots=True)
class Checklist:
    """What was read, and what was left aside."""

    briefs: tuple[ObjectBrief, ...]
    not_read: tuple[str, ...]  # headings of columns that are none of ours


def read_checklist(path: Path, columns: Sequence[tuple[str, str]] = ()) -> tuple[ObjectBrief, ...]:
    """Return the objects of a checklist.

    columns  (heading, field) pairs from the case file; a field may end in a unit: ("Höhe", "height mm")

    Raises InputError when the file cannot be read at all, InputFaultsError with every fault of its lines.
    """
    return read_whole_checklist(path, columns).briefs


def read_whole_checklist(path: Path, columns: Sequence[tuple[str, str]] = (), sheet: str | None = None) -> Checklist:
    """Return the objects and the headings that were not read; see `read_checklist`."""
    lines = read_lines(path, sheet)
    mapping = read_mapping(columns)
    top, found, not_read = _heading_row(path, lines, mapping)
    faults: list[InputError] = []
    briefs: list[ObjectBrief] = []
    group = ""
    for line in lines[top + 1 :]:
        if blank(line):
            continue
        heading = _group_heading(line, found)
        if heading is not None:
            group = heading
            continue
        brief = _Reader(path, line, found, faults).brief(group)
        if brief is not None:
            briefs.append(brief)
    faults += _duplicates(path, briefs)
    if not briefs and not faults:
        faults.append(InputError(file=path, problem="lists no object", remedy="Add one line an object below the heads"))
    if faults:
        raise InputFaultsError(faults)
    return Checklist(tuple(briefs), not_read)


def _heading_row(path: Path, lines: Sequence[Line], mapping: dict[str, tuple[str, str | None]],
                 ) -> tuple[int, tuple[Column, ...], tuple[str, ...]]:
    """Return the row of the column heads (the lower one of two), what we read, and what we do not."""
    known = [[field_of(text, mapping) for text in line.texts] for line in lines[:_HEADER_ROWS]]
    tops = [i for i, row in enumerate(known)
            if sum(f is not None for f in row) >= 2 and any(f and f[0] == "number" for f in row)]
    if not tops:
        raise InputError(file=path, problem="has no row of column heads with a number column",
                         remedy="Name a column `number`, or map yours in case.toml under [checklist.columns]")
    top = tops[0]
    while top + 1 in tops:
        top += 1
    above = lines[top - 1].texts if top - 1 in tops else ()
    found, not_read = [], []
    for index, text in enumerate(lines[top].texts):
        match = known[top][index]
        if match is None:
            not_read += [text] if text else []
            continue
        found.append(Column(index, text, match[0], match[1] or _unit_above(above, index)))
    twice = [c for i, c in enumerate(found) if c.field in {b.field for b in found[:i]}]
    if twice:
        raise InputError(file=path, field=twice[0].heading, problem=f"is a second column for {twice[0].field}",
                         remedy="Rename one of them, or say which counts in case.toml under [checklist.columns]")
    return top, tuple(found), tuple(not_read)


def _unit_above(above: Sequence[str], index: int) -> str | None:
    """Return the unit of a head that spans several columns: "Size (cm)" over height, width, depth."""
    return split_unit(plain_heading(above[index]))[1] if index < len(above) else None


def _group_heading(line: Line, found: Sequence[Column]) -> str | None:
    """Return the text of a row that only names the group of the rows below, else None."""
    texts = list(distinct_texts(line))
    number = next(column.index for column in found if column.field == "number")
    has_other = any(c.text and not c.merged for i, c in enumerate(line.cells) if i != number)
    own = number < len(line.cells) and bool(line.cells[number].text)
    spread = any(cell.merged and cell.text == texts[0] for cell in line.cells) if texts else False
    return texts[0] if len(texts) == 1 and (spread or (own is False and has_other)) else None


def _duplicates(path: Path, briefs: Sequence[ObjectBrief]) -> list[InputError]:
    seen: set[str] = set()
    faults = []
    for brief in briefs:
        if brief.number in seen:
            faults.append(InputError(file=path, field="number", value=brief.number, problem="stands there twice",
                                     remedy="Give each object its own number"))
        seen.add(brief.number)
    return faults


def _scan_name(text: str) -> str:
    """A file's name or path, with the slashes of every system."""
    if isinstance(scan_place(text), ScanUrl):
        raise ValueError(f"{text!r} is an address, and the checklist names files; write the address of their folder as "
                         "scans_at in case.toml")
    return text.replace("\\", "/")


_SIZE_FIELDS = ("height", "width", "depth", "diameter", "longest")
#: checklist field -> (field of ObjectBrief, how a cell becomes its value)
_VALUES: dict[str, tuple[str, Callable[[str, str | None], Any]]] = {
    "title": ("title", lambda text, _: text),
    "material": ("material", lambda text, _: material_name(text)),
    "scan": ("scan", lambda text, _: _scan_name(text)),
    "unit": ("unit", lambda text, _: cells.scan_unit(text)),
    "mass": ("mass_g", cells.mass_g),
    "wall": ("wall_mm", cells.positive_length_mm),
    "pieces": ("pieces", lambda text, _: cells.count(text)),
    "up": ("up", lambda text, _: parse_direction(text)),
    "front": ("front", lambda text, _: parse_direction(text)),
    "attitude": ("attitude", lambda text, _: text.lower().replace(" ", "-")),
    "tilt": ("tilt_deg", cells.angle_deg),
    "turn": ("turn_deg", cells.angle_deg),
    "roll": ("roll_deg", cells.angle_deg),
    "group": ("group", lambda text, _: text),
    "order": ("order", lambda text, _: cells.plain_number(text)),
    "panel": ("panel", lambda text, _: text),
    "face": ("face", lambda text, _: cells.face(text)),
    "x": ("datum_x_mm", cells.length_mm),
    "from left": ("from_left_mm", cells.length_mm),
    "y": ("y_mm", cells.length_mm),
    "tip limit": ("tip_limit_N", cells.force_N),
    "pad": ("pad", lambda text, _: find_pad(text.lower(), PadRules()).name),
    "stand off": ("stand_off_mm", cells.positive_length_mm),
    "retention": ("retention", lambda text, _: parse_retention(text).words),
    "parts": ("parts", lambda text, _: cells.parts(text)),
    "no touch": ("no_touch", lambda text, _: cells.regions(text)),
    "note": ("note", lambda text, _: text),
}
#: Fields whose merged cells mean "the same for all of these"; elsewhere a merged cell belongs to its first row only.
_SHARED = ("title", "material", "scan", "unit", "group", "panel", "face", "pad", "condition", "attitude")


class _Reader:
    """Reads one line; faults gather in a list shared by the whole file."""

    def __init__(self, path: Path, line: Line, columns: Sequence[Column], faults: list[InputError]) -> None:
        self.path, self.line, self.columns, self.faults = path, line, columns, faults

    def _fault(self, column: Column | None, value: str | None, problem: str, remedy: str) -> None:
        field = f"row {self.line.number}" + (f", {column.heading}" if column else "")
        self.faults.append(InputError(file=self.path, field=field, value=value, problem=problem, remedy=remedy))

    def _cell(self, column: Column) -> Cell:
        if column.index >= len(self.line.cells):
            return Cell("")
        cell = self.line.cells[column.index]
        return Cell("") if cell.merged and column.field not in _SHARED else cell

    def brief(self, group: str) -> ObjectBrief | None:
        """Return the line's object, or None when it has no number."""
        by_field = {column.field: column for column in self.columns}
        number = self._cell(by_field["number"])
        self._odd(by_field["number"], number)
        if not number.text:
            self._fault(by_field["number"], None, "an object without a number", "Give it one, or empty the row")
            return None
        values: dict[str, Any] = {"number": number.text}
        for field, (name, reads) in _VALUES.items():
            if field in by_field:
                value = self._read(by_field[field], reads)
                if value is not None:
                    values[name] = value
        sizes = self._sizes(by_field)
        values |= {"sizes": sizes} if sizes else {}
        values |= self._condition(by_field, values.get("note", ""))
        values.setdefault("group", group)
        self._belongs_together(values)
        return ObjectBrief(**values)

    def _odd(self, column: Column, cell: Cell) -> None:
        if cell.fault:
            self._fault(column, cell.text or None, cell.fault, "Format the column as text, or type the value in")

    def _read(self, column: Column, reads: Callable[[str, str | None], Any]) -> Any:
        cell = self._cell(column)
        self._odd(column, cell)
        if not cell.text or cell.fault or cell.text in ("-", "–", "—"):
            return None
        try:
            return reads(cell.text, column.unit)
        except InputError as problem:
            self._fault(column, None if problem.value is None else str(problem.value), problem.problem, problem.remedy)
        except ValueError as problem:
            self._fault(column, None, str(problem), "Correct the cell and read the checklist again")
        return None

    def _sizes(self, by_field: dict[str, Column]) -> tuple[KnownSize, ...]:
        sizes: list[KnownSize] = []
        if "known size" in by_field:
            sizes += self._read(by_field["known size"], lambda text, _: cells.known_sizes(text)) or ()
        if "dimensions" in by_field:
            sizes += self._read(by_field["dimensions"], cells.dimensions) or ()
        for field in _SIZE_FIELDS:
            if field in by_field:
                value_mm = self._read(by_field[field], cells.positive_length_mm)
                sizes += [KnownSize(field, value_mm)] if value_mm is not None else []
        return tuple(dict.fromkeys(sizes))

    def _condition(self, by_field: dict[str, Column], note: str) -> dict[str, str]:
        if "condition" not in by_field:
            return {}
        text = self._read(by_field["condition"], lambda text, _: text) or ""
        word = cells.condition(text)
        more = f"condition: {text}" if text.lower() != word else ""
        return {"condition": word, "moving": cells.moving(text),
                "note": "; ".join(part for part in (note, more) if part)}

    def _belongs_together(self, values: dict[str, Any]) -> None:
        place = {name: values.get(name) for name in ("panel", "face", "datum_x_mm", "from_left_mm", "y_mm")}
        across = [name for name in ("datum_x_mm", "from_left_mm") if place[name] is not None]
        if len(across) == 2:
            self._fault(None, values["number"], "has both x and from left", "Give x, which runs from the datum edge, "
                        "or from left, which runs from the face's own left edge")
        elif bool(across) != (place["y_mm"] is not None):
            self._fault(None, values["number"], "has only one of x and y", "Give both, or neither")
        if across and (place["panel"] is None or place["face"] is None):
            self._fault(None, values["number"], "has x and y but no panel and face", "Name the panel and the face")
        if along_one_line(values.get("up"), values.get("front")):
            self._fault(None, values["number"], "has its front along its up", "Say which side faces the viewer")


def left_aside(not_read: Sequence[str]) -> tuple[str, ...]:
    """Return a sentence for each heading that was not read, and of which of ours it may be a slip of the pen."""
    names = {heading: field for field, headings in HEADINGS.items() for heading in headings if len(heading) > 3}
    near = [(text, difflib.get_close_matches(plain_heading(text), names, n=1, cutoff=0.8)) for text in not_read]
    return tuple(f"column {text!r} was not read" + (f"; is it {names[match[0]]}?" if match else "")
                 for text, match in near)
