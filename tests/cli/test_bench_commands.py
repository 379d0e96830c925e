"""`coupon` and `check --engineering` on a fresh case folder."""

import json

import pytest
from scanprep_cli.main import app
from typer.testing import CliRunner

from tests.cli.test_commands import run

PANEL = '[[panels]]\nname = "West"\nwidth = "700 mm"\nheight = "2200 mm"\nthickness = "30 mm"\n'
MEASURED = ('\n[[measured_rods]]\nlabel = "3/16"\ndiameter = "4.750 mm"\n'
            '\n[[coupons]]\ndrill = "{drill}"\nhole = "{hole} mm"\n')


@pytest.fixture
def case(tmp_path):
    assert run("new", tmp_path / "case").returncode == 0
    (tmp_path / "case" / "case.toml").write_text(f'title = "Birds"\nunits = "mm"\n\n{PANEL}', encoding="utf-8")
    return tmp_path / "case"


def test_coupon_says_what_to_try(case):
    done = run("coupon", case, "--rod", "3/16", "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert [row["drill"] for row in told["rows"]] == ["4.6 mm", "#14", "4.7 mm", "3/16 in", "4.8 mm"]
    assert told["steps"]


def test_coupon_results_come_from_the_case_file(case):
    file = case / "case.toml"
    file.write_text(file.read_text(encoding="utf-8") + MEASURED.format(drill="4.7", hole="4.70"), encoding="utf-8")
    done = run("coupon", case, "--rod", "3/16")
    assert done.returncode == 1  # 50 um too tight
    assert "too tight: 50 um" in done.stdout


def test_a_new_case_does_not_begin_with_a_stop(tmp_path):
    assert run("new", tmp_path / "new").returncode == 0
    done = run("check", tmp_path / "new", "--workers", "1")
    assert done.returncode == 0, done.stderr
    assert " stop " not in done.stderr


def test_engineering_note_of_an_empty_case_still_judges_the_panel(case):
    done = run("check", case, "--engineering", "--workers", "1")
    assert done.returncode == 1, done.stderr  # a free tall panel is a stop
    row = next(line for line in done.stdout.splitlines() if line.startswith("panel West"))
    assert "stop" in row and "panel first mode" in row and "licensed engineer" in done.stdout


def test_a_rod_that_is_not_in_stock_is_told(case):
    done = run("coupon", case, "--rod", "9/16")
    assert done.returncode == 2 and not done.stdout
    assert "rod = 9/16: is not in stock. Take one of 3/32, 1/8" in done.stderr


def test_shaking_proposes_what_the_code_asks_and_leaves_it_to_an_engineer():
    # 2 kg = 19.62 N, S_DS 1.0, a_p 2.5, I_p 1.5, z/h 0.5, R_p 2.5: F_p 23.544 N = 1.2 g, between 8.829 and 47.088 N
    words = ["shaking", "--short-period", "1", "--amplification", "2.5", "--importance", "1.5", "--height", "0.5"]
    told = CliRunner().invoke(app, words)
    assert told.exit_code == 0
    assert told.stdout.startswith("1.200 g sideways, 0.200 g up or down; the formula governs (formula 1.200, "
                                  "least 0.450, most 2.400 g). ASCE 7-16")
    assert "a licensed engineer decides" in told.stdout
    # alpha S 0.30 half way up, Ta 0: 0.30 (3 x 1.5/2 - 0.5) = 0.525 (EN 1998-1, 4.3.5, from memory)
    found = json.loads(CliRunner().invoke(app, ["shaking", "--ground", "0.3", "--height", "0.5", "--json"]).stdout)
    assert found["horizontal_g"] == pytest.approx(0.525)
    told = CliRunner().invoke(app, ["shaking", "--ground", "0.3"]).stdout
    assert "up or down the clause says nothing" in told
    assert "inf" not in told
    for wrong in (["shaking"], ["shaking", "--ground", "0.3", "--short-period", "1"],
                  ["shaking", "--short-period", "1", "--height", "1.5"]):
        assert CliRunner().invoke(app, wrong).exit_code == 2
