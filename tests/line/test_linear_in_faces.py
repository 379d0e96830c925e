"""No stage costs more than its share of faces: eight times the faces, at most about eight times as long.

Outside truth: a sort grows by n log n, which for these sizes is 8 x 16.9 / 13.9 = 9.7; a stage that looks at every pair
of faces would take 64 times as long. CPU seconds, the least of two in turn, so that a busy machine disturbs little.
What is done on the working mesh alone does not grow at all.
"""

import time

import pytest

from scanprep.brief import ObjectBrief
from scanprep.files.meshes import load_scan
from scanprep.rules import Rulebook
from scanprep.scan.clean import clean
from scanprep.survey import survey_object
from tests.damage import damaged
from tests.files import scan_files
from tests.shapes import cup

FEW, MANY = 15_000, 120_000
MOST = 13.0  # times as long: what the sort may, and a third for the processor's caches, which only the small one fits
BRIEF, RULES = ObjectBrief("1", unit="mm", material="ceramic"), Rulebook()


def seconds(path, text):
    start = time.process_time()
    load_scan(text, BRIEF, RULES.scan)
    began = time.process_time()
    scan = load_scan(path, BRIEF, RULES.scan)
    read = time.process_time()
    cleaned = clean(scan, BRIEF, RULES.scan)
    whole = time.process_time()
    survey_object(cleaned, BRIEF, RULES)
    took = {"read OBJ": began - start, "read PLY": read - began, "clean": whole - read,
            "survey": time.process_time() - whole}
    return took, len(scan.faces)


def test_no_stage_grows_faster_than_the_faces(tmp_path):
    paths, texts = [], []
    for faces in (FEW, MANY):
        bands = round((faces / 80) ** 0.5)
        mesh = damaged(cup(sides=8 * bands, bands=bands), "as-scanned")
        for written, ending, writer in ((paths, "ply", scan_files.ply), (texts, "obj", scan_files.obj)):
            written.append(tmp_path / f"{faces}.{ending}")
            written[-1].write_bytes(writer(mesh.vertices_mm, mesh.faces))
    runs = [[seconds(path, text) for path, text in zip(paths, texts)] for _ in range(2)]
    (few, few_faces), (many, many_faces) = ((
        {stage: min(run[at][0][stage] for run in runs) for stage in runs[0][at][0]}, runs[0][at][1]) for at in (0, 1))
    assert many_faces == pytest.approx(8 * few_faces, rel=0.15)
    grown = {stage: many[stage] / few[stage] for stage in few if many[stage] > 0.02}  # less says nothing
    assert {"read OBJ", "clean", "survey"} <= set(grown)
    assert all(times < MOST * many_faces / (8 * few_faces) for times in grown.values()), grown
