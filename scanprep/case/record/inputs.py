"""What the case file says, as part of the record: what changed, from what to what, and whose word that is.

Everything printed follows from the record; so a thickness or a limit that changed in case.toml is a decision like any
other. The file's values, and the shop's rules that stand behind them, are kept flat: a name with its unit, a plain
value. Used when a case folder is opened, by the fold and by the logbook.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scanprep.brief import CaseBrief
from scanprep.case.record.entry import NewEntry
from scanprep.errors import RecordError, UnreadableRecordError
from scanprep.plain_values import to_plain
from scanprep.rules import Rulebook

#: What a row of the case file is known by, in this order.
_NAMES = ("name", "label", "drill", "what")
_UNITS = ("Nmm_per_rad", "N_per_mm", "mm", "g", "deg", "Nmm", "MPa", "Hz", "N", "C", "s")
#: Of these the record keeps no copy: how headings of a checklist are read changes nothing that is printed.
_LEFT_OUT = ("columns",)
_MOST_TOLD = 6  # layout: a sentence that names more is not read


@dataclass(frozen=True, slots=True)
class InputChange:
    """One value of the case file that is not what the record has."""

    key: str  # "panels.West.thickness_mm", "rules.post.web_mm"
    was: Any  # plain; None where the record has none
    now: Any  # plain; None where the file no longer has it

    def sentence(self) -> str:
        """Return it in words: `panel West: thickness 29.4 mm, was 30 mm`."""
        where, name, unit = _spoken(self.key)
        if self.was is None:
            return f"{where}{name} {_shown(self.now, unit)}"
        return f"{where}{name} {_shown(self.now, unit)}, was {_shown(self.was, unit)}"


def case_inputs(case: CaseBrief, rules: Rulebook) -> dict[str, Any]:
    """Return what a case file says and the rules that hold with it, flat: key -> plain value. None is left out."""
    found: dict[str, Any] = {}
    for prefix, record in (("", case), ("rules.", rules)):
        _flatten(prefix, record, found)
    return found


def _flatten(prefix: str, record: Any, into: dict[str, Any], known_by: str = "") -> None:
    for field in dataclasses.fields(record):
        value = getattr(record, field.name)
        key = f"{prefix}{field.name}"
        if value is None or value == () or field.name in (*_LEFT_OUT, known_by):
            continue
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            _flatten(f"{key}.", value, into)
        elif isinstance(value, tuple) and value and dataclasses.is_dataclass(value[0]):
            for name, known, row in _named(value):
                _flatten(f"{key}.{name}.", row, into, known)
        else:
            into[key] = to_plain(value)


def _named(rows: Sequence[Any]) -> Iterable[tuple[str, str, Any]]:
    """Rows with what each is known by, and by which field; a second one of a name counts up."""
    seen: dict[str, int] = {}
    for row in rows:
        known = next((n for n in _NAMES if getattr(row, n, None)), "")
        name = str(getattr(row, known)) if known else "row"
        seen[name] = seen.get(name, 0) + 1
        yield (name if seen[name] == 1 else f"{name} ({seen[name]})"), known, row


def input_changes(recorded: Mapping[str, Any], now: Mapping[str, Any]) -> tuple[InputChange, ...]:
    """Return what differs between the inputs on record and those of the case file, in the file's order."""
    keys = [*now, *(key for key in recorded if key not in now)]
    return tuple(InputChange(key, recorded.get(key), now.get(key)) for key in keys
                 if recorded.get(key) != now.get(key))


def take_inputs(recorded: Mapping[str, Any], now: Mapping[str, Any], signed_off: bool,
                reason: str = "") -> tuple[NewEntry, ...]:
    """Return the entry that takes changed inputs on record; nothing where they are what they were.

    Raises RecordError where the case is signed off, something on record changed, and no reason is given.
    """
    changes = input_changes(recorded, now)
    if not changes:
        return ()
    changed = [change for change in changes if change.was is not None] if recorded else []
    if signed_off and changed and not reason.strip():
        raise RecordError(f"the case is signed off, and case.toml is not what the record has: "
                          f"{input_sentences(changed)}. Take it on record with `scanprep inputs DIR --reason`, or put "
                          "the file back")
    return (NewEntry("inputs", None, {"changes": [[c.key, c.was, c.now] for c in changes]}, reason),)


def check_same_case(recorded: Mapping[str, Any], case: CaseBrief) -> None:
    """Refuse a case file that is not the one of this record. Raises UnreadableRecordError.

    An older case, whose record knows no id, takes the file's.
    """
    known = recorded.get("case_id")
    if known is not None and known != case.case_id:
        found = "says no id" if case.case_id is None else f"is that of case {case.case_id}"
        raise UnreadableRecordError(
            f"case.toml {found}, but the record is that of case {known}: panels, limits and measured rods would be "
            f'another\'s. Bring back the right file; where this one is meant, write the line id = "{known}" in it')


def input_sentences(changes: Sequence[InputChange]) -> str:
    """Return changes as one phrase; after the first few only their number."""
    told = "; ".join(change.sentence() for change in changes[:_MOST_TOLD])
    return told + (f"; and {len(changes) - _MOST_TOLD} more" if len(changes) > _MOST_TOLD else "")


def with_changes(recorded: Mapping[str, Any], changes: Iterable[Sequence[Any]]) -> dict[str, Any]:
    """Return the inputs on record after an entry's changes, each [key, was, now]."""
    after = dict(recorded)
    for key, _, now in changes:
        if now is None:
            after.pop(str(key), None)
        else:
            after[str(key)] = now
    return after


def _spoken(key: str) -> tuple[str, str, str]:
    """A key as (what it belongs to, name, unit)."""
    *path, last = key.split(".") if not key.startswith(("panels.", "measured_rods.", "coupons.")) else _row_key(key)
    unit = next((u for u in _UNITS if last.endswith(f"_{u}")), "")
    name = last.removesuffix(f"_{unit}") if unit else last
    where = " ".join(path).replace("panels", "panel").replace("measured_rods", "rod").replace("coupons", "test hole")
    return (f"{where}: " if where else ""), name.replace("_", " "), f" {unit.replace('_per_', '/')}" if unit else ""


def _row_key(key: str) -> list[str]:
    """A row's key: its name may hold points of its own (`coupons.4.7.hole_mm`)."""
    group, rest = key.split(".", 1)
    name, last = rest.rsplit(".", 1)
    return [group, name, last]


def _shown(value: Any, unit: str) -> str:
    if value is None:
        return "not said"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}{unit}"
    if isinstance(value, list):
        return ", ".join(_shown(item, unit) for item in value) or "none"
    return f"{value}{unit}"
