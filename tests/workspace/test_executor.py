"""Workers that die or fail: nothing else is lost, and a person reads a sentence."""

import sys
from dataclasses import replace

import pytest

from scanprep.brief import ObjectBrief, RodMeasured
from scanprep.errors import ScanprepError
from scanprep.file_names import safe_name
from scanprep.rules import Rulebook
from scanprep.spec import ObjectStudy, SurveyedScan
from scanprep.workspace import tasks
from scanprep.workspace.executor import SameProcessExecutor, make_executor, make_pool, run_all
from tests.workspace.dying import double

needs_signals = pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL is of POSIX systems")


@needs_signals
def test_work_of_a_worker_that_died_is_done_again_and_no_other_is_lost(tmp_path):
    calls = [(n, "once" if n == 2 else "never", str(tmp_path)) for n in range(5)]
    with make_pool(2) as pool:
        assert dict(run_all(pool, double, calls)) == {n: 2 * n for n in range(5)}


@needs_signals
def test_work_that_always_kills_its_worker_is_told_and_the_rest_is_done(tmp_path):
    calls = [(n, "always" if n == 1 else "never", str(tmp_path)) for n in range(4)]
    with make_pool(2) as pool:
        assert dict(run_all(pool, double, calls, died=lambda index: -index)) == {0: 0, 1: -1, 2: 4, 3: 6}


@needs_signals
def test_work_that_never_ends_is_ended_and_told(tmp_path):
    calls = [(n, "hangs" if n == 1 else "never", str(tmp_path)) for n in range(3)]
    with make_pool(1) as pool:
        assert dict(run_all(pool, double, calls, died=lambda index: -index)) == {0: 0, 1: -1, 2: 4}


@needs_signals
def test_a_worker_takes_no_more_memory_than_the_machine_has():
    with make_pool(1) as pool, pytest.raises(MemoryError):
        pool.submit(bytearray, 1 << 46).result()


@needs_signals
def test_without_anyone_to_tell_it_ends_in_a_sentence(tmp_path):
    with make_pool(1) as pool, pytest.raises(ScanprepError, match="stopped by the system twice"):
        list(run_all(pool, double, [(1, "always", str(tmp_path))]))


@needs_signals
def test_one_objects_scan_that_crashes_a_library_ends_in_a_sentence_and_not_the_command(tmp_path, monkeypatch):
    from scanprep.workspace import batch
    from tests.review.cases import small_case
    from tests.workspace.dying import crashes

    folder = small_case(tmp_path / "case", 1)
    monkeypatch.setattr(batch, "study_task", crashes)
    with pytest.raises(batch.UnusableScanError, match="it makes a library crash"):
        batch.study_one(folder, replace(folder.object("FB-001"), material="glass"))


def test_where_only_posts_are_to_be_sized_no_process_is_started(tmp_path, monkeypatch):
    from scanprep.workspace import batch
    from tests.review.cases import small_case

    folder = small_case(tmp_path / "case", 1)
    brief = folder.object("FB-001")
    said = (folder.scan_place(brief), folder.cache, brief, folder.rules)
    before = tasks.study_keys(*said, folder.case)
    study = folder.cache.load("study", before.study, ObjectStudy)
    rod = RodMeasured("3/16", 4.75)
    measured = replace(folder, case=replace(folder.case, measured_rods=(*folder.case.measured_rods, rod)))
    after = tasks.study_keys(*said, measured.case)
    assert after.study != before.study and after.holds == before.holds
    started = []
    monkeypatch.setattr(batch, "make_executor", lambda count: started.append(count) or make_executor(0))
    folder.cache.keep("survey", after.survey, SurveyedScan(study.scan, study.survey, study.working, ()))
    folder.cache.keep("holds", after.holds, study.holds)
    assert [hold.attitude.name for hold in batch.study_one(measured, brief).holds.holds] == [
        hold.attitude.name for hold in study.holds.holds]
    with pytest.raises(batch.UnusableScanError):  # another material: the scan, which is not there, is read again
        batch.study_one(measured, replace(brief, material="glass"))
    assert started == [0, 1]


def test_one_worker_tells_of_each_call_as_it_is_done():
    done = []
    results = run_all(SameProcessExecutor(), done.append, [(1,), (2,)])
    next(results)
    assert done == [1]


def test_a_fault_of_the_program_is_told_with_its_traceback_kept(tmp_path, monkeypatch):
    def fails(*_):
        raise ZeroDivisionError("by a defect made for this test")

    monkeypatch.setattr(tasks, "load_scan", fails)
    done = tasks.study_task(str(tmp_path), "jug.obj", ObjectBrief("7/1", "jug.obj"), Rulebook(), None)
    kept = tmp_path / "trouble" / f"{safe_name('7/1')}.txt"
    assert done.key == ""
    assert "ZeroDivisionError" in done.sentence
    assert str(kept) in done.sentence
    assert "by a defect made for this test" in kept.read_text(encoding="utf-8")
