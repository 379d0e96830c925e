"""Keys of `case.toml`: the field each one fills, and how its value is read and refused.

Values are lengths, forces and angles as text with their unit, names out of a few, and sizes of the trade. Raises
ValueError in words that end a sentence of `case_file`, which knows section and file.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any

from scanprep.files import cells
from scanprep.files.scan_urls import ScanUrl, check_address, scan_place
from scanprep.post.drill import drill_name, parse_drill
from scanprep.post.plan import rod_label
from scanprep.post.retention import parse_retention
from scanprep.post.rod_names import rod_size
from scanprep.units import parse_angle_deg, parse_force_N, parse_torque_Nmm

Reads = Callable[[Any], Any]
#: format: an angle beyond this was written down wrong.
MOST_OUT_OF_SQUARE_deg = 3.0


def _length(value: Any) -> float:
    if not isinstance(value, str):
        raise ValueError("a length needs its unit; write it as text, such as \"92 mm\" or \"3 5/8 in\"")
    return cells.length_mm(value)


def _size(value: Any) -> float:
    length = _length(value)
    if length <= 0:
        raise ValueError("must be above 0")
    return length


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError("must be text, in quotes")
    return value


def _yes(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError("must be true or false")
    return value


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("must be a number without quotes")
    if not abs(value) <= sys.float_info.max:  # TOML knows nan and inf; no limit is one
        raise ValueError("must be a finite number")
    return float(value)


def _zero_or_more(value: Any) -> float:
    number = _number(value)
    if number < 0:
        raise ValueError("must not be below 0")
    return number


def _above_zero(value: Any) -> float:
    number = _number(value)
    if number <= 0:
        raise ValueError("must be above 0")
    return number


def _share(value: Any) -> float:
    number = _number(value)
    if not 0 <= number <= 1:
        raise ValueError("must be a share, from 0 to 1")
    return number


def _angle(value: Any) -> float:
    if not isinstance(value, str):
        raise ValueError("must be an angle with its unit, such as \"0.2 deg\"")
    angle_deg = parse_angle_deg(value)
    if not 0 <= angle_deg <= MOST_OUT_OF_SQUARE_deg:
        raise ValueError(f"must lie between 0 and {MOST_OUT_OF_SQUARE_deg:g} deg")
    return angle_deg


def _count(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value < 2**31:
        raise ValueError("must be a whole number of at least 1")
    return value


def _one_of(*names: str) -> Reads:
    def reads(value: Any) -> str:
        if value not in names:
            raise ValueError(f"must be one of {', '.join(names)}")
        return str(value)

    return reads


def _sizes(value: Any) -> tuple[float, ...]:
    if not isinstance(value, list) or not value:
        raise ValueError("must be a list of lengths, such as [\"1205 mm\", \"1612 mm\"]")
    return tuple(_size(item) for item in value)


def _scans_at(value: Any) -> str:
    text = _text(value)
    return check_address(text) if isinstance(scan_place(text), ScanUrl) else text


#: key of the file -> (field of the record, how its value is read)
TOP: dict[str, tuple[str, Reads]] = {
    "title": ("title", _text),
    "units": ("units", _one_of("mm", "in")),
    "max_post_diameters": ("max_post_diameters", _count),
    "mock_up": ("mock_up", _yes),
    "measured_squareness": ("square_deg", _angle),
    "id": ("case_id", _text),
    "scans_at": ("scans_at", _scans_at),
}
SITE: dict[str, tuple[str, Reads]] = {
    "name": ("site", _text),
    "acceleration_g": ("acceleration_g", _above_zero),
    "reason": ("site_reason", _text),
    "spectral_g": ("spectral_g", _above_zero),
    "vertical_g": ("vertical_g", _zero_or_more),
    "importance": ("importance", _above_zero),
    "height_share": ("height_share", _share),
    "response": ("response", _above_zero),
    "damp": ("damp", _yes),
    "barrier": ("barrier", _one_of("none", "visitors", "everyone")),
}
VIEWERS: dict[str, tuple[str, Reads]] = {"eye_heights": ("eye_heights_mm", _sizes)}
PANEL: dict[str, tuple[str, Reads]] = {
    "name": ("name", _text),
    "width": ("width_mm", _size),
    "height": ("height_mm", _size),
    "thickness": ("thickness_mm", _size),
    "thickness_measured": ("thickness_measured", _yes),
    "grade": ("grade", _one_of("cell cast", "unknown")),
    "foot": ("foot", _one_of("clamped", "flexible", "four corners")),
    "foot_stiffness_Nmm_per_rad": ("foot_stiffness_Nmm_per_rad", _above_zero),
    "foot_known": ("foot_known", _one_of("assumed", "measured", "designed")),
    "foot_moment_limit_Nmm": ("foot_moment_limit_Nmm", _above_zero),
    "top_restraint": ("top_restraint", _yes),
    "top_limit_N": ("top_limit_N", _above_zero),
    "top_room": ("top_room_mm", _length),
    "stands_at": ("stands_at_mm", _length),
    "keep_clear": ("keep_clear_mm", _size),
    "door_open": ("door_open_mm", _size),
}


def _drill(value: Any) -> str:
    return drill_name(parse_drill(_text(value)))  # one spelling; refuses what no catalogue has


def _rod(value: Any) -> str:
    rod_size(_text(value))  # refuses what is no size
    return rod_label(str(value))  # one spelling


def read_roles(value: Any) -> tuple[str, ...]:
    if isinstance(value, str):
        return (value,)
    if not isinstance(value, list) or not value:
        raise ValueError('must be a role or a list of roles, such as "conservator"')
    return tuple(_text(item) for item in value)


def _retention(value: Any) -> str:
    held = parse_retention(_text(value))
    if held.line_mm is not None:
        raise ValueError('a line is given by its own key: line = "0.16 mm"')
    return held.means.value


def _line(value: Any) -> float:
    thick = _size(value)
    if thick > 1:
        raise ValueError("is thicker than any nylon line of use here; write the line's own thickness")
    return thick


def _force(value: Any) -> float:
    return parse_force_N(_text(value))


def _twist(value: Any) -> float:
    return parse_torque_Nmm(_text(value))


ROD: dict[str, tuple[str, Reads]] = {
    "label": ("label", _rod), "diameter": ("diameter_mm", _size), "tolerance": ("tolerance_mm", _size),
    "lot": ("lot", _text),
}
COUPON: dict[str, tuple[str, Reads]] = {
    "drill": ("drill", _drill), "hole": ("hole_mm", _size), "spread": ("spread_mm", _size), "note": ("note", _text),
    "rod": ("rod", _rod), "lot": ("lot", _text), "retention": ("retention", _retention), "line": ("line_mm", _line),
    "push": ("push_N", _force), "twist": ("twist_Nmm", _twist), "pull": ("pull_N", _force),
    "temperature_C": ("temperature_C", _number),
}


def read_like(default: Any, name: str) -> Reads:
    """Return how a rule is read: as the book's own value is, lengths also as text with a unit."""
    if isinstance(default, bool):
        return _yes
    if isinstance(default, int):
        return _count
    if isinstance(default, float):
        number = _number if default < 0 else _zero_or_more
        return lambda value: _length(value) if name.endswith("_mm") and isinstance(value, str) else number(value)
    if isinstance(default, tuple):
        item = read_like(default[0], name)
        return lambda value: _several(value, item)
    return _text


def _several(value: Any, item: Reads) -> tuple[Any, ...]:
    if not isinstance(value, list) or not value:
        raise ValueError("must be a list, in [brackets]")
    return tuple(item(one) for one in value)
