"""The rulebook as a page of the docs, and the numbers that other pages quote from it.

A page quotes a rule as a link whose text is the value and whose target is the row: `[0.5 mm](rules.md#post.droop_mm)`.
`requoted` brings such links up to date, so no page carries a number of its own. Used by the `rules` command.
"""

from __future__ import annotations

import re

from scanprep.errors import InputError
from scanprep.rules import Row, Rulebook, rows, shown

_HEAD = """# Rulebook

Every number of the trade that the tool judges by, stage by stage: what it means, where it comes from, and who may
change it. Written from the code by `scanprep rules --docs docs`; a test fails where page and book differ. A case
changes a row in its `case.toml`, and every paper of that case then says so:

    [rules.post]
    stand_off_mm = "25 mm"

Rows of the conservator and the engineer are theirs to change; a changed one is a finding for a person to look at.
Which row answers which question of the bench: [change a rule](../how-to/change-a-rule.md). Sources: a published one;
`materials table` is [this one](materials.md); `trial` is what a series of trials showed; `from memory` was not seen in
a source; `assumed` is a choice of ours that waits for yours.
"""
_COLUMNS = "| row | value | meaning | source | who |\n|---|---|---|---|---|\n"
_QUOTE = re.compile(r"\[(?P<text>[^\]]*)\]\((?P<page>[\w./-]*rules\.md)#(?P<key>[a-z]+\.\w+)\)")


def rules_page(book: Rulebook) -> str:
    """Return the page of rules as Markdown."""
    parts, stage = [_HEAD], ""
    for row in rows(book):
        if row.stage != stage:
            stage = row.stage
            title = (type(getattr(book, stage)).__doc__ or stage).strip().rstrip(".")
            parts.append(f"\n## {title}: `[rules.{stage}]`\n\n{_COLUMNS}")
        parts.append(_line(row))
    return "".join(parts)


def _line(row: Row) -> str:
    return (f'| <a id="{row.key}"></a>`{row.name}` | {row.shown} | {row.meaning} | {row.source} '
            f"| {row.who.value}{', in the book alone' if row.book_only else ''} |\n").replace(" | |", " | – |")


def requoted(text: str, book: Rulebook) -> str:
    """Return a page with every quoted rule as the book has it. Raises InputError naming a row that is not in it."""
    known = {row.key: row for row in rows(book)}

    def now(quote: re.Match[str]) -> str:
        key = quote["key"]
        if key not in known:
            raise InputError(field=key, problem="is quoted, but the rulebook has no such row",
                             remedy="Quote a row of docs/reference/rules.md")
        return f"[{_quoted(known[key])}]({quote['page']}#{key})"

    return _QUOTE.sub(now, text)


def _quoted(row: Row) -> str:
    """The value as a sentence quotes it: a phrase such as "of the weight" stays out, a real unit stays in."""
    return shown(row.value, "" if row.unit.startswith("of ") else row.unit)
