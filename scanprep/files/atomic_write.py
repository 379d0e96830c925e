"""Files written whole or not at all: beside their place first, synced, then renamed over it."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from scanprep.errors import InputError


def write_atomically(path: Path, content: bytes | str) -> None:
    """Write a file so that a reader sees the old one or the new one, never a part.

    Raises InputError where the folder cannot be written to.
    """
    raw = content.encode("utf-8") if isinstance(content, str) else content
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as problem:
        raise InputError(file=path, problem=f"cannot be written ({problem.strerror})",
                         remedy="Choose a folder that you may write to, or free some space") from problem
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(raw)
            stream.flush()
            os.fsync(stream.fileno())
        Path(beside).chmod(0o644)
        Path(beside).replace(path)
    except OSError as problem:
        raise InputError(file=path, problem=f"cannot be written ({problem.strerror})",
                         remedy="Choose a folder that you may write to, or free some space") from problem
    finally:
        with contextlib.suppress(FileNotFoundError):
            Path(beside).unlink()
