"""The command that prints the rulebook, `rules`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from . import console
from .options import AsJson


def rules(
    folder: Annotated[Path | None, typer.Argument(metavar="[DIR]", help="The case whose changes are marked; none "
                                                  "prints the book alone.")] = None,
    changed: Annotated[bool, typer.Option("--changed", help="Only the rows that the case changes.")] = False,
    docs: Annotated[Path | None, typer.Option(help="Write the page of rules into this docs folder, and bring every "
                                              "number that its other pages quote up to date.")] = None,
    as_json: AsJson = False,
) -> None:
    """Print every rule of the trade: value, unit, meaning, source and who may change it."""
    from scanprep.rules import Rulebook, rows

    if docs is not None:
        for page in _write_docs(docs):
            print(page)
        return
    if folder is None:
        book = Rulebook()
    else:
        from scanprep.workspace.folder import open_case

        book = open_case(folder).rules
    shown = [row for row in rows(book) if row.value != row.book or not changed]
    if as_json:
        from scanprep.plain_values import to_plain

        console.print_json(to_plain(shown))
        return
    console.print_table(("row", "value", "book", "who", "meaning", "source"), (
        (row.key, row.shown, "" if row.value == row.book else row.shown_book, row.who.value, row.meaning, row.source)
        for row in shown))


def _write_docs(docs: Path) -> list[str]:
    """Write the pages that differ from the book; returns their names."""
    from scanprep.errors import InputError
    from scanprep.files.atomic_write import write_atomically
    from scanprep.rules import Rulebook
    from scanprep.rules.page import requoted, rules_page

    own = docs / "reference" / "rules.md"
    if not own.parent.is_dir():
        raise InputError(file=own.parent, problem="there is no such folder", remedy="Name the docs folder itself")
    written = []
    pages = {page: page.read_text(encoding="utf-8") for page in sorted(docs.rglob("*.md"))}
    for page, text in {**pages, own: pages.get(own, "")}.items():
        now = rules_page(Rulebook()) if page == own else requoted(text, Rulebook())
        if now != text:
            write_atomically(page, now)
            written.append(str(page))
    return written


def register(app: typer.Typer) -> None:
    """Add this command."""
    app.command()(rules)
