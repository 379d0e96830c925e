"""The files of one object: spec.json, the one-page mount sheet and the picture of its holds.

Everything is made before anything is written, and each file is written whole.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from scanprep.files.atomic_write import write_atomically
from scanprep.files.records import spec_text
from scanprep.papers.drawing.page import Issue
from scanprep.papers.mount.mount_sheet import mount_sheet_pdf
from scanprep.papers.pictures.choices_picture import choices_png
from scanprep.papers.pictures.contact_sheet import chosen_mark, contact_sheet_png
from scanprep.scan.mesh import WorkingMesh
from scanprep.spec import MountSpec


def holds_picture(spec: MountSpec, working: WorkingMesh) -> bytes:
    """Return the contact sheet of an object's holds as PNG bytes; there must be a hold."""
    title = f"{spec.number} {spec.title}".strip()
    return contact_sheet_png(spec.holds.holds, spec.survey, working, title, spec.chosen, plan=spec.plan,
                             mark=chosen_mark(spec))


def object_files(spec: MountSpec) -> tuple[str, ...]:
    """Return the names of the files that an object's folder holds."""
    return ("spec.json", "spec.pdf", *(("holds.png",) if spec.holds.holds else ()),
            *(("choices.png",) if spec.survey.choices else ()))


def write_object_papers(folder: Path, spec: MountSpec, working: WorkingMesh, issue: Issue) -> tuple[Path, ...]:
    """Write an object's files into its folder and return their paths."""
    ways: dict[str, Callable[[], bytes | str]] = {
        "spec.json": lambda: spec_text(spec),
        "spec.pdf": lambda: mount_sheet_pdf(spec, working, issue, sides=1),
        "holds.png": lambda: holds_picture(spec, working),
        "choices.png": lambda: choices_png(spec.survey, working, f"{spec.number}  {spec.title}".strip()),
    }
    made = {name: ways[name]() for name in object_files(spec)}
    for name, content in made.items():
        write_atomically(folder / name, content)
    return tuple(folder / name for name in made)
