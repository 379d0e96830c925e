"""What a scan is made of, as a hash of its bytes and of the files that its reader may open next to it.

A result keyed by content stays good wherever the case is copied, zipped or cloned to. Hashing 100 MB takes a tenth of a
second; size and time of a file only say that it need not be hashed again on this machine. Used for the cache's keys.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from scanprep.files.cache import Cache, key_of

#: Files that a reader opens next to a scan: material files, pictures, buffers of a glTF.
SIDE_FILES = frozenset({".mtl", ".png", ".jpg", ".jpeg", ".bmp", ".tga", ".tif", ".tiff", ".webp", ".bin"})


def file_hash(path: Path, cache: Cache) -> str:
    """Return the SHA-256 of a file, hex; kept by path, size and time so that an unchanged file is hashed once.

    Raises OSError where it cannot be read.
    """
    facts = path.stat()
    hint = key_of("hash", str(path.resolve()), facts.st_size, facts.st_mtime_ns)
    kept = cache.load_bytes("hash", hint)
    if kept is not None and len(kept) == 64:
        return kept.decode("ascii", "replace")
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    cache.keep_bytes("hash", hint, digest.encode())
    return digest


def scan_content(path: Path, cache: Cache) -> tuple[tuple[str, str], ...]:
    """Return (name, hash) of a scan and of its side files; empty where the scan cannot be read.

    The names count: an OBJ finds its pictures by them.
    """
    try:
        side = sorted(p for p in path.parent.iterdir() if p.suffix.lower() in SIDE_FILES and p.is_file())
        return tuple((p.name, file_hash(p, cache)) for p in (path, *(p for p in side if p != path)))
    except OSError:
        return ()
