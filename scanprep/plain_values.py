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
from collections.abc import Callable
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


def from_plain(hint: Any, value: Any, arrays: ArrayStore | None = None, where: str = "value") -> Any:
    """Return plain values as the record that a class or type hint describes; the opposite of `to_plain`.

    Raises ValueError naming the place when the values do not fit.
    """
    try:
        return _reader(hint)(value, arrays)
    except _MisfitError as misfit:
        raise ValueError(f"{where}{''.join(reversed(misfit.way))}{misfit.words}") from misfit.__cause__


class _MisfitError(Exception):
    """A value that does not fit; the way to it is gathered on the way out, so that reading what fits costs nothing."""

    def __init__(self, words: str) -> None:
        super().__init__(words)
        self.words = words
        self.way: list[str] = []


Reader = Callable[[Any, ArrayStore | None], Any]
_PLAIN = (float, int, str, bool)


@functools.cache
def _reader(hint: Any) -> Reader:
    """Return what reads values of a hint: made once, since a kept study holds ten thousand of them."""
    origin = typing.get_origin(hint)
    if origin in (typing.Union, types.UnionType):
        return _optional(_reader(next(h for h in typing.get_args(hint) if h is not type(None))))
    if origin is tuple:
        items = typing.get_args(hint)
        if len(items) == 2 and items[1] is Ellipsis:
            return _many(_reader(items[0]))
        return _some(tuple(_reader(item) for item in items))
    if origin is np.ndarray or hint is np.ndarray:
        return _array(_array_dtype(hint))
    if origin is dict:
        return _table(*map(_reader, typing.get_args(hint)))
    if dataclasses.is_dataclass(hint):
        return _record(hint)
    return _scalar(Any if origin is typing.Literal else hint)


def _optional(inner: Reader) -> Reader:
    return lambda value, arrays: None if value is None else inner(value, arrays)


def _listed(value: Any) -> list[Any] | tuple[Any, ...]:
    if not isinstance(value, list | tuple):
        raise _MisfitError(f" must be a list, not {type(value).__name__}")
    return value


def _many(inner: Reader) -> Reader:
    def read(value: Any, arrays: ArrayStore | None) -> tuple[Any, ...]:
        found: list[Any] = []
        try:
            for item in _listed(value):
                found.append(inner(item, arrays))
        except _MisfitError as misfit:
            if isinstance(value, list | tuple):
                misfit.way.append(f"[{len(found)}]")
            raise
        return tuple(found)

    return read


def _some(inner: tuple[Reader, ...]) -> Reader:
    def read(value: Any, arrays: ArrayStore | None) -> tuple[Any, ...]:
        if len(_listed(value)) != len(inner):
            raise _MisfitError(f" must have {len(inner)} entries, not {len(value)}")
        return tuple([reads(item, arrays) for reads, item in zip(inner, value, strict=True)])

    return read


def _array(dtype: np.dtype[Any]) -> Reader:
    def read(value: Any, arrays: ArrayStore | None) -> Any:
        if isinstance(value, dict) and arrays is not None:
            return arrays[value["array"]]
        return np.asarray(value, dtype=dtype)

    return read


def _table(key: Reader, inner: Reader) -> Reader:
    def read(value: Any, arrays: ArrayStore | None) -> dict[Any, Any]:
        if not isinstance(value, dict):
            raise _MisfitError(f" must be a record, not {type(value).__name__}")
        return {key(k, arrays): inner(v, arrays) for k, v in value.items()}

    return read


def _record(cls: Any) -> Reader:
    known = {f.name for f in dataclasses.fields(cls)}
    # Of each field the class whose own instances need no reading, and its reader: most of a kept study are plain
    # numbers and texts. Filled when first needed: a record may hold others of its kind.
    fields: dict[str, tuple[Any, Reader]] = {}

    def read(value: Any, arrays: ArrayStore | None) -> Any:
        if not isinstance(value, dict):
            raise _MisfitError(f" must be a record, not {type(value).__name__}")
        if not fields:
            hints = _hints(cls)
            fields.update({name: (hints[name] if hints[name] in _PLAIN else None, _reader(hints[name]))
                           for name in known})
        unknown = value.keys() - known
        if unknown:
            names = in_one_line(", ".join(sorted(unknown)))
            raise _MisfitError(f" has fields that {cls.__name__} does not know: {names}")
        made, name = {}, ""
        try:
            for name, item in value.items():
                own, reads = fields[name]
                made[name] = item if type(item) is own else reads(item, arrays)
        except _MisfitError as misfit:
            misfit.way.append(f".{name}")
            raise
        try:
            return cls(**made)
        except TypeError as problem:
            raise _MisfitError(f" is not a whole {cls.__name__}: {problem}") from problem

    return read


def _scalar(hint: Any) -> Reader:
    if hint is float:
        return _number
    if isinstance(hint, type) and issubclass(hint, enum.Enum):
        return lambda value, arrays: hint(value)

    def read(value: Any, arrays: ArrayStore | None) -> Any:
        if hint is Any or (isinstance(value, hint) and (hint is not int or not isinstance(value, bool))
                           and hint in (int, str, bool)):
            return value
        raise _MisfitError(f" = {value!r} is not {getattr(hint, '__name__', hint)}")

    return read


def _number(value: Any, arrays: ArrayStore | None) -> float:
    if type(value) is float:
        return value
    if isinstance(value, int | float | str) and not isinstance(value, bool):
        return float(value)
    raise _MisfitError(f" = {value!r} is not float")
