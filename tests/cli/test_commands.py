"""The commands as a person meets them: help, words that are refused, exit codes, and the docs that list them."""

import contextlib
import io
import os
import re
import signal
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
import typer.main
from scanprep_cli.main import app, main

ROOT = Path(__file__).resolve().parents[2]
COMMANDS = sorted(typer.main.get_command(app).commands)  # type: ignore[attr-defined]


def run(*words, cwd="."):
    """Run the command as it is installed, in this process."""
    told, faults, code = io.StringIO(), io.StringIO(), 0
    before = signal.getsignal(signal.SIGTERM)
    with (pytest.MonkeyPatch.context() as patch, contextlib.chdir(cwd), contextlib.redirect_stdout(told),
          contextlib.redirect_stderr(faults)):
        patch.setattr(sys, "argv", ["scanprep", *map(str, words)])
        try:
            main()
        except SystemExit as end:
            code = end.code or 0
        finally:
            signal.signal(signal.SIGTERM, before)
    return subprocess.CompletedProcess(words, code, told.getvalue(), faults.getvalue())


def run_apart(*words):
    """Run the installed command in a process of its own."""
    return subprocess.run([sys.executable, "-c", "from scanprep_cli.main import main; main()", *map(str, words)],
                          capture_output=True, text=True, timeout=300, check=False)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_and_stands_in_the_docs(name):
    command = typer.main.get_command(app).commands[name]
    assert command.help and command.help.strip().endswith(".")
    page = (ROOT / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
    assert re.search(rf"^## `{name}`", page, re.M), f"docs/reference/commands.md does not describe {name}"


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_stands_in_the_docs(name):
    page = (ROOT / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
    section = re.split(rf"^## `{name}`.*$", page, flags=re.M)[1].split("\n## ")[0]
    for parameter in typer.main.get_command(app).commands[name].params:
        for option in parameter.opts:
            if option.startswith("--"):
                assert f"`{option}" in section, f"{name}: {option} is not in the docs"


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["spec", "--size", "height=92", "x.obj"], 2, "92"),
        (["spec", "--size", "girth=92mm", "x.obj"], 2, "girth"),
        (["spec", "--mass", "240", "x.obj"], 2, "240"),
        (["spec", "--up", "+y", "--front", "-y", "x.obj"], 2, "it lies along --up"),
        (["spec", "--mass", "-5g", "x.obj"], 2, "'-5g' must be above 0"),
        (["spec", "--mass", "0g", "x.obj"], 2, "'0g' must be above 0"),
        (["spec", "--wall", "-1mm", "x.obj"], 2, "'-1mm' must be above 0"),
        (["spec", "--size", "height=0mm", "x.obj"], 2, "must be above 0"),
        (["spec", "--unit", "parsec", "x.obj"], 2, "'parsec' is not a unit"),
        (["spec", "--unit", "mm", "--material", "kryptonite", "x.obj"], 2, "kryptonite"),
        (["spec", "no-such-file.obj", "--unit", "mm"], 3, "no-such-file.obj"),
        (["check", "no-such-folder"], 3, "no-such-folder"),
        (["place", "no-such-folder", "1", "--panel", "W", "--face", "A", "--x", "210", "--y", "3mm"], 2, "210"),
    ],
)
def test_wrong_words_get_one_clear_sentence(words, code, said, tmp_path):
    done = run(*words, cwd=tmp_path)
    assert done.returncode == code, done.stderr
    assert said in done.stderr
    assert "Traceback" not in done.stderr
    assert not list(tmp_path.rglob("spec.json"))


def test_help_starts_at_once_and_loads_nothing_heavy():
    before = os.times()
    done = run_apart("--help")
    seconds = sum(os.times()[2:4]) - sum(before[2:4])  # of the processes this one waited for
    assert done.returncode == 0 and "demo" in done.stdout
    code = ("import sys; from scanprep_cli.main import app; "
            "heavy = ('numpy', 'open3d', 'trimesh', 'scipy', 'reportlab', 'networkx', 'ezdxf', 'shapely'); "
            "print([m for m in heavy if m in sys.modules])")
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert loaded.stdout.strip() == "[]"
    assert seconds < 3.0  # of processor time, whatever else the machine does; 0.3 s as a rule


def test_what_is_installed_does_not_own_the_bare_name_cli(tmp_path):
    code = "import importlib.util; print(importlib.util.find_spec('cli'))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=tmp_path, check=True)
    assert done.stdout.strip() == "None"


def test_new_writes_only_what_can_be_read_back(tmp_path):
    title = 'He said "x" \\ and\nthen\tnothing {units} Größe \x7f'
    assert run("new", tmp_path / "case", "--title", title).returncode == 0
    assert tomllib.loads((tmp_path / "case" / "case.toml").read_text(encoding="utf-8"))["title"] == title
    assert run("check", tmp_path / "case", "--workers", "0").returncode == 0
    done = run("new", tmp_path / "other", "--units", "furlong")
    assert done.returncode == 2 and "--units = 'furlong'" in done.stderr
    assert not (tmp_path / "other").exists()


def test_the_demo_tells_where_it_cannot_be_written(tmp_path):
    (tmp_path / "file").write_text("")
    done = run_apart("demo", tmp_path / "file" / "demo", "--workers", "0")
    assert done.returncode == 3 and "cannot be written" in done.stderr and "Traceback" not in done.stderr


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_can_answer_in_json(name):
    assert any("--json" in parameter.opts for parameter in typer.main.get_command(app).commands[name].params)


def test_the_version_is_the_packages():
    from importlib.metadata import version

    done = run("--version")
    assert done.returncode == 0 and done.stdout.startswith(f"scanprep {version('scanprep')} ")
