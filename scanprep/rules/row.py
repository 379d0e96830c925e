"""What a row of the rulebook is: a typed value with its unit, source, owner and meaning, and how rows are listed.

Used by every module of `rules` to declare its rows, by `page` and the commands to print them, by specs and papers to
say which rows a case has changed.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, TypeVar

Value = TypeVar("Value")
_SMALL = 0.01  # layout: a smaller share reads better as one part of many


class Who(StrEnum):
    """Who may change a row."""

    SHOP = "shop"  # the mountmaker: stock, tools, habits, looks
    CONSERVATOR = "conservator"  # what may touch the object, and how hard
    ENGINEER = "engineer"  # loads, strength, whatever people could be hurt by


SHOP, CONSERVATOR, ENGINEER = Who.SHOP, Who.CONSERVATOR, Who.ENGINEER


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the book."""

    stage: str  # "hold"
    name: str  # "friction_low"
    value: Any  # number, text, yes or no, or a tuple of texts
    book: Any  # what stands in the book where no case changes it
    unit: str  # "" where there is none
    source: str  # a published one, "materials table: ...", "common practice", "trial", "from memory" or "assumed"
    who: Who
    meaning: str
    book_only: bool = False  # no case may change it: code reads it where no case is at hand

    @property
    def key(self) -> str:
        """The row's name in docs, papers and case files, such as `hold.friction_low`."""
        return f"{self.stage}.{self.name}"

    @property
    def shown(self) -> str:
        """The value as people read it, unit and all."""
        return shown(self.value, self.unit)

    @property
    def shown_book(self) -> str:
        """The book's own value, the same way."""
        return shown(self.book, self.unit)


def rule(value: Value, unit: str, source: str, who: Who, meaning: str, *, book_only: bool = False) -> Value:
    """Return a dataclass field for one row of the book; typed as its value, so that code reads it as a plain field.

    value      what holds where no case changes it: a number, text, bool, or a tuple of texts
    unit       as the name's suffix says it; "" for none, or a plain phrase such as "of the weight"
    source     author, title, table; "materials table: material, property, end"; "common practice"; "trial: what was
               seen"; "from memory"; or "assumed"
    who        who may change it
    meaning    one sentence for the page of rules, without its final stop; no two rows have the same
    book_only  True where the code that reads it knows no case: a case file that changes it is refused
    """
    return dataclasses.field(default=value, metadata={"rule": (unit, source, who, meaning, book_only)})


def stage_rows(stage: str, rules: Any) -> Iterator[Row]:
    """Return the rows of one stage's record."""
    for field in dataclasses.fields(rules):
        unit, source, who, meaning, book_only = field.metadata["rule"]
        yield Row(stage, field.name, getattr(rules, field.name), field.default, unit, source, who, meaning, book_only)


def shown(value: Any, unit: str = "") -> str:
    """Return a value as people read it.

    >>> shown(0.5, "mm"), shown(20_000_000), shown(("1/8", "1/4")), shown(True), shown(1 / 300, "of the height")
    ('0.5 mm', '20 000 000', '1/8, 1/4', 'yes', '1/300 of the height')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(shown(item, unit) for item in value)
    if isinstance(value, int):
        words = f"{value:,}".replace(",", " ")
    elif isinstance(value, float):
        small = 0 < value < _SMALL
        parts = round(1 / value) if small else 1
        words = f"1/{parts}" if parts > 100 and 1 / parts == value else f"{value:.6g}"
    else:
        words = str(value)
    return f"{words} {unit}".rstrip()
