"""`survey` on an object of a small case, run as a person runs it."""

import csv
import json
import subprocess
import sys

import numpy as np
import trimesh

from tests.shapes import cup


def run(*words):
    return subprocess.run([sys.executable, "-c", "from scanprep_cli.main import main; main()", *map(str, words)],
                          capture_output=True, text=True, timeout=300, check=False)


def small_case(folder):
    solid, case = cup(), folder / "case"
    assert run("new", case).returncode == 0
    trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False).export(case / "cup.ply")
    with (case / "list.csv").open("w", newline="") as sink:
        csv.writer(sink).writerows([["number", "title", "material", "scan", "unit", "mass"],
                                    ["A-1", "A cup", "ceramic", "cup.ply", "mm", "133 g"]])
    done = run("intake", case, case / "list.csv")
    assert done.returncode == 0, done.stderr
    return case


def test_survey_prints_the_table_and_draws_the_picture(tmp_path):
    case = small_case(tmp_path)
    done = run("survey", case, "A-1")
    assert done.returncode == 0, done.stderr
    # The cup is made 70 wide, 70 high, with walls of 4, and the checklist says 133 g.
    for words in ("height", "70.0 mm", "133 g", "weighed", "4.0 mm", "centre of mass"):
        assert words in done.stdout
    assert (case / "out" / "A-1" / "survey.png").read_bytes().startswith(b"\x89PNG")
    plain = json.loads(run("survey", case, "A-1", "--json", "--picture", tmp_path / "p.png").stdout)
    assert {row["what"] for row in plain["rows"]} >= {"mass", "volume", "up", "base"}
    assert (tmp_path / "p.png").exists()
    assert np.all([isinstance(row["value"], str) for row in plain["rows"]])


def test_survey_of_an_object_nobody_listed_is_one_sentence(tmp_path):
    done = run("survey", small_case(tmp_path), "Z-9")
    assert done.returncode in (2, 3)
    assert "Z-9" in done.stderr and "Traceback" not in done.stderr
