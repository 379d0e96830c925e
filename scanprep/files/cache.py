"""Results kept beside a case, keyed by a hash of their inputs, so that a second run only computes what changed.

One compressed archive a result: its plain values and the forms of its arrays as JSON text with a hash of the fields of
its records, and beside it the numbers of all its arrays in one run, since opening each for itself took longer than
reading it. Nothing in it names a class or runs code; a file that does not fit, is damaged or comes of a version whose
records had other fields is dropped and computed anew.
"""

from __future__ import annotations

import functools
import hashlib
import io
import json
import math
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from scanprep import CODE_VERSION
from scanprep.files.atomic_write import write_atomically
from scanprep.plain_values import from_plain, layout_of, to_plain
from scanprep.rules import Rulebook

T = TypeVar("T")

_HEAD, _NUMBERS = "record.json", "arrays.bin"

#: What reading a file of other or damaged content raises: flipping each bit of one archive in turn brought them all.
_DAMAGED = (OSError, ValueError, LookupError, EOFError, RuntimeError, zipfile.BadZipFile, zlib.error)


def key_of(*parts: Any) -> str:
    """Return a short hash of records and plain values, field names and all, and of the code's version."""
    arrays: list[np.ndarray] = []  # by their bytes: a whole mesh as text takes longer than what is kept of it
    plain = [_rules_hash(part) if isinstance(part, Rulebook) else to_plain(part, arrays) for part in parts]
    text = json.dumps([CODE_VERSION, *plain], sort_keys=True, ensure_ascii=True)
    found = hashlib.sha256(text.encode())
    for array in arrays:
        found.update(f"{array.dtype.str}{array.shape}".encode())
        found.update(array.tobytes())
    return found.hexdigest()[:24]


@functools.lru_cache(maxsize=64)
def _rules_hash(rules: Rulebook) -> str:
    """The hash of a whole rulebook, which is part of most keys and the same all through a run."""
    return hashlib.sha256(json.dumps(to_plain(rules), sort_keys=True).encode()).hexdigest()


def _layout(cls: Any) -> str:
    return _layout_once(cls)


@functools.cache
def _layout_once(cls: Any) -> str:
    return hashlib.sha256(layout_of(cls).encode()).hexdigest()[:24]


def _arrays(forms: list[tuple[str, list[int]]], numbers: bytearray) -> list[np.ndarray]:
    """Return arrays of the forms (type, shape) that follow each other in a run of numbers.

    Raises ValueError where a form is none of numbers, or the run is of another length.
    """
    found, at = [], 0
    for kind, shape in forms:
        dtype = np.dtype(kind)
        if dtype.kind not in "biuf":
            raise ValueError(f"{kind} is no type of numbers")
        count = math.prod(shape)
        found.append(np.frombuffer(numbers, dtype, count, at).reshape(shape) if count else np.zeros(shape, dtype))
        at += count * dtype.itemsize
    if at != len(numbers):
        raise ValueError("more numbers than arrays")
    return found


class Cache:
    """A folder of results."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    @property
    def folder(self) -> Path:
        """Where the results lie."""
        return self._folder

    def _path(self, kind: str, key: str) -> Path:
        return self._folder / kind / f"{key}.zip"

    def load(self, kind: str, key: str, cls: type[T]) -> T | None:
        """Return a kept result as a record of the class, or None where there is none that fits."""
        try:
            with zipfile.ZipFile(io.BytesIO(self._path(kind, key).read_bytes())) as kept:
                head = json.loads(kept.read(_HEAD))
                if head["layout"] != _layout(cls):
                    return None
                record: T = from_plain(cls, head["record"], _arrays(head["arrays"], bytearray(kept.read(_NUMBERS))))
                return record
        except _DAMAGED:
            return None

    def keep(self, kind: str, key: str, record: Any) -> None:
        """Keep a result, whole or not at all."""
        arrays: list[np.ndarray] = []
        plain = to_plain(record, arrays)
        head = {"layout": _layout(type(record)), "arrays": [[each.dtype.str, each.shape] for each in arrays],
                "record": plain}
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as kept:
            kept.writestr(_HEAD, json.dumps(head))
            kept.writestr(_NUMBERS, b"".join(each.tobytes() for each in arrays))
        write_atomically(self._path(kind, key), out.getvalue())

    def computed(self, kind: str, cls: type[T], compute: Callable[..., T], *reads: Any) -> T:
        """Return compute(*reads), a record of `cls`: as kept under all that it reads, else computed and then kept."""
        key = key_of(kind, *reads)
        found = self.load(kind, key, cls)
        if found is None:
            found = compute(*reads)
            self.keep(kind, key, found)
        return found

    def prune(self, most_bytes: int) -> int:
        """Drop the results that were not used for longest until the folder is small enough; return how many went.

        Safe while others read and write: what is dropped is computed anew by whoever wants it.
        """
        kept = []
        for path in self._folder.rglob("*"):
            try:
                facts = path.stat()
            except OSError:
                continue
            if path.is_file():
                kept.append((max(facts.st_atime, facts.st_mtime), facts.st_size, path))
        size, dropped = sum(each for _, each, _ in kept), 0
        for _, each, path in sorted(kept):
            if size <= most_bytes:
                break
            path.unlink(missing_ok=True)
            size, dropped = size - each, dropped + 1
        return dropped

    def load_bytes(self, kind: str, key: str) -> bytes | None:
        """Return a kept file's bytes, or None."""
        try:
            return (self._folder / kind / key).read_bytes()
        except OSError:
            return None

    def keep_bytes(self, kind: str, key: str, content: bytes) -> None:
        """Keep a file's bytes under a key (a name safe for a file), whole or not at all."""
        write_atomically(self._folder / kind / key, content)
