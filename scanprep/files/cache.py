"""Results kept beside a case, keyed by a hash of their inputs, so that a second run only computes what changed.

One compressed archive a result: its plain values as JSON text, its arrays beside, and a hash of the fields of its
records. Nothing in it names a class or runs code; a file that does not fit, is damaged or comes of a version whose
records had other fields is dropped and computed anew.
"""

from __future__ import annotations

import functools
import hashlib
import io
import json
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

#: What reading a file of other or damaged content raises: flipping each bit of one archive in turn brought them all.
_DAMAGED = (OSError, ValueError, LookupError, EOFError, RuntimeError, zipfile.BadZipFile, zlib.error)


def key_of(*parts: Any) -> str:
    """Return a short hash of records and plain values, field names and all, and of the code's version."""
    plain = (_rules_hash(part) if isinstance(part, Rulebook) else to_plain(part) for part in parts)
    text = json.dumps([CODE_VERSION, *plain], sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()[:24]


@functools.lru_cache(maxsize=64)
def _rules_hash(rules: Rulebook) -> str:
    """The hash of a whole rulebook, which is part of most keys and the same all through a run."""
    return hashlib.sha256(json.dumps(to_plain(rules), sort_keys=True).encode()).hexdigest()


def _layout(cls: type[Any]) -> str:
    return hashlib.sha256(layout_of(cls).encode()).hexdigest()[:24]


class Cache:
    """A folder of results."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    @property
    def folder(self) -> Path:
        """Where the results lie."""
        return self._folder

    def _path(self, kind: str, key: str) -> Path:
        return self._folder / kind / f"{key}.npz"

    def load(self, kind: str, key: str, cls: type[T]) -> T | None:
        """Return a kept result as a record of the class, or None where there is none that fits."""
        try:
            with self._path(kind, key).open("rb") as file, np.load(file, allow_pickle=False) as kept:
                if str(kept["layout"]) != _layout(cls):
                    return None
                arrays = [kept[f"a{i}"] for i in range(len(kept.files) - 2)]
                record: T = from_plain(cls, json.loads(str(kept["record"])), arrays)
                return record
        except _DAMAGED:
            return None

    def keep(self, kind: str, key: str, record: Any) -> None:
        """Keep a result, whole or not at all."""
        arrays: list[np.ndarray] = []
        text = json.dumps(to_plain(record, arrays))
        out = io.BytesIO()
        named: dict[str, Any] = {f"a{i}": array for i, array in enumerate(arrays)}
        np.savez_compressed(out, record=np.array(text), layout=np.array(_layout(type(record))), **named)
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
