"""The invented demo case from one command, as the README says: progress, valid specifications, what to open."""

import csv
import json

import jsonschema
import pypdf
import pytest
from typer.testing import CliRunner

from scanprep.files.records import spec_schema

pytestmark = [pytest.mark.slow, pytest.mark.timeout(3600)]


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    from scanprep_cli.main import app

    folder = tmp_path_factory.mktemp("demo") / "case"
    done = CliRunner().invoke(app, ["demo", str(folder), "--workers", "2"])
    assert done.exit_code == 0, done.output
    return folder, done


def test_the_demo_ends_well_with_progress_and_names_what_to_open(demo):
    folder, done = demo
    assert "31/31 done, 0 left: papers" in done.stderr
    named = [line.removeprefix("open ") for line in done.stdout.splitlines() if line.startswith("open ")]
    assert len(named) >= 3
    assert all((folder.parent / name).exists() for name in named)


def test_every_object_of_the_demo_has_a_valid_specification_and_a_sheet_of_one_page(demo):
    folder, _ = demo
    lines = (folder / "checklist.csv").read_text(encoding="utf-8-sig").splitlines()
    numbers = [row["number"] for row in csv.DictReader(lines)]
    assert len(numbers) >= 24
    for number in numbers:
        document = json.loads((folder / "out" / number / "spec.json").read_text(encoding="utf-8"))
        jsonschema.validate(document, spec_schema(), cls=jsonschema.Draft202012Validator)
        assert document["holds"] or document["refusals"]
        assert len(pypdf.PdfReader(folder / "out" / number / "spec.pdf").pages) == 1, number


def test_what_is_held_stands_on_both_faces_of_both_panels(demo):
    folder, _ = demo
    holes = [json.loads(path.read_text(encoding="utf-8"))["hole"] for path in (folder / "out").glob("*/spec.json")]
    placed = {(hole["panel"], hole["face"]) for hole in holes if hole is not None and hole["panel"] is not None}
    assert len({panel for panel, _ in placed}) == 2
    assert {face for _, face in placed} == {"A", "B"}


def test_a_second_batch_does_nothing_again(demo):
    from scanprep_cli.main import app

    folder, _ = demo
    before = {path: path.stat().st_mtime_ns for path in (folder / "out").glob("*/spec.*")}
    done = CliRunner().invoke(app, ["batch", str(folder), "--workers", "2"])
    assert done.exit_code in (0, 1)
    assert "study FB-" not in done.stderr and "left: papers" not in done.stderr
    assert {path: path.stat().st_mtime_ns for path in (folder / "out").glob("*/spec.*")} == before


def test_no_mount_on_offer_has_arms_that_cross_yield_or_wander(demo):
    # Bends by hand: at most five an arm, none sharper than half the wire (softened); yield of hard brass wire: 350 MPa.
    folder, _ = demo
    holds = [hold for path in sorted((folder / "out").glob("*/spec.json"))
             for hold in json.loads(path.read_text(encoding="utf-8"))["holds"]]
    assert len(holds) >= 24
    for hold in holds:
        checks = {check["name"]: check["value"] for check in hold["checks"]}
        assert checks["arm-gap"] is None or checks["arm-gap"] >= 0
        for arm in (tip["arm"] for tip in hold["tips"]):
            assert len(arm["bends"]) <= 5
            assert arm["stress_MPa"] <= 350
        assert len(hold["tips"]) <= 5


def test_what_is_refused_says_each_reason_once_with_advice(demo):
    folder, _ = demo
    documents = [json.loads(path.read_text(encoding="utf-8")) for path in sorted((folder / "out").glob("*/spec.json"))]
    refused = [refusal for document in documents if not document["holds"] for refusal in document["refusals"]]
    assert refused
    for refusal in refused:
        assert refusal["advice"]
        assert refusal["reason"].count("show beside") <= 1, refusal["reason"]
