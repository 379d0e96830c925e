"""Results are kept by what they are made from: a copied case is warm, a stage is done anew for what it reads."""

import os
import shutil
import subprocess
import time
import zipfile
from dataclasses import replace

import pytest

from scanprep.brief import CaseBrief, CouponResult, ObjectBrief, Region, RodMeasured
from scanprep.files.cache import Cache
from scanprep.hold.records import HoldSet
from scanprep.rules import Rulebook
from scanprep.workspace import tasks
from tests.shapes import box
from tests.workspace.writing import write_ply

BRIEF = ObjectBrief("7", "box", scan="scans/box.ply", unit="mm", material="marble", mass_g=200.0)
CASE = CaseBrief("Case")


@pytest.fixture
def case(tmp_path, monkeypatch):
    """A case folder with one scan, and a count of the stages done. The search itself is not under test here."""
    done = []
    survey = tasks.survey_scan

    def counted(*said):
        done.append("survey")
        return survey(*said)

    def held(*said):
        done.append("holds")
        said[-1](3, 8)
        return HoldSet((), ())

    monkeypatch.setattr(tasks, "survey_scan", counted)
    monkeypatch.setattr(tasks, "hold_scan", held)
    root = tmp_path / "case"
    (root / "scans").mkdir(parents=True)
    solid = box(60, 92, 30)
    write_ply(root / "scans" / "box.ply", solid.vertices_mm, solid.faces)

    def study(root=root, brief=BRIEF, rules=None, case=CASE):
        done.clear()
        result = tasks.study_task(str(root / ".cache"), str(root / brief.scan), brief, rules or Rulebook(), case)
        assert not result.sentence
        return tuple(done)

    study.root = root
    assert study() == ("survey", "holds")
    return study


def test_nothing_is_done_twice(case):
    assert case() == ()


def test_a_search_says_how_far_it_is_to_whoever_asks_and_is_not_lost_for_want_of_a_place_to_say_it(case, tmp_path):
    def studied(said, steps_file):
        return tasks.study_task(str(case.root / ".cache"), str(case.root / BRIEF.scan), replace(BRIEF, pad=said),
                                Rulebook(), CASE, steps_file=str(steps_file))

    steps = tmp_path / "steps.json"
    assert tasks.steps_told(steps) is None
    assert studied("felt", steps).key and tasks.steps_told(steps) == (3, 8)
    (tmp_path / "no-folder").write_text("a file stands where the folder would be")
    assert studied("suede", tmp_path / "no-folder" / "steps.json").sentence == ""


def copied(root, to):
    shutil.copytree(root, to, copy_function=shutil.copyfile)  # as plain `cp -r`: new times


def zipped(root, to):
    with zipfile.ZipFile(to.with_suffix(".zip"), "w") as archive:
        for path in sorted(root.rglob("*")):
            archive.write(path, path.relative_to(root))
    with zipfile.ZipFile(to.with_suffix(".zip")) as archive:
        archive.extractall(to)


def cloned(root, to):
    if shutil.which("git") is None:
        pytest.skip("git is not installed here")
    who = ("-c", "user.name=Ada", "-c", "user.email=ada@example.org")
    for words in (("init", "-q"), ("add", "-A"), (*who, "commit", "-q", "-m", "the case and what was worked out")):
        subprocess.run(["git", *words], cwd=root, check=True)
    subprocess.run(["git", "clone", "-q", str(root), str(to)], check=True)


@pytest.mark.parametrize("carry", [copied, zipped, cloned])
def test_a_case_that_was_carried_elsewhere_is_warm(case, tmp_path, carry):
    time.sleep(0.01)
    carry(case.root, tmp_path / "elsewhere")
    assert case(tmp_path / "elsewhere") == ()


def test_a_scan_touched_but_not_changed_is_warm(case):
    os.utime(case.root / "scans" / "box.ply", (1, 1))
    assert case() == ()


def test_a_scan_of_other_content_is_studied_anew_though_size_and_time_are_the_same(case):
    scan = case.root / "scans" / "box.ply"
    facts = scan.stat()
    solid = box(60, 92, 31)
    write_ply(scan, solid.vertices_mm, solid.faces)
    assert scan.stat().st_size == facts.st_size
    assert case() == ("survey", "holds")


@pytest.mark.parametrize(
    ("change", "again"),
    [
        ({"case": replace(CASE, measured_rods=(RodMeasured("3/16", 4.75),))}, ()),
        ({"case": replace(CASE, coupons=(CouponResult("#12", 4.82),))}, ()),
        ({"case": replace(CASE, acceleration_g=0.5)}, ("holds",)),
        ({"brief": replace(BRIEF, pad="felt")}, ("holds",)),
        ({"brief": replace(BRIEF, tip_limit_N=3.0)}, ("holds",)),
        ({"brief": replace(BRIEF, stand_off_mm=30.0)}, ("holds",)),
        ({"brief": replace(BRIEF, no_touch=(Region("ball", (0, 0, 0), (5, 0, 0), why="rim"),))}, ("holds",)),
        ({"rules": replace(Rulebook(), hold=replace(Rulebook().hold, friction_low=0.12))}, ("holds",)),
        ({"rules": replace(Rulebook(), panel=replace(Rulebook().panel, push_N=200.0))}, ()),
        ({"brief": replace(BRIEF, title="another title", note="seen")}, ()),
        ({"brief": replace(BRIEF, mass_g=210.0)}, ("survey", "holds")),
        ({"brief": replace(BRIEF, unit="cm")}, ("survey", "holds")),
        ({"rules": replace(Rulebook(), scan=replace(Rulebook().scan, working_faces=5000))}, ("survey", "holds")),
    ],
    ids=["rod", "coupon", "site", "pad", "tip limit", "stand-off", "no-touch", "friction",
         "panel rule", "words", "mass", "unit", "scan rule"],
)
def test_a_stage_is_done_again_for_what_it_reads_and_for_nothing_else(case, change, again):
    assert case(**change) == again


def test_the_cache_keeps_what_was_used_last(case, tmp_path):
    cache = Cache(tmp_path / "small")
    for k in range(5):
        cache.keep_bytes("kind", f"k{k}", bytes(1000))
        os.utime(tmp_path / "small" / "kind" / f"k{k}", (k + 1, k + 1))
    assert cache.prune(2500) == 3
    assert [cache.load_bytes("kind", f"k{k}") is not None for k in range(5)] == [False, False, False, True, True]
    assert cache.prune(2500) == 0
