"""Records to plain values (dicts, lists, numbers, text) and back, by their own type hints.

Used by the record of decisions, the cache and the JSON files, so that no two of them spell a record differently.
Field names travel unchanged, units and all. Reading needs the record's class, so a file can only become what we expect
of it: nothing in a file names a class or runs code.
"""

from __future__ import annotations

import dataclasses
import enum
import functools
import math
import types
import typing
from typing import Any

import numpy as np

from scanprep.plain_text import in_one_line

ArrayStore = list[np.ndarray]


def to_plain(value: Any, arrays: ArrayStore | None = None) -> Any:
    """Return a record as plain values.

    arrays  where given, arrays are appended to it and replaced by {"array": index}; else they become nested lists.

    Numbers that JSON does not have (inf, nan) become the texts "inf", "-inf", "nan". Raises ValueError on anything that
    has no plain form.
    """
    if value is None or (isinstance(value, bool | int | str) and not isinstance(value, enum.Enum)):
        return value
    if isinstance(value, enum.Enum):
        return value.value
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else str(float(value))
    if isinstance(value, np.ndarray):
        if arrays is None:
            return value.tolist()
        arrays.append(value)
        return {"array": len(arrays) - 1}
    if isinstance(value, np.generic):
        return to_plain(value.item(), arrays)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: to_plain(getattr(value, f.name), arrays) for f in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(key): to_plain(item, arrays) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [to_plain(item, arrays) for item in value]
    raise ValueError(f"{type(value).__name__} has no plain form")


@functools.cache
def _hints(cls: type) -> dict[str, Any]:
    return typing.get_type_hints(cls)


def layout_of(cls: type[Any]) -> str:
    """Return the fields of a record class and of every record inside it as text, for keeping beside what is kept.

    Any field that is added, dropped, renamed, moved or given another type anywhere changes it, so that what another
    version of the program wrote is not taken for this one's, not even where new fields have defaults.
    """
    seen: dict[str, str] = {}

    def visit(hint: Any) -> None:
        for argument in typing.get_args(hint):
            visit(argument)
        if isinstance(hint, type) and dataclasses.is_dataclass(hint) and str(hint) not in seen:
            named = [(field.name, _hints(hint)[field.name]) for field in dataclasses.fields(hint)]
            seen[str(hint)] = ", ".join(f"{name}: {kind}" for name, kind in named)
            for _, kind in named:
                visit(kind)

    visit(cls)
    return "\n".join(f"{name}({fields})" for name, fields in sorted(seen.items()))


def _array_dtype(hint: Any) -> np.dtype[Any]:
    arguments = typing.get_args(hint)
    inner = typing.get_args(arguments[1]) if len(arguments) > 1 else ()
    return np.dtype(inner[0]) if inner else np.dtype(np.float64)


def _from_tuple(hint: Any, value: Any, arrays: ArrayStore | None, where: str) -> tuple[Any, ...]:
    if not isinstance(value, list | tuple):
        raise ValueError(f"{where} must be a list, not {type(value).__name__}")
    items = typing.get_args(hint)
    if len(items) == 2 and items[1] is Ellipsis:
        return tuple(from_plain(items[0], item, arrays, f"{where}[{i}]") for i, item in enumerate(value))
    if len(items) != len(value):
        raise ValueError(f"{where} must have {len(items)} entries, not {len(value)}")
    return tuple(from_plain(h, item, arrays, where) for h, item in zip(items, value, strict=True))


def _from_record(cls: Any, value: Any, arrays: ArrayStore | None, where: str) -> Any:
    if not isinstance(value, dict):
        raise ValueError(f"{where} must be a record, not {type(value).__name__}")
    hints, known = _hints(cls), {f.name for f in dataclasses.fields(cls)}
    unknown = set(value) - known
    if unknown:
        names = in_one_line(", ".join(sorted(unknown)))
        raise ValueError(f"{where} has fields that {cls.__name__} does not know: {names}")
    try:
        return cls(**{key: from_plain(hints[key], item, arrays, f"{where}.{key}") for key, item in value.items()})
    except TypeError as problem:
        raise ValueError(f"{where} is not a whole {cls.__name__}: {problem}") from problem


def from_plain(hint: Any, value: Any, arrays: ArrayStore | None = None, where: str = "value") -> Any:
    """Return plain values as the record that a class or type hint describes; the opposite of `to_plain`.

    Raises ValueError naming the place when the values do not fit.
    """
    origin = typing.get_origin(hint)
    if origin in (typing.Union, types.UnionType):
        if value is None:
            return None
        return from_plain(next(h for h in typing.get_args(hint) if h is not type(None)), value, arrays, where)
    if origin is tuple:
        return _from_tuple(hint, value, arrays, where)
    if origin is np.ndarray or hint is np.ndarray:
        if isinstance(value, dict) and arrays is not None:
            return arrays[value["array"]]
        return np.asarray(value, dtype=_array_dtype(hint))
    if origin is dict:
        if not isinstance(value, dict):
            raise ValueError(f"{where} must be a record, not {type(value).__name__}")
        key_hint, item_hint = typing.get_args(hint)
        return {
            from_plain(key_hint, k, arrays, where): from_plain(item_hint, v, arrays, where) for k, v in value.items()
        }
    if origin is typing.Literal:
        return value
    if dataclasses.is_dataclass(hint):
        return _from_record(hint, value, arrays, where)
    return _from_scalar(hint, value, where)


def _from_scalar(hint: Any, value: Any, where: str) -> Any:
    if isinstance(hint, type) and issubclass(hint, enum.Enum):
        return hint(value)
    if hint is float and (not isinstance(value, bool)) and isinstance(value, int | float | str):
        return float(value)
    if hint is int and isinstance(value, int) and not isinstance(value, bool):
        return value
    if hint is Any or (hint in (str, bool) and isinstance(value, hint)):
        return value
    raise ValueError(f"{where} = {value!r} is not {getattr(hint, '__name__', hint)}")
