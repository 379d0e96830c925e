"""A sheet to an SVG file in millimetres: true to scale, a group a layer, hole facts as data attributes.

Words stay words in the papers' own font; a machine without it falls back to another sans serif, which moves no line.
"""

from __future__ import annotations

import base64
from xml.etree import ElementTree as Tree

from scanprep.papers.drawing.control import Control, controlled
from scanprep.papers.drawing.letters import CAP_SHARE, printable
from scanprep.papers.drawing.sheet import Circle, Colour, Datum, Image, Item, Path, Pen, Sheet, Text, flattened
from scanprep.plain_text import in_one_line

_NS = "http://www.w3.org/2000/svg"


def svg_bytes(sheet: Sheet, control: Control | None = None) -> bytes:
    """Return an SVG whose user unit is 1 mm; y is turned so that it runs down, as SVG has it.

    control  which issue of which paper it is: set at the sheet's marks and kept in its `metadata`
    """
    root = Tree.Element("svg", {
        "xmlns": _NS, "version": "1.1", "width": f"{_n(sheet.width_mm)}mm", "height": f"{_n(sheet.height_mm)}mm",
        "viewBox": f"0 0 {_n(sheet.width_mm)} {_n(sheet.height_mm)}"})
    Tree.SubElement(root, "title").text = printable(sheet.title)
    if control is not None:
        Tree.SubElement(root, "metadata").text = control.note
    group, layer = root, None
    for item in flattened(controlled(sheet, control).items):
        if _layer(item) != layer:
            layer = _layer(item)
            group = Tree.SubElement(root, "g", {"data-layer": layer})
        _add(group, item, sheet.height_mm)
    Tree.indent(root, "")
    body: bytes = Tree.tostring(root, encoding="utf-8")
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + body + b"\n"


def _layer(item: Item) -> str:
    return str(getattr(item, "layer", "NOTES"))


def _n(value: float) -> str:
    """A number in mm to a tenth of a micrometre, without trailing zeros."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _hex(colour: Colour) -> str:
    return "#" + "".join(f"{round(part * 255):02x}" for part in colour)


def _style(pen: Pen | None, fill: Colour | None) -> dict[str, str]:
    style = {"fill": _hex(fill) if fill else "none"}
    if pen is None:
        return style
    style |= {"stroke": _hex(pen.colour), "stroke-width": _n(pen.width_mm)}
    if pen.dash_mm:
        style["stroke-dasharray"] = " ".join(_n(d) for d in pen.dash_mm)
    return style


def _add(group: Tree.Element, item: Item, height_mm: float) -> None:
    if isinstance(item, Path):
        points = " ".join(f"{_n(x)},{_n(height_mm - y)}" for x, y in item.points)
        Tree.SubElement(group, "polygon" if item.closed else "polyline", {"points": points,
                                                                          **_style(item.pen, item.fill)})
    elif isinstance(item, Circle):
        Tree.SubElement(group, "circle", {"cx": _n(item.x_mm), "cy": _n(height_mm - item.y_mm),
                                          "r": _n(item.radius_mm), **_style(item.pen, item.fill)})
    elif isinstance(item, Text):
        _add_text(group, item, height_mm)
    elif isinstance(item, Image):
        kind = "png" if item.data[:4] == b"\x89PNG" else "jpeg"
        Tree.SubElement(group, "image", {
            "x": _n(item.x_mm), "y": _n(height_mm - item.y_mm - item.height_mm), "width": _n(item.width_mm),
            "height": _n(item.height_mm),
            "href": f"data:image/{kind};base64,{base64.b64encode(item.data).decode('ascii')}"})
    elif isinstance(item, Datum):
        Tree.SubElement(group, "g", {"class": item.name, "data-cx": _n(item.x_mm),
                                     "data-cy": _n(height_mm - item.y_mm),
                                     **{f"data-{tag.lower()}": in_one_line(value) for tag, value in item.values}})
    else:
        raise TypeError(f"the SVG writer does not know {type(item).__name__}")


def _add_text(group: Tree.Element, item: Text, height_mm: float) -> None:
    x, y = _n(item.x_mm), _n(height_mm - item.y_mm)
    attributes = {"x": x, "y": y, "font-family": "DejaVu Sans, sans-serif", "font-size": _n(item.height_mm / CAP_SHARE),
                  "text-anchor": item.anchor, "fill": _hex(item.colour)}
    if item.bold:
        attributes["font-weight"] = "bold"
    if item.angle_deg:
        attributes["transform"] = f"rotate({_n(-item.angle_deg)} {x} {y})"
    Tree.SubElement(group, "text", attributes).text = printable(item.text)
