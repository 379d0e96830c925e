"""The rulebook: each row whole and read somewhere, each rule in one place, the docs the same as the book."""

import ast
import dataclasses
import functools
import re
from pathlib import Path

import pytest

from scanprep.errors import InputError
from scanprep.materials import find
from scanprep.rules import HoldRules, PostRules, Rulebook, overridden, override_note, rows
from scanprep.rules.page import requoted, rules_page

ROOT = Path(__file__).resolve().parents[2]
BOOK = Rulebook()
ROWS = rows(BOOK)
SOURCES = sorted(path for room in ("scanprep", "cli") for path in (ROOT / room).rglob("*.py"))
#: Units as a name's last part gives them; a share or ratio says in words what it is of, or nothing.
UNITS = {"mm": "mm", "N": "N", "g": "g", "deg": "deg", "Hz": "Hz", "MPa": "MPa", "C": "K", "K": "1/K", "m3": "kg/m3",
         "diameters": "d", "days": "days", "px": "px", "mm2": "mm2", "s": "s", "Nmm": "N mm", "lux": "lx"}
#: What a module constant's comment says it is, where it is no rule of the trade.
KINDS = ("tolerance:", "layout:", "format:", "exact:")


@functools.cache
def parsed(path):
    return ast.parse(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.key)
def test_a_row_is_whole(row):
    assert row.meaning and not row.meaning.endswith(".") and len(row.meaning) > 10
    assert row.source.strip(), "a row has a source, if only `assumed`"
    suffix = row.name.split("_per_")[-1] if row.name.endswith("_per_K") else row.name.rsplit("_", 1)[-1]
    if "_N_per_mm" in row.name:
        assert row.unit == "N/mm"
    elif suffix in UNITS:
        assert row.unit == UNITS[suffix]
    elif suffix in ("share", "ratio", "factor", "safety", "cos"):
        assert row.unit == "" or row.unit.startswith("of ")


def test_no_two_rows_are_one_rule():
    for what in ("meaning", "key"):
        found = [getattr(row, what) for row in ROWS]
        assert sorted({text for text in found if found.count(text) > 1}) == []


def read_rows():
    """(stage or None, name) of every attribute read off a rulebook: `rules.post.droop_mm`, `post.droop_mm`, ..."""
    stages = {field.name for field in dataclasses.fields(Rulebook)}
    for path in SOURCES:
        for node in ast.walk(parsed(path)):
            own = path.parent == ROOT / "scanprep" / "rules"
            if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load):
                base = node.value
                base = base.func if isinstance(base, ast.Call) else base  # `CaseRules().far_off_mm`
                of = base.attr if isinstance(base, ast.Attribute) else base.id if isinstance(base, ast.Name) else ""
                if of in stages or of == "rules" or of.endswith("Rules") or (of == "self" and own):
                    yield (of if of in stages else None), node.attr


def test_every_row_is_read_somewhere():
    read = set(read_rows())
    unread = [row.key for row in ROWS if (row.stage, row.name) not in read and (None, row.name) not in read]
    assert unread == [], "rows that no code reads: use them or take them out"


def test_a_row_taken_from_the_materials_table_is_what_the_table_says():
    # densities in kg/m3, moduli in MPa (GPa or MPa in the table), expansion in 1e-6/K
    scale = {"GPa": 1000.0, "1e-6/K": 1e-6}
    taken = [row for row in ROWS if row.source.startswith("materials table: ")]
    assert len(taken) >= 8
    for row in taken:
        material, prop, end = row.source.removeprefix("materials table: ").rsplit(", ", 2)
        line = find(material, prop)
        assert row.book == pytest.approx(getattr(line, end) * scale.get(line.unit, 1.0), rel=1e-12), row.key


def constants(path):
    """Module constants with a number in them: name, line, and the comment that says why, above or on the line."""
    text = path.read_text(encoding="utf-8")
    lines = text.splitlines()
    for node in parsed(path).body:
        if not isinstance(node, ast.Assign | ast.AnnAssign) or node.value is None:
            continue
        if not any(isinstance(part, ast.Constant) and isinstance(part.value, int | float)
                   and not isinstance(part.value, bool) for part in ast.walk(node.value)):
            continue
        targets = node.targets if isinstance(node, ast.Assign) else [node.target]
        names = [part.id for target in targets for part in ast.walk(target) if isinstance(part, ast.Name)]
        above = node.lineno - 2
        while above >= 0 and lines[above].startswith("#"):
            above -= 1
        said = [*lines[above + 1 : node.lineno - 1],
                *(line.partition("  # ")[2] for line in lines[node.lineno - 1 : node.end_lineno])]
        yield names, node.lineno, " ".join(said)


def constants_of_the_library():
    for path in SOURCES:
        if ROOT / "scanprep" in path.parents and path.parent != ROOT / "scanprep" / "rules":
            yield from ((path.relative_to(ROOT), *found) for found in constants(path))


def test_a_number_outside_the_book_says_that_it_is_no_rule():
    bare = [f"{path}:{line} {', '.join(names)}" for path, names, line, said in constants_of_the_library()
            if not any(kind in said for kind in KINDS)]
    assert bare == [], "a number of the trade belongs in scanprep/rules; any other says `# tolerance: why` or the like"


def test_no_constant_has_the_name_of_a_rule():
    known = {row.name.lower() for row in ROWS}
    twice = [f"{path}:{line} {name}" for path, names, line, said in constants_of_the_library() for name in names
             if name.strip("_").lower() in known and not any(kind in said for kind in KINDS)]
    assert twice == []


def test_the_page_of_rules_is_the_book():
    page = (ROOT / "docs" / "reference" / "rules.md").read_text(encoding="utf-8")
    assert page == rules_page(BOOK), "write it again: scanprep rules --docs docs"


@pytest.mark.parametrize("page", sorted((ROOT / "docs").rglob("*.md")), ids=lambda page: page.stem)
def test_numbers_quoted_in_the_docs_are_the_books(page):
    text = page.read_text(encoding="utf-8")
    assert requoted(text, BOOK) == text, "bring it up to date: scanprep rules --docs docs"


def test_the_page_of_checks_quotes_the_book():
    page = (ROOT / "docs" / "reference" / "checks-posts-panels.md").read_text(encoding="utf-8")
    assert len(re.findall(r"\]\(rules\.md#[a-z]+\.\w+\)", page)) >= 25
    stale = page.replace("[0.5 mm](rules.md#post.droop_mm)", "[0.7 mm](rules.md#post.droop_mm)")
    assert stale != page and requoted(stale, BOOK) == page
    with pytest.raises(InputError, match="no such row"):
        requoted("[1 mm](rules.md#post.drop_mm)", BOOK)


def test_what_a_case_changes_is_named_with_the_books_value_and_its_owner():
    assert overridden(BOOK) == () and override_note(BOOK) == ""
    book = Rulebook(post=PostRules(droop_mm=0.8), hold=HoldRules(friction_low=0.2))
    assert [row.key for row in overridden(book)] == ["hold.friction_low", "post.droop_mm"]
    note = override_note(book)
    assert "post.droop_mm 0.8 mm (book 0.5 mm, shop's)" in note and "hold.friction_low 0.2 (book 0.15, conserv" in note
    assert "and 1 more" in override_note(book, most=1) and "post.droop_mm" not in override_note(book, most=1)


@pytest.mark.parametrize("words", ["Figures are aids for", "alcohol", "onservator decides what", "ye protection",
                                   "calculation aid made by a program"])
def test_words_of_safety_stand_in_one_place(words):
    # common practice: two wordings of one caution are read as two cautions, and one of them goes stale
    found = [str(path.relative_to(ROOT)) for path in SOURCES if words in path.read_text(encoding="utf-8")]
    assert found == ["scanprep/cautions.py"]
