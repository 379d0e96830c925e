"""The page of materials shows the table's own rows."""

from pathlib import Path

import pytest

from scanprep import materials
from scanprep.rules import PadRules, pads

PAGE = (Path(__file__).parents[2] / "docs" / "reference" / "materials.md").read_text(encoding="utf-8").splitlines()


def shown(value):
    return "" if value is None else f"{value:g}"


@pytest.mark.parametrize("row", materials.rows(), ids=lambda row: f"{row.material} {row.prop} {row.condition}"[:60])
def test_every_row_of_the_table_is_on_the_page(row):
    cells = [row.material, shown(row.low), shown(row.typical), shown(row.high), row.source, row.status]
    assert any(line.startswith(f"| {row.material} |") and all(f" {cell} |" in line or not cell for cell in cells)
               for line in PAGE)


def test_pads_are_on_the_page():
    for pad in pads(PadRules()):
        assert f"| {pad.name} | {pad.friction:g} | {pad.thickness_mm:g} |" in PAGE


def test_page_has_no_rows_that_the_table_lacks():
    rows = [line for line in PAGE if line.startswith("| ") and not line.startswith(("| material", "| pad"))]
    assert len(rows) == len(materials.rows()) + len(pads(PadRules()))
