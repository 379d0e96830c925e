"""One find of the catalogue: how it is modelled, scanned, filed and described; and the true facts of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scanprep_samples.ageing import Skin
from scanprep_samples.shape import Shape

F64 = NDArray[np.float64]

#: Ways the file's axes may lie: rows give the file's x, y, z in model axes (x right, y up, z front).
Y_UP = np.eye(3)
Z_UP = np.array([[1.0, 0, 0], [0, 0, -1], [0, 1, 0]])
LYING = np.array([[0.0, 1, 0], [-1, 0, 0], [0, 0, 1]])  # long axis along the file's x, front along z
FLAT = np.array([[1.0, 0, 0], [0, 0, 1], [0, -1, 0]])  # front along the file's y


def tilted(base: F64, degrees: tuple[float, float, float]) -> F64:
    """Return axes turned about the file's x, y and z: a scan that was never straightened."""
    turn = np.eye(3)
    for axis, angle in enumerate(np.radians(degrees)):
        a, b = (axis + 1) % 3, (axis + 2) % 3
        one = np.eye(3)
        one[a, a], one[b, b], one[a, b], one[b, a] = np.cos(angle), np.cos(angle), -np.sin(angle), np.sin(angle)
        turn = one @ turn
    return np.asarray(turn @ base)


@dataclass(frozen=True, slots=True, eq=False)
class Find:
    """A line of the catalogue. Text fields go into the checklist as they stand."""

    number: str
    stem: str  # of the scan's file
    title: str
    kind: str
    make: Callable[[], Shape]
    faces: int  # of the scan, before damage
    form: str  # "obj", "ply", ...: see make_samples.save
    material: str
    density: float  # true, g/cm3
    axes: F64 = field(default_factory=lambda: Y_UP)
    mm_per_unit: float = 1.0
    offset_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    noise_mm: float = 0.04
    damage: tuple[tuple[str, Callable[[Skin], Skin]], ...] = ()
    unit: str = ""
    known: tuple[str, ...] = ()  # "height mm": measured on the true object and written in that unit
    weighed: str = ""  # "g" or "oz"; empty: not weighed
    wall: str = ""
    condition: str = "sound"
    pieces: int = 1
    tell_up: bool = False
    tell_front: bool = False
    stands: bool = True  # has a base it can stand on
    holdable: bool = True
    attitude: tuple[str, str, str, str] = ("", "", "", "")  # name, tilt, turn, roll
    group: str = ""
    order: str = ""
    place: tuple[str, str, str, str] = ("", "", "", "")  # panel, face, x, y
    extra: tuple[tuple[str, str], ...] = ()  # other columns
    note: str = ""

    @property
    def file(self) -> str:
        """The scan's path beside the checklist."""
        ending = {"obj-jpg": "obj", "obj-png": "obj", "obj-colour": "obj", "ply-ascii": "ply", "ply-big": "ply",
                  "glb-jpg": "glb", "glb-draco": "glb", "zip": "zip"}.get(self.form, self.form)
        return f"scans/{self.number}/{self.stem}.{ending}"
