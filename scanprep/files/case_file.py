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
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from scanprep.brief import CaseBrief, CouponResult, MayBrief, PanelBrief, PersonBrief, RodMeasured
from scanprep.case.record.words import MAY
from scanprep.errors import InputError, InputFaultsError
from scanprep.files.case_keys import COUPON, PANEL, ROD, SITE, TOP, VIEWERS, Reads, read_like, read_roles
from scanprep.files.columns import read_mapping
from scanprep.post.drill import parse_drill
from scanprep.post.rod_names import rod_size
from scanprep.rules import Rulebook, stage_rows

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
    values = faults.table("", table, TOP, _SECTIONS)
    values |= faults.table("site", table.get("site", {}), SITE)
    values |= faults.table("viewers", table.get("viewers", {}), VIEWERS)
    values["panels"] = faults.rows("panels", table.get("panels", []), PANEL, PanelBrief, ("name", "width", "height"))
    values["measured_rods"] = faults.rows("measured_rods", table.get("measured_rods", []), ROD, RodMeasured,
                                          ("label", "diameter"))
    values["coupons"] = faults.rows("coupons", table.get("coupons", []), COUPON, CouponResult, ("drill", "hole"))
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
            found.append(record(name, read_roles(value)))
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
    readers = {f.name: (f.name, read_like(getattr(group, f.name), f.name)) for f in dataclasses.fields(group)}
    return readers, tuple(row.name for row in stage_rows(stage, group) if row.book_only)
