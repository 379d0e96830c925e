"""`coupon` and `check --engineering` on a fresh case folder."""

import json

import pytest
from scanprep_cli.main import app
from typer.testing import CliRunner

from scanprep.workspace.folder import open_case
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
    # loose on purpose: five holes of the first drill, one of its neighbours each side
    assert [row["drill"] for row in told["rows"]] == ["#12", *["#11"] * 5, "4.9 mm"]
    assert told["steps"]


def test_coupon_results_come_from_the_case_file(case):
    file = case / "case.toml"
    file.write_text(file.read_text(encoding="utf-8") + MEASURED.format(drill="4.7", hole="4.70"), encoding="utf-8")
    done = run("coupon", case, "--rod", "3/16")
    assert done.returncode == 1  # 50 um too tight
    assert "too tight: 50 um" in done.stdout


def test_a_measured_push_overrules_the_calculation_in_the_command(case):
    # 52 N on the scale in a hole that a smooth-bore calculation would call 1200 N
    file = case / "case.toml"
    five = "".join(f'[[coupons]]\ndrill = "3/16"\nhole = "4.745 mm"\nrod = "3/16 in"\npush = "{push} N"\n'
                   'twist = "110 N mm"\npull = "45 N"\n' for push in (50, 51, 52, 53, 54))
    rod = '\n[[measured_rods]]\nlabel = "3/16"\ndiameter = "4.750 mm"\n'
    file.write_text(file.read_text(encoding="utf-8") + rod + five, encoding="utf-8")
    done = run("coupon", case, "--rod", "3/16", "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["findings"][0]["verdict"] == "ok"
    assert [(row["coupons"], row["push_N"]) for row in told["rows"]] == [(5, 52.0)]


@pytest.mark.parametrize(("key", "word"), [('push = "52"', "a force"), ('twist = "80"', "a twist"),
                                           ('line = "12 mm"', "thicker than any"), ('retention = "glue"', "retention"),
                                           ('rod = "thin"', "rod")])
def test_a_coupon_that_cannot_be_read_is_told(case, key, word):
    file = case / "case.toml"
    file.write_text(file.read_text(encoding="utf-8") + f'\n[[coupons]]\ndrill = "4.9"\nhole = "4.93 mm"\n{key}\n',
                    encoding="utf-8")
    done = run("coupon", case)
    assert done.returncode == 3 and not done.stdout
    assert "coupons 1." in done.stderr and word in done.stderr


def test_a_new_case_does_not_begin_with_a_stop(tmp_path):
    assert run("new", tmp_path / "new").returncode == 0
    done = run("check", tmp_path / "new", "--workers", "0")
    assert done.returncode == 0, done.stderr
    assert " stop " not in done.stderr


def test_engineering_note_of_an_empty_case_still_judges_the_panel(case):
    done = run("check", case, "--engineering", "--workers", "0")
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


def test_coupons_go_on_record_one_by_one_and_make_a_recipe(case):
    def coupon(push, *more, code=0):
        done = CliRunner().invoke(app, ["coupon", str(case), "--drill", "4.8", "--hole", "4.870mm", "--line", "0.16mm",
                                        "--push", push, "--twist", "130Nmm", "--pull", "50N", "--person", "Ben", *more])
        assert done.exit_code == code, done.output
        return done.stdout

    assert "4.8" in coupon("58N")
    for push in ("61N", "60N", "57N", "62N"):
        coupon(push)
    kept = [one for one in open_case(case).case.coupons if one.drill.startswith("4.8")]
    assert sorted(one.push_N for one in kept) == [57.0, 58.0, 60.0, 61.0, 62.0]
    assert {(one.hole_mm, one.line_mm, one.twist_Nmm, one.pull_N) for one in kept} == {(4.87, 0.16, 130.0, 50.0)}
    told = CliRunner().invoke(app, ["spread", str(case)]).stdout
    assert "push-ins of one recipe: n 5, mean 59.6 N, spread 2.1 N" in told  # by hand: squares 17.2, of 4 degrees
    coupon("40N", "--anew")
    assert [one.push_N for one in open_case(case).case.coupons] == [40.0]
    assert CliRunner().invoke(app, ["coupon", str(case), "--push", "58N"]).exit_code == 2
