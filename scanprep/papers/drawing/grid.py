"""Tables on papers: columns of given widths, cells that wrap, rows that go over to the next page whole.

Used by every paper with rows. Returns display-list items; y runs up, so a table grows downwards from its top.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.papers.drawing.sheet import BLACK, GREY, Box, Colour, Item, Pen, Text, line, rectangle, wrapped

_PAD_MM = 0.8  # layout: between a rule and the words of its cell
_RULE, _THICK = Pen(0.1, GREY), Pen(0.3)  # layout: lines of a table


@dataclass(frozen=True, slots=True)
class Column:
    """One column. `align`: start, middle or end; numbers end, so that their decimals stand under each other."""

    head: str
    width_mm: float
    align: str = "start"
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Swatch:
    """A cell that shows a colour and says its code."""

    hex: str

    @property
    def colour(self) -> Colour:
        """0..1 red, green, blue."""
        code = self.hex.lstrip("#")
        return (int(code[0:2], 16) / 255, int(code[2:4], 16) / 255, int(code[4:6], 16) / 255)


@dataclass(frozen=True, slots=True)
class TickBox:
    """A cell with an empty box to tick or sign."""

    words: str = ""


Cell = str | Swatch | TickBox


@dataclass(frozen=True, slots=True)
class Grid:
    """A laid-out table: what to draw and where it ends."""

    items: tuple[Item, ...]
    bottom_mm: float
    rows: int  # how many rows were set


def _cell_lines(cell: Cell, width_mm: float, height_mm: float, bold: bool) -> list[str]:
    if isinstance(cell, str):
        return wrapped(cell, width_mm - 2 * _PAD_MM, height_mm, bold) or [""]
    return [""]


def _row_depth(cells: Sequence[Cell], columns: Sequence[Column], height_mm: float, least_mm: float) -> float:
    lines = max(len(_cell_lines(c, k.width_mm, height_mm, k.bold)) for c, k in zip(cells, columns, strict=True))
    return max(least_mm, height_mm * (1.0 + 1.6 * (lines - 1)) + 2 * _PAD_MM)


def _put(text: str, column: Column, x: float, y: float, height_mm: float, bold: bool) -> Text:
    at = {"start": x + _PAD_MM, "middle": x + column.width_mm / 2, "end": x + column.width_mm - _PAD_MM}[column.align]
    return Text(at, y, text, height_mm, column.align, bold=bold)


def _draw_cell(cell: Cell, column: Column, x: float, top: float, depth: float, height_mm: float) -> list[Item]:
    if isinstance(cell, Swatch):
        box = Box(x + _PAD_MM, top - depth + 0.5, x + 9.0, top - 0.5)
        return [rectangle(box, _RULE, cell.colour), Text(x + 10.0, top - _PAD_MM - height_mm, cell.hex, height_mm)]
    if isinstance(cell, TickBox):
        side = min(depth - 1.2, 3.2)
        box = Box(x + _PAD_MM, top - 0.7 - side, x + _PAD_MM + side, top - 0.7)
        return [rectangle(box, Pen(0.2)), Text(box.right_mm + 1.0, top - _PAD_MM - height_mm, cell.words, height_mm)]
    lines = _cell_lines(cell, column.width_mm, height_mm, column.bold)
    return [_put(text, column, x, top - _PAD_MM - height_mm * (1.0 + 1.6 * i), height_mm, column.bold)
            for i, text in enumerate(lines) if text]


def grid(columns: Sequence[Column], rows: Sequence[Sequence[Cell]], left_mm: float, top_mm: float, *,
         height_mm: float = 2.0, floor_mm: float = float("-inf"), least_row_mm: float = 0.0,
         upright_rules: bool = False, under: Sequence[str] = ()) -> Grid:
    """Return a table from its top down, with as many rows as end above `floor_mm`.

    height_mm     of capitals
    least_row_mm  rows are at least this deep (for signatures)
    under         words under each row, over the table's whole width but for the first column
    """
    width = sum(column.width_mm for column in columns)
    items: list[Item] = []
    heads = [Column(c.head, c.width_mm, c.align, True) for c in columns]
    depth = _row_depth([c.head for c in heads], heads, height_mm * 0.9, 0.0)
    x = left_mm
    for column in heads:
        items += _draw_cell(column.head, column, x, top_mm, depth, height_mm * 0.9)
        x += column.width_mm
    y = top_mm - depth
    items += [line(left_mm, top_mm, left_mm + width, top_mm, _THICK), line(left_mm, y, left_mm + width, y, _THICK)]
    done, indent = 0, columns[0].width_mm
    for cells in rows:
        depth = _row_depth(cells, columns, height_mm, least_row_mm)
        notes = wrapped(under[done], width - indent - 2 * _PAD_MM, height_mm) if done < len(under) else []
        if y - depth - len(notes) * height_mm * 1.6 - _PAD_MM < floor_mm:
            break
        x = left_mm
        for cell, column in zip(cells, columns, strict=True):
            items += _draw_cell(cell, column, x, y, depth, height_mm)
            x += column.width_mm
        y -= depth
        items += [Text(left_mm + indent + _PAD_MM, y + _PAD_MM * 0.4 - height_mm * 1.6 * (i + 1), text, height_mm)
                  for i, text in enumerate(notes)]
        y -= len(notes) * height_mm * 1.6 + (_PAD_MM if notes else 0.0)
        items.append(line(left_mm, y, left_mm + width, y, _RULE))
        done += 1
    if upright_rules:
        x = left_mm
        for column in [*columns, Column("", 0.0)]:
            items.append(line(x, top_mm, x, y, _RULE))
            x += column.width_mm
    return Grid(tuple(items), y, done)


def facts(pairs: Sequence[tuple[str, str]], left_mm: float, top_mm: float, width_mm: float, *, name_mm: float = 26.0,
          height_mm: float = 2.0, gap_mm: float = 1.3) -> Grid:
    """Return pairs of a grey name and its words, under each other."""
    items: list[Item] = []
    y = top_mm
    for name, words in pairs:
        lines = wrapped(words, width_mm - name_mm, height_mm)
        items.append(Text(left_mm, y - height_mm, name, height_mm * 0.9, colour=GREY))
        items += [Text(left_mm + name_mm, y - height_mm - i * height_mm * 1.6, text, height_mm, colour=BLACK)
                  for i, text in enumerate(lines)]
        y -= height_mm + max(0, len(lines) - 1) * height_mm * 1.6 + gap_mm
    return Grid(tuple(items), y, len(pairs))


def heading(text: str, left_mm: float, top_mm: float, width_mm: float, height_mm: float = 2.5) -> Grid:
    """Return a bold heading with a rule under it."""
    y = top_mm - height_mm
    rule = line(left_mm, y - 1.0, left_mm + width_mm, y - 1.0, Pen(0.35))
    return Grid((Text(left_mm, y, text, height_mm, bold=True), rule), y - 2.2, 1)
