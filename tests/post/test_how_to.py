"""The lines of case.toml that the how-to pages show are read as they say."""

import re
import textwrap
from pathlib import Path

from scanprep.files.case_file import read_case
from scanprep.post.coupon import coupon_rows

PAGES = Path(__file__).parents[2] / "docs" / "how-to"


def test_measured_rod_and_coupon_of_the_page_are_read(tmp_path):
    page = (PAGES / "try-a-drill.md").read_text(encoding="utf-8")
    block = re.search(r"\n( {7}\[\[measured_rods\]\].*?)\n\n   A bowed", page, re.S)
    assert block is not None
    file = tmp_path / "case.toml"
    file.write_text('title = "Page"\n' + textwrap.dedent(block[1]), encoding="utf-8")
    case, rules = read_case(file)
    row = coupon_rows(rules, case, labels=("3/16",))[0]
    assert row.rod_measured and (row.drill, row.retention) == ("#11", "line 0.16 mm")
    assert row.says == "line 0.16 mm: push 55 N; 1 of 5 coupons complete"


def test_fields_of_the_measuring_page_are_read_by_the_case_file(tmp_path):
    page = (PAGES / "measure-before-drilling.md").read_text(encoding="utf-8")
    assert "`foot_stiffness_Nmm_per_rad`" in page and "`thickness_measured = true`" in page
    file = tmp_path / "case.toml"
    lines = ('title = "Page"', "[[panels]]", 'name = "W"', 'width = "700 mm"', 'height = "2200 mm"',
             'thickness = "29.6 mm"', "thickness_measured = true", 'foot = "flexible"',
             "foot_stiffness_Nmm_per_rad = 2e7")
    file.write_text("\n".join(lines), encoding="utf-8")
    panel = read_case(file)[0].panels[0]
    assert panel.thickness_measured and panel.foot_stiffness_Nmm_per_rad == 2e7
