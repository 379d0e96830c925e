"""Arrays with known shapes, unit vectors, and the turns that take one frame into another.

Display frame: x to the viewer's right, y up, z out of the panel to the viewer; gravity is -y; right-handed.

    tilt  about x: top towards the viewer is +
    turn  about y: the front swings to the viewer's right is +
    roll  about z: counter-clockwise for the viewer is +

Applied roll after tilt after turn: R = Rz(roll) Rx(tilt) Ry(turn), on coordinates whose y is already up and whose
z already faces the viewer. Touches no files.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_ROUNDED = 1e-12  # tolerance: the sine of two directions that are one
_ONE_LINE_cos = 0.99  # tolerance: 8 deg

F64 = NDArray[np.float64]
I32 = NDArray[np.int32]
U8 = NDArray[np.uint8]
Vec3 = tuple[float, float, float]


def check_shape(name: str, array: NDArray[np.generic], shape: tuple[int, ...]) -> None:
    """Raise ValueError naming the argument unless it has the shape; -1 stands for any length."""
    found = array.shape
    if len(found) != len(shape) or any(want not in (-1, got) for want, got in zip(shape, found, strict=True)):
        wanted = ", ".join("any" if want == -1 else str(want) for want in shape)
        raise ValueError(f"{name} must be an array of shape ({wanted}); got {found}")


def unit(vector: F64) -> F64:
    """Return a vector or rows of vectors at length 1. Raises ValueError where one has no length."""
    length = np.sqrt(np.add.reduce(vector * vector, axis=-1, keepdims=True))  # as `norm`, three times as quick for few
    if not (length > 0).all():
        raise ValueError("a vector without length has no direction")
    return np.asarray(vector / length, dtype=np.float64)


def steady(values: F64, decimals: int = 6) -> F64:
    """Return values without their last digits: ties that stay ties whatever the machine's linear algebra adds up first.

    Equal costs of mirror images, and what is computed from rounded points, must not be told apart by the last bit.
    """
    return np.asarray(np.round(values, decimals), dtype=np.float64) + 0.0


def cross(a: F64, b: F64) -> F64:
    """Return the cross products of vectors (..., 3), to the last bit those of `np.cross`, which takes five times as
    long for few of them."""
    a, b = np.asarray(a, dtype=np.float64), np.asarray(b, dtype=np.float64)
    ax, ay, az, bx, by, bz = a[..., 0], a[..., 1], a[..., 2], b[..., 0], b[..., 1], b[..., 2]
    found = np.empty(np.broadcast_shapes(a.shape, b.shape))
    found[..., 0] = ay * bz - az * by
    found[..., 1] = az * bx - ax * bz
    found[..., 2] = ax * by - ay * bx
    return found


def vec3(array: F64) -> Vec3:
    """Return three numbers as a plain tuple."""
    return (float(array[0]), float(array[1]), float(array[2]))


def rotation_about(axis: Vec3, angle_deg: float) -> F64:
    """Return the (3, 3) right-handed turn about an axis (Rodrigues' formula)."""
    x, y, z = unit(np.asarray(axis, dtype=np.float64))
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.asarray(c * np.eye(3) + s * cross + (1 - c) * np.outer([x, y, z], [x, y, z]), dtype=np.float64)


def hold_rotation(tilt_deg: float, turn_deg: float, roll_deg: float) -> F64:
    """Return Rz(roll) Rx(tilt) Ry(turn), the (3, 3) turn of an attitude's angles in the display frame."""
    return (
        rotation_about((0, 0, 1), roll_deg) @ rotation_about((1, 0, 0), tilt_deg) @ rotation_about((0, 1, 0), turn_deg)
    )


def rotation_to(direction: F64, target: F64) -> F64:
    """Return the least (3, 3) turn that brings one direction onto another."""
    a, b = unit(direction), unit(target)
    cross, dot = np.cross(a, b), float(np.clip(a @ b, -1, 1))
    if np.linalg.norm(cross) < _ROUNDED:
        if dot > 0:
            return np.eye(3)
        other = np.eye(3)[int(np.argmin(np.abs(a)))]
        return rotation_about(vec3(np.cross(a, other)), 180.0)
    return rotation_about(vec3(cross), math.degrees(math.atan2(float(np.linalg.norm(cross)), dot)))


def parse_direction(text: str) -> Vec3:
    """Return a unit direction from `+y`, `-z`, `x`, or three numbers such as `0.1 0.9 -0.1` or `0,0,1`.

    Raises ValueError with a whole sentence when it is none of these.
    """
    words = text.replace(",", " ").replace(";", " ").split()
    try:
        if len(words) == 1:
            sign = -1.0 if words[0].startswith("-") else 1.0
            return vec3(sign * np.eye(3)[["x", "y", "z"].index(words[0].lower().lstrip("+-"))])
        numbers = np.array([float(word) for word in words]).reshape(3)
        if not np.isfinite(numbers).all() or not numbers.any():
            raise ValueError
        return vec3(unit(numbers))
    except (ValueError, IndexError):
        raise ValueError(f"{text!r} is not a direction; write +x, -y, +z or three numbers such as 0,0,1") from None


def along_one_line(first: Vec3 | None, second: Vec3 | None) -> bool:
    """Whether two unit directions point the same way or opposite ways, within 8 deg; False where one is not said."""
    return first is not None and second is not None and abs(float(np.dot(first, second))) > _ONE_LINE_cos


@dataclass(frozen=True, slots=True, eq=False)
class Rigid:
    """A rigid move: p -> rotation @ p + shift_mm."""

    rotation: F64  # (3, 3), orthonormal, determinant +1
    shift_mm: F64  # (3,)

    def __post_init__(self) -> None:
        check_shape("rotation", self.rotation, (3, 3))
        check_shape("shift_mm", self.shift_mm, (3,))

    def points(self, points_mm: F64) -> F64:
        """Return moved points; (n, 3) or (3,)."""
        return np.asarray(points_mm @ self.rotation.T + self.shift_mm, dtype=np.float64)

    def directions(self, directions: F64) -> F64:
        """Return turned directions; (n, 3) or (3,)."""
        return np.asarray(directions @ self.rotation.T, dtype=np.float64)

    def inverse(self) -> Rigid:
        """Return the move that undoes this one."""
        return Rigid(self.rotation.T.copy(), -self.rotation.T @ self.shift_mm)

    def then(self, after: Rigid) -> Rigid:
        """Return this move followed by another."""
        return Rigid(after.rotation @ self.rotation, after.rotation @ self.shift_mm + after.shift_mm)


def taut_string(points: F64) -> F64:
    """Return the corners (k, 2) of a string drawn taut beneath points (n, 2) that follow each other from left to right.

    >>> taut_string(np.array([[0.0, 1.0], [1.0, 3.0], [2.0, 0.0], [3.0, 1.0]])).tolist()
    [[0.0, 1.0], [2.0, 0.0], [3.0, 1.0]]
    """
    kept: list[list[float]] = []
    for x, y in np.asarray(points, dtype=np.float64).tolist():
        while len(kept) > 1 and (kept[-1][0] - kept[-2][0]) * (y - kept[-2][1]) <= \
                (kept[-1][1] - kept[-2][1]) * (x - kept[-2][0]):
            kept.pop()
        kept.append([x, y])
    return np.array(kept, dtype=np.float64).reshape(-1, 2)
