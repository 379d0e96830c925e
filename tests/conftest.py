"""How the tests are shared between worker processes (`-n 2`): file by file, the longest first.

What a file builds once it builds on one worker only, and no worker waits at the end for another that began with a long
file late.
"""

import functools
import os

import pytest
import typer.main
import typer.testing

#: Files that take longest, longest first, by CPU seconds of their tests and the processes these start; the rest take
#: their turn as they are found. A file that is not here only makes the end less even.
LONGEST = (
    "line/test_demo.py", "review/test_browser.py", "line/test_real_scans.py", "hold/families/test_kinds.py",
    "cli/test_papers_command.py", "referee/test_referee.py", "hold/families/test_families.py",
    "hold/families/test_bracket.py", "survey/test_which_way_up.py", "cli/test_story.py", "hold/test_find.py",
    "survey/test_damaged_bench.py", "papers/test_paper_set.py", "papers/templates/test_template.py",
    "papers/mount/test_mount_sheet.py", "samples/test_samples.py", "hold/making/test_refit.py",
    "workspace/test_cluster.py", "workspace/test_case_folder.py", "review/test_asked_by_page.py",
    "papers/test_stories.py", "case/record/test_record_laws.py", "papers/test_register.py",
)


def pytest_configure():
    """Have linear algebra in one thread, as the program's own workers do: more would only wait for each other."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")


def pytest_collection_modifyitems(items):
    """Put the longest files first; within a file, and among the rest, the order stays."""
    place = {f"tests/{name}": at for at, name in enumerate(LONGEST)}
    items.sort(key=lambda item: place.get(item.nodeid.partition("::")[0], len(LONGEST)))


@pytest.fixture(scope="session", autouse=True)
def commands_read_once():
    """Have the command line's words worked out once and not at every command that a test says: 40 ms each."""
    read = functools.cache(typer.main.get_command)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(typer.main, "get_command", read)
        patch.setattr(typer.testing, "_get_command", read)
        yield


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Share by file where only a number of workers was asked for."""
    if config.getoption("dist") != "load":
        return None
    from xdist.scheduler import LoadFileScheduling

    config.option.loadscopereorder = False
    return LoadFileScheduling(config, log)
