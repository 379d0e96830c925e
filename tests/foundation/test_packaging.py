"""What is installed is the whole house: a room left out of the package list only fails on another machine."""

import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_every_room_is_in_the_package_list():
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]["packages"]
    rooms = {".".join(path.parent.relative_to(ROOT).parts) for path in (ROOT / "scanprep").rglob("__init__.py")}
    assert rooms <= set(listed)
    assert {"scanprep_cli", "scanprep_samples"} <= set(listed)
