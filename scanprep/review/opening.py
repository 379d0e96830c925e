"""A desk that is being opened while pages can already be asked for: a case of 120 objects takes half a minute.

The last scene and its shapes are kept beside the case under what they were made of, so that a page shows the case as
it stands within seconds, without deciding anything, until the desk is there. What is kept is shown only where record,
rules and scans are exactly those it was made of.
"""

from __future__ import annotations

import concurrent.futures
import json
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from scanprep.files.cache import key_of
from scanprep.files.scan_urls import content_at
from scanprep.plain_values import to_plain
from scanprep.review.desk import Desk, open_desk
from scanprep.review.scene import CaseScene, Shape
from scanprep.workspace.batch import panels_there
from scanprep.workspace.folder import CaseFolder

_KIND = "review"


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the opening is."""

    done: int
    of: int
    sentence: str


def case_key(folder: CaseFolder) -> str:
    """Return a key of all that a scene rests on: the record's last line, the rules, every scan."""
    last = folder.entries[-1].hash if folder.entries else ""
    scans = [content_at(folder.scan_place(brief), folder.cache) for brief in folder.state.objects.values()]
    return key_of("scene", last, folder.case, folder.rules, scans)


def keep_scene(folder: CaseFolder, scene: CaseScene, shapes: Mapping[str, Shape]) -> None:
    """Keep how the case stands, for the next opening; only while nothing of it waits to be worked out."""
    if scene.panels_waiting or scene.objects_waiting:
        return
    key = case_key(folder)
    for part, plain in (("case", to_plain(scene)), ("shapes", to_plain(dict(shapes)))):
        text = json.dumps(plain, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
        folder.cache.keep_bytes(_KIND, f"{key}-{part}.json", text.encode())


class Opening:
    """A desk to come. `desk` is a future; pages wait on it."""

    def __init__(self, folder: CaseFolder, workers: int | None) -> None:
        """Begin to open. Raises InputError at once on what no opening can cure."""
        panels_there(folder)
        self.folder = folder
        self.desk: concurrent.futures.Future[Desk] = concurrent.futures.Future()
        self.progress = Progress(0, max(len(folder.state.shown), 1), "reading the case")
        self._workers = workers
        key = case_key(folder)
        self._kept = {part: folder.cache.load_bytes(_KIND, f"{key}-{part}.json") for part in ("case", "shapes")}

    @classmethod
    def opened(cls, desk: Desk) -> Opening:
        """Return the opening of a desk that is there already."""
        self = cls.__new__(cls)
        self.folder, self._kept, self._workers = desk.folder, {}, 1
        self.desk, self.progress = concurrent.futures.Future(), Progress(1, 1, "")
        self.desk.set_result(desk)
        return self

    def begin(self) -> None:
        """Open the desk in a thread of its own."""
        if not self.desk.done():
            threading.Thread(target=self._open, name="opening", daemon=True).start()

    def _open(self) -> None:
        try:
            self.desk.set_result(open_desk(self.folder, self._workers, self._tell))
        except BaseException as problem:  # noqa: BLE001 - handed to whoever waits for the desk
            self.desk.set_exception(problem)

    def _tell(self, done: int, of: int, sentence: str) -> None:
        self.progress = Progress(done, of, sentence)

    def kept(self, part: str) -> bytes | None:
        """Return the kept scene ("case") or its shapes ("shapes") as JSON, where both are there."""
        both = all(self._kept.get(name) is not None for name in ("case", "shapes"))
        return self._kept[part] if both else None

    def told(self) -> dict[str, Any]:
        """Return how far it is, as plain values."""
        plain: dict[str, Any] = to_plain(self.progress)
        return plain
