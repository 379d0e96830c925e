"""Each change tried in a process of its own, forked after all tests have been collected: imports are paid once.

A plug-in for pytest that runs no session of its own but, in place of one: (1) all tests once, in a child, with every
function of the judged modules noting which test called it; (2) for each change a child in which that function's code is
the changed one, and the tests that called it, quickest first, up to the first that fails.
"""

from __future__ import annotations

import ast
import functools
import gc
import json
import os
import random
import resource
import signal
import sys
import time
import types
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from tests.mutations.changes import Change, changes, first_line, functions

ROOT = Path(__file__).resolve().parents[2]
LONGEST_TEST_s = 1.0  # of CPU; longer tests are left out, and so count as not there
MOST_TESTS_s = 3.0  # of CPU, spent on one change: the quickest tests that call the function
PATIENCE = 10.0  # times what its tests take, and as many seconds on top: then a change counts as seen


@dataclass
class Tried:
    """What became of one change."""

    module: str
    function: str
    line: int
    label: str
    text: str  # of the line, stripped
    seen: bool
    tests: int  # that called the function


@dataclass
class Trials:
    """The plug-in. Children answer by their exit code: 1 where a test failed, 0 where all passed."""

    modules: list[str]
    each: int
    seed: int
    say: Callable[[str], None]
    keep: Callable[[list[Tried], dict[str, int]], None]  # what was found of a module, and how many changes it has
    found: list[Tried] = field(default_factory=list)

    def pytest_sessionstart(self, session: pytest.Session) -> None:
        """A change counts as seen when a test fails, so no test may fail for a busy machine."""
        from hypothesis import settings  # late: pytest rewrites it when it loads its plug-ins

        settings.register_profile("patient", deadline=None)
        settings.load_profile("patient")

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        code = {module: _code_of(ROOT / module) for module in self.modules}
        took, called = self._called(session, code)
        for module in self.modules:
            tree, every = changes(ROOT / module)
            lines = (ROOT / module).read_text(encoding="utf-8").splitlines()
            picked = random.Random(f"{self.seed} {module}").sample(every, min(self.each, len(every)))
            begun = time.monotonic()
            for change in sorted(picked, key=lambda change: change.line):
                key = f"{module}:{change.function}:{change.first_line}"
                tests = _quickest(called.get(key, []), took)
                seen = self._is_seen(session, ROOT / module, tree, change, code[module], tests,
                                     sum(took[i] for i in tests))
                tried = Tried(module, change.function, change.line, change.label, lines[change.line - 1].strip(), seen,
                              len(tests))
                self.found.append(tried)
                if not seen:
                    self.say(f"    {tried.line} {tried.function}: {tried.label}   [{tried.text}] ({tried.tests} tests)")
            mine = [tried for tried in self.found if tried.module == module]
            self.keep(mine, {module: len(every)})
            self.say(f"{module}: {sum(tried.seen for tried in mine)} of {len(mine)} seen "
                     f"({len(every)} possible, {time.monotonic() - begun:.0f} s)")
        return True

    def _called(self, session: pytest.Session, code: dict[str, dict[tuple[str, int], list[types.FunctionType]]],
                ) -> tuple[dict[int, float], dict[str, list[int]]]:
        """CPU seconds of each test by its number, and the numbers of the tests that called each function."""
        read, write = os.pipe()
        child = os.fork()
        if child:
            os.close(write)
            with os.fdopen(read) as pipe:
                answer = json.loads(pipe.read() or "{}")
            os.waitpid(child, 0)
            if answer.get("failed", ["the tests did not run to their end"]):
                raise SystemExit(f"these tests fail without any change: {answer.get('failed')}")
            return {int(i): s for i, s in answer["took"].items()}, answer["called"]
        _silence(session)
        calls: set[str] = set()
        for module, own in code.items():
            _noting(module, own, calls)
        took, called, failed = {}, {}, []
        watch = _Failures(session)
        caches = _caches(tuple(module.removesuffix(".py").replace("/", ".") for module in code))
        for i, item in enumerate(session.items):
            calls.clear()
            for kept in caches:
                kept.cache_clear()  # what one test worked out would hide the call from the next
            before = time.process_time()
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=_next(session.items, i))
            took[i] = time.process_time() - before
            for key in calls:
                called.setdefault(key, []).append(i)
            if watch.failed:
                failed.append(item.nodeid)
                watch.failed = False
        with os.fdopen(write, "w") as pipe:
            json.dump({"took": took, "called": _shared(called, session.items), "failed": failed}, pipe)
        os._exit(0)

    def _is_seen(self, session: pytest.Session, path: Path, tree: ast.Module, change: Change,
                 own: dict[tuple[str, int], list[types.FunctionType]], tests: list[int], usual_s: float) -> bool:
        """Whether a test fails, or does not end, with a change made."""
        with change.made():
            changed = _codes(compile(tree, str(path), "exec"))[change.function, change.first_line]
        child = os.fork()
        if child:
            _, status = os.waitpid(child, 0)
            return status != 0
        _silence(session)
        most = int(PATIENCE * (1 + usual_s))
        resource.setrlimit(resource.RLIMIT_CPU, (most, most + 1))
        signal.signal(signal.SIGXCPU, signal.SIG_DFL)
        for function in own[change.function, change.first_line]:
            function.__code__ = changed
        watch = _Failures(session)
        items = [session.items[i] for i in tests]
        for i, item in enumerate(items):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=_next(items, i))
            if watch.failed:
                os._exit(1)
        os._exit(0)


class _Failures:
    """Notes that a test failed."""

    def __init__(self, session: pytest.Session) -> None:
        self.failed = False
        session.config.pluginmanager.register(self)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.failed = self.failed or report.failed


def _next(items: list[pytest.Item], i: int) -> pytest.Item | None:
    return items[i + 1] if i + 1 < len(items) else None


def _quickest(tests: list[int], took: dict[int, float]) -> list[int]:
    """The quickest tests that fit into the time given to one change."""
    chosen, spent = [], 0.0
    for i in sorted(tests, key=lambda i: took[i]):
        if took[i] <= LONGEST_TEST_s and spent + took[i] <= MOST_TESTS_s:
            chosen.append(i)
            spent += took[i]
    return chosen


def _shared(called: dict[str, list[int]], items: list[pytest.Item]) -> dict[str, list[int]]:
    """Those who call, and those of their file that may live on what a caller made for the file: a wider fixture."""
    wide = {}
    for i, item in enumerate(items):
        names = getattr(item, "fixturenames", ())
        defined = item.session._fixturemanager
        wide[i] = {(str(item.path), name) for name in names for one in defined.getfixturedefs(name, item) or ()
                   if one.scope != "function" and one.baseid}
    return {key: [i for i in wide if i in direct or wide[i] & from_those]
            for key, tests in called.items()
            for direct, from_those in [(set(tests), set().union(*(wide[i] for i in tests)))]}


def _silence(session: pytest.Session) -> None:
    """Let a child print nothing, and know nothing that was worked out before."""
    session.config.pluginmanager.unregister(name="terminalreporter")
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    for kept in _caches(("scanprep",)):
        kept.cache_clear()


def _caches(modules: tuple[str, ...]) -> list[functools._lru_cache_wrapper[Any]]:
    """Functions of some modules that keep what they worked out."""
    return [one for one in gc.get_objects() if isinstance(one, functools._lru_cache_wrapper)
            and getattr(one, "__module__", "").startswith(modules)]


def _code_of(path: Path) -> dict[tuple[str, int], list[types.FunctionType]]:
    """The living functions of a module's source by name and first line, whatever decorates them."""
    name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
    __import__(name)
    found: dict[tuple[str, int], list[types.FunctionType]] = {}
    for one in gc.get_objects():
        if isinstance(one, types.FunctionType) and one.__code__.co_filename == str(path):
            found.setdefault((one.__code__.co_qualname, one.__code__.co_firstlineno), []).append(one)
    return found


def _codes(code: types.CodeType) -> dict[tuple[str, int], types.CodeType]:
    """Code objects of a compiled module's functions and methods."""
    found = {}
    for inner in code.co_consts:
        if isinstance(inner, types.CodeType):
            found[inner.co_qualname, inner.co_firstlineno] = inner
            if "<" not in inner.co_name:
                found |= _codes(inner)
    return found


def _noting(module: str, own: dict[tuple[str, int], list[types.FunctionType]], calls: set[str]) -> None:
    """Let every function of a module note that it was called."""
    tree = ast.parse((ROOT / module).read_text(encoding="utf-8"))
    for name, node in functions(tree):
        key = f"{module}:{name}:{first_line(node)}"
        node.body.insert(0, ast.parse(f"__calls__.add({key!r})").body[0])
    ast.fix_missing_locations(tree)
    noting = _codes(compile(tree, str(ROOT / module), "exec"))
    for key, living in own.items():
        if key in noting:
            for function in living:
                function.__code__ = noting[key]
    sys.modules[".".join(Path(module).with_suffix("").parts)].__dict__["__calls__"] = calls
