"""Scans that lie at an address instead of a path: which addresses are taken, and how such a scan comes to hand.

Only a person names an address, in `case.toml` or on the command line; what a scan names next to itself is never looked
for beyond the scan's own folder, so an OBJ that comes from an address comes without its pictures, unless all of it is
one zip. A scan is copied, whole or not at all, to a folder of its own in the store and dropped once it was read; what
it holds is remembered under the mark by which its server knows one state of a file from another, so that an unchanged
scan is not fetched again. `fsspec` does the talking: an optional extra, imported here only, when it is asked for.
"""

from __future__ import annotations

import contextlib
import hashlib
import http
import re
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import IO, Any

from scanprep.errors import InputError, ScanError
from scanprep.files.cache import Cache, key_of
from scanprep.files.content import scan_content

#: What a scan may be fetched by. Each is a plain file at a plain address: none runs a command, none wraps another.
PROTOCOLS = ("file", "http", "https", "s3", "gs", "az", "abfs")
MOST_BYTES = 4_000_000_000  # format: as much as comes out of one zip; 5 M faces in OBJ are a tenth of it
_BLOCK = 1 << 20  # format: bytes copied at a time

#: By these a server tells one state of a file from another, whatever the protocol calls them.
_MARKS = ("etag", "content-md5", "digest", "md5hash", "content_settings", "generation", "versionid", "mtime", "created",
          "last-modified", "lastmodified", "last_modified", "updated")
_ADDRESS = re.compile(r"[A-Za-z][A-Za-z0-9+.-]+://")  # two letters at least: C:// is a drive

#: (store, address) -> what this process found there. A run over a case looks anew, then each scan is asked for once.
_seen: dict[tuple[str, str], str] = {}


@dataclass(frozen=True, slots=True)
class ScanUrl:
    """A scan's address, as a person wrote it."""

    text: str

    def __str__(self) -> str:
        return self.text

    @property
    def path(self) -> PurePosixPath:
        """What comes after the protocol; its last part is the file's name."""
        return PurePosixPath(self.text.partition("://")[2])


#: Where a scan lies.
ScanPlace = Path | ScanUrl


def scan_place(text: str) -> ScanPlace:
    """Return the place that a text names: an address where it begins like one, else a path."""
    return ScanUrl(text) if _ADDRESS.match(text) else Path(text)


def place_under(folder: str, name: str, root: Path) -> ScanPlace:
    """Return where a scan of the checklist lies when the case says where its scans are.

    folder  as the case file says it: an address, or a path from the case folder
    name    as the checklist says it
    root    the case folder
    """
    if isinstance(scan_place(folder), ScanUrl):
        return ScanUrl(f"{folder.rstrip('/')}/{name}")
    return root / folder / name


def check_address(text: str) -> str:
    """Return an address that may be asked for. Raises ValueError in words that end a sentence."""
    protocol, _, rest = text.partition("://")
    if protocol not in PROTOCOLS:
        raise ValueError(f"{protocol}:// is no protocol that scans are fetched by; there are: {', '.join(PROTOCOLS)}")
    if "::" in text or "://" in rest:
        raise ValueError("holds an address inside an address")
    if "@" in rest.partition("/")[0]:
        raise ValueError("holds a name or a password, which the case would keep on record; the library of that "
                         "protocol takes them from its own settings")
    if "?" in rest or "#" in rest or any(ord(letter) < ord(" ") for letter in rest):
        raise ValueError("holds ?, # or a control character, and what is asked for is a plain file at a plain address")
    if ".." in PurePosixPath(rest).parts:
        raise ValueError("holds .., which leads elsewhere than it says")
    return text


def look_again() -> None:
    """Forget what was found at addresses: the next question goes to their servers."""
    _seen.clear()


def content_at(place: ScanPlace, cache: Cache) -> tuple[tuple[str, str], ...]:
    """Return (name, hash) of a scan and of its side files; empty where it cannot be read.

    Of an address that means: where its server cannot be asked, or what it holds was not fetched yet.
    """
    if isinstance(place, Path):
        return scan_content(place, cache)
    at = (str(cache.folder), place.text)
    if at not in _seen:
        try:
            files, path = _opened(place)
            digest = _remembered(place, cache, _told(place, files, path))
        except ScanError:
            return ()
        if digest is None:
            return ()
        _seen[at] = digest
    return ((place.path.name, _seen[at]),)


@contextlib.contextmanager
def at_hand(place: ScanPlace, cache: Cache) -> Iterator[Path]:
    """Give the path at which a scan can be read: its own, or that of a copy which is dropped at the end.

    Raises ScanError where an address is not taken, its server gives no such file, or it is larger than what is read.
    """
    if isinstance(place, Path):
        yield place
        return
    files, path = _opened(place)
    info = _told(place, files, path)
    store = cache.folder / "fetched"
    store.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=store) as folder:
        copy = Path(folder) / place.path.name
        with _asking(place), files.open(path, "rb") as source, copy.open("wb") as target:
            digest = _copied(place, source, target)
        _remember(place, cache, info, digest)
        _seen[str(cache.folder), place.text] = digest
        yield copy


def _opened(place: ScanUrl) -> tuple[Any, str]:
    """The file system of an address, and the path in it."""
    try:
        check_address(place.text)
    except ValueError as problem:
        raise ScanError(file=place.text, problem=str(problem), remedy="Correct the address, or copy the scan and give "
                        "its path") from None
    try:
        import fsspec
    except ImportError:
        raise ScanError(file=place.text, problem="scans at an address need the optional extra `url`, which is not "
                        "installed here", remedy="Install it with `pip install 'scanprep[url]'`, here and on every "
                        "worker") from None
    with _asking(place):
        files, path = fsspec.core.url_to_fs(place.text)
        files.invalidate_cache()
        return files, path


@contextlib.contextmanager
def _asking(place: ScanUrl) -> Iterator[None]:
    """Turn whatever the library of a protocol raises into one sentence."""
    try:
        yield
    except InputError:
        raise
    except ImportError as problem:
        raise ScanError(file=place.text, problem=f"what this protocol needs is not installed here ({problem})",
                        remedy="Install it, here and on every worker") from None
    except Exception as problem:  # every server's library has errors of its own
        cause = problem.__cause__ or problem  # over HTTP "not found" stands for a server that does not answer as well
        if isinstance(cause, FileNotFoundError) or getattr(cause, "status", None) == http.HTTPStatus.NOT_FOUND:
            raise ScanError(file=place.text, problem="there is no such file", remedy="Check the address and the name"
                            ) from None
        words = " ".join(str(cause).split()) or type(cause).__name__
        raise ScanError(file=place.text, problem=f"cannot be fetched ({words})",
                        remedy="Check the address, the network, and who may read there") from problem


def _told(place: ScanUrl, files: Any, path: str) -> Mapping[str, Any]:
    """What the server says of a file. Raises ScanError where it says that the file is none, or larger than is read."""
    with _asking(place):
        info: Mapping[str, Any] = files.info(path)
    if info.get("type", "file") != "file":
        raise ScanError(file=place.text, problem="that is a folder, not a scan", remedy="Name the file inside it")
    _check_size(place, info.get("size") or 0)
    return info


def _check_size(place: ScanUrl, size: int) -> None:
    if size > MOST_BYTES:
        raise ScanError(file=place.text, field="size", value=f"{size:,} bytes", problem="is more than what is fetched "
                        f"({MOST_BYTES:,})", remedy="Decimate the scan to 5 million faces or fewer")


def _copied(place: ScanUrl, source: IO[bytes], target: IO[bytes]) -> str:
    """Copy block by block; return the SHA-256, hex. What a server says of a size may be wrong, so it is counted."""
    digest, size = hashlib.sha256(), 0
    while block := source.read(_BLOCK):
        size += len(block)
        _check_size(place, size)
        digest.update(block)
        target.write(block)
    return digest.hexdigest()


def _hint(place: ScanUrl, info: Mapping[str, Any]) -> str | None:
    """The key under which a state of a file is remembered; None where its server gives no mark to know it by."""
    marks = sorted((name.lower(), str(value)) for name, value in info.items() if name.lower() in _MARKS and value)
    return key_of("url", place.text, info.get("size"), marks) if marks else None


def _remember(place: ScanUrl, cache: Cache, info: Mapping[str, Any], digest: str) -> None:
    hint = _hint(place, info)
    if hint is not None:
        cache.keep_bytes("hash", hint, digest.encode())


def _remembered(place: ScanUrl, cache: Cache, info: Mapping[str, Any]) -> str | None:
    hint = _hint(place, info)
    kept = None if hint is None else cache.load_bytes("hash", hint)
    return kept.decode("ascii", "replace") if kept is not None and len(kept) == 64 else None
