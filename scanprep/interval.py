"""A quantity with its doubt: the lowest and highest it can be, and the best guess between."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Interval:
    """low <= best <= high, all in the unit of the field's name."""

    low: float
    best: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.best <= self.high:
            raise ValueError(f"an interval runs low <= best <= high; got {self.low}, {self.best}, {self.high}")

    @classmethod
    def exactly(cls, value: float) -> Interval:
        """The interval of a value taken without doubt."""
        return cls(value, value, value)

    def scaled(self, factor: float) -> Interval:
        """Every end times a factor >= 0."""
        return Interval(self.low * factor, self.best * factor, self.high * factor)

    def hull(self, other: Interval) -> Interval:
        """The least interval holding both; the best guess stays ours."""
        return Interval(min(self.low, other.low), self.best, max(self.high, other.high))

    def contains(self, value: float) -> bool:
        """Whether a value lies inside, ends included."""
        return self.low <= value <= self.high
