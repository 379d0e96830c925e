"""What a family proposes, and what a family is. Display frame, mm."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from scanprep.hold.families.scene import Scene
from scanprep.hold.records import Contact


@dataclass(frozen=True, slots=True, eq=False)
class FamilyMount:
    """One mount of a family before any statics: a contact is one wire, its faces are all the places it touches."""

    family: str
    wires: tuple[Contact, ...]
    why: str  # in a mountmaker's words, for the sheet
    suits: float = 1.0  # how well it suits over the best of its family, 0..1


class MountFamily(Protocol):
    """A way of mounting that a mountmaker knows by name."""

    @property
    def name(self) -> str:
        """What the bench calls it."""

    def suits(self, scene: Scene) -> float:
        """Return how well it suits an object so shown: 0 not at all, 1 the first choice."""

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Yield its mounts for this object, the likeliest first."""
