"""The display as its `case.toml` says it: panels, site, limits, measured rods, and any row of the rulebook.

A readable TOML file; lengths, masses and angles are written with their unit, as text. Every key is optional, an unknown
one is refused with the nearest name, and all faults of the file are reported in one go. Rules are changed
stage by stage under [rules.scan], [rules.hold], [rules.post] and so on; [settings.hold] and the like, as older case
files have it, say the same.
Used by `workspace` and the commands.
"""

from __future__ import annotations

import dataclasses
import difflib
import functools
import sys
import tomllib
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from scanprep.brief import CaseBrief, CouponResult, MayBrief, PanelBrief, PersonBrief, RodMeasured
from scanprep.case.record.words import MAY
from scanprep.errors import InputError, InputFaultsError
from scanprep.files import cells
from scanprep.files.columns import read_mapping
from scanprep.post.drill import drill_name, parse_drill
from scanprep.post.plan import rod_label
from scanprep.post.retention import parse_retention
from scanprep.post.rod_names import rod_size
from scanprep.rules import Rulebook, stage_rows
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


#: key of the file -> (field of the record, how its value is read)
_TOP: dict[str, tuple[str, Reads]] = {
    "title": ("title", _text),
    "units": ("units", _one_of("mm", "in")),
    "max_post_diameters": ("max_post_diameters", _count),
    "mock_up": ("mock_up", _yes),
    "measured_squareness": ("square_deg", _angle),
    "id": ("case_id", _text),
}
_SITE: dict[str, tuple[str, Reads]] = {
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
_VIEWERS: dict[str, tuple[str, Reads]] = {"eye_heights": ("eye_heights_mm", _sizes)}
_PANEL: dict[str, tuple[str, Reads]] = {
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


def _roles(value: Any) -> tuple[str, ...]:
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


_ROD: dict[str, tuple[str, Reads]] = {
    "label": ("label", _rod), "diameter": ("diameter_mm", _size), "tolerance": ("tolerance_mm", _size),
    "lot": ("lot", _text),
}
_COUPON: dict[str, tuple[str, Reads]] = {
    "drill": ("drill", _drill), "hole": ("hole_mm", _size), "spread": ("spread_mm", _size), "note": ("note", _text),
    "rod": ("rod", _rod), "lot": ("lot", _text), "retention": ("retention", _retention), "line": ("line_mm", _line),
    "push": ("push_N", _force), "twist": ("twist_Nmm", _twist), "pull": ("pull_N", _force),
    "temperature_C": ("temperature_C", _number),
}
_SECTIONS = ("site", "viewers", "panels", "measured_rods", "coupons", "people", "may", "checklist", "rules",
             "settings")


class _Faults:
    """Gathers what is wrong with one file."""

    def __init__(self, path: Path) -> None:
        self.path, self.errors = path, list[InputError]()

    def add(self, field: str, value: object, problem: str, remedy: str) -> None:
        self.errors.append(InputError(file=self.path, field=field, value=value, problem=problem, remedy=remedy))

    def unknown(self, field: str, key: str, known: Sequence[str]) -> None:
        near = difflib.get_close_matches(key, known, n=3, cutoff=0.5)
        self.add(field, None, "is not a key of the case file",
                 f"Did you mean {' or '.join(near)}?" if near else f"Known here: {', '.join(known)}")

    def table(self, where: str, table: Any, readers: Mapping[str, tuple[str, Reads]],
              also: Sequence[str] = ()) -> dict[str, Any]:
        """Read a table's keys; faults are gathered, not raised."""
        if not isinstance(table, dict):
            self.add(where, repr(table), "must be a table", f"Write it as [{where}]")
            return {}
        values = {}
        for key, value in table.items():
            field = f"{where}.{key}" if where else key
            if key in readers:
                name, reads = readers[key]
                try:
                    values[name] = reads(value)
                except InputError as problem:
                    self.add(field, repr(value), problem.problem, problem.remedy)
                except ValueError as problem:
                    self.add(field, repr(value), str(problem), "Correct it in the case file")
            elif key not in also:
                self.unknown(field, key, [*readers, *also])
        return values

    def rows(self, where: str, rows: Any, readers: Mapping[str, tuple[str, Reads]], record: type[Any],
             needed: Sequence[str]) -> tuple[Any, ...]:
        """Read an array of tables as records."""
        if not isinstance(rows, list):
            self.add(where, repr(rows), "must be a list of tables", f"Write each as [[{where}]]")
            return ()
        found = []
        for index, row in enumerate(rows, start=1):
            before = len(self.errors)
            values = self.table(f"{where} {index}", row, readers)
            if isinstance(row, dict):
                for key in (key for key in needed if key not in row):
                    self.add(f"{where} {index}.{key}", None, "is missing", f"Say it under [[{where}]]")
            if len(self.errors) == before:
                found.append(record(**values))
        return tuple(found)


def read_case(path: Path) -> tuple[CaseBrief, Rulebook]:
    """Return the display and the rulebook it is judged by from a case file.

    Raises InputError when it is missing or no TOML, InputFaultsError with every fault of its keys and values.
    """
    table = _toml(path)
    faults = _Faults(path)
    values = faults.table("", table, _TOP, _SECTIONS)
    values |= faults.table("site", table.get("site", {}), _SITE)
    values |= faults.table("viewers", table.get("viewers", {}), _VIEWERS)
    values["panels"] = faults.rows("panels", table.get("panels", []), _PANEL, PanelBrief, ("name", "width", "height"))
    values["measured_rods"] = faults.rows("measured_rods", table.get("measured_rods", []), _ROD, RodMeasured,
                                          ("label", "diameter"))
    values["coupons"] = faults.rows("coupons", table.get("coupons", []), _COUPON, CouponResult, ("drill", "hole"))
    rules = _rules(faults, table)
    for index, coupon in enumerate(values["coupons"], start=1):
        off_mm = coupon.hole_mm - parse_drill(coupon.drill).diameter_mm
        if abs(off_mm) > rules.post.misread_mm:
            faults.add(f"coupons {index}.hole", f"{coupon.hole_mm:.2f} mm",
                       f"is {abs(off_mm):.2f} mm {'wider' if off_mm > 0 else 'narrower'} than its drill {coupon.drill}",
                       "Measure the hole again, or name the drill that made it")
    for index, rod in enumerate(values["measured_rods"], start=1):
        nominal_mm = rod_size(rod.label).diameter_mm
        if nominal_mm and abs(rod.diameter_mm - nominal_mm) > rules.post.misread_mm:
            faults.add(f"measured_rods {index}.diameter", f"{rod.diameter_mm:.4g} mm",
                       f"is far from the {nominal_mm:.4g} mm of a {rod.label} rod",
                       "Measure it again, or name the rod that it is")
    values["people"] = _people(faults, "people", table.get("people", {}), PersonBrief)
    values["may"] = _people(faults, "may", table.get("may", {}), MayBrief)
    values["columns"] = _columns(faults, table.get("checklist", {}))
    names = [panel.name for panel in values["panels"]]
    for name in {name for name in names if names.count(name) > 1}:
        faults.add("panels", name, "is the name of two panels", "Give each its own")
    if faults.errors:
        raise InputFaultsError(faults.errors)
    values.setdefault("title", path.parent.name or "untitled")
    if "acceleration_g" in values and "spectral_g" in values:
        raise InputError(file=path, field="site.spectral_g", value=values["spectral_g"],
                         problem="stands next to acceleration_g, and both say how hard the site shakes",
                         remedy="Keep the engineer's acceleration_g, or S_DS for the code's formula, not both")
    if "acceleration_g" in values and "site_reason" not in values:
        raise InputError(file=path, field="site.reason", problem="is missing next to acceleration_g",
                         remedy="Say where the number comes from: the code's formula, an engineer, a past survey")
    return CaseBrief(**values), rules


def _toml(path: Path) -> dict[str, Any]:
    if not path.is_file():
        raise InputError(file=path, problem="there is no case file here", remedy="Start a case with `scanprep new`")
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except (ValueError, RecursionError) as problem:  # the first is what TOML's and UTF-8's own errors are
        raise InputError(file=path, problem=f"is not a readable TOML file ({problem})",
                         remedy="Correct that line; text stands in quotes, sections in [brackets]") from problem


def _people(faults: _Faults, where: str, section: Any, record: type[Any]) -> tuple[Any, ...]:
    """A table of names (of people, or of what is said) with a role or a list of roles each."""
    if not isinstance(section, dict):
        faults.add(where, repr(section), "must be a table", f"Write [{where}] and a line for each")
        return ()
    found = []
    for name, value in section.items():
        if where == "may" and name not in MAY:
            faults.unknown(f"may.{name}", name, tuple(MAY))
            continue
        try:
            found.append(record(name, _roles(value)))
        except ValueError as problem:
            faults.add(f"{where}.{name}", repr(value), str(problem), "Correct it in the case file")
    return tuple(found)


def _columns(faults: _Faults, section: Any) -> tuple[tuple[str, str], ...]:
    table = faults.table("checklist", section, {}, ("columns",)) or section
    columns = table.get("columns", {}) if isinstance(table, dict) else {}
    if not isinstance(columns, dict) or not all(isinstance(value, str) for value in columns.values()):
        faults.add("checklist.columns", repr(columns), "must give a field for each heading",
                   'Write [checklist.columns] and lines such as "Höhe" = "height cm"')
        return ()
    for pair in columns.items():
        try:
            read_mapping([pair])
        except InputError as problem:
            faults.add(f"checklist.{problem.field}", problem.value, problem.problem, problem.remedy)
    return tuple(columns.items())


def _rules(faults: _Faults, table: dict[str, Any]) -> Rulebook:
    """Return the book with the case's own rows, from [rules.stage] or, as older files have it, [settings.stage]."""
    changed = {}
    sections = {name: table.get(name, {}) for name in ("rules", "settings")}
    stages = [field.name for field in dataclasses.fields(_BOOK)]
    for where, section in sections.items():
        faults.table(where, section, {}, stages)
    for stage in stages:
        readers, book_only = _stage_readers(stage)
        found = [faults.table(f"{where}.{stage}", section.get(stage, {}) if isinstance(section, dict) else {}, readers)
                 for where, section in sections.items()]
        for name in found[0].keys() & found[1].keys():
            faults.add(f"settings.{stage}.{name}", repr(found[1][name]), f"stands under [rules.{stage}] as well",
                       "Keep the one under [rules]")
        for name in book_only:
            for where, values in zip(sections, found, strict=True):
                if name in values:
                    faults.add(f"{where}.{stage}.{name}", repr(values[name]), "stands in the book alone",
                               "Take it out; it is changed in scanprep/rules for every case")
        changed[stage] = dataclasses.replace(getattr(_BOOK, stage), **(found[1] | found[0]))
    return Rulebook(**changed)


_BOOK = Rulebook()


@functools.cache
def _stage_readers(stage: str) -> tuple[Mapping[str, tuple[str, Reads]], tuple[str, ...]]:
    """How each row of a stage is read, and which rows no case may change; a case is opened by every command."""
    group = getattr(_BOOK, stage)
    readers = {f.name: (f.name, _like(getattr(group, f.name), f.name)) for f in dataclasses.fields(group)}
    return readers, tuple(row.name for row in stage_rows(stage, group) if row.book_only)


def _like(default: Any, name: str) -> Reads:
    """Return how a rule is read: as the book's own value is, lengths also as text with a unit."""
    if isinstance(default, bool):
        return _yes
    if isinstance(default, int):
        return _count
    if isinstance(default, float):
        number = _number if default < 0 else _zero_or_more
        return lambda value: _length(value) if name.endswith("_mm") and isinstance(value, str) else number(value)
    if isinstance(default, tuple):
        item = _like(default[0], name)
        return lambda value: _several(value, item)
    return _text


def _several(value: Any, item: Reads) -> tuple[Any, ...]:
    if not isinstance(value, list) or not value:
        raise ValueError("must be a list, in [brackets]")
    return tuple(item(one) for one in value)
