"""A sheet to a DXF file in millimetres, for machines and drawing programs: layers by meaning, holes with attributes.

Release R2010, model space, one unit = 1 mm. Circles stay circles, so that a machine finds its centres; a block at each
hole carries number, diameter, depth, session, face and ordinates. Pictures are left out.
"""

from __future__ import annotations

import io
from typing import Any

from scanprep.papers.drawing.control import Control, controlled
from scanprep.papers.drawing.letters import printable
from scanprep.papers.drawing.sheet import Circle, Colour, Datum, Group, Image, Item, Path, Pen, Sheet, Text, flattened
from scanprep.plain_text import in_one_line

#: format: AutoCAD colour index by layer, for screens only: what is drilled is loud.
_COLOURS = {"OUTLINE": 7, "DATUM": 1, "REGISTRATION": 4, "CHECK": 3, "CENTRE": 6, "TEXT": 7, "NOTES": 8, "CLOCK": 5,
            "ABANDONED": 9, "HOLE_DATA": 8, "WARNING": 1, "TURNING_AXIS": 8, "DRILLED": 1, "HELD": 1}
_STYLE = "PAPERS"


def dxf_bytes(sheet: Sheet, origin_mm: tuple[float, float] = (0.0, 0.0), control: Control | None = None) -> bytes:
    """Return a DXF of a sheet; the same bytes for the same sheet. `origin_mm`: the place on it that becomes 0, 0.

    control  which issue of which paper it is: set at the sheet's marks and kept as a custom property of the header
    """
    import ezdxf
    from ezdxf import options

    fixed = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # no time stamps and random ids: same sheet, same bytes
    try:
        document = ezdxf.new("R2010", setup=False)
        document.units = ezdxf.units.MM
        document.header["$MEASUREMENT"] = 1
        if control is not None:
            document.header.custom_vars.append("PAPER", control.note)
        document.styles.new(_STYLE, dxfattribs={"font": "DejaVuSans.ttf"})
        document.linetypes.add("DASHED_MM", [3.0, 2.0, -1.0], description="dashed, mm")
        space = document.modelspace()
        for item in flattened([Group(controlled(sheet, control).items, -origin_mm[0], -origin_mm[1])]):
            _add(document, space, item)
        sink = io.StringIO()
        document.write(sink)
    finally:
        options.write_fixed_meta_data_for_testing = fixed
    return sink.getvalue().encode("utf-8")


def _layer(document: Any, name: str) -> str:
    if name not in document.layers:
        document.layers.add(name, color=_COLOURS.get(name, 2 if name.startswith("DRILL_") else 7))
    return name


def _attributes(document: Any, item: Any, pen: Pen | None) -> dict[str, Any]:
    attributes: dict[str, Any] = {"layer": _layer(document, item.layer)}
    if pen is not None and pen.dash_mm:
        attributes["linetype"] = "DASHED_MM"
    return attributes


def _grey(colour: Colour) -> int:
    """A true colour as DXF packs it."""
    red, green, blue = (round(part * 255) for part in colour)
    return red << 16 | green << 8 | blue


def _add(document: Any, space: Any, item: Item) -> None:
    if isinstance(item, Path):
        attributes = _attributes(document, item, item.pen)
        if item.fill is not None and item.closed:
            hatch = space.add_hatch(dxfattribs={"layer": attributes["layer"]})
            hatch.rgb = tuple(round(part * 255) for part in item.fill)
            hatch.paths.add_polyline_path(item.points, is_closed=True)
        if item.pen is not None and len(item.points) == 2:
            space.add_line(*item.points, dxfattribs=attributes)
        elif item.pen is not None:
            space.add_lwpolyline(item.points, close=item.closed, dxfattribs=attributes)
    elif isinstance(item, Circle):
        if item.pen is not None:
            space.add_circle((item.x_mm, item.y_mm), item.radius_mm, dxfattribs=_attributes(document, item, item.pen))
    elif isinstance(item, Text):
        _add_text(document, space, item)
    elif isinstance(item, Datum):
        _add_datum(document, space, item)
    elif not isinstance(item, Image):
        raise TypeError(f"the DXF writer does not know {type(item).__name__}")


def _add_text(document: Any, space: Any, item: Text) -> None:
    from ezdxf.enums import TextEntityAlignment

    place = {"start": TextEntityAlignment.LEFT, "middle": TextEntityAlignment.CENTER,
             "end": TextEntityAlignment.RIGHT}[item.anchor]
    words = printable(item.text).replace("%%", "% %")
    if not words.strip():
        return
    text = space.add_text(words, height=item.height_mm, rotation=item.angle_deg, dxfattribs={
        "layer": _layer(document, item.layer), "style": _STYLE, "true_color": _grey(item.colour)})
    text.set_placement((item.x_mm, item.y_mm), align=place)


def _add_datum(document: Any, space: Any, item: Datum) -> None:
    if item.name not in document.blocks:
        block = document.blocks.new(item.name)
        block.add_point((0, 0), dxfattribs={"layer": "0"})
        for row, (tag, _) in enumerate(item.values):
            block.add_attdef(tag, (3.0, -2.0 * row), height=1.0, dxfattribs={"flags": 1, "style": _STYLE})
    insert = space.add_blockref(item.name, (item.x_mm, item.y_mm), dxfattribs={"layer": _layer(document, item.layer)})
    insert.add_auto_attribs({tag: in_one_line(value) for tag, value in item.values})
